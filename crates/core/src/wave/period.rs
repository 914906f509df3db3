//! Is there a wave, how long is its cycle, and where does it run undisturbed?
use super::half_cycle::sum_of_squares;
use super::overtones::Overtones;
use super::sine::{Sine, with_frequency};

/// A wave that runs undisturbed for a while.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steady {
    /// Samples a cycle.
    pub period: f64,
    /// Middle line.
    pub mean: f64,
    /// Height above the middle line that one sample in fifty exceeds.
    pub peak: f64,
    /// Rms over the stretch.
    pub rms: f64,
    /// An upward zero crossing where the stretch begins, samples.
    pub from: f64,
    /// An upward zero crossing where it ends (or where it was cut off).
    pub to: f64,
}

/// Fewest samples a cycle that are looked at.
const COARSEST: f64 = 8.0;
/// A cycle's length may differ by this share from the first of its run.
const EVEN: f64 = 0.04;
/// The share of the peak by which a sample may differ from the one a cycle before.
pub const DEVIATES: f32 = 0.15;

/// Finds the first stretch of two cycles or more of a wave in which each cycle is like the one before. A capture so short
/// that it holds but one whole cycle is taken when all of it repeats.
pub fn steady(v: &[f32]) -> Option<Steady> {
    let (mean, peak) = middle_and_peak(v)?;
    let rises = rises(v, mean, 0.2 * peak);
    let most = DEVIATES * peak as f32;
    let (a, b) = if let [first, second] = rises[..] {
        let period = second - first;
        (period >= COARSEST && deviation(v, period, most).is_none()).then_some((0, 1))?
    } else {
        first_even(v, &rises, most)?
    };
    let (from, to) = (rises[a], rises[b]);
    let inside = &v[from as usize..(to as usize).min(v.len())];
    let rms = (sum_of_squares(inside) / inside.len().max(1) as f64).sqrt();
    // Over whole cycles; what stands beside them would pull it.
    let mean = inside.iter().map(|x| f64::from(*x)).sum::<f64>() / inside.len().max(1) as f64;
    let guess = (b - a) as f64 / (to - from);
    let period = fit(inside, guess).map_or(1.0 / guess, |s| 1.0 / s.cycles_per_sample);
    Some(Steady { period, mean, peak, rms, from, to })
}

/// The first run of rises that are evenly apart and between which the wave repeats.
fn first_even(v: &[f32], rises: &[f64], most: f32) -> Option<(usize, usize)> {
    let mut at = 0;
    while at + 2 < rises.len() {
        let step = rises[at + 1] - rises[at];
        let even = |k: usize| ((rises[k + 1] - rises[k]) / step - 1.0).abs() < EVEN;
        let mut end = at + 1;
        while end + 1 < rises.len() && even(end) {
            end += 1;
        }
        if end < at + 2 || step < COARSEST {
            at += 1;
            continue;
        }
        let period = (rises[end] - rises[at]) / (end - at) as f64;
        let (from, to) = (rises[at] as usize, (rises[end] as usize).min(v.len()));
        let Some(bad) = deviation(&v[from..to], period, most) else { return Some((at, end)) };
        // What deviates in the second cycle may be the echo of something in the first.
        let stop = at + ((bad as f64 / period) as usize).min(end - at);
        if stop >= at + 2 {
            return Some((at, stop));
        }
        at = stop.max(at) + 1;
    }
    None
}

/// The mean without the lowest and the highest hundredth, and the 98th percentile of the height above it; `None` where
/// nothing moves. A spike moves neither.
fn middle_and_peak(v: &[f32]) -> Option<(f64, f64)> {
    const LOOKED_AT: usize = 4096;
    let stride = (v.len() / LOOKED_AT).max(1);
    let mut seen: Vec<f64> = v.iter().step_by(stride).map(|x| f64::from(*x)).collect();
    seen.sort_by(f64::total_cmp);
    let kept = &seen[seen.len() / 100..seen.len() - seen.len() / 100];
    let middle = kept.iter().sum::<f64>() / kept.len().max(1) as f64;
    let mut heights: Vec<f64> = seen.iter().map(|x| (x - middle).abs()).collect();
    heights.sort_by(f64::total_cmp);
    let peak = *heights.get(heights.len() * 49 / 50)?;
    (peak.is_finite() && peak > 1e-9).then_some((middle, peak))
}

/// Upward crossings of the middle line, each from clearly below to clearly above, by a straight line between.
pub fn rises(v: &[f32], mean: f64, clear: f64) -> Vec<f64> {
    let (low, high) = ((mean - clear) as f32, (mean + clear) as f32);
    let mut below: Option<usize> = None;
    let mut found = Vec::new();
    for (i, x) in v.iter().enumerate() {
        if *x < low {
            below = Some(i);
        } else if *x > high
            && let Some(b) = below.take()
        {
            let (lower, upper) = (f64::from(v[b]) - mean, f64::from(*x) - mean);
            found.push(b as f64 + (i - b) as f64 * (-lower / (upper - lower)));
        }
    }
    found
}

/// How many samples in a row must deviate to count: 0.01 of a cycle, two at least.
pub fn shortest_run(period: f64) -> usize {
    ((period * 0.01).ceil() as usize).max(2)
}

/// Start of the first run of samples that differ by more than `most` from those a cycle before.
fn deviation(v: &[f32], period: f64, most: f32) -> Option<usize> {
    let lag = Lag::new(period);
    let (mut run, mut i) = (0, lag.reach);
    while i < v.len() {
        let to = (i + 1024).min(v.len());
        if run == 0 && lag.largest(v, i, to) <= most {
            i = to;
            continue;
        }
        run = if lag.difference(v, i) > most { run + 1 } else { 0 };
        if run == shortest_run(period) {
            return Some(i + 1 - run);
        }
        i += 1;
    }
    None
}

/// The sample a cycle before, between two samples.
#[derive(Clone, Copy, Debug)]
pub struct Lag {
    whole: usize,
    part: f32,
    /// Samples that must stand before.
    pub reach: usize,
}

impl Lag {
    /// For a cycle of so many samples.
    pub fn new(period: f64) -> Self {
        let whole = period.floor() as usize;
        Lag { whole, part: (period - period.floor()) as f32, reach: whole + 1 }
    }

    /// |v(i) − v(i − period)|; `i` must be at least `reach`.
    #[inline(always)]
    pub fn difference(&self, v: &[f32], i: usize) -> f32 {
        let (near, far) = (v[i - self.whole], v[i - self.whole - 1]);
        (v[i] - near - self.part * (far - near)).abs()
    }

    /// The largest difference of a stretch; `from` must be at least `reach`.
    pub fn largest(&self, v: &[f32], from: usize, to: usize) -> f32 {
        let now = &v[from..to];
        let near = &v[from - self.whole..to - self.whole];
        let far = &v[from - self.whole - 1..to - self.whole - 1];
        let mut most = [0.0f32; 8];
        let eights = now.chunks_exact(8).zip(near.chunks_exact(8)).zip(far.chunks_exact(8));
        for ((n, a), b) in eights {
            for k in 0..8 {
                let d = (n[k] - a[k] - self.part * (b[k] - a[k])).abs();
                // A plain comparison, so that eight go at once.
                most[k] = if d > most[k] { d } else { most[k] };
            }
        }
        let rest = to - (to - from) % 8;
        (rest..to).map(|i| self.difference(v, i)).chain(most).fold(0.0, f32::max)
    }
}

/// The four-parameter fit over samples, means of neighbours taken where a cycle has more than two hundred: averages
/// of neighbours shift no frequency. Harmonics pull a fitted frequency, so they are fitted and taken off in turn. The
/// phase is that at sample 0.
pub fn fit(v: &[f32], guess: f64) -> Option<Sine> {
    let together = ((1.0 / guess) / 200.0).floor().max(1.0) as usize;
    let means: Vec<f64> = v
        .chunks_exact(together)
        .map(|c| c.iter().map(|x| f64::from(*x)).sum::<f64>() / together as f64)
        .collect();
    let mut fit = with_frequency(&means, guess * together as f64)?;
    for _ in 0..ROUNDS {
        let next = with_frequency(&without_harmonics(&means, &fit), fit.cycles_per_sample)?;
        let moved = next.cycles_per_sample / fit.cycles_per_sample - 1.0;
        fit = next;
        if moved.abs() < SETTLED {
            break;
        }
    }
    let cycles_per_sample = fit.cycles_per_sample / together as f64;
    // The first mean stands in the middle of its samples.
    let back = std::f64::consts::TAU * cycles_per_sample * (together as f64 - 1.0) / 2.0;
    let (phase, size) = (fit.phase() - back, fit.amplitude());
    Some(Sine { cycles_per_sample, a: size * phase.cos(), b: -size * phase.sin(), ..fit })
}

/// Times the harmonics are taken off, and the share of the frequency below which the last time is enough: 5e-6 Hz at 50 Hz,
/// a thousandth of what a capture tells.
const ROUNDS: usize = 3;
const SETTLED: f64 = 1e-7;
/// Harmonics taken off.
const HARMONICS: usize = 40;

/// The samples less their harmonics, as the whole cycles there are show them.
fn without_harmonics(y: &[f64], fit: &Sine) -> Vec<f64> {
    let f = fit.cycles_per_sample;
    let whole = (((y.len() as f64 * f + 0.05).floor() / f).round() as usize).clamp(1, y.len());
    // Two samples a cycle tell no harmonic from its mirror image.
    let highest = ((0.45 / f).ceil() as usize).saturating_sub(1).min(HARMONICS);
    Overtones::of(y, fit, whole, highest).taken_off(y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn sine(hz: f64, rate: f64, n: usize) -> Vec<f32> {
        (0..n).map(|i| (170.0 * (TAU * hz * i as f64 / rate + 0.7).sin()) as f32).collect()
    }

    #[test]
    fn a_sine_is_found() {
        for (hz, rate, n) in [(50.2, 10_000.0, 2000), (59.98, 1e6, 200_000), (400.0, 20_000.0, 4000)] {
            let s = steady(&sine(hz, rate, n)).unwrap();
            assert!((rate / s.period - hz).abs() < 1e-4, "{} is not {hz}", rate / s.period);
            assert!((s.rms - 170.0 / 2f64.sqrt()).abs() < 0.5 && (s.peak - 170.0).abs() < 0.5);
        }
    }

    /// A gap from 61 to 74 ms: what stands before it is taken, and nothing of it.
    #[test]
    fn the_stretch_ends_before_a_gap() {
        let mut v = sine(60.0, 20_000.0, 4000);
        v[1220..1480].fill(0.0);
        let s = steady(&v).unwrap();
        assert!(s.to < 1221.0 && s.to - s.from > 1.9 * s.period, "{s:?}");
    }

    #[test]
    fn what_is_no_wave() {
        assert!(steady(&[]).is_none());
        assert!(steady(&[1.0; 1000]).is_none());
        assert!(steady(&[f32::NAN; 1000]).is_none());
        let step: Vec<f32> = (0..1000).map(|i| if i < 500 { 5.0 } else { 0.0 }).collect();
        assert!(steady(&step).is_none());
        // Noise by a linear congruence (Knuth): no even cycles.
        let mut x = 1u32;
        let noise: Vec<f32> = (0..5000)
            .map(|_| {
                x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (x >> 8) as f32
            })
            .collect();
        assert!(steady(&noise).is_none());
    }
}
