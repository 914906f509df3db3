//! The Pareto front: who is beaten by nobody over several columns at once, and whose place on it is open.
//!
//! One beats another when it is as good in every column and better in one. It does so surely when every difference
//! that is not exactly nothing lies outside its own 95 % interval, shared influences cancelling.
use crate::measurand::Better;
use crate::rank::Dense;
use crate::uncertain::Value;

/// Where one stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nobody beats it.
    Front,
    /// These have better figures, but none of them beyond the doubt of the measurements.
    Perhaps(Vec<usize>),
    /// Surely beaten by these.
    Beaten(Vec<usize>),
}

impl Standing {
    /// Nobody surely beats it.
    pub fn stands(&self) -> bool {
        !matches!(self, Standing::Beaten(_))
    }
}

/// The standing of each alternative; each has one value per column of `better`.
pub fn front(alternatives: &[Vec<&Value>], better: &[Better]) -> Vec<Standing> {
    let columns: Vec<Vec<&Value>> =
        (0..better.len()).map(|c| alternatives.iter().map(|a| a[c]).collect()).collect();
    let dense: Vec<Dense> = columns.iter().map(|c| Dense::of(c)).collect();
    let gain = |c: usize, j: usize, i: usize| ahead(columns[c][j].x, columns[c][i].x, better[c]);
    let beats = |j: usize, i: usize| {
        let gains = || (0..better.len()).map(|c| gain(c, j, i));
        gains().all(|g| g >= 0.0) && gains().any(|g| g > 0.0)
    };
    // Of one that beats the other by its figures. Two equal figures without any doubt, say two prices, are equal; two
    // equal measurements may not be.
    let surely = |j: usize, i: usize| {
        (0..better.len()).all(|c| !dense[c].doubted(j, i) || gain(c, j, i) > 0.0 && !dense[c].tied(j, i))
    };
    let one = |i: usize| {
        let by: Vec<usize> = (0..alternatives.len()).filter(|&j| beats(j, i)).collect();
        let sure: Vec<usize> = by.iter().copied().filter(|&j| surely(j, i)).collect();
        match (by.is_empty(), sure.is_empty()) {
            (true, _) => Standing::Front,
            (false, true) => Standing::Perhaps(by),
            (false, false) => Standing::Beaten(sure),
        }
    };
    (0..alternatives.len()).map(one).collect()
}

/// How much better `a` is, above 0 when it is.
fn ahead(a: f64, b: f64, better: Better) -> f64 {
    if better == Better::More { a - b } else { b - a }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Dim;
    use crate::stats::coverage::Shape;
    use crate::uncertain::{Effect, Influence};
    const BOTH: [Better; 2] = [Better::More, Better::Less];
    fn exact(x: f64) -> Value {
        Value::exact(Dim::Count, x)
    }
    fn doubted(x: f64, u: f64, name: &str) -> Value {
        exact(x).with(Influence::test(name, Effect::Repeatability, ""), u, Shape::Normal, f64::INFINITY)
    }
    fn of(rows: &[(Value, Value)]) -> Vec<Standing> {
        let rows: Vec<Vec<&Value>> = rows.iter().map(|(a, b)| vec![a, b]).collect();
        front(&rows, &BOTH)
    }
    #[test]
    fn energy_against_price() {
        // Wh and price: (900, 700), (800, 600), (850, 800), (900, 700) again. The third is beaten by both of the first
        // figures; two equal ones do not beat each other.
        let rows = [(900.0, 700.0), (800.0, 600.0), (850.0, 800.0), (900.0, 700.0)];
        let rows: Vec<_> = rows.iter().map(|(a, b)| (exact(*a), exact(*b))).collect();
        let got = of(&rows);
        assert_eq!(got, [Standing::Front, Standing::Front, Standing::Beaten(vec![0, 3]), Standing::Front]);
    }
    #[test]
    fn inside_the_interval_nobody_is_beaten() {
        // 13 Wh apart with u √2·8.67 = 12.3: half-width 24, so the second may be on the front.
        let rows = [(doubted(861.0, 8.67, "a"), exact(700.0)), (doubted(848.0, 8.67, "b"), exact(700.0))];
        assert_eq!(of(&rows), [Standing::Front, Standing::Perhaps(vec![0])]);
        // 40 Wh apart it is beaten.
        let far = [(doubted(888.0, 8.67, "a"), exact(700.0)), (doubted(848.0, 8.67, "b"), exact(700.0))];
        assert_eq!(of(&far)[1], Standing::Beaten(vec![0]));
        assert!(of(&rows)[1].stands() && !of(&far)[1].stands());
    }
    #[test]
    fn one_shared_meter_decides_more_than_two() {
        let meter = |x: f64| {
            exact(x).with(Influence::instrument("m", Effect::Gain, ""), 8.6, Shape::Normal, f64::INFINITY)
        };
        let rows = [(meter(861.0), exact(700.0)), (meter(848.0), exact(700.0))];
        assert_eq!(of(&rows)[1], Standing::Beaten(vec![0]));
        assert!(front(&[], &BOTH).is_empty());
    }
}
