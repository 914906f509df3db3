//! The uncertainty budget in plain words: who contributes how much, and the cheapest way to less.
use crate::notebook::Notebook;
use crate::uncertain::{Effect, Influence, Owner, Value};
use std::collections::BTreeMap;

/// One line of a budget. Private doubts of the same effect are taken together.
#[derive(Clone, Debug, PartialEq)]
pub struct BudgetLine {
    /// "plug meter M1: step of the display".
    pub words: String,
    /// Standard uncertainty it contributes, in the unit the value is kept in.
    pub u: f64,
    /// Share of the variance, 0 to 1.
    pub share: f64,
    /// Cancels where the same instrument stands on both sides of a comparison.
    pub shared: bool,
    /// What makes it smaller.
    pub remedy: &'static str,
}

/// The lines of a value's budget, the largest first. Empty when no uncertainty is known.
pub fn budget(value: &Value, notebook: &Notebook) -> Vec<BudgetLine> {
    let total: f64 = value.parts.values().map(|p| p.signed * p.signed).sum();
    let mut groups: BTreeMap<(String, Effect), (f64, bool)> = BTreeMap::new();
    for (influence, part) in &value.parts {
        let entry = groups
            .entry((owner_words(influence, notebook), influence.effect))
            .or_insert((0.0, influence.shared()));
        entry.0 += part.signed * part.signed;
    }
    let mut lines: Vec<_> = groups
        .into_iter()
        .filter(|(_, (variance, _))| *variance > 0.0)
        .map(|((owner, effect), (variance, shared))| BudgetLine {
            words: if owner.is_empty() {
                effect.words().into()
            } else {
                format!("{owner}: {}", effect.words())
            },
            u: variance.sqrt(),
            share: variance / total,
            shared,
            remedy: effect.remedy(),
        })
        .collect();
    lines.sort_by(|a, b| b.share.total_cmp(&a.share));
    lines
}

/// The largest part and its remedy in one sentence; `None` when no uncertainty is known.
pub fn in_words(lines: &[BudgetLine]) -> Option<String> {
    let first = lines.first()?;
    let share = (first.share * 100.0).round().min(99.0);
    Some(match lines.len() {
        1 => format!(
            "All of the interval comes from one thing: {}. To narrow it: {}.",
            first.words, first.remedy
        ),
        _ => format!("{share} % of the variance is the {}. To narrow it: {}.", first.words, first.remedy),
    })
}

fn owner_words(influence: &Influence, notebook: &Notebook) -> String {
    match &influence.owner {
        Owner::Instrument(id) => {
            let bare = id.split('@').next().unwrap_or(id);
            notebook.instrument(bare).map_or_else(|| bare.to_string(), |i| i.name.clone())
        }
        Owner::Test(_) => String::new(),
        Owner::Bench(what) => what.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_bench;
    use crate::quantity::Dim;
    use crate::stats::coverage::Shape;
    #[test]
    fn the_largest_part_is_named_with_its_remedy() {
        // Variances 9, 4.5 + 4.5 (two readings taken together) and 2: shares 0.45, 0.45 and 0.1.
        let inf = f64::INFINITY;
        let v = Value::exact(Dim::Energy, 175.0)
            .with(Influence::test("t/a", Effect::Step, ""), 4.5f64.sqrt() + 0.01, Shape::Rectangular, inf)
            .with(Influence::test("t/b", Effect::Step, ""), -(4.5f64.sqrt()), Shape::Rectangular, inf)
            .with(Influence::instrument("meter", Effect::Gain, ""), 3.0, Shape::Rectangular, inf)
            .with(Influence::test("t", Effect::Clock, ""), 2f64.sqrt(), Shape::Rectangular, inf);
        let lines = budget(&v, &example_bench::notebook());
        assert_eq!(lines.len(), 3);
        assert!((lines[2].share - 0.1).abs() < 1e-3);
        assert_eq!(lines[0].words, "step of the display");
        assert_eq!(lines[1].words, "plug meter: accuracy of the meter (share of reading)");
        assert!(lines[1].shared && !lines[0].shared);
        assert!(in_words(&lines).unwrap().contains("sum three cycles"));
    }
}
