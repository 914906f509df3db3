//! When the power went away for good.
//!
//! The level that counts as off, max(5 W, 2 % of the plateau), is known only at the end of the log, so the last row
//! at or above every level that may yet matter is kept: a list of falling powers, emptied by every row that is
//! certainly on.

use super::energy::Sums;

/// The lowest level that can count as on, W.
pub(crate) const FLOOR_W: f64 = 5.0;
/// The share of the plateau below which the outlet counts as off.
pub(crate) const SHARE: f64 = 0.02;
/// How long the outlet must stay off, µs.
const LASTS: i64 = 60_000_000;
/// Levels kept; beyond, neighbours are merged.
const KEPT: usize = 8192;

/// The instant of a row, and everything summed up by then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Moment {
    pub(crate) t: i64,
    pub(crate) sums: Sums,
    /// The counter's rise so far, W·h; NaN without one.
    pub(crate) counter: f64,
}

/// A row that may turn out to be the last one on, and the row after it.
struct Candidate {
    watts: f64,
    next: Option<Moment>,
}

/// Watches for the end of the discharge, and for its beginning: the first row at or above every level that may count.
#[derive(Default)]
pub(crate) struct Watch {
    falling: Vec<Candidate>,
    certainly: f64,
    /// Rows higher than all before them: power, the row itself, and the one before.
    rising: Vec<(f64, Moment, Moment)>,
    /// Instant and counter of the row before.
    before: Option<(i64, f64)>,
}

impl Watch {
    /// Whether a row of this power is higher than all before it: then [`Watch::row`] needs what was summed up before it.
    // Asked beforehand, since copying the sums of every row would be a tenth of the work on it.
    #[inline]
    pub(crate) fn rises(&self, watts: f64) -> bool {
        watts >= FLOOR_W && self.rising.last().is_none_or(|r| r.0 < watts) && self.rising.len() < KEPT
    }

    /// Takes a row: power in W, its instant, what is summed up by then; and where it rises, what was before it.
    #[inline(always)]
    pub(crate) fn row(&mut self, watts: f64, t: i64, sums: &Sums, counter: f64, earlier: Option<Sums>) {
        if let Some(earlier) = earlier {
            let here = Moment { t, sums: *sums, counter };
            let before = self.before.map_or(here, |(t, counter)| Moment { t, sums: earlier, counter });
            self.rising.push((watts, here, before));
        }
        self.before = Some((t, counter));
        if watts >= FLOOR_W {
            self.certainly = self.certain(watts);
            if watts >= self.certainly.max(FLOOR_W) {
                // Nearly every row of a discharge: what came before it does not matter any more.
                match self.falling.as_mut_slice() {
                    [Candidate { watts: only, next: None }] => *only = watts,
                    _ => {
                        self.falling.clear();
                        self.falling.push(Candidate { watts, next: None });
                    }
                }
                return;
            }
        }
        if let Some(top) = self.falling.last_mut()
            && top.next.is_none()
        {
            top.next = Some(Moment { t, sums: *sums, counter });
        }
        if watts < FLOOR_W {
            return;
        }
        while self.falling.last().is_some_and(|c| c.watts <= watts) {
            self.falling.pop();
        }
        if self.falling.len() >= KEPT {
            let mut n = 0;
            self.falling.retain(|_| {
                n += 1;
                n % 2 == 1
            });
        }
        self.falling.push(Candidate { watts, next: None });
    }

    /// Whether none of the next rows, between these powers, has to be looked at by itself.
    pub(crate) fn steady(&self, low: f64, high: f64) -> bool {
        // Off, and noted already: with nothing in the list, nothing was ever on.
        let off = || high < FLOOR_W && self.falling.last().is_none_or(|c| c.next.is_some());
        !self.rises(high) && (low >= self.certain(high).max(FLOOR_W) || off())
    }

    /// Takes rows of which that is true, up to this power; the last of them with its power, instant and counter.
    pub(crate) fn rows(&mut self, high: f64, last: f64, before: (i64, f64)) {
        if high >= FLOOR_W {
            self.certainly = self.certain(high);
            self.falling.clear();
            self.falling.push(Candidate { watts: last, next: None });
        }
        self.before = Some(before);
    }

    /// What is certainly on once this power was seen, W.
    fn certain(&self, watts: f64) -> f64 {
        self.certainly.max(watts * SHARE)
    }

    /// The first row of the final stretch below the level, if it lasts; `end` is the last row.
    pub(crate) fn cutoff(&self, plateau: f64, end: i64) -> Option<Moment> {
        let level = FLOOR_W.max(SHARE * plateau);
        let last_on = self.falling.iter().rev().find(|c| c.watts >= level)?;
        last_on.next.filter(|m| end - m.t >= LASTS)
    }

    /// The first row at or above the level, with the sums of the row before it, from which its own stretch counts.
    pub(crate) fn load_on(&self, plateau: f64) -> Option<Moment> {
        let level = FLOOR_W.max(SHARE * plateau);
        let (_, here, before) = self.rising.iter().find(|r| r.0 >= level)?;
        Some(Moment { t: here.t, ..*before })
    }

    /// Instant and counter of the last row.
    pub(crate) fn last(&self) -> Option<(i64, f64)> {
        self.before
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    const S: i64 = 1_000_000;

    /// 575 W for 10 s, then 8 W (below 2 % of 575 = 11.5 W) for 100 s: off from the first 8 W row, at 10 s.
    #[test]
    fn level_follows_plateau() {
        let mut w = Watch::default();
        for s in 0..110 {
            w.row(if s < 10 { 575.0 } else { 8.0 }, s * S, &Sums::NONE, f64::NAN, None);
        }
        assert_eq!(w.cutoff(575.0, 109 * S).map(|m| m.t), Some(10 * S));
        // With a plateau of 100 W the level is 5 W and nothing is off.
        assert_eq!(w.cutoff(100.0, 109 * S), None);
    }

    /// 2 W standing by, 300 W from 20 s: with a plateau of 300 W the level is 6 W, and the load is on from 20 s. A first
    /// row of 5.5 W would do for a plateau of 100 W.
    #[test]
    fn load_on_follows_plateau() {
        let mut w = Watch::default();
        for s in 0..60 {
            let watts = match s {
                ..10 => 2.0,
                10..20 => 5.5,
                _ => 300.0,
            };
            let earlier = w.rises(watts).then_some(Sums::NONE);
            w.row(watts, s * S, &Sums::NONE, f64::NAN, earlier);
        }
        assert_eq!(w.load_on(300.0).map(|m| m.t), Some(20 * S));
        assert_eq!(w.load_on(100.0).map(|m| m.t), Some(10 * S));
    }

    /// A dark spell that recovers is none; one too short is none.
    #[test]
    fn recovery_and_length() {
        let mut w = Watch::default();
        let power = |s: i64| if (50..150).contains(&s) || s >= 200 { 0.0 } else { 100.0 };
        for s in 0..300 {
            w.row(power(s), s * S, &Sums::NONE, f64::NAN, None);
        }
        assert_eq!(w.cutoff(100.0, 299 * S).map(|m| m.t), Some(200 * S));
        assert_eq!(w.cutoff(100.0, 259 * S), None);
    }
}
