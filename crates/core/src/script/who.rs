//! Which model a sentence speaks of: its name, whole or a part that no other model has.
use super::number;
use super::read::Piece;
use super::token::{Token, sentences};
use super::unit::unit_at;
use crate::report::Report;
use std::collections::BTreeSet;

/// A model named in a sentence; several when the name fits several.
#[derive(Clone, Debug, PartialEq)]
pub struct Mention {
    /// First token.
    pub at: usize,
    /// Token after it.
    pub to: usize,
    /// Indices into the report's models.
    pub models: Vec<usize>,
    /// Only the maker is named, and speaks for himself: "Tarnhobble says".
    pub maker: bool,
    /// Something is held against it, and the sentence is about another: "lighter than the Fell".
    pub foil: bool,
}

/// Names of the bench, as words.
pub struct Names(Vec<Vec<String>>, BTreeSet<String>, Vec<f64>);

impl Names {
    /// The names of a report's models.
    pub fn of(report: &Report) -> Names {
        let words = |name: &str| -> Vec<String> {
            let bare = name.split('(').next().unwrap_or(name);
            let piece = Piece { line: 0, text: bare.into(), ends: true };
            sentences(&[piece]).into_iter().flat_map(|s| s.tokens).map(|t| t.text).collect()
        };
        let names: Vec<Vec<String>> = report.models.iter().map(|m| words(&m.name)).collect();
        let all = names.iter().flatten().cloned().collect();
        let size = |m: &crate::report::ModelReport| {
            let stored = m.claims.iter().find(|c| c.claim.key == "stored-energy");
            stored.and_then(|c| c.limit).unwrap_or(0.0)
        };
        Names(names, all, report.models.iter().map(size).collect())
    }

    /// The energy a model's maker prints, 0 where none is printed.
    pub fn size(&self, model: usize) -> f64 {
        self.2.get(model).copied().unwrap_or(0.0)
    }

    /// The models that share a word of a model's name, other than the maker's, and itself.
    pub fn family(&self, model: usize) -> Vec<usize> {
        let of = |m: usize| self.0[m].iter().skip(1).filter(|w| !w.starts_with(|c: char| c.is_ascii_digit()));
        let share = |m: &usize| *m == model || of(*m).any(|w| of(model).any(|v| v == w));
        (0..self.0.len()).filter(share).collect()
    }

    /// Longest run of a model's name that starts at token `i`, and whether it holds a word.
    fn run(&self, model: usize, tokens: &[Token], i: usize) -> usize {
        let name = &self.0[model];
        (0..name.len())
            .map(|from| {
                let pairs = name[from..].iter().zip(&tokens[i..]);
                let the = i > 0 && ARTICLES.contains(&tokens[i - 1].text.as_str());
                let the = the || several(tokens, i);
                pairs.take_while(|(n, t)| **n == bare(&t.text) || (the && short(&t.text, n))).count()
            })
            .max()
            .unwrap_or(0)
    }

    /// Every mention in a sentence, in order.
    pub fn mentions(&self, tokens: &[Token]) -> Vec<Mention> {
        let mut out = Vec::new();
        let mut i = 0;
        // Subtitles may do without capitals: there a name is told by the word before it.
        let written = |t: &Token| t.is_capital() && t.raw.chars().nth(1).is_some_and(char::is_lowercase);
        let small = !tokens.iter().enumerate().any(|(i, t)| written(t) && unit_at(tokens, i).is_none());
        while i < tokens.len() {
            let first = bare(&tokens[i].text);
            let known = self.1.contains(first) || first.strip_suffix('s').is_some_and(|w| self.1.contains(w));
            let best = match known {
                true => (0..self.0.len()).map(|m| self.run(m, tokens, i)).max().unwrap_or(0),
                false => 0,
            };
            if best == 0 || !self.credible(tokens, i, best, small) {
                i += 1;
                continue;
            }
            let models: Vec<usize> = (0..self.0.len()).filter(|&m| self.run(m, tokens, i) == best).collect();
            let to = self.spoken_number(tokens, i + best, &models);
            let alone = best == 1 && self.0.iter().any(|n| n.len() > 1 && n[0] == first);
            let maker = alone
                && !several(tokens, i)
                && !preceded(tokens, i, &["the", "this", "our", "my", "a", "that"]);
            out.push(Mention { at: i, to, models, maker, foil: false });
            i = to;
        }
        out
    }

    /// Is this run a name, and not a word of the language or a number?
    fn credible(&self, tokens: &[Token], i: usize, length: usize, small: bool) -> bool {
        let words = tokens[i..i + length].iter().filter(|t| !t.is_figure()).count();
        if words == 0 {
            let the = i > 0 && matches!(tokens[i - 1].text.as_str(), "the" | "this" | "our" | "my");
            // "Of the 1,985 on the box": a figure of the maker's.
            let word = |k: usize| tokens.get(i + length + k).map_or("", |t| t.text.as_str());
            let printed =
                matches!(word(0), "claimed" | "stated" | "promised" | "printed" | "advertised" | "they")
                    || (matches!(word(0), "on" | "from")
                        && matches!(word(2), "box" | "label" | "sticker" | "tin" | "brochure"));
            return the && !printed && tokens[i].text.len() > 2 && unit_at(tokens, i + length).is_none();
        }
        let maker = self.0.iter().any(|n| n.first().is_some_and(|w| w == bare(&tokens[i].text)));
        let unit = i.checked_sub(1).is_some_and(|k| unit_at(tokens, k).is_some());
        // "Lantern sixteen point nine kilos fell thirteen point three": each name between two numbers.
        let number = |k: usize, to: usize| number::number(tokens, k).is_some_and(|n| n.next == to || to == 0);
        let listed = i > 0 && number(i - 1, i) && number(i + length, 0);
        let lower = small
            && (listed || unit || i == 0 || tokens[i].after.is_some() || preceded(tokens, i, BEFORE_A_NAME));
        length > 1 || maker || tokens[i].is_capital() || lower
    }

    /// "Fell ten ten": a number said after the name belongs to it.
    fn spoken_number(&self, tokens: &[Token], to: usize, models: &[usize]) -> usize {
        if tokens.get(to).is_none_or(|t| t.after.is_some()) {
            return to;
        }
        // "Hob ten eighty nine hundred watt-hours": as many words as make the number of the name, and no more.
        let ends = (to + 1..=(to + 4).min(tokens.len())).rev();
        let fits = |end: &usize| {
            let n = number::number(&tokens[..*end], to).filter(|n| n.next == *end);
            let said = n.map(|n| format!("{}", n.x));
            said.is_some_and(|said| models.iter().any(|&m| self.0[m].contains(&said)))
                && unit_at(tokens, *end).is_none()
        };
        ends.into_iter().find(fits).unwrap_or(to)
    }
}

/// Small words that a name may follow; "the price fell" holds none.
const BEFORE_A_NAME: &[&str] = &[
    "the", "a", "my", "our", "your", "this", "that", "little", "big", "old", "new", "good", "of", "on",
    "from", "for", "with", "and", "or", "than", "to", "by", "in", "at", "when", "while", "but", "so", "is",
    "does", "did", "has", "how", "versus", "vs", "like", "because", "if", "both", "either", "neither",
    "only", "then", "now", "gave", "beats", "into",
];

/// Words before a name that may have lost its apostrophe: "the cairns the lightest".
const ARTICLES: &[&str] = &["the", "this", "our", "my", "that"];

fn short(text: &str, name: &str) -> bool {
    text.strip_suffix('s') == Some(name)
}

/// "Both Cairns", "the two Larders": more than one of a name.
pub fn several(tokens: &[Token], i: usize) -> bool {
    preceded(tokens, i, &["both", "two", "these", "those", "three", "all"])
}

fn preceded(tokens: &[Token], i: usize, words: &[&str]) -> bool {
    i.checked_sub(1).is_some_and(|k| words.contains(&tokens[k].text.as_str()))
}

fn bare(text: &str) -> &str {
    text.strip_suffix("'s").unwrap_or(text)
}

/// The model asked for by id or by a part of its name that no other has.
pub fn find(report: &Report, asked: &str) -> Result<usize, Vec<String>> {
    let asked = asked.trim().to_lowercase();
    if let Some(i) = report.models.iter().position(|m| m.id.to_lowercase() == asked) {
        return Ok(i);
    }
    let fits: Vec<usize> =
        (0..report.models.len()).filter(|&i| report.models[i].name.to_lowercase().contains(&asked)).collect();
    match fits.as_slice() {
        [one] if !asked.is_empty() => Ok(*one),
        several => Err(several.iter().map(|&i| report.models[i].name.clone()).collect()),
    }
}
