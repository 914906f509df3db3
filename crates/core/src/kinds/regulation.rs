//! Regulation: how far the voltage falls when the load grows.
//!
//! Formula: d = (V₁ − V₂)/V₁, at the smallest and the largest load.
//! Uncertainty: one meter: its share of reading cancels, fixed part and steps stay.
//! Does not tell: what happens within a cycle when a motor starts.
use crate::discharge::{LOAD_SHARE, load_share};
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::outlet_voltage::{factor_applied, true_rms};
use crate::pairs::paired;
use crate::quantity::{Power, Ratio, Voltage};
use crate::questions::AMBIENT;
use crate::reading::{Field, Many, Pick};

/// The kind.
pub struct Regulation;

static DROP: Measurand<Ratio> =
    Measurand::new("voltage-drop", "Voltage falls under load", "%", Better::Less).formula("d = (V₁ − V₂)/V₁");
static FULL: Measurand<Voltage> =
    Measurand::new("voltage-loaded", "Voltage under load", "V", Better::More).formula("V₂ as read");

static SHAPE: Field<Pick> = Field::choice(
    "shape",
    "shape of the wave",
    &[
        Choice { key: "sine", label: "a sine, as seen on an oscilloscope or as stated" },
        Choice { key: "other", label: "steps, or not known" },
    ],
)
.ask("Is it a sine?", "On steps only a meter of true rms is right.");
static LOADS: Field<Many<Power>> = Field::list("loads", "loads", "W")
    .ask("Which loads?", "Measured watts, the smallest first, spaces between: 0 250 500 750 1000");
static VOLTS: Field<Many<Voltage>> = Field::list("voltages", "voltages", "V")
    .ask("What voltage at each?", "At the outlet, not at the end of a cord; in the same order.");

static SPEC: Spec = Spec {
    id: "regulation",
    revision: 1,
    title: "Voltage under load",
    question: "Does the voltage hold when much is asked of it?",
    method: &[
        "Meter at the outlet itself, not behind a cord. Nothing, a quarter, half, three quarters, full power.",
        "Read the voltage at each after a minute. Repeat at half and at 10 % charge if time allows.",
    ],
    uncertainty: "One meter for all: its share of reading cancels, its steps stay.",
    does_not_tell: "What a motor's start does within a tenth of a second. Whether a mode of more power is lower voltage.",
    cautions: &[
        "Stay with it. Each heater straight into an outlet, a metre of clear space.",
        "Probes and leads marked for mains voltage. One hand, dry.",
    ],
    attended: true,
    minutes: 20,
    fields: &[&SHAPE.spec, &AMBIENT.spec, &LOADS.spec, &VOLTS.spec],
    axes: &[&LOAD_SHARE],
    results: &[&DROP.spec, &FULL.spec],
};

/// Voltages a building's supply keeps to, in V: ANSI C84.1 range A, EN 50160 (± 10 %).
const SUPPLY: [(f64, f64); 2] = [(114.0, 126.0), (207.0, 253.0)];

impl Kind for Regulation {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let mut rows = paired(run, &LOADS, &VOLTS, out)?;
        let (_, one) = rows.first()?;
        let pure = run.get(&SHAPE)?.0 == "sine";
        if !(true_rms(run, &VOLTS, pure, out) && factor_applied(run, VOLTS.spec.key, one.x(), out)) {
            return None;
        }
        rows.sort_by(|a, b| a.0.x().total_cmp(&b.0.x()));
        if rows.len() < 2 {
            out.findings.push(Finding::gap(
                "one-load-only",
                LOADS.spec.key,
                "one load shows no fall".to_string(),
                "enter two loads at least, the smallest and the largest",
            ));
            return None;
        }
        for (load, volts) in &rows {
            if !SUPPLY.iter().any(|(low, high)| (*low..=*high).contains(&volts.x())) {
                out.findings.push(Finding::note(
                    "voltage-outside-supply",
                    VOLTS.spec.key,
                    format!(
                        "{:.1} V at {:.0} W; a supply keeps 114 to 126 V or 207 to 253 V",
                        volts.x(),
                        load.x()
                    ),
                    "a heater gets less than its label says there: power goes with the square of the voltage",
                ));
            }
        }
        let (_, first) = rows.first()?.clone();
        let (most, last) = rows.pop()?;
        out.step("V₁", "voltage at the smallest load", "V", &first);
        out.step("V₂", "voltage at the largest load", "V", &last);
        if first.x() <= 0.0 {
            return None;
        }
        if last.x() > first.x() * 1.002 {
            out.findings.push(Finding::doubt(
                "voltage-rises",
                VOLTS.spec.key,
                "the voltage is higher under the largest load than under the smallest".to_string(),
                "look whether both lists are in the same order",
            ));
        }
        out.on(&LOAD_SHARE, load_share(most.x(), run.rated_w()));
        out.put(&FULL, last.clone());
        out.put(&DROP, (first.clone() - last) / first);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC).says(&SHAPE.spec, "sine").reads(&LOADS.spec, "0 250 500 750 1000", "meter").reads(
            &VOLTS.spec,
            "120.3 120.0 119.7 119.2 118.7",
            "voltmeter",
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn a_fall_of_one_point_three_per_cent() {
        // (120.3 − 118.7)/120.3 = 1.3300 %; gain cancels; two steps of 0.1 V (0.028868 V each):
        // √((118.7/120.3²)² + (1/120.3)²)·0.028868 = 0.0337 %.
        let out = outcome(&Regulation, &[]);
        let drop = value(&out, "voltage-drop");
        assert!((drop.x - 0.013_300).abs() < 1e-6 && (drop.u() - 0.000_337).abs() < 1e-6);
        assert_eq!(out.results[0].condition.get("load").map(String::as_str), Some("100 %"));
    }
    #[test]
    fn a_soft_outlet_is_named_and_lists_must_match() {
        let soft = outcome(&Regulation, &[("voltages", "110.8 109 108 106 104.2")]);
        assert!(codes(&soft).contains(&"voltage-outside-supply"));
        assert!((value(&soft, "voltage-drop").x - 0.059_567).abs() < 1e-6); // 6.6/110.8
        let wrong = outcome(&Regulation, &[("voltages", "0.60 0.60 0.59 0.58 0.57")]);
        assert!(wrong.results.is_empty() && codes(&wrong).contains(&"probe-factor"));
        let short = outcome(&Regulation, &[("voltages", "120 119")]);
        assert!(short.results.is_empty() && codes(&short).contains(&"lists-differ"));
    }
}
