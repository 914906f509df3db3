//! A reading that stands still where it had never stood: a logger that repeats the last value it got, while time goes on.
//!
//! What stood still cannot be told from a steady load by its value, but by what went before: a meter whose last digits
//! were never at rest does not come to rest on one value for minutes. The thresholds are common practice.
use super::notes::Notes;
use trueplate_core::finding::Weight;

/// Rows with one value that are long.
const LONG: u32 = 60;
/// Changes before it, each within [`NEAR`] of the level and after at most [`QUICK`] rows, that make a value restless.
const RESTLESS: u32 = 20;
pub(crate) const NEAR: f64 = 0.05;
const QUICK: u32 = 3;
/// Steps of the last digit the value has to have ranged over: between two digits it may rest on either.
const RANGED: f64 = 4.0;

/// Follows one value.
pub(crate) struct Watch {
    level: f64,
    /// Rows at this level, the first of them, and the row last seen.
    rows: u32,
    from: u32,
    to: u32,
    /// Restless changes before it, what they ranged over, and the least of them.
    restless: u32,
    low: f64,
    high: f64,
    least: f64,
    /// They are enough.
    proven: bool,
}

impl Watch {
    pub(crate) fn new() -> Self {
        let mut watch = Watch {
            level: f64::NAN,
            rows: 0,
            from: 0,
            to: 0,
            restless: 0,
            low: 0.0,
            high: 0.0,
            least: 0.0,
            proven: false,
        };
        watch.rest();
        watch
    }

    fn rest(&mut self) {
        (self.restless, self.proven) = (0, false);
        (self.low, self.high, self.least) = (f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY);
    }

    /// Takes a reading in W; `apart` where a gap lies before it.
    #[inline]
    pub(crate) fn row(&mut self, watts: f64, line: u32, apart: bool, notes: &mut Notes) {
        let near = (watts - self.level).abs() <= NEAR * self.level.abs();
        if watts == self.level && !apart {
            self.rows += 1;
            self.to = line;
        } else if self.proven && near && self.rows <= QUICK && !apart {
            // Nearly every row of a meter with digits to spare.
            (self.level, self.rows, self.from, self.to) = (watts, 1, line, line);
        } else {
            self.other(watts, near, line, apart, notes);
        }
    }

    /// Takes readings at once, with no gap before or between them, each within [`NEAR`] of the one before.
    pub(crate) fn rows(&mut self, watts: &[f64], lines: &[u32], notes: &mut Notes) {
        let Some((&last, &line)) = watts.last().zip(lines.last()) else { return };
        if self.proven && !self.rests(watts) {
            let rows = watts.iter().rev().take_while(|w| **w == last).count();
            (self.level, self.rows, self.from, self.to) =
                (last, rows as u32, lines[lines.len() - rows], line);
        } else if watts.iter().all(|w| *w == self.level) {
            (self.rows, self.to) = (self.rows + watts.len() as u32, line);
        } else {
            watts.iter().zip(lines).for_each(|(w, line)| self.row(*w, *line, false, notes));
        }
    }

    /// Whether a value stays for more than [`QUICK`] rows.
    fn rests(&self, watts: &[f64]) -> bool {
        const LONGER: usize = QUICK as usize + 1;
        let begun = watts.iter().take_while(|w| **w == self.level).count();
        let same = |w: &[f64]| w[1..].iter().fold(true, |same, v| same & (*v == w[0]));
        self.rows + begun as u32 > QUICK || watts.windows(LONGER).fold(false, |any, w| any | same(w))
    }

    #[inline(never)]
    fn other(&mut self, watts: f64, near: bool, line: u32, apart: bool, notes: &mut Notes) {
        if self.rows >= LONG {
            self.finish(notes);
        }
        if near && self.rows <= QUICK && !apart {
            self.restless += 1;
            (self.low, self.high) = (self.low.min(watts), self.high.max(watts));
            self.least = self.least.min((watts - self.level).abs());
            self.proven = self.restless >= RESTLESS && self.high - self.low >= RANGED * self.least;
        } else {
            self.rest();
        }
        (self.level, self.rows, self.from, self.to) = (watts, 1, line, line);
    }

    /// Everything is read: a value may have stood still to the end.
    pub(crate) fn finish(&self, notes: &mut Notes) {
        if self.rows < LONG || !self.proven {
            return;
        }
        let (level, rows) = (self.level, self.rows);
        let what =
            || format!("{level} W stands still for {rows} rows, where it had changed every few rows before");
        let hint = "did the logger repeat its last value? Compare with the counter, or look at the trace";
        let place = || format!("lines {} to {}", self.from, self.to);
        notes.add(Weight::Doubt, "value-stands-still", place, what, hint);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(watts: impl Iterator<Item = f64>) -> Vec<String> {
        let (mut w, mut notes) = (Watch::new(), Notes::default());
        watts.enumerate().for_each(|(k, p)| w.row(p, k as u32 + 1, false, &mut notes));
        w.finish(&mut notes);
        notes.findings().into_iter().map(|f| format!("{}: {}", f.place, f.text)).collect()
    }

    /// About 300 W, never at rest: 300.0, 300.7, 300.1, …
    fn restless(rows: usize) -> impl Iterator<Item = f64> {
        (0..rows).map(|k| f64::from(3000 + (k as u32 * 7) % 10) / 10.0)
    }

    #[test]
    fn a_value_that_comes_to_rest_is_named() {
        let still = || std::iter::repeat_n(300.5, 100);
        // Row 50 reads 300.3, so that the hundred are rows 51 to 150.
        let expected =
            "lines 51 to 150: 300.5 W stands still for 100 rows, where it had changed every few rows before";
        assert_eq!(seen(restless(50).chain(still()).chain(restless(50))), [expected]);
        assert_eq!(seen(restless(50).chain(still())), [expected]);
    }

    #[test]
    fn what_was_at_rest_before_may_rest() {
        let still = |watts, rows| std::iter::repeat_n(watts, rows);
        // Not for long; a steady load from the start; after a step; off.
        assert!(seen(restless(50).chain(still(300.5, 59)).chain(restless(50))).is_empty());
        assert!(seen(still(300.0, 500)).is_empty());
        assert!(seen(restless(50).chain(still(900.0, 500)).chain(restless(50))).is_empty());
        assert!(seen(restless(50).chain(still(0.0, 500))).is_empty());
        // Between two digits, then on one of them.
        assert!(seen((0..60).map(|k| 300.0 + f64::from(k % 2)).chain(still(300.0, 500))).is_empty());
        // A taper that ends in a trickle: 40.0, 39.9, …, then slower and slower.
        let taper = (0..350).map(|k| (400 - k) as f64 / 10.0);
        let slower = (1..40).flat_map(|k| std::iter::repeat_n(5.0 - f64::from(k) / 10.0, k as usize));
        assert!(seen(taper.chain(slower).chain(still(1.0, 500))).is_empty());
    }
}
