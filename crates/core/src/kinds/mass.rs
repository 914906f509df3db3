//! Mass: what has to be carried.
//!
//! Formula: m as read on the scale.
//! Uncertainty: accuracy and step of the scale.
//! Does not tell: whether it can be carried well.
use crate::field::Choice;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::Mass as MassDim;
use crate::reading::{Field, Pick};
use crate::uncertain::Uncertain;

/// The kind.
pub struct Mass;

static WITH: Axis = Axis { key: "with", label: "weighed", values: &["alone", "with cables"] };
static PARTS: Field<Pick> = Field::choice(
    "with",
    "weighed",
    &[
        Choice { key: "alone", label: "the station alone" },
        Choice { key: "with cables", label: "with its cables" },
    ],
)
.ask("What stands on the scale?", "Claims often leave cables and wheels out.");
static READ: Field<Uncertain<MassDim>> = Field::quantity("mass", "scale reading", "kg")
    .ask("What does the scale show?", "Check the scale with a known mass first.");
static MASS: Measurand<MassDim> = Measurand::new("mass", "Mass", "kg", Better::Less).formula("m as read");

static SPEC: Spec = Spec {
    id: "mass",
    revision: 1,
    title: "Mass",
    question: "How heavy is it really?",
    method: &["Check the scale with a known mass.", "Weigh the station alone, then with its cables."],
    uncertainty: "Accuracy and step of the scale.",
    does_not_tell: "Whether one person can carry it up the stairs.",
    cautions: &["Above 25 kg lift with two."],
    attended: true,
    minutes: 10,
    fields: &[&PARTS.spec, &READ.spec],
    axes: &[&WITH],
    results: &[&MASS.spec],
};

impl Kind for Mass {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&WITH, run.get(&PARTS)?.0);
        let mass = run.get(&READ)?;
        out.read("m", &READ.spec, &mass);
        out.put(&MASS, mass);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC).says(&PARTS.spec, "alone").reads(&READ.spec, "13.30 kg", "scale")
    }
}
