//! Fitting a·H + b·W + c·S = 1 by weighted least squares (singular values, scaled columns).
use super::{Known, Law, Row, Rules, array};
use crate::finding::Finding;
use crate::shown::{Style, probability, signed};
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

/// Mean powers closer than this are one power.
const SAME_POWER: f64 = 0.10;
/// Below this p the fit is called poor.
pub(super) const P_POOR: f64 = 0.01;
/// Where the rows leave c·P_rated/b less certain than this, they count as two powers.
const CURVE_UNKNOWN: f64 = 0.3;
/// Idle share of the drain at rated power, assumed only while one power is known: 0.3–3 % of rated (common practice).
const IDLE_ASSUMED: (f64, f64) = (0.02, 0.02);

/// One row against the law.
#[derive(Clone, Debug, PartialEq)]
pub struct Residual {
    /// The row's label.
    pub label: String,
    /// a·H + b·W + c·S − 1: above 0 the run was longer than the law says.
    pub value: f64,
    /// Its stated standard uncertainty.
    pub u: f64,
    /// The residual over its own standard deviation, the row's pull on the fit taken into account.
    pub z: f64,
}

/// An equation x·θ = y with standard uncertainty σ.
pub(super) struct Equation {
    pub(super) x: Vector3<f64>,
    pub(super) y: f64,
    pub(super) sigma: f64,
}

impl Equation {
    pub(super) fn of(row: &Row, near: &Vector3<f64>) -> Self {
        Equation { x: row.vector(), y: 1.0, sigma: row.sigma(near) }
    }

    pub(super) fn chi(&self, theta: &Vector3<f64>) -> f64 {
        (self.x.dot(theta) - self.y) / self.sigma
    }
}

/// A solution of weighted equations.
pub(super) struct Solution {
    pub(super) theta: Vector3<f64>,
    pub(super) covariance: Matrix3<f64>,
}

/// Fits the law to rows; rows that cannot be used are left out with a finding. `Err` when none is left: then the
/// findings say why.
pub fn fit(rows: &[Row], rules: Rules) -> Result<Law, Vec<Finding>> {
    let (rows, mut findings) = usable(rows);
    if rows.is_empty() {
        findings.push(Finding::gap(
            "no-rows",
            "drain law",
            "no test ended by low-battery cut-off from full and rested",
            "run one discharge to the cut-off",
        ));
        return Err(findings);
    }
    let highest = rows.iter().map(|r| r.span().1).fold(0.0, f64::max);
    let scale_w = rules.rated_w.filter(|w| *w > 0.0).unwrap_or(highest);
    let mut known = known_by(&rows);
    let mut solved = solve_rows(&rows, known, &rules, scale_w);
    if known == Known::Whole && curve_u(&solved, scale_w) > CURVE_UNKNOWN {
        known = Known::TwoPowers;
        solved = solve_rows(&rows, known, &rules, scale_w);
    }
    if known != Known::Whole && rules.rated_w.is_none() && highest > 0.0 {
        findings.push(Finding::note(
            "rating-unknown",
            "drain law",
            format!("the curvature is assumed with {highest:.0} W, the highest load tested, as rated power"),
            "enter the rated power of the model",
        ));
    }
    let mut law = assemble(&rows, solved, known, rules);
    findings.append(&mut law.findings);
    Ok(Law { findings, ..law })
}

fn usable(rows: &[Row]) -> (Vec<Row>, Vec<Finding>) {
    let mut findings = Vec::new();
    let kept = rows.iter().filter(|row| match row.fault() {
        None => true,
        Some(fault) => {
            let text = format!("row left out: {fault}");
            findings.push(Finding::gap(
                "row-unusable",
                &row.label,
                text,
                "correct the readings of this test",
            ));
            false
        }
    });
    let kept = kept.cloned().collect();
    (kept, findings)
}

fn known_by(rows: &[Row]) -> Known {
    let mut powers: Vec<f64> = rows.iter().map(Row::mean_w).collect();
    powers.sort_by(f64::total_cmp);
    let mut distinct: Vec<f64> = Vec::new();
    for power in powers {
        if distinct.last().is_none_or(|last| power > last * (1.0 + SAME_POWER)) {
            distinct.push(power);
        }
    }
    match distinct.len() {
        1 => Known::OnePower,
        2 => Known::TwoPowers,
        _ => Known::Whole,
    }
}

fn curve_u(solved: &(Vec<Equation>, Solution), scale_w: f64) -> f64 {
    let Solution { theta, covariance } = &solved.1;
    let u = covariance[(2, 2)].max(0.0).sqrt() * scale_w / theta.y;
    if u.is_finite() && theta.y > 0.0 { u } else { f64::INFINITY }
}

/// Equations of the rows and of what must be assumed, and their free solution. The weights need the coefficients
/// (an error of W) and so does the assumed curvature (b): solved roughly, then once more.
fn solve_rows(rows: &[Row], known: Known, rules: &Rules, scale_w: f64) -> (Vec<Equation>, Solution) {
    let idle_only = rows.iter().all(|r| r.wh <= 0.0);
    let most = rows.iter().map(|r| r.wh).fold(0.0, f64::max);
    let mut near = Vector3::new(0.0, if most > 0.0 { 1.0 / most } else { 0.0 }, 0.0);
    let mut equations = Vec::new();
    let mut solution = Solution { theta: near, covariance: Matrix3::zeros() };
    let passes = if known == Known::Whole { 2 } else { 4 };
    for _ in 0..passes {
        equations = rows.iter().map(|row| Equation::of(row, &near)).collect();
        if known != Known::Whole && !idle_only {
            equations.push(assumed(2, rules.curve, scale_w, near.y));
        }
        if known == Known::OnePower && !idle_only {
            equations.push(assumed(0, IDLE_ASSUMED, 1.0 / scale_w, near.y));
        }
        solution = solve(&equations, [true, !idle_only, !idle_only]);
        // Nonsense rows can turn b negative; what is assumed then still scales with a possible one.
        near = solution.theta;
        if near.y <= 0.0 && !idle_only {
            near.y = 1.0 / most;
        }
    }
    (equations, solution)
}

/// θ_k·scale/b = mean ± sd as an equation, b taken as known from the pass before.
fn assumed(k: usize, (mean, sd): (f64, f64), scale: f64, b: f64) -> Equation {
    let mut x = Vector3::zeros();
    x[k] = scale / b.max(f64::MIN_POSITIVE);
    Equation { x, y: mean, sigma: sd }
}

/// Weighted least squares over the free coefficients; the others stay 0.
pub(super) fn solve(equations: &[Equation], free: [bool; 3]) -> Solution {
    let columns: Vec<usize> = (0..3).filter(|k| free[*k]).collect();
    let mut m = DMatrix::from_fn(equations.len(), columns.len(), |i, j| {
        equations[i].x[columns[j]] / equations[i].sigma
    });
    let y = DVector::from_iterator(equations.len(), equations.iter().map(|e| e.y / e.sigma));
    let scales: Vec<f64> = m.column_iter().map(|c| c.norm()).collect();
    for (j, scale) in scales.iter().enumerate() {
        if *scale > 0.0 {
            m.column_mut(j).unscale_mut(*scale);
        }
    }
    let (mut theta, mut covariance) = (Vector3::zeros(), Matrix3::zeros());
    // The library iterates for ever on what is not a number, hence the check and the limit. No drain refuses all answers.
    let finite = m.iter().chain(y.iter()).all(|v| v.is_finite());
    let svd = if finite { m.try_svd(true, true, f64::EPSILON, 1000) } else { None };
    let Some((svd, u, v_t)) = svd.and_then(|s| Some((s.singular_values, s.u?, s.v_t?))) else {
        return Solution { theta, covariance };
    };
    for (k, s) in svd.iter().enumerate() {
        // A direction the rows do not see: no value, and an uncertainty that refuses every answer leaning on it.
        let s = s.max(1e-9);
        let along = u.column(k).dot(&y) / s;
        for (i, ci) in columns.iter().enumerate() {
            theta[*ci] += along * v_t[(k, i)] / scales[i].max(f64::MIN_POSITIVE);
            for (j, cj) in columns.iter().enumerate() {
                covariance[(*ci, *cj)] += v_t[(k, i)] * v_t[(k, j)] / (s * s * scales[i] * scales[j]);
            }
        }
    }
    Solution { theta, covariance }
}

/// Sets a negative a or c to 0 and solves for the rest.
fn inside(equations: &[Equation], free: &Solution) -> (Vector3<f64>, bool, bool) {
    let mut theta = free.theta;
    let (mut no_a, mut no_c) = (false, false);
    for _ in 0..2 {
        // One at a time, c first: a law without curvature may well have a positive a.
        if theta.z < 0.0 {
            no_c = true;
        } else if theta.x < 0.0 {
            no_a = true;
        } else {
            break;
        }
        theta = solve(equations, [!no_a, true, !no_c]).theta;
    }
    (Vector3::new(theta.x.max(0.0), theta.y, theta.z.max(0.0)), no_a || theta.x < 0.0, no_c || theta.z < 0.0)
}

pub(super) fn assemble(
    rows: &[Row],
    (equations, free): (Vec<Equation>, Solution),
    known: Known,
    rules: Rules,
) -> Law {
    let (theta, a_is_bound, c_is_zero) = inside(&equations, &free);
    let chi2 = equations.iter().map(|e| e.chi(&theta).powi(2)).sum();
    let parameters = 3 - usize::from(a_is_bound) - usize::from(c_is_zero);
    let idle_only = rows.iter().all(|r| r.wh <= 0.0);
    let parameters = if idle_only { 1 } else { parameters };
    let residuals = rows.iter().zip(&equations).map(|(row, e)| residual(row, e, &theta, &free.covariance));
    let spans =
        rows.iter().map(|r| if known == Known::OnePower { (r.mean_w(), r.mean_w()) } else { r.span() });
    let mut us: Vec<f64> = rows.iter().map(|r| r.sigma(&theta)).collect();
    us.sort_by(f64::total_cmp);
    let mut law = Law {
        a: theta.x,
        b: theta.y,
        c: theta.z,
        covariance: array(&free.covariance),
        chi2,
        dof: equations.len().saturating_sub(parameters),
        known,
        residuals: residuals.collect(),
        findings: Vec::new(),
        rules,
        a_is_bound,
        c_is_zero,
        span: spans.fold((f64::INFINITY, 0.0), |(l, h), (low, high)| (l.min(low), h.max(high))),
        free_a: free.theta.x,
        row_u: us[us.len() / 2],
        reference_w: reference(rows),
    };
    law.findings = judged(&law);
    law
}

fn residual(row: &Row, e: &Equation, theta: &Vector3<f64>, covariance: &Matrix3<f64>) -> Residual {
    let pull = (e.x.dot(&(covariance * e.x)) / e.sigma.powi(2)).clamp(0.0, 1.0);
    let value = e.x.dot(theta) - e.y;
    // A row that alone fixes a coefficient has no residual of its own.
    let z = if pull > 1.0 - 1e-9 { 0.0 } else { value / (e.sigma * (1.0 - pull).sqrt()) };
    Residual { label: row.label.clone(), value, u: e.sigma, z }
}

/// The middle one of the powers run.
fn reference(rows: &[Row]) -> f64 {
    let mut powers: Vec<f64> = rows.iter().map(|r| r.span().1).collect();
    powers.sort_by(f64::total_cmp);
    powers[powers.len() / 2]
}

fn judged(law: &Law) -> Vec<Finding> {
    let mut findings = Vec::new();
    let p = law.p_value();
    let worst = law.residuals.iter().max_by(|r, s| r.z.abs().total_cmp(&s.z.abs()));
    if let (true, Some(worst)) = (p < P_POOR, worst) {
        let text = format!(
            "the tests do not fit one law: χ² {:.1} with {} degrees of freedom, {}; `{}` is furthest off, by {} %",
            law.chi2,
            law.dof,
            probability(p),
            worst.label,
            signed(100.0 * worst.value, 1, Style::POINT)
        );
        let hint = "look for a start that was not full, another mode or firmware, or a wrong reading";
        findings.push(Finding::doubt("poor-fit", &worst.label, text, hint));
    }
    if law.c_is_zero {
        let text = "the fitted curvature is negative; taken as 0, so there is no best load";
        findings.push(Finding::note("c-negative", "drain law", text, "add a discharge near the rated power"));
    }
    if law.a_is_bound {
        let text = "the fitted idle draw is at or below 0; only an upper bound is known";
        let hint = "add an idle night before a reference discharge";
        findings.push(Finding::doubt("a-at-zero", "drain law", text, hint));
    }
    findings
}
