//! Energy and hours from a meter's log between two of its instants, and how far to trust them.
//!
//! E = ∫P dt by trapezoid over the time covered by readings, plus what passed in the gaps: by the log's own counter where
//! it went on counting, else along straight lines. S = ∫P² dt likewise.
//!
//! Uncertainty: the meter's gain is common to all samples; its fixed part counts with the time; the last digit is taken
//! as one and the same error of every sample, the worst case of a steady load; each end of the time lies anywhere within
//! one step between rows; the power in a gap lies anywhere between the powers that the load was seen at.
use crate::finding::Finding;
use crate::instrument::{Feeds, Instrument};
use crate::kind::{Outcome, Run};
use crate::notebook::LoadSort;
use crate::quantity::{Dim, Energy, Power, Time};
use crate::questions;
use crate::reading::{Field, Logged};
use crate::recording::{LogRecord, Mark, Tally};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Uncertain, Value};

/// What a stretch of a log yields.
pub struct Stretch {
    /// From its first to its last instant.
    pub hours: Uncertain<Time>,
    /// Through the meter, without what the meter itself takes.
    pub energy: Uncertain<Energy>,
    /// ∫P² dt, W²·h.
    pub w2h: f64,
}

/// Gaps beyond this share of the time are a doubt, not a note (common practice).
const GAPS_DOUBTED: f64 = 0.02;
/// A counter read by hand may differ from the log's energy by this share (common practice: two meters of 1 %).
const BY_HAND_OFF: f64 = 0.03;
/// Rows further apart than this cannot follow a load that switches itself, s (common practice: motors run for minutes).
const TOO_COARSE_S: f64 = 60.0;

/// Energy and hours from one instant to another.
pub fn stretch(
    run: &Run,
    field: &Field<Logged>,
    log: &LogRecord,
    (from, to): (&Mark, &Mark),
    out: &mut Outcome,
) -> Option<Stretch> {
    let key = field.spec.key;
    let sum = log.between(from, to);
    let hours = (to.elapsed_s - from.elapsed_s) / 3600.0;
    let covered = sum.covered_s / 3600.0;
    let whole_wh = sum.energy_wh + in_gaps(&sum);
    if !(covered > 0.0 && whole_wh > 0.0) {
        out.findings.push(Finding::gap(
            "log-without-energy",
            key,
            "the log holds no energy between the load going on and off".to_string(),
            "check which column is the power, its unit and its sign",
        ));
        return None;
    }
    let name = format!("{}/{key}", run.id());
    let meter = run.entry(field).and_then(|e| run.desk.notebook.instrument(&e.instrument));
    let read = metered(meter, log, &sum, covered, &name, &run.desk.test.day);
    let energy = of_gaps(read, log, &sum, &name, key, hours, out)?;
    checks(run, log, &sum, key, out);
    let time = Uncertain::exact(hours).with(
        Influence::test(&name, Effect::Clock, ""),
        // Two ends, each anywhere within one step: √2·Δ/√12.
        log.interval_s / 3600.0 / 6f64.sqrt(),
        Shape::Triangular,
        f64::INFINITY,
    );
    out.step("t", "time from load on to load off, by the log", "h", &time);
    out.step("∫P·dt", "power over time, by the log, gaps included", "Wh", &energy);
    if let Some(counter) = sum.counter_wh {
        out.step(
            "ΔR",
            "rise of the log's own counter, for comparison",
            "Wh",
            &Uncertain::<Energy>::exact(counter),
        );
    }
    Some(Stretch { hours: time, energy, w2h: sum.w2h + sum.bridged_w2h })
}

/// The same for a meter on an outlet of the station, whose unseen own draw the station gave too.
pub fn delivered(
    run: &Run,
    field: &Field<Logged>,
    log: &LogRecord,
    ends: (&Mark, &Mark),
    out: &mut Outcome,
) -> Option<Stretch> {
    let s = stretch(run, field, log, ends, out)?;
    let meter = run.entry(field).and_then(|e| run.desk.notebook.instrument(&e.instrument));
    match meter.filter(|m| m.own_draw_w > 0.0 && m.feeds == Feeds::Unseen) {
        Some(meter) => Some(Stretch { energy: s.energy + own_draw(meter, s.hours.x(), out), ..s }),
        None => Some(s),
    }
}

/// Own draw of a meter over some hours, fed by the station.
pub(crate) fn own_draw(meter: &Instrument, hours: f64, out: &mut Outcome) -> Uncertain<Energy> {
    let own = Uncertain::<Power>::exact(meter.own_draw_w) * Uncertain::<Time>::exact(hours);
    out.step("P₀·t", "own draw of the meter, fed by the station", "Wh", &own);
    own
}

/// Energy in gaps: counted where a counter went on, else by straight lines, Wh.
fn in_gaps(sum: &Tally) -> f64 {
    sum.counted_wh + (sum.bridged_wh - sum.counted_bridged_wh)
}

/// Energy over the covered time with the meter's doubts: those of its mean power times the time.
fn metered(
    meter: Option<&Instrument>,
    log: &LogRecord,
    sum: &Tally,
    covered_h: f64,
    name: &str,
    day: &str,
) -> Value {
    let mean = sum.energy_wh / covered_h;
    let power = match meter {
        Some(meter) => meter.value(Dim::Power, mean, log.step_w, name, day),
        None => Value::exact(Dim::Power, mean),
    };
    Value { dim: Dim::Energy, ..power.scaled(covered_h) }
}

/// Adds what passed in the gaps, and says how much that is.
fn of_gaps(
    read: Value,
    log: &LogRecord,
    sum: &Tally,
    name: &str,
    key: &'static str,
    hours: f64,
    out: &mut Outcome,
) -> Option<Uncertain<Energy>> {
    let gap_h = hours - sum.covered_s / 3600.0;
    if sum.gaps == 0 || gap_h <= 0.0 {
        return read.typed();
    }
    // The meter's gain holds for what it counted in the gaps too.
    let whole = sum.energy_wh + in_gaps(sum);
    let gain = whole / sum.energy_wh;
    let mut total = Value { dim: read.dim, x: read.x * gain, parts: read.parts };
    for (influence, part) in &mut total.parts {
        if influence.effect == Effect::Gain {
            part.signed *= gain;
        }
    }
    // Instants of a log are whole microseconds; less than one is rounding.
    let open_h = Some(gap_h - sum.counted_s / 3600.0).filter(|h| *h > 1e-9).unwrap_or(0.0);
    let bridged = sum.bridged_wh - sum.counted_bridged_wh;
    if open_h > 0.0 {
        let (low, high) = (if log.cycles.is_some() { 0.0 } else { log.spread_w.0 }, log.spread_w.1);
        let limit = (high * open_h - bridged).max(bridged - low * open_h).max(0.0);
        let of = Influence::test(name, Effect::Gaps, "");
        total = total.with(of, limit / 3f64.sqrt(), Shape::Rectangular, f64::INFINITY);
    }
    if sum.counted_s > 0.0 {
        // Each gap is the difference of two readings of the counter.
        let u = log.counter_step_wh * (sum.gaps as f64 / 6.0).sqrt();
        total = total.with(Influence::test(name, Effect::Step, "counter"), u, Shape::Normal, f64::INFINITY);
    }
    let share = gap_h / hours;
    let how = match (open_h > 0.0, sum.counted_s > 0.0) {
        (true, true) => "partly by the log's counter, the rest by straight lines",
        (false, true) => "by the log's counter",
        _ => "by straight lines",
    };
    let text = format!(
        "{} in the log, {:.1} % of the time; {:.1} Wh in them are {how}",
        if sum.gaps == 1 { "one gap".to_string() } else { format!("{} gaps", sum.gaps) },
        100.0 * share,
        in_gaps(sum)
    );
    let hint = "nothing was filled in with zeros; a log without gaps is better";
    out.findings.push(match share > GAPS_DOUBTED {
        true => Finding::doubt("log-gaps", key, text, hint),
        false => Finding::note("log-gaps", key, text, hint),
    });
    total.typed()
}

/// What speaks against the log.
fn checks(run: &Run, log: &LogRecord, sum: &Tally, key: &'static str, out: &mut Outcome) {
    let load = run.if_asked(&questions::LOAD);
    if load.is_some_and(|l| l.sort == LoadSort::Cycling) && log.interval_s > TOO_COARSE_S {
        out.findings.push(Finding::doubt(
            "log-too-coarse",
            key,
            format!(
                "the rows are {:.0} s apart: what a load does that switches itself is averaged away",
                log.interval_s
            ),
            "log every few seconds; the sum of P² is a lower bound here",
        ));
    }
    let ends = run.if_asked(&questions::COUNTER_START).zip(run.if_asked(&questions::COUNTER_END));
    let Some((start, end)) = ends else { return };
    let (by_hand, by_log) = (end.x() - start.x(), sum.energy_wh + in_gaps(sum));
    let room = BY_HAND_OFF * by_log + 2.0 * end.value().u();
    if (by_hand - by_log).abs() > room {
        out.findings.push(Finding::doubt(
            "log-against-counter",
            key,
            format!("the log gives {by_log:.1} Wh, the counter read by hand {by_hand:.1} Wh"),
            "is it the log of this test, and all of it? Look at the counter readings too",
        ));
    }
}

/// From the load going on to its going off for good. Where the load is on to the last row, the log ends with the outlet,
/// as that of a meter fed by it does; that is said.
pub fn on_and_off<'a>(
    log: &'a LogRecord,
    key: &'static str,
    out: &mut Outcome,
) -> Option<(&'a Mark, &'a Mark)> {
    let Some(on) = &log.on else {
        out.findings.push(Finding::gap(
            "log-never-on",
            key,
            "no power above 5 W is in the log".to_string(),
            "check which column is the power, and its unit",
        ));
        return None;
    };
    if log.off.is_none() {
        out.findings.push(Finding::note(
            "log-ends-on",
            key,
            "the log ends while the load is on; its last row is taken for the end".to_string(),
            "right for a meter that lives on the same outlet; else the log was stopped too early",
        ));
    }
    Some((on, log.off.as_ref().unwrap_or(&log.last)))
}
