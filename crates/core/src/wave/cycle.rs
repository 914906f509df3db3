//! One cycle laid over itself: crest and shape.
use super::period::Steady;
use serde::Serialize;

/// What a wave looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// Distortion within what is accepted of a building's supply.
    Sine,
    /// Levels with jumps between, and a pause or more than two levels.
    Stepped,
    /// Two levels.
    Square,
    /// Anything else, and no wave at all.
    Other,
}

impl Shape {
    /// In plain words.
    pub fn words(self) -> &'static str {
        match self {
            Shape::Sine => "a sine",
            Shape::Stepped => "a stepped wave, no sine",
            Shape::Square => "a square wave, no sine",
            Shape::Other => "no sine, no steps",
        }
    }
}

/// Above this a sine is none: voltage distortion accepted at a building's supply below 1 kV (IEEE 519-2014: 8 %).
pub const SINE_THD: f64 = 0.08;

/// The mean of many cycles, in equal parts.
#[derive(Clone, Debug, PartialEq)]
pub struct Cycle {
    parts: Vec<f64>,
    mean: f64,
}

/// Parts of a cycle at most, and cycles laid over each other.
const PARTS: f64 = 256.0;
const CYCLES: f64 = 50.0;

impl Cycle {
    /// Lays the cycles of a steady stretch over each other.
    pub fn of(v: &[f32], steady: &Steady) -> Cycle {
        let count = steady.period.floor().clamp(8.0, PARTS) as usize;
        let (mut sums, mut counts) = (vec![0.0; count], vec![0u32; count]);
        let whole = ((steady.to - steady.from) / steady.period + 0.01).floor().clamp(1.0, CYCLES);
        let end = ((steady.from + whole * steady.period) as usize).min(v.len());
        for (i, x) in v.iter().enumerate().take(end).skip(steady.from.ceil() as usize) {
            let turn = ((i as f64 - steady.from) / steady.period).fract();
            let part = ((turn * count as f64) as usize).min(count - 1);
            sums[part] += f64::from(*x);
            counts[part] += 1;
        }
        let parts: Vec<f64> =
            sums.iter().zip(&counts).filter(|(_, n)| **n > 0).map(|(s, n)| s / f64::from(*n)).collect();
        let mean = parts.iter().sum::<f64>() / parts.len().max(1) as f64;
        Cycle { parts, mean }
    }

    /// Greatest distance from the middle line.
    pub fn peak(&self) -> f64 {
        self.parts.iter().map(|p| (p - self.mean).abs()).fold(0.0, f64::max)
    }

    /// Shape, given the distortion (0 to …).
    pub fn shape(&self, thd: Option<f64>) -> Shape {
        if thd.is_some_and(|t| t <= SINE_THD) {
            return Shape::Sine;
        }
        let (n, peak) = (self.parts.len(), self.peak());
        let share = |hit: &dyn Fn(usize) -> bool| (0..n).filter(|i| hit(*i)).count() as f64 / n.max(1) as f64;
        // A fiftieth of a cycle about each part: a sine moves by 12.6 % of its peak there where it is steepest, and is
        // this flat (3 %) for a sixth of the time; levels are so nearly all the time, a triangle never.
        let reach = (n / 100).max(1);
        let across = |i: usize| self.parts[(i + reach) % n] - self.parts[(i + n - reach) % n];
        let flat = share(&|i| across(i).abs() < 0.03 * peak);
        // Close to the middle line for some of the time: a pause.
        let pause = share(&|i| (self.parts[i] - self.mean).abs() < 0.25 * peak);
        match (flat >= 0.6, pause < 0.05) {
            (true, true) => Shape::Square,
            (true, false) => Shape::Stepped,
            (false, _) => Shape::Other,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wave::period::steady;
    use std::f64::consts::TAU;

    /// Crest of a block of width δ: √(π/δ); a sine √2, a triangle √3, a square 1 (Fourier series).
    #[test]
    fn crests_and_shapes() {
        type Wave = Box<dyn Fn(f64) -> f64>;
        let block = |degrees: f64| {
            move |t: f64| {
                let inside = |middle: f64| f64::from((t - middle).abs() < degrees / 720.0);
                inside(0.25) - inside(0.75)
            }
        };
        let waves: Vec<(Wave, f64, Option<f64>, Shape)> = vec![
            (Box::new(|t| (TAU * t).sin()), 2f64.sqrt(), Some(0.0), Shape::Sine),
            (Box::new(block(90.0)), 2f64.sqrt(), Some(0.47), Shape::Stepped),
            (Box::new(block(120.0)), 1.224_745, Some(0.30), Shape::Stepped),
            (Box::new(block(150.0)), 1.095_445, Some(0.31), Shape::Stepped),
            (Box::new(block(180.0)), 1.0, Some(0.47), Shape::Square),
            (Box::new(|t| (TAU * t).sin().asin()), 1.732, Some(0.12), Shape::Other),
        ];
        for (wave, crest, thd, shape) in waves {
            let v: Vec<f32> =
                (0..8000).map(|i| (170.0 * wave((f64::from(i) + 0.5) / 400.0 % 1.0)) as f32).collect();
            let s = steady(&v).unwrap();
            let cycle = Cycle::of(&v, &s);
            assert_eq!(cycle.shape(thd), shape, "{crest}");
            assert!(
                (cycle.peak() / s.rms / crest - 1.0).abs() < 0.012,
                "{} is not {crest}",
                cycle.peak() / s.rms
            );
        }
    }
}
