//! Overload staircase: how long it bears more than it is rated for.
//!
//! Formula: t at each step of load, from switching on to the trip.
//! Uncertainty: the clock, or the video's frames.
//! Does not tell: what a motor does in its first tenth of a second.
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Time};
use crate::reading::{Field, Many};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence};

/// The kind.
pub struct OverloadStaircase;

static BORNE: Measurand<Time> = Measurand::new("overload-time", "Overload borne", "s", Better::More)
    .formula("t from switching on to the trip");
static STEP: Axis =
    Axis { key: "overload", label: "overload", values: &["105 %", "115 %", "130 %", "150 %", "200 %"] };
static LEVELS: Field<Many<Power>> = Field::list("levels", "load at each step", "W")
    .ask("What load did each step have?", "Measured watts, smallest first, spaces between: 1210 1330 1500");
static TIMES: Field<Many<Time>> = Field::list("times", "time until it tripped", "s")
    .ask(
        "After how many seconds did each step trip?",
        "In the same order. For one that did not trip, type the time you waited, 600 s or more.",
    )
    .at_end();

/// From this time on a step counts as borne for good, in h.
const BORNE_FROM_H: f64 = 600.0 / 3600.0;
/// Reading a stopwatch by hand, ± in h (common practice: a third of a second).
const HAND_H: f64 = 0.3 / 3600.0;

static SPEC: Spec = Spec {
    id: "overload-staircase",
    revision: 1,
    title: "Overload staircase",
    question: "How much more than stated does it bear, and for how long?",
    method: &[
        "Start each step cool: half an hour of rest between them.",
        "Resistive load of 105, 115, 130, 150, 200 % of the stated power, one after the other.",
        "Film the display; time from switching on to the trip. Stop waiting after ten minutes.",
    ],
    uncertainty: "A hand on a stopwatch is good for a third of a second.",
    does_not_tell: "Whether it starts a pump: a motor's first tenth of a second is another test.",
    cautions: &[
        "Stay with it. Resistive loads only, clear space, nothing that burns within a metre.",
        "Never above the rating of cord, plug or outlet, whatever the station would bear.",
        "Never short the outlet, never defeat a protection.",
    ],
    attended: true,
    minutes: 150,
    fields: &[&LEVELS.spec, &TIMES.spec],
    axes: &[&STEP],
    results: &[&BORNE.spec],
};

impl Kind for OverloadStaircase {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let (levels, times) = (run.get(&LEVELS)?, run.get(&TIMES)?);
        if levels.len() != times.len() {
            out.findings.push(Finding::gap(
                "lists-differ",
                TIMES.spec.key,
                format!("{} loads and {} times", levels.len(), times.len()),
                "type one time for each load, in the same order",
            ));
            return None;
        }
        let rated = run.rated_w()?;
        for (i, (level, time)) in levels.iter().zip(times).enumerate() {
            let share = level.x() / rated * 100.0;
            let near = STEP
                .values
                .iter()
                .find(|v| v.trim_end_matches(" %").parse::<f64>().is_ok_and(|x| (x - share).abs() <= 3.0));
            out.on(&STEP, near.map_or_else(|| format!("{share:.0} %"), |v| (*v).into()));
            if time.x() >= BORNE_FROM_H {
                out.findings.push(Finding::note(
                    "overload-borne",
                    LEVELS.spec.key,
                    format!("{share:.0} % did not trip within {}", crate::shown::duration_words(time.x())),
                    "the time printed is how long it was watched",
                ));
            }
            let name = format!("{}/times/{i}", run.id());
            let hand = Influence::test(&name, Effect::Clock, "");
            out.put(&BORNE, time.with(hand, HAND_H / 3f64.sqrt(), Shape::Rectangular, f64::INFINITY));
        }
        out.condition.remove(STEP.key);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .reads(&LEVELS.spec, "1050 1150 1300 1500", "meter")
            .says(&TIMES.spec, "600 62 9.5 2.1")
    }
}
