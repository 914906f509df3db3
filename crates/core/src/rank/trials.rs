//! Trials: every influence drawn once, every value moved by its own, the places counted.
use super::TRIALS;
use super::dense::Dense;
use crate::measurand::Better;
use crate::stats::coverage::Shape;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// Values drawn together, once per trial, so that what they share moves them alike.
pub(crate) struct Draws<'a> {
    column: &'a Dense<'a>,
    shared: Vec<f64>,
    /// For whatever else a trial draws.
    pub random: Pcg64Mcg,
}

impl<'a> Draws<'a> {
    pub fn of(column: &'a Dense<'a>) -> Self {
        let random = Pcg64Mcg::seed_from_u64(20_260_630);
        Draws { column, shared: vec![0.0; column.shapes.len()], random }
    }
    /// The next trial: each value's place and number.
    pub fn trial(&mut self, mut each: impl FnMut(usize, f64)) {
        for (draw, shape) in self.shared.iter_mut().zip(&self.column.shapes) {
            *draw = standard(*shape, &mut self.random);
        }
        for (i, row) in self.column.rows.iter().enumerate() {
            let own: f64 = StandardNormal.sample(&mut self.random);
            let others: f64 = row.parts.iter().map(|&(place, signed)| signed * self.shared[place]).sum();
            each(i, row.x + (row.own * own + others));
        }
    }
}

/// How often each entry took each place; equals share the better one.
pub(super) fn counts(column: &Dense, better: Better) -> Vec<Vec<u32>> {
    let n = column.rows.len();
    let mut draws = Draws::of(column);
    let mut counts = vec![vec![0u32; n]; n];
    let mut keys = vec![0u64; n];
    // Least first in a trial, and single precision for the order: both about the middle, where it loses nothing.
    let middle = column.rows.iter().map(|r| r.x).sum::<f64>() / n as f64;
    let sign = if better == Better::More { -1.0 } else { 1.0 };
    for _ in 0..TRIALS {
        draws.trial(|i, x| keys[i] = u64::from(ordered((sign * (x - middle)) as f32)) << 32 | i as u64);
        keys.sort_unstable();
        let (mut shared, mut last) = (0, None);
        for (place, key) in keys.iter().enumerate() {
            if last != Some(key >> 32) {
                (shared, last) = (place, Some(key >> 32));
            }
            counts[(key & 0xffff_ffff) as usize][shared] += 1;
        }
    }
    counts
}

/// The bits of a number, turned so that they sort as the number does (IEEE 754, 5.10 totalOrder).
fn ordered(x: f32) -> u32 {
    let bits = x.to_bits();
    if bits >> 31 == 1 { !bits } else { bits | 1 << 31 }
}

/// A draw of mean 0 and standard deviation 1.
fn standard(shape: Shape, random: &mut Pcg64Mcg) -> f64 {
    let unit = |random: &mut Pcg64Mcg| random.random::<f64>() * 2.0 - 1.0;
    match shape {
        Shape::Normal => StandardNormal.sample(random),
        Shape::Rectangular => unit(random) * 3f64.sqrt(),
        Shape::Triangular => (unit(random) + unit(random)) * 1.5f64.sqrt(),
        Shape::Arcsine => (unit(random) * std::f64::consts::PI / 2.0).sin() * 2f64.sqrt(),
    }
}
