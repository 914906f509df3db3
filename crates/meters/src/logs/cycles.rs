//! Loads that switch themselves on and off: starts, period, duty, found without knowing the level beforehand.
//!
//! Crossings of a hundred levels, eight to the octave, are followed at once; which level lies between "on" and "off"
//! is decided at the end from the time spent at each power.
use super::log::Cycles;
use trueplate_core::recording::Defrosts;

/// Finest bins: 64 to the octave from 1/16 W.
const FINE_FROM: i64 = (1023 - 4) << 6;
const FINE: usize = 22 * 64;
/// Levels, 8 to the octave from 1 W to 32 kW.
const LEVEL_FROM: i64 = 1023 << 3;
const LEVELS: usize = 15 * 8;

/// A compressor's start is over in seconds; a heater that thaws stays on for a quarter of an hour or so. Times on of this
/// length and longer are looked at, µs (common practice).
const LONG: i64 = 5 * 60 * 1_000_000;
/// How far above the running power it must be, and how seldom against the starts (common practice).
const HIGHER: f64 = 1.4;
const SELDOM: u32 = 4;

/// Instant, energy (W·µs) and covered time (µs) at a crossing.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Mark {
    pub(crate) t: i64,
    pub(crate) energy: f64,
    pub(crate) covered: i64,
}

/// What is known of one level.
#[derive(Clone, Default)]
struct Level {
    starts: u32,
    first: Mark,
    last: Mark,
    /// Time on in whole cycles, and the time on of the cycle under way, µs.
    on: i64,
    on_now: i64,
    square: f64,
    running: bool,
    peak: f64,
    peaks: Vec<f32>,
    long: Long,
}

/// The long times above one level: how many, their time and energy, and when the first and the last began.
#[derive(Clone, Copy, Default)]
struct Long {
    times: u32,
    time: i64,
    energy: f64,
    first: i64,
    last: i64,
}

impl Long {
    fn add(&mut self, from: Mark, to: Mark) {
        if to.t - from.t < LONG {
            return;
        }
        if self.times == 0 {
            self.first = from.t;
        }
        self.times += 1;
        self.time += to.t - from.t;
        self.energy += to.energy - from.energy;
        self.last = from.t;
    }
}

/// How many levels a power reaches.
#[inline]
fn level(w: f64) -> usize {
    ((w.to_bits() as i64 >> 49) - LEVEL_FROM + 1).clamp(0, LEVELS as i64) as usize
}

/// Follows crossings and the time at each power.
pub(crate) struct Watch {
    /// Time (µs) and energy (W·µs) by power.
    bins: Vec<(f64, f64)>,
    levels: Vec<Level>,
    now: usize,
    begun: bool,
}

impl Watch {
    pub(crate) fn new() -> Self {
        Watch { bins: vec![(0.0, 0.0); FINE], levels: vec![Level::default(); LEVELS], now: 0, begun: false }
    }

    /// A row of this power, `step` µs after the one before (0 over a gap).
    #[inline]
    pub(crate) fn row(&mut self, watts: f64, step: i64, here: Mark) {
        let w = self.spend(watts, step as f64);
        self.reach(w, level(w), here);
    }

    /// Takes rows at once: W between two powers, the step before each (µs), and the mark of each by its place.
    pub(crate) fn rows(
        &mut self,
        watts: &[f64],
        (low, high): (f64, f64),
        laid: &[(f64, f64)],
        mark: impl Fn(usize) -> Mark,
    ) {
        for (w, (step, _)) in watts.iter().zip(laid) {
            self.spend(*w, *step);
        }
        let (low, top) = (level(low.max(0.0)), level(high.max(0.0)));
        if low == top {
            // Only the first of them can cross a level.
            self.reach(high.max(0.0), top, mark(0));
        } else {
            for (k, w) in watts.iter().enumerate() {
                let w = if *w > 0.0 { *w } else { 0.0 };
                self.reach(w, level(w), mark(k));
            }
        }
    }

    /// Time and energy at a power, which is never below 0.
    #[inline]
    fn spend(&mut self, watts: f64, step: f64) -> f64 {
        let w = if watts > 0.0 { watts } else { 0.0 };
        let bin = ((w.to_bits() as i64 >> 46) - FINE_FROM).clamp(0, FINE as i64 - 1) as usize;
        let (time, energy) = &mut self.bins[bin];
        *time += step;
        *energy += w * step;
        w
    }

    #[inline]
    fn reach(&mut self, w: f64, level: usize, here: Mark) {
        if level != self.now || !self.begun {
            self.cross(level, here);
        }
        if level > 0 {
            let top = &mut self.levels[level - 1];
            if w > top.peak {
                top.peak = w;
            }
        }
    }

    /// Levels below `level` are on, the others off.
    fn cross(&mut self, level: usize, here: Mark) {
        for k in self.now..level {
            let l = &mut self.levels[k];
            l.peak = 0.0;
            if !self.begun {
                continue;
            }
            l.running = true;
            if l.starts == 0 {
                l.first = here;
            } else {
                let period = (here.t - l.last.t) as f64;
                l.square += period * period;
                l.on += l.on_now;
            }
            l.starts += 1;
            l.last = here;
        }
        for k in (level..self.now).rev() {
            let peak = self.levels[k].peak;
            if k > 0 {
                self.levels[k - 1].peak = self.levels[k - 1].peak.max(peak);
            }
            let l = &mut self.levels[k];
            if l.running {
                l.on_now = here.t - l.last.t;
                l.running = false;
                l.long.add(l.last, here);
                if l.peaks.len() < 512 {
                    l.peaks.push(peak as f32);
                }
            }
        }
        self.now = level;
        self.begun = true;
    }

    /// The power at which half of the energy was delivered at lower power: what "the plateau" is, W.
    pub(crate) fn plateau(&self) -> f64 {
        let half = self.bins.iter().map(|b| b.1).sum::<f64>() / 2.0;
        weighted(self.bins.iter().map(|b| (b.1, b.1 / b.0)), half)
    }

    /// The power at which this share of the energy was delivered at lower power, W.
    pub(crate) fn delivered_below(&self, share: f64) -> f64 {
        let part = share * self.bins.iter().map(|b| b.1).sum::<f64>();
        weighted(self.bins.iter().map(|b| (b.1, b.1 / b.0)), part)
    }

    /// The mean power below and above which the time divides best, by iteration of the two means.
    fn threshold(&self) -> Option<(f64, f64, f64)> {
        let all: f64 = self.bins.iter().map(|b| b.0).sum();
        let mut level = self.bins.iter().map(|b| b.1).sum::<f64>() / all;
        for _ in 0..64 {
            let part = |above: bool| {
                let side = self.bins.iter().filter(|b| b.0 > 0.0 && (b.1 / b.0 >= level) == above);
                let (t, e) = side.fold((0.0, 0.0), |s, b| (s.0 + b.0, s.1 + b.1));
                (t > 0.0).then_some(e / t)
            };
            let (low, high) = (part(false)?, part(true)?);
            let next = (low + high) / 2.0;
            if (next - level).abs() < 1e-9 {
                return Some((low, next, high));
            }
            level = next;
        }
        None
    }

    /// The cycles, where the log shows at least three whole ones.
    pub(crate) fn cycles(&self) -> Option<Cycles> {
        let (low, level, high) = self.threshold()?;
        let total: f64 = self.bins.iter().map(|b| b.0).sum();
        let near = self.bins.iter().filter(|b| b.0 > 0.0 && (0.75..1.33).contains(&(b.1 / b.0 / level)));
        let near: f64 = near.map(|b| b.0).sum();
        // Two clear states: little time between them, and off is well below on.
        if low > 0.5 * high || near > 0.1 * total || level < 1.0 {
            return None;
        }
        let k = ((level.to_bits() as i64) >> 49) - LEVEL_FROM;
        let l = self.levels.get(usize::try_from(k).ok()?)?;
        if l.starts < 4 {
            return None;
        }
        let whole = l.starts - 1;
        let span = (l.last.t - l.first.t) as f64;
        let mean = span / f64::from(whole);
        let spread = (l.square / f64::from(whole) - mean * mean).max(0.0).sqrt();
        let duty = l.on as f64 / span;
        if spread > 0.6 * mean || !(0.02..=0.98).contains(&duty) {
            return None;
        }
        let on: f64 = self.bins.iter().filter(|b| b.0 > 0.0 && b.1 / b.0 >= level).map(|b| b.0).sum();
        let running = weighted(
            self.bins.iter().map(|b| (if b.0 > 0.0 && b.1 / b.0 >= level { b.0 } else { 0.0 }, b.1 / b.0)),
            on / 2.0,
        );
        let mut peaks = l.peaks.clone();
        peaks.sort_by(f32::total_cmp);
        let middle = |k: usize| peaks.get(k).copied().map_or(f64::NAN, f64::from);
        let peak = (middle(peaks.len() / 2) + middle(peaks.len().saturating_sub(1) / 2)) / 2.0;
        Some(Cycles {
            starts: l.starts,
            whole,
            period_s: mean / 1e6,
            on_s: l.on as f64 / f64::from(whole) / 1e6,
            duty,
            mean_w: (l.last.energy - l.first.energy) / (l.last.covered - l.first.covered) as f64,
            running_w: running,
            peak_w: peak,
            threshold_w: level,
            defrosts: self.defrosts(running, l.starts),
        })
    }

    /// Long times at a power that this load seldom takes: what a fridge does to thaw its coils.
    fn defrosts(&self, running: f64, starts: u32) -> Option<Defrosts> {
        let level = (((HIGHER * running).to_bits() as i64) >> 49) - LEVEL_FROM + 1;
        let long = self.levels.get(usize::try_from(level).ok()?)?.long;
        (long.times > 0 && long.times * SELDOM <= starts).then(|| Defrosts {
            times: long.times,
            length_s: long.time as f64 / f64::from(long.times) / 1e6,
            mean_w: long.energy / long.time as f64,
            every_s: (long.times > 1)
                .then(|| (long.last - long.first) as f64 / f64::from(long.times - 1) / 1e6),
        })
    }
}

/// The value at which the running weight passes `half`.
fn weighted(bins: impl Iterator<Item = (f64, f64)>, half: f64) -> f64 {
    let mut sum = 0.0;
    for (weight, value) in bins {
        sum += weight;
        if weight > 0.0 && sum >= half {
            return value;
        }
    }
    0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A compressor of 85 W, on for 13 of every 34 min, else 1.5 W; a heater of 180 W for the last 20 min of every `every` hours.
    fn fridge(hours: i64, every: Option<i64>) -> Option<Cycles> {
        const STEP: i64 = 10;
        let mut watch = Watch::new();
        let (mut here, mut before) = (Mark::default(), 0.0);
        for t in (0..hours * 3600).step_by(STEP as usize) {
            let compressor = if t % (34 * 60) < 13 * 60 { 85.0 } else { 1.5 };
            let thaws = every.is_some_and(|h| t % (h * 3600) >= h * 3600 - 20 * 60);
            let watts = if thaws { 180.0 } else { compressor };
            // The row's power holds from the row before it, as the meter had it.
            let step = if t == 0 { 0 } else { STEP * 1_000_000 };
            here =
                Mark { t: t * 1_000_000, energy: here.energy + before * step as f64, covered: t * 1_000_000 };
            watch.row(watts, step, here);
            before = watts;
        }
        watch.cycles()
    }

    #[test]
    fn a_heater_every_eleven_hours_is_told_from_the_compressor() {
        // In 24 h it begins at 10 h 40 min and 21 h 40 min: twice, 20 min, 180 W, 11 h apart.
        let cycles = fridge(24, Some(11)).unwrap();
        let found = cycles.defrosts.unwrap();
        assert_eq!((found.times, found.length_s, found.every_s), (2, 1200.0, Some(39_600.0)));
        assert!((found.mean_w - 180.0).abs() < 1e-6, "{}", found.mean_w);
        assert!((cycles.running_w - 85.0).abs() < 1.0, "{}", cycles.running_w);
    }

    #[test]
    fn without_a_heater_there_is_none() {
        assert_eq!(fridge(24, None).unwrap().defrosts, None);
        // A heater that is on every hour is the load's ordinary way.
        assert!(fridge(24, Some(1)).is_none_or(|c| c.defrosts.is_none()));
    }
}
