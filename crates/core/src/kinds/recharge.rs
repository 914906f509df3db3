//! Recharge from the mains: how long, and how much the wall gives.
//!
//! Formula: t = reached − start; E_in = R₂ − R₁ at the wall.
//! Uncertainty: reading the clock at the moment the display changes; the meter for the energy.
//! Does not tell: what fast charging does to the cells in years.
use crate::discharge::{elapsed, step_check};
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Energy, Time};
use crate::questions::{AMBIENT, COUNTER_END, COUNTER_START};
use crate::reading::{Field, Pick};
use crate::stamp::Stamp;
use crate::uncertain::Uncertain;

/// The kind.
pub struct Recharge;

static TO_80: Measurand<Time> = Measurand::new("time-to-80", "Charge to 80 % shown", "min", Better::Less)
    .formula("t = reached − start")
    .varies();
static TO_FULL: Measurand<Time> =
    Measurand::new("time-to-full", "Charge until it stops by itself", "min", Better::Less)
        .formula("t = stopped − start")
        .varies();
static WALL: Measurand<Energy> = Measurand::new("wall-energy", "Energy from the wall", "Wh", Better::Less)
    .formula("E_in = R₂ − R₁")
    .varies();

pub(super) static MODE: Axis =
    Axis { key: "mode", label: "mode", values: &["as delivered", "fast", "quiet"] };
static FROM: Axis = Axis { key: "from", label: "from", values: &["AC cut-off", "fully empty"] };
pub(super) static MODE_FIELD: Field<Pick> = Field::choice(
    "mode",
    "charging mode",
    &[
        Choice { key: "as delivered", label: "as delivered" },
        Choice { key: "fast", label: "the fastest it has" },
        Choice { key: "quiet", label: "quiet or slow" },
    ],
)
.ask("In which mode does it charge?", "The mode is part of the claim.");
static CIRCUIT: Field<Pick> = Field::choice(
    "circuit",
    "wall circuit",
    &[
        Choice { key: "ordinary", label: "an ordinary outlet" },
        Choice { key: "larger", label: "a larger circuit than ordinary (20 A, 240 V)" },
    ],
)
.optional()
.ask("Which wall circuit does it charge from?", "An ordinary outlet can be what limits it.");
static FROM_FIELD: Field<Pick> = Field::choice(
    "from",
    "empty in which sense",
    &[
        Choice { key: "AC cut-off", label: "the AC outlet had switched off" },
        Choice { key: "fully empty", label: "everything had switched off, the 12 V outlet too" },
    ],
)
.ask("How empty is it?", "Only a fully empty start brackets what the cells hold.");
static START: Field<Stamp> =
    Field::stamp("start", "charger plugged in").ask("When did you plug the charger in?", "");
static AT_80: Field<Stamp> = Field::stamp("at_80", "80 % shown")
    .optional()
    .ask("When did it first show 80 %?", "The minute the number changed.")
    .at_end();
static AT_FULL: Field<Stamp> = Field::stamp("at_full", "charger stopped")
    .optional()
    .ask(
        "When did the charger stop by itself?",
        "The wall power fell to a few watts and stayed there; 100 % shown is not enough.",
    )
    .at_end();

static SPEC: Spec = Spec {
    id: "recharge",
    revision: 2,
    title: "Recharge from the mains",
    question: "How long does it take to charge?",
    method: &[
        "Empty it first; note in which sense: AC outlet off, or everything off.",
        "Meter between wall and charger, counter reset. Note mode, wall voltage and what else hangs on the circuit.",
        "Note the minute it first shows 80 %, and the minute the charger stops by itself.",
        "Read the counter after it stopped.",
    ],
    uncertainty: "The minute it is read to; for the energy the accuracy of the meter.",
    does_not_tell: "What fast charging costs in years. 80 % shown need not be 80 % of the energy.",
    cautions: &[
        "Do not charge while asleep or away. Never below 0 °C a station that does not block it by itself.",
        "Charger straight into the wall outlet; nothing that burns within a metre.",
    ],
    attended: true,
    minutes: 120,
    fields: &[
        &MODE_FIELD.spec,
        &CIRCUIT.spec,
        &FROM_FIELD.spec,
        &AMBIENT.spec,
        &COUNTER_START.spec,
        &START.spec,
        &AT_80.spec,
        &AT_FULL.spec,
        &COUNTER_END.spec,
    ],
    axes: &[&MODE, &FROM],
    results: &[&TO_80.spec, &TO_FULL.spec, &WALL.spec],
};

impl Kind for Recharge {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&MODE, run.get(&MODE_FIELD)?.0);
        out.on(&FROM, run.get(&FROM_FIELD)?.0);
        if run.get(&CIRCUIT).is_some_and(|c| c.0 == "larger") {
            out.condition.insert("circuit".into(), "larger".into());
        }
        if run.get(&AT_80).is_some() {
            let t = elapsed(run, &START, &AT_80, out)?;
            out.step("t₈₀", "plugged in to 80 % shown", "min", &t);
            out.put(&TO_80, t);
        }
        if run.get(&AT_FULL).is_none() {
            out.findings.push(Finding::gap(
                "not-charged-full",
                AT_FULL.spec.key,
                "the charger was not seen to stop by itself".to_string(),
                "wait until the wall power falls to a few watts; without it there is no wall energy",
            ));
            return None;
        }
        let t = elapsed(run, &START, &AT_FULL, out)?;
        out.step("t", "plugged in to charger stopped", "min", &t);
        out.put(&TO_FULL, t);
        let (start, end) = (run.get(&COUNTER_START)?, run.get(&COUNTER_END)?);
        out.read("R₁", &COUNTER_START.spec, &start);
        out.read("R₂", &COUNTER_END.spec, &end);
        let reset = start.x() < end.x()
            && run.entry(&COUNTER_START).is_some_and(|e| e.text.bytes().all(|b| !(b'1'..=b'9').contains(&b)));
        let start = if reset { Uncertain::exact(0.0) } else { start };
        let energy = end.clone() - start;
        step_check(&COUNTER_END, &end, energy.x(), out);
        if energy.x() <= 0.0 {
            out.findings.push(Finding::gap(
                "counter-not-rising",
                COUNTER_END.spec.key,
                "the counter did not rise from start to end".to_string(),
                "look at both readings; a meter that lost its memory shows 0 again",
            ));
            return None;
        }
        out.put(&WALL, energy);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&MODE_FIELD.spec, "fast")
            .says(&FROM_FIELD.spec, "fully empty")
            .reads(&COUNTER_START.spec, "0", "meter")
            .says(&START.spec, "18:00")
            .says(&AT_80.spec, "18:55")
            .says(&AT_FULL.spec, "19:35")
            .reads(&COUNTER_END.spec, "1.120 kWh", "meter")
    }
}
