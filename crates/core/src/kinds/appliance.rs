//! Running one appliance: did it, and how long.
//!
//! Formula: t = end − start; n of N starts.
//! Uncertainty: the clock; for starts the exact bound of the failure rate.
//! Does not tell: another appliance of the same name.
use crate::discharge::{elapsed, timer_check};
use crate::finding::Finding;
use crate::kind::{Example, Kind, Outcome, Run, Spec, Trials};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Ratio, Time};
use crate::questions::{AMBIENT, CAUSE, ELAPSED, END, LOAD, START, START_STATE};
use crate::reading::Field;
use crate::uncertain::Uncertain;

/// The kind.
pub struct Appliance;

static RAN: Measurand<Time> = Measurand::new("appliance-runtime", "Ran an appliance", "h", Better::More)
    .formula("t = end − start")
    .varies();
static STARTED: Measurand<Ratio> =
    Measurand::new("starts", "Started an appliance", "%", Better::More).formula("starts of tries").counted();

static POWER: Field<Uncertain<Power>> = Field::quantity("power", "power shown", "W")
    .optional()
    .ask("What power does the meter show while it runs?", "");
static TRIES: Field<u64> = Field::count("tries", "tries")
    .ask("How many times did you switch it on?", "Once is an answer, five are better.")
    .at_end();
static RAN_TIMES: Field<u64> =
    Field::count("ran", "times it ran").ask("How many times did it run?", "").at_end();

static SPEC: Spec = Spec {
    id: "appliance",
    revision: 2,
    title: "Running an appliance",
    question: "Will it run this one?",
    method: &[
        "Plug the appliance in through the meter. Switch it on five times, with a pause between.",
        "Note how often it ran. Then let it run until it is done or the outlet goes off; note why.",
    ],
    uncertainty: "The clock; and for starts, five of five still leave 45 % failures open.",
    does_not_tell: "Another appliance of the same name. Nothing about devices that keep somebody alive.",
    cautions: &[
        "Tools clamped, pumps never dry, kettles filled, heaters in clear space.",
        "Never with a person depending on the appliance.",
    ],
    attended: true,
    minutes: 60,
    fields: &[
        &START_STATE.spec,
        &AMBIENT.spec,
        &LOAD.spec,
        &START.spec,
        &POWER.spec,
        &END.spec,
        &ELAPSED.spec,
        &CAUSE.spec,
        &TRIES.spec,
        &RAN_TIMES.spec,
    ],
    axes: &[],
    results: &[&RAN.spec, &STARTED.spec],
};

impl Kind for Appliance {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let name = run.get(&LOAD).map_or_else(|| "not named".to_string(), |l| l.name);
        out.condition.insert("appliance".into(), name.clone());
        let (tries, ran) = (run.get(&TRIES)?, run.get(&RAN_TIMES)?);
        if ran > tries || tries == 0 {
            let text = format!("{ran} of {tries} tries ran");
            out.findings.push(Finding::gap(
                "trials-do-not-add-up",
                RAN_TIMES.spec.key,
                text,
                "enter how many tries there were in all",
            ));
            return None;
        }
        let condition = out.condition.clone();
        out.trials.push(Trials {
            result: &STARTED.spec,
            condition,
            values: Vec::new(),
            seen: Some((tries, tries - ran)),
        });
        out.put(&STARTED, Uncertain::exact(ran as f64 / tries as f64));
        let time = elapsed(run, &START, &END, out)?;
        if !timer_check(run, time.x(), out) {
            return None;
        }
        out.step("t", "time it ran", "h", &time);
        let words = crate::shown::duration_words(time.x());
        match run.get(&CAUSE)?.0 {
            "empty" if run.get(&START_STATE).is_some_and(|s| s.0 != "not-full") => out.put(&RAN, time),
            "low-load" => out.findings.push(Finding::note(
                "switched-off-low-load",
                CAUSE.spec.key,
                format!("the outlet switched itself off after {words} because {name} draws too little"),
                "say so on the page: it is the first thing a buyer of this load must know",
            )),
            _ => (),
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&START_STATE.spec, "full-rested")
            .says(&LOAD.spec, "fridge")
            .says(&START.spec, "09:00")
            .reads(&POWER.spec, "85 W", "meter")
            .says(&END.spec, "19:30")
            .says(&CAUSE.spec, "empty")
            .says(&TRIES.spec, "5")
            .says(&RAN_TIMES.spec, "5")
    }
}
