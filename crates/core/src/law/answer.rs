//! What the law answers: runtimes, energies, idle draw, best load, whole profiles; or the refusal.
use super::{Known, Law, Load, MissingTest, Segment};
use crate::stats::tail::{normal_cdf, normal_quantile};
use nalgebra::Vector3;

/// Two-sided 95 % factor: the variances are given, not estimated from the fit.
pub(super) const K95: f64 = 1.959963985;
/// How far from the only power tested an answer may be.
const ONE_POWER_REACH: f64 = 0.10;

/// A value with its two kinds of uncertainty kept apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Value {
    /// The value, in the unit of the question.
    pub value: f64,
    /// Standard uncertainty without the meter's shared gain.
    pub u: f64,
    /// Signed change of the value per relative change of the shared gain (true = read·(1 + g)), for a load given in
    /// true watts. A runtime for a device read on the same meter has none: it cancels.
    pub per_gain: f64,
}

impl Value {
    /// Standard uncertainty with a gain of relative standard uncertainty `u_gain`.
    pub fn u_with_gain(&self, u_gain: f64) -> f64 {
        self.u.hypot(self.per_gain * u_gain)
    }
    /// Relative standard uncertainty without the gain.
    pub fn u_rel(&self) -> f64 {
        self.u / self.value.abs()
    }
}

/// How long a load runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answer {
    /// Hours to the cut-off.
    pub runtime_h: Value,
    /// Energy delivered at the outlet until then, Wh.
    pub energy_wh: Value,
}

/// Why there is no answer, and what would give one.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// Mean power asked for, W.
    pub w: f64,
    /// The reason in plain words.
    pub why: String,
    /// The test that would allow the answer.
    pub missing: MissingTest,
}

/// The idle draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Idle {
    /// a/b in W at the outlet ("AC-equivalent": a few per cent below the battery-side figure).
    Draw(Value),
    /// The fit put it at 0: below this many W with 95 % probability.
    Below(f64),
}

/// How a profile ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ending {
    /// The store is empty after these hours.
    Empty(Value),
    /// The profile ends first; this share of the store is left.
    Left(Value),
}

impl Law {
    /// Runtime and energy at a load, or the refusal with the missing test.
    pub fn answer(&self, load: Load) -> Result<Answer, Refusal> {
        if !(load.mean_w >= 0.0 && load.mean_w2.is_finite()) {
            return Err(self.refusal(load, "the load must be a power of 0 W or more".into()));
        }
        if let Some(why) = self.outside(load) {
            return Err(self.refusal(load, why));
        }
        let drain = self.coefficients().dot(&load.vector());
        // Written so that what is not a number is refused too.
        if !(drain > 0.0 && drain.is_finite()) {
            return Err(self.refusal(load, "the tests so far leave the drain at this load unknown".into()));
        }
        let runtime = self.until_empty(&(load.vector() / drain), drain, 1.0 / drain);
        let half = K95 * runtime.u_with_gain(self.rules.u_gain) / runtime.value;
        if !(half <= self.rules.refuse_above && runtime.value.is_finite()) {
            let why = format!(
                "the runtime is known only to ± {:.0} %, more than the ± {:.0} % allowed",
                100.0 * half,
                100.0 * self.rules.refuse_above
            );
            return Err(self.refusal(load, why));
        }
        let times = |v: f64| v * load.mean_w;
        let energy_wh =
            Value { value: times(runtime.value), u: times(runtime.u), per_gain: times(runtime.per_gain) };
        Ok(Answer { runtime_h: runtime, energy_wh })
    }

    /// Whether a profile lasts, and until when: runs its pieces in order until ∫d = 1, over and over if `repeat`.
    /// No refusal here: the caller compares `u` with what it needs.
    pub fn run(&self, pieces: &[Segment], repeat: bool) -> Ending {
        let mut sums = Vector3::zeros();
        let mut used = 0.0;
        let once: f64 = pieces.iter().map(|p| p.hours * self.drain(p.watts)).sum();
        if repeat && once > 0.0 {
            // Whole rounds that surely fit, at one stroke.
            let rounds = (1.0 / once).floor().max(1.0) - 1.0;
            for p in pieces {
                sums += Load::steady(p.watts).vector() * p.hours * rounds;
            }
            used = rounds * once;
        }
        for _ in 0..if repeat && once > 0.0 { 3 } else { 1 } {
            for p in pieces {
                let drain = self.drain(p.watts);
                let vector = Load::steady(p.watts).vector();
                if used + p.hours * drain >= 1.0 {
                    sums += vector * ((1.0 - used) / drain);
                    return Ending::Empty(self.until_empty(&sums, drain, sums.x));
                }
                used += p.hours * drain;
                sums += vector * p.hours;
            }
        }
        let u = sums.dot(&(self.covariance() * sums)).max(0.0).sqrt();
        Ending::Left(Value { value: 1.0 - used, u, per_gain: -self.gain().dot(&sums) })
    }

    /// Idle draw a/b. `None` where one power only is known.
    pub fn idle(&self) -> Option<Idle> {
        if self.known == Known::OnePower || self.b <= 0.0 {
            return None;
        }
        if self.a_is_bound {
            // 95 % quantile of the free fit's normal distribution, cut at 0.
            let u = self.covariance[0][0].sqrt();
            let beyond = 0.05 * normal_cdf(self.free_a / u);
            return Some(Idle::Below((self.free_a - u * normal_quantile(beyond)) / self.b));
        }
        let slope = Vector3::new(1.0 / self.b, -self.a / self.b.powi(2), 0.0);
        Some(Idle::Draw(self.derived(self.a / self.b, slope)))
    }

    /// Load of best efficiency √(a/c), W; `None` where a or c is not known to be above 0.
    pub fn best_load(&self) -> Option<Value> {
        if self.known != Known::Whole || self.a <= 0.0 || self.c <= 0.0 {
            return None;
        }
        let best = (self.a / self.c).sqrt();
        Some(self.derived(best, Vector3::new(0.5 * best / self.a, 0.0, -0.5 * best / self.c)))
    }

    /// T with ∫₀ᵀ d = 1: dT = −(H, W, S)·dθ / d(P at the end).
    fn until_empty(&self, sums: &Vector3<f64>, drain_at_end: f64, hours: f64) -> Value {
        self.derived(hours, -sums / drain_at_end)
    }

    fn derived(&self, value: f64, slope: Vector3<f64>) -> Value {
        let u = slope.dot(&(self.covariance() * slope)).max(0.0).sqrt();
        Value { value, u, per_gain: self.gain().dot(&slope) }
    }

    fn outside(&self, load: Load) -> Option<String> {
        let reach = if self.known == Known::OnePower { ONE_POWER_REACH } else { 0.0 };
        if self.known == Known::Whole {
            return None;
        }
        let (low, high) = (self.span.0 * (1.0 - reach), self.span.1 * (1.0 + reach));
        // A hair of tolerance, so that the loads tested themselves are inside.
        if load.mean_w >= low * (1.0 - 1e-9) && load.mean_w <= high * (1.0 + 1e-9) {
            return None;
        }
        let powers =
            if self.known == Known::OnePower { "one mean power was" } else { "two mean powers were" };
        Some(format!("only {powers} tested: answers from {low:.0} to {high:.0} W"))
    }

    fn refusal(&self, load: Load, why: String) -> Refusal {
        Refusal { w: load.mean_w, why, missing: self.missing_test(load) }
    }
}
