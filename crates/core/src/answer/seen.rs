//! From a report to what answers rest on: the tests of each model's samples that count, newest firmware first, at usual
//! temperature.
use super::grounds::{Ground, Grounds, NotHeld, OneLaw, Seen, SeenOff};
use crate::kind::{Behaviour, Found, Outcome};
use crate::notebook::{Model, Price, Specimen, Test};
use crate::repeat::counts;
use crate::report::{ModelReport, Report};
use crate::uncertain::Value;
use std::collections::{BTreeMap, BTreeSet};

/// The axis that tells one outlet from all of them.
const OUTLETS: &str = "outlets";
/// Results that are held against a need, and claims that stand in for them.
const POWERS: [&str; 3] = ["sustained-output", "starting-power", "solar-input"];
/// Claims that bear on an answer.
const CLAIMS: [&str; 4] = ["sustained-output", "starting-power", "solar-input", "switchover"];

/// The grounds of every model of a report.
pub(super) fn grounds(report: &Report) -> Grounds {
    let notebook = &report.notebook;
    let of = |(model, tests): (&ModelReport, Tests)| Some(ground(model, notebook.model(&model.id)?, &tests));
    let models = report.models.iter().zip(by_model(report)).filter_map(of).collect();
    Grounds { models, decimal_comma: notebook.settings.decimal_comma }
}

fn ground(report: &ModelReport, model: &Model, tests: &Tests) -> Ground {
    let law = |drain: &crate::drain::Drain| {
        Some(OneLaw {
            specimen: drain.specimen.clone(),
            firmware: drain.firmware.clone(),
            superseded: drain.superseded,
            law: drain.law.as_ref()?.bare(),
            gain: drain.gain.clone(),
            ran_w: drain.rows.iter().map(|r| r.mean_w).fold(0.0, f64::max),
        })
    };
    let claim = |key: &&str| {
        let first = report.claims.iter().find(|c| c.claim.key == **key)?;
        Some(((*key).to_string(), first.limit?))
    };
    Ground {
        id: report.id.clone(),
        name: report.name.clone(),
        tested: !(report.drains.is_empty() && report.rows.is_empty()),
        mains_v: model.mains_v,
        per_outlet_w: model.per_outlet_w,
        switch_off: model.switch_off.clone(),
        laws: report.drains.iter().filter_map(law).collect(),
        seen: tests.seen(),
        claims: CLAIMS.iter().filter_map(claim).collect(),
        // Where it was seen is not part of an answer.
        price: report.price.price.clone().map(|p| Price { seller: String::new(), ..p }),
        price_old: report.price.old,
        price_why: report.price.why.clone(),
    }
}

fn seen_off(seen: &Behaviour, stayed_w: Option<f64>) -> SeenOff {
    let is = |key: &str, value: &str| seen.datum(key) == Some(value);
    let tried = !is("disable", "not-tried");
    SeenOff {
        ended: is("ended", "yes"),
        on: !is("delivered", "off"),
        can_be_disabled: tried.then_some(is("disable", "can")),
        stayed_w,
    }
}

impl Ground {
    /// What answers about one model rest on, from its own samples, and its own tests in the notebook's order.
    pub fn of(
        report: &Report,
        model: &ModelReport,
        specimens: &[&Specimen],
        tests: &[&Test],
    ) -> Option<Ground> {
        let firmware = |id: &str| specimens.iter().find(|s| s.id == id).map(|s| s.firmware_now());
        let of = |t: &&&Test| counts(t);
        let with = tests.iter().filter(of).filter_map(|t| {
            let outcome = report.outcomes.get(&t.id)?;
            room_warm(outcome).then_some((t.firmware == firmware(&t.specimen)?, &**outcome))
        });
        Some(ground(model, report.notebook.model(&model.id)?, &Tests(with.collect())))
    }
}

/// At usual temperature.
fn room_warm(outcome: &Outcome) -> bool {
    !outcome.condition.contains_key("temperature")
}

/// The tests of one model, each with whether it is of the newest firmware.
#[derive(Default)]
struct Tests<'a>(Vec<(bool, &'a Outcome)>);

/// The tests of every model, sorted out in one go.
fn by_model(report: &Report) -> Vec<Tests<'_>> {
    let notebook = &report.notebook;
    let place: BTreeMap<&str, usize> =
        report.models.iter().enumerate().map(|(i, m)| (m.id.as_str(), i)).collect();
    let owner: BTreeMap<&str, (usize, &str)> = notebook
        .specimens
        .iter()
        .filter_map(|s| Some((s.id.as_str(), (*place.get(s.model.as_str())?, s.firmware_now()))))
        .collect();
    let mut all: Vec<Tests> = report.models.iter().map(|_| Tests::default()).collect();
    for test in notebook.tests.iter().filter(|t: &&Test| counts(t)) {
        let (Some(&(model, firmware)), Some(outcome)) =
            (owner.get(test.specimen.as_str()), report.outcomes.get(&test.id))
        else {
            continue;
        };
        if room_warm(outcome) {
            all[model].0.push((test.firmware == firmware, outcome));
        }
    }
    all
}

impl<'a> Tests<'a> {
    fn seen(&self) -> Seen {
        let held = |key: &&str| Some(((*key).to_string(), self.held(key)?));
        let failed = |key: &&str| ((*key).to_string(), self.failed(key));
        Seen {
            held: POWERS.iter().filter_map(held).collect(),
            failed: POWERS.iter().map(failed).filter(|(_, all)| !all.is_empty()).collect(),
            one_outlet: self.not_held_by_one(),
            starts: self.starts(),
            switchover_h: self.trials("switchover").iter().map(|v| v.x).collect(),
            waveform: self.said("waveform").map(String::from),
            distortion: self.distortion(),
            below: self.of_outlet("switch-off-below").pop(),
            after_h: self.of_outlet("switch-off-after").pop().map(|v| v.x),
            switch_off: self.switch_off(),
        }
    }

    /// How the AC outlet's switch-off was found in the newest test of it.
    fn switch_off(&self) -> Option<SeenOff> {
        let of = |o: &'a Outcome| {
            let ac = o.condition.get("outlet").is_none_or(|o| o == "AC");
            let found = o.behaviours.iter().filter(|b| ac && b.key == "switch-off");
            let stayed = o.steps.iter().find(|s| s.symbol == "P_stayed").map(|s| s.value.x);
            found.map(|b| seen_off(b, stayed)).collect()
        };
        self.newest(of).pop()
    }

    /// What tests of the newest firmware yield, or all of them when that has none.
    fn newest<T>(&self, pick: impl Fn(&'a Outcome) -> Vec<T>) -> Vec<T> {
        let of = |now: bool| -> Vec<T> {
            self.0.iter().filter(|(n, _)| *n == now).flat_map(|(_, o)| pick(o)).collect()
        };
        let now = of(true);
        if now.is_empty() { of(false) } else { now }
    }

    /// The most of a result that was held, from a cold start where that is told apart.
    fn held(&self, key: &str) -> Option<Value> {
        let fits = |f: &&Found| f.result.key == key && usual(f);
        let all = self.newest(|o| o.results.iter().filter(fits).map(|f| f.value.clone()).collect());
        all.into_iter().max_by(|a, b| a.x.total_cmp(&b.x))
    }

    /// What was tried of a result and not held.
    fn failed(&self, key: &str) -> Vec<NotHeld> {
        self.newest(|o| {
            let hours = o.results.iter().find(|f| f.result.key == "time-held").map(|f| f.value.x);
            let fits = o.failed.iter().filter(|(f, _)| f.result.key == key && usual(f));
            fits.map(|(f, how)| NotHeld { value: f.value.clone(), how: how.clone(), hours }).collect()
        })
    }

    /// Tries and failures of starting, by the device's name in lower case.
    fn starts(&self) -> BTreeMap<String, (u64, u64)> {
        let of = |o: &Outcome| -> Vec<(String, (u64, u64))> {
            let fits = o.trials.iter().filter(|t| t.result.key.starts_with("starts"));
            let named =
                |t: &crate::kind::Trials| Some((t.condition.get("appliance")?.to_ascii_lowercase(), t.seen?));
            fits.filter_map(named).collect()
        };
        let names: BTreeSet<String> = self.0.iter().flat_map(|(_, o)| of(o)).map(|(name, _)| name).collect();
        let sum = |name: String| {
            let all = self.newest(|o| of(o).into_iter().filter(|(n, _)| *n == name).collect());
            let (tries, failures) =
                all.iter().fold((0, 0), |sum, (_, (n, failed))| (sum.0 + n, sum.1 + failed));
            (name, (tries, failures))
        };
        names.into_iter().map(sum).collect()
    }

    /// Every measured trial of a result.
    fn trials(&self, key: &str) -> Vec<Value> {
        self.newest(|o| {
            o.trials.iter().filter(|t| t.result.key == key).flat_map(|t| t.values.iter().cloned()).collect()
        })
    }

    /// What was seen under this key, in words.
    fn said(&self, key: &str) -> Option<&'a str> {
        self.newest(|o| o.behaviours.iter().filter(|b| b.key == key).map(|b| b.text.as_str()).collect()).pop()
    }

    fn of_outlet(&self, key: &str) -> Vec<Value> {
        let fits = |f: &&Found| f.result.key == key && f.condition.get("outlet").is_none_or(|o| o == "AC");
        self.newest(|o| o.results.iter().filter(fits).map(|f| f.value.clone()).collect())
    }

    /// Total harmonic distortion as a share, where it was measured; the worst.
    fn distortion(&self) -> Option<Value> {
        // A rectifier bends the top of any wave; it says little of the others.
        let fits =
            |f: &&Found| f.result.key == "thd" && f.condition.get("load").is_none_or(|l| l != "rectifier");
        let all = self.newest(|o| o.results.iter().filter(fits).map(|f| f.value.clone()).collect());
        all.into_iter().max_by(|a, b| a.x.total_cmp(&b.x))
    }

    /// The least that one outlet alone did not hold.
    fn not_held_by_one(&self) -> Option<NotHeld> {
        let one = |f: &Found| f.condition.get(OUTLETS).is_some_and(|o| o == "one");
        let all = self.newest(|o| {
            let fits = o.failed.iter().filter(|(f, _)| f.result.key == "sustained-output" && one(f));
            fits.map(|(f, how)| NotHeld { value: f.value.clone(), how: how.clone(), hours: None }).collect()
        });
        all.into_iter().min_by(|a, b| a.value.x.total_cmp(&b.value.x))
    }
}

/// From a cold start, resistive, over all outlets: what a bare figure speaks of.
fn usual(found: &Found) -> bool {
    let is = |axis: &str, value: &str| found.condition.get(axis).is_none_or(|v| v == value);
    is("start", "cold") && is("how", "resistive") && is(OUTLETS, "all")
}
