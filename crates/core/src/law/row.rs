//! A row: one full discharge to the cut-off, as three sums; and a load that may vary.
use nalgebra::Vector3;

/// One piece of a load, at constant power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Power at the outlet, W.
    pub watts: f64,
    /// How long, h.
    pub hours: f64,
}

/// One test that started full and rested, was not charged meanwhile and ended by low-battery cut-off.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What to call it in findings.
    pub label: String,
    /// Hours with the outlet on, idle ones included.
    pub hours: f64,
    /// Energy at the outlet, Wh, the meter's own draw included where it hangs on the outlet.
    pub wh: f64,
    /// ∫P² dt, W²·h. For an on/off load P_on·W.
    pub w2h: f64,
    /// Relative standard uncertainty of the row as a whole: repeatability of the store, state at start. Private to the row.
    pub u_rel: f64,
    /// Private standard uncertainty of `wh` (resolution, counter step), Wh; the shared gain does not belong here.
    pub u_wh: f64,
    /// Relative standard uncertainty of the idle draw in this run: it differs a little from run to run. Private.
    pub u_idle: f64,
}

impl Row {
    /// From the three sums.
    pub fn sums(label: impl Into<String>, hours: f64, wh: f64, w2h: f64, u_rel: f64) -> Self {
        Row { label: label.into(), hours, wh, w2h, u_rel, u_wh: 0.0, u_idle: 0.0 }
    }

    /// A steady load of `watts` that ran `hours`.
    pub fn steady(label: impl Into<String>, watts: f64, hours: f64, u_rel: f64) -> Self {
        Self::segments(label, &[Segment { watts, hours }], u_rel)
    }

    /// A load known piece by piece, e.g. an idle night and the reference discharge after it.
    pub fn segments(label: impl Into<String>, pieces: &[Segment], u_rel: f64) -> Self {
        let sum = |f: fn(&Segment) -> f64| pieces.iter().map(f).sum();
        Self::sums(
            label,
            sum(|p| p.hours),
            sum(|p| p.watts * p.hours),
            sum(|p| p.watts.powi(2) * p.hours),
            u_rel,
        )
    }

    /// The same row with a private uncertainty of its energy, Wh.
    pub fn with_u_wh(mut self, u_wh: f64) -> Self {
        self.u_wh = u_wh;
        self
    }

    /// The same row with an idle draw that differs from run to run, relative.
    pub fn with_u_idle(mut self, u_idle: f64) -> Self {
        self.u_idle = u_idle;
        self
    }

    /// (H, W, S).
    pub(super) fn vector(&self) -> Vector3<f64> {
        Vector3::new(self.hours, self.wh, self.w2h)
    }

    /// Mean power over the hours, W.
    pub(super) fn mean_w(&self) -> f64 {
        self.wh / self.hours
    }

    /// Lowest and highest load the row speaks for, W. A row mostly off (S·H/W² ≥ 1.5: an idle night and a discharge,
    /// a fridge) speaks for 0 W and for its power while on, S/W; any other for its mean power.
    pub(super) fn span(&self) -> (f64, f64) {
        if self.wh <= 0.0 {
            (0.0, 0.0)
        } else if self.w2h * self.hours >= 1.5 * self.wh * self.wh {
            (0.0, self.w2h / self.wh)
        } else {
            (self.mean_w(), self.mean_w())
        }
    }

    /// Standard uncertainty of a·H + b·W + c·S: an error of W enters with b + 2c·S/W, one of the idle draw with a·H.
    pub(super) fn sigma(&self, coefficients: &Vector3<f64>) -> f64 {
        let by_energy =
            if self.wh > 0.0 { coefficients.y + 2.0 * coefficients.z * self.w2h / self.wh } else { 0.0 };
        self.u_rel.hypot(by_energy * self.u_wh).hypot(coefficients.x.max(0.0) * self.hours * self.u_idle)
    }

    /// What makes the row unusable, if anything.
    pub(super) fn fault(&self) -> Option<&'static str> {
        let finite = [self.hours, self.wh, self.w2h, self.u_rel, self.u_wh].iter().all(|v| v.is_finite());
        if !finite {
            Some("a value is not a number")
        } else if self.hours <= 0.0 {
            Some("the hours must be above 0")
        } else if self.wh < 0.0 || self.w2h < 0.0 {
            Some("energy and W²·h must not be negative")
        } else if self.u_rel <= 0.0 || self.u_wh < 0.0 {
            Some("the row's relative uncertainty must be above 0")
        } else if self.w2h * self.hours < self.wh * self.wh * (1.0 - 1e-3) {
            Some("W²·h is below W²/H, which no load can do")
        } else {
            None
        }
    }
}

/// A load as the law sees it: its mean power and its mean square.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Mean power, W, ≥ 0.
    pub mean_w: f64,
    /// Mean of the squared power, W².
    pub mean_w2: f64,
}

impl Load {
    /// A steady load.
    pub fn steady(watts: f64) -> Self {
        Load { mean_w: watts, mean_w2: watts * watts }
    }

    /// A load of `watts` that is on for the share `duty` of the time, and off otherwise.
    pub fn on_off(watts: f64, duty: f64) -> Self {
        Load { mean_w: watts * duty, mean_w2: watts * watts * duty }
    }

    /// A load that repeats these pieces over and over.
    pub fn cycle(pieces: &[Segment]) -> Self {
        let row = Row::segments("", pieces, 1.0);
        Load { mean_w: row.wh / row.hours, mean_w2: row.w2h / row.hours }
    }

    pub(super) fn vector(&self) -> Vector3<f64> {
        Vector3::new(1.0, self.mean_w, self.mean_w2)
    }
}
