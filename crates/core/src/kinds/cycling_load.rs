//! A load that switches itself: fridge, freezer, blanket.
//!
//! Formula: P_mean = (R₂ − R₁)/t over the whole time; ∫P² dt = P_on·W for an on/off load.
//! Uncertainty: the meter, and how many whole cycles the time held; half a defrost at either end, where a log shows some.
//! Does not tell: another fridge, another room, another door habit.
use crate::discharge::{counted, elapsed, timer_check};
use crate::finding::Finding;
use crate::kind::{DrainRow, Example, Kind, Outcome, Run, Spec};
use crate::logged::{delivered, on_and_off};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Energy, Power, Time};
use crate::questions::{
    AMBIENT, CAUSE, COUNTER_END, COUNTER_START, ELAPSED, END, LOAD, LOG, START, START_STATE,
};
use crate::reading::Field;
use crate::recording::{Cycling, Defrosts, LogRecord};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Uncertain};

/// The kind.
pub struct CyclingLoad;

static RAN: Measurand<Time> =
    Measurand::new("cycling-runtime", "Ran a fridge", "h", Better::More).formula("t = end − start").varies();
static MEAN: Measurand<Power> =
    Measurand::new("cycling-mean", "Mean power of the fridge", "W", Better::Less).formula("P = (R₂ − R₁)/t");

static ON_POWER: Field<Uncertain<Power>> = Field::quantity("on_power", "power while on", "W")
    .spared_by("log")
    .ask("What does it draw while its motor runs?", "Wait for it to start; ten seconds later.");
static STARTS: Field<u64> = Field::count("starts", "starts counted")
    .optional()
    .ask("How many times did it start?", "Leave empty if nobody counted.")
    .at_end();

/// Below this a window is too short to know a fridge's mean, in h (common practice).
const WINDOW_H: f64 = 24.0;

static SPEC: Spec = Spec {
    id: "cycling-load",
    revision: 3,
    title: "A fridge, for real",
    question: "Does it run my fridge, and how long?",
    method: &[
        "Station full and rested. Fridge cold, filled, door shut as on any day.",
        "Run it through the meter until the outlet switches off, or for 24 hours at least.",
        "Read the counter, not the watts: a fridge is off most of the time.",
    ],
    uncertainty: "The meter; and cycles cut at the ends: one cycle in a day of forty is 2.5 %; a defrost cut there counts for more.",
    does_not_tell: "Your fridge in your kitchen. Food safety is not judged here.",
    cautions: &[
        "Nothing that burns within a metre, smoke alarm on. Food that must stay cold stays elsewhere.",
    ],
    attended: false,
    minutes: 1440,
    fields: &[
        &START_STATE.spec,
        &AMBIENT.spec,
        &LOAD.spec,
        &COUNTER_START.spec,
        &START.spec,
        &ON_POWER.spec,
        &LOG.spec,
        &END.spec,
        &COUNTER_END.spec,
        &ELAPSED.spec,
        &CAUSE.spec,
        &STARTS.spec,
    ],
    axes: &[],
    results: &[&RAN.spec, &MEAN.spec],
};

impl Kind for CyclingLoad {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let recording = run.log(&LOG);
        let Watched { hours, energy, mean, w2h } = match &recording {
            Some(recording) => by_log(run, recording.log()?, out)?,
            None => by_hand(run, out)?,
        };
        if !timer_check(run, hours.x(), out) {
            return None;
        }
        let cause = run.get(&CAUSE)?;
        let empty = cause.0 == "empty";
        if hours.x() < WINDOW_H && !empty {
            out.findings.push(Finding::doubt(
                "window-too-short",
                END.spec.key,
                format!("{:.1} h are too short for the mean of a load that switches itself", hours.x()),
                "watch it for 24 hours, or until the station is empty",
            ));
        }
        let full = run.get(&START_STATE).and_then(|s| crate::questions::start_doubt(s.0));
        out.put(&MEAN, mean.clone());
        let doubted = match full {
            Some(limit) => {
                let influence = Influence::test(run.id(), Effect::StartState, "");
                energy.clone().with(
                    influence,
                    energy.x() * limit / 3f64.sqrt(),
                    Shape::Rectangular,
                    f64::INFINITY,
                )
            }
            None => energy.clone(),
        };
        out.row = Some(DrainRow {
            hours: hours.clone(),
            w2h,
            energy: doubted,
            complete: empty && full.is_some(),
            mean_w: mean.x(),
        });
        if empty && full.is_some() {
            out.put(&RAN, hours);
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&START_STATE.spec, "full-rested")
            .says(&LOAD.spec, "fridge")
            .reads(&COUNTER_START.spec, "0", "meter")
            .says(&START.spec, "2026-05-03 08:00")
            .reads(&ON_POWER.spec, "85 W", "meter")
            .says(&END.spec, "2026-05-04 04:00")
            .reads(&COUNTER_END.spec, "750 Wh", "meter")
            .says(&CAUSE.spec, "empty")
            .says(&STARTS.spec, "35")
    }
}

/// A load that switches itself, as watched.
struct Watched {
    hours: Uncertain<Time>,
    energy: Uncertain<Energy>,
    mean: Uncertain<Power>,
    /// ∫P² dt, W²·h.
    w2h: f64,
}

/// By counter and clock: ∫P² dt is that of a load either off or on.
fn by_hand(run: &Run, out: &mut Outcome) -> Option<Watched> {
    let hours = elapsed(run, &START, &END, out)?;
    out.step("t", "time watched", "h", &hours);
    let energy = counted(run, &COUNTER_START, &COUNTER_END, hours.x(), out)?;
    let on = run.get(&ON_POWER)?;
    out.read("P_on", &ON_POWER.spec, &on);
    let mean = cycle_doubt(run, energy.clone() / hours.clone());
    let w2h = on.x().max(mean.x()) * energy.x();
    Some(Watched { hours, energy, mean, w2h })
}

/// By a log: the mean over whole cycles, so that no cycle is cut at the ends.
fn by_log(run: &Run, log: &LogRecord, out: &mut Outcome) -> Option<Watched> {
    let (on, mut off) = on_and_off(log, LOG.spec.key, out)?;
    // What is off at the end may be the load's own pause; only a longer one is the outlet's end.
    let pause_s = log.cycles.map_or(0.0, |c| c.period_s - c.on_s);
    let dead = log.last.elapsed_s - off.elapsed_s > 1.5 * pause_s;
    if !dead {
        off = &log.last;
    }
    let s = delivered(run, &LOG, log, (on, off), out)?;
    let raw = s.energy.clone() / s.hours.clone();
    let mean = match log.cycles {
        Some(c) => {
            let over_all = log.between(on, off);
            let read = 3600.0 * over_all.energy_wh / over_all.covered_s;
            let whole = raw.scaled(c.mean_w / read);
            let words = format!(
                "mean over {} whole cycles of {:.0} min, on {:.0} % of the time",
                c.whole,
                c.period_s / 60.0,
                100.0 * c.on_s / c.period_s
            );
            out.step("P", &words, "W", &whole);
            out.step(
                "P_on",
                "usual power while on, by the log",
                "W",
                &Uncertain::<Power>::exact(c.running_w),
            );
            out.step(
                "P_start",
                "usual highest reading of a start; a log is too slow for the true one",
                "W",
                &Uncertain::<Power>::exact(c.peak_w),
            );
            match c.defrosts {
                Some(d) => thawed(run, &c, &d, whole, out),
                None => whole,
            }
        }
        None => raw,
    };
    let hours = match dead && pause_s > 0.0 {
        // It ended somewhere in a pause.
        true => (s.hours + Uncertain::exact(pause_s / 7200.0)).with(
            Influence::test(run.id(), Effect::Cycling, ""),
            pause_s / 7200.0 / 3f64.sqrt(),
            Shape::Rectangular,
            f64::INFINITY,
        ),
        false => s.hours,
    };
    Some(Watched { hours, energy: s.energy, mean, w2h: s.w2h })
}

/// Says how the load defrosts, and doubts the mean by half a defrost at each end of the time watched: what it takes beyond
/// the mean of the rest, as [`cycle_doubt`] takes a cycle.
fn thawed(
    run: &Run,
    c: &Cycling,
    d: &Defrosts,
    mean: Uncertain<Power>,
    out: &mut Outcome,
) -> Uncertain<Power> {
    let (times, long_h) = (f64::from(d.times), d.length_s / 3600.0);
    let watched_h = f64::from(c.whole) * c.period_s / 3600.0;
    let took_wh = times * d.mean_w * long_h;
    let rest_w = (c.mean_w * watched_h - took_wh) / (watched_h - times * long_h);
    out.step(
        "P_defrost",
        &format!("mean power of a defrost, {:.0} min, by the log", d.length_s / 60.0),
        "W",
        &Uncertain::<Power>::exact(d.mean_w),
    );
    let every = d.every_s.map_or(String::new(), |s| format!(", every {:.1} h", s / 3600.0));
    let often = if d.times == 1 { "once".into() } else { format!("{} times", d.times) };
    let share = 100.0 * took_wh / (c.mean_w * watched_h);
    out.findings.push(Finding::note(
        "defrosts",
        LOG.spec.key,
        format!(
            "it defrosts {often} in {watched_h:.1} h of whole cycles{every}: {:.0} min at {:.0} W, {share:.0} % of the energy",
            d.length_s / 60.0,
            d.mean_w
        ),
        "a time between two defrosts would show a lower mean; a day or longer holds its share of them",
    ));
    // A defrost outside the whole cycles, or one that fills them, says nothing about the rest.
    let beyond_wh = (d.mean_w - rest_w) * long_h;
    if !(rest_w > 0.0 && beyond_wh.is_finite() && beyond_wh > 0.0) {
        return mean;
    }
    let u = beyond_wh / watched_h / 6f64.sqrt();
    mean.with(Influence::test(run.id(), Effect::Cycling, ""), u, Shape::Triangular, f64::INFINITY)
}

/// Half a cycle cut at each end, when the starts were counted.
fn cycle_doubt(run: &Run, mean: Uncertain<Power>) -> Uncertain<Power> {
    let Some(starts) = run.get(&STARTS).filter(|n| *n > 0) else { return mean };
    let u = mean.x() / (starts as f64) / 6f64.sqrt();
    mean.with(Influence::test(run.id(), Effect::Cycling, ""), u, Shape::Triangular, f64::INFINITY)
}
