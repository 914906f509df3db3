//! Places worked out instead of drawn, for long columns: there neighbours on the same meter move together, and what
//! is left is each value's own.
//!
//! Given where a value itself came to lie, the others stand above it or not independently of each other: how many do is
//! a sum of many unlike yes-or-no trials, which is nearly normal. The place is that, over all positions of the value.
use super::dense::Dense;
use super::{CONFIDENCE, MIDDLE};
use crate::measurand::Better;
use crate::stats::tail::{normal_cdf, normal_pdf};
use std::sync::LazyLock;

/// Below so many values drawing is quick, and few neighbours are no normal sum.
const MANY: usize = 64;
/// Share of the variance of a difference that may come from what others share, before drawing is called for.
const SHARED: f64 = 0.02;
/// How far, in standard uncertainties, a value reaches.
const REACH: f64 = 5.0;
/// Positions of a value at which the others are counted, in its own standard uncertainties: -3.5 to 3.5.
const POSITIONS: usize = 15;
const APART: f64 = 0.5;
/// Steps between two positions; what is counted hardly bends there.
const STEPS: usize = 4;

/// Best, middle and worst place of each value; `None` where they have to be drawn.
pub(super) fn places(column: &Dense, better: Better) -> Option<Vec<[usize; 3]>> {
    let line = Line::by_themselves(column, better)?;
    let mut places = vec![[0; 3]; line.at.len()];
    let mut last: Option<(f64, f64, [usize; 3])> = None;
    for &(x, u, i) in &line.sorted {
        // Equal values have equal places.
        let known = last.filter(|l| l.0 == x && l.1 == u).map(|l| l.2);
        places[i] = known.unwrap_or_else(|| line.place(i));
        last = Some((x, u, places[i]));
    }
    Some(places)
}

/// The same of one value.
pub(super) fn place(column: &Dense, of: usize, better: Better) -> Option<[usize; 3]> {
    Some(Line::by_themselves(column, better)?.place(of))
}

/// The values on a line, larger is better.
struct Line {
    /// Position and own standard uncertainty, by place in the column.
    at: Vec<(f64, f64)>,
    /// The same in the order of positions, with the place.
    sorted: Vec<(f64, f64, usize)>,
    /// The largest own uncertainty.
    widest: f64,
}

impl Line {
    fn of(column: &Dense, better: Better) -> Line {
        let sign = if better == Better::More { 1.0 } else { -1.0 };
        let at: Vec<(f64, f64)> = column.rows.iter().map(|r| (sign * r.x, r.alone)).collect();
        let mut sorted: Vec<(f64, f64, usize)> = at.iter().enumerate().map(|(i, a)| (a.0, a.1, i)).collect();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let widest = at.iter().fold(0.0, |w: f64, a| w.max(a.1));
        Line { at, sorted, widest }
    }

    /// The values of a long column whose differences from neighbours, near and far, are uncertain by what is each one's
    /// own; `None` for others.
    fn by_themselves(column: &Dense, better: Better) -> Option<Line> {
        if column.rows.len() < MANY {
            return None;
        }
        let line = Line::of(column, better);
        let alone = [1, 4, 16, 64].into_iter().all(|step| {
            line.sorted.iter().zip(line.sorted.iter().skip(step)).all(|(a, b)| {
                let own = a.1 * a.1 + b.1 * b.1;
                let apart = b.0 - a.0 > 2.0 * REACH * own.sqrt();
                apart || column.variance_of_difference(a.2, b.2) - own <= SHARED * own
            })
        });
        alone.then_some(line)
    }

    /// How many values lie above a position as a rule, and the variance of that; without the one that stands there.
    fn above(&self, position: f64, without: usize) -> (f64, f64) {
        let near = REACH * self.widest;
        let from = self.sorted.partition_point(|s| s.0 < position - near);
        let to = self.sorted.partition_point(|s| s.0 <= position + near);
        let (mut count, mut variance) = ((self.sorted.len() - to) as f64, 0.0);
        for (x, u, i) in &self.sorted[from..to] {
            if *i == without {
                continue;
            }
            let p = if *u > 0.0 { cdf((x - position) / u) } else { f64::from(*x > position) };
            count += p;
            variance += p * (1.0 - p);
        }
        (count, variance)
    }

    /// The place of a value: best, middle, worst.
    fn place(&self, i: usize) -> [usize; 3] {
        let (x, u) = self.at[i];
        let z = |k: usize| APART * (k as f64 - (POSITIONS - 1) as f64 / 2.0);
        let counted: Vec<(f64, f64)> = (0..POSITIONS).map(|k| self.above(x + z(k) * u, i)).collect();
        let mut mixture = Vec::with_capacity(POSITIONS * STEPS);
        let mut whole = 0.0;
        for (k, pair) in counted.windows(2).enumerate() {
            for step in 0..STEPS {
                let t = (step as f64 + 0.5) / STEPS as f64;
                let weight = normal_pdf(z(k) + APART * t);
                let between = |a: f64, b: f64| a + (b - a) * t;
                let (mean, variance) = (between(pair[0].0, pair[1].0), between(pair[0].1, pair[1].1));
                mixture.push((weight, mean, variance.sqrt()));
                whole += weight;
            }
        }
        // The share of cases in which at most n others are above.
        let share = |n: usize| {
            let of = |&(weight, mean, sd): &(f64, f64, f64)| {
                let room = n as f64 + 0.5 - mean;
                weight * if sd > 0.0 { cdf(room / sd) } else { f64::from(room > 0.0) }
            };
            mixture.iter().map(of).sum::<f64>() / whole
        };
        let tail = (1.0 - CONFIDENCE) / 2.0;
        [tail, MIDDLE, 1.0 - tail].map(|wanted| 1 + first(self.at.len() - 1, |n| share(n) >= wanted))
    }
}

/// The least number up to `most` for which it holds; it holds for all above it.
fn first(most: usize, holds: impl Fn(usize) -> bool) -> usize {
    let (mut low, mut high) = (0, most);
    while low < high {
        let middle = usize::midpoint(low, high);
        if holds(middle) { high = middle } else { low = middle + 1 }
    }
    low
}

/// The normal distribution function to 1e-6, from a table: it is asked a million times.
fn cdf(z: f64) -> f64 {
    const FAR: f64 = 6.0;
    const FINE: f64 = 256.0;
    static TABLE: LazyLock<Vec<f64>> = LazyLock::new(|| {
        let cells = (2.0 * FAR * FINE) as usize;
        (0..=cells + 1).map(|i| normal_cdf(i as f64 / FINE - FAR)).collect()
    });
    if z <= -FAR {
        return 0.0;
    }
    if z >= FAR {
        return 1.0;
    }
    let at = (z + FAR) * FINE;
    let i = at as usize;
    TABLE[i] + (TABLE[i + 1] - TABLE[i]) * (at - i as f64)
}
