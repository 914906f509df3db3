//! Ranks with their ranges, and whom each cannot be told from.
//!
//! Influences are drawn once per trial (JCGM 101:2008), so that a meter shared by two stations moves both. In long
//! columns where neighbours share nothing that moves them apart the same is worked out without drawing.
mod dense;
mod reckoned;
mod trials;

use crate::measurand::Better;
use crate::uncertain::Value;
pub(crate) use dense::Dense;
use std::borrow::Borrow;
pub(crate) use trials::Draws;
use trials::counts;

/// One entry's place in a column.
#[derive(Clone, Debug, PartialEq)]
pub struct Rank {
    /// Best rank within the confidence, 1 is first.
    pub low: usize,
    /// Worst rank within the confidence.
    pub high: usize,
    /// Median rank over the trials.
    pub middle: usize,
    /// Indices of the entries whose difference from it may be zero.
    pub ties: Vec<usize>,
}

/// Share of the trials that lie within a rank range, and confidence of each tie.
pub const CONFIDENCE: f64 = 0.95;
/// Share of the trials below the median.
const MIDDLE: f64 = 0.5;
/// How many trials a rank range or a share rests on.
pub(crate) const TRIALS: usize = 10_000;

/// Values whose intervals of so many standard uncertainties do not touch are surely apart: nothing is drawn for them.
const SURELY: f64 = 6.0;

/// Ranks of values in one column, best first by `better`. Values without a known uncertainty count as exact.
pub fn ranks<V: Borrow<Value>>(values: &[V], better: Better) -> Vec<Rank> {
    let values: Vec<&Value> = values.iter().map(Borrow::borrow).collect();
    let mut out = vec![Rank { low: 0, high: 0, middle: 0, ties: Vec::new() }; values.len()];
    let mut before = 0;
    for run in runs(&values, better) {
        let own: Vec<&Value> = run.iter().map(|&i| values[i]).collect();
        let dense = Dense::of(&own);
        let places = reckoned::places(&dense, better).unwrap_or_else(|| drawn(&dense, better));
        let mut ties = dense.ties();
        for (place, &i) in run.iter().enumerate() {
            let [low, middle, high] = places[place].map(|p| before + p);
            let mut ties: Vec<usize> = ties[place].drain(..).map(|other| run[other]).collect();
            ties.sort_unstable();
            out[i] = Rank { low, high, middle, ties };
        }
        before += run.len();
    }
    out
}

/// Best and worst place of one value among these.
pub fn range_of<V: Borrow<Value>>(values: &[V], of: usize, better: Better) -> Option<(usize, usize)> {
    let values: Vec<&Value> = values.iter().map(Borrow::borrow).collect();
    let mut before = 0;
    for run in runs(&values, better) {
        if let Some(place) = run.iter().position(|i| *i == of) {
            let own: Vec<&Value> = run.iter().map(|&i| values[i]).collect();
            let dense = Dense::of(&own);
            let [low, _, high] = match reckoned::place(&dense, place, better) {
                Some(found) => found,
                None => *drawn(&dense, better).get(place)?,
            };
            return Some((before + low, before + high));
        }
        before += run.len();
    }
    None
}

/// Best, middle and worst place of each value, by trials.
fn drawn(dense: &Dense, better: Better) -> Vec<[usize; 3]> {
    let n = dense.rows.len();
    if n == 1 {
        return vec![[1; 3]];
    }
    let tail = ((1.0 - CONFIDENCE) / 2.0 * TRIALS as f64) as u32;
    let middle = (MIDDLE * TRIALS as f64) as u32;
    let of = |c: &Vec<u32>| [reach(c, 0..n, tail), reach(c, 0..n, middle), reach(c, (0..n).rev(), tail)];
    counts(dense, better).iter().map(of).collect()
}

/// The values from best to worst, in runs that cannot change places with each other.
fn runs(values: &[&Value], better: Better) -> Vec<Vec<usize>> {
    // Turned round where less is better, so that the best is always the largest.
    let sign = if better == Better::More { 1.0 } else { -1.0 };
    let reach: Vec<(f64, f64)> =
        values.iter().map(|v| (sign * v.x - SURELY * v.u(), sign * v.x + SURELY * v.u())).collect();
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| reach[b].1.total_cmp(&reach[a].1));
    let mut runs: Vec<Vec<usize>> = Vec::new();
    let mut lowest = f64::INFINITY;
    for i in order {
        match runs.last_mut() {
            Some(run) if reach[i].1 >= lowest => {
                run.push(i);
                lowest = lowest.min(reach[i].0);
            }
            _ => {
                runs.push(vec![i]);
                lowest = reach[i].0;
            }
        }
    }
    runs
}

/// The first rank, coming from one end, beyond which less than the tail lies; 1 is first.
pub(crate) fn reach(counts: &[u32], mut from: impl Iterator<Item = usize>, tail: u32) -> usize {
    let mut sum = 0;
    let found = from.find(|&rank| {
        sum += counts[rank];
        sum > tail
    });
    found.unwrap_or(0) + 1
}

/// True when zero lies in the 95 % interval of the difference, shared influences cancelling.
pub fn tied(a: &Value, b: &Value) -> bool {
    // The difference cannot be less certain than both doubts added up.
    if (a.x - b.x).abs() > SURELY * (a.u() + b.u()) {
        return false;
    }
    let d = a.minus(b);
    d.x.abs() <= d.half95()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Dim;
    use crate::stats::coverage::Shape;
    use crate::uncertain::{Effect, Influence};
    fn v(x: f64, private: f64, gain: f64, name: &str) -> Value {
        let inf = f64::INFINITY;
        Value::exact(Dim::Energy, x)
            .with(Influence::test(name, Effect::Repeatability, ""), private, Shape::Normal, inf)
            .with(Influence::instrument("m", Effect::Gain, ""), gain, Shape::Normal, inf)
    }
    #[test]
    fn eight_hundred_and_sixty_one_and_forty_eight() {
        // 861 ± 17 and 848 ± 17 (95 %), u 8.67 each, independent: 13 ± 24, so neither is surely first.
        let apart = [v(861.0, 8.67, 0.0, "a"), v(848.0, 8.67, 0.0, "b")];
        let first = &ranks(&apart, Better::More)[0];
        assert_eq!((first.low, first.middle, first.high, &first.ties[..]), (1, 1, 2, &[1][..]));
        assert_eq!(range_of(&apart, 0, Better::More), Some((1, 2)));
        // With 8.5 of the 8.67 from one meter, u of the difference is √2·√(8.67² − 8.5²) = 2.4: separated.
        let private = (8.67f64.powi(2) - 8.5f64.powi(2)).sqrt();
        let shared = [v(861.0, private, 8.5, "a"), v(848.0, private, 8.5, "b")];
        assert_eq!(ranks(&shared, Better::More)[0], Rank { low: 1, high: 1, middle: 1, ties: vec![] });
        assert_eq!(ranks(&shared, Better::Less)[0].low, 2);
    }
    #[test]
    fn the_same_question_has_the_same_answer() {
        let values: Vec<Value> = (0..5).map(|i| v(100.0 + f64::from(i), 2.0, 1.0, &i.to_string())).collect();
        assert_eq!(ranks(&values, Better::More), ranks(&values, Better::More));
    }
    /// Scores 90 85 85 70 in competition ranking (1 2 2 4): equals share the better place.
    #[test]
    fn equals_share_the_better_place() {
        let scores: Vec<Value> = [90.0, 85.0, 85.0, 70.0].map(|x| Value::exact(Dim::Ratio, x)).into();
        let found = ranks(&scores, Better::More);
        assert_eq!(found.iter().map(|r| r.low).collect::<Vec<_>>(), [1, 2, 2, 4]);
        assert_eq!((found[1].ties.as_slice(), found[2].ties.as_slice()), (&[2][..], &[1][..]));
    }
    #[test]
    fn nothing_to_rank_is_no_rank() {
        assert!(ranks::<Value>(&[], Better::More).is_empty());
        assert_eq!(
            ranks(&[v(1.0, 0.1, 0.0, "a")], Better::More)[0],
            Rank { low: 1, high: 1, middle: 1, ties: vec![] }
        );
    }
    /// What is worked out is what the trials find, but for a place at the ends: 10,000 trials leave 250 ± 16 beyond one.
    #[test]
    fn long_columns_are_worked_out_as_the_trials_find_them() {
        let spread = |i: u32, k: u32| (f64::from(i * 7 + k) * 0.618_034).fract();
        let value = |i: u32| {
            let (x, own) = (800.0 + 400.0 * spread(i, 1), 4.0 + 8.0 * spread(i, 2));
            v(x, own, 0.002 * x, &i.to_string())
        };
        let values: Vec<Value> = (0..160).map(value).collect();
        let listed: Vec<&Value> = values.iter().collect();
        let dense = Dense::of(&listed);
        for better in [Better::More, Better::Less] {
            let found = reckoned::places(&dense, better).expect("the meter moves all alike");
            for (i, (a, b)) in found.iter().zip(drawn(&dense, better)).enumerate() {
                assert!((0..3).all(|k| a[k].abs_diff(b[k]) <= 1), "{i}: {a:?}, drawn {b:?}");
                assert_eq!(reckoned::place(&dense, i, better), Some(*a));
            }
        }
    }
    /// Two meters that each move half of the values: that cannot be worked out value by value.
    #[test]
    fn what_moves_neighbours_apart_is_drawn() {
        let value = |i: u32| {
            let meter = Influence::instrument(if i.is_multiple_of(2) { "a" } else { "b" }, Effect::Gain, "");
            v(1000.0 + f64::from(i), 3.0, 0.0, &i.to_string()).with(meter, 9.0, Shape::Normal, f64::INFINITY)
        };
        let values: Vec<Value> = (0..100).map(value).collect();
        let listed: Vec<&Value> = values.iter().collect();
        assert!(reckoned::places(&Dense::of(&listed), Better::More).is_none());
    }
    /// What is settled by bounds is settled as the exact interval does.
    #[test]
    fn bounds_settle_ties_as_the_interval_does() {
        let shapes = [Shape::Normal, Shape::Rectangular, Shape::Triangular, Shape::Arcsine];
        let make = |i: u32| {
            // A spread of shapes, shares and degrees of freedom without a pattern (multiples of irrational steps).
            let part = |k: u32| (f64::from(i * 7 + k) * 0.618_034).fract();
            let dof = if i.is_multiple_of(3) { 1.5 + f64::from(i % 7) } else { f64::INFINITY };
            let own = Influence::test(&i.to_string(), Effect::Repeatability, "");
            Value::exact(Dim::Energy, 100.0 + 5.0 * part(1))
                .with(own, part(2), Shape::Normal, dof)
                .with(
                    Influence::test(&i.to_string(), Effect::Step, ""),
                    part(3),
                    shapes[i as usize % 4],
                    f64::INFINITY,
                )
                .with(
                    Influence::instrument("m", Effect::Gain, ""),
                    1.0 + 0.2 * part(4),
                    Shape::Normal,
                    f64::INFINITY,
                )
        };
        let values: Vec<Value> = (0..24).map(make).collect();
        let listed: Vec<&Value> = values.iter().collect();
        let dense = Dense::of(&listed);
        let all = dense.ties();
        let pairs = (0..24).flat_map(|i| (0..24).map(move |j| (i, j))).filter(|(i, j)| i != j);
        let tied_pairs = pairs.filter(|&(i, j)| {
            assert_eq!(dense.tied(i, j), tied(listed[i], listed[j]), "{i} and {j}");
            assert_eq!(all[i].contains(&j), dense.tied(i, j), "{i} and {j}");
            tied(listed[i], listed[j])
        });
        let share = tied_pairs.count() as f64 / 552.0;
        assert!((0.2..0.8).contains(&share), "a fair mixture of both, {share}");
    }
}
