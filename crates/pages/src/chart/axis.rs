//! Scales of drawings and the numbers written on them.

/// Where a quantity stands on a drawing, by its logarithm.
#[derive(Clone, Copy, Debug)]
pub struct LogScale {
    from: f64,
    per_decade: f64,
    start: f64,
}

impl LogScale {
    /// From `low` at `start` to `high` at `end`; `low` and `high` positive and different.
    pub fn new(low: f64, high: f64, start: f64, end: f64) -> LogScale {
        LogScale { from: low.log10(), per_decade: (end - start) / (high / low).log10(), start }
    }
    /// Place of a positive quantity.
    pub fn at(&self, x: f64) -> f64 {
        self.start + (x.log10() - self.from) * self.per_decade
    }
}

/// 1, 3, 10, 30, … between two positive numbers, both ends included.
pub fn one_three_ten(low: f64, high: f64) -> Vec<f64> {
    let decades = (low.log10().floor() as i32)..=(high.log10().ceil() as i32);
    let ticks = decades.flat_map(|d| [1.0, 3.0].map(|m| m * 10f64.powi(d)));
    ticks.filter(|t| *t >= low * 0.999_999 && *t <= high * 1.000_001).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scale_and_ticks() {
        let scale = LogScale::new(10.0, 1000.0, 0.0, 200.0);
        assert!((scale.at(100.0) - 100.0).abs() < 1e-9);
        let ticks = one_three_ten(9.0, 310.0);
        assert_eq!(ticks.iter().map(|t| t.round() as i32).collect::<Vec<_>>(), [10, 30, 100, 300]);
    }
}
