//! Tails and quantiles of the normal, Student t and χ² distributions; effective degrees of freedom.
use statrs::function::{beta, erf, gamma};
use std::f64::consts::{PI, SQRT_2};

/// Above this many degrees of freedom a Student t is taken as normal: its 95 % factor differs by 1.2e-5 relative.
const DOF_NORMAL: f64 = 1e5;

/// Standard normal density at z.
pub fn normal_pdf(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Standard normal distribution function Φ(z).
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * erf::erfc(-z / SQRT_2)
}

/// z with Φ(z) = p, for p in (0, 1).
pub fn normal_quantile(p: f64) -> f64 {
    -SQRT_2 * erf::erfc_inv(2.0 * p)
}

/// Student t density at x with `dof` degrees of freedom (> 0, ∞ allowed).
pub fn t_pdf(x: f64, dof: f64) -> f64 {
    t_peak(dof) * t_kernel(x, dof)
}

/// Student t distribution function at x with `dof` degrees of freedom (> 0, ∞ allowed).
pub fn t_cdf(x: f64, dof: f64) -> f64 {
    if dof > DOF_NORMAL {
        return normal_cdf(x);
    }
    let tail = 0.5 * beta::beta_reg(0.5 * dof, 0.5, dof / (dof + x * x));
    if x > 0.0 { 1.0 - tail } else { tail }
}

/// x with T(x) = p, for p in (0, 1).
pub fn t_quantile(p: f64, dof: f64) -> f64 {
    if dof > DOF_NORMAL {
        return normal_quantile(p);
    }
    let tail = p.min(1.0 - p);
    if tail == 0.5 {
        return 0.0;
    }
    let y = beta::inv_beta_reg(0.5 * dof, 0.5, 2.0 * tail);
    let mut x = -(dof * (1.0 - y) / y).sqrt();
    // The library's inverse stops early for some shapes; two Newton steps bring it to the last digits.
    for _ in 0..2 {
        let step = (t_cdf(x, dof) - tail) / t_pdf(x, dof);
        if step.is_finite() {
            x -= step;
        }
    }
    if p < 0.5 { x } else { -x }
}

/// Two-sided coverage factor: |T| ≤ k with probability `conf` (JCGM 100:2008, Table G.2).
pub fn t_factor(conf: f64, dof: f64) -> f64 {
    t_quantile(0.5 + 0.5 * conf, dof)
}

/// Probability that χ² with `dof` degrees of freedom exceeds x. 1 for no degrees of freedom.
pub fn chi_squared_beyond(x: f64, dof: f64) -> f64 {
    if dof <= 0.0 || x <= 0.0 { 1.0 } else { gamma::gamma_ur(0.5 * dof, 0.5 * x) }
}

/// Probability that a ratio of two variances, with `above` and `below` degrees of freedom (> 0), exceeds x.
pub fn f_beyond(x: f64, above: f64, below: f64) -> f64 {
    if x <= 0.0 { 1.0 } else { beta::beta_reg(0.5 * below, 0.5 * above, below / (below + above * x)) }
}

/// Effective degrees of freedom of independent parts (u, ν): u_c⁴ / Σ(u⁴/ν) (JCGM 100:2008, G.4.1; Welch–Satterthwaite).
/// ∞ when no part with finite ν contributes. Not valid for correlated parts: join those first.
pub fn welch_satterthwaite(parts: &[(f64, f64)]) -> f64 {
    let total: f64 = parts.iter().map(|(u, _)| u * u).sum();
    if total <= 0.0 {
        return f64::INFINITY;
    }
    // Shares of variance, so that no fourth power under- or overflows.
    let denominator: f64 = parts.iter().map(|(u, dof)| (u * u / total).powi(2) / dof).sum();
    1.0 / denominator
}

/// The t density at 0.
pub(super) fn t_peak(dof: f64) -> f64 {
    if dof > DOF_NORMAL {
        return normal_pdf(0.0);
    }
    (gamma::ln_gamma(0.5 * (dof + 1.0)) - gamma::ln_gamma(0.5 * dof)).exp() / (dof * PI).sqrt()
}

/// The t density relative to its peak.
pub(super) fn t_kernel(x: f64, dof: f64) -> f64 {
    if dof > DOF_NORMAL {
        return (-0.5 * x * x).exp();
    }
    (-0.5 * (dof + 1.0) * (x * x / dof).ln_1p()).exp()
}
