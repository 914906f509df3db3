//! Words that rank: superlatives, comparatives, and what they speak of.

/// Which end of a column a word means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// More of it.
    Up,
    /// Less of it.
    Down,
    /// Whichever is better.
    Better,
    /// Whichever is worse.
    Worse,
}

use Way::{Down, Up, Worse};

/// Superlatives with the result they speak of; an empty key is told by the sentence.
pub const TOPS: &[(&str, &str, Way)] = &[
    ("lightest", "mass", Down),
    ("heaviest", "mass", Up),
    ("quietest", "noise", Down),
    ("loudest", "noise", Up),
    ("cheapest", "price", Down),
    ("priciest", "price", Up),
    ("strongest", "sustained-output", Up),
    ("thirstiest", "idle-draw", Up),
    ("biggest", "usable-energy", Up),
    ("largest", "usable-energy", Up),
    ("smallest", "usable-energy", Down),
    ("fastest", "time", Down),
    ("quickest", "time", Down),
    ("slowest", "time", Up),
    ("longest", "time", Up),
    ("shortest", "time", Down),
    ("lowest", "", Down),
    ("highest", "", Up),
    ("most", "", Up),
    ("least", "", Down),
    ("best", "", Way::Better),
    ("worst", "", Worse),
    ("winner", "", Way::Better),
    ("unbeatable", "", Way::Better),
    ("unbeaten", "", Way::Better),
];

/// Adjectives behind "most", likewise; "least" turns the way round.
pub const ADJECTIVES: &[(&str, &str, Way)] = &[
    ("frugal", "idle-draw", Down),
    ("thrifty", "idle-draw", Down),
    ("economical", "idle-draw", Down),
    ("thirsty", "idle-draw", Up),
    ("powerful", "sustained-output", Up),
    ("expensive", "price", Up),
    ("costly", "price", Up),
    ("affordable", "price", Down),
    ("portable", "mass", Down),
    ("time", "time", Up),
];

/// What "most" or "least" before this word ranks.
pub fn by_adjective(word: &str, next: &str) -> Option<(&'static str, Way)> {
    let (_, key, way) = ADJECTIVES.iter().find(|a| a.0 == next)?;
    match (word, *way) {
        ("most", way) => Some((*key, way)),
        ("least", Up) => Some((*key, Down)),
        ("least", _) => Some((*key, Up)),
        _ => None,
    }
}

/// Comparatives, likewise.
pub const THANS: &[(&str, &str, Way)] = &[
    ("lighter", "mass", Down),
    ("heavier", "mass", Up),
    ("quieter", "noise", Down),
    ("louder", "noise", Up),
    ("cheaper", "price", Down),
    ("pricier", "price", Up),
    ("stronger", "sustained-output", Up),
    ("bigger", "usable-energy", Up),
    ("larger", "usable-energy", Up),
    ("smaller", "usable-energy", Down),
    ("faster", "time", Down),
    ("quicker", "time", Down),
    ("slower", "time", Up),
    ("longer", "time", Up),
    ("shorter", "time", Down),
    ("lower", "", Down),
    ("higher", "", Up),
    ("more", "", Up),
    ("less", "", Down),
    ("better", "", Way::Better),
    ("worse", "", Worse),
    ("beats", "", Way::Better),
    ("beat", "", Way::Better),
    ("outperforms", "", Way::Better),
    ("outlasts", "runtime", Up),
    ("outlasted", "runtime", Up),
];

/// Words behind "best" and "most" that make them mean something else.
pub const IDIOM: &[&str] = &[
    "part",
    "way",
    "thing",
    "bet",
    "friend",
    "practice",
    "case",
    "guess",
    "wishes",
    "before",
    "regards",
    "of",
    "people",
    "likely",
    "often",
    "important",
    "recent",
    "viewers",
    "common",
    "time",
    "mode",
    "load",
    "days",
    "homes",
    "interesting",
];
/// Words that reach beyond the bench.
pub const BEYOND: &[&str] =
    &["market", "world", "ever", "anywhere", "existence", "planet", "buy", "industry", "history"];
