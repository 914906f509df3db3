//! A few hundred rows at once, where nothing happens that has to be looked at row by row.
//!
//! Nearly all of a long log is like that. Everyone who follows the rows says for itself what it needs to take them together;
//! where one of them cannot, all see each row. What is summed up is the same to the last bit either way.
use super::columns::extent;
use super::cycles::Mark;
use super::digest::Digest;
use super::frozen::NEAR;
use super::notes::Notes;
use std::ops::Range;

/// Rows taken at once, at most.
pub(crate) const ROWS: usize = 256;
/// Fewer are not worth the look.
const WORTH: usize = 16;

/// Rows in columns, as far as they have a power.
pub(crate) struct Rows<'a> {
    /// As written, µs.
    pub(crate) times: &'a [i64],
    pub(crate) lines: &'a [u32],
    pub(crate) watts: &'a [f64],
    pub(crate) counter: Option<&'a [f64]>,
    /// Volts and amperes beside the power.
    pub(crate) beside: Option<(&'a [f64], &'a [f64])>,
    /// Volts and amperes of which the power is the product.
    pub(crate) product: Option<(&'a [f64], &'a [f64])>,
}

impl Rows<'_> {
    /// What volts times amperes allow in a row, W; NaN where they are not measured beside the power.
    #[inline]
    pub(crate) fn allowed(&self, k: usize) -> f64 {
        self.beside.map_or(f64::NAN, |(v, a)| v[k] * a[k])
    }
}

impl Digest {
    /// Takes some rows at once; `false` without taking any where they have to be looked at one by one.
    pub(crate) fn stretch(&mut self, rows: &Rows, these: Range<usize>, notes: &mut Notes) -> bool {
        let (watts, end) = (&rows.watts[these.clone()], these.end - 1);
        let (times, lines) = (&rows.times[these.clone()], &rows.lines[these.clone()]);
        let counter = rows.counter.map(|c| &c[these]);
        if watts.len() < WORTH || self.ways.is_some() {
            return false;
        }
        let (low, high, sum) = extent(watts);
        let alike = near(self.energy.last_w(), watts) && self.spikes.settled() && !sum.is_nan();
        let fits = alike
            && self.cutoff.steady(low, high)
            && counter.is_none_or(|c| self.counter.rises(c))
            && self.energy.follows(times, low, high);
        if !fits {
            return false;
        }
        if let Some(counter) = counter {
            self.counter.rows(counter);
            self.energy.counter_step = self.counter.step();
        }
        let (last, line, shift) = (rows.watts[end], rows.lines[end], self.energy.shift);
        let (t, covered) = (self.energy.last_t(), self.energy.sums.covered);
        let mut laid = [(0.0, 0.0); ROWS];
        let laid = &mut laid[..watts.len()];
        self.energy.rows((times, watts), (low, high), (self.counter.now(), line), laid);
        self.spikes.rows(watts, rows.allowed(end), line);
        self.frozen.rows(watts, lines, notes);
        self.cutoff.rows(high, last, (self.energy.last_t(), self.counter.total().unwrap_or(f64::NAN)));
        self.cycles.rows(watts, (low, high), laid, |k| {
            let here = times[k] + shift;
            Mark { t: here, energy: laid[k].1, covered: covered + here - t }
        });
        self.trace.rows(times, shift, watts, laid);
        true
    }
}

/// Whether each power is near the one before.
fn near(mut before: f64, watts: &[f64]) -> bool {
    watts.iter().fold(true, |all, w| {
        let near = (w - before).abs() <= NEAR * before.abs();
        before = *w;
        all & near
    })
}

#[cfg(test)]
mod tests {
    use super::super::batch::{Batch, Plan, Use};
    use super::super::mapping::Role;
    use super::*;
    use proptest::prelude::*;

    /// A row: step since the one before (ms), W, what the counter rises (m W·h), V.
    type Row = (i64, f64, i64, f64);

    /// What happens in a log: mostly nothing, for a while.
    fn episode() -> impl Strategy<Value = Vec<Row>> {
        let many = 1usize..700;
        prop_oneof![
            // Steady with digits that move, about a level or across it.
            6 => (many.clone(), 0u32..9, 1u32..30).prop_map(|(n, level, wide)| {
                let level = [3.0, 59.9, 60.0, 300.0, 300.4, 1200.0, -80.0, 0.0, 6.0][level as usize];
                let row = |k: usize| (10, level + f64::from(k as u32 * 7 % wide) / 10.0, i64::from(k.is_multiple_of(9)), 120.0);
                (0..n).map(row).collect()
            }),
            // At rest, off, a taper, one row of its own.
            2 => (many.clone(), 0u32..5).prop_map(|(n, w)| vec![(10, f64::from(w) * 150.0, 0, 119.9); n]),
            1 => many.prop_map(|n| (0..n).map(|k| (10, 500.0 * 0.99f64.powi(k as i32), 1, 120.0)).collect()),
            1 => (1i64..9_000, 0.0f64..2000.0).prop_map(|(step, w)| vec![(step, w, 1, 200.0)]),
            // A gap, the same time again, a step back, a counter that falls, a reading that is missing.
            1 => Just(vec![(60_000, 300.0, 500, 120.0)]),
            1 => Just(vec![(0, 300.0, 0, 120.0)]),
            1 => Just(vec![(-500, 300.0, 0, 120.0); 3]),
            1 => Just(vec![(10, 300.0, -100_000, 120.0)]),
            1 => Just(vec![(10, f64::NAN, 0, f64::NAN)]),
        ]
    }

    /// Everything that comes of the rows when so many of them are given at a time.
    fn followed(rows: &[Row], at_once: usize, counted: bool) -> String {
        let roles = [Role::Power, Role::Voltage, Role::Current, Role::EnergyCounter];
        let roles = &roles[..if counted { 4 } else { 3 }];
        let plan = Plan {
            uses: roles.iter().enumerate().map(|(slot, _)| Use::Number { slot, factor: 1.0 }).collect(),
            slots: roles.iter().copied().enumerate().collect(),
            time_unit: 1.0,
        };
        let (mut digest, mut notes) = (Digest::new(&plan, 5_000_000, 10_000, true), Notes::default());
        let (mut line, mut t, mut counter) = (0, 0, 0);
        for rows in rows.chunks(at_once) {
            let mut batch = Batch::new(roles.len());
            for (step, watts, rise, volts) in rows {
                (line, t, counter) = (line + 1, t + step * 1000, counter + rise);
                batch.push(line, t, &[*watts, *volts, watts / volts, counter as f64 / 1e3][..roles.len()]);
            }
            digest.take(&batch, &mut notes);
        }
        digest.energy.finish(&mut notes);
        digest.spikes.finish(&mut notes);
        digest.frozen.finish(&mut notes);
        let (plateau, end) = (digest.cycles.plateau(), digest.energy.last_t());
        // Voltages are looked at batch by batch: kinds of findings may change places.
        let mut findings = notes.findings();
        findings.sort_by(|a, b| a.code.cmp(&b.code));
        let energy = &digest.energy;
        format!(
            "{:?} {:?} {:?} {} {end} {}\n{:?} {:?}\n{:?} {:?} {:?}\n{plateau:?} {:?}\n{:?}\n{:?} {} {:?}\n{:?}",
            energy.sums,
            energy.list,
            energy.first,
            energy.turned,
            energy.spells,
            digest.counter.total(),
            digest.counter.step(),
            digest.cutoff.cutoff(plateau, end),
            digest.cutoff.load_on(plateau),
            digest.cutoff.last(),
            digest.cycles.cycles(),
            digest.spacing.histogram(9),
            digest.ends,
            digest.falls,
            digest.quiet,
            findings,
        ) + &format!("\n{:?}", digest.trace.points())
    }

    proptest! {
        /// Fewer rows than are worth a look are seen one by one: nothing may differ, not by a bit.
        #[test]
        fn at_once_is_as_one_by_one(log in prop::collection::vec(episode(), 1..30), counted: bool) {
            let rows = log.concat();
            let one_by_one = followed(&rows, WORTH - 1, counted);
            prop_assert_eq!(followed(&rows, 4096, counted), one_by_one);
        }
    }

    /// Otherwise the test above would compare a way with itself.
    #[test]
    fn a_steady_log_is_taken_at_once() {
        let plan = Plan {
            uses: vec![Use::Number { slot: 0, factor: 1.0 }],
            slots: vec![(0, Role::Power)],
            time_unit: 1.0,
        };
        let (mut digest, mut notes) = (Digest::new(&plan, 5_000_000, 10_000, true), Notes::default());
        let mut batch = Batch::new(1);
        (1..=512).for_each(|k| batch.push(k, i64::from(k) * 10_000, &[300.0 + f64::from(k % 7) / 10.0]));
        digest.take(&batch, &mut notes);
        let times: Vec<i64> = (513..769).map(|k| k * 10_000).collect();
        let (watts, lines) = ([300.0; ROWS], [1; ROWS]);
        let mut taken = |times: &[i64], watts: &[f64]| {
            let rows = Rows { times, lines: &lines, watts, counter: None, beside: None, product: None };
            digest.stretch(&rows, 0..ROWS, &mut notes)
        };
        // A step back, a start of something, a zero.
        assert!(!taken(&times.iter().map(|t| 6_000_000 - t).collect::<Vec<_>>(), &watts));
        for odd in [900.0, 0.0, f64::NAN] {
            let mut watts = watts;
            watts[100] = odd;
            assert!(!taken(&times, &watts), "{odd}");
        }
        assert!(taken(&times, &watts));
    }
}
