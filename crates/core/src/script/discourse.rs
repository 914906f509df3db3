//! Models that are described and not named: "the big Cairn", "the smaller one", "its little brother", "the other one".
use super::token::Token;
use super::who::{Mention, Names, several};

/// Words that pick the larger or the smaller of several.
const LARGE: &[&str] = &["big", "bigger", "biggest", "large", "larger", "largest", "huge", "giant", "older"];
const SMALL: &[&str] =
    &["small", "smaller", "smallest", "little", "littler", "tiny", "compact", "mini", "baby", "younger"];

/// Nouns that stand for a station after such a word.
const STANDS: &[&str] = &[
    "one",
    "brother",
    "sister",
    "sibling",
    "cousin",
    "model",
    "station",
    "box",
    "unit",
    "version",
    "twin",
    "pal",
    "companion",
];

/// Which end of the sizes a word picks.
fn picks(word: &str) -> Option<bool> {
    match (LARGE.contains(&word), SMALL.contains(&word)) {
        (true, _) => Some(true),
        (_, true) => Some(false),
        _ => None,
    }
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

impl Names {
    /// The largest or smallest of some models, by the energy their makers print.
    fn by_size(&self, models: &[usize], large: bool) -> Option<usize> {
        let sized = models.iter().filter(|m| self.size(**m) > 0.0);
        let size = |m: &&usize| self.size(**m);
        match large {
            true => sized.max_by(|a, b| size(a).total_cmp(&size(b))),
            false => sized.min_by(|a, b| size(a).total_cmp(&size(b))),
        }
        .copied()
    }

    /// "The big Cairn": of several that share a name, the one that the word before it picks; else the one spoken of last.
    pub fn told_apart(&self, tokens: &[Token], mentions: &mut [Mention], recent: &[usize]) {
        let one_of = |m: &&mut Mention| m.models.len() > 1 && !m.maker && !several(tokens, m.at);
        for m in mentions.iter_mut().filter(one_of) {
            let picked = (1..=2).filter_map(|k| m.at.checked_sub(k)).find_map(|i| picks(word(tokens, i)));
            let one = match picked {
                Some(large) => self.by_size(&m.models, large),
                None => recent.iter().rev().find(|r| m.models.contains(r)).copied(),
            };
            m.models = one.map_or_else(|| m.models.clone(), |one| vec![one]);
        }
    }

    /// Models that stand in a sentence under a description only. `recent` are those spoken of before it, the last one last.
    pub fn described(&self, tokens: &[Token], mentions: &[Mention], recent: &[usize]) -> Vec<Mention> {
        let mut out = Vec::new();
        for i in 0..tokens.len() {
            let before: Vec<usize> =
                mentions.iter().filter(|m| m.to <= i).flat_map(|m| m.models.iter().copied()).collect();
            let known = two_last(&before).or_else(|| two_last(recent));
            let last = before.last().or(recent.last()).copied();
            let inside = mentions.iter().any(|m| m.at <= i && i < m.to);
            if let Some((m, to)) = self.one(tokens, i, mentions, known, last).filter(|_| !inside) {
                out.push(Mention { at: i, to, models: vec![m], maker: false, foil: false });
            }
        }
        out
    }

    fn one(
        &self,
        tokens: &[Token],
        i: usize,
        mentions: &[Mention],
        known: Option<(usize, usize)>,
        last: Option<usize>,
    ) -> Option<(usize, usize)> {
        let determined = matches!(word(tokens, i), "the" | "its" | "that" | "this" | "their");
        let (first, second) = (word(tokens, i + 1), word(tokens, i + 2));
        // "The smaller one is the Fell" says which it is.
        let asserts = |to: usize| {
            let is = |k: usize| matches!(word(tokens, k), "is" | "was" | "of" | "i" | "we" | "here");
            is(to) || (word(tokens, to) == "by" && tokens[to].after.is_none())
        };
        if !determined {
            return None;
        }
        if let Some(large) = picks(first).filter(|_| STANDS.contains(&second) && !asserts(i + 3)) {
            let family = last.map(|m| self.family(m)).filter(|f| f.len() > 1);
            let of_last = family.filter(|_| !matches!(second, "one" | "box" | "unit" | "station"));
            let kin = matches!(second, "brother" | "sister" | "sibling" | "cousin" | "twin");
            let pair = known.map(|(a, b)| vec![a, b]).filter(|_| !kin);
            let set = of_last.or(pair).or_else(|| last.map(|m| self.family(m)).filter(|f| f.len() > 1))?;
            return Some((self.by_size(&set, large)?, i + 3));
        }
        let (a, b) = known?;
        let pair = mentions.iter().filter(|m| m.to <= i).count() == 2;
        let verb = |k: usize| {
            let t = tokens.get(k);
            t.is_none_or(|t| t.after.is_some())
                || t.is_some_and(|t| {
                    t.text.ends_with('s') || matches!(t.text.as_str(), "gave" | "had" | "took" | "held")
                })
        };
        match (first, second) {
            ("first", _) if pair && verb(i + 2) => Some((a, i + 2)),
            ("second", _) if pair && verb(i + 2) => Some((b, i + 2)),
            ("other", "one" | "box" | "unit" | "station") if !asserts(i + 3) => Some((a, i + 3)),
            ("other", _) if tokens.get(i + 2).is_none_or(|t| t.after.is_some()) => Some((a, i + 2)),
            ("former", _) => Some((a, i + 2)),
            ("latter", _) => Some((b, i + 2)),
            ("sibling" | "brother" | "sister", _) => {
                let family = self.family(last?);
                family.into_iter().find(|m| Some(*m) != last).map(|m| (m, i + 2))
            }
            _ => None,
        }
    }
}

/// The last two different models of a list.
fn two_last(models: &[usize]) -> Option<(usize, usize)> {
    let last = *models.last()?;
    models.iter().rev().find(|m| **m != last).map(|other| (*other, last))
}
