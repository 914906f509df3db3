//! What words speak of: which results, the maker's figure or the bench's, under which condition.
use super::lemma::root;
use super::token::Token;
use super::vocabulary::PHRASES;
use super::who::Mention;
use crate::claims;
use crate::quantity::Dim;
use std::collections::BTreeMap;

/// How firmly a word speaks of its topic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Firm {
    /// A number with it is a statement about the station.
    Strong,
    /// Only in company of the station.
    Weak,
}

/// What a word or phrase does to the numbers near it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sense {
    /// It speaks of these results.
    Topic(&'static [&'static str], Firm),
    /// The maker says so.
    Claim,
    /// The bench says so.
    Measured,
    /// A condition: axis and value.
    On(&'static str, &'static str),
    /// It was so once.
    Once,
    /// A word for the station itself.
    Station,
    /// Not.
    Not,
}

/// A sense found in a sentence.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cue {
    /// First token.
    pub at: usize,
    /// Token after it.
    pub to: usize,
    /// What it means.
    pub sense: Sense,
}

/// Where a phrase has one of these, any of them may stand: "from the wall", "from my wall".
const ARTICLES: &[&str] = &["the", "my", "our", "your", "its", "their", "a", "this"];

/// A phrase: its words, whether they stand for all their forms, and what it means.
struct Phrase {
    words: Vec<&'static str>,
    forms: bool,
    sense: Sense,
}

impl Phrase {
    fn fits(&self, word: &str, seen: &Seen) -> bool {
        let article = self.forms && ARTICLES.contains(&word) && ARTICLES.contains(&seen.text);
        seen.text == word || article || (self.forms && seen.root == word)
    }
}

/// Phrases by the root of their first word, longest first.
pub struct Lexicon(BTreeMap<&'static str, Vec<Phrase>>);

impl Lexicon {
    /// Sorts the phrases for looking up.
    pub fn new() -> Lexicon {
        let mut map: BTreeMap<&'static str, Vec<Phrase>> = BTreeMap::new();
        for (phrases, sense) in PHRASES {
            for phrase in phrases.split('|') {
                let exact = phrase.starts_with('=');
                let forms = !exact && matches!(sense, Sense::Topic(..) | Sense::Claim);
                // Hyphens part words when a script is read, so they do here.
                let words = phrase.trim_start_matches('=').split([' ', '-']);
                let words: Vec<&str> = words.map(|w| if forms { root(w) } else { w }).collect();
                let first = if forms { words[0] } else { root(words[0]) };
                map.entry(first).or_default().push(Phrase { words, forms, sense: *sense });
            }
        }
        map.values_mut().for_each(|v| v.sort_by_key(|p| std::cmp::Reverse(p.words.len())));
        Lexicon(map)
    }
    /// Every cue of a sentence; of topics at one place only the longest. A model's name is read as "it".
    pub fn cues(&self, tokens: &[Token], mentions: &[Mention]) -> Vec<Cue> {
        let mut out: Vec<Cue> = Vec::new();
        let view = view(tokens, mentions);
        for (i, word) in view.iter().enumerate() {
            let Some(list) = self.0.get(word.root) else { continue };
            for phrase in list {
                let Some(last) = view.get(i + phrase.words.len() - 1) else { continue };
                let (at, to) = (word.at, last.to);
                let kind = std::mem::discriminant(&phrase.sense);
                let inside = out
                    .iter()
                    .rev()
                    .take_while(|c| at - c.at < 16)
                    .any(|c| c.to > at && c.to >= to && std::mem::discriminant(&c.sense) == kind);
                if !inside && phrase.words.iter().zip(&view[i..]).all(|(w, v)| phrase.fits(w, v)) {
                    out.push(Cue { at, to, sense: phrase.sense });
                }
            }
        }
        out
    }
}

/// A word as the lexicon sees it, with the tokens it stands for.
struct Seen<'a> {
    text: &'a str,
    root: &'a str,
    at: usize,
    to: usize,
}

/// The words of a sentence with each name, and the article before it, as "it" or "its".
fn view<'a>(tokens: &'a [Token], mentions: &[Mention]) -> Vec<Seen<'a>> {
    let mut out: Vec<Seen> = Vec::new();
    let mut i = 0;
    while i < tokens.len() {
        if let Some(m) = mentions.iter().find(|m| m.at == i && !m.maker) {
            let from = out.pop_if(|s| ARTICLES.contains(&s.text)).map_or(i, |s| s.at);
            let text = if tokens[m.to - 1].text.ends_with("'s") { "its" } else { "it" };
            out.push(Seen { text, root: text, at: from, to: m.to });
            i = m.to;
        } else {
            out.push(Seen { text: &tokens[i].text, root: root(&tokens[i].text), at: i, to: i + 1 });
            i += 1;
        }
    }
    out
}

/// The dimension-like sort of amounts a key takes.
pub fn takes(key: &str) -> Takes {
    match key {
        "usable-energy" | "stored-energy" | "wall-energy" | "cycling-energy" => Takes::Energy,
        "idle-draw" | "sustained-output" | "starting-power" | "solar-input" | "cycling-mean" => Takes::Power,
        "switchover" | "time-to-80" | "time-to-full" | "runtime" | "cycling-runtime"
        | "appliance-runtime" | "time-held" | "overload-time" => Takes::Time,
        "usable-share" | "efficiency" | "round-trip" | "comes-back" | "lost-on-the-way" | "shown-at-end"
        | "rides-through" | "starts" => Takes::Ratio,
        "mass" => Takes::Mass,
        "noise" => Takes::Level,
        "price" => Takes::Money,
        "price-per-wh" => Takes::MoneyPerWh,
        "energy-per-kg" => Takes::PerMass,
        "energy-per-money" => Takes::PerMoney,
        "cycles" => Takes::Count,
        "retained-energy" | "thd" => Takes::Ratio,
        "outlet-voltage" | "dc-voltage" => Takes::Voltage,
        _ => claims::spec_of(key).map_or(Takes::Other, |spec| match spec.dim {
            Dim::Energy => Takes::Energy,
            Dim::Power => Takes::Power,
            Dim::Time => Takes::Time,
            Dim::Ratio => Takes::Ratio,
            Dim::Temperature => Takes::Temperature,
            Dim::Voltage => Takes::Voltage,
            Dim::Current => Takes::Current,
            _ => Takes::Other,
        }),
    }
}

/// See [`takes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Takes {
    /// Watt-hours.
    Energy,
    /// Watts.
    Power,
    /// Hours.
    Time,
    /// Shares.
    Ratio,
    /// Kilograms.
    Mass,
    /// Decibels.
    Level,
    /// Money.
    Money,
    /// Money per Wh.
    MoneyPerWh,
    /// Watt-hours a kilogram.
    PerMass,
    /// Watt-hours for money.
    PerMoney,
    /// A count.
    Count,
    /// Degrees.
    Temperature,
    /// Volts.
    Voltage,
    /// Amperes.
    Current,
    /// Anything else.
    Other,
}
