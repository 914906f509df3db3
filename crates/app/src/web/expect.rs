//! When a running discharge will end, by the runtime curve of earlier tests of the same sample.
use super::stage::answered;
use super::words;
use jiff::{SignedDuration, Timestamp};
use trueplate_core::kind::Spec;
use trueplate_core::law::Load;
use trueplate_core::notebook::Test;
use trueplate_core::quantity::Dim;
use trueplate_core::questions::CAUSE;
use trueplate_core::reading::{self, Desk, Reading};
use trueplate_core::report::Report;
use trueplate_core::shown::duration_words;
use trueplate_core::stamp;

/// "By earlier tests it lasts 1 h 45 min (1 h 40 min to 1 h 50 min): until about 12:47." `since` is RFC 3339.
/// `None` while no power is read, no earlier test tells, or the test does not empty the battery.
pub fn until(report: &Report, test: &Test, spec: &Spec, since: &str) -> Option<String> {
    let empties = spec.fields.iter().any(|f| f.key == CAUSE.spec.key);
    let began: Timestamp = since.parse().ok().filter(|_| empties)?;
    let watts = power(report, test, spec)?;
    let model = report.notebook.model_of(&test.specimen)?;
    let computed = report.models.iter().find(|m| m.id == model.id)?;
    let drain = computed.drains.iter().find(|d| d.specimen == test.specimen && !d.superseded)?;
    // A test that is in the curve already has ended; it foretells nothing about itself.
    if drain.rows.iter().any(|row| row.test == test.id) {
        return None;
    }
    let (time, _) = drain.answer(Load::steady(watts))?.ok()?;
    let desk = Desk::new(&report.notebook, test);
    let ends = began.checked_add(SignedDuration::try_from_secs_f64(time.x * 3600.0).ok()?).ok()?;
    let wall = stamp::wall(ends, &desk.zone);
    let wall = wall.strip_prefix(test.day.as_str()).unwrap_or(&wall).trim();
    Some(format!(
        "By earlier tests it lasts {} ({} to {}): until about {}.",
        duration_words(time.x),
        duration_words((time.x - time.half95()).max(0.0)),
        duration_words(time.x + time.half95()),
        wall.get(..wall.len().saturating_sub(3)).unwrap_or(wall),
    ))
}

/// The last power read before the end, in W; else what the load takes while on.
fn power(report: &Report, test: &Test, spec: &Spec) -> Option<f64> {
    let desk = Desk::new(&report.notebook, test);
    let asked = spec.fields.iter().filter(|f| !f.at_end);
    let read = asked.filter_map(|f| reading::read(f, answered(test, f.key)?, &desk, &mut Vec::new()).ok());
    let mut watts = read.filter_map(|r| match r {
        Reading::Quantity(v) if v.dim == Dim::Power => Some(v.x),
        Reading::Load(load) if load.running_w > 0.0 && !words::switches(&load) => Some(load.running_w),
        _ => None,
    });
    watts.next_back()
}
