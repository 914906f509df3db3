//! Promises said to be kept or missed without a number: "the Lantern misses its weight claim".
use super::amount::Amount;
use super::book::Whose;
use super::judge::Desk;
use super::lemma::root;
use super::lexicon::Sense;
use super::rank::{line, subject};
use super::scene::Scene;
use super::whose::Mode;
use super::{Judgement, Line};
use crate::judge::Verdict;

/// Roots of verbs that say a promise was kept, and of those that say it was not.
const KEEP: &[&str] = &[
    "keep", "meet", "met", "honour", "honor", "fulfil", "fulfill", "satisf", "match", "liv", "stick", "stuck",
];
const MISS: &[&str] = &["mis", "miss", "break", "brok", "brak", "fail", "violat"];

/// A promise of a model that is said to be kept or missed.
pub fn promise(desk: &Desk, scene: &Scene) -> Option<Line> {
    if scene.asks || scene.amounts.iter().any(|a| !a.denied) {
        return None;
    }
    let verb = |i: &usize| KEEP.contains(&root(scene.word(*i))) || MISS.contains(&root(scene.word(*i)));
    let i = (0..scene.tokens.len()).find(verb)?;
    let claim = scene.cues.iter().find(|c| c.sense == Sense::Claim && c.at > i && c.at <= i + 5)?;
    let whole = (i..claim.at).any(|k| matches!(scene.word(k), "its" | "their" | "the" | "every"));
    let model = subject(desk, scene, i).filter(|_| whole || scene.word(claim.at).ends_with("'s"))?;
    let claims = &desk.book.report.models[model].claims;
    let near = |c: &&super::lexicon::Cue| c.at > i && c.at <= claim.to + 4;
    let row = scene.cues.iter().filter(near).find_map(|c| match c.sense {
        Sense::Topic(keys, _) => claims.iter().find(|r| keys.contains(&r.claim.key.as_str())),
        _ => None,
    })?;
    let denied = scene.negated(i)
        || (i > 0 && matches!(scene.word(i - 1), "to" | "not") && scene.says(&["fails", "failed"]));
    let kept = KEEP.contains(&root(scene.word(i))) != denied;
    let right = match row.verdict {
        Verdict::Met | Verdict::ProbablyMet => kept,
        Verdict::NotMet | Verdict::ProbablyNotMet => !kept,
        _ => return None,
    };
    let words = format!("claim {}: {}", row.verdict.words(), row.claim.text);
    let judgement = if right { Judgement::Agrees } else { Judgement::Differs };
    let hint = if right { String::new() } else { format!("the verdict is \"{}\"", row.verdict.words()) };
    Some(line(scene, i, claim.to, judgement, Some(words), hint))
}

/// "The Hob ran 1,750 W to empty": of a station that is on record as having tripped.
pub fn held(desk: &Desk, scene: &Scene, done: &mut [bool]) -> Option<Line> {
    const TO_THE_END: &[&[&str]] = &[
        &["to", "empty"],
        &["until", "empty"],
        &["till", "empty"],
        &["until", "it", "was", "empty"],
        &["till", "it", "was", "empty"],
        &["without", "tripping"],
        &["no", "trip"],
        &["never", "tripped"],
        &["without", "a", "trip"],
        &["until", "it", "ran", "dry"],
    ];
    let said = |words: &&[&str]| {
        (0..scene.tokens.len()).any(|i| words.iter().enumerate().all(|(k, w)| scene.word(i + k) == *w))
    };
    TO_THE_END.iter().find(|w| said(w)).filter(|_| !scene.asks)?;
    let measured = |a: &Amount| a.watts().is_some() && !a.denied && scene.mode(a) != Mode::Claim;
    let i = scene.amounts.iter().position(measured)?;
    let a = &scene.amounts[i];
    let [model] = desk.models_at(scene, a.at)[..] else { return None };
    let marks = &desk.book.marks[model];
    let of = |key: &str| marks.iter().find(|k| k.key == key && k.whose == Whose::Bench);
    let rated = desk.book.rated_w(model).filter(|w| a.x >= 0.98 * w)?;
    let (Some(tripped), None) = (of("time-held"), of("sustained-output")) else { return None };
    done[i] = true;
    let hint = format!("at {rated:.0} W it switched off after {}", tripped.text());
    Some(desk.line(scene, a, Judgement::Differs, Some(tripped), hint))
}
