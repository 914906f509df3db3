//! Usable energy: what comes out of the AC outlet from full until the outlet switches itself off.
//!
//! Formula: E = R₂ − R₁ + P₀·t, the counter's rise and the meter's own unseen draw; with a log E = ∫P·dt + P₀·t.
//! Uncertainty: gain of the meter, its fixed part over the time, the counter's step, the full start.
//! Does not tell: what the cells hold, nor what 12 V and USB give.
use crate::discharge::{LOAD_SHARE, discharge, load_share};
use crate::kind::{Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::notebook::LoadSort;
use crate::quantity::{Energy, Ratio};
use crate::questions::{
    AMBIENT, CAUSE, COUNTER_END, COUNTER_START, ELAPSED, END, LOAD, LOG, POWER, SHOWN_AT_END, START,
    START_STATE,
};

/// The kind.
pub struct UsableEnergy;

static ENERGY: Measurand<Energy> = Measurand::new("usable-energy", "Usable energy", "Wh", Better::More)
    .formula("E = R₂ − R₁ + P₀·t")
    .varies();
static SHOWN: Measurand<Ratio> =
    Measurand::new("shown-at-end", "Charge shown when it went off", "%", Better::Less);

static SPEC: Spec = Spec {
    id: "usable-energy",
    revision: 2,
    title: "Usable energy",
    question: "How much comes out of the outlet before it switches off?",
    method: &[
        "Charge until the charger stops by itself, then let it rest for 30 minutes.",
        "Switch off everything else: other outlets, lamp, power saving.",
        "Plug the meter into the station and the load into the meter. Reset the counter.",
        "Switch on a steady load without thermostat at 25, 50 or 80 % of the claimed power.",
        "Wait until the outlet switches itself off. Read the counter before unplugging anything.",
    ],
    uncertainty: "The meter's accuracy is shared by all runs; its step, the clock and the full start belong to one run.",
    does_not_tell: "What the cells hold: the inverter's loss lies between. What 12 V and USB give. Another sample of the model.",
    cautions: &[
        "A heater needs a metre of clear space and somebody in the room.",
        "Plug the heater straight into the meter: no strip, no long cord.",
        "Stop at smell, discoloured plugs or unusual heat.",
    ],
    attended: true,
    minutes: 120,
    fields: &[
        &START_STATE.spec,
        &AMBIENT.spec,
        &LOAD.spec,
        &COUNTER_START.spec,
        &START.spec,
        &POWER.spec,
        &LOG.spec,
        &END.spec,
        &COUNTER_END.spec,
        &ELAPSED.spec,
        &CAUSE.spec,
        &SHOWN_AT_END.spec,
    ],
    axes: &[&LOAD_SHARE],
    results: &[&ENERGY.spec, &SHOWN.spec],
};

impl Kind for UsableEnergy {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let found = discharge(run, out)?;
        out.on(&LOAD_SHARE, load_share(found.mean_w, run.rated_w()));
        let switching = run.get(&LOAD).is_some_and(|l| l.sort == LoadSort::Cycling);
        if !switching {
            out.row = Some(found.row(found.square()));
        }
        if found.complete && !switching {
            out.put(&ENERGY, found.energy);
            if let Some(shown) = run.get(&SHOWN_AT_END) {
                out.put(&SHOWN, shown);
            }
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&START_STATE.spec, "full-rested")
            .reads(&AMBIENT.spec, "23 °C", "thermometer")
            .says(&LOAD.spec, "heater")
            .reads(&COUNTER_START.spec, "0", "meter")
            .says(&START.spec, "09:02:00")
            .reads(&POWER.spec, "500 W", "meter")
            .says(&END.spec, "10:48:00")
            .reads(&COUNTER_END.spec, "0.882 kWh", "meter")
            .says(&CAUSE.spec, "empty")
            .says(&SHOWN_AT_END.spec, "1 %")
    }
}
