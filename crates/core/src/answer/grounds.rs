//! What answers rest on: of each station the few facts that decide, so that the same question gets the same answer from
//! the whole bench and from what was published of it.
use crate::law::Law;
use crate::notebook::{Price, SwitchOff};
use crate::shown::Style;
use crate::uncertain::{Influence, Part, Value};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Everything needed to answer. As data it is what a published page carries.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Grounds {
    /// One per model, in the report's order.
    pub models: Vec<Ground>,
    /// Numbers in sentences have a decimal comma.
    #[serde(default)]
    pub decimal_comma: bool,
}

impl Grounds {
    /// How numbers are written in sentences.
    pub fn style(&self) -> Style {
        Style::of(self.decimal_comma)
    }
    /// Only the models a page may show.
    pub fn only(mut self, keep: impl Fn(&str) -> bool) -> Grounds {
        self.models.retain(|m| keep(&m.id));
        self
    }
}

/// What answers about one model rest on.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Ground {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Something was measured of it.
    pub tested: bool,
    /// Nominal outlet voltage, V; 0 when not noted.
    pub mains_v: f64,
    /// Power one outlet or leg gives at most, W; 0 when the whole power is at one outlet.
    pub per_outlet_w: f64,
    /// Its low-load switch-off, as noted.
    pub switch_off: SwitchOff,
    /// The runtime curves of its samples, oldest firmware first.
    pub laws: Vec<OneLaw>,
    /// What its tests showed.
    pub seen: Seen,
    /// The maker's figures that bear on an answer, by key, in the unit their dimension is kept in.
    pub claims: BTreeMap<String, f64>,
    /// The dated price stations are compared by.
    pub price: Option<Price>,
    /// That price is older than the bench allows.
    pub price_old: bool,
    /// Why there is no price.
    pub price_why: String,
}

/// The runtime curve of one sample under one firmware.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct OneLaw {
    /// Whose.
    pub specimen: String,
    /// Firmware.
    pub firmware: String,
    /// A newer firmware has a curve of its own.
    #[serde(default)]
    pub superseded: bool,
    /// The curve.
    pub law: Law,
    /// The gain that all its tests share, when they were read on one meter.
    #[serde(default)]
    pub gain: Option<(Influence, Part)>,
    /// The largest mean power of a test that ran to empty, W: it held that, whatever the test was for.
    pub ran_w: f64,
}

/// What tests of a model showed: the newest firmware's where it was tested, at usual temperature.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Seen {
    /// The most that was held, by result.
    pub held: BTreeMap<String, Value>,
    /// What was tried and not held, by result.
    pub failed: BTreeMap<String, Vec<NotHeld>>,
    /// The least that one outlet alone did not hold.
    pub one_outlet: Option<NotHeld>,
    /// Tries and failures of starting, by the device's name in lower case.
    pub starts: BTreeMap<String, (u64, u64)>,
    /// How long it took to switch over, h, in every trial.
    pub switchover_h: Vec<f64>,
    /// Its waveform in words, where it was looked at.
    pub waveform: Option<String>,
    /// Total harmonic distortion as a share, where it was measured; the worst.
    pub distortion: Option<Value>,
    /// Measured threshold of the AC outlet's low-load switch-off.
    pub below: Option<Value>,
    /// Measured time until then, h.
    pub after_h: Option<f64>,
    /// How a test found that switch-off.
    pub switch_off: Option<SeenOff>,
}

/// The low-load switch-off of the AC outlet as a test found it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SeenOff {
    /// Some load ended it.
    pub ended: bool,
    /// As delivered it is on.
    pub on: bool,
    /// The owner can disable it; `None` when that was not tried.
    pub can_be_disabled: Option<bool>,
    /// The smallest load that kept it on, W.
    pub stayed_w: Option<f64>,
}

/// A power that was tried and not held.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct NotHeld {
    /// How much.
    pub value: Value,
    /// How it ended.
    pub how: String,
    /// How long it bore it, h.
    #[serde(default)]
    pub hours: Option<f64>,
}

impl Ground {
    pub(super) fn laws(&self, superseded: bool) -> Vec<&OneLaw> {
        self.laws.iter().filter(|l| l.superseded == superseded).collect()
    }
    /// The largest mean power of a test that ran to empty on today's firmware, W.
    pub(super) fn ran_w(&self) -> f64 {
        self.laws(false).iter().map(|l| l.ran_w).fold(0.0, f64::max)
    }
    pub(super) fn claim(&self, key: &str) -> Option<f64> {
        self.claims.get(key).copied()
    }
}

impl Seen {
    pub(super) fn held(&self, key: &str) -> Option<Value> {
        self.held.get(key).cloned()
    }
    pub(super) fn failed(&self, key: &str) -> &[NotHeld] {
        self.failed.get(key).map_or(&[], Vec::as_slice)
    }
    /// Tries and failures of starting a device of this name.
    pub(super) fn starts_of(&self, name: &str) -> Option<(u64, u64)> {
        self.starts.get(&name.to_ascii_lowercase()).copied()
    }
}
