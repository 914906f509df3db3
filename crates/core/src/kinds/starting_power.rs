//! Starting power: the push it gives for half a second, and the motors it starts.
//!
//! Formula: P = largest step held 0.5 s; n of N starts.
//! Uncertainty: the capture; the true limit lies above the largest step held. Starts: exact bound of the rate.
//! Does not tell: a motor's start from a resistive step, nor the other way round.
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec, Trials};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Ratio};
use crate::questions::{AMBIENT, LOAD};
use crate::reading::{Field, Many, Pick};
use crate::uncertain::Uncertain;

/// The kind.
pub struct StartingPower;

static STARTING: Measurand<Power> =
    Measurand::new("starting-power", "Starting power held 0.5 s", "W", Better::More)
        .formula("P = largest step held 0.5 s")
        .at_least();
static STARTS: Measurand<Ratio> =
    Measurand::new("starts-motor", "Started a motor", "%", Better::More).formula("starts of tries").counted();

static HOW: Axis = Axis { key: "how", label: "how", values: &["resistive", "motor"] };
static HOW_FIELD: Field<Pick> = Field::choice(
    "how",
    "how it was tried",
    &[
        Choice { key: "resistive", label: "a second heater or lamps switched on top" },
        Choice { key: "motor", label: "a real motor: fridge, pump, saw" },
    ],
)
.ask("What was switched on?", "The two do not answer for each other.");
static SEEN_BY: Field<Pick> = Field::choice(
    "seen_by",
    "how the peak was seen",
    &[
        Choice { key: "capture", label: "oscilloscope, triggered" },
        Choice { key: "inrush", label: "clamp with inrush capture" },
        Choice { key: "slow", label: "plug meter or a display once a second" },
        Choice { key: "not-seen", label: "not measured, only whether it started" },
    ],
)
.ask(
    "What saw the peak?",
    "A meter that samples once a second cannot see a tenth of a second; a peak hold reads too much.",
);
static HELD: Field<Many<Power>> = Field::list("held", "steps held 0.5 s", "W")
    .optional()
    .ask("Which steps did it hold for half a second?", "Watts in all, from the capture, spaces between.");
static NOT_HELD: Field<Many<Power>> = Field::list("not_held", "steps not held", "W")
    .optional()
    .ask("Which steps did it not hold?", "It tripped, or the voltage collapsed.");
static TRIES: Field<u64> =
    Field::count("tries", "tries").optional().ask("How many times did you start the motor?", "Five or more.");
static STARTED: Field<u64> =
    Field::count("started", "times it started").optional().ask("How many times did it start?", "").at_end();
static LOWEST: Field<Uncertain<Ratio>> =
    Field::quantity("lowest_charge", "lowest charge at which it started", "%")
        .optional()
        .ask("At what lowest charge did it still start?", "As shown. Try full and at 20 %.")
        .at_end();

static SPEC: Spec = Spec {
    id: "starting-power",
    revision: 1,
    title: "Starting power",
    question: "Does it start my pump, saw or fridge?",
    method: &[
        "Resistive: a base load runs; switch a second one on top for half a second. Larger each time, half a minute between.",
        "Note the largest step it held and the smallest it did not, in watts in all, from the capture.",
        "Motor: start a real one five times when full and five times at 20 % charge; count the starts.",
    ],
    uncertainty: "The limit lies between the last step held and the first not held; what is printed was held. Five starts of five leave up to 45 % failures open.",
    does_not_tell: "Another motor. A resistive step says little of a motor, which asks for more and for longer.",
    cautions: &[
        "Stay with it. Tools clamped with nobody near the blade, pumps never dry.",
        "Never above the rating of cord, plug and outlet; never short the outlet, never defeat a protection.",
        "Oscilloscope on an outlet only through a differential probe; never lift its earth.",
    ],
    attended: true,
    minutes: 60,
    fields: &[
        &HOW_FIELD.spec,
        &SEEN_BY.spec,
        &AMBIENT.spec,
        &HELD.spec,
        &NOT_HELD.spec,
        &LOAD.spec,
        &TRIES.spec,
        &STARTED.spec,
        &LOWEST.spec,
    ],
    axes: &[&HOW],
    results: &[&STARTING.spec, &STARTS.spec],
};

impl Kind for StartingPower {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let how = run.get(&HOW_FIELD)?.0;
        out.on(&HOW, how);
        match how {
            "resistive" => steps(run, out),
            _ => motor(run, out),
        }
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&HOW_FIELD.spec, "resistive")
            .says(&SEEN_BY.spec, "capture")
            .reads(&HELD.spec, "1500 1800 2000", "capture")
            .reads(&NOT_HELD.spec, "2150", "capture")
    }
}

fn steps(run: &Run, out: &mut Outcome) -> Option<()> {
    if !matches!(run.get(&SEEN_BY)?.0, "capture" | "inrush") {
        out.findings.push(Finding::gap(
            "peak-not-seen",
            SEEN_BY.spec.key,
            "what samples once a second cannot see half a second".to_string(),
            "repeat with an oscilloscope or a clamp with inrush capture; or enter only how often a motor started",
        ));
        return None;
    }
    let by_size = |a: &Uncertain<Power>, b: &Uncertain<Power>| a.x().total_cmp(&b.x());
    let held = run.get(&HELD).and_then(|l| l.into_iter().max_by(by_size));
    let failed = run.get(&NOT_HELD).and_then(|l| l.into_iter().min_by(by_size));
    if held.is_none() && failed.is_none() {
        out.findings.push(Finding::gap(
            "no-steps",
            HELD.spec.key,
            "no step is entered, neither one that was held nor one that was not".to_string(),
            "enter the steps that were tried",
        ));
        return None;
    }
    if let (Some(h), Some(f)) = (&held, &failed)
        && h.x() >= f.x()
    {
        out.findings.push(Finding::doubt(
            "steps-contradict",
            NOT_HELD.spec.key,
            format!("{:.0} W were held, yet {:.0} W were not", h.x(), f.x()),
            "look at both lists; if true, note what differed: charge, warmth, the moment in the wave",
        ));
    }
    if let Some(f) = failed {
        out.step("P_not", "smallest step not held", "W", &f);
        out.fail(&STARTING, f, "not held for half a second".into());
    }
    if let Some(h) = held {
        out.step("P", "largest step held 0.5 s", "W", &h);
        out.put(&STARTING, h);
    }
    Some(())
}

fn motor(run: &Run, out: &mut Outcome) -> Option<()> {
    let name = run.get(&LOAD).map_or_else(|| "a motor not named".to_string(), |l| l.name);
    out.condition.insert("appliance".into(), name.clone());
    let (Some(tries), Some(started)) = (run.get(&TRIES), run.get(&STARTED)) else {
        out.findings.push(Finding::gap(
            "no-trials",
            TRIES.spec.key,
            "how often it was tried and how often it started is missing".to_string(),
            "enter both counts",
        ));
        return None;
    };
    if started > tries || tries == 0 {
        out.findings.push(Finding::gap(
            "trials-do-not-add-up",
            STARTED.spec.key,
            format!("{started} of {tries} tries started"),
            "enter how many tries there were in all",
        ));
        return None;
    }
    let (condition, seen) = (out.condition.clone(), Some((tries, tries - started)));
    out.trials.push(Trials { result: &STARTS.spec, condition, values: Vec::new(), seen });
    out.put(&STARTS, Uncertain::exact(started as f64 / tries as f64));
    let lowest = run
        .get(&LOWEST)
        .map_or_else(String::new, |c| format!("; at the lowest from {:.0} % charge shown", c.x() * 100.0));
    out.say("starts-motor", "motor start", format!("started {name} in {started} of {tries} tries{lowest}"));
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn the_largest_step_held_is_printed_and_the_smallest_not_held_speaks_against() {
        let out = outcome(&StartingPower, &[]);
        assert_eq!(value(&out, "starting-power").x, 2000.0);
        // ±3 % of 2000 W, any value alike: 60/√3 = 34.64 W; a step of 1 W adds 0.29 W.
        assert!((value(&out, "starting-power").u() - 34.64).abs() < 0.01);
        assert_eq!(out.failed.iter().map(|(f, _)| f.value.x).collect::<Vec<_>>(), [2150.0]);
    }
    #[test]
    fn a_slow_meter_gives_no_peak() {
        let out = outcome(&StartingPower, &[("seen_by", "slow")]);
        assert!(out.results.is_empty() && codes(&out).contains(&"peak-not-seen"));
    }
    #[test]
    fn motor_starts_are_counted() {
        let motor = [
            ("how", "motor"),
            ("seen_by", "not-seen"),
            ("load", "fridge"),
            ("tries", "10"),
            ("started", "9"),
            ("lowest_charge", "20 %"),
        ];
        let out = outcome(&StartingPower, &motor);
        assert_eq!(out.trials[0].seen, Some((10, 1)));
        assert!(
            out.behaviours[0].text.starts_with("started fridge in 9 of 10 tries; at the lowest from 20 %")
        );
        assert!(out.results.iter().all(|r| r.result.key != "starting-power"));
    }
}
