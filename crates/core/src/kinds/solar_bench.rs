//! Solar input on the bench: the window of voltage, current and power it accepts.
//!
//! Formula: each limit as read; V_cold = n·V_oc·(1 + β·(T_cold − 25 °C)) for a string on a cold morning.
//! Uncertainty: accuracy of the supply's meters.
//! Does not tell: how well it follows a cloud; what a panel gives under the sky.
use crate::finding::Finding;
use crate::kind::{Example, Kind, Outcome, Run, Spec, claimed};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Current, Dim, Power, Ratio, Temperature, Voltage};
use crate::questions::AMBIENT;
use crate::reading::Field;
use crate::shown::{Style, decimal};
use crate::uncertain::Uncertain;

/// The kind.
pub struct SolarBench;

static START: Measurand<Voltage> =
    Measurand::new("solar-start", "Solar input starts at", "V", Better::Less).formula("V as read");
static HIGHEST: Measurand<Voltage> =
    Measurand::new("solar-voltage", "Solar input takes up to", "V", Better::More)
        .formula("V as read")
        .at_least();
static AMPS: Measurand<Current> =
    Measurand::new("solar-current", "Solar input current", "A", Better::More).formula("I as read");
static INPUT: Measurand<Power> =
    Measurand::new("solar-input", "Solar input", "W", Better::More).formula("P as read");

static RATED: Field<Uncertain<Voltage>> = Field::quantity("rated", "highest voltage allowed", "V")
    .ask("What highest voltage does the label allow?", "Nothing above it is ever applied.");
static START_V: Field<Uncertain<Voltage>> = Field::quantity("start", "voltage at which it starts", "V")
    .ask("From which voltage does it charge?", "Raise it slowly.");
static MAX_V: Field<Uncertain<Voltage>> = Field::quantity("highest", "highest voltage tried", "V")
    .ask("Up to which voltage does it charge?", "From below, never above the label.");
static MAX_A: Field<Uncertain<Current>> = Field::quantity("current", "largest current", "A")
    .ask("What is the largest current?", "At low voltage, the supply's limit opened.");
static MAX_W: Field<Uncertain<Power>> = Field::quantity("power", "largest power", "W")
    .ask("What is the largest power?", "At the voltage that gives most.");
static PANELS: Field<u64> = Field::count("panels", "panels in series")
    .optional()
    .ask("How many panels in series?", "For the cold-morning check of a string.");
static VOC: Field<Uncertain<Voltage>> = Field::quantity("voc", "open-circuit voltage of one panel", "V")
    .optional()
    .ask("Open-circuit voltage of one panel?", "From its label, at 25 °C.");
static VMP: Field<Uncertain<Voltage>> = Field::quantity("vmp", "working voltage of one panel", "V")
    .optional()
    .ask("Working voltage of one panel?", "From its label.");
static BETA: Field<Uncertain<Ratio>> =
    Field::quantity("beta", "change of voltage per kelvin", "%").optional().ask(
        "How much does its voltage change per kelvin?",
        "From the label, −0.24 to −0.35 %; without it −0.35 % is taken.",
    );
static COLDEST: Field<Uncertain<Temperature>> = Field::quantity("coldest", "coldest morning", "°C")
    .optional()
    .ask("How cold can a morning be there?", "Without it −10 °C is taken.");

/// Taken where the label is not at hand: the larger of the usual coefficients, per kelvin, and a frosty morning.
const BETA_USUAL: f64 = -0.0035;
const COLD_USUAL: f64 = -10.0;

static SPEC: Spec = Spec {
    id: "solar-bench",
    revision: 1,
    title: "Solar input on the bench",
    question: "Which panels can I connect, and how much will it take?",
    method: &[
        "First the cold-morning check of the panels you have in mind: it costs nothing and saves the station.",
        "Station half empty. Direct-current supply with a series resistor, voltage from below.",
        "Raise it until charging starts; on, up to the label's limit and never above it.",
        "Largest current at low voltage, largest power where it is largest. Two inputs: each, then both.",
    ],
    uncertainty: "Accuracy of the supply's meters, read at the plug.",
    does_not_tell: "What a panel gives under the sky; how well it follows a cloud.",
    cautions: &[
        "Never above the voltage on the label, not for a second: the input may be destroyed or burn.",
        "More than 60 V direct current is dangerous: connect and disconnect only without load.",
        "Never below 0 °C a station that does not block charging by itself.",
    ],
    attended: true,
    minutes: 60,
    fields: &[
        &RATED.spec,
        &AMBIENT.spec,
        &PANELS.spec,
        &VOC.spec,
        &VMP.spec,
        &BETA.spec,
        &COLDEST.spec,
        &START_V.spec,
        &MAX_V.spec,
        &MAX_A.spec,
        &MAX_W.spec,
    ],
    axes: &[],
    results: &[&START.spec, &HIGHEST.spec, &AMPS.spec, &INPUT.spec],
};

impl Kind for SolarBench {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let rated = run.get(&RATED)?;
        string(run, rated.x(), out)?;
        let highest = run.get(&MAX_V)?;
        if highest.x() > rated.x() {
            out.findings.push(Finding::gap(
                "above-label",
                MAX_V.spec.key,
                format!("DANGER: {:.1} V were applied, the label allows {:.0} V", highest.x(), rated.x()),
                "never above the label; look at the station before using it again, and test another sample",
            ));
            return None;
        }
        let (amps, watts) = (run.get(&MAX_A)?, run.get(&MAX_W)?);
        let most = amps.x() * highest.x();
        if watts.x() > most * 1.05 {
            out.findings.push(Finding::doubt(
                "more-power-than-window",
                MAX_W.spec.key,
                format!(
                    "{:.0} W were read; {:.1} A at {:.1} V make {most:.0} W at most",
                    watts.x(),
                    amps.x(),
                    highest.x()
                ),
                "look at the three readings",
            ));
        }
        let stated = run.model().and_then(|m| claimed(run.desk.notebook, m, "solar-input", Dim::Power));
        if let Some(stated) = stated.filter(|s| *s > amps.x() * rated.x()) {
            out.findings.push(Finding::note(
                "claim-outside-its-own-window",
                MAX_W.spec.key,
                format!(
                    "{stated:.0} W are stated; {:.1} A at the {:.0} V allowed make {:.0} W",
                    amps.x(),
                    rated.x(),
                    amps.x() * rated.x()
                ),
                "say so on the page: no panel within the label reaches the stated power",
            ));
        }
        out.put(&START, run.get(&START_V)?);
        out.put(&HIGHEST, highest);
        out.put(&AMPS, amps);
        out.put(&INPUT, watts);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&RATED.spec, "60 V")
            .says(&PANELS.spec, "2")
            .says(&VOC.spec, "24 V")
            .says(&VMP.spec, "20 V")
            .says(&BETA.spec, "-0.3 %")
            .says(&COLDEST.spec, "-10 °C")
            .reads(&START_V.spec, "11.80 V", "dc-meter")
            .reads(&MAX_V.spec, "59.50 V", "dc-meter")
            .reads(&MAX_A.spec, "12.10 A", "dc-meter")
            .reads(&MAX_W.spec, "390.0 W", "dc-meter")
    }
}

/// The string against the label; `None` when it must not be connected.
fn string(run: &Run, rated: f64, out: &mut Outcome) -> Option<()> {
    let Some((panels, voc)) = run.get(&PANELS).zip(run.get(&VOC)) else { return Some(()) };
    let beta = run.get(&BETA).map_or(BETA_USUAL, |b| b.x());
    let coldest = run.get(&COLDEST).map_or(COLD_USUAL, |t| t.x());
    // A coefficient typed without its minus still means that the voltage rises in the cold.
    let cold = voc.scaled(panels as f64 * (1.0 + beta.abs() * (25.0 - coldest).max(0.0)));
    out.step("V_cold", "open-circuit voltage of the string on the coldest morning", "V", &cold);
    let words =
        format!("{panels} in series reach {:.1} V at {} °C", cold.x(), decimal(coldest, 0, Style::POINT));
    if cold.x() > rated {
        out.findings.push(Finding::gap(
            "string-above-label",
            PANELS.spec.key,
            format!("DANGER: {words}; the input bears {rated:.0} V and no more"),
            "do not connect this string: fewer panels in series, the rest in parallel",
        ));
        return None;
    }
    let amps = run.get(&MAX_A).zip(run.get(&VMP));
    let limit = amps.map_or_else(String::new, |(a, v)| {
        let volts = v.x() * panels as f64;
        format!("; working at {volts:.0} V its {:.1} A take {:.0} W at most", a.x(), a.x() * volts)
    });
    out.say(
        "solar-string",
        "panels tried on paper",
        format!("{words}, below the {rated:.0} V allowed{limit}"),
    );
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn a_string_on_a_frosty_morning() {
        // 2 × 24 V × (1 + 0.003·35) = 53.04 V, below 60 V; three make 79.56 V: refused.
        let fits = outcome(&SolarBench, &[]);
        assert!(fits.steps.iter().any(|s| s.symbol == "V_cold" && (s.value.x - 53.04).abs() < 1e-9));
        assert_eq!(value(&fits, "solar-input").x, 390.0);
        let three = outcome(&SolarBench, &[("panels", "3")]);
        assert!(three.results.is_empty() && codes(&three).contains(&"string-above-label"));
        // +10 % at 0 °C is the usual rule (−0.4 %/K · 25 K): 60 V from 54.5 V is just too much.
        let edge =
            outcome(&SolarBench, &[("panels", "1"), ("voc", "54.6"), ("beta", "-0.4"), ("coldest", "0")]);
        assert!(codes(&edge).contains(&"string-above-label"));
    }
    #[test]
    fn fifteen_amperes_from_forty_eight_volts_are_720_watts() {
        let answers = [("current", "15 A"), ("panels", "2"), ("voc", "27"), ("vmp", "24"), ("beta", "-0.24")];
        let out = outcome(&SolarBench, &answers);
        assert!(out.behaviours[0].text.ends_with("working at 48 V its 15.0 A take 720 W at most"));
    }
    #[test]
    fn nothing_above_the_label_counts() {
        let out = outcome(&SolarBench, &[("highest", "61 V")]);
        assert!(out.results.is_empty() && codes(&out).contains(&"above-label"));
        assert!(codes(&outcome(&SolarBench, &[("power", "800 W")])).contains(&"more-power-than-window"));
    }
}
