//! The harmonics of a wave that has just been fitted, by projection over whole cycles, all in one pass.
use super::sine::{BLOCK, Block, Sine, turns};

/// Cosine and sine parts of the harmonics from the second on.
pub struct Overtones {
    cycles_per_sample: f64,
    parts: Vec<(f64, f64)>,
}

impl Overtones {
    /// Orders 2 to `highest` of what the fundamental leaves of the samples, over the first `whole` of them: whole cycles.
    pub fn of(samples: &[f64], fundamental: &Sine, whole: usize, highest: usize) -> Overtones {
        let f = fundamental.cycles_per_sample;
        let mut parts = vec![(0.0, 0.0); highest.saturating_sub(1)];
        for (block, piece) in samples[..whole.min(samples.len())].chunks(BLOCK).enumerate() {
            let (cos, sin) = turns(f, block * BLOCK);
            let mut rest = [0.0; BLOCK];
            for (k, y) in piece.iter().enumerate() {
                rest[k] = y - fundamental.a * cos[k] - fundamental.b * sin[k] - fundamental.c;
            }
            multiples(&cos, &sin, parts.len(), |order, cos, sin| {
                let (mut a, mut b) = (0.0, 0.0);
                for k in 0..BLOCK {
                    a += rest[k] * cos[k];
                    b += rest[k] * sin[k];
                }
                parts[order].0 += a;
                parts[order].1 += b;
            });
        }
        let scale = 2.0 / whole.max(1) as f64;
        parts.iter_mut().for_each(|(a, b)| (*a, *b) = (*a * scale, *b * scale));
        Overtones { cycles_per_sample: f, parts }
    }

    /// The samples less these.
    pub fn taken_off(&self, samples: &[f64]) -> Vec<f64> {
        let mut clean = Vec::with_capacity(samples.len());
        for (block, piece) in samples.chunks(BLOCK).enumerate() {
            let (cos, sin) = turns(self.cycles_per_sample, block * BLOCK);
            let mut sum = [0.0; BLOCK];
            multiples(&cos, &sin, self.parts.len(), |order, cos, sin| {
                let (a, b) = self.parts[order];
                for k in 0..BLOCK {
                    sum[k] += a * cos[k] + b * sin[k];
                }
            });
            clean.extend(piece.iter().zip(sum).map(|(y, s)| y - s));
        }
        clean
    }
}

/// Cosines and sines of twice the angle, three times it and so on, each from the two before:
/// cos (h+1)θ = 2 cos θ · cos hθ − cos (h−1)θ, and the same for sines.
fn multiples(cos: &Block, sin: &Block, count: usize, mut each: impl FnMut(usize, &Block, &Block)) {
    let twice = cos.map(|c| 2.0 * c);
    let (mut cos_before, mut sin_before) = ([1.0; BLOCK], [0.0; BLOCK]);
    let (mut cos, mut sin) = (*cos, *sin);
    for order in 0..count {
        for k in 0..BLOCK {
            let (c, s) = (twice[k] * cos[k] - cos_before[k], twice[k] * sin[k] - sin_before[k]);
            (cos_before[k], sin_before[k]) = (cos[k], sin[k]);
            (cos[k], sin[k]) = (c, s);
        }
        each(order, &cos, &sin);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// y = cos θ + 0.3·cos 3θ − 0.1·sin 7θ + 2 over four cycles of 50 samples: what is taken off is what was put on.
    #[test]
    fn what_was_put_on_comes_off() {
        let angle = |i: usize| TAU * i as f64 / 50.0;
        let plain: Vec<f64> = (0..230).map(|i| angle(i).cos() + 2.0).collect();
        let put_on = |i: usize| 0.3 * (3.0 * angle(i)).cos() - 0.1 * (7.0 * angle(i)).sin();
        let y: Vec<f64> = plain.iter().enumerate().map(|(i, p)| p + put_on(i)).collect();
        let fundamental = Sine { cycles_per_sample: 0.02, a: 1.0, b: 0.0, c: 2.0, residual: 0.0 };
        let overtones = Overtones::of(&y, &fundamental, 200, 20);
        assert!((overtones.parts[1].0 - 0.3).abs() < 1e-12 && (overtones.parts[5].1 + 0.1).abs() < 1e-12);
        let clean = overtones.taken_off(&y);
        assert!(clean.len() == 230 && clean.iter().zip(&plain).all(|(c, p)| (c - p).abs() < 1e-12));
    }
}
