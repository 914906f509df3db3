//! Fitting a sine: IEEE 1057, three parameters at a known frequency, four where it is sought.
//!
//! y(t) = a·cos ωt + b·sin ωt + c, t in samples from the first one; least squares.
use nalgebra::{SMatrix, SVector};
use std::f64::consts::TAU;

/// A fitted sine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sine {
    /// Cycles per sample, above 0 and below ½.
    pub cycles_per_sample: f64,
    /// Cosine part, in the unit of the samples.
    pub a: f64,
    /// Sine part.
    pub b: f64,
    /// Offset.
    pub c: f64,
    /// Root mean square of what the sine leaves unexplained.
    pub residual: f64,
}

impl Sine {
    /// Amplitude √(a² + b²).
    pub fn amplitude(&self) -> f64 {
        self.a.hypot(self.b)
    }

    /// Phase φ of amplitude·cos(ωt + φ), rad: atan2(−b, a).
    pub fn phase(&self) -> f64 {
        (-self.b).atan2(self.a)
    }

    /// Phase at another sample, cycles, not reduced.
    pub fn cycles_at(&self, sample: f64) -> f64 {
        self.phase() / TAU + self.cycles_per_sample * sample
    }
}

/// The three-parameter fit at a known frequency. `None` below four samples or where the samples do not determine it.
pub fn at_frequency(samples: &[f64], cycles_per_sample: f64) -> Option<Sine> {
    Sums::of(samples, cycles_per_sample)?.sine()
}

/// Rounds of the four-parameter fit; it converges in three or four from a start within a tenth of a bin.
const ROUNDS: usize = 12;
/// A step by less than this share of the frequency says no more: 5e-10 Hz at 50 Hz.
const SETTLED: f64 = 1e-11;

/// The four-parameter fit from a first guess of the frequency. `None` where it does not settle near the guess.
pub fn with_frequency(samples: &[f64], first_guess: f64) -> Option<Sine> {
    let mut f = first_guess;
    for _ in 0..ROUNDS {
        let sums = Sums::of(samples, f)?;
        let fit = sums.sine()?;
        let step = sums.step(&fit)?;
        if step.abs() < SETTLED * f {
            return Some(fit);
        }
        f += step;
        if !(f > 0.0 && f < 0.5 && (f - first_guess).abs() < 0.2 * first_guess) {
            return None;
        }
    }
    at_frequency(samples, f)
}

/// What both fits need of the samples, from one pass over them: whatever a and b come to, the column of the fourth
/// parameter is made of t·cos and t·sin. t runs from 0 to 1 here, so that the numbers stay alike.
#[derive(Default)]
struct Sums {
    f: f64,
    n: f64,
    cos: f64,
    sin: f64,
    cos_cos: f64,
    cos_sin: f64,
    t_cos: f64,
    t_sin: f64,
    t_cos_cos: f64,
    t_cos_sin: f64,
    t_sin_sin: f64,
    tt_cos_cos: f64,
    tt_cos_sin: f64,
    tt_sin_sin: f64,
    y: f64,
    yy: f64,
    y_cos: f64,
    y_sin: f64,
    ty_cos: f64,
    ty_sin: f64,
}

impl Sums {
    fn of(samples: &[f64], f: f64) -> Option<Sums> {
        if samples.len() < 4 || !f.is_finite() {
            return None;
        }
        let mut s = Sums { f, n: samples.len() as f64, ..Sums::default() };
        for (block, piece) in samples.chunks(BLOCK).enumerate() {
            let first = block * BLOCK;
            let (cosines, sines) = turns(f, first);
            for (k, &y) in piece.iter().enumerate() {
                let (t, cos, sin) = ((first + k) as f64 / s.n, cosines[k], sines[k]);
                let (t_cos, t_sin) = (t * cos, t * sin);
                s.cos += cos;
                s.sin += sin;
                s.cos_cos += cos * cos;
                s.cos_sin += cos * sin;
                s.t_cos += t_cos;
                s.t_sin += t_sin;
                s.t_cos_cos += t_cos * cos;
                s.t_cos_sin += t_cos * sin;
                s.t_sin_sin += t_sin * sin;
                s.tt_cos_cos += t_cos * t_cos;
                s.tt_cos_sin += t_cos * t_sin;
                s.tt_sin_sin += t_sin * t_sin;
                s.y += y;
                s.yy += y * y;
                s.y_cos += y * cos;
                s.y_sin += y * sin;
                s.ty_cos += y * t_cos;
                s.ty_sin += y * t_sin;
            }
        }
        Some(s)
    }

    /// Normal matrix and right-hand side of three parameters.
    fn three(&self) -> (SMatrix<f64, 3, 3>, SVector<f64, 3>) {
        let sin_sin = self.n - self.cos_cos;
        #[rustfmt::skip]
        let normal = SMatrix::<f64, 3, 3>::new(
            self.cos_cos, self.cos_sin, self.cos,
            self.cos_sin, sin_sin, self.sin,
            self.cos, self.sin, self.n,
        );
        (normal, SVector::<f64, 3>::new(self.y_cos, self.y_sin, self.y))
    }

    fn sine(&self) -> Option<Sine> {
        let (normal, right) = self.three();
        let p = solve(normal, right)?;
        // Σy² less what is explained; where that is all, rounding may bring it below nothing.
        let residual = ((self.yy - p.dot(&right)).max(0.0) / self.n).sqrt();
        Some(Sine { cycles_per_sample: self.f, a: p[0], b: p[1], c: p[2], residual })
    }

    /// By how much the frequency should move. The fourth column is the derivative by it: τ·t·(b·cos − a·sin).
    fn step(&self, fit: &Sine) -> Option<f64> {
        let (a, b) = (TAU * fit.a, TAU * fit.b);
        let (three, right) = self.three();
        let column = [
            b * self.t_cos_cos - a * self.t_cos_sin,
            b * self.t_cos_sin - a * self.t_sin_sin,
            b * self.t_cos - a * self.t_sin,
            b * b * self.tt_cos_cos - 2.0 * a * b * self.tt_cos_sin + a * a * self.tt_sin_sin,
        ];
        let (mut normal, mut side) = (SMatrix::<f64, 4, 4>::zeros(), SVector::<f64, 4>::zeros());
        normal.fixed_view_mut::<3, 3>(0, 0).copy_from(&three);
        side.fixed_rows_mut::<3>(0).copy_from(&right);
        for (i, x) in column.into_iter().enumerate() {
            (normal[(i, 3)], normal[(3, i)]) = (x, x);
        }
        side[3] = b * self.ty_cos - a * self.ty_sin;
        Some(solve(normal, side)?[3] / self.n)
    }
}

fn solve<const N: usize>(normal: SMatrix<f64, N, N>, right: SVector<f64, N>) -> Option<SVector<f64, N>> {
    let solved = normal.cholesky()?.solve(&right);
    solved.iter().all(|x| x.is_finite()).then_some(solved)
}

/// Samples whose angles are worked out together.
pub(super) const BLOCK: usize = 64;
/// Cosines or sines of a block.
pub(super) type Block = [f64; BLOCK];

/// Cosines and sines of ωt from sample `first` on: one of each, carried on by a turn per sample.
pub(super) fn turns(f: f64, first: usize) -> (Block, Block) {
    let (turn_sin, turn_cos) = (TAU * f).sin_cos();
    let (mut sin, mut cos) = (TAU * (f * first as f64).fract()).sin_cos();
    let (mut cosines, mut sines) = ([0.0; BLOCK], [0.0; BLOCK]);
    for k in 0..BLOCK {
        (cosines[k], sines[k]) = (cos, sin);
        (sin, cos) = (sin * turn_cos + cos * turn_sin, cos * turn_cos - sin * turn_sin);
    }
    (cosines, sines)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEEE 1057 three-parameter fit, worked by hand: y = 3 5 5 4 2 0 0 1 at ⅛ cycle per sample gives
    /// a = Σy·cos/4, b = Σy·sin/4, c = Σy/8 = 20/8, for the three columns are orthogonal over a whole cycle.
    #[test]
    fn three_parameters_by_hand() {
        let fit = at_frequency(&[3.0, 5.0, 5.0, 4.0, 2.0, 0.0, 0.0, 1.0], 0.125).unwrap();
        let close = |x: f64, y: f64| assert!((x - y).abs() < 1e-8, "{x} is not {y}");
        close(fit.a, 0.603_553_390_6);
        close(fit.b, 2.664_213_562);
        close(fit.c, 2.5);
        close(fit.amplitude(), 2.731_723_010);
        close(fit.residual, 0.137_275_997);
    }

    /// 2·cos(2π·50.3·t + 1) + 0.2 at 10 kS/s, 2000 samples, from 50 Hz: cosine part 2·cos 1, sine part −2·sin 1.
    #[test]
    fn four_parameters_find_the_frequency() {
        let y: Vec<f64> =
            (0..2000).map(|i| 2.0 * (TAU * 50.3 * f64::from(i) / 1e4 + 1.0).cos() + 0.2).collect();
        let fit = with_frequency(&y, 50.0 / 1e4).unwrap();
        let close = |x: f64, y: f64| assert!((x - y).abs() < 1e-8, "{x} is not {y}");
        close(fit.cycles_per_sample * 1e4, 50.3);
        close(fit.a, 1.080_604_612);
        close(fit.b, -1.682_941_970);
        close(fit.c, 0.2);
    }

    #[test]
    fn what_determines_nothing_is_refused() {
        assert!(at_frequency(&[1.0, 2.0, 3.0], 0.1).is_none());
        assert!(at_frequency(&[f64::NAN; 50], 0.1).is_none());
        // A sine of no height has no frequency.
        assert!(with_frequency(&[0.0; 50], 0.1).is_none());
    }
}
