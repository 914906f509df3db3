//! A log as kinds of test compute with it: sums up to the load going on, to its going off, and to the end.
use super::cutoff::Moment;
use super::digest::Digest;
use super::energy::WH;
use super::load::{Clock, Loaded};
use super::log::Log;
use super::mapping::{Mapping, Role};
use super::number::{Marks, Number, parse};
use super::words::unit_of_code;
use trueplate_core::recording::{CurvePoint, Cycling, LogRecord, Mark, Tally};

/// The recording of a file that was understood and read; `None` where there is no power in it, or a question stands
/// in the way.
pub fn recording(loaded: &Loaded) -> Option<LogRecord> {
    let log = &loaded.log;
    let record = log.record.as_deref()?.clone();
    let first = log.first_us?;
    let curve = log.trace.iter().map(|p| CurvePoint {
        at_s: (p.at_us - first) as f64 / 1e6,
        min_w: p.min,
        max_w: p.max,
        energy_wh: p.energy_wh,
    });
    Some(LogRecord {
        step_w: last_digit(&loaded.understanding.mapping, &loaded.understanding.preview).unwrap_or(0.0),
        curve: curve.collect(),
        findings: log.findings.clone(),
        ..record
    })
}

/// What was followed through the rows, as far as it concerns the load; times count from the first row with power.
pub(crate) fn of(log: &Log, d: &Digest, clock: &Clock<'_>) -> Option<LogRecord> {
    let start = d.energy.first?;
    let (t, counter) = d.cutoff.last()?;
    let last = Moment { t, sums: d.energy.sums, counter };
    let mark = |m: &Moment| mark(m, start, clock);
    let plateau = d.cycles.plateau();
    let off = if d.energy.ends_in_gap { None } else { d.cutoff.cutoff(plateau, last.t) };
    let spread = (d.cycles.delivered_below(0.05), d.cycles.delivered_below(0.95));
    let power = log.power?;
    Some(LogRecord {
        rows: log.rows,
        interval_s: d.energy.usual as f64 / 1e6,
        gap_s: d.energy.gap as f64 / 1e6,
        step_w: 0.0,
        counter_step_wh: d.counter.step(),
        first: Mark { at: clock.text(start).unwrap_or_default(), ..Mark::default() },
        on: d.cutoff.load_on(plateau).as_ref().map(mark),
        off: off.as_ref().map(mark),
        last: mark(&last),
        spread_w: if spread.1 > 0.0 { spread } else { (power.min.max(0.0), power.max) },
        cycles: log.cycles.map(|c| Cycling {
            starts: c.starts,
            whole: c.whole,
            period_s: c.period_s,
            on_s: c.on_s,
            mean_w: c.mean_w,
            running_w: c.running_w,
            peak_w: c.peak_w,
            defrosts: c.defrosts,
        }),
        gaps: d.energy.list.iter().map(|g| (seconds(g.0 - start), seconds(g.1 - start))).collect(),
        curve: Vec::new(),
        findings: Vec::new(),
    })
}

fn seconds(us: i64) -> f64 {
    us as f64 / 1e6
}

fn mark(m: &Moment, start: i64, clock: &Clock<'_>) -> Mark {
    let s = &m.sums;
    let tally = Tally {
        covered_s: seconds(s.covered),
        energy_wh: s.energy / WH,
        w2h: s.square / WH,
        gaps: s.gaps,
        bridged_wh: s.bridged / WH,
        bridged_w2h: s.bridged_square / WH,
        counted_wh: s.counted,
        counted_s: seconds(s.counted_time),
        counted_bridged_wh: s.counted_bridged / WH,
        counter_wh: (!m.counter.is_nan()).then_some(m.counter),
    };
    Mark { at: clock.text(m.t).unwrap_or_default(), elapsed_s: seconds(m.t - start), tally }
}

/// The last digit of the power as it is written in the first rows, W.
fn last_digit(mapping: &Mapping, rows: &[Vec<String>]) -> Option<f64> {
    let c = mapping.find(Role::Power)?;
    let marks = Marks { decimal: mapping.decimal as u8, thousands: mapping.thousands.map(|t| t as u8) };
    let factor = mapping.columns[c].unit.as_deref().and_then(unit_of_code).map_or(1.0, |u| u.factor);
    let written =
        rows.iter().filter_map(|r| r.get(c)).filter(|f| matches!(parse(f, marks), Number::Value(..)));
    let decimals = |f: &String| {
        let tail = f.rsplit_once(mapping.decimal).map_or("", |(_, tail)| tail);
        tail.bytes().take_while(u8::is_ascii_digit).count() as i32
    };
    Some(factor * 10f64.powi(-written.map(decimals).max()?))
}
