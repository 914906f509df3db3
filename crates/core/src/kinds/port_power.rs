//! Power of the 12 V and USB ports: what a port gives, and for how long.
//!
//! Formula: P as read while it holds; t until it gives less.
//! Uncertainty: accuracy of the meter in line.
//! Does not tell: whether a given laptop asks for that much.
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Current, Power, Time, Voltage};
use crate::questions::AMBIENT;
use crate::reading::{Field, Pick};
use crate::shown::duration_words;
use crate::uncertain::Uncertain;

/// The kind.
pub struct PortPower;

static HELD: Measurand<Power> = Measurand::new("port-power", "Power of a port", "W", Better::More)
    .formula("P as read while it holds")
    .at_least();
static AMPS: Measurand<Current> = Measurand::new("port-current", "Current of a port", "A", Better::More)
    .formula("I as read while it holds")
    .at_least();
static UNTIL: Measurand<Time> =
    Measurand::new("port-time", "Time until a port gives less", "min", Better::More).formula("t as timed");

static PORT: Axis = Axis { key: "port", label: "port", values: &["USB-C", "12 V", "USB-A", "all together"] };
static PORT_FIELD: Field<Pick> = Field::choice(
    "port",
    "port",
    &[
        Choice { key: "USB-C", label: "one USB-C port" },
        Choice { key: "12 V", label: "the 12 V socket" },
        Choice { key: "USB-A", label: "one USB-A port" },
        Choice { key: "all together", label: "all of them at once" },
    ],
)
.ask("Which port is loaded?", "One alone, then all together.");
static CONTRACT_V: Field<Uncertain<Voltage>> =
    Field::quantity("contract_v", "voltage agreed", "V").optional().ask(
        "Which voltage was agreed?",
        "USB-C: as the meter in line shows, one of 5, 9, 15, 20, 28, 36, 48 V.",
    );
static CONTRACT_A: Field<Uncertain<Current>> = Field::quantity("contract_a", "current agreed", "A")
    .optional()
    .ask("Which current was agreed?", "3 A, or 5 A with a cable made for it.");
static POWER: Field<Uncertain<Power>> = Field::quantity("power", "power held", "W")
    .ask("What power does the meter in line show?", "While it holds. All together: the sum.");
static CURRENT: Field<Uncertain<Current>> =
    Field::quantity("current", "current held", "A").optional().ask("What current does the meter show?", "");
static MINUTES: Field<Uncertain<Time>> = Field::quantity("minutes", "time it held", "min")
    .ask("For how long did it hold?", "30 minutes or more if it did not give up.")
    .at_end();
static ENDED: Field<Pick> = Field::choice(
    "ended",
    "what happened then",
    &[
        Choice { key: "held", label: "it still held: I stopped" },
        Choice { key: "less", label: "it went on with less power" },
        Choice { key: "off", label: "the port switched off" },
    ],
)
.ask("What happened then?", "")
.at_end();
static AFTERWARDS: Field<Uncertain<Power>> = Field::quantity("afterwards", "power afterwards", "W")
    .optional()
    .ask("What power did it go on with?", "")
    .at_end();

/// Watched for at least this long, a port holds for good, in h (common practice).
const LONG_ENOUGH_H: f64 = 0.5;

static SPEC: Spec = Spec {
    id: "port-power",
    revision: 1,
    title: "Power of the ports",
    question: "Does the port give what is printed beside it, and for how long?",
    method: &[
        "Meter in line; at USB-C ask for the highest voltage offered and note what was agreed.",
        "Raise the load to the printed power and hold it for 30 minutes, or until the port gives less.",
        "Note the power, the time, and what it went on with. Then all ports together.",
    ],
    uncertainty: "Accuracy of the meter in line; voltage lost in the lead behind the meter does not count.",
    does_not_tell: "Whether a given laptop asks for that much. How it does in a warmer room.",
    cautions: &[
        "Leads and plugs made for that current: 5 A at USB-C needs a cable that says so.",
        "Feel the plug after ten minutes; stop at smell or unusual heat.",
    ],
    attended: true,
    minutes: 45,
    fields: &[
        &PORT_FIELD.spec,
        &AMBIENT.spec,
        &CONTRACT_V.spec,
        &CONTRACT_A.spec,
        &POWER.spec,
        &CURRENT.spec,
        &MINUTES.spec,
        &ENDED.spec,
        &AFTERWARDS.spec,
    ],
    axes: &[&PORT],
    results: &[&HELD.spec, &AMPS.spec, &UNTIL.spec],
};

impl Kind for PortPower {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let port = run.get(&PORT_FIELD)?.0;
        out.on(&PORT, port);
        let power = run.get(&POWER)?;
        out.read("P", &POWER.spec, &power);
        agreed(run, &power, out);
        let time = run.get(&MINUTES)?;
        out.read("t", &MINUTES.spec, &time);
        let words = duration_words(time.x());
        match run.get(&ENDED)?.0 {
            "held" => {
                if time.x() < LONG_ENOUGH_H {
                    out.findings.push(Finding::doubt(
                        "watched-too-briefly",
                        MINUTES.spec.key,
                        format!("watched for {words} only"),
                        "hold it for 30 minutes: ports give less once they are warm",
                    ));
                }
                out.say("port-held", "port power", format!("{port} held {:.1} W for {words}", power.x()));
                out.put(&HELD, power);
                if let Some(current) = run.get(&CURRENT) {
                    out.put(&AMPS, current);
                }
            }
            "less" => {
                let then = run.get(&AFTERWARDS);
                let fell = then.as_ref().map_or("to less".into(), |p| format!("to {:.1} W", p.x()));
                out.say(
                    "port-held",
                    "port power",
                    format!("{port} gave {:.1} W for {words}, then fell {fell}", power.x()),
                );
                out.fail(&HELD, power, format!("fell {fell} after {words}"));
                out.put(&UNTIL, time);
                if let Some(then) = then {
                    out.read("P₂", &AFTERWARDS.spec, &then);
                    out.put(&HELD, then);
                }
            }
            _ => {
                out.say(
                    "port-held",
                    "port power",
                    format!("{port} switched off after {words} at {:.1} W", power.x()),
                );
                if let Some(current) = run.get(&CURRENT) {
                    out.fail(&AMPS, current, format!("switched off after {words}"));
                }
                out.fail(&HELD, power, format!("switched off after {words}"));
                out.put(&UNTIL, time);
            }
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&PORT_FIELD.spec, "USB-C")
            .says(&CONTRACT_V.spec, "28 V")
            .says(&CONTRACT_A.spec, "5 A")
            .reads(&POWER.spec, "139.0 W", "dc-meter")
            .says(&MINUTES.spec, "22 min")
            .says(&ENDED.spec, "less")
            .reads(&AFTERWARDS.spec, "65.0 W", "dc-meter")
    }
}

/// More than was agreed is a slip of the pen: a port does not give what it did not offer (5 %: common practice).
fn agreed(run: &Run, power: &Uncertain<Power>, out: &mut Outcome) {
    let Some((volts, amps)) = run.get(&CONTRACT_V).zip(run.get(&CONTRACT_A)) else { return };
    let contract = volts * amps;
    out.step("P_agreed", "voltage agreed × current agreed", "W", &contract);
    if power.x() > contract.x() * 1.05 {
        out.findings.push(Finding::doubt(
            "more-than-agreed",
            POWER.spec.key,
            format!("{:.1} W were read where {:.0} W were agreed", power.x(), contract.x()),
            "look at the three readings, and whether the meter sits at this port",
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn a_port_that_falls_back_holds_what_it_falls_to() {
        let out = outcome(&PortPower, &[]);
        assert_eq!(value(&out, "port-power").x, 65.0);
        assert!((value(&out, "port-time").x - 22.0 / 60.0).abs() < 1e-12);
        assert_eq!(out.failed[0].0.value.x, 139.0);
        assert_eq!(out.failed[0].1, "fell to 65.0 W after 22 min");
        // 28 V × 5 A = 140 W: USB Power Delivery, extended range.
        assert!(out.steps.iter().any(|s| s.symbol == "P_agreed" && s.value.x == 140.0));
    }
    #[test]
    fn ten_minutes_are_too_few_and_more_than_agreed_is_doubted() {
        let out = outcome(&PortPower, &[("ended", "held"), ("minutes", "10"), ("contract_v", "20")]);
        assert!(codes(&out).contains(&"watched-too-briefly") && codes(&out).contains(&"more-than-agreed"));
        assert_eq!(value(&out, "port-power").x, 139.0);
    }
}
