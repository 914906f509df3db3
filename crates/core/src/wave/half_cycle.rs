//! One-cycle rms refreshed each half cycle, Urms(1/2), and the dips it shows (IEC 61000-4-30; wording from memory).
//!
//! It classes an event of power quality. It does not time a switchover: a gap of 2 ms may not show at all, one of 5 to
//! 10 ms shows as 20 to 30 ms. That is timed on the waveform itself.
use serde::Serialize;

/// A stretch of low voltage.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dip {
    /// Segment of the capture it lies in, from 1.
    pub segment: usize,
    /// Begin of the first cycle below the threshold, s on the axis of its segment.
    pub start_s: f64,
    /// From there to the begin of the first cycle that is back, ms; absent where the capture ends before.
    pub duration_ms: Option<f64>,
    /// Lowest Urms(1/2), V.
    pub residual_v: f64,
    /// The same in per cent of the declared voltage.
    pub residual_percent: f64,
}

/// A dip begins below this share of the declared voltage …
pub const DIP: f64 = 0.90;
/// … and ends at this one, the hysteresis of 2 % (from memory) added.
pub const DIP_END: f64 = 0.92;
/// A swell begins above this share.
pub const SWELL: f64 = 1.10;

/// Cuts samples into half cycles on a grid that runs on through whatever happens, and gives Urms(1/2).
#[derive(Clone, Debug)]
pub struct HalfCycles {
    first: f64,
    half: f64,
    /// Half cycles begun, and where this one began and ends.
    k: u64,
    from: u64,
    to: u64,
    at: u64,
    squares: f64,
    /// Sum of squares and length of the half cycle before.
    before: Option<(f64, u64)>,
}

impl HalfCycles {
    /// A grid from sample `first` (an upward zero crossing) in steps of half of `period` samples; the period must be 2 or more.
    pub fn new(first: f64, period: f64) -> Self {
        let half = (period / 2.0).max(1.0);
        let mut grid = HalfCycles { first, half, k: 0, from: 0, to: 0, at: 0, squares: 0.0, before: None };
        (grid.from, grid.to) = (grid.edge(0), grid.edge(1));
        grid
    }

    fn edge(&self, k: u64) -> u64 {
        (self.first + k as f64 * self.half).round_ties_even().max(0.0) as u64
    }

    /// Takes the samples that follow; calls with (first sample of the cycle, Urms(1/2)) for each cycle that is whole.
    pub fn take(&mut self, mut v: &[f32], mut each: impl FnMut(u64, f64)) {
        if self.at < self.from {
            let skip = (self.from - self.at).min(v.len() as u64);
            self.at += skip;
            v = &v[skip as usize..];
        }
        while !v.is_empty() {
            let n = (self.to - self.at).min(v.len() as u64);
            self.squares += sum_of_squares(&v[..n as usize]);
            self.at += n;
            v = &v[n as usize..];
            if self.at == self.to {
                self.turn(&mut each);
            }
        }
    }

    fn turn(&mut self, each: &mut impl FnMut(u64, f64)) {
        let length = self.to - self.from;
        if let Some((squares, before)) = self.before {
            let all = (length + before) as f64;
            each(self.from - before, ((squares + self.squares) / all).sqrt());
        }
        self.before = Some((self.squares, length));
        self.squares = 0.0;
        self.k += 1;
        (self.from, self.to) = (self.to, self.edge(self.k + 1).max(self.to + 1));
    }
}

/// Σ v² in double precision.
pub fn sum_of_squares(v: &[f32]) -> f64 {
    const LANES: usize = 8;
    let mut lanes = [0.0f64; LANES];
    let whole = v.chunks_exact(LANES);
    let rest: f64 = whole.remainder().iter().map(|x| f64::from(*x) * f64::from(*x)).sum();
    for eight in whole {
        for k in 0..LANES {
            let x = f64::from(eight[k]);
            lanes[k] += x * x;
        }
    }
    lanes.iter().sum::<f64>() + rest
}

/// Finds dips in a row of Urms(1/2).
#[derive(Clone, Debug)]
pub struct Dips {
    declared: f64,
    rate: f64,
    start_s: f64,
    open: Option<(u64, f64)>,
    /// Those that are over.
    pub found: Vec<Dip>,
    /// How many there were; only the first thousand are kept.
    pub count: u64,
    /// Highest Urms(1/2).
    pub highest: f64,
}

/// Dips kept.
const KEPT: usize = 1000;

impl Dips {
    /// For a declared voltage in the unit of the samples; `start_s` is the time of sample 0.
    pub fn new(declared: f64, rate: f64, start_s: f64) -> Self {
        Dips { declared, rate, start_s, open: None, found: Vec::new(), count: 0, highest: 0.0 }
    }

    /// Takes the next value: first sample of its cycle, and its rms.
    pub fn take(&mut self, sample: u64, rms: f64) {
        self.highest = self.highest.max(rms);
        match &mut self.open {
            None if rms < DIP * self.declared => self.open = Some((sample, rms)),
            None => {}
            Some((_, lowest)) if rms < DIP_END * self.declared => *lowest = lowest.min(rms),
            Some((from, lowest)) => {
                let (from, lowest) = (*from, *lowest);
                self.open = None;
                self.keep(from, Some(sample), lowest);
            }
        }
    }

    fn keep(&mut self, from: u64, to: Option<u64>, lowest: f64) {
        self.count += 1;
        if self.found.len() < KEPT {
            self.found.push(Dip {
                segment: 1,
                start_s: self.start_s + from as f64 / self.rate,
                duration_ms: to.map(|to| (to - from) as f64 / self.rate * 1e3),
                residual_v: lowest,
                residual_percent: lowest / self.declared * 100.0,
            });
        }
    }

    /// The capture is over; a dip still open has no end.
    pub fn finish(&mut self) {
        if let Some((from, lowest)) = self.open.take() {
            self.keep(from, None, lowest);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{PI, TAU};

    /// 230 V declared: begins below 207.0, ends at 211.6; so it lasts from the third to the tenth half cycle, seven of
    /// them (70 ms at 50 Hz), and 208 does not end it.
    #[test]
    fn hysteresis() {
        let mut dips = Dips::new(230.0, 100.0, 0.0);
        let values = [230.0, 228.0, 205.0, 180.0, 150.0, 190.0, 206.0, 208.0, 211.5, 212.0, 230.0];
        for (k, u) in values.into_iter().enumerate() {
            dips.take(k as u64, u);
        }
        dips.finish();
        let [dip] = dips.found[..] else { panic!("{:?}", dips.found) };
        assert!((dip.duration_ms.unwrap() - 70.0).abs() < 1e-9 && dip.residual_v == 150.0);
        assert!((dip.start_s - 0.02).abs() < 1e-12 && (dip.residual_percent - 150.0 / 2.3).abs() < 1e-9);
    }

    /// What one-cycle rms makes of a gap g ≤ half a cycle: √(1 − (f·g ∓ sin(4πfg)/4π)), minus from a zero crossing,
    /// plus from a peak.
    fn closed_form(f: f64, gap: f64, peak: bool) -> f64 {
        let sign = if peak { 1.0 } else { -1.0 };
        (1.0 - (f * gap + sign * (4.0 * PI * f * gap).sin() / (4.0 * PI))).sqrt()
    }

    #[test]
    fn gaps_show_as_the_closed_form_says() {
        for (f, ms, peak, want) in [
            (50.0, 2.0, false, 0.987_766_507_3),
            (50.0, 2.0, true, 0.907_92),
            (50.0, 5.0, false, 0.866_025_403_8),
            (50.0, 8.0, false, 0.724_097_595),
            (50.0, 10.0, false, 0.5f64.sqrt()),
            (60.0, 4.0, false, 0.877_481_453_8),
        ] {
            assert!((closed_form(f, ms / 1e3, peak) - want).abs() < 6e-6, "{want}");
            let rate = 100_000.0;
            let begin = 0.1 + if peak { 0.25 / f } else { 0.0 };
            let v: Vec<f32> = (0..20_000)
                .map(|i| f64::from(i) / rate)
                .map(|t| {
                    let off = t >= begin - 1e-9 && t < begin + ms / 1e3 - 1e-9;
                    if off { 0.0 } else { (2f64.sqrt() * (TAU * f * t).sin()) as f32 }
                })
                .collect();
            let mut lowest = f64::MAX;
            HalfCycles::new(0.0, rate / f).take(&v, |_, u| lowest = lowest.min(u));
            // ±0.001 for sampled data.
            assert!((lowest - want).abs() < 1e-3, "{f} Hz, {ms} ms: {lowest} is not {want}");
        }
    }

    #[test]
    fn pieces_make_no_difference() {
        let v: Vec<f32> = (0..5000).map(|i| (f64::from(i) * 0.0321).sin() as f32).collect();
        let (mut whole, mut pieces) = (Vec::new(), Vec::new());
        HalfCycles::new(13.4, 195.7).take(&v, |at, u| whole.push((at, u)));
        let mut grid = HalfCycles::new(13.4, 195.7);
        v.chunks(77).for_each(|c| grid.take(c, |at, u| pieces.push((at, u))));
        assert_eq!(whole.len(), pieces.len());
        assert!(whole.iter().zip(&pieces).all(|(a, b)| a.0 == b.0 && (a.1 - b.1).abs() < 1e-12));
        assert!(whole.iter().all(|(_, u)| (u - 0.5f64.sqrt()).abs() < 0.01));
    }
}
