//! Power to energy, row by row: gaps apart, zeros that are no zeros, clocks that go back.
use super::notes::Notes;
use trueplate_core::finding::Weight;

const HOUR: i64 = 3_600_000_000;
/// W·µs in a W·h.
pub(crate) const WH: f64 = 3.6e9;
/// Gaps listed.
const LISTED: usize = 1000;
/// Rows remembered to recognise a block that comes twice.
const REMEMBERED: usize = 4096;

/// What can be taken back when a stretch turns out to be a gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sums {
    /// W·µs.
    pub(crate) energy: f64,
    /// W·µs over gaps, by straight lines.
    pub(crate) bridged: f64,
    /// µs.
    pub(crate) covered: i64,
    pub(crate) min: f64,
    pub(crate) max: f64,
    pub(crate) gaps: u64,
    /// W²·µs, and over gaps by straight lines.
    pub(crate) square: f64,
    pub(crate) bridged_square: f64,
    /// Gaps through which a counter went on: its rise (W·h), their time (µs), what straight lines give for them (W·µs).
    pub(crate) counted: f64,
    pub(crate) counted_time: i64,
    pub(crate) counted_bridged: f64,
}

impl Sums {
    pub(crate) const NONE: Sums = Sums {
        energy: 0.0,
        bridged: 0.0,
        covered: 0,
        min: f64::INFINITY,
        max: f64::NEG_INFINITY,
        gaps: 0,
        square: 0.0,
        bridged_square: 0.0,
        counted: 0.0,
        counted_time: 0,
        counted_bridged: 0.0,
    };
}

/// A row as taken.
#[derive(Clone, Copy)]
struct Point {
    t: i64,
    w: f64,
    counter: Option<f64>,
    line: u32,
}

/// The state before a stretch that may have to be taken back.
#[derive(Clone, Copy)]
struct Saved {
    sums: Sums,
    point: Point,
    listed: usize,
}

/// Sums up power.
pub(crate) struct Energy {
    pub(crate) sums: Sums,
    /// Steps longer than this are gaps, µs.
    pub(crate) gap: i64,
    /// The usual step, µs.
    pub(crate) usual: i64,
    /// The times come from a clock that may be put on or back by an hour.
    pub(crate) wall_clock: bool,
    pub(crate) first: Option<i64>,
    last: Point,
    /// Added to times since the clock went back.
    pub(crate) shift: i64,
    pub(crate) list: Vec<(i64, i64)>,
    zeros: Option<Saved>,
    jump: Option<Saved>,
    ring: Vec<(i64, f64)>,
    at: usize,
    follow: Option<usize>,
    searches: u32,
    aside: bool,
    /// Rows that went back in time, and how often the rows turned back.
    pub(crate) turned: u64,
    /// Set when the log ends in zeros while the counter goes on.
    pub(crate) ends_in_gap: bool,
    /// The finest step of the counter so far, W·h.
    pub(crate) counter_step: f64,
    /// Runs of zeros between equal powers, with no counter to tell what they are, and the line of the first.
    pub(crate) spells: u64,
    pub(crate) spell_line: Option<u32>,
}

impl Energy {
    pub(crate) fn new(gap: i64, usual: i64, wall_clock: bool) -> Self {
        Energy {
            sums: Sums::NONE,
            gap,
            usual,
            wall_clock,
            first: None,
            last: Point { t: 0, w: 0.0, counter: None, line: 0 },
            shift: 0,
            list: Vec::new(),
            zeros: None,
            jump: None,
            ring: Vec::new(),
            at: 0,
            follow: None,
            searches: 0,
            aside: false,
            turned: 0,
            ends_in_gap: false,
            counter_step: 0.0,
            spells: 0,
            spell_line: None,
        }
    }

    /// Time of the last row taken, shift included.
    pub(crate) fn last_t(&self) -> i64 {
        self.last.t
    }

    /// Power of the last row taken.
    pub(crate) fn last_w(&self) -> f64 {
        self.last.w
    }

    /// Takes a row. The answer is its time on the log's axis and the step covered (0 over a gap), or `None` when the
    /// row is set aside.
    #[inline(always)]
    pub(crate) fn row(
        &mut self,
        raw: i64,
        w: f64,
        counter: Option<f64>,
        line: u32,
        notes: &mut Notes,
    ) -> Option<(i64, i64)> {
        let mut t = raw + self.shift;
        if self.first.is_none() {
            self.first = Some(t);
            self.taken(raw, Point { t, w, counter, line });
            return Some((t, 0));
        }
        if t < self.last.t {
            t = self.back(raw, w, counter, line, notes)?;
        }
        self.aside = false;
        let step = t - self.last.t;
        let here = Point { t, w, counter, line };
        self.jump = None;
        if w == 0.0 && self.zeros.is_none() && self.last.w > 0.0 {
            self.zeros = Some(self.saved());
        }
        let covered = if step <= self.gap {
            let half = 0.5 * step as f64;
            self.sums.energy += (w + self.last.w) * half;
            self.sums.square += (w * w + self.last.w * self.last.w) * half;
            self.sums.covered += step;
            step
        } else {
            self.jump = Some(self.saved());
            self.open_gap(self.last, here, notes);
            0
        };
        if w != 0.0
            && let Some(saved) = self.zeros.take()
        {
            self.zeros_end(saved, here, notes);
        }
        self.taken(raw, here);
        Some((t, covered))
    }

    /// Whether the next rows, with powers between these, follow those before with no gap, turn of the clock, time that
    /// comes twice, or zero among readings.
    pub(crate) fn follows(&self, times: &[i64], low: f64, high: f64) -> bool {
        let same = if self.zeros.is_some() { low == 0.0 && high == 0.0 } else { low > 0.0 || high < 0.0 };
        let mut before = self.last.t - self.shift;
        same && self.first.is_some()
            && times.iter().fold(true, |fits, t| {
                let step = t.wrapping_sub(before);
                before = *t;
                fits & (0 < step) & (step <= self.gap)
            })
    }

    /// Takes rows of which that is true, with counter and line of the last. Lays down the step before each (µs) and the
    /// energy so far (W·µs).
    pub(crate) fn rows(
        &mut self,
        (times, watts): (&[i64], &[f64]),
        (low, high): (f64, f64),
        (counter, line): (Option<f64>, u32),
        laid: &mut [(f64, f64)],
    ) {
        // One after the other, as row by row: the sums are the same to the last bit.
        let (mut energy, mut square) = (self.sums.energy, self.sums.square);
        let (mut t, mut w) = (self.last.t - self.shift, self.last.w);
        for ((at, here), laid) in times.iter().zip(watts).zip(laid) {
            let step = (at - t) as f64;
            let half = 0.5 * step;
            energy += (here + w) * half;
            square += (here * here + w * w) * half;
            (t, w, *laid) = (*at, *here, (step, energy));
            self.remember(t, w);
        }
        self.sums.covered += t + self.shift - self.last.t;
        (self.sums.energy, self.sums.square) = (energy, square);
        (self.sums.min, self.sums.max) = (self.sums.min.min(low), self.sums.max.max(high));
        (self.aside, self.jump) = (false, None);
        self.last = Point { t: t + self.shift, w, counter, line };
    }

    #[inline]
    fn taken(&mut self, raw: i64, here: Point) {
        let s = &mut self.sums;
        s.min = if here.w < s.min { here.w } else { s.min };
        s.max = if here.w > s.max { here.w } else { s.max };
        self.remember(raw, here.w);
        self.last = here;
    }

    #[inline]
    fn remember(&mut self, raw: i64, w: f64) {
        match self.ring.get_mut(self.at) {
            Some(place) => *place = (raw, w),
            None => self.ring.push((raw, w)),
        }
        self.at = (self.at + 1) % REMEMBERED;
    }

    fn saved(&self) -> Saved {
        Saved { sums: self.sums, point: self.last, listed: self.list.len() }
    }

    fn restore(&mut self, saved: Saved) {
        self.sums = saved.sums;
        self.list.truncate(saved.listed);
    }

    #[cold]
    fn open_gap(&mut self, from: Point, to: Point, notes: &mut Notes) {
        self.sums.gaps += 1;
        let half = 0.5 * (to.t - from.t) as f64;
        let bridged = (from.w + to.w) * half;
        self.sums.bridged += bridged;
        self.sums.bridged_square += (from.w * from.w + to.w * to.w) * half;
        if let (Some(a), Some(b)) = (from.counter, to.counter)
            && b >= a
        {
            self.sums.counted += b - a;
            self.sums.counted_time += to.t - from.t;
            self.sums.counted_bridged += bridged;
        }
        if self.list.len() < LISTED {
            self.list.push((from.t, to.t));
        }
        let odd = (to.t - from.t - HOUR - self.usual).abs();
        if self.wall_clock && odd <= (self.usual * 3 / 2).max(2_000_000) {
            let what =
                || "the clock jumps on by an hour: rows are missing, or the clock was put on".to_string();
            let hint =
                "compare with the meter's counter; give the time zone if this is the change to summer time";
            notes.add(Weight::Doubt, "hour-jump", || format!("line {}", to.line), what, hint);
        }
    }

    /// A run of zeros has ended: while the counter went on, they stand for missing readings.
    #[cold]
    fn zeros_end(&mut self, saved: Saved, here: Point, notes: &mut Notes) {
        if !zeros_are_gap(&saved, here, self.counter_step) {
            let alike = (here.w - saved.point.w).abs() <= 0.1 * saved.point.w;
            if here.counter.is_none() && alike {
                self.spells += 1;
                self.spell_line = self.spell_line.or(Some(saved.point.line + 1));
            }
            return;
        }
        let before = saved.point;
        self.restore(saved);
        self.open_gap(before, here, notes);
        zero_note(before, here, notes);
    }

    /// A row before the one taken last. `Some(t)`: a way was found to place it.
    #[cold]
    fn back(&mut self, raw: i64, w: f64, counter: Option<f64>, line: u32, notes: &mut Notes) -> Option<i64> {
        let place = || format!("line {line}");
        // The row before was a lone leap forward, such as a garbled date: it is taken back.
        if let Some(saved) = self.jump.take()
            && raw + self.shift >= saved.point.t
        {
            self.restore(saved);
            let spike = self.last.line;
            self.last = saved.point;
            let what = || "one row is far ahead of its neighbours in time".to_string();
            notes.add(Weight::Doubt, "time-spike", || format!("line {spike}"), what, "the row is left out");
            return Some(raw + self.shift);
        }
        let repeated = self.repeats(raw, w);
        let rises = matches!((self.last.counter, counter), (Some(a), Some(b)) if b > a);
        let ahead = raw + self.shift + HOUR - self.last.t;
        let fits = (0..=self.gap.max(3 * self.usual)).contains(&ahead);
        if self.wall_clock && fits && !self.aside && (!repeated || rises) {
            self.shift += HOUR;
            let what = || "the clock goes back by an hour; the time is taken to go on".to_string();
            let hint = "give the time zone if this is the end of summer time; check the duration otherwise";
            notes.add(Weight::Doubt, "clock-back-an-hour", place, what, hint);
            return Some(raw + self.shift);
        }
        if !self.aside {
            self.turned += 1;
        }
        self.aside = true;
        if repeated {
            let what = || "rows that were there before come again; they count once".to_string();
            notes.add(Weight::Doubt, "block-repeated", place, what, "was the export put together by hand?");
        } else {
            let what = || "the time runs backwards; rows are left out until it has caught up".to_string();
            notes.add(
                Weight::Doubt,
                "time-backwards",
                place,
                what,
                "check the meter's clock and the order of the rows",
            );
        }
        None
    }

    /// Whether this row stands among the rows remembered. Follows a block once it is found.
    fn repeats(&mut self, raw: i64, w: f64) -> bool {
        let next = self.follow.map(|k| (k + 1) % REMEMBERED).filter(|&k| self.ring.get(k) == Some(&(raw, w)));
        if next.is_none() && self.searches >= 64 {
            return false;
        }
        self.follow = next.or_else(|| {
            self.searches += 1;
            self.ring.iter().position(|r| *r == (raw, w))
        });
        self.follow.is_some()
    }

    /// The end of the log: zeros at the end may be a gap too.
    pub(crate) fn finish(&mut self, notes: &mut Notes) {
        let Some(saved) = self.zeros.take() else { return };
        let here = self.last;
        if zeros_are_gap(&saved, here, self.counter_step) {
            self.restore(saved);
            self.open_gap(saved.point, Point { w: saved.point.w, ..here }, notes);
            self.ends_in_gap = true;
            zero_note(saved.point, here, notes);
        }
    }
}

/// The counter rose by more than three of ten parts of what the load before would have taken, and by more than two of
/// its own steps: one step during a short run of zeros proves nothing.
fn zeros_are_gap(saved: &Saved, here: Point, step: f64) -> bool {
    let (Some(a), Some(b)) = (saved.point.counter, here.counter) else { return false };
    let other = if here.w > 0.0 { here.w } else { saved.point.w };
    let expected = saved.point.w.min(other) * (here.t - saved.point.t) as f64 / WH;
    expected > 0.0 && b - a > 0.3 * expected && b - a > 2.0 * step
}

fn zero_note(from: Point, to: Point, notes: &mut Notes) {
    let rise = to.counter.unwrap_or(0.0) - from.counter.unwrap_or(0.0);
    let what =
        || format!("the power reads 0 while the counter rises by {rise:.1} W·h: readings are missing there");
    let place = || format!("lines {} to {}", from.line + 1, to.line.saturating_sub(1));
    notes.add(Weight::Doubt, "zero-filled-gap", place, what, "counted as a gap; the counter has the energy");
}
