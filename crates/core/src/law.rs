//! The drain law: what makes the tests of one specimen one thing.
//!
//! Loss is quadratic in power, so the drain per hour is d(P) = a + b·P + c·P² shares of the usable store (a in 1/h,
//! b in 1/Wh, c in 1/(W²·h)). A test that starts full and rested, is not charged meanwhile and ends by low-battery
//! cut-off is one [`Row`], whatever its load did: **a·H + b·W + c·S = 1**, with H hours of outlet on, W = ∫P dt,
//! S = ∫P² dt. [`fit`] turns rows into a [`Law`]; the law answers runtimes, energies, idle draw and best load, each with
//! its uncertainty and its sensitivity to the shared gain of the meter, or refuses and names the missing test.
//!
//! The quadratic loss is the NREL converter loss model P_in = P + p0 + p1·P + p2·P² (a = p0/E, b = (1 + p1)/E, c = p2/E).
mod answer;
mod bound;
mod carry;
mod fit;
mod missing;
mod row;

pub use answer::{Answer, Ending, Idle, Refusal, Value};
pub use bound::check_bound;
pub use carry::carry_over;
pub use fit::{Residual, fit};
pub use missing::{MissingTest, missing_idle_hours};
pub use row::{Load, Row, Segment};

use crate::finding::Finding;
use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

/// What may be edited; the defaults are the bench's own rules.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rules {
    /// Rated continuous power, W: scales the curvature assumed where only two powers were tested.
    /// Without it the highest load tested stands for it.
    pub rated_w: Option<f64>,
    /// Assumed c·P_rated/b where the rows cannot tell c: mean and standard deviation. 0.055 ± 0.03: the inverter stage
    /// alone gives 0.021 ± 0.008 (pvlib 0.16.1, SAM CEC inverter table 2019-03-05, derived in tests/derive/curve_prior.py);
    /// the rest is the store's own loss with rate (common practice, hence the width).
    pub curve: (f64, f64),
    /// A runtime whose 95 % half-width exceeds this share of it is refused.
    pub refuse_above: f64,
    /// The missing test is chosen to bring the half-width under this share.
    pub aim_below: f64,
    /// Relative standard uncertainty of the gain that all rows share (one meter).
    pub u_gain: f64,
}

impl Default for Rules {
    fn default() -> Self {
        Rules { rated_w: None, curve: (0.055, 0.03), refuse_above: 0.20, aim_below: 0.05, u_gain: 0.0 }
    }
}

/// How much the rows could tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Known {
    /// One mean power: that load ± 10 % only. a, b and c mean nothing by themselves.
    OnePower,
    /// Two mean powers: a and b, with c assumed; answers between them only.
    TwoPowers,
    /// a, b and c from the rows; the half-width alone decides what may be answered.
    Whole,
}

/// A fitted drain law. As data it is what answers need; how well each row fits is not written.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Law {
    /// a in 1/h: the idle share per hour. 0 when the rows put it there ([`Law::a_is_bound`]).
    pub a: f64,
    /// b in 1/Wh.
    pub b: f64,
    /// c in 1/(W²·h); 0 when the rows gave a negative one.
    pub c: f64,
    /// Covariance of (a, b, c) without the shared gain. Where a or c was set to 0 it is still that of the free fit:
    /// being at the border does not make a coefficient known.
    pub covariance: [[f64; 3]; 3],
    /// Σ (residual/σ)², the σ given by the rows, never rescaled.
    pub chi2: f64,
    /// Degrees of freedom of χ².
    pub dof: usize,
    /// What the rows could tell.
    pub known: Known,
    /// Each row against the law.
    #[serde(skip)]
    pub residuals: Vec<Residual>,
    /// What was noticed.
    #[serde(skip)]
    pub findings: Vec<Finding>,
    /// The rules it was fitted under.
    pub rules: Rules,
    /// a was at or below 0 and set to 0: the idle draw is only bounded from above.
    pub a_is_bound: bool,
    /// c was below 0 and set to 0: there is no best load.
    pub c_is_zero: bool,
    /// Lowest and highest load answered when `known` is not `Whole`, W.
    span: (f64, f64),
    /// a of the free fit, 1/h, for the bound.
    free_a: f64,
    /// Typical relative standard uncertainty of a row, for planning.
    row_u: f64,
    /// A load already run on this bench that a reference discharge can use again, W.
    reference_w: f64,
}

impl Law {
    /// Probability of a χ² at least this large if law and stated uncertainties are right; 1 without degrees of freedom.
    pub fn p_value(&self) -> f64 {
        crate::stats::tail::chi_squared_beyond(self.chi2, self.dof as f64)
    }

    /// Drain per hour at a steady load, shares of the store.
    pub fn drain(&self, watts: f64) -> f64 {
        self.coefficients().dot(&Load::steady(watts).vector())
    }

    /// The law alone, without how each row fits it and what was noticed: all that answers need.
    pub fn bare(&self) -> Law {
        Law { residuals: Vec::new(), findings: Vec::new(), ..*self }
    }

    fn coefficients(&self) -> Vector3<f64> {
        Vector3::new(self.a, self.b, self.c)
    }

    /// Signed change of (a, b, c) per relative change of the meter's gain.
    fn gain(&self) -> Vector3<f64> {
        Vector3::new(0.0, -self.b, -2.0 * self.c)
    }

    fn covariance(&self) -> Matrix3<f64> {
        Matrix3::from_fn(|i, j| self.covariance[i][j])
    }
}

fn array(m: &Matrix3<f64>) -> [[f64; 3]; 3] {
    std::array::from_fn(|i| std::array::from_fn(|j| m[(i, j)]))
}
