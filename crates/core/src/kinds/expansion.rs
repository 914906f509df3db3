//! Expansion pack: what a second battery adds, and what it takes for itself.
//!
//! Formula: ΔE = E_both − E_alone; ΔP = P_both − P_alone of the idle draw.
//! Uncertainty: a difference of two large numbers: ±2 % of both are ±4 % of a pack of equal size.
//! Does not tell: the pack alone; a pack of another age.
use crate::discharge::step_check;
use crate::finding::Finding;
use crate::kind::{Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Energy, Power};
use crate::questions::{AMBIENT, LOAD};
use crate::reading::Field;
use crate::uncertain::Uncertain;

/// The kind.
pub struct Expansion;

static ADDED: Measurand<Energy> =
    Measurand::new("added-energy", "Usable energy a pack adds", "Wh", Better::More)
        .formula("ΔE = E_both − E_alone")
        .varies();
static IDLE: Measurand<Power> = Measurand::new("added-idle", "Idle draw a pack adds", "W", Better::Less)
    .formula("ΔP = P_both − P_alone")
    .varies();

static ALONE: Field<Uncertain<Energy>> = Field::quantity("alone", "energy of the station alone", "kWh").ask(
    "How much comes out of the station alone?",
    "Same load, same meter: from the test of usable energy.",
);
static BOTH: Field<Uncertain<Energy>> = Field::quantity("both", "energy with the pack", "kWh")
    .ask("How much comes out with the pack?", "Both full and rested, to the outlet's own end.")
    .at_end();
static IDLE_ALONE: Field<Uncertain<Power>> = Field::quantity("idle_alone", "idle draw alone", "W")
    .optional()
    .ask("Idle draw of the station alone?", "From its own test.");
static IDLE_BOTH: Field<Uncertain<Power>> = Field::quantity("idle_both", "idle draw with the pack", "W")
    .optional()
    .ask("Idle draw with the pack?", "From a test of the same sort with the pack plugged in.");
static HOW: Field<String> = Field::text("how", "cable, order, firmware of both").optional().ask(
    "Cable, order of plugging, firmware of both?",
    "Which rules did it follow: both off first, charge alike?",
);

static SPEC: Spec = Spec {
    id: "expansion",
    revision: 1,
    title: "Expansion pack",
    question: "What does the extra battery really add?",
    method: &[
        "Usable energy of the station alone, at half load.",
        "Both off; plug the pack in as its booklet says. Charge until the charger stops by itself, rest.",
        "The same discharge with the pack, same load and meter. Look whether both empty together.",
        "Idle draw with and without the pack, if there is time.",
    ],
    uncertainty: "A difference: ±2 % of both are ±4 % of what a pack of equal size adds, less what one meter cancels.",
    does_not_tell: "The pack alone. A pack of another age beside an old station.",
    cautions: &[
        "Plug and unplug only as the booklet says, both off unless it allows otherwise. Never open a plug under load.",
        "Above 25 kg lift with two; stacked so that nothing tips.",
    ],
    attended: true,
    minutes: 600,
    fields: &[
        &AMBIENT.spec,
        &LOAD.spec,
        &HOW.spec,
        &ALONE.spec,
        &IDLE_ALONE.spec,
        &IDLE_BOTH.spec,
        &BOTH.spec,
    ],
    axes: &[],
    results: &[&ADDED.spec, &IDLE.spec],
};

impl Kind for Expansion {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        if let Some(how) = run.get(&HOW) {
            out.say("expansion", "expansion pack", how);
        }
        if let Some((alone, both)) = run.get(&IDLE_ALONE).zip(run.get(&IDLE_BOTH)) {
            out.read("P_alone", &IDLE_ALONE.spec, &alone);
            out.read("P_both", &IDLE_BOTH.spec, &both);
            out.put(&IDLE, both - alone);
        }
        let (alone, both) = (run.get(&ALONE)?, run.get(&BOTH)?);
        out.read("E_alone", &ALONE.spec, &alone);
        out.read("E_both", &BOTH.spec, &both);
        if both.x() <= alone.x() {
            out.findings.push(Finding::gap(
                "pack-adds-nothing",
                BOTH.spec.key,
                "no more came out with the pack than without".to_string(),
                "look at both energies; did the pack take part, was it charged?",
            ));
            return None;
        }
        let added = both.clone() - alone;
        step_check(&BOTH, &both, added.x(), out);
        out.put(&ADDED, added);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .reads(&ALONE.spec, "0.900 kWh", "meter")
            .reads(&IDLE_ALONE.spec, "10.0 W", "meter")
            .reads(&IDLE_BOTH.spec, "14.5 W", "meter")
            .reads(&BOTH.spec, "1.800 kWh", "meter")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn one_meter_cancels_in_part() {
        // 1800 − 900 = 900 Wh: gain ±1 % of the difference only, 900·0.01/√3 = 5.19615 Wh; two steps of 1 Wh: 0.40825;
        // together 5.21216 Wh. Two meters would make √(10.392² + 5.196²) = 11.62 Wh.
        let out = outcome(&Expansion, &[]);
        let added = value(&out, "added-energy");
        assert!((added.x - 900.0).abs() < 1e-9 && (added.u() - 5.212_16).abs() < 1e-4);
        assert!((value(&out, "added-idle").x - 4.5).abs() < 1e-9);
    }
    #[test]
    fn a_pack_that_adds_nothing_is_a_gap() {
        let out = outcome(&Expansion, &[("both", "0.890 kWh")]);
        assert!(codes(&out).contains(&"pack-adds-nothing"));
        assert!(out.results.iter().all(|r| r.result.key != "added-energy"));
    }
}
