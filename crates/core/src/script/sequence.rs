//! Models told in the order of a result: "by weight, light to heavy: Cairn, Fell, Hob, Lantern".
use super::judge::Desk;
use super::order::{key_of, value};
use super::rank::line;
use super::scene::Scene;
use super::{Judgement, Line};
use crate::rank::tied;

/// Words that say the names stand in an order.
const ORDERED: &[&str] = &[
    "order", "ranking", "rank", "ranked", "sorted", "lightest", "heaviest", "light", "heavy", "cheapest",
    "first", "then",
];

/// Three names or more in a row, in an order that the sentence speaks of.
pub fn sequence(desk: &Desk, scene: &Scene) -> Option<Line> {
    let single = scene.mentions.iter().all(|m| m.models.len() <= 2 && !m.maker);
    let models: Vec<usize> = scene.mentions.iter().flat_map(|m| m.models.iter().copied()).collect();
    let (first, last) = (scene.mentions.first()?, scene.mentions.last()?);
    let between = |i: usize| {
        scene.mentions.iter().any(|m| m.at <= i && i < m.to)
            || matches!(scene.word(i), "and" | "then" | "the" | "before" | "followed" | "by" | "or")
    };
    let row = (first.at..last.to).all(between);
    let told = scene.says(ORDERED) || (0..first.at).any(|i| scene.word(i) == "by");
    if scene.asks || !single || !row || !told || models.len() < 3 || !scene.amounts.is_empty() {
        return None;
    }
    let fixed = if scene.says(&["light", "lightest", "heavy", "heaviest"]) { "mass" } else { "" };
    let key = key_of(scene, first.at, fixed)?;
    let values: Vec<_> = models.iter().map(|m| value(desk.book, scene, key, *m)).collect::<Option<_>>()?;
    let runs = |up: bool| values.windows(2).all(|w| (w[1].x >= w[0].x) == up || tied(&w[0], &w[1]));
    let right = runs(true) || runs(false);
    let words: Vec<String> = values.iter().map(|v| desk.book.words(key, v)).collect();
    let hint = if right { String::new() } else { "this is not their order".to_string() };
    let judgement = if right { Judgement::Agrees } else { Judgement::Unsupported };
    Some(line(scene, first.at, last.to, judgement, Some(words.join(", ")), hint))
}
