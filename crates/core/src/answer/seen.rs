//! What was seen of a model: the tests of its specimens that count, newest firmware first, at usual temperature.
use crate::kind::{Behaviour, Found, Outcome};
use crate::notebook::Test;
use crate::repeat::counts;
use crate::report::{ModelReport, Report};
use crate::uncertain::Value;
use std::collections::BTreeMap;

/// The axis that tells one outlet from all of them.
const OUTLETS: &str = "outlets";

/// A power that was tried and not held.
#[derive(Clone, Debug)]
pub(super) struct NotHeld {
    pub value: Value,
    pub how: String,
    /// How long it bore it, h.
    pub hours: Option<f64>,
}

/// A low-load switch-off as a test found it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SeenOff {
    /// Some load ended it.
    pub ended: bool,
    /// As delivered it is on.
    pub on: bool,
    /// The owner can disable it; `None` when that was not tried.
    pub can_be_disabled: Option<bool>,
    /// The smallest load that kept it on, W.
    pub stayed_w: Option<f64>,
}

impl SeenOff {
    fn of(seen: &Behaviour, stayed_w: Option<f64>) -> SeenOff {
        let is = |key: &str, value: &str| seen.datum(key) == Some(value);
        let tried = !is("disable", "not-tried");
        SeenOff {
            ended: is("ended", "yes"),
            on: !is("delivered", "off"),
            can_be_disabled: tried.then_some(is("disable", "can")),
            stayed_w,
        }
    }
}

/// The tests of one model.
pub(super) struct Seen<'a> {
    report: &'a ModelReport,
    tests: Vec<(bool, &'a Outcome)>,
}

/// The tests of every model, sorted out in one go.
pub(super) fn by_model(report: &Report) -> Vec<Seen<'_>> {
    let notebook = &report.notebook;
    let place: BTreeMap<&str, usize> =
        report.models.iter().enumerate().map(|(i, m)| (m.id.as_str(), i)).collect();
    let owner: BTreeMap<&str, (usize, &str)> = notebook
        .specimens
        .iter()
        .filter_map(|s| Some((s.id.as_str(), (*place.get(s.model.as_str())?, s.firmware_now()))))
        .collect();
    let mut all: Vec<Seen> = report.models.iter().map(|report| Seen { report, tests: Vec::new() }).collect();
    for test in notebook.tests.iter().filter(|t: &&Test| counts(t)) {
        let (Some(&(model, firmware)), Some(outcome)) =
            (owner.get(test.specimen.as_str()), report.outcomes.get(&test.id))
        else {
            continue;
        };
        if !outcome.condition.contains_key("temperature") {
            all[model].tests.push((test.firmware == firmware, outcome));
        }
    }
    all
}

impl<'a> Seen<'a> {
    /// What tests of the newest firmware yield, or all of them when that has none.
    fn newest<T>(&self, pick: impl Fn(&'a Outcome) -> Vec<T>) -> Vec<T> {
        let of = |now: bool| -> Vec<T> {
            self.tests.iter().filter(|(n, _)| *n == now).flat_map(|(_, o)| pick(o)).collect()
        };
        let now = of(true);
        if now.is_empty() { of(false) } else { now }
    }

    /// The most of a result that was held, from a cold start where that is told apart.
    pub fn held(&self, key: &str) -> Option<Value> {
        let fits = |f: &&Found| f.result.key == key && usual(f);
        let all = self.newest(|o| o.results.iter().filter(fits).map(|f| f.value.clone()).collect());
        all.into_iter().max_by(|a, b| a.x.total_cmp(&b.x))
    }

    /// What was tried of a result and not held.
    pub fn failed(&self, key: &str) -> Vec<NotHeld> {
        self.newest(|o| {
            let hours = o.results.iter().find(|f| f.result.key == "time-held").map(|f| f.value.x);
            let fits = o.failed.iter().filter(|(f, _)| f.result.key == key && usual(f));
            fits.map(|(f, how)| NotHeld { value: f.value.clone(), how: how.clone(), hours }).collect()
        })
    }

    /// Tries and failures of starting a device of this name.
    pub fn starts_of(&self, name: &str) -> Option<(u64, u64)> {
        let all = self.newest(|o| {
            let named = |c: &crate::notebook::Condition| {
                c.get("appliance").is_some_and(|a| a.eq_ignore_ascii_case(name))
            };
            let fits = o.trials.iter().filter(|t| t.result.key.starts_with("starts") && named(&t.condition));
            fits.filter_map(|t| t.seen).collect()
        });
        all.into_iter().reduce(|a, b| (a.0 + b.0, a.1 + b.1))
    }

    /// Every measured trial of a result.
    pub fn trials(&self, key: &str) -> Vec<Value> {
        self.newest(|o| {
            o.trials.iter().filter(|t| t.result.key == key).flat_map(|t| t.values.iter().cloned()).collect()
        })
    }

    /// What was seen under this key, in words.
    pub fn said(&self, key: &str) -> Option<&'a str> {
        self.newest(|o| o.behaviours.iter().filter(|b| b.key == key).map(|b| b.text.as_str()).collect()).pop()
    }

    /// Measured threshold of the AC outlet's switch-off.
    pub fn below(&self) -> Option<Value> {
        self.of_outlet("switch-off-below").pop()
    }

    /// Measured time until then, h.
    pub fn after(&self) -> Option<f64> {
        self.of_outlet("switch-off-after").pop().map(|v| v.x)
    }

    /// How the AC outlet's switch-off was found in the newest test of it.
    pub fn switch_off(&self) -> Option<SeenOff> {
        let of = |o: &'a Outcome| {
            let ac = o.condition.get("outlet").is_none_or(|o| o == "AC");
            let found = o.behaviours.iter().filter(|b| ac && b.key == "switch-off");
            let stayed = o.steps.iter().find(|s| s.symbol == "P_stayed").map(|s| s.value.x);
            found.map(|b| SeenOff::of(b, stayed)).collect()
        };
        self.newest(of).pop()
    }

    fn of_outlet(&self, key: &str) -> Vec<Value> {
        let fits = |f: &&Found| f.result.key == key && f.condition.get("outlet").is_none_or(|o| o == "AC");
        self.newest(|o| o.results.iter().filter(fits).map(|f| f.value.clone()).collect())
    }

    /// Total harmonic distortion as a share, where it was measured; the worst.
    pub fn distortion(&self) -> Option<Value> {
        // A rectifier bends the top of any wave; it says little of the others.
        let fits =
            |f: &&Found| f.result.key == "thd" && f.condition.get("load").is_none_or(|l| l != "rectifier");
        let all = self.newest(|o| o.results.iter().filter(fits).map(|f| f.value.clone()).collect());
        all.into_iter().max_by(|a, b| a.x.total_cmp(&b.x))
    }

    /// The least that one outlet alone did not hold.
    pub fn not_held_by_one(&self) -> Option<NotHeld> {
        let one = |f: &Found| f.condition.get(OUTLETS).is_some_and(|o| o == "one");
        let all = self.newest(|o| {
            let fits = o.failed.iter().filter(|(f, _)| f.result.key == "sustained-output" && one(f));
            fits.map(|(f, how)| NotHeld { value: f.value.clone(), how: how.clone(), hours: None }).collect()
        });
        all.into_iter().min_by(|a, b| a.value.x.total_cmp(&b.value.x))
    }

    /// The maker's figure, in the unit its dimension is kept in.
    pub fn claim(&self, key: &str) -> Option<f64> {
        self.report.claims.iter().find(|c| c.claim.key == key)?.limit
    }
}

/// From a cold start, resistive, over all outlets: what a bare figure speaks of.
fn usual(found: &Found) -> bool {
    let is = |axis: &str, value: &str| found.condition.get(axis).is_none_or(|v| v == value);
    is("start", "cold") && is("how", "resistive") && is(OUTLETS, "all")
}
