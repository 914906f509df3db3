//! The time column of a capture: where it goes on, and where it breaks.
use super::layout::{Layout, Use};

/// Follows the time column.
pub(crate) struct Clock {
    pub(crate) timed: bool,
    pub(crate) interval: f64,
    longest: f64,
    /// The time of the last row, s.
    pub(crate) before: f64,
    /// The last row whose time changed, and how many rows ago.
    anchor: f64,
    since: u64,
    begun: bool,
}

/// What a row's time says.
pub(crate) enum Tick {
    Goes,
    /// A break: from one time to another, s.
    Breaks,
}

impl Clock {
    pub(crate) fn of(layout: &Layout) -> Clock {
        let interval = layout.interval_s;
        Clock {
            timed: layout.uses.iter().any(|u| matches!(u, Use::Time(_))),
            interval: if layout.pairs { interval / 2.0 } else { interval },
            longest: (1.5 * interval).max(1.05 * layout.usual_step_s),
            before: 0.0,
            anchor: 0.0,
            since: 0,
            begun: false,
        }
    }

    /// Times of rows at once; `false` without taking any where one of them has to be looked at by itself.
    pub(crate) fn ticks(&mut self, times: &[f64]) -> bool {
        let Some(&last) = times.last().filter(|_| self.begun) else { return false };
        let mut before = self.before;
        let goes = times.iter().fold(true, |goes, t| {
            let step = t - before;
            before = *t;
            goes & (step > 0.0) & (step <= self.longest)
        });
        if goes {
            (self.before, self.anchor, self.since) = (last, last, 0);
        }
        goes
    }

    #[inline(always)]
    pub(crate) fn tick(&mut self, t: f64) -> Tick {
        let step = t - self.before;
        self.before = t;
        self.since += 1;
        if step >= 0.0 && step <= self.longest && self.begun {
            if step > 0.0 {
                (self.anchor, self.since) = (t, 0);
            }
            return Tick::Goes;
        }
        self.odd(t)
    }

    /// A longer step, or one back: either the times are written with few digits, or there is a break.
    #[cold]
    fn odd(&mut self, t: f64) -> Tick {
        let first = !std::mem::replace(&mut self.begun, true);
        let due = self.anchor + self.since as f64 * self.interval;
        // Where the time stood still for some rows it is written with too few digits: six, a unit of the last is a
        // hundred-thousandth.
        let printed = if self.since > 2 { t.abs().max(self.anchor.abs()) * 1e-5 } else { 0.0 };
        let close = (t - due).abs() <= 0.75 * self.interval + printed;
        (self.anchor, self.since) = (t, 0);
        if first || close {
            return Tick::Goes;
        }
        Tick::Breaks
    }
}
