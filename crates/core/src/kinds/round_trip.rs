//! Round trip: what comes out for what went in, between equal states of charge.
//!
//! Formula: η = E_out/(E_in ± ΔE/η_c); ΔE what the end holds more or less than the start, η_c of the charger.
//! Uncertainty: with one meter for both its share of reading cancels; steps and the correction stay.
//! Does not tell: what charging costs when it stands full for days.
use super::recharge::{MODE, MODE_FIELD};
use crate::discharge::step_check;
use crate::field::Choice;
use crate::finding::Finding;
use crate::instrument::Feeds;
use crate::kind::{Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Energy, Power, Ratio, Time};
use crate::questions::AMBIENT;
use crate::reading::{Field, Pick};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Owner, Uncertain, Value};

/// The kind.
pub struct RoundTrip;

static ETA: Measurand<Ratio> = Measurand::new("round-trip", "Comes back of what went in", "%", Better::More)
    .formula("η = E_out/(E_in ± ΔE/η_c)")
    .varies();

static IN: Field<Uncertain<Energy>> = Field::quantity("energy_in", "energy from the wall", "kWh").ask(
    "How much did the wall give?",
    "From the last discharge's end until the charger stopped by itself, the counter reset before.",
);
static OUT: Field<Uncertain<Energy>> = Field::quantity("energy_out", "energy out of the outlet", "kWh")
    .ask("How much came out of the outlet afterwards?", "To the same end, the same meter, the counter reset.")
    .at_end();
static HOURS_OUT: Field<Uncertain<Time>> = Field::quantity("hours_out", "time of the discharge", "h")
    .optional()
    .ask("How long did the discharge take?", "For the meter's own draw.")
    .at_end();
static END: Field<Pick> = Field::choice(
    "end_state",
    "end against start",
    &[
        Choice { key: "equal", label: "the same end before charging and after discharging" },
        Choice { key: "lower", label: "it holds less at the end than at the start" },
        Choice { key: "fuller", label: "it holds more at the end than at the start" },
    ],
)
.ask("Is it as empty now as before charging?", "Equal: the AC outlet switched itself off both times.")
.at_end();
static DIFFERENCE: Field<Uncertain<Energy>> = Field::quantity("difference", "difference in the cells", "Wh")
    .optional()
    .ask("By how many Wh do the two ends differ?", "At the cells; only when they are not equal.")
    .at_end();
static CHARGER: Field<Uncertain<Ratio>> = Field::quantity("charger", "efficiency of the charger", "%")
    .optional()
    .ask("Efficiency of the charger, if it is known?", "Without it 90 ± 5 % is taken.");

static SPEC: Spec = Spec {
    id: "round-trip",
    revision: 1,
    title: "Round trip",
    question: "How much of what the wall gives comes back?",
    method: &[
        "Empty it until the AC outlet switches itself off. Rest one hour.",
        "Charge from the wall through the meter, counter reset, until the charger stops by itself. Rest one hour.",
        "Empty it through the same meter at half load, counter reset, until the outlet switches itself off again.",
    ],
    uncertainty: "One meter for both: its share of reading cancels. Two meters: each counts.",
    does_not_tell: "What standing by costs; another load, another charging mode.",
    cautions: &[
        "Do not charge while asleep or away. Heater in clear space, somebody in the room.",
        "Nothing that burns within a metre; stop at smell, discoloured plugs or unusual heat.",
    ],
    attended: true,
    minutes: 360,
    fields: &[
        &MODE_FIELD.spec,
        &AMBIENT.spec,
        &CHARGER.spec,
        &IN.spec,
        &OUT.spec,
        &HOURS_OUT.spec,
        &END.spec,
        &DIFFERENCE.spec,
    ],
    axes: &[&MODE],
    results: &[&ETA.spec],
};

/// A charger's efficiency where nobody measured it, with its limits (common practice).
const CHARGER_USUAL: (f64, f64) = (0.90, 0.05);
/// Shares that are believed without asking (common practice).
const BELIEVED: (f64, f64) = (0.60, 0.92);

impl Kind for RoundTrip {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&MODE, run.get(&MODE_FIELD)?.0);
        let (went_in, came_out) = (run.get(&IN)?, run.get(&OUT)?);
        out.read("E_in", &IN.spec, &went_in);
        out.read("E_out", &OUT.spec, &came_out);
        step_check(&OUT, &came_out, came_out.x(), out);
        let own = own_draw(run);
        out.step("P₀·t", "own draw of the meter, fed by the station", "Wh", &own);
        let came_out = came_out + own;
        let sign = match run.get(&END)?.0 {
            "lower" => 1.0,
            "fuller" => -1.0,
            _ => 0.0,
        };
        let difference = run.get(&DIFFERENCE);
        if sign != 0.0 && difference.is_none() {
            out.findings.push(Finding::gap(
                "ends-differ",
                END.spec.key,
                "the two ends differ by an amount nobody noted".to_string(),
                "enter the difference in Wh, or repeat until the outlet switches itself off both times",
            ));
            return None;
        }
        let difference = difference.unwrap_or(Uncertain::exact(0.0)).scaled(sign);
        let (usual, limit) = CHARGER_USUAL;
        let charger = run.get(&CHARGER).unwrap_or_else(|| {
            let owner = Owner::Bench("charger efficiency".into());
            let influence = Influence { owner, effect: Effect::Prior, of: String::new() };
            Uncertain::exact(usual).with(influence, limit / 3f64.sqrt(), Shape::Rectangular, f64::INFINITY)
        });
        let share = ratio(came_out, went_in, difference, charger);
        let Some(share) = share.filter(|s| s.x() > 0.0 && s.x() < 1.0) else {
            out.findings.push(Finding::gap(
                "more-out-than-in",
                OUT.spec.key,
                "as written, nothing went in or as much came out as went in".to_string(),
                "look at both counters and units: a reset forgotten, kWh for Wh, the two exchanged",
            ));
            return None;
        };
        if !(BELIEVED.0..=BELIEVED.1).contains(&share.x()) {
            out.findings.push(Finding::doubt(
                "round-trip-unusual",
                OUT.spec.key,
                format!("{:.0} % came back; 60 to 92 % is usual", share.x() * 100.0),
                "look at both counters, and whether both ends are the same",
            ));
        }
        out.put(&ETA, share);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&MODE_FIELD.spec, "as delivered")
            .reads(&IN.spec, "1.100 kWh", "meter")
            .reads(&OUT.spec, "0.900 kWh", "meter")
            .says(&HOURS_OUT.spec, "1:46")
            .says(&END.spec, "equal")
    }
}

/// η = E_out/(E_in + ΔE/η_c), ΔE ≥ 0 when the end holds less than the start. `None` when nothing went in.
fn ratio(
    came_out: Uncertain<Energy>,
    went_in: Uncertain<Energy>,
    lower_by: Uncertain<Energy>,
    charger: Uncertain<Ratio>,
) -> Option<Uncertain<Ratio>> {
    let (d, c) = (lower_by.x(), charger.x());
    let whole = went_in.x() + d / c;
    if c <= 0.0 || whole <= 0.0 {
        return None;
    }
    let eta = came_out.x() / whole;
    let per_whole = -eta / whole;
    let slopes = [
        (&came_out.value(), 1.0 / whole),
        (&went_in.value(), per_whole),
        (&lower_by.value(), per_whole / c),
        (&charger.value(), -per_whole * d / (c * c)),
    ];
    Value::of(crate::quantity::Dim::Ratio, eta, &slopes).typed()
}

/// The meter's own draw during the discharge, fed by the station and not shown.
fn own_draw(run: &Run) -> Uncertain<Energy> {
    let meter = run.entry(&OUT).and_then(|e| run.desk.notebook.instrument(&e.instrument));
    let watts = meter.filter(|m| m.feeds == Feeds::Unseen).map_or(0.0, |m| m.own_draw_w);
    let hours = run.get(&HOURS_OUT).map_or(0.0, |h| h.x());
    Uncertain::<Power>::exact(watts) * Uncertain::<Time>::exact(hours)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};

    fn energy(x: f64, meter: &str, gain: f64, own: &str) -> Uncertain<Energy> {
        let normal = |i, u| move |e: Uncertain<Energy>| e.with(i, u, Shape::Normal, f64::INFINITY);
        let e = normal(Influence::instrument(meter, Effect::Gain, ""), x * gain)(Uncertain::exact(x));
        normal(Influence::test(own, Effect::Step, ""), x * 0.002)(e)
    }
    fn share(out_meter: &str) -> Value {
        let (came, went) = (energy(850.0, out_meter, 0.01, "out"), energy(1000.0, "a", 0.01, "in"));
        ratio(came, went, Uncertain::exact(0.0), Uncertain::exact(0.9)).unwrap().value()
    }
    #[test]
    fn one_meter_cancels_two_do_not() {
        // 850/1000, gain 1 %, linearity 0.2 % each (standard uncertainties). One meter: 0.85·√2·0.002 = 0.002404;
        // two meters: 0.85·√(2·(0.01² + 0.002²)) = 0.012259.
        assert!((share("a").u() - 0.002_404).abs() < 5e-7);
        assert!((share("b").u() - 0.012_259).abs() < 5e-7);
    }
    #[test]
    fn an_end_twenty_watt_hours_lower_is_corrected() {
        // 960/(1200 + 20/0.9) = 960/1222.2222 = 0.785455.
        let answers = [
            ("energy_in", "1200 Wh"),
            ("energy_out", "960 Wh"),
            ("hours_out", ""),
            ("end_state", "lower"),
            ("difference", "20 Wh"),
            ("charger", "90 %"),
        ];
        assert!((value(&outcome(&RoundTrip, &answers), "round-trip").x - 0.785_455).abs() < 5e-7);
    }
    #[test]
    fn unequal_ends_without_a_difference_give_nothing_and_gates_ask() {
        let open = outcome(&RoundTrip, &[("end_state", "lower")]);
        assert!(open.results.is_empty() && codes(&open).contains(&"ends-differ"));
        let much = outcome(&RoundTrip, &[("energy_out", "1050 Wh")]);
        assert!(codes(&much).contains(&"round-trip-unusual"));
        let swapped = outcome(&RoundTrip, &[("energy_out", "1200 Wh")]);
        assert!(swapped.results.is_empty() && codes(&swapped).contains(&"more-out-than-in"));
    }
}
