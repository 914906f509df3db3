//! The power over time, thinned for a picture with its lowest and highest values kept.
use super::columns::extent;
use super::energy::WH;
use super::log::TracePoint;

/// Points kept, at most.
const POINTS: usize = 4096;

/// Thins as it goes: when full, neighbours are merged and each point stands for twice as many rows.
pub(crate) struct Trace {
    points: Vec<TracePoint>,
    stride: u32,
    filled: u32,
    /// Rows outside are left out, µs.
    window: (i64, i64),
}

impl Trace {
    pub(crate) fn new() -> Self {
        Trace {
            points: Vec::with_capacity(POINTS),
            stride: 1,
            filled: u32::MAX,
            window: (i64::MIN, i64::MAX),
        }
    }

    /// Keeps only what lies between two instants, µs, and that the finer.
    pub(crate) fn within(&mut self, window: (i64, i64)) {
        self.window = window;
    }

    /// Takes a row: µs, W, W·µs so far.
    #[inline]
    pub(crate) fn row(&mut self, t: i64, watts: f64, energy: f64) {
        if t < self.window.0 || t > self.window.1 {
            return;
        }
        if self.filled >= self.stride {
            self.open(t, watts, energy);
            return;
        }
        self.filled += 1;
        if let Some(p) = self.points.last_mut() {
            p.min = if watts < p.min { watts } else { p.min };
            p.max = if watts > p.max { watts } else { p.max };
        }
    }

    /// Takes rows at once: µs with `shift` still to be added, W, and for each a step and W·µs so far.
    pub(crate) fn rows(&mut self, times: &[i64], shift: i64, watts: &[f64], laid: &[(f64, f64)]) {
        let whole = self.window == (i64::MIN, i64::MAX);
        let mut k = 0;
        while k < watts.len() {
            let room = self.stride.saturating_sub(self.filled) as usize;
            let to = watts.len().min(k + room);
            match self.points.last_mut() {
                Some(p) if whole && room > 1 => {
                    let (low, high, _) = extent(&watts[k..to]);
                    (p.min, p.max) = (p.min.min(low), p.max.max(high));
                    self.filled += (to - k) as u32;
                    k = to;
                }
                _ => {
                    self.row(times[k] + shift, watts[k], laid[k].1);
                    k += 1;
                }
            }
        }
    }

    fn open(&mut self, t: i64, watts: f64, energy: f64) {
        if self.points.len() == POINTS {
            for k in 0..POINTS / 2 {
                let (a, b) = (self.points[2 * k], self.points[2 * k + 1]);
                self.points[k] = TracePoint { min: a.min.min(b.min), max: a.max.max(b.max), ..a };
            }
            self.points.truncate(POINTS / 2);
            self.stride *= 2;
        }
        self.points.push(TracePoint { at_us: t, min: watts, max: watts, energy_wh: energy / WH });
        self.filled = 1;
    }

    pub(crate) fn points(self) -> Vec<TracePoint> {
        self.points
    }
}
