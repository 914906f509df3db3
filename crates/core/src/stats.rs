//! Statistics on plain numbers: means and spreads, tails, counts of failures, conformity, coverage, agreement, robust lines.
pub mod agreement;
pub mod binomial;
pub mod conformity;
pub mod coverage;
pub mod robust;
pub mod tail;

/// Arithmetic mean; `None` for no values.
pub fn mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    Some(values.iter().sum::<f64>() / values.len() as f64)
}

/// Sample standard deviation, divisor n − 1 (JCGM 100:2008, 4.2.2); `None` below two values.
pub fn standard_deviation(values: &[f64]) -> Option<f64> {
    let m = mean(values)?;
    if values.len() < 2 {
        return None;
    }
    Some((squares_about(values, m) / (values.len() - 1) as f64).sqrt())
}

/// Standard uncertainty of the mean, s/√n (JCGM 100:2008, 4.2.3); `None` below two values.
pub fn standard_error(values: &[f64]) -> Option<f64> {
    Some(standard_deviation(values)? / (values.len() as f64).sqrt())
}

/// A standard deviation pooled over groups, each about its own mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// Standard deviation of one value, in the unit of the values.
    pub s: f64,
    /// Degrees of freedom, Σ(nᵢ − 1).
    pub dof: f64,
}

/// Pools the scatter of several groups: s² = ΣSSᵢ / Σ(nᵢ − 1). Groups of fewer than two values add nothing.
pub fn pooled(groups: &[&[f64]]) -> Option<Pooled> {
    let (mut squares, mut dof) = (0.0, 0.0);
    for group in groups.iter().filter(|g| g.len() >= 2) {
        squares += squares_about(group, mean(group)?);
        dof += (group.len() - 1) as f64;
    }
    (dof > 0.0).then(|| Pooled { s: (squares / dof).sqrt(), dof })
}

fn squares_about(values: &[f64], centre: f64) -> f64 {
    values.iter().map(|v| (v - centre).powi(2)).sum()
}
