//! Ranks with their ranges, and whom each cannot be told from.
//!
//! Influences are drawn once per trial (JCGM 101:2008), so that a meter shared by two stations moves both.
use crate::measurand::Better;
use crate::stats::coverage::Shape;
use crate::uncertain::{Influence, Value};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use std::collections::BTreeMap;

/// One entry's place in a column.
#[derive(Clone, Debug, PartialEq)]
pub struct Rank {
    /// Best rank within the confidence, 1 is first.
    pub low: usize,
    /// Worst rank within the confidence.
    pub high: usize,
    /// Indices of the entries whose difference from it may be zero.
    pub ties: Vec<usize>,
}

/// Share of the trials that lie within a rank range, and confidence of each tie.
pub const CONFIDENCE: f64 = 0.95;
const TRIALS: usize = 10_000;

/// Values whose intervals of so many standard uncertainties do not touch are surely apart: nothing is drawn for them.
const SURELY: f64 = 6.0;

/// Ranks of values in one column, best first by `better`. Values without a known uncertainty count as exact.
pub fn ranks(values: &[Value], better: Better) -> Vec<Rank> {
    let mut out = vec![Rank { low: 0, high: 0, ties: Vec::new() }; values.len()];
    let tail = ((1.0 - CONFIDENCE) / 2.0 * TRIALS as f64) as u32;
    let mut before = 0;
    for run in runs(values, better) {
        let own: Vec<&Value> = run.iter().map(|&i| &values[i]).collect();
        let counts = if run.len() > 1 { drawn(&own, better) } else { vec![vec![TRIALS as u32]] };
        for (place, &i) in run.iter().enumerate() {
            out[i].low = before + reach(&counts[place], 0..run.len(), tail);
            out[i].high = before + reach(&counts[place], (0..run.len()).rev(), tail);
            out[i].ties = run.iter().copied().filter(|&j| j != i && tied(&values[i], &values[j])).collect();
            out[i].ties.sort_unstable();
        }
        before += run.len();
    }
    out
}

/// The values from best to worst, in runs that cannot change places with each other.
fn runs(values: &[Value], better: Better) -> Vec<Vec<usize>> {
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

/// Draws values together, once per trial, so that what they share moves them alike.
pub(crate) struct Draws {
    /// The values themselves.
    x: Vec<f64>,
    /// By value: which influence, and by how much.
    parts: Vec<Vec<(usize, f64)>>,
    shapes: Vec<Shape>,
    influences: Vec<f64>,
    pub random: Pcg64Mcg,
}

impl Draws {
    /// How many trials a share or a range rests on.
    pub const TRIALS: usize = TRIALS;

    pub fn of(values: &[&Value]) -> Draws {
        let mut at: BTreeMap<&Influence, (usize, Shape)> = BTreeMap::new();
        for (influence, part) in values.iter().flat_map(|v| &v.parts) {
            let next = at.len();
            at.entry(influence).or_insert((next, part.shape));
        }
        let parts =
            values.iter().map(|v| v.parts.iter().map(|(i, p)| (at[i].0, p.signed)).collect()).collect();
        let mut shapes = vec![Shape::Normal; at.len()];
        at.values().for_each(|&(place, shape)| shapes[place] = shape);
        Draws {
            x: values.iter().map(|v| v.x).collect(),
            parts,
            influences: vec![0.0; shapes.len()],
            shapes,
            random: Pcg64Mcg::seed_from_u64(20_260_630),
        }
    }

    /// The next trial, one number per value.
    pub fn next(&mut self, trial: &mut [f64]) {
        for (draw, shape) in self.influences.iter_mut().zip(&self.shapes) {
            *draw = standard(*shape, &mut self.random);
        }
        for ((number, x), parts) in trial.iter_mut().zip(&self.x).zip(&self.parts) {
            *number = x + parts.iter().map(|&(place, signed)| signed * self.influences[place]).sum::<f64>();
        }
    }
}

/// How often each entry took each rank.
fn drawn(values: &[&Value], better: Better) -> Vec<Vec<u32>> {
    let mut draws = Draws::of(values);
    let mut counts = vec![vec![0u32; values.len()]; values.len()];
    let mut order: Vec<usize> = (0..values.len()).collect();
    let mut trial = vec![0.0; values.len()];
    for _ in 0..TRIALS {
        draws.next(&mut trial);
        order.sort_by(|&a, &b| match better {
            Better::More => trial[b].total_cmp(&trial[a]),
            Better::Less => trial[a].total_cmp(&trial[b]),
        });
        order.iter().enumerate().for_each(|(rank, &i)| counts[i][rank] += 1);
    }
    counts
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Dim;
    use crate::uncertain::Effect;
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
        assert_eq!(ranks(&apart, Better::More)[0], Rank { low: 1, high: 2, ties: vec![1] });
        // With 8.5 of the 8.67 from one meter, u of the difference is √2·√(8.67² − 8.5²) = 2.4: separated.
        let private = (8.67f64.powi(2) - 8.5f64.powi(2)).sqrt();
        let shared = [v(861.0, private, 8.5, "a"), v(848.0, private, 8.5, "b")];
        assert_eq!(ranks(&shared, Better::More)[0], Rank { low: 1, high: 1, ties: vec![] });
        assert_eq!(ranks(&shared, Better::Less)[0].low, 2);
    }
    #[test]
    fn the_same_question_has_the_same_answer() {
        let values: Vec<Value> = (0..5).map(|i| v(100.0 + f64::from(i), 2.0, 1.0, &i.to_string())).collect();
        assert_eq!(ranks(&values, Better::More), ranks(&values, Better::More));
    }
    #[test]
    fn nothing_to_rank_is_no_rank() {
        assert!(ranks(&[], Better::More).is_empty());
        assert_eq!(ranks(&[v(1.0, 0.1, 0.0, "a")], Better::More)[0], Rank { low: 1, high: 1, ties: vec![] });
    }
}
