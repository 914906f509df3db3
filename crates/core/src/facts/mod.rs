//! Facts: every publishable number of a report, each with its id, rounded form, spoken form, safe wording,
//! what must not be said of it, and the tests behind it.
//!
//! Spoken rule: the form said aloud is the shortest rounding of the value that stays inside its 95 % interval
//! (without a known interval, within 0.5 % of the value), so that saying it never says more than was measured.
mod former;
mod gather;
mod sheet;
mod words;

pub use gather::USUAL_LOADS_W;
use gather::With;
pub use sheet::{csv, markdown};
pub use words::{slug, spoken};

use crate::notebook::Condition;
use crate::quantity::Unit;
use crate::report::{ModelReport, Place, Report};
use crate::uncertain::Value;
use std::sync::Arc;

/// What sort of number a fact is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sort {
    /// A result of tests.
    Measured,
    /// A maker's figure, judged or not.
    Claimed,
    /// What is said of a claim: the probability that it is kept.
    Verdict,
    /// A dated price, or one divided by an energy.
    Price,
    /// A place in a column of the comparison.
    Rank,
    /// Trials and failures.
    Count,
    /// Hours at a load, from the drain law.
    Runtime,
}

impl Sort {
    /// Stable word for programs.
    pub fn key(self) -> &'static str {
        match self {
            Sort::Measured => "measured",
            Sort::Claimed => "claimed",
            Sort::Verdict => "verdict",
            Sort::Price => "price",
            Sort::Rank => "rank",
            Sort::Count => "count",
            Sort::Runtime => "runtime",
        }
    }
}

/// One publishable number.
#[derive(Clone, Debug)]
pub struct Fact {
    /// Stable id, kebab-case parts between slashes: `fell-1010/usable-energy/load-50`.
    pub id: String,
    /// Id of its model.
    pub model: String,
    /// Name of its model.
    pub name: String,
    /// What it speaks of: a result's key, or `price`, `price-per-wh`, `usable-share`, `runtime`.
    pub key: String,
    /// "Usable energy, load 50 %".
    pub title: String,
    /// Under which condition.
    pub condition: Condition,
    /// What sort of number it is.
    pub sort: Sort,
    /// The value, in the unit its dimension is kept in; money in its currency.
    pub value: Value,
    /// Symbol of the unit it is shown in: "Wh", "USD", "USD/Wh", or empty.
    pub unit: String,
    /// Currency of an amount of money, ISO 4217; empty for everything else. Money has no unit of measure.
    pub currency: String,
    /// Day a price was seen, ISO 8601. Empty for everything else, and for a price noted without a day: that one is
    /// never printed outside the bench.
    pub seen: String,
    /// As printed: "911 ± 13 Wh".
    pub rounded: String,
    /// As said aloud: "about 910 watt-hours".
    pub spoken: String,
    /// A sentence that can be published as it stands.
    pub wording: String,
    /// What the record does not support, each a phrase with its reason.
    pub do_not_say: Vec<String>,
    /// Ids of the tests behind it.
    pub trail: Vec<String>,
    /// Changes whenever what is printed of it changes: a digest (FNV-1a, 64 bit) of id, rounded form and wording.
    pub version: String,
    /// Date it holds for, ISO 8601.
    pub as_of: String,
    /// Why it no longer holds; empty while it does.
    pub former: String,
}

impl Fact {
    /// The unit its value is shown in; for money that of a plain number.
    pub fn shown_in(&self) -> &'static Unit {
        Unit::of(&self.unit, self.value.dim).unwrap_or(self.value.dim.kept_in())
    }
    /// Its value in that unit and the standard uncertainty; `None` where no instrument is known.
    pub fn number(&self) -> (f64, Option<f64>) {
        let unit = self.shown_in();
        (unit.shown(self.value.x), self.value.has_u().then(|| unit.shown_step(self.value.u())))
    }
    /// UCUM code of that unit. `None` for an amount of money; `/(W.h)` for an amount per watt-hour.
    pub fn ucum(&self) -> Option<String> {
        if self.sort != Sort::Price {
            return Some(self.shown_in().ucum.into());
        }
        let per = self.unit.strip_prefix(&self.currency)?.strip_prefix('/')?;
        Some(format!("/({})", Unit::spelt(per)?.ucum))
    }
    /// Adds what must not be said of it for the sake of others, before the rest.
    pub fn tie(&mut self, tied: Option<String>) {
        self.do_not_say.splice(..0, tied);
    }
    /// Whether it may stand on a published page, once or still: a price without its day never may.
    pub fn may_be_printed(&self) -> bool {
        self.sort != Sort::Price || !self.seen.is_empty()
    }
}

/// Facts that hold, and what they replaced.
#[derive(Clone, Debug, Default)]
pub struct Facts {
    /// In the order of models, then results, claims, prices, runtimes and ranks.
    pub current: Vec<Fact>,
    /// What once held and must no longer be said: results of replaced firmware, other and older prices, values
    /// corrected since.
    pub former: Vec<Fact>,
}

/// Every fact of a report, and what it replaced.
pub fn all(report: &Report) -> Facts {
    gathered(report, With::Words)
}

/// Every fact of one model that holds, places left out: they belong to the comparison.
pub fn of_model(report: &Report, model: &ModelReport) -> Vec<Fact> {
    let (current, measured) = gather::apart(report, model, &[], With::Words);
    let apart = Apart { current, measured, former: Vec::new() };
    let ties = apart.ties(report, model);
    let mut all = apart.current;
    all.iter_mut().zip(ties).for_each(|(f, tied)| f.tie(tied));
    all
}

/// As [`all`], without rounded and spoken forms, for looking numbers up.
pub(crate) fn numbers(report: &Report) -> Facts {
    gathered(report, With::Numbers)
}

fn gathered(report: &Report, with: With) -> Facts {
    let mut all = Facts::default();
    for model in &report.models {
        let Facts { current, former } = gathered_of(report, model, with);
        all.current.extend(current);
        all.former.extend(former);
    }
    all
}

fn gathered_of(report: &Report, model: &ModelReport, with: With) -> Facts {
    Apart::with(report, model, with).placed(report, model)
}

/// The facts of one model without what its places among the others say: they rest on what is written down of it, and on what
/// was changed of it.
#[derive(Clone, Debug)]
pub struct Apart {
    current: Vec<Fact>,
    /// Those of them, at the front, that a place adds to.
    measured: usize,
    former: Vec<Fact>,
}

impl Apart {
    /// Of one model of a report.
    pub fn of(report: &Report, model: &ModelReport) -> Apart {
        Apart::with(report, model, With::Words)
    }
    fn with(report: &Report, model: &ModelReport, with: With) -> Apart {
        let former = former::former(report, model, with);
        let (current, measured) = gather::apart(report, model, &former, with);
        Apart { current, measured, former }
    }
    /// Those that hold, places left out; the first of them are of measurements.
    pub fn current(&self) -> &[Fact] {
        &self.current
    }
    /// How many of those that hold, at the front, are of measurements.
    pub fn measured(&self) -> usize {
        self.measured
    }
    /// Those that once held.
    pub fn former(&self) -> &[Fact] {
        &self.former
    }
    /// For each fact of a measurement what must not be said of it, because the difference to others may be zero. Of a report
    /// in which nothing else of the model is different.
    pub fn ties(&self, report: &Report, model: &ModelReport) -> Vec<Option<String>> {
        let of = |f: &Fact| gather::ties(report, model, &f.key, &f.condition);
        self.current[..self.measured].iter().map(of).collect()
    }
    /// What one of its places says, in a column that is one; the same.
    pub fn rank(&self, report: &Report, model: &ModelReport, place: &(usize, Arc<Place>)) -> Option<Fact> {
        gather::replacing(gather::rank(report, model, place).into_iter().collect(), &self.former).pop()
    }
    /// With the places of a report in which nothing else of the model is different.
    pub fn placed(self, report: &Report, model: &ModelReport) -> Facts {
        let ranks: Vec<Fact> = model.ranks.iter().filter_map(|p| self.rank(report, model, p)).collect();
        let ties = self.ties(report, model);
        let mut current = self.current;
        current.iter_mut().zip(ties).for_each(|(f, tied)| f.tie(tied));
        current.extend(ranks);
        Facts { current, former: self.former }
    }
}

/// Every fact of one model of a report, and what it replaced.
pub fn of(report: &Report, model: &ModelReport) -> Facts {
    gathered_of(report, model, With::Words)
}

/// The runtime of a model at a steady load in W by its first law that answers; `None` where it is refused.
pub fn runtime(report: &Report, model: &ModelReport, watts: f64) -> Option<Fact> {
    gather::runtime(report, model, watts, With::Words)
}

/// Every fact that holds.
pub fn facts(report: &Report) -> Vec<Fact> {
    all(report).current
}

/// FNV-1a, 64 bit (Fowler, Noll, Vo; offset basis and prime from memory, checked against their vector for "a").
/// Tells versions apart; it is no proof against forging.
pub fn fnv1a(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, b| (hash ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn the_digest_is_the_published_one() {
        // Test vectors of the FNV authors (draft-eastlake-fnv): "" and "a", from memory.
        assert_eq!(fnv1a(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv1a("a"), 0xaf63_dc4c_8601_ec8c);
    }
}
