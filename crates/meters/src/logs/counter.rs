//! The energy counter of a meter: resets, wraps and small falls.
use super::notes::Notes;
use trueplate_core::finding::Weight;

/// Follows a counter through the rows, W·h.
#[derive(Default)]
pub(crate) struct Counter {
    /// First value of the present stretch between resets.
    from: f64,
    last: Option<f64>,
    /// What stretches before the present one counted.
    before: f64,
    /// The smallest rise seen: the counter's step, W·h.
    step: f64,
}

impl Counter {
    /// Takes a value (NaN is skipped).
    #[inline]
    pub(crate) fn row(&mut self, value: f64, line: u32, notes: &mut Notes) {
        if value.is_nan() {
            return;
        }
        let Some(last) = self.last else {
            (self.from, self.last) = (value, Some(value));
            return;
        };
        if value > last {
            let rise = value - last;
            if self.step == 0.0 || rise < self.step {
                self.step = rise;
            }
        } else if value < last {
            self.fell(last, value, line, notes);
        }
        self.last = Some(value);
    }

    /// Whether none of the next values is missing or falls.
    pub(crate) fn rises(&self, values: &[f64]) -> bool {
        let begins = self.last.zip(values.first()).is_some_and(|(last, first)| last <= *first);
        begins && values.windows(2).fold(true, |rise, v| rise & (v[0] <= v[1]))
    }

    /// Takes values of which that is true.
    pub(crate) fn rows(&mut self, values: &[f64]) {
        let (Some(mut last), Some(&end)) = (self.last, values.last()) else { return };
        if last < end {
            for &value in values {
                let rise = value - last;
                if rise > 0.0 && (self.step == 0.0 || rise < self.step) {
                    self.step = rise;
                }
                last = value;
            }
        }
        self.last = Some(end);
    }

    #[cold]
    fn fell(&mut self, last: f64, value: f64, line: u32, notes: &mut Notes) {
        let place = || format!("line {line}");
        let seen = || format!("the counter goes from {last} to {value} W·h");
        // The next power of ten above, for counters in W·h or in kW·h alike.
        let full = 10f64.powf(last.log10().ceil());
        if last >= 0.98 * full && value <= 0.02 * full {
            self.before += last - self.from + (full - last + value);
            self.from = value;
            let hint = "counted on as a wrap; a reset there would count less";
            notes.add(
                Weight::Doubt,
                "counter-wrap",
                place,
                || seen() + ": it has passed its highest figure",
                hint,
            );
        } else if value <= 0.1 * last {
            self.before += last - self.from;
            self.from = value;
            let hint = "the total is the sum of the parts; what was used in between is not in it";
            notes.add(Weight::Doubt, "counter-reset", place, || seen() + ": it was reset", hint);
        } else {
            let hint = "kept as written; meters fall back to their last stored value when unplugged";
            notes.add(Weight::Doubt, "counter-fell", place, seen, hint);
        }
    }

    /// The last value, if any row had one.
    pub(crate) fn now(&self) -> Option<f64> {
        self.last
    }

    /// The finest step seen, W·h; 0 when the counter never rose.
    pub(crate) fn step(&self) -> f64 {
        self.step
    }

    /// Energy counted from the first to the last row, W·h.
    pub(crate) fn total(&self) -> Option<f64> {
        self.last.map(|last| self.before + (last - self.from))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(values: &[f64]) -> (f64, Vec<String>) {
        let (mut c, mut notes) = (Counter::default(), Notes::default());
        values.iter().enumerate().for_each(|(k, v)| c.row(*v, k as u32 + 1, &mut notes));
        (c.total().unwrap_or(f64::NAN), notes.findings().into_iter().map(|f| f.code).collect())
    }

    /// Sums on paper: 8 + 8 Wh over a reset; 0.02 kWh over a wrap of 99.99; a small fall leaves last − first.
    #[test]
    fn falls() {
        let (total, codes) = run(&[1204.0, 1212.0, 0.0, 8.0]);
        assert!((total - 16.0).abs() < 1e-9 && codes == ["counter-reset"]);
        let (total, codes) = run(&[99_980.0, 99_990.0, 10.0]);
        assert!((total - 30.0).abs() < 1e-9 && codes == ["counter-wrap"]);
        let (total, codes) = run(&[5610.0, 5620.0, 5600.0, 5610.0]);
        assert!(total.abs() < 1e-9 && codes == ["counter-fell"]);
    }
}
