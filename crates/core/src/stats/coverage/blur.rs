//! Bounded parts blurred by the normal group (a scaled Student t).
use super::super::tail::{normal_cdf, normal_pdf, t_cdf, t_factor, t_kernel, t_pdf, t_peak};
use super::bounded::Bounded;
use std::f64::consts::FRAC_PI_2;

/// Nodes of the quadratures.
const NODES: usize = 256;
/// Panels over the bounded support, when the blur is wide.
const PANELS: usize = 64;

/// A rectangle of half-width `half` plus a Student t of the given scale: closed form.
#[derive(Clone, Debug)]
pub(super) struct Edge {
    pub(super) half: f64,
    pub(super) scale: f64,
    pub(super) dof: f64,
}

impl Edge {
    /// F(x) − ½ = (K(x + a) − K(x − a))/2a with K the integral of the blur's own G.
    pub(super) fn above_half(&self, x: f64) -> f64 {
        let k = |y: f64| self.scale * t_integral(y / self.scale, self.dof);
        (k(x + self.half) - k(x - self.half)) / (2.0 * self.half)
    }

    /// A half-width that surely holds probability p.
    pub(super) fn reach(&self, p: f64) -> f64 {
        self.half + self.scale * t_factor(p, self.dof)
    }
}

/// An even antiderivative of T(z) − ½ for z ≥ 0: ∫T = zT + (ν + z²)/(ν − 1)·t, ν > 1; zΦ + φ for normal.
fn t_integral(z: f64, dof: f64) -> f64 {
    let z = z.abs();
    if dof.is_infinite() {
        return z * (normal_cdf(z) - 0.5) + normal_pdf(z);
    }
    z * (t_cdf(z, dof) - 0.5) + (dof + z * z) / (dof - 1.0) * t_pdf(z, dof)
}

/// Any bounded sum plus a Student t, as a weighted sum over nodes.
#[derive(Clone, Debug)]
pub(super) struct Blurred {
    sum: Bounded,
    scale: f64,
    dof: f64,
    rule: Rule,
}

#[derive(Clone, Debug)]
enum Rule {
    /// Narrow blur: (shift, weight) over one half of the blur; shifts in the unit of the sum.
    OverBlur(Vec<(f64, f64)>),
    /// Wide blur: (position, weight × G) over one half of the bounded support.
    OverSum(Vec<(f64, f64)>),
}

impl Blurred {
    pub(super) fn of(sum: Bounded, scale: f64, dof: f64) -> Self {
        let rule = if scale > sum.half() / 8.0 { over_sum(&sum) } else { over_blur(scale, dof) };
        Blurred { sum, scale, dof, rule }
    }

    pub(super) fn above_half(&self, x: f64) -> f64 {
        let half = self.sum.half();
        match &self.rule {
            Rule::OverBlur(nodes) => {
                nodes.iter().map(|(s, w)| w * (self.sum.above_half(x - s) + self.sum.above_half(x + s))).sum()
            }
            // By parts: F(x) = T((x − A)/u) + ∫ F_sum(y) t((x − y)/u) dy/u over the support ± A.
            Rule::OverSum(nodes) => {
                let t = |y: f64| t_cdf(y / self.scale, self.dof);
                let density = |y: f64| t_kernel(y / self.scale, self.dof);
                let inner: f64 = nodes.iter().map(|(y, w)| w * (density(x - y) - density(x + y))).sum();
                0.5 * (t(x - half) + t(x + half)) - 0.5 + inner * t_peak(self.dof) / self.scale
            }
        }
    }

    /// A half-width that surely holds probability p.
    pub(super) fn reach(&self, p: f64) -> f64 {
        self.sum.half() + self.scale * t_factor(p, self.dof)
    }
}

/// Simpson's rule over 0…A.
fn over_sum(sum: &Bounded) -> Rule {
    let step = sum.half() / PANELS as f64;
    let weight = |j: usize| match j {
        0 | PANELS => 1.0,
        _ if j % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let nodes = (0..=PANELS).map(|j| {
        let y = j as f64 * step;
        // The support's end belongs to the inside here.
        let g = if j == PANELS { 0.5 } else { sum.above_half(y) };
        (y, weight(j) * step / 3.0 * g)
    });
    Rule::OverSum(nodes.collect())
}

/// Midpoint rule in the angle θ of s = √ν tan θ, where the t density becomes cos^(ν−1) θ and no tail is cut off.
/// For a normal blur the rule is in s itself, to 8.5 standard deviations.
fn over_blur(scale: f64, dof: f64) -> Rule {
    let end = match dof {
        d if d.is_infinite() => 8.5,
        d if d > 10.0 => (12.0 / d.sqrt()).atan(),
        _ => FRAC_PI_2,
    };
    let step = end / NODES as f64;
    let mut nodes: Vec<(f64, f64)> = (0..NODES)
        .map(|j| {
            let at = (j as f64 + 0.5) * step;
            if dof.is_infinite() {
                (scale * at, normal_pdf(at))
            } else {
                (scale * dof.sqrt() * at.tan(), at.cos().powf(dof - 1.0))
            }
        })
        .collect();
    // The weights of both halves of the blur must sum to 1.
    let total: f64 = 2.0 * nodes.iter().map(|(_, w)| w).sum::<f64>();
    nodes.iter_mut().for_each(|(_, w)| *w /= total);
    Rule::OverBlur(nodes)
}
