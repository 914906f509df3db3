//! Charging from a 12 V socket: how much it takes, and how long.
//!
//! Formula: P = V·I at the plug; t = stopped − start.
//! Uncertainty: both meters; the clock.
//! Does not tell: what the vehicle's battery bears.
use crate::discharge::elapsed;
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Current, Power, Time, Voltage};
use crate::questions::AMBIENT;
use crate::reading::{Field, Pick};
use crate::stamp::Stamp;
use crate::uncertain::Uncertain;

/// The kind.
pub struct CarCharging;

static POWER: Measurand<Power> =
    Measurand::new("car-power", "Takes from a 12 V socket", "W", Better::More).formula("P = V·I");
static FULL: Measurand<Time> = Measurand::new("car-time", "Charge from a 12 V socket", "h", Better::Less)
    .formula("t = stopped − start")
    .varies();

static SUPPLY: Axis =
    Axis { key: "supply", label: "supply", values: &["engine running", "engine off", "bench supply"] };
static SUPPLY_FIELD: Field<Pick> = Field::choice(
    "supply",
    "supply",
    &[
        Choice { key: "engine running", label: "vehicle, engine running" },
        Choice { key: "engine off", label: "vehicle, engine off" },
        Choice { key: "bench supply", label: "bench supply" },
    ],
)
.ask("What feeds it?", "");
static VOLTS: Field<Uncertain<Voltage>> = Field::quantity("voltage", "voltage at the plug", "V")
    .ask("What voltage stands at the plug?", "While it charges: the lead loses some.");
static AMPS: Field<Uncertain<Current>> = Field::quantity("current", "current", "A")
    .ask("What current flows?", "After five minutes; a clamp must be zeroed first.");
static FROM: Field<Pick> = Field::choice(
    "from",
    "charge at the start",
    &[
        Choice { key: "empty", label: "empty: the outlet had switched off" },
        Choice { key: "part", label: "partly charged" },
    ],
)
.ask("Was it empty at the start?", "Only from empty is the time a result.");
static START: Field<Stamp> = Field::stamp("start", "plugged in").ask("When did you plug it in?", "");
static STOPPED: Field<Stamp> = Field::stamp("stopped", "stopped by itself")
    .optional()
    .ask("When did it stop by itself?", "Leave it empty if you did not wait.")
    .at_end();

/// The largest usual fuse of such a socket, in A (10, 15 or 20 A are fitted).
const FUSE_A: f64 = 20.0;
/// Voltages of a 12 V system, in V (common practice).
const BELIEVED_V: (f64, f64) = (10.5, 15.0);

static SPEC: Spec = Spec {
    id: "car-charging",
    revision: 1,
    title: "Charging from a 12 V socket",
    question: "How long does it take to charge in the car?",
    method: &[
        "Empty it. Bench supply at 13.5 V with a current limit above what is stated, or the vehicle with its engine running.",
        "Voltage at the plug and current in the lead after five minutes.",
        "Note the time until it stops by itself. Lower the supply slowly to see at which voltage it gives up.",
    ],
    uncertainty: "Both meters; a clamp's zero drifts, so zero it first.",
    does_not_tell: "What the vehicle's own battery bears; a socket that is dead when the engine is off.",
    cautions: &[
        "Never above the socket's fuse: 10, 15 or 20 A. Feel the plug after ten minutes.",
        "Engine only in the open air. Never below 0 °C a station that does not block charging by itself.",
        "Nothing that burns within a metre; do not leave it alone in a parked vehicle.",
    ],
    attended: true,
    minutes: 480,
    fields: &[
        &SUPPLY_FIELD.spec,
        &FROM.spec,
        &AMBIENT.spec,
        &START.spec,
        &VOLTS.spec,
        &AMPS.spec,
        &STOPPED.spec,
    ],
    axes: &[&SUPPLY],
    results: &[&POWER.spec, &FULL.spec],
};

impl Kind for CarCharging {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&SUPPLY, run.get(&SUPPLY_FIELD)?.0);
        let (volts, amps) = (run.get(&VOLTS)?, run.get(&AMPS)?);
        out.read("V", &VOLTS.spec, &volts);
        out.read("I", &AMPS.spec, &amps);
        if !(BELIEVED_V.0..=BELIEVED_V.1).contains(&volts.x()) {
            out.findings.push(Finding::doubt(
                "not-a-12-v-system",
                VOLTS.spec.key,
                format!("{:.1} V at the plug; 10.5 to 15 V is usual", volts.x()),
                "look at the reading; a 24 V vehicle belongs under solar input or a test of its own",
            ));
        }
        if amps.x() > FUSE_A {
            out.findings.push(Finding::doubt(
                "above-socket-fuse",
                AMPS.spec.key,
                format!("{:.1} A is more than the fuse of a 12 V socket bears (10, 15 or 20 A)", amps.x()),
                "use a lead straight from the battery with its own fuse, and say so on the page",
            ));
        }
        out.put(&POWER, volts * amps);
        if run.get(&STOPPED).is_some() {
            let time = elapsed(run, &START, &STOPPED, out)?;
            out.step("t", "plugged in to stopped by itself", "h", &time);
            if run.get(&FROM)?.0 == "empty" {
                out.put(&FULL, time);
            }
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&SUPPLY_FIELD.spec, "bench supply")
            .says(&FROM.spec, "empty")
            .says(&START.spec, "08:00")
            .reads(&VOLTS.spec, "13.20 V", "dc-meter")
            .reads(&AMPS.spec, "8.00 A", "dc-meter")
            .says(&STOPPED.spec, "18:30")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn thirteen_volts_eight_amperes() {
        // 13.2 V × 8 A = 105.6 W; ±0.2 % and ±0.5 % of reading: 105.6·√(0.002² + 0.005²)/√3 = 0.3283 W; the steps of
        // 0.01 V and 0.01 A add 8·0.002887 and 13.2·0.002887 W: √(0.3283² + 0.0231² + 0.0381²) = 0.3313 W.
        let out = outcome(&CarCharging, &[]);
        let power = value(&out, "car-power");
        assert!((power.x - 105.6).abs() < 1e-9 && (power.u() - 0.3313).abs() < 1e-4);
        assert!((value(&out, "car-time").x - 10.5).abs() < 1e-9);
    }
    #[test]
    fn more_than_the_fuse_is_doubted_and_a_partial_charge_has_no_time() {
        let out = outcome(&CarCharging, &[("current", "25 A"), ("from", "part"), ("voltage", "26 V")]);
        assert!(codes(&out).contains(&"above-socket-fuse") && codes(&out).contains(&"not-a-12-v-system"));
        assert!(out.results.iter().all(|r| r.result.key != "car-time"));
    }
}
