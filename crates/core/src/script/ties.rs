//! Two models side by side without a "than": "it's a wash", "the difference between the two is 6 watt-hours".
use super::amount::Amount;
use super::compare::follows;
use super::judge::Desk;
use super::order::{key_of, value};
use super::rank::line;
use super::scene::{Scene, any_takes, sort_of};
use super::who::Mention;
use super::{Judgement, Line};
use crate::rank::tied;

/// Ways to say that two cannot be told apart.
const TIES: &[&str] = &[
    "a wash",
    "too close to call",
    "a tie",
    "a draw",
    "neck and neck",
    "dead heat",
    "on a par",
    "on par",
    "level pegging",
    "nothing in it",
    "nothing to choose",
    "little to choose",
    "no difference",
    "no real difference",
    "cannot be told apart",
    "can't be told apart",
    "tied",
    "equally",
    "weigh the same",
    "cost the same",
    "give the same",
    "deliver the same",
    "the same weight",
    "the same energy",
    "the same price",
    "the same capacity",
    "the same idle",
    "identical",
    "tie on",
    "tie in",
    "tie for",
    "are level",
    "level on",
    "equal on",
    "even on",
    "on equal footing",
    "same within",
    "can't tell them apart",
    "cannot tell them apart",
    "a toss-up",
    "a toss up",
    "a dead heat",
];

fn words(phrase: &str) -> Vec<&str> {
    phrase.split([' ', '-']).collect()
}

/// "It's a wash": the two models spoken of, in the result spoken of.
pub fn tie(desk: &Desk, scene: &Scene) -> Option<Line> {
    let at = |p: &&str| {
        let p = words(p);
        (0..scene.tokens.len()).find(|&i| p.iter().enumerate().all(|(k, w)| scene.word(i + k) == *w))
    };
    let (phrase, i) = TIES.iter().find_map(|p| Some((p, at(p)?)))?;
    let mut models: Vec<usize> = scene.mentions.iter().flat_map(|m| m.models.clone()).collect();
    if models.is_empty() {
        models.clone_from(&desk.models);
    }
    let [a, b] = models.as_slice() else { return None };
    let key = key_of(scene, i, "").or_else(|| desk.ranked_before())?;
    let (x, y) = value(desk.book, scene, key, *a).zip(value(desk.book, scene, key, *b))?;
    let record = format!("{} against {}", desk.book.words(key, &x), desk.book.words(key, &y));
    let right = tied(&x, &y) || x.x == y.x;
    let hint = if right { String::new() } else { format!("they can be told apart: {record}") };
    let judgement = if right { Judgement::Agrees } else { Judgement::Unsupported };
    Some(line(scene, i, i + words(phrase).len(), judgement, Some(record), hint))
}

/// "Lantern minus Fell", "Lantern vs Fell".
fn minus(scene: &Scene) -> Option<Mention> {
    let linked = |w: &&[Mention]| {
        let link = |k: usize| matches!(scene.word(k), "minus" | "vs" | "versus" | "the");
        w[1].at > w[0].to && (w[0].to..w[1].at).all(link)
    };
    let [a, b] = scene.mentions.windows(2).find(linked)? else { return None };
    let models = a.models.iter().chain(&b.models).copied().collect::<Vec<_>>();
    (models.len() == 2).then_some(Mention { at: a.at, to: b.to, models, maker: false, foil: false })
}

/// "The difference between the Fell and the Hob, 6 watt-hours": worked out from both records.
pub fn difference(desk: &Desk, scene: &Scene, done: &mut [bool]) -> Option<Line> {
    let said = ["difference", "gap", "margin", "apart", "delta", "minus"];
    let joined = scene.mentions.iter().find(|m| m.models.len() == 2).cloned();
    let pair = joined.or_else(|| minus(scene))?;
    let near = (pair.at.saturating_sub(4)..pair.to).any(|i| said.contains(&scene.word(i)));
    let fits = |a: &Amount| !any_takes(&["none"], sort_of(&a.what));
    let i = scene.amounts.iter().position(|a| near && a.at >= pair.to && fits(a))?;
    let a = &scene.amounts[i];
    let sort = sort_of(&a.what);
    let key = key_of(scene, a.at, "").filter(|k| any_takes(&[k], sort)).or_else(|| {
        let usual = ["usable-energy", "mass", "price", "idle-draw"];
        usual.into_iter().find(|k| any_takes(&[k], sort))
    })?;
    let (x, y) =
        value(desk.book, scene, key, pair.models[0]).zip(value(desk.book, scene, key, pair.models[1]))?;
    done[i] = true;
    let record = format!("{} against {}", desk.book.words(key, &x), desk.book.words(key, &y));
    let right = follows(a, (x.x - y.x).abs(), x.minus(&y).half95() / 2.0);
    let hint = if right { String::new() } else { format!("the difference is another: {record}") };
    let judgement = if right { Judgement::Agrees } else { Judgement::Differs };
    Some(Line { record: Some(record), ..desk.line(scene, a, judgement, None, hint) })
}
