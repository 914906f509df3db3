//! Solar input under the sky, carried back to standard conditions.
//!
//! Formula: P_std = P/(G/1000·(1 + γ·(T_cell − 25 °C))), the usual linear model of a panel.
//! Uncertainty: irradiance first of all, then the cell's temperature and its coefficient.
//! Does not tell: another panel; a cloudy day.
use crate::finding::Finding;
use crate::kind::{Example, Kind, Outcome, Run, Spec, claimed};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Dim, Irradiance, Power, Ratio, Temperature};
use crate::questions::AMBIENT;
use crate::reading::Field;
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Owner, Uncertain, Value};

/// The kind.
pub struct SolarSky;

static READ: Measurand<Power> =
    Measurand::new("sky-power", "Solar power on the day", "W", Better::More).formula("P as read").varies();
static STANDARD: Measurand<Power> =
    Measurand::new("sky-standard", "Solar power at 1000 W/m² and 25 °C", "W", Better::More)
        .formula("P_std = P/(G/1000·(1 + γ·(T − 25)))")
        .varies();
static SHARE: Measurand<Ratio> =
    Measurand::new("sky-share", "Of the panel's stated power", "%", Better::More)
        .formula("P_std/P_panel")
        .varies();

static POWER: Field<Uncertain<Power>> = Field::quantity("power", "power into the station", "W").ask(
    "What power goes into the station?",
    "From a meter in line, mean of a minute; not the station's display.",
);
static SUN: Field<Uncertain<Irradiance>> =
    Field::quantity("irradiance", "irradiance in the panel's plane", "W/m²").ask(
        "How strong is the sun in the panel's plane?",
        "Reference cell lying beside it. Without it the weather is tested.",
    );
static CELL: Field<Uncertain<Temperature>> = Field::quantity("cell", "temperature of the cells", "°C")
    .ask("How warm are the cells?", "A thermocouple taped to the back.");
static GAMMA: Field<Uncertain<Ratio>> =
    Field::quantity("gamma", "change of power per kelvin", "%").optional().ask(
        "How much does the panel's power change per kelvin?",
        "From its label; without it −0.35 ± 0.10 % is taken.",
    );
static PANEL: Field<Uncertain<Power>> = Field::quantity("panel", "stated power of the panels", "W")
    .optional()
    .ask("Stated power of the panels, in all?", "");
static LIMIT: Field<Uncertain<Power>> = Field::quantity("limit", "limit of the input", "W")
    .optional()
    .ask("What is the most the input takes?", "As measured on the bench, or as stated.");

/// Coefficient where no label is at hand, with its limits, per kelvin (common practice).
const GAMMA_USUAL: (f64, f64) = (-0.0035, 0.001);
/// Below this the linear model is not trusted, in W/m² (common practice).
const WEAK_SUN: f64 = 400.0;

static SPEC: Spec = Spec {
    id: "solar-sky",
    revision: 1,
    title: "Solar input under the sky",
    question: "What do my panels really bring into it?",
    method: &[
        "Clear sky, an hour around noon. Station half empty, so that it takes all it can.",
        "Reference cell in the panel's plane, thermocouple on the panel's back, meter in line.",
        "Read all three in the same minute; repeat ten times.",
    ],
    uncertainty: "Irradiance first of all: ±5 % of it are ±5 % of the result.",
    does_not_tell: "Another panel; a cloudy day. Below the input's limit the panel is measured, at the limit the station.",
    cautions: &[
        "Cold-morning check of the string first: see solar input on the bench.",
        "More than 60 V direct current is dangerous: connect and disconnect only without load, panel covered.",
        "Station in the shade. Panels fixed against wind.",
    ],
    attended: true,
    minutes: 90,
    fields: &[&AMBIENT.spec, &PANEL.spec, &LIMIT.spec, &GAMMA.spec, &POWER.spec, &SUN.spec, &CELL.spec],
    axes: &[],
    results: &[&READ.spec, &STANDARD.spec, &SHARE.spec],
};

impl Kind for SolarSky {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let (power, sun, cell) = (run.get(&POWER)?, run.get(&SUN)?, run.get(&CELL)?);
        out.read("P", &POWER.spec, &power);
        out.read("G", &SUN.spec, &sun);
        out.read("T", &CELL.spec, &cell);
        let gamma = run.get(&GAMMA).unwrap_or_else(usual_gamma);
        out.step("γ", "change of power per kelvin", "%", &gamma);
        let Some(standard) = at_standard(&power, &sun, &cell, &gamma) else {
            out.findings.push(Finding::gap(
                "no-sun",
                SUN.spec.key,
                format!("{:.0} W/m² tells nothing of a panel", sun.x()),
                "measure the irradiance in the panel's plane; without it only the weather was tested",
            ));
            return None;
        };
        if sun.x() < WEAK_SUN {
            out.findings.push(Finding::doubt(
                "weak-sun",
                SUN.spec.key,
                format!("{:.0} W/m² is far from the 1000 W/m² it is carried to", sun.x()),
                "repeat around noon under a clear sky",
            ));
        }
        let stated = || run.model().and_then(|m| claimed(run.desk.notebook, m, "solar-input", Dim::Power));
        let limit = run.get(&LIMIT).map(|l| l.x()).or_else(stated);
        out.put(&READ, power.clone());
        // Within 3 % of the limit the station, not the panel, sets the power (common practice).
        if let Some(limit) = limit.filter(|l| power.x() >= l * 0.97) {
            out.findings.push(Finding::note(
                "clipped",
                POWER.spec.key,
                format!("{:.0} W is the input's limit of {limit:.0} W: the panel could give more", power.x()),
                "repeat with fewer panels or less sun to learn about the panel",
            ));
            out.say("solar-clipped", "solar input", format!("took {:.0} W, its limit", power.x()));
            return None;
        }
        if let Some(panel) = run.get(&PANEL).filter(|p| p.x() > 0.0) {
            let share = standard.clone() / panel;
            if share.x() > 1.1 {
                out.findings.push(Finding::doubt(
                    "more-than-the-panel",
                    SUN.spec.key,
                    format!("{:.0} % of what the panel is stated to give", share.x() * 100.0),
                    "look whether the reference cell lies in the panel's plane and unshaded",
                ));
            }
            out.put(&SHARE, share);
        }
        out.put(&STANDARD, standard);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&PANEL.spec, "200 W")
            .says(&LIMIT.spec, "400 W")
            .says(&GAMMA.spec, "-0.35 %")
            .reads(&POWER.spec, "118.0 W", "dc-meter")
            .reads(&SUN.spec, "640 W/m²", "cell")
            .reads(&CELL.spec, "45.0 °C", "thermocouple")
    }
}

fn usual_gamma() -> Uncertain<Ratio> {
    let owner = Owner::Bench("panel coefficient".into());
    let influence = Influence { owner, effect: Effect::Prior, of: String::new() };
    Uncertain::exact(GAMMA_USUAL.0).with(
        influence,
        GAMMA_USUAL.1 / 3f64.sqrt(),
        Shape::Rectangular,
        f64::INFINITY,
    )
}

/// Back to 1000 W/m² and 25 °C; `None` without sun.
fn at_standard(
    power: &Uncertain<Power>,
    sun: &Uncertain<Irradiance>,
    cell: &Uncertain<Temperature>,
    gamma: &Uncertain<Ratio>,
) -> Option<Uncertain<Power>> {
    let (g, warmer) = (sun.x() / 1000.0, cell.x() - 25.0);
    let heat = 1.0 + gamma.x() * warmer;
    if g <= 0.0 || heat <= 0.1 {
        return None;
    }
    let p = power.x() / (g * heat);
    let slopes = [
        (&power.clone().value(), 1.0 / (g * heat)),
        (&sun.clone().value(), -p / sun.x()),
        (&cell.clone().value(), -p * gamma.x() / heat),
        (&gamma.clone().value(), -p * warmer / heat),
    ];
    Value::of(Dim::Power, p, &slopes).typed()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn a_hundred_and_eighteen_watts_carried_back() {
        // 118/(0.640·(1 − 0.0035·20)) = 118/0.5952 = 198.2527 W. Relative: sun ±5 %/√3 = 2.8868 % and 1 W/m²/√12/640
        // = 0.0451 %; cell 1 K/√3 and 0.1/√12 K: 0.5781 K·0.0035/0.93 = 0.2176 %; power ±0.5 %/√3 = 0.2887 %;
        // together 2.9096 %, 5.768 W.
        let out = outcome(&SolarSky, &[]);
        let found = value(&out, "sky-standard");
        assert!((found.x - 198.2527).abs() < 5e-5, "{}", found.x);
        assert!((found.u() - 5.768).abs() < 2e-3, "{}", found.u());
        assert!((value(&out, "sky-share").x - 0.991_263).abs() < 1e-6);
    }
    #[test]
    fn without_sun_nothing_is_said() {
        for sun in ["0 W/m²", ""] {
            assert!(outcome(&SolarSky, &[("irradiance", sun)]).results.is_empty(), "{sun}");
        }
        assert!(codes(&outcome(&SolarSky, &[("irradiance", "0")])).contains(&"no-sun"));
    }
    #[test]
    fn at_the_inputs_limit_the_panel_is_not_measured() {
        let out = outcome(&SolarSky, &[("limit", "120 W")]);
        assert!(codes(&out).contains(&"clipped"));
        assert_eq!(out.results.len(), 1);
    }
}
