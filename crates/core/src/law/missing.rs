//! Which test is missing: the shortest idle time before a reference discharge that makes an answer possible.
use super::answer::K95;
use super::{Law, Load, Row, Segment};
use nalgebra::Vector3;

/// Shortest idle time worth a test, h.
const SHORTEST_H: f64 = 4.0;
/// Longest idle time proposed, h.
const LONGEST_H: f64 = 240.0;
/// Share of the store an idle time may use up, so that a discharge worth measuring is left.
const IDLE_SHARE: f64 = 0.8;
/// Idle draw assumed for planning where the fit does not know it: 2 % of rated power (common practice: 0.3–3 %).
const IDLE_OF_RATED: f64 = 0.02;

/// The test that would allow a refused answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MissingTest {
    /// Full, outlet on without load for `idle_h`, then discharge at `reference_w` to the cut-off.
    IdleThenReference {
        /// Idle hours, whole steps.
        idle_h: f64,
        /// Power of the discharge after it, W.
        reference_w: f64,
        /// Relative 95 % half-width of the refused runtime that this is expected to give.
        half_width: f64,
    },
    /// A discharge at this load to the cut-off, W.
    DischargeAt {
        /// The load, W.
        watts: f64,
    },
}

impl MissingTest {
    /// The test in plain words.
    pub fn text(&self) -> String {
        match self {
            MissingTest::IdleThenReference { idle_h, reference_w, .. } => format!(
                "charge full, leave the outlet on without load for {idle_h:.0} h, then discharge at {reference_w:.0} W to the cut-off"
            ),
            MissingTest::DischargeAt { watts } => {
                format!("charge full, then discharge at {watts:.0} W to the cut-off")
            }
        }
    }
}

/// Idle times offered: hour by hour to 12 h, then 2 h to 24 h, then 4 h.
fn next_step(hours: f64) -> f64 {
    hours
        + match hours {
            h if h < 12.0 => 1.0,
            h if h < 24.0 => 2.0,
            _ => 4.0,
        }
}

/// Idle hours before a reference discharge that bring the idle draw to a standard uncertainty of `wanted_u_w` W:
/// u(a) ≈ E·u_rel·√2/T, both discharges with relative uncertainty `row_u_rel`; at least 4 h, rounded up to a step.
/// `None` when that would take more than ten days or an input is not above 0. `store_wh` is the usable store, Wh.
pub fn missing_idle_hours(store_wh: f64, row_u_rel: f64, wanted_u_w: f64) -> Option<f64> {
    if !(store_wh > 0.0 && row_u_rel > 0.0 && wanted_u_w > 0.0) {
        return None;
    }
    let needed = store_wh * row_u_rel * 2f64.sqrt() / wanted_u_w;
    let steps = std::iter::successors(Some(SHORTEST_H), |h| Some(next_step(*h)));
    steps.take_while(|h| *h <= LONGEST_H).find(|h| *h >= needed)
}

impl Law {
    /// The cheapest test that would bring the 95 % half-width of this load's runtime under `rules.aim_below`.
    pub fn missing_test(&self, load: Load) -> MissingTest {
        let discharge = MissingTest::DischargeAt { watts: load.mean_w };
        if load.mean_w > self.span.1 || self.b <= 0.0 {
            return discharge;
        }
        let a = self.planning_a();
        let mut hours = SHORTEST_H;
        while hours <= LONGEST_H && hours * a < IDLE_SHARE {
            let half_width = self.half_width_after(load, a, hours);
            if half_width < self.rules.aim_below {
                return MissingTest::IdleThenReference {
                    idle_h: hours,
                    reference_w: self.reference_w,
                    half_width,
                };
            }
            hours = next_step(hours);
        }
        discharge
    }

    /// a for planning, 1/h: the fitted one where it is known to better than half of itself.
    fn planning_a(&self) -> f64 {
        let u = self.covariance[0][0].max(0.0).sqrt();
        let rated = self.rules.rated_w.unwrap_or(self.span.1);
        if self.a > 2.0 * u { self.a } else { IDLE_OF_RATED * rated * self.b }
    }

    /// Relative half-width of the load's runtime once the row (idle for `hours`, then the reference) has been added.
    fn half_width_after(&self, load: Load, a: f64, hours: f64) -> f64 {
        let drain = self.drain(self.reference_w).max(a + self.b * self.reference_w);
        let left = Segment { watts: self.reference_w, hours: (1.0 - a * hours) / drain };
        let row = Row::segments("", &[Segment { watts: 0.0, hours }, left], self.row_u).vector();
        let covariance = self.covariance();
        let pulled = covariance * row;
        // One more row of weight 1/u²: the covariance loses what the row explains (Sherman–Morrison).
        let after = covariance - pulled * pulled.transpose() / (self.row_u.powi(2) + row.dot(&pulled));
        let x = load.vector();
        let drain_at = a + self.b * load.mean_w + self.c * load.mean_w2;
        let by_gain = Vector3::new(0.0, self.b, 2.0 * self.c).dot(&x) * self.rules.u_gain;
        K95 * x.dot(&(after * x)).max(0.0).sqrt().hypot(by_gain) / drain_at
    }
}
