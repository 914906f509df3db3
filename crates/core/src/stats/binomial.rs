//! Counts: what k events in n trials say about the rate.
use super::tail::normal_quantile;
use statrs::function::beta::{beta_reg, inv_beta_reg, ln_beta};

/// Exact two-sided interval of a rate (Clopper and Pearson 1934, beta form). n = 0 or k > n says nothing: 0 to 1.
pub fn clopper_pearson(k: u64, n: u64, conf: f64) -> (f64, f64) {
    let one_sided = 0.5 + 0.5 * conf;
    (lower_bound(k, n, one_sided), upper_bound(k, n, one_sided))
}

/// Exact one-sided lower bound of a rate after k events in n trials, at confidence `conf`.
pub fn lower_bound(k: u64, n: u64, conf: f64) -> f64 {
    if k == 0 || k > n { 0.0 } else { beta_quantile(1.0 - conf, k as f64, (n - k + 1) as f64) }
}

/// Exact one-sided upper bound of a rate after k events in n trials, at confidence `conf`.
pub fn upper_bound(k: u64, n: u64, conf: f64) -> f64 {
    if k >= n { 1.0 } else { beta_quantile(conf, (k + 1) as f64, (n - k) as f64) }
}

/// Exact one-sided upper bound on the failure rate after k failures in n trials: 5 of 5 good still allows 45 % at 95 %.
pub fn failure_upper_bound(k: u64, n: u64, conf: f64) -> f64 {
    upper_bound(k, n, conf)
}

/// Score interval of a rate (Wilson 1927), two-sided. n = 0 or k > n says nothing: 0 to 1.
pub fn wilson(k: u64, n: u64, conf: f64) -> (f64, f64) {
    if n == 0 || k > n {
        return (0.0, 1.0);
    }
    let (p, n, z) = (k as f64 / n as f64, n as f64, normal_quantile(0.5 + 0.5 * conf));
    let centre = p + z * z / (2.0 * n);
    let reach = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    let scale = 1.0 + z * z / n;
    (((centre - reach) / scale).max(0.0), ((centre + reach) / scale).min(1.0))
}

/// x with I_x(a, b) = p. The library's inverse is polished by two Newton steps.
fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let mut x = inv_beta_reg(a, b, p);
    for _ in 0..2 {
        let log_density = (a - 1.0) * x.ln() + (b - 1.0) * (-x).ln_1p() - ln_beta(a, b);
        let next = x - (beta_reg(a, b, x) - p) / log_density.exp();
        if next > 0.0 && next < 1.0 {
            x = next;
        }
    }
    x
}
