//! Trials: every influence drawn once, every value moved by its own, the places counted.
use super::TRIALS;
use super::dense::Dense;
use crate::measurand::Better;
use crate::stats::coverage::Shape;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// How often each entry took each place.
pub(super) fn counts(column: &Dense, better: Better) -> Vec<Vec<u32>> {
    let n = column.rows.len();
    let mut random = Pcg64Mcg::seed_from_u64(20_260_630);
    let mut counts = vec![vec![0u32; n]; n];
    let mut draws = vec![0.0; column.shapes.len()];
    let mut keys = vec![0u64; n];
    // Least first in a trial, and single precision for the order: both about the middle, where it loses nothing.
    let middle = column.rows.iter().map(|r| r.x).sum::<f64>() / n as f64;
    let sign = if better == Better::More { -1.0 } else { 1.0 };
    for _ in 0..TRIALS {
        for (draw, shape) in draws.iter_mut().zip(&column.shapes) {
            *draw = standard(*shape, &mut random);
        }
        for (i, (key, row)) in keys.iter_mut().zip(&column.rows).enumerate() {
            let own: f64 = StandardNormal.sample(&mut random);
            let others: f64 = row.parts.iter().map(|&(place, signed)| signed * draws[place]).sum();
            let x = sign * (row.x - middle + row.own * own + others);
            *key = u64::from(ordered(x as f32)) << 32 | i as u64;
        }
        keys.sort_unstable();
        for (place, key) in keys.iter().enumerate() {
            counts[(key & 0xffff_ffff) as usize][place] += 1;
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
