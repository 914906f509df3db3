//! Where a model stands among the others in one result.
use super::amount::Amount;
use super::book::Book;
use super::lexicon::{Sense, Takes, takes};
use super::ranking::Way;
use super::scene::{Scene, sort_of};
use super::unit::What;
use crate::facts;
use crate::kind::Column;
use crate::measurand::Better;
use crate::quantity::Dim;
use crate::shown::{Style, shown, usual};
use crate::uncertain::Value;

/// A place among the others, counted from the end that was meant.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Best place within the confidence.
    low: usize,
    /// Worst place within the confidence.
    high: usize,
    /// How many have a value.
    of: usize,
    /// Names it cannot be told from.
    ties: Vec<String>,
}

impl Standing {
    /// May it be place `k`, of `n` where that is said?
    pub fn holds(&self, k: usize, n: Option<usize>) -> bool {
        (self.low..=self.high).contains(&k) && n.is_none_or(|n| n == self.of)
    }
    /// How many places there are.
    pub fn of(&self) -> usize {
        self.of
    }
    /// Surely first, of two or more.
    pub fn first(&self) -> bool {
        self.high == 1 && self.of > 1
    }
    /// Others may have the same place.
    pub fn shared(&self) -> bool {
        self.low != self.high
    }
    /// May it be first among some `n` of them?
    pub fn leads(&self, n: usize) -> bool {
        self.of + 1 >= self.low + n
    }
    /// "place 1 to 2 of 4".
    pub fn words(&self) -> String {
        match self.low == self.high {
            true => format!("place {} of {}", self.low, self.of),
            false => format!("place {} to {} of {}", self.low, self.high, self.of),
        }
    }
    /// "; it cannot be told from X".
    pub fn tied_words(&self) -> String {
        if self.ties.is_empty() {
            String::new()
        } else {
            format!("; it cannot be told from {}", self.ties.join(", "))
        }
    }
}

/// Results that are ranked.
const RANKED: &[&str] = &[
    "usable-energy",
    "idle-draw",
    "sustained-output",
    "switchover",
    "time-to-80",
    "time-to-full",
    "mass",
    "noise",
    "price",
    "price-per-wh",
    "wall-energy",
    "runtime",
    "cycling-runtime",
    "efficiency",
    "starting-power",
    "solar-input",
    "usable-share",
    "energy-per-kg",
];

/// The first of these results that is ranked.
pub fn ranked_of(keys: &[&'static str]) -> Option<&'static str> {
    keys.iter().copied().find(|k| RANKED.contains(k))
}

/// The result a superlative or comparison speaks of: fixed by the word, else the nearest topic that can be ranked.
pub fn key_of(scene: &Scene, i: usize, fixed: &str) -> Option<&'static str> {
    // "The highest value in this discipline" is none for money.
    let figure = |k: usize| {
        scene.word(k) == "value"
            && k > 0
            && matches!(
                scene.word(k - 1),
                "highest" | "lowest" | "largest" | "smallest" | "measured" | "this" | "that"
            )
    };
    let value = (0..scene.tokens.len()).any(|k| scene.word(k) == "value" && !figure(k));
    if fixed == "price" || value {
        // "the cheapest at 77 cents": so few are asked for a watt-hour.
        let few = |a: &Amount| {
            matches!(a.what, What::MoneyPerWh(_)) || (matches!(a.what, What::Money(_)) && a.x < 3.0)
        };
        let per = (i.saturating_sub(4)..scene.tokens.len()).any(|k| matches!(scene.word(k), "per" | "value"))
            || scene.amounts.iter().any(few);
        return Some(if per || value { "price-per-wh" } else { "price" });
    }
    let kilo = |k: usize| scene.word(k) == "per" && matches!(scene.word(k + 1), "kilogram" | "kilo" | "kg");
    if matches!(fixed, "" | "usable-energy") && (0..scene.tokens.len()).any(kilo) {
        return Some("energy-per-kg");
    }
    if let Some(key) = RANKED.iter().find(|k| **k == fixed) {
        return Some(key);
    }
    let time = fixed == "time";
    let short = |a: &Amount| sort_of(&a.what) == Takes::Time && a.factor < 1e-6;
    if time && scene.amounts.iter().any(short) {
        return Some("switchover");
    }
    let of = |keys: &[&'static str]| {
        let fits = |k: &&'static str| RANKED.contains(k) && (!time || takes(k) == Takes::Time);
        keys.iter().copied().find(|k| fits(k))
    };
    // "35 watts, more than twice what the Granary wants": in what the number just before is one of.
    let said = scene.amounts.iter().rev().find(|a| a.to <= i && i - a.to <= 6);
    let sort =
        said.map(|a| sort_of(&a.what)).filter(|s| matches!(s, Takes::Power | Takes::Energy | Takes::Level));
    let unlike = |k: &str| sort.is_some_and(|s| takes(k) != s);
    let mut near: Vec<(bool, usize, &'static str)> = scene
        .cues
        .iter()
        .filter_map(|c| match c.sense {
            Sense::Topic(keys, _) => of(keys).map(|k| (unlike(k), c.at.abs_diff(i), k)),
            _ => None,
        })
        .collect();
    near.sort();
    let fridge = scene.says(&["fridge", "freezer", "refrigerator"]);
    // "With these 1,159 watts it surpasses the Fell"
    let by_unit = || match sort? {
        Takes::Power => Some("sustained-output"),
        Takes::Energy => Some("usable-energy"),
        _ => Some("noise"),
    };
    let per_wh = |a: &Amount| matches!(a.what, What::MoneyPerWh(_));
    if near.first().is_some_and(|n| n.2 == "price") && scene.amounts.iter().any(per_wh) {
        return Some("price-per-wh");
    }
    let found = near.first().map(|(.., k)| if fridge && *k == "runtime" { "cycling-runtime" } else { *k });
    found.or_else(by_unit).or(fridge.then_some("cycling-runtime"))
}

/// The column in which most models have a value; half load before other loads.
fn column<'a>(book: &'a Book, scene: &Scene, key: &str) -> Option<&'a Column> {
    let said = scene.amounts.first().map(|a| scene.conditions(a)).unwrap_or_default();
    let valued = |c: &&Column| book.report.models.iter().filter(|m| m.at(c).is_some()).count();
    let same = |axis: &str, v: &str, c: &Column| {
        c.condition.get(axis).is_none_or(|have| super::choose::same_condition(axis, have, v))
    };
    let fits = |c: &&Column| said.iter().all(|(axis, v)| same(axis, v, c));
    book.report.columns.iter().filter(|c| c.result.key == key).filter(fits).max_by_key(valued)
}

/// A model's value in a result, under the condition said or the usual one.
pub fn value(book: &Book, scene: &Scene, key: &str, model: usize) -> Option<Value> {
    let report = &book.report.models[model];
    match key {
        "price" => report.price.price.as_ref().map(|p| Value::exact(Dim::Count, p.amount)),
        "price-per-wh" => report.price.per_wh.clone(),
        "runtime" => {
            let said = scene.amounts.iter().find(|a| a.what == What::Dim(Dim::Power));
            facts::runtime(book.report, report, said.map_or(0.0, |a| a.x)).map(|f| f.value)
        }
        "usable-share" | "energy-per-kg" => {
            let half = |k: &&super::book::Mark| k.condition.get("load").is_some_and(|l| l == "50 %");
            let of = book.marks[model].iter().filter(|k| k.key == key && k.is_bench());
            of.clone().find(half).or_else(|| of.clone().next()).map(super::book::Mark::measured)
        }
        _ => report.at(column(book, scene, key)?),
    }
}

/// Is more of a result meant?
pub fn way_up(book: &Book, scene: &Scene, key: &str, way: Way) -> bool {
    let better = column(book, scene, key).map_or(Better::Less, |c| c.result.better);
    way.up(matches!(key, "runtime" | "cycling-runtime" | "usable-share" | "energy-per-kg")
        || better == Better::More)
}

/// Where a model stands, from the end that `way` means.
pub fn standing(book: &Book, scene: &Scene, key: &str, model: usize, way: Way) -> Option<Standing> {
    standing_without(book, scene, key, model, way, &[])
}

/// The same where some are left out: "the cheapest apart from the Ember".
pub fn standing_without(
    book: &Book,
    scene: &Scene,
    key: &str,
    model: usize,
    way: Way,
    without: &[usize],
) -> Option<Standing> {
    let all = 0..book.report.models.len();
    let asked = |m: usize| if without.contains(&m) { None } else { value(book, scene, key, m) };
    let values: Vec<Option<Value>> = all.map(asked).collect();
    let up = way_up(book, scene, key, way);
    let own = values[model].as_ref()?;
    let others: Vec<(usize, &Value)> = values
        .iter()
        .enumerate()
        .filter(|(m, _)| *m != model)
        .filter_map(|(m, v)| v.as_ref().map(|v| (m, v)))
        .collect();
    let ahead = |v: &Value| if up { v.x > own.x } else { v.x < own.x };
    let tied: Vec<&(usize, &Value)> = others.iter().filter(|(_, v)| crate::rank::tied(own, v)).collect();
    let surely = others.iter().filter(|(_, v)| ahead(v) && !crate::rank::tied(own, v)).count();
    Some(Standing {
        low: surely + 1,
        high: surely + 1 + tied.len(),
        of: others.len() + 1,
        ties: tied.iter().map(|(m, _)| book.report.models[*m].name.clone()).collect(),
    })
}

/// Those that have more, or less, of a result than a model, each with whether that is sure.
pub fn ahead_of(book: &Book, scene: &Scene, key: &str, model: usize, way: Way) -> Option<Vec<(usize, bool)>> {
    let own = value(book, scene, key, model)?;
    let up = way_up(book, scene, key, way);
    let of = |m: usize| {
        let v = value(book, scene, key, m)?;
        let ahead = m != model && if up { v.x > own.x } else { v.x < own.x };
        ahead.then(|| (m, !own.has_u() || !crate::rank::tied(&own, &v)))
    };
    Some((0..book.report.models.len()).filter_map(of).collect())
}

impl Book<'_> {
    /// A value as printed in the unit of its result.
    pub fn words(&self, key: &str, v: &Value) -> String {
        let unit = self.report.columns.iter().find(|c| c.result.key == key).map(|c| c.result.shown_in());
        shown(v, unit.filter(|u| u.dim == v.dim).unwrap_or(usual(v.dim)), Style::POINT).line()
    }
}
