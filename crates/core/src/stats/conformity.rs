//! Probability of conformity: how probable it is that the true value meets a limit (JCGM 106:2012, clause 7).
//!
//! y is the measured value, u its standard uncertainty, dof its degrees of freedom (∞ for a normal distribution);
//! all in the unit of the limit. The distribution is a scaled t about y; where a rectangular part dominates use
//! [`super::coverage::Spread::cdf`] of y − limit instead.
use super::tail::t_cdf;

/// Probability that the true value is at least `limit`: Φ((y − T)/u).
pub fn at_least(y: f64, u: f64, dof: f64, limit: f64) -> f64 {
    if u > 0.0 {
        t_cdf((y - limit) / u, dof)
    } else if y >= limit {
        1.0
    } else {
        0.0
    }
}

/// Probability that the true value is at most `limit`: Φ((T − y)/u).
pub fn at_most(y: f64, u: f64, dof: f64, limit: f64) -> f64 {
    at_least(-y, u, dof, -limit)
}

/// Probability that the true value lies between `low` and `high`.
pub fn between(y: f64, u: f64, dof: f64, low: f64, high: f64) -> f64 {
    (at_most(y, u, dof, high) - at_most(y, u, dof, low)).max(0.0)
}
