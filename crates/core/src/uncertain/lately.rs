//! Intervals found lately. One value is shown, judged and published in half a dozen places; its interval costs tens of
//! microseconds and is the same each time, since nothing but its parts goes in.
use crate::stats::coverage::{Part, Spread};
use std::collections::HashMap;
use std::sync::{LazyLock, Mutex, PoisonError};

/// Bits of every part: what the interval is a function of.
type Key = Box<[(u64, u8, u64)]>;

/// So many are kept at most, some megabytes; then all are forgotten.
const MOST: usize = 1 << 16;

static FOUND: LazyLock<Mutex<HashMap<Key, f64>>> = LazyLock::new(Mutex::default);

/// Half-width of the symmetric 95 % interval of the sum of these parts.
pub(super) fn half_width_95(parts: &[Part]) -> f64 {
    let key: Key = parts.iter().map(|p| (p.u.to_bits(), p.shape as u8, p.dof.to_bits())).collect();
    let found = || FOUND.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(half) = found().get(&key) {
        return *half;
    }
    let half = Spread::of(parts).half_width_95();
    let mut all = found();
    if all.len() >= MOST {
        all.clear();
    }
    all.insert(key, half);
    half
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::coverage::Shape;

    #[test]
    fn found_again_is_what_was_found_and_a_sign_or_shape_is_told_apart() {
        let part = |u: f64, shape| Part { u, shape, dof: f64::INFINITY };
        // 95 % of a rectangle of half-width √3·u lie within 0.95·√3·u, of a normal within 1.959964·u.
        for _ in 0..2 {
            let rectangle = half_width_95(&[part(2.0, Shape::Rectangular)]);
            assert!((rectangle - 0.95 * 3f64.sqrt() * 2.0).abs() < 1e-6, "{rectangle}");
            let normal = half_width_95(&[part(2.0, Shape::Normal)]);
            assert!((normal - 3.919_928).abs() < 1e-6, "{normal}");
        }
    }
}
