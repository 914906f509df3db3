//! Whether a meter stays as it was: a known load read every week, on a control chart for single values.
//!
//! Formula: centre = mean of the deviations, limits = centre ± 3·MR/1.128, MR the mean of the moving ranges of two
//! (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2; the same chart in ISO 7870-2). A point beyond a limit, or
//! eight in a row on one side of the centre (Western Electric rules, e-Handbook 6.3.2), is a signal.
use crate::finding::Finding;
use crate::instrument::{Check, Instrument};
use crate::quantity::Dim;
use crate::shown::{Style, signed};
use jiff::civil::Date;

/// What a point says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    /// As ever.
    Steady,
    /// Beyond a limit.
    Beyond,
    /// The eighth in a row on one side, or a later one.
    Run,
}

impl Signal {
    /// In words, for a table.
    pub fn words(self) -> &'static str {
        match self {
            Signal::Steady => "steady",
            Signal::Beyond => "beyond the limit",
            Signal::Run => "eight in a row on one side",
        }
    }
}

/// One check on the chart.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Day, ISO 8601.
    pub on: String,
    /// Reading over what it truly was, less one: 0.009 when it shows 0.9 % too much.
    pub off: f64,
    /// What it says.
    pub signal: Signal,
}

/// The chart of one meter. Deviations are shares.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// By day.
    pub points: Vec<Point>,
    /// Centre line.
    pub centre: f64,
    /// Lower and upper limit; `None` before there are enough checks.
    pub limits: Option<(f64, f64)>,
    /// The limits still move with every check.
    pub provisional: bool,
}

/// d₂ for ranges of two values.
const D2: f64 = 1.128;
/// Checks from which limits are drawn at all, and from which they are kept (common practice: 20 to 25).
const FIRST: usize = 5;
const BASE: usize = 20;
/// So many in a row on one side are a signal.
const RUN: usize = 8;
/// Days after which the next check is due.
const WEEK: i32 = 7;

impl Check {
    fn off(&self) -> Option<f64> {
        let off = self.reading_w / self.true_w - 1.0;
        (self.reading_w > 0.0 && self.true_w > 0.0).then_some(off)
    }
}

/// The chart of an instrument's checks; `None` without any.
pub fn chart(instrument: &Instrument) -> Option<Chart> {
    let mut checks: Vec<(&Check, f64)> =
        instrument.checks.iter().filter_map(|c| Some((c, c.off()?))).collect();
    checks.sort_by(|a, b| a.0.on.cmp(&b.0.on));
    if checks.is_empty() {
        return None;
    }
    let base: Vec<f64> = checks.iter().take(BASE).map(|c| c.1).collect();
    let centre = base.iter().sum::<f64>() / base.len() as f64;
    let limits = (base.len() >= FIRST).then(|| {
        let ranges = base.windows(2).map(|w| (w[1] - w[0]).abs()).sum::<f64>() / (base.len() - 1) as f64;
        let sigma = (ranges / D2).max(of_step(instrument, &checks));
        (centre - 3.0 * sigma, centre + 3.0 * sigma)
    });
    let mut row = 0i32;
    let points = checks.iter().map(|(check, off)| {
        let side = if *off > centre { 1 } else { -1 };
        row = if row.signum() == side { row + side } else { side };
        let beyond = limits.is_some_and(|(low, high)| !(low..=high).contains(off));
        let signal = match (beyond, row.unsigned_abs() as usize >= RUN && limits.is_some()) {
            (true, _) => Signal::Beyond,
            (_, true) => Signal::Run,
            _ => Signal::Steady,
        };
        Point { on: check.on.clone(), off: *off, signal }
    });
    Some(Chart { points: points.collect(), centre, limits, provisional: checks.len() < BASE })
}

/// What the display's step alone scatters, as a share: equal readings would make limits of no width.
fn of_step(instrument: &Instrument, checks: &[(&Check, f64)]) -> f64 {
    let load = checks.iter().map(|(c, _)| c.true_w).sum::<f64>() / checks.len() as f64;
    let step = instrument.accuracy_at(Dim::Power, load).map_or(0.0, |a| a.step);
    step / 12f64.sqrt() / load
}

/// What must be said of a meter's steadiness on a day: a signal at its last check, or that the next one is due.
pub fn findings(instrument: &Instrument, as_of: &str) -> Vec<Finding> {
    let Some(chart) = chart(instrument) else { return Vec::new() };
    let Some(last) = chart.points.last() else { return Vec::new() };
    let mut out = Vec::new();
    let place = "checks";
    let hint =
        "calibrate it before the next test; results read on it since the last steady check are in doubt";
    match last.signal {
        Signal::Beyond => {
            let off = signed(100.0 * last.off, 2, Style::POINT);
            let text = format!("the check of {} lies beyond its limits: {off} %", last.on);
            out.push(Finding::doubt("meter-beyond-limits", place, text, hint));
        }
        Signal::Run => {
            let text = format!("the checks up to {} lie eight in a row on one side", last.on);
            out.push(Finding::doubt("meter-drifts", place, text, hint));
        }
        Signal::Steady => (),
    }
    if let (Ok(now), Ok(then)) = (as_of.parse::<Date>(), last.on.parse::<Date>()) {
        let days = now.since(then).map_or(0, |s| s.get_days());
        if days > WEEK {
            let text = format!("the last check of its known load is {days} days old");
            out.push(Finding::note("meter-check-due", place, text, "read the known load again"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instrument::Accuracy;
    fn meter(readings: &[f64], true_w: f64) -> Instrument {
        let one = |(i, reading_w): (usize, &f64)| Check {
            on: format!("2026-{:02}-{:02}", 1 + i / 4, 1 + 7 * (i % 4)),
            reading_w: *reading_w,
            true_w,
            ..Check::default()
        };
        Instrument { checks: readings.iter().enumerate().map(one).collect(), ..Instrument::default() }
    }
    #[test]
    fn ten_batches_of_the_handbook() {
        // e-Handbook 6.3.2.2: ten flow rates, mean 50.81, mean moving range 16.9/9 = 1.8778, limits 45.8159 and 55.8041.
        // As readings of a load of 50 the deviations are x/50 − 1, so the limits come back times 50 and plus 50.
        let flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        let chart = chart(&meter(&flow, 50.0)).unwrap();
        let back = |off: f64| 50.0 * (1.0 + off);
        let (low, high) = chart.limits.unwrap();
        assert!((back(chart.centre) - 50.81).abs() < 5e-5);
        assert!((back(low) - 45.8159).abs() < 5e-5 && (back(high) - 55.8041).abs() < 5e-5, "{low} {high}");
        assert!(chart.provisional && chart.points.iter().all(|p| p.signal == Signal::Steady));
    }
    #[test]
    fn a_jump_and_a_drift_are_signals() {
        // Twenty checks 60.0, 60.2, 60.0, …: moving range 0.2, sigma 0.2/1.128 = 0.1773, limits 60.1 ± 0.532.
        let mut readings: Vec<f64> = (0..20).map(|i| if i % 2 == 0 { 60.0 } else { 60.2 }).collect();
        readings.push(60.6);
        assert_eq!(chart(&meter(&readings, 60.0)).unwrap().points[20].signal, Signal::Steady);
        readings.push(60.7);
        let jump = meter(&readings, 60.0);
        assert_eq!(chart(&jump).unwrap().points[21].signal, Signal::Beyond);
        assert_eq!(findings(&jump, "2026-06-08")[0].code, "meter-beyond-limits");
        readings.truncate(20);
        // The last of the base lies above; seven more make eight.
        readings.extend([60.3; 7]);
        let signals: Vec<Signal> =
            chart(&meter(&readings, 60.0)).unwrap().points[19..].iter().map(|p| p.signal).collect();
        assert_eq!((signals[6], signals[7]), (Signal::Steady, Signal::Run));
    }
    #[test]
    fn equal_readings_have_the_limits_of_the_step() {
        let mut same = meter(&[60.0; 6], 60.0);
        same.accuracy.push(Accuracy { step: 0.1, ..Accuracy::default() });
        // 0.1/√12/60 = 0.000481, three times: ± 0.001443.
        let (low, high) = chart(&same).unwrap().limits.unwrap();
        assert!((high - 0.001_443).abs() < 1e-6 && (low + 0.001_443).abs() < 1e-6, "{low} {high}");
    }
    #[test]
    fn few_checks_have_no_limits_and_old_ones_are_due() {
        let few = meter(&[60.0, 60.1], 60.0);
        assert_eq!(chart(&few).unwrap().limits, None);
        assert_eq!(findings(&few, "2026-01-15"), []);
        assert_eq!(findings(&few, "2026-01-16")[0].code, "meter-check-due");
        assert!(chart(&meter(&[], 60.0)).is_none() && chart(&meter(&[60.0], 0.0)).is_none());
    }
}
