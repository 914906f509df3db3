//! Sustained output: the power it holds until it is empty.
//!
//! Formula: P as read when warm; held when the battery ended it, not held when it tripped or gave less.
//! Uncertainty: accuracy of the meter at that power.
//! Does not tell: how long it lives so; another room temperature.
use crate::discharge::elapsed;
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Time};
use crate::questions::{AMBIENT, END, LOAD, START, START_STATE};
use crate::reading::{Field, Pick};
use crate::uncertain::Uncertain;

/// The kind.
pub struct SustainedOutput;

static HELD: Measurand<Power> = Measurand::new("sustained-output", "Output held to empty", "W", Better::More)
    .formula("P as read when warm")
    .at_least();
static MINUTES: Measurand<Time> = Measurand::new("time-held", "Time until it gave up", "min", Better::More)
    .formula("t = end − start")
    .varies();

static STARTED: Axis = Axis { key: "start", label: "start", values: &["cold", "warm"] };
static STATE: Field<Pick> = Field::choice(
    "temperature_state",
    "cold or warm start",
    &[
        Choice { key: "cold", label: "cold: at room temperature inside" },
        Choice { key: "warm", label: "warm: within ten minutes of a full-power run" },
    ],
)
.ask("Does it start cold or warm?", "Warm means within ten minutes after another run at full power.");
static READ: Field<Uncertain<Power>> = Field::quantity("power", "power shown when warm", "W")
    .ask("What power does the meter show?", "After five minutes, when the heater is warm.");
static ENDED: Field<Pick> = Field::choice(
    "cause",
    "why it ended",
    &[
        Choice { key: "empty", label: "the battery was empty" },
        Choice { key: "trip", label: "it tripped: overload or heat" },
        Choice { key: "derated", label: "it went on with less power" },
        Choice { key: "stopped", label: "I stopped it" },
    ],
)
.ask("Why did it end?", "Battery empty means: it held the power to the end.")
.at_end();
static SPREAD: Field<Pick> = Field::choice(
    "spread",
    "outlets used",
    &[
        Choice { key: "all", label: "spread over all outlets, both legs" },
        Choice { key: "one", label: "all on one outlet or one leg" },
    ],
)
.optional()
.ask("Does the load hang on one outlet, or is it spread?", "Two legs of 120 V give half of the power each.");

static SPEC: Spec = Spec {
    id: "sustained-output",
    revision: 2,
    title: "Sustained output",
    question: "Does it hold the stated power until it is empty?",
    method: &[
        "Full, at room temperature inside. Load it with the stated continuous power, measured, not from a label.",
        "Leave it until the battery is empty or it gives up. Note power, time and what it said.",
        "If it gives up, find the largest power it holds: 80 % next.",
        "Repeat within ten minutes of a full-power run, for the warm start.",
    ],
    uncertainty: "Accuracy of the meter at that power; a load near the claim cannot tell, so load a little above it.",
    does_not_tell: "How it does in a warmer room, or in a cupboard.",
    cautions: &[
        "Stay with it. Resistive loads only, each plugged in directly, a metre of clear space.",
        "Stay within the rating of outlets and cords; feel the plugs after 10 and 30 minutes.",
        "Stop at smell, discolouration or a plug too hot to touch.",
    ],
    attended: true,
    minutes: 60,
    fields: &[
        &START_STATE.spec,
        &STATE.spec,
        &AMBIENT.spec,
        &SPREAD.spec,
        &LOAD.spec,
        &START.spec,
        &READ.spec,
        &END.spec,
        &ENDED.spec,
    ],
    axes: &[&STARTED],
    results: &[&HELD.spec, &MINUTES.spec],
};

impl Kind for SustainedOutput {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&STARTED, run.get(&STATE)?.0);
        if run.get(&SPREAD).is_some_and(|s| s.0 == "one") {
            out.condition.insert("outlets".into(), "one".into());
        }
        let power = run.get(&READ)?;
        out.read("P", &READ.spec, &power);
        let time = elapsed(run, &START, &END, out)?;
        out.step("t", "time from load on to the end", "min", &time);
        let words = crate::shown::duration_words(time.x());
        match run.get(&ENDED)?.0 {
            "empty" if run.get(&START_STATE)?.0 == "not-full" => out.findings.push(Finding::gap(
                "start-not-full",
                START_STATE.spec.key,
                format!("it was not full at the start and empty after {words}"),
                "whether it holds to empty is known only from full; a trip would have counted",
            )),
            "empty" => out.put(&HELD, power),
            "stopped" => out.findings.push(Finding::gap(
                "stopped-by-hand",
                ENDED.spec.key,
                format!("stopped after {words}, so it is not known whether it holds"),
                "let it run until it is empty",
            )),
            how => {
                let verb = if how == "trip" { "it tripped" } else { "it gave less" };
                out.findings.push(Finding::note(
                    "output-not-held",
                    ENDED.spec.key,
                    format!("{verb} after {words} at {:.0} W", power.x()),
                    "find the largest power it holds to empty",
                ));
                out.fail(&HELD, power, format!("{verb} after {words}"));
                out.put(&MINUTES, time);
            }
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&START_STATE.spec, "full-rested")
            .says(&STATE.spec, "cold")
            .says(&LOAD.spec, "heater")
            .says(&START.spec, "14:00")
            .reads(&READ.spec, "1012 W", "meter")
            .says(&END.spec, "14:52")
            .says(&ENDED.spec, "empty")
    }
}
