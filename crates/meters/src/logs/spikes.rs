//! Single readings far from two neighbours that agree: kept as written, and named with both values.
use super::notes::Notes;
use trueplate_core::finding::Weight;

/// Neighbours this close to each other agree; a reading beyond these shares of them is a spike (common practice).
const AGREE: f64 = 0.05;
const HIGH: f64 = 1.5;
const LOW: f64 = 0.5;
/// Below this power a jump says nothing, W (common practice).
const FROM_W: f64 = 50.0;
/// Dips up to this number are slips, such as a line cut inside its number; more are the way of the load (common practice).
const SLIPS: usize = 2;

/// Remembers two readings.
#[derive(Default)]
pub(crate) struct Watch {
    before: f64,
    here: f64,
    /// What volts and amperes allow there.
    allowed: f64,
    line: u32,
    /// Line, reading before, reading, reading behind; one more than [`SLIPS`] at most.
    dips: Vec<(u32, f64, f64, f64)>,
}

impl Watch {
    /// Takes a reading in W, and what volts times amperes allow, NaN where they are not measured; `apart` where a gap
    /// lies before it.
    #[inline]
    pub(crate) fn row(&mut self, watts: f64, allowed: f64, line: u32, apart: bool, notes: &mut Notes) {
        let (a, b) = (self.before, self.here);
        if a > FROM_W
            && (b > HIGH * a || (b < LOW * a && b != 0.0))
            && !apart
            && (watts - a).abs() <= AGREE * a
        {
            self.found(watts, notes);
        }
        (self.before, self.here) = (if apart { 0.0 } else { b }, watts);
        (self.allowed, self.line) = (allowed, line);
    }

    /// Whether the reading taken last does not stand out from the one before.
    pub(crate) fn settled(&self) -> bool {
        self.before <= FROM_W || (LOW * self.before..=HIGH * self.before).contains(&self.here)
    }

    /// Takes readings at once, of which none stands out; with the last comes what volts times amperes allow.
    pub(crate) fn rows(&mut self, watts: &[f64], allowed: f64, line: u32) {
        let [.., before, here] = *watts else { return };
        (self.before, self.here) = (before, here);
        (self.allowed, self.line) = (allowed, line);
    }

    #[cold]
    fn found(&mut self, after: f64, notes: &mut Notes) {
        let (a, b, line) = (self.before, self.here, self.line);
        if b < a {
            // Amperes that fell with the watts: it was so.
            let was = (self.allowed - b).abs() <= (self.allowed - a).abs();
            if self.dips.len() <= SLIPS && !was {
                self.dips.push((line, a, b, after));
            }
            return;
        }
        let hint = "kept as written; a start of something, or a slip of the meter?";
        notes.add(Weight::Note, "isolated-spike", || format!("line {line}"), || alone(a, b, after), hint);
    }

    /// Everything is read: how the dips are to be taken. A load starts with a leap, but seldom rests for one reading.
    pub(crate) fn finish(&self, notes: &mut Notes) {
        let weight = if self.dips.len() <= SLIPS { Weight::Doubt } else { Weight::Note };
        for &(line, a, b, after) in &self.dips {
            let hint = "kept as written; is the line whole? Compare it with those around it";
            notes.add(weight, "isolated-dip", || format!("line {line}"), || alone(a, b, after), hint);
        }
    }
}

fn alone(before: f64, watts: f64, after: f64) -> String {
    format!("{watts} W stands alone between {before} and {after} W")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(watts: &[f64]) -> Vec<String> {
        let (mut w, mut notes) = (Watch::default(), Notes::default());
        watts.iter().enumerate().for_each(|(k, p)| w.row(*p, f64::NAN, k as u32 + 1, false, &mut notes));
        w.finish(&mut notes);
        notes.findings().into_iter().map(|f| format!("{:?} {}: {}", f.weight, f.place, f.text)).collect()
    }

    #[test]
    fn a_lone_reading_is_named_with_both_values() {
        assert_eq!(seen(&[575.0, 5750.0, 574.0]), ["Note line 2: 5750 W stands alone between 575 and 574 W"]);
        assert_eq!(seen(&[575.0, 57.5, 574.0]), ["Doubt line 2: 57.5 W stands alone between 575 and 574 W"]);
        // The start of a motor, a load switched off, a zero (looked at elsewhere), a step that stays.
        assert!(seen(&[1.5, 900.0, 85.0, 84.0, 1.5, 1.5]).is_empty());
        assert!(seen(&[575.0, 0.0, 574.0]).is_empty());
        assert!(seen(&[575.0, 900.0, 900.0]).is_empty());
    }
    /// A heater that rests for one reading now and then does so by design.
    #[test]
    fn many_dips_are_the_way_of_the_load() {
        let pulsed = [900.0, 900.0, 85.0].repeat(5);
        let found = seen(&[&pulsed[..], &[900.0]].concat());
        assert!(found.len() == 1 && found[0].starts_with("Note line 3, "), "{found:?}");
    }

    /// Half the amperes at half the watts: something paused. All of the amperes at half the watts: a slip.
    #[test]
    fn amperes_tell_a_slip() {
        let weights = |amps: f64| {
            let (mut w, mut notes) = (Watch::default(), Notes::default());
            let rows = [(600.0, 5.0), (60.0, amps), (600.0, 5.0)];
            rows.iter().for_each(|(p, a)| w.row(*p, 120.0 * a, 1, false, &mut notes));
            w.finish(&mut notes);
            notes.findings().len()
        };
        assert_eq!((weights(0.5), weights(5.0)), (0, 1));
    }
}
