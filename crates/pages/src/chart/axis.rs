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

/// Round numbers between two positive ones, both ends included: 1, 3, 10, … over decades, finer over less, so that
/// there are three at least wherever the span allows it.
pub fn ticks(low: f64, high: f64) -> Vec<f64> {
    let steps: [&[f64]; 4] = [
        &[1.0, 3.0],
        &[1.0, 2.0, 5.0],
        &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0],
        &[
            1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0,
            8.0, 9.0,
        ],
    ];
    let between = |leads: &[f64]| -> Vec<f64> {
        let decades = (low.log10().floor() as i32)..=(high.log10().ceil() as i32);
        let all = decades.flat_map(|d| leads.iter().map(move |m| m * 10f64.powi(d)));
        all.filter(|t| *t >= low * 0.999_999 && *t <= high * 1.000_001).collect()
    };
    let fine = steps.iter().map(|leads| between(leads)).find(|t| t.len() >= 3);
    fine.unwrap_or_else(|| between(steps[3]))
}

/// Hours at a tick: "30 min", "3 h".
pub fn hours(hours: f64) -> String {
    if hours < 0.9 {
        format!("{:.0} min", hours * 60.0)
    } else {
        format!("{} h", (hours * 10.0).round() / 10.0)
    }
}

/// Multiples of 1, 2 or 5 times a power of ten between two numbers, about `most` of them.
pub fn even(low: f64, high: f64, most: usize) -> Vec<f64> {
    let raw = (high - low) / most as f64;
    let ten = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * ten).find(|s| *s >= raw * 0.999_999);
    multiples(low, high, step.unwrap_or(raw))
}

/// Round times in s between two, at most about `most`: seconds, minutes, hours, days.
pub fn times(low: f64, high: f64, most: usize) -> Vec<f64> {
    const STEPS: [f64; 22] = [
        1.0,
        2.0,
        5.0,
        10.0,
        15.0,
        30.0,
        60.0,
        120.0,
        300.0,
        600.0,
        900.0,
        1800.0,
        3600.0,
        7200.0,
        10_800.0,
        21_600.0,
        43_200.0,
        86_400.0,
        172_800.0,
        432_000.0,
        864_000.0,
        2_592_000.0,
    ];
    let raw = (high - low) / most as f64;
    let step = STEPS.into_iter().find(|s| *s >= raw);
    multiples(low, high, step.unwrap_or(raw))
}

fn multiples(low: f64, high: f64, step: f64) -> Vec<f64> {
    if !(step > 0.0 && step.is_finite()) {
        return Vec::new();
    }
    let first = (low / step - 1e-9).ceil();
    // A round number, not 0.30000000000000004: enough digits for any step of 1, 2 or 5.
    let round = |x: f64| (x * 1e9).round() / 1e9;
    (0..100).map(|k| round((first + f64::from(k)) * step)).take_while(|t| *t <= high * (1.0 + 1e-9)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_steps_and_round_times() {
        assert_eq!(even(0.0, 610.0, 5), [0.0, 200.0, 400.0, 600.0]);
        assert_eq!(even(-3.0, 1.0, 4), [-3.0, -2.0, -1.0, 0.0, 1.0]);
        assert_eq!(times(0.0, 6360.0, 5), [0.0, 1800.0, 3600.0, 5400.0]);
        assert_eq!(times(90.0, 100.0, 5), [90.0, 92.0, 94.0, 96.0, 98.0, 100.0]);
        assert!(even(1.0, 1.0, 5).is_empty());
    }

    #[test]
    fn scale_and_ticks() {
        let scale = LogScale::new(10.0, 1000.0, 0.0, 200.0);
        assert!((scale.at(100.0) - 100.0).abs() < 1e-9);
        let ticks = ticks(9.0, 310.0);
        assert_eq!(ticks.iter().map(|t| t.round() as i32).collect::<Vec<_>>(), [10, 30, 100, 300]);
        // Less than a decade: finer steps.
        assert_eq!(super::ticks(250.0, 520.0), [300.0, 400.0, 500.0]);
    }
}
