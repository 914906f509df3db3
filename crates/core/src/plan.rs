//! The bench days of one model: which tests are still missing, in an order that reuses every discharge and recharge.
//!
//! A test that asks about a full start needs one; a test that ends by cut-off leaves the battery empty; a recharge
//! takes it back to full and counts as a test of its own. Durations come from the drain law where there is one, else
//! from the claims. Attended steps stay within the day; a night is used for waiting that needs nobody.
mod loads;
mod wanted;
mod days;

pub use loads::{LoadPick, pick};
pub use wanted::{Wanted, wanted};

use crate::report::Report;
use jiff::civil::DateTime;

/// One step of the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Begins, wall time of the bench.
    pub at: DateTime,
    /// Ends, as predicted.
    pub until: DateTime,
    /// Id of the kind of test; `rest`, `charge` or `wait` for what is none.
    pub kind: String,
    /// What to do, in words.
    pub title: String,
    /// Somebody stays with it.
    pub attended: bool,
    /// What hangs on the outlet.
    pub loads: Vec<String>,
    /// What it needs: full and rested, power saving off.
    pub needs: Vec<String>,
    /// Which verdict or answer it serves.
    pub why: String,
}

/// The plan of one model.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// Steps in order of time.
    pub steps: Vec<Step>,
    /// What is missing and why it is wanted.
    pub missing: Vec<Wanted>,
    /// Hours the bench is occupied.
    pub elapsed_h: f64,
    /// Hours from the first step to the end of the last.
    pub calendar_h: f64,
}

/// First and last hour of a day in which somebody is at the bench (common practice).
pub const DAY: (i8, i8) = (8, 22);

/// Plans what a model still misses, from a wall time on. `None` when there is no such model.
pub fn plan(report: &Report, model: &str, from: DateTime) -> Option<Plan> {
    let shown = report.models.iter().find(|m| m.id == model)?;
    let model = report.notebook.model(model)?;
    let missing = wanted(&report.notebook, model, shown);
    let times = days::Times::of(&report.notebook, model, shown);
    let steps = days::arrange(&report.notebook, model, &missing, &times, from);
    let hours = |s: &Step| s.until.since(s.at).map_or(0.0, |d| d.total(jiff::Unit::Hour).unwrap_or(0.0));
    let busy = steps.iter().filter(|s| s.kind != "wait").map(hours).sum();
    let whole = match (steps.first(), steps.last()) {
        (Some(a), Some(b)) => b.until.since(a.at).map_or(0.0, |d| d.total(jiff::Unit::Hour).unwrap_or(0.0)),
        _ => 0.0,
    };
    Some(Plan { steps, missing, elapsed_h: busy, calendar_h: whole })
}
