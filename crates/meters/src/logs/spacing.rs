//! How far apart the rows are: the median, and a histogram for the eye.
use serde::Serialize;
use std::collections::BTreeMap;

/// Steps below this are counted to the millisecond.
const FINE_MS: usize = 16_384;

/// Counts the steps between rows.
pub(crate) struct Spacing {
    fine: Vec<u32>,
    /// Longer steps, by tenth of a second; at most 4096 kinds.
    coarse: BTreeMap<i64, u64>,
    count: u64,
}

/// How often a step between rows occurs.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct IntervalShare {
    /// The step, s (to the millisecond below 16 s, to a tenth above).
    pub seconds: f64,
    /// How often.
    pub count: u64,
}

impl Spacing {
    pub(crate) fn new() -> Self {
        Spacing { fine: vec![0; FINE_MS], coarse: BTreeMap::new(), count: 0 }
    }

    /// Counts one step, µs, not negative.
    #[inline]
    pub(crate) fn add(&mut self, step: i64) {
        self.count += 1;
        let ms = ((step + 500) / 1000) as usize;
        match self.fine.get_mut(ms) {
            Some(n) => *n += 1,
            None => self.add_long(step),
        }
    }

    #[cold]
    fn add_long(&mut self, step: i64) {
        let key = (step + 50_000) / 100_000;
        // Past 4096 kinds of long steps, new ones are counted by their leading digits.
        let coarse =
            if self.coarse.len() < 4096 || self.coarse.contains_key(&key) { key } else { round_two(key) };
        *self.coarse.entry(coarse).or_insert(0) += 1;
    }

    fn shares(&self) -> impl Iterator<Item = IntervalShare> + '_ {
        let fine = self.fine.iter().enumerate().filter(|(_, n)| **n > 0);
        let fine = fine.map(|(ms, n)| IntervalShare { seconds: ms as f64 / 1e3, count: u64::from(*n) });
        fine.chain(self.coarse.iter().map(|(k, n)| IntervalShare { seconds: *k as f64 / 10.0, count: *n }))
    }

    /// The median step, s; of an even number of steps, the mean of the middle two. Rows that share a time make no
    /// step: a clock that shows minutes would otherwise have none at all. `None` without steps.
    pub(crate) fn median(&self) -> Option<f64> {
        let none = self.fine.first().map_or(0, |n| u64::from(*n));
        let steps = self.count - none;
        let at = |rank: u64| {
            let mut before = 0;
            self.shares().filter(|s| s.seconds > 0.0).find_map(|s| {
                before += s.count;
                (before > rank).then_some(s.seconds)
            })
        };
        Some((at(steps.checked_sub(1)? / 2)? + at(steps / 2)?) / 2.0)
    }

    /// Whether any step lies between two lengths, s.
    pub(crate) fn any_between(&self, a: f64, b: f64) -> bool {
        self.shares().any(|s| s.seconds > a.min(b) - 0.06 && s.seconds <= a.max(b) + 0.06)
    }

    /// How many steps there are in a range, s.
    pub(crate) fn count_in(&self, range: std::ops::Range<f64>) -> u64 {
        self.shares().filter(|s| range.contains(&s.seconds)).map(|s| s.count).sum()
    }

    /// The commonest steps, at most `most`, in order of length.
    pub(crate) fn histogram(&self, most: usize) -> Vec<IntervalShare> {
        let mut all: Vec<IntervalShare> = self.shares().collect();
        all.sort_by_key(|s| std::cmp::Reverse(s.count));
        all.truncate(most);
        all.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
        all
    }
}

fn round_two(key: i64) -> i64 {
    let mut unit = 1;
    while key / unit >= 100 {
        unit *= 10;
    }
    key / unit * unit
}
