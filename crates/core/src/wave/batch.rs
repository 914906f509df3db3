//! Many captures of the same thing: median, longest, how many are over a limit.
use super::ride::{CLAIM, YARDSTICKS};
use crate::stats::binomial::failure_upper_bound;
use crate::stats::robust::median;
use serde::Serialize;

/// Dead times of a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Batch {
    /// Gaps measured.
    pub n: u64,
    /// Median, ms.
    pub median_ms: f64,
    /// Longest, ms.
    pub longest_ms: f64,
    /// Against each limit.
    pub over: Vec<Over>,
}

/// How many are over a limit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Over {
    /// Which limit.
    pub with: String,
    /// The limit, ms.
    pub limit_ms: f64,
    /// Gaps longer than it.
    pub k: u64,
    /// Exact one-sided 95 % upper bound of the share of gaps that are longer (Clopper and Pearson 1934), 0 to 1.
    pub bound: f64,
    /// Where the limit comes from.
    pub source: String,
}

/// Sums up dead times in ms; `None` for none.
pub fn batch(dead_ms: &[f64], claim_ms: Option<f64>) -> Option<Batch> {
    let mut sorted: Vec<f64> = dead_ms.iter().copied().filter(|t| t.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let longest_ms = *sorted.last()?;
    let median_ms = median(&sorted)?;
    let n = sorted.len() as u64;
    let over = |with: &str, limit_ms: f64, source: &str| {
        let k = sorted.iter().filter(|t| **t > limit_ms).count() as u64;
        let bound = failure_upper_bound(k, n, 0.95);
        Over { with: with.into(), limit_ms, k, bound, source: source.into() }
    };
    let claim = claim_ms.map(|limit| over(CLAIM, limit, "the claim as recorded"));
    let over = claim.into_iter().chain(YARDSTICKS.iter().map(|(w, l, s)| over(w, *l, s))).collect();
    Some(Batch { n, median_ms, longest_ms, over })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten gaps, median of the middle two (12 + 13)/2; none of ten over leaves 1 − 0.05^(1/10) = 0.258866 open.
    #[test]
    fn ten_gaps() {
        let times = [9.0, 15.0, 12.0, 13.0, 11.0, 14.0, 10.0, 16.0, 8.0, 18.0];
        let b = batch(&times, Some(20.0)).unwrap();
        assert_eq!((b.n, b.median_ms, b.longest_ms), (10, 12.5, 18.0));
        assert_eq!(b.over[0].k, 0);
        assert!((b.over[0].bound - 0.258_866).abs() < 1e-6);
        // Over 16 ms: 18 only; "over" is more than.
        assert_eq!(b.over.iter().find(|o| o.limit_ms == 16.0).unwrap().k, 1);
        assert_eq!(batch(&[], None), None);
    }
}
