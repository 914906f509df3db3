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

use super::lemma::root;
use super::scene::Scene;
impl Way {
    /// Is more of it meant, where more is better or not?
    pub fn up(self, more_is_better: bool) -> bool {
        match self {
            Way::Up => true,
            Way::Down => false,
            Way::Better => more_is_better,
            Way::Worse => !more_is_better,
        }
    }
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
    ("hungriest", "idle-draw", Up),
    ("thriftiest", "idle-draw", Down),
    ("dearest", "price", Up),
    ("costliest", "price", Up),
    ("beefiest", "sustained-output", Up),
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
    ("heavy", "mass", Up),
    ("quiet", "noise", Down),
    ("noisy", "noise", Up),
    ("loud", "noise", Up),
    ("hungry", "idle-draw", Up),
    ("light", "mass", Down),
    ("cheap", "price", Down),
    ("fast", "time", Down),
    ("quick", "time", Down),
    ("slow", "time", Up),
    ("strong", "sustained-output", Up),
    ("efficient", "efficiency", Up),
];

/// What "most", "more", "least" or "less" before this word ranks.
pub fn by_adjective(word: &str, next: &str) -> Option<(&'static str, Way)> {
    let (_, key, way) = ADJECTIVES.iter().find(|a| a.0 == next)?;
    match (word, *way) {
        ("most" | "more" | "as", way) => Some((*key, way)),
        ("least" | "less", Up) => Some((*key, Down)),
        ("least" | "less", _) => Some((*key, Up)),
        _ => None,
    }
}

/// Verbs that set one model above or below another, by their root, with the word that must follow.
const VERBS: &[(&str, &str, &str, Way)] = &[
    ("outweigh", "", "mass", Up),
    ("undercut", "", "price", Down),
    ("outrun", "", "runtime", Up),
    ("surpass", "", "", Way::Better),
    ("exceed", "", "", Up),
    ("top", "", "", Way::Better),
    ("leav", "", "", Way::Better),
    ("left", "", "", Way::Better),
    (">", "", "", Up),
    ("<", "", "", Down),
    ("trump", "", "", Way::Better),
    ("outrank", "", "", Way::Better),
    ("outscor", "", "", Way::Better),
    ("outshin", "", "", Way::Better),
    ("outpac", "", "time", Down),
    ("outperform", "", "", Way::Better),
    ("outdo", "", "", Way::Better),
    ("outdid", "", "", Way::Better),
    ("outclas", "", "", Way::Better),
    ("best", "", "", Way::Better),
    ("trail", "", "", Worse),
    ("lead", "", "", Way::Better),
    ("led", "", "", Way::Better),
    ("win", "over", "", Way::Better),
    ("won", "over", "", Way::Better),
    ("win", "against", "", Way::Better),
    ("won", "against", "", Way::Better),
    ("edg", "out", "", Way::Better),
    ("edg", "over", "", Way::Better),
    ("ahead", "of", "", Way::Better),
    ("advantag", "over", "", Way::Better),
    ("lead", "over", "", Way::Better),
    ("superior", "to", "", Way::Better),
    ("inferior", "to", "", Worse),
    ("los", "to", "", Worse),
    ("lag", "behind", "", Worse),
    ("fall", "behind", "", Worse),
    ("fell", "behind", "", Worse),
    ("com", "behind", "", Worse),
    ("finish", "behind", "", Worse),
    ("match", "for", "", Worse),
];

/// The verb at token `i` that sets its subject above or below the model named behind it: result, way, and the token that
/// model is looked for behind.
pub fn verb(scene: &Scene, i: usize) -> Option<(&'static str, Way, usize)> {
    let word = root(scene.word(i));
    let named = |k: usize| scene.mentions.iter().any(|m| m.at > k && m.at <= k + 3 && !m.maker);
    let itself = scene.mentions.iter().any(|m| m.at <= i && i < m.to);
    // "leaves the Fell behind"
    let left = matches!(word, "leav" | "left")
        && !(i + 1..i + 6).any(|k| matches!(scene.word(k), "behind" | "standing" | "dust"));
    // "From the top: the Granary"
    if i > 0 && matches!(scene.word(i - 1), "the" | "on" | "from") {
        return None;
    }
    if let Some(than) = defeats(scene, i) {
        return Some(("", Way::Better, than));
    }
    VERBS.iter().filter(|v| v.0 == word && !itself && !left).find_map(|(_, particle, key, way)| {
        let than = match particle.is_empty() {
            true => i,
            false => (i + 1..i + 4).find(|k| scene.word(*k) == *particle)?,
        };
        named(than).then_some((*key, *way, than))
    })
}

/// "The Cairn crushes the Hob on charging speed": whatever the verb, one model does it to another in a result.
fn defeats(scene: &Scene, i: usize) -> Option<usize> {
    const OTHER: &[&str] = &[
        "weighs",
        "costs",
        "has",
        "is",
        "was",
        "does",
        "vs",
        "versus",
        "matches",
        "equals",
        "resembles",
        "needs",
        "includes",
        "follows",
        "joins",
        "ties",
        "and",
        "as",
        "supports",
        "charges",
        "powers",
        "runs",
        "matched",
        "equalled",
        "tied",
        "followed",
        "compared",
        "less",
        "plus",
        "minus",
        "trails",
        "loses",
        "its",
        "this",
    ];
    if !scene.mentions.iter().any(|m| m.to == i && !m.maker) {
        return None;
    }
    let word = scene.word(i);
    let verb = (word.ends_with('s') || word.ends_with("ed")) && !OTHER.contains(&word);
    let known = VERBS.iter().any(|v| v.0 == root(word)) || THANS.iter().any(|t| t.0 == word);
    let behind = scene.mentions.iter().find(|m| m.at > i && m.at <= i + 2 && !m.maker)?;
    let on = matches!(scene.word(behind.to), "on" | "in" | "at" | "for" | "when");
    let topic = |c: &super::lexicon::Cue| {
        matches!(c.sense, super::lexicon::Sense::Topic(..)) && c.at > behind.to && c.at <= behind.to + 5
    };
    (verb && !known && on && scene.cues.iter().any(topic)).then_some(i)
}

/// Words for all that were tested.
const GROUP: &[&str] = &[
    "all",
    "them",
    "these",
    "those",
    "bunch",
    "lot",
    "group",
    "test",
    "field",
    "pack",
    "quartet",
    "bench",
    "here",
    "lineup",
    "four",
    "4",
    "three",
    "3",
    "two",
    "2",
    "five",
    "5",
    "stations",
    "units",
    "boxes",
    "models",
    "house",
    "roundup",
    "comparison",
    "us",
    "ours",
];

/// "Of four", "in the test", "here", behind a superlative.
pub fn of_all(scene: &Scene, i: usize) -> bool {
    let link = |k: usize| matches!(scene.word(k), "of" | "in" | "among" | "out" | "from" | "on");
    (i + 1..i + 5).any(|k| {
        let group = (k + 1..k + 4).any(|g| GROUP.contains(&scene.word(g)));
        (link(k) && group) || scene.word(k) == "here"
    })
}

/// "Of the three", where more have a value: how many.
pub fn of_fewer(scene: &Scene, i: usize, of: usize) -> Option<usize> {
    const SMALL: [&str; 6] = ["", "one", "two", "three", "four", "five"];
    let n = |k: usize| {
        let w = scene.word(k);
        SMALL.iter().position(|s| *s == w && !w.is_empty()).or_else(|| w.parse().ok())
    };
    let some = |k: usize| (k + 1..k + 4).filter_map(n).find(|n| *n > 1 && *n < of);
    (i + 1..i + 5).filter(|k| scene.word(*k) == "of").find_map(some)
}

/// "The lightest in its class": among some of those tested, or others.
pub fn of_some(scene: &Scene, i: usize) -> bool {
    const CLASS: &[&str] =
        &["class", "category", "segment", "league", "bracket", "kind", "sort", "type", "size"];
    let among = (0..i).any(|k| matches!(scene.word(k), "among" | "amongst" | "between"));
    among || (i + 1..i + 9).any(|k| CLASS.contains(&scene.word(k)))
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
    ("dearer", "price", Up),
    ("costlier", "price", Up),
    ("thirstier", "idle-draw", Up),
    ("hungrier", "idle-draw", Up),
    ("thriftier", "idle-draw", Down),
    ("beefier", "sustained-output", Up),
    ("sooner", "time", Down),
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
