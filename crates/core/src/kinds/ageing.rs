//! Ageing: what is left of the usable energy after some hundred cycles.
//!
//! Formula: straight line through (n, E) by least squares; r = E(N)/E(n₁), n₁ the first run.
//! Uncertainty: scatter about the line with n − 2 degrees of freedom; one meter's share of reading cancels.
//! Does not tell: thousands of cycles from a hundred; age without use.
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::pairs::paired;
use crate::quantity::{Count, Dim, Energy, Ratio};
use crate::questions::{AMBIENT, LOAD};
use crate::reading::{Field, Many};
use crate::stats::coverage::Shape;
use crate::stats::robust::{modified_z, theil_sen};
use crate::uncertain::{Effect, Influence, Uncertain, Value};

/// The kind.
pub struct Ageing;

static LEFT: Measurand<Ratio> = Measurand::new("retained", "Left after cycles", "%", Better::More)
    .formula("r = E(N)/E(n₁), line by least squares");

static AFTER: Axis = Axis { key: "cycles", label: "cycles", values: &["50", "100", "250", "500", "1000"] };
static CYCLES: Field<Many<Count>> = Field::list("cycles", "cycles done before each run", "")
    .ask("After how many cycles was each reference run?", "Full cycles, spaces between: 0 50 100");
static ENERGY: Field<Many<Energy>> = Field::list("energies", "energy of each run", "Wh")
    .ask("How much came out in each?", "Same load, same meter, same room; in the same order.");
static AT: Field<u64> = Field::count("at", "cycles asked about")
    .optional()
    .ask("For how many cycles?", "The last run unless you write another; half as far again at most.");

static SPEC: Spec = Spec {
    id: "ageing",
    revision: 1,
    title: "Ageing",
    question: "How much is left after a year of use?",
    method: &[
        "A reference run of usable energy when new: same load, same meter, room at 25 °C.",
        "Cycle it as its owner would. A reference run again after 50, 100, 250 cycles.",
        "A line through all runs; what is left is read off the line, not off the last run.",
    ],
    uncertainty: "Scatter of the runs about the line; with three runs hardly anything is known of it.",
    does_not_tell: "Thousands of cycles from a hundred. Age without use, heat, fast charging.",
    cautions: &[
        "Charging again and again: not while asleep or away, nothing that burns within a metre.",
        "Stop at swelling, smell, unusual heat or noise.",
    ],
    attended: true,
    minutes: 43200,
    fields: &[&AMBIENT.spec, &LOAD.spec, &CYCLES.spec, &ENERGY.spec, &AT.spec],
    axes: &[&AFTER],
    results: &[&LEFT.spec],
};

/// How far beyond the last run a line is believed.
const BEYOND: f64 = 1.5;

impl Kind for Ageing {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let rows = paired(run, &CYCLES, &ENERGY, out)?;
        let cycles: Vec<f64> = rows.iter().map(|(n, _)| n.x()).collect();
        let first = cycles.iter().copied().fold(f64::INFINITY, f64::min);
        let last = cycles.iter().copied().fold(0.0, f64::max);
        if rows.len() < 2 || last <= first || rows.iter().any(|(_, e)| e.x() <= 0.0) {
            out.findings.push(Finding::gap(
                "no-line",
                CYCLES.spec.key,
                "a line needs two runs after different numbers of cycles, each with an energy".to_string(),
                "enter the run when new and at least one later",
            ));
            return None;
        }
        let at = run.get(&AT).map_or(last, |n| n as f64);
        if at > last * BEYOND {
            out.findings.push(Finding::gap(
                "beyond-the-runs",
                AT.spec.key,
                format!("{at:.0} cycles cannot be told from runs up to {last:.0}"),
                format!("ask for {:.0} at most, or go on cycling", last * BEYOND),
            ));
            return None;
        }
        notes(&rows, first, out);
        off_the_line(&rows, out);
        out.on(&AFTER, format!("{at:.0}"));
        out.put(&LEFT, left(run, &rows, &cycles, first, at)?);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&CYCLES.spec, "0 50 100 150")
            .reads(&ENERGY.spec, "905 897 893 884", "meter")
            .says(&AT.spec, "100")
    }
}

fn notes(rows: &[(Uncertain<Count>, Uncertain<Energy>)], first: f64, out: &mut Outcome) {
    if rows.len() == 2 {
        out.findings.push(Finding::doubt(
            "two-runs-only",
            CYCLES.spec.key,
            "two runs show nothing of their scatter".to_string(),
            "add runs in between: the interval printed is too narrow",
        ));
    }
    if first > 10.0 {
        out.findings.push(Finding::doubt(
            "no-run-when-new",
            CYCLES.spec.key,
            format!("the first run came after {first:.0} cycles"),
            "what is left is told relative to that run",
        ));
    }
}

/// Runs from which on one can be told to stand apart.
const ENOUGH: usize = 5;
/// Modified z beyond which it does (Iglewicz and Hoaglin 1993).
const APART: f64 = 3.5;
/// And so much of its energy: few runs can lie closer together than any run repeats (common practice).
const AT_LEAST: f64 = 0.01;

/// The run that stands furthest off the line of Theil and Sen, which it cannot move, if it stands apart.
fn off_the_line(rows: &[(Uncertain<Count>, Uncertain<Energy>)], out: &mut Outcome) {
    let points: Vec<(f64, f64)> = rows.iter().map(|(n, e)| (n.x(), e.x())).collect();
    let Some(line) = theil_sen(&points).filter(|_| points.len() >= ENOUGH) else { return };
    let off: Vec<f64> = points.iter().map(|(n, e)| e - line.intercept - line.slope * n).collect();
    let Some(z) = modified_z(&off) else { return };
    let furthest = (0..z.len()).max_by(|a, b| z[*a].abs().total_cmp(&z[*b].abs()));
    let Some(i) = furthest.filter(|i| z[*i].abs() > APART && off[*i].abs() > AT_LEAST * points[*i].1) else {
        return;
    };
    let (n, side) = (points[i].0, if z[i] > 0.0 { "above" } else { "below" });
    out.findings.push(Finding::doubt(
        "run-off-the-line",
        ENERGY.spec.key,
        format!("the run after {n:.0} cycles lies {:.0} Wh {side} the line of the others", off[i].abs()),
        "look at its readings, its load and the room once more; leave it out only with a reason you can print",
    ));
}

/// E(N)/E(n₁) off the line, with the runs' own doubts and their scatter about the line.
fn left(
    run: &Run,
    rows: &[(Uncertain<Count>, Uncertain<Energy>)],
    cycles: &[f64],
    first: f64,
    at: f64,
) -> Option<Uncertain<Ratio>> {
    let energies: Vec<Value> = rows.iter().map(|(_, e)| e.clone().value()).collect();
    let on_line = |weights: &[f64]| weights.iter().zip(&energies).map(|(w, e)| w * e.x).sum::<f64>();
    let (new, then) = (weights(cycles, first), weights(cycles, at));
    let (fresh, aged) = (on_line(&new), on_line(&then));
    if fresh <= 0.0 || aged < 0.0 {
        return None;
    }
    let share = aged / fresh;
    let slope = |i: usize| (then[i] - share * new[i]) / fresh;
    let slopes: Vec<(&Value, f64)> = energies.iter().enumerate().map(|(i, e)| (e, slope(i))).collect();
    let value = Value::of(Dim::Ratio, share, &slopes).typed::<Ratio>()?;
    if rows.len() < 3 {
        return Some(value);
    }
    let off = |i: usize| (energies[i].x - on_line(&weights(cycles, cycles[i]))).powi(2);
    let dof = (rows.len() - 2) as f64;
    let scatter = ((0..rows.len()).map(off).sum::<f64>() / dof).sqrt();
    let u = scatter * slopes.iter().map(|(_, s)| s * s).sum::<f64>().sqrt();
    Some(value.with(Influence::test(run.id(), Effect::Fit, ""), u, Shape::Normal, dof))
}

/// What each run counts in the line's height at `at`: 1/n + (at − x̄)(xᵢ − x̄)/Σ(x − x̄)².
fn weights(cycles: &[f64], at: f64) -> Vec<f64> {
    let n = cycles.len() as f64;
    let mean = cycles.iter().sum::<f64>() / n;
    let squares: f64 = cycles.iter().map(|x| (x - mean).powi(2)).sum();
    cycles.iter().map(|x| 1.0 / n + (at - mean) * (x - mean) / squares).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn the_line_is_that_of_least_squares() {
        // x 1…6, y 2.1 3.9 6.2 7.8 10.1 30: least-squares slope 4.562857.
        let (x, y) = ([1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [2.1, 3.9, 6.2, 7.8, 10.1, 30.0]);
        let at = |n| weights(&x, n).iter().zip(y).map(|(w, y)| w * y).sum::<f64>();
        assert!((at(1.0) - at(0.0) - 4.562_857).abs() < 5e-7);
    }
    #[test]
    fn three_runs_on_paper() {
        // (0, 1000), (50, 994), (100, 982) Wh: mean 992, slope (50·982 − 50·1000)/5000 = −0.18 Wh; the line is 1001 at 0
        // and 983 at 100: 98.2018 %. Residuals −1, 2, −1: s = √6 with 1 degree of freedom. Weights at 0 (5, 2, −1)/6, at
        // 100 (−1, 2, 5)/6; slopes (then − 0.982018·new)/1001, squares sum: (−0.985015² + 0.005994² + 0.997003²)/1001²;
        // u_fit = 2.449490·1.401549/1001 = 0.003430.
        let answers = [("cycles", "0 50 100"), ("energies", "1000 994 982 Wh"), ("at", "")];
        let out = outcome(&Ageing, &answers);
        let left = value(&out, "retained");
        assert!((left.x - 983.0 / 1001.0).abs() < 1e-9, "{}", left.x);
        let fit = left.parts.iter().find(|(i, _)| i.effect == Effect::Fit).unwrap().1;
        assert!((fit.signed - 0.003_430).abs() < 1e-6 && fit.dof == 1.0, "{}", fit.signed);
    }
    #[test]
    fn one_wild_run_of_ten_is_asked_about() {
        // The ten runs of `stats::robust`: the line no run can sway gives 612.3286 − 0.428571·7 = 609.33 at the eighth; 640 lies
        // 30.67 above it. With 609.4 there, the fourth stands furthest out, 1.0 Wh: no run repeats so well.
        let cycles = ("cycles", "0 1 2 3 4 5 6 7 8 9");
        let wild = ("energies", "612.0 611.2 610.9 611.5 609.8 609.9 609.1 640.0 608.2 607.9");
        let out = outcome(&Ageing, &[cycles, wild, ("at", "")]);
        let said = out.findings.iter().find(|f| f.code == "run-off-the-line").unwrap();
        assert!(said.text.contains("after 7 cycles lies 31 Wh above"), "{}", said.text);
        let tame = ("energies", "612.0 611.2 610.9 611.5 609.8 609.9 609.1 609.4 608.2 607.9");
        assert!(!codes(&outcome(&Ageing, &[cycles, tame, ("at", "")])).contains(&"run-off-the-line"));
    }
    #[test]
    fn nothing_is_said_beyond_half_as_far_again() {
        assert!((value(&outcome(&Ageing, &[("at", "225")]), "retained").x) < 1.0);
        let far = outcome(&Ageing, &[("at", "226")]);
        assert!(far.results.is_empty() && codes(&far).contains(&"beyond-the-runs"));
        assert!(codes(&outcome(&Ageing, &[("energies", "905 897")])).contains(&"lists-differ"));
    }
}
