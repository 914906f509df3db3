//! A load that switches itself: fridge, freezer, blanket.
//!
//! Formula: P_mean = (R₂ − R₁)/t over the whole time; ∫P² dt = P_on·W for an on/off load.
//! Uncertainty: the meter, and how many whole cycles the time held.
//! Does not tell: another fridge, another room, another door habit.
use crate::discharge::{counted, elapsed, timer_check};
use crate::finding::Finding;
use crate::kind::{DrainRow, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Time};
use crate::questions::{AMBIENT, CAUSE, COUNTER_END, COUNTER_START, ELAPSED, END, LOAD, START, START_STATE};
use crate::reading::Field;
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Uncertain};

/// The kind.
pub struct CyclingLoad;

static RAN: Measurand<Time> =
    Measurand::new("cycling-runtime", "Ran a fridge", "h", Better::More).formula("t = end − start").varies();
static MEAN: Measurand<Power> =
    Measurand::new("cycling-mean", "Mean power of the fridge", "W", Better::Less).formula("P = (R₂ − R₁)/t");

static ON_POWER: Field<Uncertain<Power>> = Field::quantity("on_power", "power while on", "W")
    .ask("What does it draw while its motor runs?", "Wait for it to start; ten seconds later.");
static STARTS: Field<u64> = Field::count("starts", "starts counted")
    .optional()
    .ask("How many times did it start?", "Leave empty if nobody counted.")
    .at_end();

/// Below this a window is too short to know a fridge's mean, in h (common practice).
const WINDOW_H: f64 = 24.0;

static SPEC: Spec = Spec {
    id: "cycling-load",
    revision: 2,
    title: "A fridge, for real",
    question: "Does it run my fridge, and how long?",
    method: &[
        "Station full and rested. Fridge cold, filled, door shut as on any day.",
        "Run it through the meter until the outlet switches off, or for 24 hours at least.",
        "Read the counter, not the watts: a fridge is off most of the time.",
    ],
    uncertainty: "The meter; and cycles cut at the ends: one cycle in a day of forty is 2.5 %.",
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
        let hours = elapsed(run, &START, &END, out)?;
        out.step("t", "time watched", "h", &hours);
        let energy = counted(run, &COUNTER_START, &COUNTER_END, hours.x(), out)?;
        if !timer_check(run, hours.x(), out) {
            return None;
        }
        let on = run.get(&ON_POWER)?;
        out.read("P_on", &ON_POWER.spec, &on);
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
        let mean = cycle_doubt(run, energy.clone() / hours.clone());
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
            w2h: on.x().max(mean.x()) * doubted.x(),
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

/// Half a cycle cut at each end, when the starts were counted.
fn cycle_doubt(run: &Run, mean: Uncertain<Power>) -> Uncertain<Power> {
    let Some(starts) = run.get(&STARTS).filter(|n| *n > 0) else { return mean };
    let u = mean.x() / (starts as f64) / 6f64.sqrt();
    mean.with(Influence::test(run.id(), Effect::Cycling, ""), u, Shape::Triangular, f64::INFINITY)
}
