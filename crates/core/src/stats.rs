//! Statistics (placeholder until merged).
use statrs::distribution::{ContinuousCDF, Normal, Beta};
/// q
pub fn normal_quantile(p: f64) -> f64 { Normal::standard().inverse_cdf(p) }
/// c
pub fn normal_cdf(z: f64) -> f64 { Normal::standard().cdf(z) }
/// f
pub fn failure_upper_bound(k: u64, n: u64, conf: f64) -> f64 { if k >= n { 1.0 } else { Beta::new(k as f64 + 1.0, (n - k) as f64).map_or(1.0, |b| b.inverse_cdf(conf)) } }
