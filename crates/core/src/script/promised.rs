//! The maker's figure told as one that was measured: "our meter confirmed its 60 watts", "the scale says 10.4, same as the
//! sticker".
use super::amount::Amount;
use super::book::{Mark, Whose};
use super::compare::{Fit, fit};
use super::hedge::Hedge;
use super::judge::Desk;
use super::lexicon::{Sense, Takes};
use super::scene::{Scene, sort_of};
use super::{Judgement, Line};

/// Words that leave no doubt that something was measured here.
const MEASURED: &[&str] = &[
    "measured",
    "measure",
    "measuring",
    "meter",
    "meters",
    "scale",
    "scales",
    "stopwatch",
    "clocked",
    "confirmed",
    "confirms",
    "tested",
    "timed",
    "weighed",
    "recorded",
    "logged",
    "eyes",
    "heard",
    "listened",
    "checked",
];

/// "in our test", "in my own test": likewise.
fn in_own_test(scene: &Scene, i: usize) -> bool {
    let own = |w: &str| matches!(w, "our" | "my" | "own" | "the" | "this");
    matches!(scene.word(i), "test" | "tests")
        && i > 1
        && own(scene.word(i - 1))
        && (matches!(scene.word(i - 2), "in" | "on" | "during" | "by" | "from") || own(scene.word(i - 2)))
}

/// Every figure of the maker's that is told as measured here, where nothing measured bears it.
pub fn told_as_measured(desk: &Desk, scene: &Scene, done: &mut [bool]) -> Vec<Line> {
    let not = |i: usize| i > 0 && matches!(scene.word(i - 1), "not" | "never" | "be");
    let said = |i: usize| (MEASURED.contains(&scene.word(i)) && !not(i)) || in_own_test(scene, i);
    let at: Vec<usize> = (0..scene.tokens.len()).filter(|i| said(*i)).collect();
    if at.is_empty() || scene.asks || scene.says(&["if", "never", "would", "should", "could"]) {
        return Vec::new();
    }
    let mut lines = Vec::new();
    for (a, done) in scene.amounts.iter().zip(done.iter_mut()).filter(|(_, done)| !**done) {
        let near = at.iter().any(|i| scene.clause[*i].abs_diff(scene.clause[a.at]) <= 1);
        let Some(mark) = near.then(|| makers(desk, scene, a)).flatten() else { continue };
        *done = true;
        let of = |k: &&Mark| k.key == mark.key && k.whose == Whose::Bench;
        let have = desk.book.marks[mark.model].iter().find(of);
        let hint = match have {
            Some(k) => format!("that is the maker's figure; measured was {}", k.text()),
            None => "that is the maker's figure, which was not measured here".to_string(),
        };
        let judgement = if have.is_some() { Judgement::Differs } else { Judgement::Unsupported };
        lines.push(desk.line(scene, a, judgement, Some(mark), hint));
    }
    lines
}

/// The maker's figure that an amount repeats, where it is told as no promise and nothing measured agrees.
fn makers<'a>(desk: &'a Desk, scene: &Scene, a: &Amount) -> Option<&'a Mark> {
    let sort = sort_of(&a.what);
    let plain = a.hi.is_none() && a.hedge == Hedge::Plain && !a.denied && !a.was && !a.describes;
    let [model] = desk.models_at(scene, a.at)[..] else { return None };
    if !plain || sort == Takes::Other || promised_itself(scene, a) || scene.negated(a.at) {
        return None;
    }
    let marks = || desk.book.marks[model].iter().filter(|k| k.takes == sort);
    if marks().any(|k| !matches!(k.whose, Whose::Maker(_)) && fit(a, k, &[]) == Fit::Agrees) {
        return None;
    }
    let spoken = |k: &&Mark| {
        let topics = || scene.topics(a, |keys| keys.iter().any(|k| super::lexicon::takes(k) == sort));
        scene.speaks_of(&k.key) || topics().is_empty()
    };
    marks().filter(|k| k.is_promise_of(a)).find(spoken)
}

/// A word for a promise belongs to the number itself: "7.55 instead of the 7.6 claimed". That it is the "same as on the sticker"
/// is told of what was measured.
fn promised_itself(scene: &Scene, a: &Amount) -> bool {
    // "Our scale says": no promise, though "says" is a word for one.
    let own = |c: &super::lexicon::Cue| {
        let over = |o: &super::lexicon::Cue| o.sense == Sense::Measured && o.at <= c.at && c.to <= o.to;
        scene.cues.iter().any(over)
    };
    let claim =
        |i: usize| scene.cues.iter().any(|c| c.sense == Sense::Claim && c.at <= i && i < c.to && !own(c));
    let before = |k: usize| a.from.checked_sub(k).is_some_and(claim);
    let same = (a.to..a.to + 4).any(|i| matches!(scene.word(i), "same" | "exactly" | "just"));
    let behind = (a.to..a.to + 4).any(claim) && !same;
    let against = (1..4).any(|k| {
        let word = a.from.checked_sub(k).map_or("", |i| scene.word(i));
        let instead = word == "of" && a.from > k && scene.word(a.from - k - 1) == "instead";
        instead || matches!(word, "against" | "than" | "not" | "versus" | "from" | "to")
    });
    let claims_before = (1..5).any(before);
    behind || against || claims_before
}
