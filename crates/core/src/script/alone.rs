//! Places told by who else is ahead: "only the Pip takes less", "second only to the Granary", "nothing here is quicker".
use super::foil::{only_before, second_to};
use super::judge::Desk;
use super::lexicon::{Sense, Takes};
use super::order::{ahead_of, key_of, standing};
use super::rank::{line, ranked};
use super::ranking::{THANS, TOPS, Way, by_adjective};
use super::scene::{Scene, sort_of};
use super::who::Mention;
use super::{Judgement, Line};

/// How far behind a name its comparison may stand.
const NEAR: usize = 10;

/// "Of all fourteen only the Pip takes less", "only the Ember is louder": of the one spoken of.
pub fn only_but(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let m = scene.mentions.iter().find(|m| !m.maker && only_before(&scene.tokens, m) == Some(i))?;
    let k =
        (i..(m.to + NEAR).min(scene.tokens.len())).find(|k| THANS.iter().any(|t| t.0 == scene.word(*k)))?;
    let (_, fixed, way) = THANS.iter().find(|t| t.0 == scene.word(k))?;
    let (fixed, way) = by_adjective(scene.word(k), scene.word(k + 1)).unwrap_or((fixed, *way));
    behind(desk, scene, i, m, key_of(scene, k, fixed)?, way, k + 1)
}

/// "Only the Colossus holds more than the Granary": of the Granary.
pub fn only_than(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let word = scene.word(i);
    let (_, fixed, way) = THANS.iter().find(|t| t.0 == word)?;
    let than = (i + 1..i + 4).find(|k| scene.word(*k) == "than")?;
    let other = scene.mentions.iter().find(|m| m.at > than && m.at <= than + 3 && m.models.len() == 1)?;
    let named = scene.mentions.iter().rev().find(|m| m.to <= i && !m.maker)?;
    let only = (named.at.saturating_sub(2)..named.at).any(|k| scene.word(k) == "only");
    let whole = scene.clause[named.at] == scene.clause[i] && only && !scene.asks;
    let (fixed, way) = by_adjective(word, scene.word(i + 1)).unwrap_or((fixed, *way));
    let key = key_of(scene, i, fixed).filter(|_| whole)?;
    judged(desk, scene, i, *other.models.first()?, named, (key, way), other.to)
}

/// "Second only to the Granary", in what was spoken of before it.
pub fn runner_up(desk: &Desk, scene: &Scene, i: usize) -> Option<Line> {
    let m = scene.mentions.iter().find(|m| !m.maker && second_to(&scene.tokens, m) == Some(i))?;
    let top = (0..scene.tokens.len()).find_map(|k| TOPS.iter().find(|t| t.0 == scene.word(k)));
    let (fixed, way) = top.map_or(("", Way::Better), |t| (t.1, t.2));
    let key = by_number(scene, i).filter(|_| fixed.is_empty()).or_else(|| key_of(scene, i, fixed))?;
    behind(desk, scene, i, m, key, way, m.to)
}

/// "33.6 decibels, second only to": what the number directly before it is a number of.
fn by_number(scene: &Scene, i: usize) -> Option<&'static str> {
    let a = scene.amounts.iter().rev().find(|a| a.to <= i && i - a.to <= 2)?;
    match sort_of(&a.what) {
        Takes::Level => Some("noise"),
        Takes::Mass => Some("mass"),
        Takes::Money => Some("price"),
        _ => None,
    }
}

/// Is there none ahead of the model spoken of but those named?
fn behind(
    desk: &Desk,
    scene: &Scene,
    i: usize,
    named: &Mention,
    key: &'static str,
    way: Way,
    to: usize,
) -> Option<Line> {
    if scene.asks || scene.negated(i) {
        return None;
    }
    let model = desk.before_only(scene, i).filter(|m| !named.models.contains(m))?;
    judged(desk, scene, i, model, named, (key, way), to)
}

/// Are those named, and no others, ahead of the model?
fn judged(
    desk: &Desk,
    scene: &Scene,
    i: usize,
    model: usize,
    named: &Mention,
    (key, way): (&str, Way),
    to: usize,
) -> Option<Line> {
    let ahead = ahead_of(desk.book, scene, key, model, way)?;
    let there = named.models.iter().all(|m| ahead.iter().any(|(a, sure)| a == m && *sure));
    let others = ahead.iter().any(|(a, _)| !named.models.contains(a) && !scene.left_out().contains(a));
    let names: Vec<&str> = ahead.iter().map(|(m, _)| desk.book.report.models[*m].name.as_str()).collect();
    let record =
        if names.is_empty() { "none is ahead".into() } else { format!("ahead: {}", names.join(", ")) };
    let (judgement, hint) = match there && !others {
        true => (Judgement::Agrees, String::new()),
        false => (Judgement::Unsupported, format!("the ranks say otherwise; {record}")),
    };
    Some(line(scene, i, to, judgement, Some(record), hint))
}

/// "No other station here switches faster", "nothing comes out lighter", with no "than" behind it.
pub fn none_ahead(desk: &Desk, scene: &Scene, i: usize, fixed: &str, way: Way) -> Option<Line> {
    let here = scene.clause[i];
    let none = |k: usize| match scene.word(k) {
        "nothing" | "none" | "nobody" | "nobody's" | "nothing's" | "no-one" => true,
        "no" => matches!(
            scene.word(k + 1),
            "other" | "station" | "stations" | "unit" | "box" | "machine" | "power" | "one"
        ),
        // "There isn't a louder one in the lot"
        "there" => matches!(scene.word(k + 1), "isn't" | "is") && scene.negated(i) && i - k <= 4,
        _ => false,
    };
    let said = (0..i).any(|k| scene.clause[k] == here && none(k) && i - k <= NEAR);
    let told = scene.mentions.iter().any(|m| scene.clause[m.at] == here);
    let said = said || super::versus::finds_none(scene, i);
    // "Faster than that": than the one spoken of.
    let it = |k: usize| matches!(scene.word(k + 1), "that" | "this" | "it");
    let than = (0..scene.tokens.len()).any(|k| scene.word(k) == "than" && !it(k));
    if !said || told || than || scene.amounts.iter().any(|a| scene.clause[a.at] == here) {
        return None;
    }
    // "Nobody asked more of it"
    let ends = scene
        .tokens
        .get(i + 1)
        .is_none_or(|t| t.after.is_some() || matches!(t.text.as_str(), "here" | "on" | "in" | "either"));
    // "Nothing else here costs less per watt-hour", "sustains more output"
    let what = scene.word(i + 1) == "per"
        || scene.cues.iter().any(|c| c.at == i + 1 && matches!(c.sense, Sense::Topic(..)));
    let ends = ends || what;
    let told = by_adjective(scene.word(i), scene.word(i + 1));
    if matches!(scene.word(i), "more" | "less") && !ends && told.is_none() {
        return None;
    }
    let (fixed, way) = told.unwrap_or((fixed, way));
    let model = desk.before_only(scene, i)?;
    if super::rank::reaches_beyond(scene) {
        let hint = "the bench knows only what was tested on it; say \"of those tested here\"";
        return Some(line(scene, i, i + 1, Judgement::Unsupported, None, hint.into()));
    }
    let key = key_of(scene, i, fixed)?;
    Some(ranked(scene, i, standing(desk.book, scene, key, model, way)))
}

/// A comparison that belongs to an "only" before it.
pub fn belongs_to_only(scene: &Scene, i: usize) -> bool {
    let only = |m: &Mention| m.to <= i && i < m.to + NEAR && only_before(&scene.tokens, m).is_some();
    scene.mentions.iter().any(only)
}
