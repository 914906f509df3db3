//! Promises said to be kept or missed without a number: "the Lantern misses its weight claim".
use super::amount::Amount;
use super::book::Whose;
use super::judge::Desk;
use super::lemma::root;
use super::lexicon::{Cue, Sense};
use super::rank::{line, subject};
use super::scene::Scene;
use super::unit::What;
use super::whose::Mode;
use super::{Judgement, Line};
use crate::claims::ClaimRow;
use crate::judge::Verdict;
use crate::quantity::Dim;

/// Roots of verbs that say a promise was kept, and of those that say it was not.
const KEEP: &[&str] = &[
    "keep", "meet", "met", "honour", "honor", "fulfil", "fulfill", "satisf", "match", "liv", "stick",
    "stuck", "reach",
];
const MISS: &[&str] = &["mis", "miss", "break", "brok", "brak", "fail", "violat"];

/// A promise of a model that is said to be kept or missed: in so many words ("misses its weight claim", "meets the claim of 60
/// minutes", "the maker's two hours are kept") or by an "as": "full in four hours, just as they promise".
pub fn promise(desk: &Desk, scene: &Scene, done: &mut [bool]) -> Option<Line> {
    if scene.asks || scene.says(&["if", "whether", "would"]) {
        return None;
    }
    let (i, claim, kept) = in_words(scene).or_else(|| as_promised(scene)).or_else(|| that_one(scene))?;
    let whole = (i.min(claim.at)..claim.at)
        .any(|k| matches!(scene.word(k), "its" | "their" | "the" | "every" | "that" | "this"));
    let whole = whole
        || scene.word(i) == "as"
        || taken_up(scene, &claim)
        || claim.at < i
        || scene.word(claim.at).ends_with("'s");
    let model = subject(desk, scene, i).filter(|_| whole)?;
    let claims = &desk.book.report.models[model].claims;
    let said = |r: &&ClaimRow| scene.amounts.iter().any(|a| is_of(a, r));
    let near = |c: &&Cue| (c.at > i || c.at > claim.at) && c.at <= claim.to + 4;
    let of = |keys: &[&str]| claims.iter().find(|r| keys.contains(&r.claim.key.as_str()));
    // Another number of its own is told of what was measured: that is asked of the record.
    let other = |a: &Amount| {
        !a.denied && a.what != What::Bare && !ends_charge(a) && !claims.iter().any(|r| is_of(a, &r))
    };
    let numbers = scene.amounts.iter().any(|a| !a.denied && !ends_charge(a));
    // "Does it do eighty percent in two hours, as they say? It keeps that."
    let before = |r: &&ClaimRow| {
        let sort = super::lexicon::takes(&r.claim.key);
        r.limit.is_some_and(|l| desk.past.says(l, |what| super::scene::sort_of(what) == sort))
    };
    let row = match claims.iter().find(said) {
        Some(row) => row,
        None if !numbers && claims.iter().any(|r| before(&r)) => claims.iter().find(before)?,
        None if numbers => return None,
        None => {
            let here = scene.cues.iter().filter(near).find_map(|c| match c.sense {
                Sense::Topic(keys, _) => of(keys),
                _ => None,
            });
            // "Switchover claim? The Relay keeps it."
            let asked = || desk.topics_before().iter().find_map(|keys| of(keys));
            here.or_else(|| asked().filter(|_| taken_up(scene, &claim)))?
        }
    };
    if scene.amounts.iter().any(other) {
        return None;
    }
    let right = match row.verdict {
        Verdict::Met | Verdict::ProbablyMet => kept,
        Verdict::NotMet | Verdict::ProbablyNotMet => !kept,
        _ => return None,
    };
    let mine = scene.amounts.iter().zip(done.iter_mut()).filter(|(a, _)| is_of(a, &row));
    mine.for_each(|(_, done)| *done = true);
    let words = format!("claim {}: {}", row.verdict.words(), row.claim.text);
    let judgement = if right { Judgement::Agrees } else { Judgement::Unsupported };
    let hint = if right { String::new() } else { format!("the verdict is \"{}\"", row.verdict.words()) };
    Some(line(scene, i.min(claim.at), i.max(claim.to), judgement, Some(words), hint))
}

/// The number is the one promised.
fn is_of(a: &Amount, row: &&ClaimRow) -> bool {
    let sort = super::lexicon::takes(&row.claim.key) == super::scene::sort_of(&a.what);
    sort && row.limit.is_some_and(|l| (a.x - l).abs() <= 1e-9 * l.abs())
}

/// "To 80 percent": no number that was promised or measured.
fn ends_charge(a: &Amount) -> bool {
    a.what == What::Dim(Dim::Ratio)
}

/// The verb, the word for the promise, and whether it is said to be kept.
fn in_words(scene: &Scene) -> Option<(usize, Cue, bool)> {
    let borne = |i: usize| {
        matches!(scene.word(i), "true" | "confirmed")
            && (i.saturating_sub(4)..i).any(|k| {
                matches!(scene.word(k), "is" | "are" | "was" | "were" | "turned" | "they're" | "it's")
            })
    };
    let verb = |i: usize| {
        KEEP.contains(&root(scene.word(i)))
            || MISS.contains(&root(scene.word(i)))
            || borne(i)
            || holds_up(scene, i)
    };
    let claims = || scene.cues.iter().filter(|c| c.sense == Sense::Claim);
    // "It misses the 1,100 watts of surge on the box"
    let behind = |i: usize| {
        claims().find(|c| c.at > i && c.at <= i + 8 && (c.at <= i + 5 || number_between(scene, i, c.at)))
    };
    // "So the maker's two hours are kept", "I cannot call that promise kept"
    let passive = |i: usize| {
        let stop = scene.tokens.get(i + 1).is_none_or(|t| t.after.is_some());
        let ends = matches!(
            scene.word(i),
            "keep"
                | "reach"
                | "meet"
                | "kept"
                | "met"
                | "missed"
                | "broken"
                | "honoured"
                | "honored"
                | "fulfilled"
                | "failed"
                | "true"
                | "confirmed"
        );
        claims().rfind(|c| ends && stop && c.to <= i && c.to + 6 > i)
    };
    let found = (0..scene.tokens.len()).filter(|i| verb(*i));
    let (i, claim) = found.filter_map(|i| Some((i, *behind(i).or_else(|| passive(i))?))).next()?;
    let denied = scene.negated(i)
        || (i > 0 && matches!(scene.word(i - 1), "to" | "not") && scene.says(&["fails", "failed"]));
    Some((i, claim, MISS.contains(&root(scene.word(i))) == denied))
}

/// The promise is no more than a "that".
fn taken_up(scene: &Scene, claim: &Cue) -> bool {
    matches!(scene.word(claim.at), "that" | "it" | "this" | "they're" | "it's" | "that's" | "are" | "is")
}

/// "The claim holds up".
fn holds_up(scene: &Scene, i: usize) -> bool {
    matches!(scene.word(i), "holds" | "held" | "hold") && scene.word(i + 1) == "up"
}

fn number_between(scene: &Scene, from: usize, to: usize) -> bool {
    scene.amounts.iter().any(|a| from < a.at && a.at < to)
}

/// "It keeps that", "it misses that one": the promise asked about just before.
fn that_one(scene: &Scene) -> Option<(usize, Cue, bool)> {
    let verb = |i: &usize| {
        let word = root(scene.word(*i));
        (KEEP.contains(&word) || MISS.contains(&word)) && matches!(scene.word(i + 1), "that" | "it" | "this")
    };
    let borne = |i: &usize| matches!(scene.word(*i), "true" | "confirmed") && *i > 0;
    let they = |i: &usize| matches!(scene.word(i - 1), "they're" | "it's" | "that's" | "are" | "is");
    if let Some(i) = (0..scene.tokens.len()).find(|i| borne(i) && they(i)).filter(|_| scene.tokens.len() <= 5)
    {
        let claim = Cue { at: i - 1, to: i, sense: Sense::Claim };
        return Some((i, claim, !scene.negated(i)));
    }
    let i =
        (0..scene.tokens.len()).find(verb).filter(|_| scene.tokens.len() <= 9 && scene.amounts.is_empty())?;
    let kept = KEEP.contains(&root(scene.word(i))) != scene.negated(i);
    Some((i, Cue { at: i + 1, to: i + 2, sense: Sense::Claim }, kept))
}

/// "Just as its maker promises", "exactly as advertised", "the same as the sticker".
fn as_promised(scene: &Scene) -> Option<(usize, Cue, bool)> {
    let starts = |i: &usize| {
        scene.word(*i) == "as"
            && *i > 0
            && matches!(scene.word(i - 1), "just" | "exactly" | "same" | "precisely")
    };
    let i = (1..scene.tokens.len()).find(starts)?;
    let claim = scene.cues.iter().find(|c| c.sense == Sense::Claim && c.at > i && c.at <= i + 4)?;
    (!scene.negated(i)).then_some((i, *claim, true))
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
        &["to", "the", "end"],
        &["to", "the", "last"],
        &["without", "a", "time", "limit"],
        &["without", "limit"],
    ];
    let said = |words: &&[&str]| {
        (0..scene.tokens.len()).any(|i| words.iter().enumerate().all(|(k, w)| scene.word(i + k) == *w))
    };
    TO_THE_END.iter().find(|w| said(w)).filter(|_| !scene.asks)?;
    // "Holds its advertised 1,750 watts to the end": told of what it did.
    let holds = |a: &Amount| {
        let before = a.from.checked_sub(1).map_or("", |i| scene.word(i));
        matches!(before, "advertised" | "claimed" | "promised" | "rated" | "stated" | "its")
            && (a.from.saturating_sub(4)..a.from).any(|i| {
                matches!(root(scene.word(i)), "hold" | "held" | "sustain" | "run" | "ran" | "kept" | "keep")
            })
    };
    let measured =
        |a: &Amount| a.watts().is_some() && !a.denied && (scene.mode(a) != Mode::Claim || holds(a));
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
