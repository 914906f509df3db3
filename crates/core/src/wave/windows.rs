//! The steady wave in windows of about 200 ms, each locked to the frequency as it wanders.
use super::half_cycle::sum_of_squares;
use super::harmonics::{highest_line, subgroups, window_cycles};
use super::spectrum::Spectrum;

/// Sums over windows.
pub struct Windows {
    spectrum: Spectrum,
    /// Cycles in a window.
    pub cycles: usize,
    /// Highest order that the sampling allows.
    pub orders: usize,
    period: f64,
    start: f64,
    phase: Option<f64>,
    /// Windows so far.
    pub count: u64,
    squared: Vec<f64>,
    fundamental: f64,
    offset: f64,
    squares: f64,
    over: bool,
}

/// What the windows come to; voltages in the unit of the samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Summed {
    /// Rms.
    pub rms: f64,
    /// Mean.
    pub mean: f64,
    /// Rms of the fundamental.
    pub fundamental: f64,
    /// Squared rms of the subgroups, the fundamental first.
    pub squared: Vec<f64>,
}

/// Orders that `length` samples of `cycles` cycles can hold.
fn held(orders: usize, cycles: usize, length: f64) -> usize {
    let most = (length / 2.0 - 2.0) / cycles as f64;
    orders.min(most.max(1.0) as usize)
}

impl Windows {
    /// From an upward zero crossing at sample `start`.
    pub fn new(start: f64, period: f64, rate: f64, orders: usize) -> Self {
        let cycles = window_cycles(rate / period);
        let orders = held(orders.max(1), cycles, cycles as f64 * period);
        Windows {
            spectrum: Spectrum::new(highest_line(cycles, orders)),
            cycles,
            orders,
            period,
            start,
            phase: None,
            count: 0,
            squared: vec![0.0; orders],
            fundamental: 0.0,
            offset: 0.0,
            squares: 0.0,
            over: false,
        }
    }

    /// Takes all windows that end before sample `limit`. `v[0]` is sample `base`. `last`: nothing more will come, so a
    /// stretch too short for one window is taken as it is.
    pub fn advance(&mut self, v: &[f32], base: u64, limit: f64, last: bool) {
        while !self.over && self.start + self.cycles as f64 * self.period <= limit {
            self.over |= self.window(v, base).is_none();
        }
        if last && !self.over {
            self.over = true;
            let whole = ((limit - self.start) / self.period + 0.01).floor();
            if self.count == 0 && whole >= 1.0 {
                self.cycles = whole as usize;
                self.spectrum = Spectrum::new(highest_line(self.cycles, self.orders));
                // Nothing to do where even this does not fit.
                let _none = self.window(v, base);
            }
        }
    }

    fn window(&mut self, v: &[f32], base: u64) -> Option<()> {
        let length = self.cycles as f64 * self.period;
        let begin = self.start - base as f64;
        let length = length.min(v.len() as f64 - begin);
        let lines = self.spectrum.lines(v, begin, length)?;
        for (sum, x) in self.squared.iter_mut().zip(subgroups(&lines, self.cycles, self.orders)) {
            *sum += x;
        }
        let first = lines.get(self.cycles)?;
        self.fundamental += first.norm_sqr() / 2.0;
        let inside = &v[begin.ceil() as usize..((begin + length).ceil() as usize).min(v.len())];
        self.offset += inside.iter().map(|x| f64::from(*x)).sum::<f64>() / inside.len().max(1) as f64;
        self.squares += sum_of_squares(inside) / inside.len().max(1) as f64;
        self.count += 1;
        self.start += length;
        let phase = first.arg();
        if let Some(before) = self.phase.replace(phase) {
            // A window locked exactly finds the same phase again; the difference is how far the frequency is off.
            let turns = (phase - before) / std::f64::consts::TAU;
            let turns = turns - turns.round();
            if turns.abs() < 0.15 {
                self.period /= 1.0 + turns / self.cycles as f64;
            }
        }
        Some(())
    }

    /// The means over all windows: of squares, as aggregation over time goes.
    pub fn summed(&self) -> Option<Summed> {
        let n = self.count as f64;
        (self.count > 0).then(|| Summed {
            rms: (self.squares / n).sqrt(),
            mean: self.offset / n,
            fundamental: (self.fundamental / n).sqrt(),
            squared: self.squared.iter().map(|s| s / n).collect(),
        })
    }
}
