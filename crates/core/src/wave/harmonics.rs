//! Harmonics and their sum: subgroups per IEC 61000-4-7 (from memory: window of 10 cycles at 50 Hz or 12 at 60 Hz,
//! lines 5 Hz apart, a subgroup is the harmonic's line and its two neighbours).
use realfft::num_complex::Complex64;

/// Cycles of a standard window at this frequency: about 200 ms, 10 at 50 Hz and 12 at 60 Hz; 100 at most, for what is no
/// mains frequency.
pub fn window_cycles(hz: f64) -> usize {
    ((0.2 * hz).round() as usize).clamp(1, 100)
}

/// Squared rms of the harmonics 1 to `orders`; entry 0 is the fundamental. `cycles` is the number of whole cycles in the
/// window the lines are of. Windows of fewer than eight cycles have no neighbours to count: there the line alone.
pub fn subgroups(lines: &[Complex64], cycles: usize, orders: usize) -> Vec<f64> {
    let reach = usize::from(cycles >= 8);
    let squared = |k: usize| lines.get(k).map_or(0.0, |c| c.norm_sqr() / 2.0);
    (1..=orders).map(|h| (h * cycles - reach..=h * cycles + reach).map(squared).sum()).collect()
}

/// Highest line needed for so many orders.
pub fn highest_line(cycles: usize, orders: usize) -> usize {
    cycles * orders + 1
}

/// Distortion over the fundamental, 0 to …: √Σ_{h≥2} U_h² / U_1. `None` without a fundamental.
pub fn distortion(squared: &[f64]) -> Option<f64> {
    let (first, rest) = squared.split_first()?;
    (*first > 0.0).then(|| (rest.iter().sum::<f64>() / first).sqrt()).filter(|t| t.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wave::spectrum::Spectrum;
    use std::f64::consts::{PI, SQRT_2, TAU};

    fn thd(v: &[f32], cycles: usize, orders: usize) -> f64 {
        let lines = Spectrum::new(highest_line(cycles, orders)).lines(v, 0.0, v.len() as f64).unwrap();
        distortion(&subgroups(&lines, cycles, orders)).unwrap()
    }

    /// 10.24 kS/s, 2048 samples; rms 230 at 50, 11.5 at 150, 1 at 155, 1 at 160, 1 at 175, 6.9 at 250 Hz. The subgroup
    /// of the third holds 150 and 155: √(11.5² + 1²) = 11.5433964; with the fifth, √(11.5433964² + 6.9²)/230 = 0.0584714.
    #[test]
    fn subgroups_of_a_worked_signal() {
        let put = [(50.0, 230.0), (150.0, 11.5), (155.0, 1.0), (160.0, 1.0), (175.0, 1.0), (250.0, 6.9)];
        let v: Vec<f32> = (0..2048)
            .map(|i| {
                put.iter().map(|(f, a)| a * SQRT_2 * (TAU * f * f64::from(i) / 10240.0).sin()).sum::<f64>()
            })
            .map(|v| v as f32)
            .collect();
        let lines = Spectrum::new(highest_line(10, 40)).lines(&v, 0.0, 2048.0).unwrap();
        let groups = subgroups(&lines, 10, 40);
        assert!((groups[2].sqrt() - 11.543_396_4).abs() < 2e-4, "{}", groups[2].sqrt());
        assert!((distortion(&groups).unwrap() - 0.058_471_4).abs() < 2e-6);
        assert_eq!((window_cycles(50.0), window_cycles(60.0), window_cycles(59.6)), (10, 12, 12));
    }

    /// Blocks of width δ in each half cycle: V_h = 4V/(√2·π·h)·sin(hδ/2), odd h (Fourier series). Orders to 40 and 50.
    #[test]
    fn stepped_waves_have_their_closed_forms() {
        for (degrees, to_40, to_50) in [
            (90.0, 0.470_32, 0.472_97),
            (120.0, 0.296_79, 0.300_15),
            (130.0, 0.277_61, 0.280_36),
            (150.0, 0.309_03, 0.310_99),
            (180.0, 0.470_322, 0.472_971),
        ] {
            let wide: f64 = degrees / 360.0;
            let v: Vec<f32> = (0..360_000)
                .map(|i| {
                    // Half a sample off, and a hundred samples a degree, so that every edge stands between two samples.
                    let t = (f64::from(i) + 0.5) / 36_000.0 % 1.0;
                    let inside = |middle: f64| (t - middle).abs() < wide / 2.0;
                    f32::from(inside(0.25)) * 170.0 - f32::from(inside(0.75)) * 170.0
                })
                .collect();
            // Half of the last printed digit, and as much for single precision.
            assert!((thd(&v, 10, 40) - to_40).abs() < 1e-5, "{degrees}: {} is not {to_40}", thd(&v, 10, 40));
            assert!((thd(&v, 10, 50) - to_50).abs() < 1e-5, "{degrees}: {} is not {to_50}", thd(&v, 10, 50));
        }
    }

    /// A triangle has V_h ∝ 1/h², odd h: √(π⁴/96 − 1) = 0.121153 to all orders. Beyond the 40th lie Σ 1/h⁴ ≈ 1/(6·40³) =
    /// 2.6·10⁻⁶ of the squares, so to the 40th it is √(0.0146780 − 0.0000026) = 0.121142.
    #[test]
    fn a_triangle() {
        let v: Vec<f32> = (0..20_000).map(|i| (f64::from(i) * TAU / 2000.0).sin().asin() as f32).collect();
        assert!((thd(&v, 10, 40) - 0.121_142).abs() < 2e-6);
        let all: f64 = (PI.powi(4) / 96.0 - 1.0).sqrt();
        assert!((all - 0.121_153).abs() < 5e-7);
    }

    #[test]
    fn no_fundamental_no_distortion() {
        assert_eq!(distortion(&[]), None);
        assert_eq!(distortion(&[0.0, 1.0]), None);
    }
}
