//! The drain law of each specimen and firmware, from the rows that its tests yield; and what follows from it.
//!
//! A row's private doubts go into its variance; the shared gain of the meter does not, it is carried by its
//! sensitivities, so that it cancels for a device read on the same meter.
mod told;

pub use told::Told;

use crate::finding::Finding;
use crate::kind::{DrainRow, claimed};
use crate::kinds::idle_draw::IDLE;
use crate::law::{self, Answer, Idle, Law, Load, Refusal, Row, Rules};
use crate::named::named_in;
use crate::notebook::{Condition, Notebook, Specimen, Test};
use crate::quantity::Dim;
use crate::repeat::{Outcomes, Repeatability, ResultRow, counts};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Part, Value};

/// A test that made the law, or would have.
#[derive(Clone, Debug)]
pub struct RowUsed {
    /// The test.
    pub test: String,
    /// Mean power while a load was on, in W.
    pub mean_w: f64,
    /// Mean over all hours, in W.
    pub over_all_w: f64,
    /// Hours with the outlet on.
    pub hours: f64,
}

/// A test kept out of the fit, and what the law foretold for it.
#[derive(Clone, Debug)]
pub struct HeldOut {
    /// The test.
    pub test: String,
    /// Its load.
    pub load: Load,
    /// Hours it ran.
    pub ran_h: f64,
    /// Hours foretold, or why not.
    pub foretold: Result<Value, Refusal>,
}

/// The law of one specimen under one firmware.
#[derive(Clone, Debug)]
pub struct Drain {
    /// Whose.
    pub specimen: String,
    /// Firmware.
    pub firmware: String,
    /// The law, when there is one.
    pub law: Option<Law>,
    /// b and c were taken over from before the update.
    pub carried: bool,
    /// A newer firmware has a law of its own.
    pub superseded: bool,
    /// Tests in the fit.
    pub rows: Vec<RowUsed>,
    /// Tests kept out of it as a check.
    pub held_out: Vec<HeldOut>,
    /// What was noticed, the law's own findings included.
    pub findings: Vec<Finding>,
    /// The gain that all rows share, when they were read on one meter.
    pub gain: Option<(Influence, Part)>,
}

/// The idle draw of one run lies within ± this share of its mean (common practice; the bench has no repeats of it).
const IDLE_LIMIT: f64 = 0.02;

/// The axis value that tests outside the usual temperature carry.
const TEMPERATURE: &str = "temperature";

/// The laws of one specimen, one per firmware it was tested with, oldest first.
pub fn of_specimen(
    notebook: &Notebook,
    outcomes: &Outcomes,
    specimen: &Specimen,
    scatter: Repeatability,
) -> Vec<Drain> {
    let mut versions: Vec<&str> = specimen.firmware.iter().map(|f| f.version.as_str()).collect();
    if versions.is_empty() {
        versions.push("");
    }
    let mut drains: Vec<Drain> = Vec::new();
    for firmware in versions {
        let tests: Vec<&Test> = notebook
            .tests
            .iter()
            .filter(|t| t.specimen == specimen.id && t.firmware == firmware && counts(t))
            .collect();
        let old = drains.last().and_then(|d| d.law.clone());
        let Some(drain) = one(notebook, outcomes, specimen, firmware, &tests, scatter, old) else { continue };
        if drain.law.is_some() {
            drains.iter_mut().for_each(|d| d.superseded = true);
        }
        drains.push(drain);
    }
    drains
}

fn one(
    notebook: &Notebook,
    outcomes: &Outcomes,
    specimen: &Specimen,
    firmware: &str,
    tests: &[&Test],
    scatter: Repeatability,
    old: Option<Law>,
) -> Option<Drain> {
    let rows: Vec<(&Test, &DrainRow)> = tests
        .iter()
        .filter_map(|t| outcomes.get(&t.id).map(|o| (*t, o)))
        .filter(|(_, o)| !o.condition.contains_key(TEMPERATURE))
        .filter_map(|(t, o)| o.row.as_ref().map(|r| (t, r)))
        .collect();
    if rows.is_empty() {
        return None;
    }
    let (fitted, others): (Vec<_>, Vec<_>) = rows.iter().partition(|(t, r)| r.complete && !t.held_out);
    let gain = shared_gain(fitted.iter().map(|(_, r)| *r));
    let model = notebook.model(&specimen.model);
    let rules = Rules {
        rated_w: model.and_then(|m| claimed(notebook, m, "sustained-output", Dim::Power)),
        refuse_above: notebook.settings.refuse_from,
        u_gain: gain.as_ref().map_or(0.0, |(_, p)| p.signed),
        ..Rules::default()
    };
    let equations: Vec<Row> = fitted.iter().map(|(t, r)| row(t, r, gain.as_ref(), scatter)).collect();
    let mut drain = Drain {
        specimen: specimen.id.clone(),
        firmware: firmware.into(),
        law: None,
        carried: false,
        superseded: false,
        rows: fitted.iter().map(|(t, r)| used(t, r)).collect(),
        held_out: Vec::new(),
        findings: Vec::new(),
        gain,
    };
    solve(&equations, rules, old, &mut drain);
    if let Some(law) = &drain.law {
        drain.findings.extend(law.findings.iter().cloned());
        drain.findings.extend(told::few_loads(law, &drain.rows));
        for (test, r) in &others {
            check(test, r, law, scatter, &mut drain.held_out, &mut drain.findings, drain.gain.as_ref());
        }
    }
    let ids: Vec<&str> = rows.iter().map(|(t, _)| t.id.as_str()).collect();
    drain.findings.iter_mut().for_each(|f| by_name(f, &ids, notebook));
    Some(drain)
}

/// The law knows its rows by the ids of tests; a sentence names the test.
fn by_name(finding: &mut Finding, ids: &[&str], notebook: &Notebook) {
    for id in ids {
        finding.text = finding.text.replace(&format!("`{id}`"), &named_in(notebook, id));
        if finding.place == *id {
            finding.place = named_in(notebook, id);
        }
    }
}

/// Fits the rows; with fewer than three powers after an update, takes b and c over from before it.
fn solve(rows: &[Row], rules: Rules, old: Option<Law>, drain: &mut Drain) {
    let own = law::fit(rows, rules);
    let whole = own.as_ref().is_ok_and(|l| l.known == law::Known::Whole);
    if let Some(old) = old.filter(|_| !whole && !rows.is_empty()) {
        match law::carry_over(&old, rows) {
            Ok(law) => {
                drain.carried = true;
                drain.law = Some(law);
                return;
            }
            Err(finding) => drain.findings.push(finding),
        }
    }
    match own {
        Ok(law) => drain.law = Some(law),
        Err(findings) => drain.findings.extend(findings),
    }
}

/// The gain influence, when every row has the same one; relative, in `Part::signed`.
fn shared_gain<'a>(rows: impl Iterator<Item = &'a DrainRow>) -> Option<(Influence, Part)> {
    let mut found: Option<(Influence, Part)> = None;
    for row in rows {
        let energy = row.energy.clone().value();
        let gain = energy.parts.iter().find(|(i, _)| i.effect == Effect::Gain)?;
        let relative = Part { signed: gain.1.signed / energy.x, ..*gain.1 };
        match &found {
            None => found = Some((gain.0.clone(), relative)),
            Some((influence, _)) if influence == gain.0 => {}
            Some(_) => return None,
        }
    }
    found
}

fn row(test: &Test, row: &DrainRow, gain: Option<&(Influence, Part)>, scatter: Repeatability) -> Row {
    let energy = row.energy.clone().value();
    let of = |effect: Effect| {
        energy
            .parts
            .iter()
            .filter(move |(i, _)| i.effect == effect)
            .map(|(_, p)| p.signed.powi(2))
            .sum::<f64>()
    };
    let start = of(Effect::StartState).sqrt() / energy.x.max(f64::MIN_POSITIVE);
    Row::sums(&test.id, row.hours.x(), energy.x, row.w2h, scatter.s.hypot(start))
        .with_u_wh(private_wh(row, gain))
        .with_u_idle(IDLE_LIMIT / 3f64.sqrt())
}

/// Standard uncertainty of a row's energy but for the shared gain and the start, Wh.
fn private_wh(row: &DrainRow, gain: Option<&(Influence, Part)>) -> f64 {
    let energy = row.energy.clone().value();
    let private = |i: &Influence| gain.is_none_or(|(g, _)| g != i) && i.effect != Effect::StartState;
    energy.parts.iter().filter(|(i, _)| private(i)).map(|(_, p)| p.signed.powi(2)).sum::<f64>().sqrt()
}

fn used(test: &Test, row: &DrainRow) -> RowUsed {
    let over_all_w = row.energy.x() / row.hours.x();
    RowUsed { test: test.id.clone(), mean_w: row.mean_w, over_all_w, hours: row.hours.x() }
}

/// A complete test kept out is foretold; an incomplete one must stay within the law.
fn check(
    test: &Test,
    r: &DrainRow,
    law: &Law,
    scatter: Repeatability,
    held_out: &mut Vec<HeldOut>,
    findings: &mut Vec<Finding>,
    gain: Option<&(Influence, Part)>,
) {
    if !r.complete {
        findings.extend(law::check_bound(law, &row(test, r, gain, scatter)));
        return;
    }
    let hours = r.hours.x();
    let load = Load { mean_w: r.energy.x() / hours, mean_w2: r.w2h / hours };
    // Read on the same meter as the rows: the gain cancels, its fixed part and its step do not.
    let foretold = law.answer(load).map(|a| {
        let slope = a.runtime_h.value.powi(2) * (law.b + 2.0 * law.c * load.mean_w);
        let read = Influence::test(&test.id, Effect::Offset, "load");
        value(Dim::Time, &a.runtime_h, None, &test.specimen).with(
            read,
            -slope * private_wh(r, gain) / hours,
            Shape::Normal,
            f64::INFINITY,
        )
    });
    held_out.push(HeldOut { test: test.id.clone(), load, ran_h: hours, foretold });
}

/// A law's value with its doubts as influences: the fit, private to the specimen, and the meter's gain.
fn value(dim: Dim, v: &law::Value, gain: Option<&(Influence, Part)>, owner: &str) -> Value {
    let fit = Influence::test(owner, Effect::Fit, "");
    let out = Value::exact(dim, v.value).with(fit, v.u, Shape::Normal, f64::INFINITY);
    match gain {
        Some((influence, part)) => {
            out.with(influence.clone(), v.per_gain * part.signed, part.shape, part.dof)
        }
        None => out,
    }
}

impl Drain {
    /// Hours and energy at a load in true watts, or the refusal with the missing test; `None` without a law.
    pub fn answer(&self, load: Load) -> Option<Result<(Value, Value), Refusal>> {
        let law = self.law.as_ref()?;
        let both = |a: Answer| {
            let one = |dim, v: &law::Value| value(dim, v, self.gain.as_ref(), &self.owner());
            (one(Dim::Time, &a.runtime_h), one(Dim::Energy, &a.energy_wh))
        };
        Some(law.answer(load).map(both))
    }
    fn owner(&self) -> String {
        format!("{}/{}/law", self.specimen, self.firmware)
    }
    /// The idle draw as a result, when it is a value and not only a bound.
    pub fn idle(&self) -> Option<ResultRow> {
        let Some(Idle::Draw(v)) = self.law.as_ref()?.idle() else { return None };
        // Without a row that idled, a fit can put any number here; a carried one puts all of one run's scatter here.
        let idled = self.rows.iter().any(|r| r.over_all_w < 0.75 * r.mean_w);
        if v.u_with_gain(0.0) > 0.5 * v.value || (self.carried && !idled) {
            return None;
        }
        Some(ResultRow {
            result: &IDLE.spec,
            condition: Condition::new(),
            specimen: self.specimen.clone(),
            firmware: self.firmware.clone(),
            value: value(Dim::Power, &v, self.gain.as_ref(), &self.owner()),
            tests: self.rows.iter().map(|r| r.test.clone()).collect(),
            superseded: false,
        })
    }
}
