//! "Which is heavier, Hob or Lantern? The Hob.": a question that ranks, answered with a name in the next sentence.
use super::Judgement;
use super::Line;
use super::judge::Desk;
use super::order::{key_of, standing, value, way_up};
use super::rank::line;
use super::ranking::{THANS, TOPS, by_adjective};
use super::scene::Scene;
use crate::rank::tied;

/// Who a question asks for: each model with whether it may be the answer, and what the bench has.
pub type Asked = Vec<(usize, bool, String)>;

/// Words that ask for one of several.
const ASKS: &[&str] = &["which", "who", "what", "what's", "whats", "whose", "who's", "q"];

/// What a question asks for, where it ranks.
pub fn asked(desk: &Desk, scene: &Scene) -> Asked {
    let opens = |n: usize| scene.tokens.iter().take(n).any(|t| ASKS.contains(&t.text.as_str()));
    if !scene.asks || !opens(3) {
        return Vec::new();
    }
    let named: Vec<usize> = scene.mentions.iter().flat_map(|m| m.models.iter().copied()).collect();
    let all: Vec<usize> = if named.len() >= 2 { named } else { (0..desk.book.report.models.len()).collect() };
    (0..scene.tokens.len()).find_map(|i| ranked(desk, scene, i, &all)).unwrap_or_default()
}

fn ranked(desk: &Desk, scene: &Scene, i: usize, all: &[usize]) -> Option<Asked> {
    let word = scene.word(i);
    let (_, fixed, way) = TOPS.iter().chain(THANS).find(|t| t.0 == word)?;
    let (fixed, way) = by_adjective(word, scene.word(i + 1)).unwrap_or((fixed, *way));
    let key = key_of(scene, i, fixed)?;
    let whole = all.len() == desk.book.report.models.len();
    let of = |m: usize| -> Option<(usize, bool, String)> {
        if whole {
            let s = standing(desk.book, scene, key, m, way)?;
            return Some((m, s.first(), format!("{}{}", s.words(), s.tied_words())));
        }
        let own = value(desk.book, scene, key, m)?;
        let up = way_up(desk.book, scene, key, way);
        let rivals = all.iter().filter(|r| **r != m);
        let first = rivals
            .filter_map(|r| value(desk.book, scene, key, *r))
            .all(|v| (own.x > v.x) == up && own.x != v.x && !(tied(&own, &v) && own.has_u()));
        Some((m, first, desk.book.words(key, &own)))
    };
    let asked: Asked = all.iter().filter_map(|m| of(*m)).collect();
    (asked.len() > 1).then_some(asked)
}

/// The line for a sentence that answers with a name.
pub fn answered(desk: &Desk, scene: &Scene) -> Option<Line> {
    let m = scene.mentions.first().filter(|m| !m.maker && m.at <= 4)?;
    let [model] = m.models.as_slice() else { return None };
    let (_, right, record) = desk.asked.iter().find(|a| a.0 == *model)?;
    let ranks = |w: &str| TOPS.iter().chain(THANS).any(|t| t.0 == w);
    // What ranks by itself is checked by itself; "not the Hob" is no answer.
    let other = scene.asks || scene.tokens.iter().any(|t| ranks(&t.text)) || scene.negated(m.at);
    let says = |judgement, hint: String| line(scene, m.at, m.to, judgement, Some(record.clone()), hint);
    (!other).then(|| match right {
        true => says(Judgement::Agrees, String::new()),
        false => says(Judgement::Unsupported, format!("the bench has it at {record}")),
    })
}
