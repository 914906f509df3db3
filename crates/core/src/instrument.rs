//! An instrument: what its maker or a calibration says of its errors, and what that makes of a reading.
//!
//! ± share of reading → gain, shared by all its readings. ± share of range ± digits → offset, shared.
//! Step of the display → resolution, private to each reading. Stated limits are rectangular (GUM 4.3.7).
use crate::quantity::Dim;
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Value};
use serde::{Deserialize, Serialize};

/// What an instrument shows of one dimension, over one range. Numbers in the unit the dimension is kept in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Accuracy {
    /// What it measures.
    pub dim: Dim,
    /// Limit of error as a share of the reading: 0.01 for ±1 %.
    pub of_reading: f64,
    /// Limit of error as a share of `range`.
    pub of_range: f64,
    /// Full scale, for `of_range`; 0 when not stated.
    pub range: f64,
    /// Limit of error in last digits.
    pub digits: f64,
    /// The smallest step shown; 0 when unknown: then the last digit typed counts.
    pub step: f64,
    /// The display drops what is below a step instead of rounding it.
    pub truncates: bool,
    /// Below this reading it shows nothing usable; 0 when none is stated.
    pub floor: f64,
    /// The statement holds up to this reading; 0 for no end.
    pub up_to: f64,
}

impl Default for Accuracy {
    fn default() -> Self {
        Accuracy {
            dim: Dim::Power,
            of_reading: 0.0,
            of_range: 0.0,
            range: 0.0,
            digits: 0.0,
            step: 0.0,
            truncates: false,
            floor: 0.0,
            up_to: 0.0,
        }
    }
}

/// A comparison of the instrument with something better.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Calibration {
    /// Day it was done, ISO 8601; it holds for readings from this day on, and for earlier ones that have no other.
    pub on: String,
    /// Found error of power and energy readings as a share: +0.009 when it shows 0.9 % too much.
    pub gain_error: f64,
    /// Standard uncertainty of that share.
    pub u: f64,
    /// Against what, by whom.
    pub against: String,
}

/// A known load read once more, to see whether the instrument stays as it was. Powers in W, above 0.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Check {
    /// Day, ISO 8601.
    pub on: String,
    /// What it showed.
    pub reading_w: f64,
    /// What it truly was, by a better meter or a load known well.
    pub true_w: f64,
    /// Which load, against what.
    pub load: String,
}

/// Where the instrument's own consumption is taken from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Feeds {
    /// From the outlet it measures, without showing it: the station delivers more than it reads.
    #[default]
    Unseen,
    /// From the outlet it measures, and its reading includes it.
    Counted,
    /// From elsewhere.
    Elsewhere,
}

/// An instrument on the bench.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Instrument {
    /// Stable id.
    pub id: String,
    /// What the tester calls it.
    pub name: String,
    /// Kind of instrument in words: plug meter, floor scale, oscilloscope.
    pub about: String,
    /// One statement per dimension and range.
    pub accuracy: Vec<Accuracy>,
    /// Own consumption in W; 0 when none.
    pub own_draw_w: f64,
    /// Where that is taken from.
    pub feeds: Feeds,
    /// Comparisons with better instruments, oldest first.
    pub calibrations: Vec<Calibration>,
    /// Checks of a known load, in the order they were written down.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<Check>,
    /// Measures true rms, so that it may be used on any waveform.
    pub true_rms: bool,
    /// Nominal mains voltage it is made for; 0 when it does not matter.
    pub mains_v: f64,
    /// Anything else.
    pub note: String,
    /// How its files are read, as confirmed last: written and understood by the reader of files; empty when none was.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub reads: String,
}

/// Gain of power and energy is one influence: the counter integrates what the meter shows as power.
fn group(dim: Dim) -> &'static str {
    match dim {
        Dim::Power | Dim::Energy => "power and energy",
        other => other.words(),
    }
}

impl Instrument {
    /// The statement for a reading of this dimension: the narrowest range that holds it.
    pub fn accuracy_at(&self, dim: Dim, reading: f64) -> Option<&Accuracy> {
        let holds = |a: &&Accuracy| a.up_to == 0.0 || reading.abs() <= a.up_to;
        let of_dim = || self.accuracy.iter().filter(|a| a.dim == dim);
        let end = |a: &&Accuracy| if a.up_to == 0.0 { f64::INFINITY } else { a.up_to };
        of_dim().filter(holds).min_by(|a, b| end(a).total_cmp(&end(b))).or_else(|| of_dim().next_back())
    }
    /// The calibration that holds on a day (ISO date): the newest one done by then, else the oldest there is.
    pub fn calibration_on(&self, day: &str) -> Option<&Calibration> {
        let by_then = self.calibrations.iter().filter(|c| day.is_empty() || c.on.as_str() <= day);
        by_then
            .max_by(|a, b| a.on.cmp(&b.on))
            .or_else(|| self.calibrations.iter().min_by(|a, b| a.on.cmp(&b.on)))
    }
    /// True when it says anything about this dimension.
    pub fn measures(&self, dim: Dim) -> bool {
        self.accuracy.iter().any(|a| a.dim == dim)
    }
    /// A reading with its doubts. `entry` names the reading (test and field), so that its step stays its own;
    /// `last_digit` is the step of what was typed, used when the instrument states none.
    pub fn value(&self, dim: Dim, reading: f64, last_digit: f64, entry: &str, day: &str) -> Value {
        let known = self.accuracy_at(dim, reading).cloned();
        let calibrated = matches!(dim, Dim::Power | Dim::Energy).then(|| self.calibration_on(day)).flatten();
        if known.is_none() && calibrated.is_none() {
            return Value::exact(dim, reading);
        }
        let stated = known.unwrap_or(Accuracy { dim, ..Accuracy::default() });
        let step = if stated.step > 0.0 { stated.step } else { last_digit };
        // A truncating display is on average half a step low.
        let centred = if stated.truncates { reading + step / 2.0 } else { reading };
        let limit = 3f64.sqrt();
        let (x, gain, shape, name) = match calibrated {
            Some(c) => (centred / (1.0 + c.gain_error), c.u, Shape::Normal, format!("{}@{}", self.id, c.on)),
            None => (centred, stated.of_reading / limit, Shape::Rectangular, self.id.clone()),
        };
        let offset = (stated.of_range * stated.range + stated.digits * step) / limit;
        let inf = f64::INFINITY;
        Value::exact(dim, x)
            .with(Influence::instrument(&name, Effect::Gain, group(dim)), x * gain, shape, inf)
            .with(
                Influence::instrument(&self.id, Effect::Offset, dim.words()),
                offset,
                Shape::Rectangular,
                inf,
            )
            .with(
                Influence::test(entry, Effect::Step, dim.words()),
                step / 12f64.sqrt(),
                Shape::Rectangular,
                inf,
            )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    fn meter(accuracy: Accuracy) -> Instrument {
        Instrument { id: "m".into(), accuracy: vec![accuracy], ..Instrument::default() }
    }
    #[test]
    fn power_times_time_as_on_paper() {
        // P = 1000.0 W ± (1 % of reading + 2 digits of 0.1 W), rectangular:
        // gain 10/√3 = 5.7735, offset 0.2/√3 = 0.11547, and the step itself 0.1/√12 = 0.028868 W.
        let m = meter(Accuracy { of_reading: 0.01, digits: 2.0, step: 0.1, ..Accuracy::default() });
        let v = m.value(Dim::Power, 1000.0, 0.1, "t1/power", "");
        let by = |e: Effect| v.parts.iter().find(|(i, _)| i.effect == e).unwrap().1.signed;
        assert!((by(Effect::Gain) - 5.773_503).abs() < 1e-6);
        assert!((by(Effect::Offset) - 0.115_470).abs() < 1e-6);
        assert!((by(Effect::Step) - 0.028_868).abs() < 1e-6);
    }
    #[test]
    fn a_truncating_counter_is_centred() {
        let m = meter(Accuracy { dim: Dim::Energy, step: 10.0, truncates: true, ..Accuracy::default() });
        assert_eq!(m.value(Dim::Energy, 890.0, 10.0, "t", "").x, 895.0);
    }
    #[test]
    fn calibration_corrects_and_shrinks() {
        let mut m = meter(Accuracy { dim: Dim::Energy, of_reading: 0.02, step: 1.0, ..Accuracy::default() });
        m.calibrations.push(Calibration {
            on: "2026-01-10".into(),
            gain_error: 0.009,
            u: 0.002,
            ..Calibration::default()
        });
        let v = m.value(Dim::Energy, 1009.0, 1.0, "t", "2026-05-03");
        assert!((v.x - 1000.0).abs() < 1e-9);
        assert!((v.u() - (4.0f64 + 1.0 / 12.0).sqrt()).abs() < 1e-9); // 1000·0.002 = 2 Wh and 1/√12 Wh
    }
    #[test]
    fn an_instrument_that_says_nothing_of_it_gives_no_uncertainty() {
        assert!(!meter(Accuracy::default()).value(Dim::Mass, 13.3, 0.1, "t", "").has_u());
    }
    #[test]
    fn the_narrowest_range_that_holds_the_reading_is_taken() {
        let mut m = meter(Accuracy { up_to: 100.0, of_reading: 0.01, ..Accuracy::default() });
        m.accuracy.push(Accuracy { of_reading: 0.02, ..Accuracy::default() });
        assert_eq!(m.accuracy_at(Dim::Power, 50.0).map(|a| a.of_reading), Some(0.01));
        assert_eq!(m.accuracy_at(Dim::Power, 500.0).map(|a| a.of_reading), Some(0.02));
    }
}
