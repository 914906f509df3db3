//! Own weights: a score from several columns, and under which share of all weightings each station wins.
//!
//! Formula: score = Σ wᵢ·sᵢ/Σ wᵢ; sᵢ runs from 0 for the worst to 1 for the best of those compared.
//! The share of weightings is the first-rank acceptability of SMAA-2 (Lahdelma and Salminen, Operations Research 49(3),
//! 2001, 444–454): weights drawn evenly over all that add up to one, values drawn within their doubts.
use crate::finding::Finding;
use crate::measurand::Better;
use crate::rank::{self, Dense, Draws, TRIALS};
use crate::uncertain::Value;
use rand::RngExt;

/// One column that counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criterion {
    /// Which way is better.
    pub better: Better,
    /// How much it counts beside the others, 0 or more.
    pub weight: f64,
}

/// What the weights make of one alternative.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// 0 when it is the worst in every column, 1 when the best.
    pub score: f64,
    /// Best rank under these weights within the confidence.
    pub low: usize,
    /// Worst rank under these weights.
    pub high: usize,
    /// Share of trials in which it is first under these weights.
    pub first: f64,
    /// Share of all weightings of the columns with a weight above 0 under which it is first.
    pub share: f64,
}

/// Weighs alternatives, each with one value per criterion. All of them must have as many values as there are criteria.
pub fn weigh(alternatives: &[Vec<&Value>], criteria: &[Criterion]) -> Result<Vec<Weighed>, Finding> {
    let sum = fault(alternatives, criteria)?;
    let used: Vec<usize> = (0..criteria.len()).filter(|&c| criteria[c].weight > 0.0).collect();
    let scales: Vec<Scale> = used.iter().map(|&c| Scale::of(alternatives, c, criteria[c].better)).collect();
    let own: Vec<f64> = used.iter().map(|&c| criteria[c].weight / sum).collect();
    let values: Vec<&Value> = alternatives.iter().flat_map(|a| used.iter().map(|&c| a[c])).collect();
    let (n, m) = (alternatives.len(), used.len());
    let dense = Dense::of(&values);
    let mut draws = Draws::of(&dense);
    let mut trial = vec![0.0; values.len()];
    let (mut by_own, mut by_any, mut any) = (vec![0.0; n], vec![0.0; n], vec![0.0; m]);
    let (mut first, mut share) = (vec![0.0; n], vec![0.0; n]);
    let mut counts = vec![vec![0u32; n]; n];
    let mut order: Vec<usize> = (0..n).collect();
    for _ in 0..TRIALS {
        draws.trial(|i, x| trial[i] = x);
        for weight in &mut any {
            // Exponential variates, divided by their sum, are even over all weightings.
            *weight = -(1.0 - draws.random.random::<f64>()).ln();
        }
        for a in 0..n {
            let row = &mut trial[a * m..(a + 1) * m];
            row.iter_mut().zip(&scales).for_each(|(x, scale)| *x = scale.at(*x));
            by_own[a] = dot(row, &own);
            by_any[a] = dot(row, &any);
        }
        won(&by_own, &mut first);
        won(&by_any, &mut share);
        order.sort_by(|&a, &b| by_own[b].total_cmp(&by_own[a]));
        order.iter().enumerate().for_each(|(place, &a)| counts[a][place] += 1);
    }
    let trials = TRIALS as f64;
    let tail = ((1.0 - rank::CONFIDENCE) / 2.0 * trials) as u32;
    let one = |a: usize| Weighed {
        score: used.iter().zip(&scales).zip(&own).map(|((&c, s), w)| w * s.at(alternatives[a][c].x)).sum(),
        low: rank::reach(&counts[a], 0..n, tail),
        high: rank::reach(&counts[a], (0..n).rev(), tail),
        first: first[a] / trials,
        share: share[a] / trials,
    };
    Ok((0..n).map(one).collect())
}

fn fault(alternatives: &[Vec<&Value>], criteria: &[Criterion]) -> Result<f64, Finding> {
    if criteria.iter().any(|c| !(c.weight >= 0.0 && c.weight.is_finite())) {
        return Err(Finding::gap(
            "weight-below-0",
            "weights",
            "a weight is below 0 or no number",
            "write 0 for what does not count, and larger numbers for what counts more",
        ));
    }
    let sum: f64 = criteria.iter().map(|c| c.weight).sum();
    if sum <= 0.0 {
        return Err(Finding::gap(
            "weights-all-0",
            "weights",
            "all weights are 0, so nothing counts",
            "give at least one column a weight above 0; only how they compare matters",
        ));
    }
    if alternatives.is_empty() {
        return Err(Finding::gap(
            "nothing-to-weigh",
            "weights",
            "no station has a value in every column that counts",
            "take the weight off the column that is least tested, or test what is missing",
        ));
    }
    Ok(sum)
}

/// A column's worst and best.
struct Scale {
    worst: f64,
    /// 1/(best − worst); 0 when all are equal, for then the column tells nothing.
    slope: f64,
}

impl Scale {
    fn of(alternatives: &[Vec<&Value>], column: usize, better: Better) -> Scale {
        let xs = || alternatives.iter().map(|a| a[column].x);
        let (low, high) = (xs().fold(f64::INFINITY, f64::min), xs().fold(f64::NEG_INFINITY, f64::max));
        let slope = if high > low { 1.0 / (high - low) } else { 0.0 };
        match better {
            Better::More => Scale { worst: low, slope },
            Better::Less => Scale { worst: high, slope: -slope },
        }
    }
    fn at(&self, x: f64) -> f64 {
        (x - self.worst) * self.slope
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Adds one win to the best, shared where several are exactly equal.
fn won(scores: &[f64], wins: &mut [f64]) {
    let best = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let equal = scores.iter().filter(|s| **s == best).count() as f64;
    for (score, win) in scores.iter().zip(wins) {
        if *score == best {
            *win += 1.0 / equal;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Dim;
    use crate::stats::coverage::Shape;
    use crate::uncertain::{Effect, Influence};
    fn v(x: f64) -> Value {
        Value::exact(Dim::Count, x)
    }
    fn of(rows: &[&[f64]], criteria: &[Criterion]) -> Vec<Weighed> {
        let values: Vec<Vec<Value>> = rows.iter().map(|r| r.iter().map(|x| v(*x)).collect()).collect();
        let rows: Vec<Vec<&Value>> = values.iter().map(|r| r.iter().collect()).collect();
        weigh(&rows, criteria).unwrap()
    }
    fn more(weight: f64) -> Criterion {
        Criterion { better: Better::More, weight }
    }
    /// Three standard deviations of a share from 10,000 draws: 3·√(0.25/10 000) = 0.015 at most.
    const DRAWN: f64 = 0.015;

    #[test]
    fn two_columns_on_paper() {
        // Scaled: A (1, 0), B (0, 1), C (0.6, 0.6). With weight w on the first: A has w, B has 1 − w, C has 0.6.
        // A wins for w > 0.6, B for w < 0.4, C between: shares 0.4, 0.4, 0.2.
        let got = of(&[&[10.0, 0.0], &[0.0, 5.0], &[6.0, 3.0]], &[more(1.0), more(1.0)]);
        for (row, want) in got.iter().zip([0.4, 0.4, 0.2]) {
            assert!((row.share - want).abs() < DRAWN, "{row:?} {want}");
        }
        let scores: Vec<f64> = got.iter().map(|r| r.score).collect();
        assert!((scores[0] - 0.5).abs() < 1e-12 && (scores[2] - 0.6).abs() < 1e-12);
        assert_eq!((got[2].low, got[2].high, got[2].first), (1, 1, 1.0));
    }
    #[test]
    fn three_columns_on_paper() {
        // A corner of the triangle of weights beyond one half is a quarter of it: three corners win a quarter each
        // against D, who has one half of everything, and D wins the quarter in the middle.
        let rows: [&[f64]; 4] = [&[1.0, 0.0, 0.0], &[0.0, 1.0, 0.0], &[0.0, 0.0, 1.0], &[0.5, 0.5, 0.5]];
        for row in of(&rows, &[more(2.0), more(1.0), more(1.0)]) {
            assert!((row.share - 0.25).abs() < DRAWN, "{row:?}");
        }
    }
    #[test]
    fn less_is_better_where_it_is_and_weights_of_0_count_nowhere() {
        let criteria = [Criterion { better: Better::Less, weight: 3.0 }, more(0.0)];
        let got = of(&[&[10.0, 0.0], &[20.0, 9.0]], &criteria);
        assert_eq!((got[0].score, got[0].share, got[1].share), (1.0, 1.0, 0.0));
    }
    #[test]
    fn doubts_are_drawn_and_shared_ones_cancel() {
        // 100 ± and 101 ±, u 1 each, independent: the difference is 1 with u √2; Φ(1/1.41421) = 0.7602.
        let doubted = |x: f64, of: Influence| v(x).with(of, 1.0, Shape::Normal, f64::INFINITY);
        let private = |name: &str| Influence::test(name, Effect::Repeatability, "");
        let (a, b) = (doubted(100.0, private("a")), doubted(101.0, private("b")));
        let got = weigh(&[vec![&a], vec![&b]], &[more(1.0)]).unwrap();
        assert!((got[1].first - 0.7602).abs() < DRAWN && (got[1].low, got[1].high) == (1, 2));
        let meter = || Influence::instrument("m", Effect::Gain, "");
        let (a, b) = (doubted(100.0, meter()), doubted(101.0, meter()));
        assert_eq!(weigh(&[vec![&a], vec![&b]], &[more(1.0)]).unwrap()[1].first, 1.0);
    }
    #[test]
    fn nonsense_is_refused() {
        let x = v(1.0);
        let code = |weights: &[f64], rows: &[Vec<&Value>]| {
            let criteria: Vec<Criterion> = weights.iter().map(|w| more(*w)).collect();
            weigh(rows, &criteria).unwrap_err().code
        };
        assert_eq!(code(&[0.0, 0.0], &[vec![&x, &x]]), "weights-all-0");
        assert_eq!(code(&[], &[vec![]]), "weights-all-0");
        assert_eq!(code(&[1.0, -1.0], &[vec![&x, &x]]), "weight-below-0");
        assert_eq!(code(&[f64::NAN], &[vec![&x]]), "weight-below-0");
        assert_eq!(code(&[1.0], &[]), "nothing-to-weigh");
    }
}
