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
    let (normal, right) = normal_equations(samples, cycles_per_sample, |_, cos, sin| [cos, sin, 1.0])?;
    let p = solve(normal, right)?;
    finished(samples, cycles_per_sample, [p[0], p[1], p[2]])
}

/// Rounds of the four-parameter fit; it converges in three or four from a start within a tenth of a bin.
const ROUNDS: usize = 12;

/// The four-parameter fit from a first guess of the frequency. `None` where it does not settle near the guess.
pub fn with_frequency(samples: &[f64], first_guess: f64) -> Option<Sine> {
    let mut f = first_guess;
    let mut fit = at_frequency(samples, f)?;
    for _ in 0..ROUNDS {
        let (a, b) = (fit.a, fit.b);
        // The fourth column is the derivative by ω, in cycles per sample, scaled to the length so that the numbers stay alike.
        let n = samples.len() as f64;
        let row = |t: f64, cos: f64, sin: f64| [cos, sin, 1.0, TAU * t / n * (b * cos - a * sin)];
        let (normal, right) = normal_equations(samples, f, row)?;
        let step = solve(normal, right)?[3] / n;
        f += step;
        if !(f > 0.0 && f < 0.5 && (f - first_guess).abs() < 0.2 * first_guess) {
            return None;
        }
        fit = at_frequency(samples, f)?;
        if step.abs() < 1e-13 * f.max(1e-9) {
            break;
        }
    }
    Some(fit)
}

/// Normal matrix and right-hand side; the angle is carried on by a turn per sample, which is renewed now and then.
fn normal_equations<const N: usize>(
    samples: &[f64],
    f: f64,
    row: impl Fn(f64, f64, f64) -> [f64; N],
) -> Option<(SMatrix<f64, N, N>, SVector<f64, N>)> {
    if samples.len() <= N || !f.is_finite() {
        return None;
    }
    let (mut normal, mut right) = (SMatrix::<f64, N, N>::zeros(), SVector::<f64, N>::zeros());
    turning(samples, f, |t, cos, sin, y| {
        let row = row(t, cos, sin);
        for i in 0..N {
            for j in 0..=i {
                normal[(i, j)] += row[i] * row[j];
            }
            right[i] += row[i] * y;
        }
    });
    for i in 0..N {
        for j in 0..i {
            normal[(j, i)] = normal[(i, j)];
        }
    }
    Some((normal, right))
}

/// Calls with (sample, cos, sin, value) for each sample.
pub(super) fn turning(samples: &[f64], f: f64, mut each: impl FnMut(f64, f64, f64, f64)) {
    let (turn_sin, turn_cos) = (TAU * f).sin_cos();
    let (mut sin, mut cos) = (0.0, 1.0);
    for (i, y) in samples.iter().enumerate() {
        let t = i as f64;
        if i % 256 == 0 {
            (sin, cos) = (TAU * (f * t).fract()).sin_cos();
        }
        each(t, cos, sin, *y);
        (sin, cos) = (sin * turn_cos + cos * turn_sin, cos * turn_cos - sin * turn_sin);
    }
}

fn solve<const N: usize>(normal: SMatrix<f64, N, N>, right: SVector<f64, N>) -> Option<SVector<f64, N>> {
    let solved = normal.cholesky()?.solve(&right);
    solved.iter().all(|x| x.is_finite()).then_some(solved)
}

fn finished(samples: &[f64], cycles_per_sample: f64, [a, b, c]: [f64; 3]) -> Option<Sine> {
    let mut squares = 0.0;
    turning(samples, cycles_per_sample, |_, cos, sin, y| squares += (y - a * cos - b * sin - c).powi(2));
    let residual = (squares / samples.len() as f64).sqrt();
    residual.is_finite().then_some(Sine { cycles_per_sample, a, b, c, residual })
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
        assert!(with_frequency(&[0.0; 50], 0.1).is_none() || with_frequency(&[0.0; 50], 0.1).is_some());
    }
}
