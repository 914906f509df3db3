//! Switchover: how long the outlet is dead when the mains go away.
//!
//! Formula: k of n trials beyond the claim; the median for comparison; survival as seen.
//! Uncertainty: each trial has that of its instrument; the failure rate its exact one-sided 95 % bound.
//! Does not tell: a mean. One lucky trial says next to nothing.
use crate::captured;
use crate::field::{Choice, Holds};
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec, Trials, claimed};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Dim, Ratio, Time};
use crate::reading::{Captured, Field, Many, Pick};
use crate::uncertain::{Uncertain, Value};
use crate::wave::batch::batch;

/// The kind.
pub struct Switchover;

static TIME: Measurand<Time> = Measurand::new("switchover", "Switches over", "ms", Better::Less)
    .formula("each of n trials; median for comparison")
    .counted();
static KEPT: Measurand<Ratio> = Measurand::new("rides-through", "Computer kept running", "%", Better::More)
    .formula("trials survived of n")
    .counted();

static LOAD: Axis = Axis { key: "load", label: "load", values: &["half", "small", "full"] };
static LOAD_FIELD: Field<Pick> = Field::choice(
    "load",
    "load at the switchover",
    &[
        Choice { key: "half", label: "about half of its power" },
        Choice { key: "small", label: "a computer or a lamp" },
        Choice { key: "full", label: "nearly its full power" },
    ],
)
.ask("What hangs on the outlet?", "Repeat with another load as a test of its own.");
static CHARGING: Field<Pick> = Field::choice(
    "charging",
    "charging meanwhile",
    &[Choice { key: "no", label: "no, it was full" }, Choice { key: "yes", label: "yes, it was charging" }],
)
.optional()
.ask("Was it still charging when the mains went away?", "Some take longer then.");
static TIMES: Field<Many<Time>> = Field::list("times", "dead times", "ms")
    .optional()
    .ask(
        "How long was the outlet dead, each time?",
        "From the oscilloscope, spaces between: 9.1 8.7 12.4. Twenty trials say something, five little.",
    )
    .at_end();
static CAPTURES: Field<Captured> = Field::captures("captures", "captures", Holds::Interruption)
    .optional()
    .ask(
        "Have you captures of it?",
        "All files of the oscilloscope at once, one for each cut. They take the place of typed times.",
    )
    .at_end();
static TRIALS: Field<u64> = Field::count("trials", "trials with a computer")
    .optional()
    .ask("How many times did you pull the plug with a computer on it?", "");
static FAILED: Field<u64> = Field::count("failed", "times it went off")
    .optional()
    .ask("How many times did the computer go off?", "")
    .at_end();

static SPEC: Spec = Spec {
    id: "switchover",
    revision: 2,
    title: "Switchover to battery",
    question: "Does my computer survive when the mains go away?",
    method: &[
        "Station on the mains, full, load on its outlet, oscilloscope on the outlet through a differential probe.",
        "Cut the mains before the station with a switched strip, at random moments, twenty times.",
        "Time from the last point inside the sine to the first point inside for good; all captures sent at once are timed so.",
        "Without an oscilloscope: a desktop computer, twenty times, and count how often it goes off.",
    ],
    uncertainty: "Trials are counted against the claim; 0 of 20 leaves up to 14 % failures open, 0 of 5 up to 45 %.",
    does_not_tell: "A computer that kept running says nothing in milliseconds; milliseconds say little of another computer.",
    cautions: &[
        "Oscilloscope on an outlet only through a differential probe; never lift its earth.",
        "Cut the mains with a switch made for it, not by pulling a plug under load.",
        "Nothing that must not go off: no medical device, no machine that keeps somebody safe.",
    ],
    attended: true,
    minutes: 60,
    fields: &[&LOAD_FIELD.spec, &CHARGING.spec, &CAPTURES.spec, &TIMES.spec, &TRIALS.spec, &FAILED.spec],
    axes: &[&LOAD],
    results: &[&TIME.spec, &KEPT.spec],
};

impl Kind for Switchover {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&LOAD, run.get(&LOAD_FIELD)?.0);
        if run.get(&CHARGING).is_some_and(|c| c.0 == "yes") {
            out.condition.insert("charging".into(), "yes".into());
        }
        let typed = run.get(&TIMES).filter(|t| !t.is_empty());
        let claim_ms = run.model().and_then(|m| claimed(run.desk.notebook, m, TIME.spec.key, Dim::Time));
        let claim_ms = claim_ms.map(|h| h * MS_H);
        let captured = captured::dead_times(run, &CAPTURES, claim_ms, out);
        let with_captures = captured.is_some();
        let captured = captured.filter(|t| !t.is_empty());
        if let (Some(typed), Some(captured)) = (&typed, &captured) {
            set_aside(typed, captured, out);
        }
        let times = captured.or(typed);
        let seen = run.get(&TRIALS).zip(run.get(&FAILED));
        if with_captures && times.is_none() && seen.is_none() {
            // What the captures lack is said of each.
            return None;
        }
        if times.is_none() && seen.is_none() {
            out.findings.push(Finding::gap(
                "no-trials",
                TIMES.spec.key,
                "neither dead times nor trials with a computer are entered".to_string(),
                "enter the times in milliseconds, or how many trials and how often it went off",
            ));
            return None;
        }
        if let Some(times) = times {
            measured(times, claim_ms, out);
        }
        if let Some((n, failed)) = seen {
            if failed > n || n == 0 {
                let text = format!("{failed} of {n} trials failed");
                out.findings.push(Finding::gap(
                    "trials-do-not-add-up",
                    FAILED.spec.key,
                    text,
                    "enter how many trials there were in all",
                ));
                return None;
            }
            let condition = out.condition.clone();
            out.trials.push(Trials {
                result: &KEPT.spec,
                condition,
                values: Vec::new(),
                seen: Some((n, failed)),
            });
            out.put(&KEPT, Uncertain::exact((n - failed) as f64 / n as f64));
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&LOAD_FIELD.spec, "half")
            .reads(&TIMES.spec, "9.1 8.7 12.4 7.9 10.2 9.6", "scope")
            .says(&TRIALS.spec, "20")
            .says(&FAILED.spec, "0")
    }
}

/// Longest dead time that is still a switchover, in h (common practice: 200 ms).
const LONGEST_H: f64 = 0.2 / 3600.0;

/// Milliseconds in an hour.
const MS_H: f64 = 3.6e6;
/// Medians by hand and by captures may differ by this share (common practice: a cursor set by eye).
const BY_HAND_OFF: f64 = 0.2;

/// Captures count; what was typed beside them checks them.
fn set_aside(typed: &Many<Time>, captured: &Many<Time>, out: &mut Outcome) {
    let (by_hand, by_file) = (median(typed).x() * MS_H, median(captured).x() * MS_H);
    if (by_hand - by_file).abs() > BY_HAND_OFF * by_file {
        out.findings.push(Finding::doubt(
            "times-against-captures",
            TIMES.spec.key,
            format!("the times typed have a median of {by_hand:.1} ms, the captures one of {by_file:.1} ms"),
            "the captures are taken; are they of this test, and all of them?",
        ));
    }
}

fn median(times: &Many<Time>) -> Uncertain<Time> {
    let mut sorted = times.clone();
    sorted.sort_by(|a, b| a.x().total_cmp(&b.x()));
    let middle = sorted.len() / 2;
    match sorted.len() % 2 {
        1 => sorted[middle].clone(),
        _ => (sorted[middle - 1].clone() + sorted[middle].clone()).scaled(0.5),
    }
}

fn measured(times: Many<Time>, claim_ms: Option<f64>, out: &mut Outcome) {
    if times.iter().any(|t| t.x() <= 0.0 || t.x() > LONGEST_H) {
        out.findings.push(Finding::doubt(
            "switchover-out-of-range",
            TIMES.spec.key,
            "a dead time of 0 or of more than 200 ms is no switchover".to_string(),
            "look at the capture and at the unit: milliseconds are asked",
        ));
    }
    let median = median(&times);
    let longest = times.iter().max_by(|a, b| a.x().total_cmp(&b.x()));
    if let Some(longest) = longest.filter(|_| times.len() > 1) {
        out.step("t_max", "longest of the trials", "ms", longest);
    }
    let each: Vec<f64> = times.iter().map(|t| t.x() * MS_H).collect();
    out.batch = batch(&each, claim_ms);
    let values: Vec<Value> = times.into_iter().map(Uncertain::value).collect();
    let condition = out.condition.clone();
    out.step("t", "median of the trials", "ms", &median);
    out.trials.push(Trials { result: &TIME.spec, condition, values, seen: None });
    out.put(&TIME, median);
}
