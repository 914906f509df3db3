//! Differences said aloud: between two numbers beside them, from a promise, from what was before.
use super::amount::Amount;
use super::book::{Mark, Whose};
use super::judge::Desk;
use super::lemma::root;
use super::lexicon::{Cue, Sense, Takes};
use super::scene::{Scene, sort_of};
use super::unit::What;
use crate::quantity::Dim;

/// Words beside a number that is the difference of two others.
const APART: &[&str] = &[
    "less",
    "more",
    "difference",
    "gap",
    "lose",
    "loses",
    "lost",
    "losing",
    "waste",
    "wastes",
    "wasted",
    "missing",
    "short",
    "extra",
    "apart",
    "gone",
    "heavier",
    "lighter",
    "longer",
    "shorter",
    "cheaper",
    "faster",
    "slower",
    "later",
    "earlier",
    "saves",
    "save",
    "shy",
];

/// "400 grams more than the 13.9 claimed": what a difference is counted from.
fn than_amount<'a>(scene: &'a Scene, a: &Amount) -> Option<&'a Amount> {
    let said = APART.contains(&scene.word(a.to)) && scene.word(a.to + 1) == "than";
    scene.amounts.iter().find(|b| said && b.what == a.what && b.at >= a.to + 2 && b.at <= a.to + 4)
}

/// Words for a share on top of the smaller of two.
const ABOVE: &[&str] = &["heavier", "longer", "more", "higher", "above", "over", "extra", "slower"];

/// The two masses or times said before a share, where they are two.
fn pair_before<'a>(scene: &'a Scene, a: &Amount) -> Option<Vec<&'a Amount>> {
    [Dim::Mass, Dim::Time].into_iter().find_map(|dim| {
        let of = |b: &&Amount| b.to <= a.from && b.what == What::Dim(dim) && b.x > 0.0;
        let pair: Vec<&Amount> = scene.amounts.iter().filter(of).collect();
        (pair.len() == 2).then_some(pair)
    })
}

/// "13.2 kg on the box, 13.30 on the scale: 100 grams more": checked against the two numbers said before it.
pub fn difference(scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    if a.denied {
        return None;
    }
    let near = (a.from.saturating_sub(2)..a.from).chain(a.to..a.to + 3);
    let ends = scene.tokens.get(a.to + 1).is_none_or(|t| t.after.is_some());
    let beyond = ends && matches!(scene.word(a.to), "over" | "under" | "above" | "below");
    let said = beyond || near.into_iter().any(|i| APART.contains(&scene.word(i)));
    let share = a.what == What::Dim(Dim::Ratio);
    let energy = scene.amounts.iter().any(|b| b.what == What::Dim(Dim::Energy));
    if share && !energy && !scene.of_station() {
        return None;
    }
    let loss = scene.says(APART);
    let before: Vec<&Amount> = scene
        .amounts
        .iter()
        .filter(|b| b.to <= a.from && (b.what == a.what || (share && b.what == What::Dim(Dim::Energy))))
        .collect();
    let (mut before, mut near_by) = (before, said);
    if before.is_empty() && share && scene.says(APART) {
        // "loses 16 percent: 1,088 in, 911 out"
        before = scene.amounts.iter().filter(|b| b.what == What::Dim(Dim::Energy)).collect();
    }
    if let ([_], Some(than)) = (before.as_slice(), than_amount(scene, a)) {
        before.push(than);
        near_by = true;
    }
    let said = near_by;
    let others = if share && said { pair_before(scene, a) } else { None };
    let ([x, y], true) = (others.as_deref().unwrap_or(&before), said || (share && loss)) else {
        return None;
    };
    let (large, small) = (x.x.max(y.x), x.x.min(y.x));
    let one = scene.mentions.iter().filter(|m| !m.maker).count() <= 1;
    // "17 percent heavier" is of the smaller, "lost 10 percent" of the larger.
    let of = if others.is_some() && ABOVE.contains(&scene.word(a.to)) { small } else { large };
    let v = if share { (large - small) / of } else { large - small };
    // With two models named the comparison itself is checked elsewhere.
    (one && large > small && large - small < 0.5 * large).then(|| {
        let doubt = if share { 0.005 } else { 0.5 * x.step.min(y.step) };
        let words = if share { format!("{:.0} %", 100.0 * v) } else { "another difference".to_string() };
        (v, doubt, words)
    })
}

/// "The update lowered it by six watts": how far something went.
pub fn by_change(scene: &Scene, a: &Amount) -> bool {
    const MOVES: &[&str] = &[
        "lower", "cut", "drop", "reduc", "shrink", "shrank", "fall", "ris", "rose", "rais", "grow", "grew",
        "increas", "decreas", "shav", "improv", "trim", "slash",
    ];
    let by = a.from > 0 && scene.word(a.from - 1) == "by";
    by && (0..a.from).any(|i| MOVES.contains(&root(scene.word(i))))
}

/// The two ends of a change: said in the sentence, else what is on record and what it replaced.
pub fn changed(desk: &Desk, scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let said: Vec<f64> =
        scene.amounts.iter().filter(|b| b.at != a.at && b.what == a.what).map(|b| b.x).collect();
    let models = desk.models_at(scene, a.at);
    let marks = || models.iter().flat_map(|&m| &desk.book.marks[m]).filter(|k| k.takes == sort_of(&a.what));
    let pair = |now: &Mark| {
        let of =
            |k: &&Mark| matches!(k.whose, Whose::Former(_)) && k.key == now.key && scene.speaks_of(&k.key);
        marks().find(of).map(|old| (old.x, now.x))
    };
    let recorded = || marks().filter(|k| k.whose == Whose::Bench).find_map(pair);
    let (from, to) = match said[..] {
        [from, to] => (from, to),
        _ => recorded()?,
    };
    let v = (from - to).abs();
    Some((v, 0.5 * a.step.min(0.1 * v), "the difference of the two".to_string()))
}

/// "They say two hours, it needed 20 minutes longer", "1.1 kilos over its claimed weight": the claim and what was added
/// against the bench's own figure.
pub fn beyond_claim(desk: &Desk, scene: &Scene, a: &Amount) -> Option<(f64, f64, String)> {
    let sign = match scene.word(a.to) {
        // "overweight by 1.1 kg", "1.1 kg too heavy"
        _ if overweight(scene, a) => 1.0,
        "longer" | "more" | "heavier" | "extra" | "later" | "over" | "above" | "beyond" | "past"
        | "slower" => 1.0,
        "less" | "shorter" | "lighter" | "fewer" | "under" | "below" | "short" | "shy" | "sooner"
        | "earlier" | "faster" | "quicker" => -1.0,
        _ => return None,
    };
    let models = desk.models_at(scene, a.at);
    let marks = || models.iter().flat_map(|&m| &desk.book.marks[m]).filter(|k| k.takes == sort_of(&a.what));
    let claimed = |c: &Cue| c.sense == Sense::Claim && (a.to + 1..=a.to + 4).contains(&c.at);
    let than = scene.word(a.to + 1) == "than";
    let beside = matches!(
        scene.word(a.to),
        "over" | "above" | "beyond" | "past" | "under" | "below" | "short" | "shy"
    );
    let free = !scene.amounts.iter().any(|b| b.at > a.to && b.at <= a.to + 4);
    let claimed_near = (than || beside) && free && scene.cues.iter().any(claimed);
    if claimed_near || overweight(scene, a) {
        let spoken = |k: &&Mark| k.takes == Takes::Mass || scene.speaks_of(&k.key);
        let made = |k: &&Mark| matches!(k.whose, Whose::Maker(_)) && k.takes != Takes::Energy;
        let found = marks().filter(made).filter(spoken).find_map(|made| {
            let of = |k: &&Mark| k.whose == Whose::Bench && k.key == made.key && k.model == made.model;
            Some((made, marks().find(of)?))
        });
        let (made, have) = found?;
        let how = format!("{} against {}", made.text(), have.text());
        return Some((sign * (have.x - made.x), 0.5 * a.step, how));
    }
    let mut before = scene.amounts.iter().filter(|b| b.to <= a.from && b.what == a.what);
    let (claim, None) = (before.next()?, before.next()) else { return None };
    let made = marks().find(|k| matches!(k.whose, Whose::Maker(_)) && (k.x - claim.x).abs() < 1e-9)?;
    let have = marks().find(|k| k.whose == Whose::Bench && k.key == made.key && k.model == made.model)?;
    (!than).then(|| {
        (sign * (have.x - claim.x), 0.5 * a.step, format!("{} against {}", made.text(), have.text()))
    })
}

/// "Overweight by 1.1 kg", "1.1 kg too heavy": beyond what was promised.
fn overweight(scene: &Scene, a: &Amount) -> bool {
    let before = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    let by = before(1) == "by" && (before(2) == "overweight" || before(2) == "over");
    let too = scene.word(a.to) == "too" && matches!(scene.word(a.to + 1), "heavy" | "long" | "slow");
    by || too || scene.word(a.to) == "overweight"
}
