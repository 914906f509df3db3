//! What moves when something behind the results changes: each figure old and new, and the verdicts that turn.
use crate::claims::ClaimRow;
use crate::judge::Verdict;
use crate::measurand::ResultSpec;
use crate::notebook::{Condition, Notebook};
use crate::repeat::Outcomes;
use crate::report::{ModelReport, Report, report};
use crate::uncertain::Value;
use crate::{examine, kinds};
use std::sync::Arc;

/// A figure that is another now.
#[derive(Clone, Debug)]
pub struct Moved {
    /// Id of the model.
    pub model: String,
    /// Its name.
    pub name: String,
    /// What.
    pub result: &'static ResultSpec,
    /// Under which condition.
    pub condition: Condition,
    /// Whose.
    pub specimen: String,
    /// Firmware at the time.
    pub firmware: String,
    /// Before; `None` when there was none.
    pub old: Option<Value>,
    /// Now; `None` when there is none any more.
    pub new: Option<Value>,
}

/// A verdict that turned.
#[derive(Clone, Debug)]
pub struct Turned {
    /// Id of the model.
    pub model: String,
    /// Its name.
    pub name: String,
    /// What the claim speaks of.
    pub title: String,
    /// As stated.
    pub stated: String,
    /// Before and now.
    pub verdict: (Verdict, Verdict),
}

/// Everything that moved between two reports.
#[derive(Clone, Debug, Default)]
pub struct Changes {
    /// Figures, by model.
    pub figures: Vec<Moved>,
    /// Verdicts, by model.
    pub verdicts: Vec<Turned>,
    /// Figures that stand as they stood.
    pub unmoved: usize,
}

/// Compares two reports on the same models.
pub fn between(before: &Report, after: &Report) -> Changes {
    let mut changes = Changes::default();
    for new in &after.models {
        if let Some(old) = before.models.iter().find(|m| m.id == new.id) {
            figures(old, new, &mut changes);
            verdicts(old, new, &mut changes);
        }
    }
    changes
}

fn figures(old: &ModelReport, new: &ModelReport, changes: &mut Changes) {
    let key = |r: &crate::repeat::ResultRow| {
        (r.result.key, r.condition.clone(), r.specimen.clone(), r.firmware.clone())
    };
    let moved = |row: &crate::repeat::ResultRow, old: Option<Value>, after: Option<Value>| Moved {
        model: new.id.clone(),
        name: new.name.clone(),
        result: row.result,
        condition: row.condition.clone(),
        specimen: row.specimen.clone(),
        firmware: row.firmware.clone(),
        old,
        new: after,
    };
    for row in &new.rows {
        match old.rows.iter().find(|r| key(r) == key(row)) {
            Some(was) if same(&was.value, &row.value) => changes.unmoved += 1,
            was => changes.figures.push(moved(row, was.map(|r| r.value.clone()), Some(row.value.clone()))),
        }
    }
    let gone = old.rows.iter().filter(|was| !new.rows.iter().any(|r| key(r) == key(was)));
    changes.figures.extend(gone.map(|was| moved(was, Some(was.value.clone()), None)));
}

/// Equal within what arithmetic in another order makes of a number.
fn same(a: &Value, b: &Value) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
    near(a.x, b.x) && near(a.u(), b.u())
}

fn verdicts(old: &ModelReport, new: &ModelReport, changes: &mut Changes) {
    for row in &new.claims {
        let was = old.claims.iter().find(|c| c.claim.id == row.claim.id);
        if let Some(was) = was.filter(|was| was.verdict != row.verdict) {
            let title = |c: &ClaimRow| c.result.map_or_else(|| c.claim.key.clone(), |r| r.title.to_string());
            changes.verdicts.push(Turned {
                model: new.id.clone(),
                name: new.name.clone(),
                title: title(row),
                stated: row.claim.text.clone(),
                verdict: (was.verdict, row.verdict),
            });
        }
    }
}

/// What one calibration of an instrument does: everything that used it, without it and with it. `None` when there is
/// no such calibration.
pub fn by_calibration(now: &Report, instrument: &str, calibration: usize) -> Option<Changes> {
    let mut notebook = Notebook::clone(&now.notebook);
    let meter = notebook.instruments.iter_mut().find(|i| i.id == instrument)?;
    if calibration >= meter.calibrations.len() {
        return None;
    }
    meter.calibrations.remove(calibration);
    let mut outcomes = Outcomes::clone(&now.outcomes);
    for test in notebook.tests.iter().filter(|t| t.entries.values().any(|e| e.instrument == instrument)) {
        if let Some(kind) = kinds::find(&test.kind) {
            outcomes.insert(test.id.clone(), Arc::new(examine::run(kind, test, &notebook)));
        }
    }
    let before = report(Arc::new(notebook), Arc::new(outcomes), &now.as_of);
    Some(between(&before, now))
}
