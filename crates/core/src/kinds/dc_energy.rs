//! DC energy: what comes out of the 12 V and USB outlets.
//!
//! Formula: E = R₂ − R₁ (+ P₀·t when the meter feeds itself from the outlet unseen).
//! Uncertainty: the meter in line, its fixed part over the time, the full start.
//! Does not tell: what the AC outlet gives.
use crate::discharge::{power_check, ran, start_state, timer_check};
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Current, Energy, Power};
use crate::questions::{
    AMBIENT, CAUSE, COUNTER_END, COUNTER_START, ELAPSED, END, LOG, POWER, START, START_STATE,
};
use crate::reading::{Field, Pick};
use crate::uncertain::Uncertain;

/// The kind.
pub struct DcEnergy;

static ENERGY: Measurand<Energy> =
    Measurand::new("dc-energy", "Usable energy, 12 V and USB", "Wh", Better::More)
        .formula("E = R₂ − R₁")
        .varies();
static HELD_W: Measurand<Power> =
    Measurand::new("dc-power", "Power held to empty, 12 V and USB", "W", Better::More)
        .formula("P = (R₂ − R₁)/t")
        .at_least();
static HELD_A: Measurand<Current> =
    Measurand::new("dc-current", "Current held to empty, 12 V and USB", "A", Better::More)
        .formula("I as read")
        .at_least();

static PORT: Axis = Axis { key: "port", label: "port", values: &["12 V", "USB-C", "USB-A"] };
static PORT_FIELD: Field<Pick> = Field::choice(
    "port",
    "port",
    &[
        Choice { key: "12 V", label: "the 12 V socket" },
        Choice { key: "USB-C", label: "a USB-C port" },
        Choice { key: "USB-A", label: "a USB-A port" },
    ],
)
.ask("Which port is emptied?", "");
static AC_MEANWHILE: Field<Pick> = Field::choice(
    "ac_meanwhile",
    "AC outlet meanwhile",
    &[Choice { key: "off", label: "off" }, Choice { key: "on", label: "on" }],
)
.ask("Is the AC outlet off?", "Its idle draw would be taken from what is measured here.");
static CURRENT: Field<Uncertain<Current>> = Field::quantity("current", "current shown", "A")
    .optional()
    .ask("What current does the meter show?", "After ten minutes.");

static SPEC: Spec = Spec {
    id: "dc-energy",
    revision: 1,
    title: "Usable energy of 12 V and USB",
    question: "How much comes out of the 12 V or USB outlet?",
    method: &[
        "Charge until the charger stops by itself, rest 30 minutes. AC outlet off.",
        "Meter in line at the port, counter reset; electronic load or a real one behind it.",
        "Constant current at 12 V, constant power at USB. Note current and power after ten minutes.",
        "Wait until the port switches itself off. Read the counter before unplugging anything.",
    ],
    uncertainty: "The meter in line at the plug; with sense leads its drop does not count.",
    does_not_tell: "What the AC outlet gives; what several ports give together.",
    cautions: &[
        "Stay within the rating of port, plug and lead; feel the plug after ten minutes.",
        "Loads with a fan in clear space; mind the polarity of 12 V leads.",
        "Recharge soon afterwards: cells left empty may not come back.",
    ],
    attended: true,
    minutes: 360,
    fields: &[
        &PORT_FIELD.spec,
        &AC_MEANWHILE.spec,
        &START_STATE.spec,
        &AMBIENT.spec,
        &COUNTER_START.spec,
        &START.spec,
        &POWER.spec,
        &CURRENT.spec,
        &LOG.spec,
        &END.spec,
        &COUNTER_END.spec,
        &ELAPSED.spec,
        &CAUSE.spec,
    ],
    axes: &[&PORT],
    results: &[&ENERGY.spec, &HELD_W.spec, &HELD_A.spec],
};

impl Kind for DcEnergy {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&PORT, run.get(&PORT_FIELD)?.0);
        let (hours, energy, _) = ran(run, "time from load on to port off", out)?;
        let mean = energy.clone() / hours.clone();
        if !(timer_check(run, hours.x(), out) & power_check(run, mean.x(), out)) {
            return None;
        }
        if run.get(&AC_MEANWHILE)?.0 == "on" {
            out.findings.push(Finding::doubt(
                "ac-on-meanwhile",
                AC_MEANWHILE.spec.key,
                "the AC outlet was on, so its idle draw is missing here".to_string(),
                "repeat with the AC outlet off",
            ));
        }
        let (energy, full) = start_state(run, energy, out)?;
        // The port itself went off empty, whether the answer names DC or the outlet in general.
        let empty = matches!(run.get(&CAUSE)?.0, "dc-empty" | "empty");
        if !empty {
            out.findings.push(Finding::gap(
                "not-ended-empty",
                CAUSE.spec.key,
                "the port did not go off because the battery was empty".to_string(),
                "let it run until the port switches itself off; this run is kept as a check",
            ));
        }
        if !(empty && full) {
            return None;
        }
        out.put(&ENERGY, energy);
        out.put(&HELD_W, mean);
        if let Some(current) = run.get(&CURRENT) {
            out.read("I", &CURRENT.spec, &current);
            out.put(&HELD_A, current);
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&PORT_FIELD.spec, "12 V")
            .says(&AC_MEANWHILE.spec, "off")
            .says(&START_STATE.spec, "full-rested")
            .reads(&COUNTER_START.spec, "0", "dc-meter")
            .says(&START.spec, "09:00:00")
            .reads(&POWER.spec, "110 W", "dc-meter")
            .reads(&CURRENT.spec, "8.40 A", "dc-meter")
            .says(&END.spec, "17:30:00")
            .reads(&COUNTER_END.spec, "935.00 Wh", "dc-meter")
            .says(&CAUSE.spec, "dc-empty")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn nine_hundred_and_thirty_five_watt_hours_in_eight_and_a_half_hours() {
        // 935 Wh / 8.5 h = 110 W. Gain ±0.5 %: 935·0.005/√3 = 2.6991 Wh; full start ±0.2 %: 1.0797 Wh;
        // step 0.01 Wh: nothing. √(2.6991² + 1.0797²) = 2.9070 Wh.
        let out = outcome(&DcEnergy, &[]);
        assert!((value(&out, "dc-power").x - 110.0).abs() < 1e-9);
        assert!((value(&out, "dc-energy").u() - 2.907).abs() < 1e-3);
        assert_eq!(value(&out, "dc-current").x, 8.4);
        assert_eq!(out.condition.get("port").map(String::as_str), Some("12 V"));
    }
    #[test]
    fn an_end_by_hand_gives_no_energy_and_ac_on_is_doubted() {
        let out = outcome(&DcEnergy, &[("cause", "stopped"), ("ac_meanwhile", "on")]);
        assert!(out.results.is_empty());
        assert!(codes(&out).contains(&"not-ended-empty") && codes(&out).contains(&"ac-on-meanwhile"));
    }
}
