//! The instant at which a wave is left: the last sample that belongs to it, and how well that is known.
//!
//! A return is a departure seen backwards, so one function serves both edges of a gap.

/// Where a wave is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Instant in samples: between the last that belongs to the wave and the first that does not.
    pub at: f64,
    /// Half of the stretch it must lie in. Half a sample away from a zero crossing; more close to one, where the wave
    /// and nothing look alike.
    pub half_width: f64,
    /// Samples near nothing while the wave would be far from it, in the cycle and a half that follows.
    pub dead: usize,
}

/// What is known of the wave.
#[derive(Clone, Copy, Debug)]
pub struct Wave {
    /// Samples a cycle.
    pub period: f64,
    /// Middle line.
    pub mean: f64,
    /// Height.
    pub peak: f64,
}

/// Cycles averaged for what the wave would do next.
const CYCLES: usize = 4;
/// Outside: further than this share of the peak from what the wave would do (a tenth: the dip threshold, taken on the instant).
const OUTSIDE: f64 = 0.10;
/// The finest share looked at, and standard deviations of the noise.
const FINE: f64 = 0.02;
const NOISE: f64 = 4.0;
/// The finer look reaches back by this share of a cycle at most: 18°, where a tenth grows out of nothing.
const REACH: f64 = 0.05;
/// Near nothing, and far from nothing.
const NEAR: f64 = 0.10;
const FAR: f64 = 0.30;

/// What the wave would do, continued from the cycles before `healthy`.
struct Expected<'a> {
    v: &'a [f32],
    healthy: f64,
    period: f64,
}

impl Expected<'_> {
    fn at(&self, i: f64) -> Option<f64> {
        let back = ((i - self.healthy) / self.period).floor().max(0.0) + 1.0;
        let (mut sum, mut n) = (0.0, 0);
        for k in 0..CYCLES {
            let place = i - (back + k as f64) * self.period;
            if place < 0.0 {
                break;
            }
            let (low, part) = (place as usize, place.fract());
            let (a, b) = (f64::from(*self.v.get(low)?), f64::from(*self.v.get(low + 1)?));
            sum += a + part * (b - a);
            n += 1;
        }
        (n > 0).then(|| sum / f64::from(n))
    }
}

/// Finds where the wave in `v` is left. It is known to run undisturbed before sample `healthy`, which should be a little
/// before the place sought. `None` where less than a cycle stands before, or where it is not left at all.
pub fn departure(v: &[f32], healthy: usize, wave: &Wave) -> Option<Edge> {
    if (healthy as f64) < wave.period {
        return None;
    }
    let expected = Expected { v, healthy: healthy as f64, period: wave.period };
    let off = |i: usize| expected.at(i as f64).map(|e| (f64::from(v[i]) - e).abs());
    // Where the wave is steep, half a sample matters.
    let steep = |i: usize| {
        let e = |d: f64| expected.at(i as f64 + d);
        e(-0.5).zip(e(0.5)).map_or(0.0, |(a, b)| (b - a).abs())
    };
    let before = Expected { v, healthy: (healthy as f64 - wave.period).max(0.0), period: wave.period };
    let quiet = (healthy as f64 - wave.period).max(0.0) as usize..healthy.min(v.len());
    let strays: Vec<f64> =
        quiet.filter_map(|i| Some((f64::from(v[i]) - before.at(i as f64)?).powi(2))).collect();
    let noise = (strays.iter().sum::<f64>() / strays.len().max(1) as f64).sqrt();
    let fine = (FINE * wave.peak).max(NOISE * noise);
    let outside = (OUTSIDE * wave.peak).max(2.0 * fine);
    let two = |i: usize| off(i).zip(off(i + 1)).is_some_and(|(a, b)| a.min(b) > outside + steep(i));
    let clear = (healthy..v.len().saturating_sub(1)).find(|i| two(*i))?;
    let reach = (wave.period * REACH).max(1.0) as usize;
    // Back to the last sample that still belongs to the wave on the finer look.
    let mut last = clear - 1;
    while last > clear.saturating_sub(reach) && off(last).is_some_and(|d| d > fine + steep(last)) {
        last -= 1;
    }
    // Back again while that sample might as well be nothing: from there on the wave may have been gone.
    let mut first = last + 1;
    while first > 0
        && last + 1 - first < 2 * reach
        && (f64::from(v[first - 1]) - wave.mean).abs() <= fine
        && first > healthy.saturating_sub(reach)
    {
        first -= 1;
    }
    let end = (clear + (1.5 * wave.period) as usize).min(v.len());
    let dead = (first..end)
        .filter(|i| (f64::from(v[*i]) - wave.mean).abs() < NEAR * wave.peak)
        .filter(|i| expected.at(*i as f64).is_some_and(|e| (e - wave.mean).abs() > FAR * wave.peak))
        .count();
    let (low, high) = (first as f64 - 1.0, last as f64 + 1.0);
    Some(Edge { at: (low + high) / 2.0, half_width: (high - low) / 2.0, dead })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    const WAVE: Wave = Wave { period: 200.0, mean: 0.0, peak: 170.0 };

    /// A sine of 200 samples a cycle that is gone from sample `at` on.
    fn gone(at: f64) -> Vec<f32> {
        (0..1200)
            .map(|i| f64::from(i))
            .map(|i| if i < at { (170.0 * (TAU * i / 200.0).sin()) as f32 } else { 0.0 })
            .collect()
    }

    #[test]
    fn the_edge_is_between_two_samples() {
        // At a peak, on a slope, right at a crossing, just after one: the truth lies inside what is said.
        for at in [650.5, 620.5, 800.5, 805.5, 697.5] {
            let edge = departure(&gone(at), at as usize - 12, &WAVE).unwrap();
            let off = (edge.at - at).abs();
            assert!(off <= edge.half_width + 1e-9, "{at}: {edge:?}");
            // 0.3 ms of a 20 ms cycle is three samples here.
            assert!(off < 3.0 && edge.dead > 100, "{at}: {edge:?}");
        }
        let peak = departure(&gone(650.5), 630, &WAVE).unwrap();
        assert!((peak.at - 650.5).abs() < 1e-9 && peak.half_width == 0.5);
    }

    #[test]
    fn nothing_is_found_where_nothing_happens() {
        assert_eq!(departure(&gone(5000.0), 700, &WAVE), None);
        assert_eq!(departure(&[], 0, &WAVE), None);
        assert_eq!(departure(&gone(100.5), 50, &WAVE), None, "less than a cycle stands before");
    }
}
