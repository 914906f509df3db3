//! A claim against a measured value. One rule for every kind, set before the measurement.
//!
//! Rule: p, the probability that the true value keeps the claim given the measurement (JCGM 106:2012
//! section 7). met p ≥ 0.95 · probably met p ≥ 0.80 · probably not met p ≤ 0.20 · not met p ≤ 0.05 · else cannot
//! tell; both thresholds are settings. Claims that every trial must keep have no p: trials are counted and the
//! failure rate is bounded by the exact one-sided 95 % limit (Clopper and Pearson 1934).
use crate::measurand::{Better, ResultSpec};
use crate::notebook::{Bound, Settings};
use crate::stats;
use crate::uncertain::Value;

/// What is said of a claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// Kept, beyond reasonable doubt.
    Met,
    /// Kept, more likely than not.
    ProbablyMet,
    /// The interval holds both answers.
    CannotTell,
    /// Not kept, more likely than not.
    ProbablyNotMet,
    /// Not kept, beyond reasonable doubt.
    NotMet,
    /// The claim does not say enough to be judged.
    ClaimUnclear,
    /// Measured under another condition than claimed: both are printed, nothing is judged.
    ConditionsDiffer,
    /// Nothing was measured.
    NotTested,
    /// Measured only on a firmware that has been replaced.
    Superseded,
}

impl Verdict {
    /// Stable word for programs.
    pub fn key(self) -> &'static str {
        match self {
            Verdict::Met => "met",
            Verdict::ProbablyMet => "probably-met",
            Verdict::CannotTell => "cannot-tell",
            Verdict::ProbablyNotMet => "probably-not-met",
            Verdict::NotMet => "not-met",
            Verdict::ClaimUnclear => "claim-unclear",
            Verdict::ConditionsDiffer => "conditions-differ",
            Verdict::NotTested => "not-tested",
            Verdict::Superseded => "superseded",
        }
    }
    /// As printed.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Met => "met",
            Verdict::ProbablyMet => "probably met",
            Verdict::CannotTell => "cannot tell",
            Verdict::ProbablyNotMet => "probably not met",
            Verdict::NotMet => "not met",
            Verdict::ClaimUnclear => "claim unclear",
            Verdict::ConditionsDiffer => "conditions differ",
            Verdict::NotTested => "not tested",
            Verdict::Superseded => "superseded by firmware",
        }
    }
    /// True for the two that speak against the claim.
    pub fn against(self) -> bool {
        matches!(self, Verdict::NotMet | Verdict::ProbablyNotMet)
    }
}

/// True when the claim is a minimum.
pub fn is_minimum(result: &ResultSpec, bound: Bound) -> bool {
    match bound {
        Bound::Minimum => true,
        Bound::Maximum => false,
        Bound::AsUsual | Bound::Unclear => result.better == Better::More,
    }
}

/// Probability that the true value keeps a limit.
pub fn p_kept(measured: &Value, limit: f64, minimum: bool) -> f64 {
    let below = measured.p_below(limit);
    if minimum { 1.0 - below } else { below }
}

/// The word for a probability of conformity.
pub fn word(p: f64, rule: &Settings) -> Verdict {
    if p >= rule.met_from {
        Verdict::Met
    } else if p >= rule.probably_from {
        Verdict::ProbablyMet
    } else if 1.0 - p >= rule.met_from {
        Verdict::NotMet
    } else if 1.0 - p >= rule.probably_from {
        Verdict::ProbablyNotMet
    } else {
        Verdict::CannotTell
    }
}

/// Trials counted against a limit.
#[derive(Clone, Debug, PartialEq)]
pub struct Counted {
    /// Trials.
    pub n: u64,
    /// Trials beyond the limit.
    pub k: u64,
    /// Exact one-sided 95 % upper bound of the failure rate.
    pub bound: f64,
    /// The trial furthest on the bad side; `None` when only survival was seen.
    pub worst: Option<Value>,
    /// What that makes of the claim.
    pub verdict: Verdict,
}

/// With this bound or less, no failure seen means `met`: 0 of 20.
const MET_BOUND: f64 = 0.14;
/// From this number of trials on, no failure seen means `probably met`.
const PROBABLY_TRIALS: u64 = 5;

/// Counts measured trials against a limit.
pub fn count(values: &[Value], limit: f64, minimum: bool) -> Counted {
    let beyond = |v: &Value| if minimum { limit - v.x } else { v.x - limit };
    let n = values.len() as u64;
    let k = values.iter().filter(|v| beyond(v) > 0.0).count() as u64;
    let surely = values.iter().any(|v| beyond(v) > v.half95());
    let worst = values.iter().max_by(|a, b| beyond(a).total_cmp(&beyond(b))).cloned();
    finish(n, k, surely, worst)
}

/// Judges trials of which only failing or not was seen.
pub fn count_seen(n: u64, failed: u64) -> Counted {
    finish(n, failed, failed > 0, None)
}

fn finish(n: u64, k: u64, surely: bool, worst: Option<Value>) -> Counted {
    let bound = if n == 0 { 1.0 } else { stats::binomial::failure_upper_bound(k, n, 0.95) };
    let verdict = match (n, k) {
        (0, _) => Verdict::NotTested,
        (_, k) if k > 0 => {
            if surely {
                Verdict::NotMet
            } else {
                Verdict::CannotTell
            }
        }
        _ if bound <= MET_BOUND => Verdict::Met,
        _ if n >= PROBABLY_TRIALS => Verdict::ProbablyMet,
        _ => Verdict::CannotTell,
    };
    Counted { n, k, bound, worst, verdict }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Dim;
    use crate::stats::coverage::Shape;
    use crate::uncertain::{Effect, Influence};
    fn v(x: f64, u: f64) -> Value {
        Value::exact(Dim::Energy, x).with(
            Influence::test("t", Effect::Stated, ""),
            u,
            Shape::Normal,
            f64::INFINITY,
        )
    }
    #[test]
    fn probability_of_conformity() {
        // JCGM 106 one-sided examples; numbers from memory, arithmetic Φ(1.4) and Φ(19.7/8.6): 0.9192433, 0.9890095.
        assert!((p_kept(&v(-5.47, 0.05), -5.40, false) - 0.919_243_340_8).abs() < 1e-9);
        assert!((p_kept(&v(509.7, 8.6), 490.0, true) - 0.989_009_547_4).abs() < 1e-9);
        // Upper limit 10, y 9.8, u 0.1: non-conformity Φ(−2) = 0.0227501.
        assert!((1.0 - p_kept(&v(9.8, 0.1), 10.0, false) - 0.022_750_1).abs() < 1e-7);
    }
    #[test]
    fn words_at_their_thresholds() {
        let rule = Settings::default();
        let words = [
            (0.95, Verdict::Met),
            (0.949, Verdict::ProbablyMet),
            (0.8, Verdict::ProbablyMet),
            (0.5, Verdict::CannotTell),
        ];
        for (p, verdict) in words {
            assert_eq!(word(p, &rule), verdict, "{p}");
        }
        for (p, verdict) in
            [(0.2, Verdict::ProbablyNotMet), (0.05, Verdict::NotMet), (0.21, Verdict::CannotTell)]
        {
            assert_eq!(word(p, &rule), verdict, "{p}");
        }
    }
    #[test]
    fn trials_are_counted_not_averaged() {
        let ok: Vec<_> = (0..20).map(|_| v(9.0, 0.1)).collect();
        // 0 of 20: exact bound 1 − 0.05^(1/20) = 0.13911.
        let c = count(&ok, 10.0, false);
        assert_eq!((c.n, c.k, c.verdict), (20, 0, Verdict::Met));
        assert!((c.bound - 0.139_108).abs() < 1e-6);
        let mut one = ok.clone();
        one[3] = v(13.1, 0.1);
        assert_eq!(count(&one, 10.0, false).verdict, Verdict::NotMet);
        one[3] = v(10.1, 0.1); // beyond, but by less than its own U of 0.196
        assert_eq!(count(&one, 10.0, false).verdict, Verdict::CannotTell);
        assert_eq!(count(&ok[..5], 10.0, false).verdict, Verdict::ProbablyMet);
        assert_eq!(count(&ok[..4], 10.0, false).verdict, Verdict::CannotTell);
        assert_eq!(count(&[], 10.0, false).verdict, Verdict::NotTested);
        assert_eq!(count_seen(20, 2).verdict, Verdict::NotMet);
    }
}
