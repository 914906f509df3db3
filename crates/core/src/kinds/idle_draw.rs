//! Idle draw by the remainder method: what an outlet that is on and feeds nothing takes from the battery.
//!
//! Formula: a/b of the drain law a·H + b·W + c·S = 1; this test is the row that makes a visible.
//! Uncertainty: the reference discharge after the night, the run-to-run difference of two discharges, the hours.
//! Does not tell: the draw with all outlets off.
use crate::discharge::{Discharge, apart, discharge, load_off, load_on};
use crate::field::Choice;
use crate::finding::Finding;
use crate::instrument::Feeds;
use crate::kind::{Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Time};
use crate::questions::{
    AMBIENT, CAUSE, COUNTER_END, COUNTER_START, ELAPSED, END, LOAD, LOG, POWER, START, START_STATE,
};
use crate::reading::{Field, Pick};
use crate::stamp::Stamp;
use crate::uncertain::Uncertain;

/// The kind.
pub struct IdleDraw;

/// Idle draw, seen from the outlet: a few per cent below the battery-side figure.
pub static IDLE: Measurand<Power> = Measurand::new("idle-draw", "Idle draw, AC on", "W", Better::Less)
    .formula("P_idle = a/b, from a·H + b·W + c·S = 1");

static ON: Field<Stamp> = Field::stamp("on", "outlet on").ask(
    "When did you switch the outlet on, with nothing plugged in?",
    "Power saving must be off, or the outlet ends the night by itself.",
);
static METER_ON: Field<Pick> = Field::choice(
    "meter_meanwhile",
    "meter on the outlet meanwhile",
    &[
        Choice { key: "no", label: "no, it was plugged in for the discharge" },
        Choice { key: "yes", label: "yes, it hung there all the time" },
    ],
)
.ask("Did the meter hang on the outlet all that time?", "Its own draw counts then.");
static STILL_ON: Field<Pick> = Field::choice(
    "still_on",
    "outlet at the end of the waiting",
    &[Choice { key: "yes", label: "still on" }, Choice { key: "no", label: "it had switched itself off" }],
)
.ask("Is the outlet still on when the waiting ends?", "A lamp plugged in for a second tells.");

static SPEC: Spec = Spec {
    id: "idle-draw",
    revision: 2,
    title: "Idle draw",
    question: "What does it use while it is on and feeds nothing?",
    method: &[
        "Charge until the charger stops by itself, rest for 30 minutes.",
        "Switch the AC outlet on with nothing plugged in. Power saving off. Note the time.",
        "Look after five minutes and after an hour: is the outlet still on?",
        "Wait: 12 hours for a station of 1 kWh, 48 for 4 kWh.",
        "Then empty it as for usable energy at half load. What is missing went into the waiting.",
    ],
    uncertainty: "The difference of two discharges, so their run-to-run difference counts twice; longer waiting helps.",
    does_not_tell: "The draw with the outlets off. The figure is seen from the outlet, a few per cent below the battery's.",
    cautions: &["Waiting overnight: nothing that burns within a metre, smoke alarm on, way out free."],
    attended: false,
    minutes: 840,
    fields: &[
        &START_STATE.spec,
        &AMBIENT.spec,
        &ON.spec,
        &METER_ON.spec,
        &STILL_ON.spec,
        &LOAD.spec,
        &COUNTER_START.spec,
        &START.spec,
        &POWER.spec,
        &LOG.spec,
        &END.spec,
        &COUNTER_END.spec,
        &ELAPSED.spec,
        &CAUSE.spec,
    ],
    axes: &[],
    results: &[&IDLE.spec],
};

impl Kind for IdleDraw {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let saved = run.get(&STILL_ON)?.0 == "no" || run.get(&CAUSE).is_some_and(|c| c.0 == "low-load");
        if saved {
            out.findings.push(Finding::gap(
                "idle-ended-by-power-saving",
                STILL_ON.spec.key,
                "the outlet switched itself off because nothing was plugged in".to_string(),
                "switch power saving off and repeat; if it cannot be switched off, hang a lamp of 20 W on it instead",
            ));
            return None;
        }
        let idle = apart(run, (&ON, run.get(&ON)?), (&START, load_on(run)?), out)?;
        out.step("T", "time on with nothing plugged in", "h", &idle);
        let found = discharge(run, out)?;
        let w2h = found.square();
        let whole = Discharge {
            // What is to be said of these times has been said of the two pieces.
            hours: apart(run, (&ON, run.get(&ON)?), (&END, load_off(run)?), &mut Outcome::default())?,
            energy: found.energy.clone() + own_draw(run, idle.x())?,
            ..found
        };
        out.row = Some(whole.row(w2h));
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&START_STATE.spec, "full-rested")
            .says(&ON.spec, "2026-05-03 20:00")
            .says(&METER_ON.spec, "no")
            .says(&STILL_ON.spec, "yes")
            .reads(&COUNTER_START.spec, "0", "meter")
            .says(&START.spec, "2026-05-04 08:00")
            .reads(&POWER.spec, "500 W", "meter")
            .says(&END.spec, "2026-05-04 09:30")
            .reads(&COUNTER_END.spec, "750 Wh", "meter")
            .says(&CAUSE.spec, "empty")
    }
}

/// Energy the meter itself took while nothing else was plugged in. Its counter is read after the waiting, so what it
/// took meanwhile is in no reading, whether it shows its own draw or not.
fn own_draw(run: &Run, hours: f64) -> Option<Uncertain<crate::quantity::Energy>> {
    let hung = run.get(&METER_ON)?.0 == "yes";
    let read_on = run.entry(&LOG).or_else(|| run.entry(&COUNTER_END))?;
    let meter = run.desk.notebook.instrument(&read_on.instrument);
    let watts = meter.filter(|m| hung && m.feeds != Feeds::Elsewhere).map_or(0.0, |m| m.own_draw_w);
    Some(Uncertain::<Power>::exact(watts) * Uncertain::<Time>::exact(hours))
}
