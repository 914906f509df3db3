//! A voltage that leaps from one row to the next while the load goes on: the mains, and an inverter, do not do that;
//! columns that change places do.
use super::columns::extent;
use super::notes::Notes;
use trueplate_core::finding::Weight;

/// Rows in which a voltage has been calm, each within [`CALM`] of the one before, until a leap says something; the leap
/// itself. An outlet stays within 10 % of its voltage (IEC 60038); the rest is common practice.
const ROWS: u32 = 20;
const CALM: f64 = 0.03;
const LEAP: f64 = 0.12;
/// Below this a panel or a cable of several voltages may be meant, or the outlet is off, V.
const FROM_V: f64 = 60.0;

/// Follows the voltage.
#[derive(Default)]
pub(crate) struct Watch {
    before: f64,
    calm: u32,
}

impl Watch {
    /// Takes a voltage; `amps` tells whether something runs.
    #[inline]
    pub(crate) fn row(&mut self, volts: f64, amps: f64, line: u32, notes: &mut Notes) {
        let change = (volts - self.before).abs();
        if change <= CALM * self.before {
            self.calm += 1;
        } else {
            self.leap(volts, amps, change, line, notes);
        }
        self.before = volts;
    }

    /// Takes voltages at once; `false` without taking any where one may leap or is missing.
    pub(crate) fn calm(&mut self, volts: &[f64]) -> bool {
        let (low, high, sum) = extent(volts);
        let least = low.min(self.before);
        let calm = high.max(self.before) - least <= CALM * least && !sum.is_nan();
        if let (true, Some(last)) = (calm, volts.last()) {
            self.calm += volts.len() as u32;
            self.before = *last;
        }
        calm
    }

    fn leap(&mut self, volts: f64, amps: f64, change: f64, line: u32, notes: &mut Notes) {
        let before = self.before;
        let calm = std::mem::take(&mut self.calm) >= ROWS;
        if calm && change > LEAP * before && before.min(volts) > FROM_V && amps != 0.0 {
            let what = || format!("the voltage goes from {before} to {volts} V between two rows");
            let hint = "did columns change places, or was another outlet taken? What follows may be wrong";
            notes.add(Weight::Doubt, "voltage-leap", || format!("line {line}"), what, hint);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(volts: &[f64], amps: f64) -> Vec<String> {
        let (mut w, mut notes) = (Watch::default(), Notes::default());
        volts.iter().enumerate().for_each(|(k, v)| w.row(*v, amps, k as u32 + 1, &mut notes));
        notes.findings().into_iter().map(|f| format!("{}: {}", f.place, f.text)).collect()
    }

    #[test]
    fn a_leap_after_calm_is_named_once() {
        let leaps = |from: f64, to: f64| [[from; 30], [to; 30]].concat();
        let expected = ["line 31: the voltage goes from 119.5 to 210.1 V between two rows"];
        assert_eq!(seen(&leaps(119.5, 210.1), 1.5), expected);
        // Nothing ran; within what an outlet may do; switched off and on; a panel of 40 V; a cable that asks for more.
        assert!(seen(&leaps(119.5, 210.1), 0.0).is_empty());
        assert!(seen(&leaps(119.5, 108.0), 1.5).is_empty());
        assert!(seen(&[leaps(119.5, 0.0), leaps(2.0, 119.5)].concat(), 1.5).is_empty());
        assert!(seen(&leaps(40.0, 33.0), 5.0).is_empty() && seen(&leaps(5.0, 20.0), 2.0).is_empty());
        // Never calm: a panel under clouds.
        let clouds: Vec<f64> = (0..60).map(|k| if k % 3 == 0 { 100.0 } else { 80.0 }).collect();
        assert!(seen(&clouds, 5.0).is_empty());
    }
}
