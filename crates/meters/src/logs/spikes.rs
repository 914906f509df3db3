//! Single readings far from two neighbours that agree: kept as written, and named with both values.
use super::notes::Notes;
use trueplate_core::finding::Weight;

/// Neighbours this close to each other agree; a reading beyond these shares of them is a spike (common practice).
const AGREE: f64 = 0.05;
const HIGH: f64 = 1.5;
const LOW: f64 = 0.5;
/// Below this power a jump says nothing, W (common practice).
const FROM_W: f64 = 50.0;

/// Remembers two readings.
#[derive(Default)]
pub(crate) struct Watch {
    before: f64,
    here: f64,
    line: u32,
}

impl Watch {
    /// Takes a reading in W; `apart` where a gap lies before it.
    #[inline]
    pub(crate) fn row(&mut self, watts: f64, line: u32, apart: bool, notes: &mut Notes) {
        let (a, b) = (self.before, self.here);
        if a > FROM_W
            && (b > HIGH * a || (b < LOW * a && b != 0.0))
            && !apart
            && (watts - a).abs() <= AGREE * a
        {
            self.found(watts, notes);
        }
        (self.before, self.here, self.line) = (if apart { 0.0 } else { b }, watts, line);
    }

    #[cold]
    fn found(&self, after: f64, notes: &mut Notes) {
        let (a, b, line) = (self.before, self.here, self.line);
        let what = || format!("{b} W stands alone between {a} and {after} W");
        let hint = "kept as written; a start of something, or a slip of the meter?";
        notes.add(Weight::Note, "isolated-spike", || format!("line {line}"), what, hint);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(watts: &[f64]) -> Vec<String> {
        let (mut w, mut notes) = (Watch::default(), Notes::default());
        watts.iter().enumerate().for_each(|(k, p)| w.row(*p, k as u32 + 1, false, &mut notes));
        notes.findings().into_iter().map(|f| format!("{}: {}", f.place, f.text)).collect()
    }

    #[test]
    fn a_lone_reading_is_named_with_both_values() {
        assert_eq!(seen(&[575.0, 5750.0, 574.0]), ["line 2: 5750 W stands alone between 575 and 574 W"]);
        assert_eq!(seen(&[575.0, 57.5, 574.0]).len(), 1);
        // The start of a motor, a load switched off, a zero (looked at elsewhere), a step that stays.
        assert!(seen(&[1.5, 900.0, 85.0, 84.0, 1.5, 1.5]).is_empty());
        assert!(seen(&[575.0, 0.0, 574.0]).is_empty());
        assert!(seen(&[575.0, 900.0, 900.0]).is_empty());
    }
}
