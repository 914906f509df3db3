//! Carrying b and c over a firmware update: only a is fitted anew.
use super::fit::{Equation, P_POOR, Solution, assemble, solve};
use super::{Known, Law, Row};
use crate::finding::Finding;
use nalgebra::Vector3;

/// A law from too few new rows after an update: a is free, b and c enter as known with the old law's covariance.
/// Refused when χ² rises beyond chance (p < 0.01, one degree of freedom per new row after the first): then the update
/// changed more than the idle draw. The law says that it was carried over.
pub fn carry_over(old: &Law, new_rows: &[Row]) -> Result<Law, Finding> {
    let rows: Vec<Row> = new_rows.iter().filter(|r| r.fault().is_none()).cloned().collect();
    if rows.is_empty() || old.known == Known::OnePower {
        return Err(Finding::gap(
            "carry-over-refused",
            "drain law",
            "nothing to carry over: no new row, or an old law from one power",
            "run the reference discharges again",
        ));
    }
    let theta = old.coefficients();
    let mut equations: Vec<Equation> = rows.iter().map(|r| Equation::of(r, &theta)).collect();
    equations.extend(known_b_and_c(old));
    let Solution { theta, covariance } = solve(&equations, [true; 3]);
    let mut law = assemble(&rows, (equations, Solution { theta, covariance }), old.known, old.rules);
    law.span = (law.span.0.min(old.span.0), law.span.1.max(old.span.1));
    if law.p_value() < P_POOR {
        return Err(Finding::doubt(
            "carry-over-refused",
            "drain law",
            format!(
                "the tests after the update do not fit the old curve: χ² {:.1} with {} degrees of freedom",
                law.chi2, law.dof
            ),
            "run discharges at more powers on the new firmware",
        ));
    }
    law.findings.push(Finding::note(
        "carried-over",
        "drain law",
        "b and c come from tests before the update; only the idle share was fitted anew",
        "run discharges at more powers on the new firmware",
    ));
    Ok(law)
}

/// The old (b, c) as two uncorrelated equations: the Cholesky factor of their covariance, turned round.
fn known_b_and_c(old: &Law) -> [Equation; 2] {
    let v = &old.covariance;
    let u_b = v[1][1].sqrt();
    let lean = v[1][2] / v[1][1];
    let u_c = (v[2][2] - lean * v[1][2]).max(f64::MIN_POSITIVE).sqrt();
    [
        Equation { x: Vector3::new(0.0, 1.0, 0.0), y: old.b, sigma: u_b },
        Equation { x: Vector3::new(0.0, -lean, 1.0), y: old.c - lean * old.b, sigma: u_c },
    ]
}
