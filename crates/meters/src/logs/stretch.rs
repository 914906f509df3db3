//! A few hundred rows at once, where nothing happens that has to be looked at row by row.
//!
//! Nearly all of a long log is like that. Everyone who follows the rows says for itself what it needs to take them together;
//! where one of them cannot, all see each row. What is summed up is the same to the last bit either way.
use super::columns::extent;
use super::cycles::Mark;
use super::digest::Digest;
use super::frozen::NEAR;
use super::notes::Notes;
use std::ops::Range;

/// Rows taken at once, at most.
pub(crate) const ROWS: usize = 256;
/// Fewer are not worth the look.
const WORTH: usize = 16;

/// Rows in columns, as far as they have a power.
pub(crate) struct Rows<'a> {
    /// As written, µs.
    pub(crate) times: &'a [i64],
    pub(crate) lines: &'a [u32],
    pub(crate) watts: &'a [f64],
    pub(crate) counter: Option<&'a [f64]>,
    /// Volts and amperes beside the power.
    pub(crate) beside: Option<(&'a [f64], &'a [f64])>,
    /// Volts and amperes of which the power is the product.
    pub(crate) product: Option<(&'a [f64], &'a [f64])>,
}

impl Rows<'_> {
    /// What volts times amperes allow in a row, W; NaN where they are not measured beside the power.
    #[inline]
    pub(crate) fn allowed(&self, k: usize) -> f64 {
        self.beside.map_or(f64::NAN, |(v, a)| v[k] * a[k])
    }
}

impl Digest {
    /// Takes some rows at once; `false` without taking any where they have to be looked at one by one.
    pub(crate) fn stretch(&mut self, rows: &Rows, these: Range<usize>, notes: &mut Notes) -> bool {
        let (watts, end) = (&rows.watts[these.clone()], these.end - 1);
        let (times, lines) = (&rows.times[these.clone()], &rows.lines[these.clone()]);
        let counter = rows.counter.map(|c| &c[these]);
        if watts.len() < WORTH || self.ways.is_some() {
            return false;
        }
        let (low, high, sum) = extent(watts);
        let alike = near(self.energy.last_w(), watts) && self.spikes.settled() && !sum.is_nan();
        let fits = alike
            && self.cutoff.steady(low, high)
            && counter.is_none_or(|c| self.counter.rises(c))
            && self.energy.follows(times, low, high);
        if !fits {
            return false;
        }
        if let Some(counter) = counter {
            self.counter.rows(counter);
            self.energy.counter_step = self.counter.step();
        }
        let (last, line, shift) = (rows.watts[end], rows.lines[end], self.energy.shift);
        let (t, covered) = (self.energy.last_t(), self.energy.sums.covered);
        let mut laid = [(0.0, 0.0); ROWS];
        let laid = &mut laid[..watts.len()];
        self.energy.rows((times, watts), (low, high), (self.counter.now(), line), laid);
        self.spikes.rows(watts, rows.allowed(end), line);
        self.frozen.rows(watts, lines, notes);
        self.cutoff.rows(high, last, (self.energy.last_t(), self.counter.total().unwrap_or(f64::NAN)));
        self.cycles.rows(watts, (low, high), laid, |k| {
            let here = times[k] + shift;
            Mark { t: here, energy: laid[k].1, covered: covered + here - t }
        });
        self.trace.rows(times, shift, watts, laid);
        true
    }
}

/// Whether each power is near the one before.
fn near(mut before: f64, watts: &[f64]) -> bool {
    watts.iter().fold(true, |all, w| {
        let near = (w - before).abs() <= NEAR * before.abs();
        before = *w;
        all & near
    })
}
