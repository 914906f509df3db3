//! The power over time, thinned for a picture with its lowest and highest values kept.
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
