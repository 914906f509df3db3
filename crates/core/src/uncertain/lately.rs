//! Intervals and probabilities found lately. One value is shown, judged and published in half a dozen places; its interval
//! costs tens of microseconds and is the same each time, since nothing but its parts goes in.
//!
//! For the same reason they may be kept as bytes, for the next time the program runs.
use crate::stats::coverage::{Part, Spread};
use std::collections::HashMap;
use std::sync::{LazyLock, Mutex, PoisonError};

/// Bits of every part, and of what was asked: all that an answer is a function of.
type Key = Box<[(u64, u8, u64)]>;

/// So many are kept at most, some megabytes; then all are forgotten.
const MOST: usize = 1 << 16;

/// The answer, and whether it was asked for since the program runs.
type Found = HashMap<Key, (f64, bool)>;

static FOUND: LazyLock<Mutex<Found>> = LazyLock::new(Mutex::default);

/// Stands where a shape would, beside what a probability was asked for.
const BELOW: u8 = u8::MAX;

/// Half-width of the symmetric 95 % interval of the sum of these parts.
pub(super) fn half_width_95(parts: &[Part]) -> f64 {
    answer(parts, None, || Spread::of(parts).half_width_95())
}

/// Probability that the sum of these parts is at most x.
pub(super) fn below(parts: &[Part], x: f64) -> f64 {
    answer(parts, Some(x), || Spread::of(parts).cdf(x))
}

fn answer(parts: &[Part], below: Option<f64>, find: impl FnOnce() -> f64) -> f64 {
    let parts = parts.iter().map(|p| (p.u.to_bits(), p.shape as u8, p.dof.to_bits()));
    let key: Key = parts.chain(below.map(|x| (x.to_bits(), BELOW, 0))).collect();
    if let Some((answer, used)) = found().get_mut(&key) {
        *used = true;
        return *answer;
    }
    let answer = find();
    put(&mut found(), key, (answer, true));
    answer
}

fn found() -> std::sync::MutexGuard<'static, Found> {
    FOUND.lock().unwrap_or_else(PoisonError::into_inner)
}

fn put(all: &mut Found, key: Key, answer: (f64, bool)) {
    if all.len() >= MOST {
        all.clear();
    }
    all.insert(key, answer);
}

/// Bytes of one part.
const PART: usize = 17;

/// What was asked for since the program runs, for [`learn`].
pub fn learnt() -> Vec<u8> {
    let mut out = Vec::new();
    for (key, (answer, _)) in found().iter().filter(|(key, (_, used))| *used && key.len() < 256) {
        out.push(key.len() as u8);
        for (u, shape, dof) in key {
            out.extend(u.to_le_bytes());
            out.push(*shape);
            out.extend(dof.to_le_bytes());
        }
        out.extend(answer.to_le_bytes());
    }
    out
}

/// How many answers are known.
pub fn known() -> usize {
    found().len()
}

/// Takes answers over that [`learnt`] gave, of the same build of the program and unharmed: they are believed.
pub fn learn(mut bytes: &[u8]) {
    let mut all = found();
    while let Some((n, rest)) = bytes.split_first() {
        let Some((parts, rest)) = rest.split_at_checked(usize::from(*n) * PART) else { return };
        let Some((answer, rest)) = rest.split_first_chunk::<8>() else { return };
        let number = |at: &[u8]| u64::from_le_bytes(at.try_into().unwrap_or_default());
        let key: Key = parts.chunks_exact(PART).map(|p| (number(&p[..8]), p[8], number(&p[9..]))).collect();
        if all.len() >= MOST {
            return;
        }
        all.entry(key).or_insert((f64::from_le_bytes(*answer), false));
        bytes = rest;
    }
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
            // Φ(1.959964) = 0.975; at the middle one half.
            let below = [below(&[Part::normal(2.0)], 3.919_928), below(&[Part::normal(2.0)], 0.0)];
            assert!((below[0] - 0.975).abs() < 1e-6 && (below[1] - 0.5).abs() < 1e-9, "{below:?}");
        }
    }
    #[test]
    fn what_was_learnt_is_known_and_what_is_cut_off_does_no_harm() {
        // Numbers no other test asks for.
        let parts = [Part::normal(0.123_456_7), Part::within(7.654_321, Shape::Rectangular)];
        let half = half_width_95(&parts);
        let mut one = vec![2];
        for p in &parts {
            one.extend(p.u.to_bits().to_le_bytes());
            one.push(p.shape as u8);
            one.extend(p.dof.to_bits().to_le_bytes());
        }
        one.extend(half.to_le_bytes());
        let all = learnt();
        assert!(all.windows(one.len()).any(|w| w == one));
        // What is learnt is believed; what was found here stands.
        let other = [Part::normal(0.222_333_4)];
        let mut told = vec![1];
        told.extend(other[0].u.to_bits().to_le_bytes());
        told.push(Shape::Normal as u8);
        told.extend(f64::INFINITY.to_bits().to_le_bytes());
        told.extend(5.0f64.to_le_bytes());
        (0..one.len()).for_each(|n| learn(&one[..n]));
        learn(&[&one[..one.len() - 8], &1.0f64.to_le_bytes()[..], &told[..]].concat());
        assert_eq!((half_width_95(&parts), half_width_95(&other)), (half, 5.0));
    }
}
