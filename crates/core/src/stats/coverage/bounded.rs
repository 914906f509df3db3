//! The sum of bounded parts: one shape in closed form, more of them tabulated by exact box averages.
use super::{Part, Shape};
use std::f64::consts::PI;

/// Cells of the table between 0 and the end of the support.
const CELLS: usize = 1024;
/// Points of the Chebyshev rule that averages over an arcsine part.
const SWINGS: usize = 128;

/// A sum of bounded symmetric parts. Its distribution is kept as G(x) = F(x) − ½, an odd function.
#[derive(Clone, Debug)]
pub(super) struct Bounded {
    half: f64,
    law: Law,
}

#[derive(Clone, Debug)]
enum Law {
    One(Shape),
    /// G and its integral from 0 at CELLS + 1 equally spaced points from 0 to `half`.
    Table {
        g: Vec<f64>,
        integral: Vec<f64>,
    },
}

impl Bounded {
    /// Parts in falling order of u, at least one, none normal.
    pub(super) fn of(parts: &[Part]) -> Self {
        let width = |p: &Part| p.u * p.shape.half_width_per_u();
        let mut sum = Bounded { half: width(&parts[0]), law: Law::One(parts[0].shape) };
        // Boxes first: they smooth the edges that the arcsine rule would otherwise step over.
        let (arcs, boxes): (Vec<&Part>, Vec<&Part>) =
            parts[1..].iter().partition(|p| p.shape == Shape::Arcsine);
        for part in boxes.into_iter().chain(arcs) {
            sum = match part.shape {
                Shape::Triangular => sum.plus_box(0.5 * width(part)).plus_box(0.5 * width(part)),
                Shape::Arcsine => sum.plus_swing(width(part)),
                _ => sum.plus_box(width(part)),
            };
        }
        sum
    }

    /// End of the support.
    pub(super) fn half(&self) -> f64 {
        self.half
    }

    /// G(x) = F(x) − ½.
    pub(super) fn above_half(&self, x: f64) -> f64 {
        let y = x.abs();
        if y >= self.half {
            return 0.5f64.copysign(x);
        }
        let g = match &self.law {
            Law::One(shape) => one(*shape, y / self.half),
            Law::Table { g, .. } => {
                let (j, part) = self.cell(y);
                g[j] + part * (g[j + 1] - g[j])
            }
        };
        g.copysign(x)
    }

    /// Half-width that holds probability p, where a closed form exists.
    pub(super) fn half_width(&self, p: f64) -> Option<f64> {
        let Law::One(shape) = &self.law else { return None };
        Some(match shape {
            Shape::Triangular => self.half * (1.0 - (1.0 - p).sqrt()),
            Shape::Arcsine => self.half * (0.5 * PI * p).sin(),
            _ => self.half * p,
        })
    }

    /// ∫₀ˣ G, an even function.
    fn integral(&self, x: f64) -> f64 {
        let y = x.abs();
        if y > self.half {
            return self.integral(self.half) + 0.5 * (y - self.half);
        }
        match &self.law {
            Law::One(shape) => self.half * one_integral(*shape, y / self.half),
            Law::Table { g, integral } => {
                let (j, part) = self.cell(y);
                let step = self.half / CELLS as f64;
                integral[j] + step * part * (g[j] + 0.5 * part * (g[j + 1] - g[j]))
            }
        }
    }

    fn cell(&self, y: f64) -> (usize, f64) {
        let at = y / self.half * CELLS as f64;
        let j = (at as usize).min(CELLS - 1);
        (j, at - j as f64)
    }

    /// Adds a rectangle of half-width a: G becomes its own mean over x ± a.
    fn plus_box(&self, a: f64) -> Self {
        self.tabulated(self.half + a, |x| (self.integral(x + a) - self.integral(x - a)) / (2.0 * a))
    }

    /// Adds an arcsine part of half-width a.
    fn plus_swing(&self, a: f64) -> Self {
        let swings: Vec<f64> =
            (0..SWINGS).map(|j| a * (PI * (j as f64 + 0.5) / SWINGS as f64).cos()).collect();
        self.tabulated(self.half + a, |x| {
            swings.iter().map(|s| self.above_half(x + s)).sum::<f64>() / SWINGS as f64
        })
    }

    fn tabulated(&self, half: f64, value: impl Fn(f64) -> f64) -> Self {
        let step = half / CELLS as f64;
        let mut g: Vec<f64> = (0..=CELLS).map(|j| value(j as f64 * step)).collect();
        (g[0], g[CELLS]) = (0.0, 0.5);
        let mut integral = vec![0.0; CELLS + 1];
        for j in 0..CELLS {
            integral[j + 1] = integral[j] + 0.5 * step * (g[j] + g[j + 1]);
        }
        Bounded { half, law: Law::Table { g, integral } }
    }
}

/// G of one shape of half-width 1, for 0 ≤ x ≤ 1.
fn one(shape: Shape, x: f64) -> f64 {
    match shape {
        Shape::Triangular => x - 0.5 * x * x,
        Shape::Arcsine => x.asin() / PI,
        _ => 0.5 * x,
    }
}

/// ∫₀ˣ G of one shape of half-width 1, for 0 ≤ x ≤ 1.
fn one_integral(shape: Shape, x: f64) -> f64 {
    match shape {
        Shape::Triangular => x * x * (0.5 - x / 6.0),
        Shape::Arcsine => (x * x.asin() + (1.0 - x * x).max(0.0).sqrt() - 1.0) / PI,
        _ => 0.25 * x * x,
    }
}
