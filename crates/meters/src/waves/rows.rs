//! The rows of a capture, one after the other: samples handed on, breaks in time seen, what is odd noted with its line.
use super::clock::{Clock, Tick};
use super::feed::{BATCH, Batch};
use super::layout::{Layout, Use};
use super::row::{Row, TOGETHER, Values, WIDEST};
use super::table::cut;
use crate::logs::field::{noted_number, shown};
use crate::logs::lines::LONGEST;
use crate::logs::notes::Notes;
use crate::logs::number::Marks;
use crate::relay::{Parses, Shelves};
use trueplate_core::finding::Weight;

/// The state of a pass over the rows.
pub(crate) struct Rows<'l> {
    layout: &'l Layout,
    pub(crate) fast: Option<Row>,
    batch: Batch,
    shelves: Shelves<Batch>,
    /// Line number, from 1.
    no: u64,
    pub(crate) notes: Notes,
    /// Samples handed on, per channel.
    pub(crate) samples: u64,
    /// Segments.
    pub(crate) segments: u64,
    /// The row read last and the one before it, in turn: a row that turns out to be none must not spoil the last.
    values: [Values; 2],
    last: usize,
    /// The first row of a pair, waiting for the second.
    pending: Option<Values>,
    envelope: Values,
    clock: Clock,
    /// Rows read together: the samples of each channel, and the times.
    many: Vec<[f64; TOGETHER]>,
    /// Lines without numbers since the last row.
    strange: u64,
}

/// Beyond this, V or A, a number is damage.
const FARTHEST: f64 = 1e7;

/// A number that is no sample: the one before stands for it.
#[cold]
fn beyond(v: f64, notes: &mut Notes, no: u64, before: &[f32]) -> f32 {
    let place = || format!("line {no}");
    let hint = "the sample before is taken instead; check the scale and the export";
    notes.add(Weight::Doubt, "not-a-sample", place, || format!("{v:e} is no voltage of an outlet"), hint);
    before.last().copied().unwrap_or(0.0)
}

/// Damaged lines in a row that are taken for lost samples.
const DAMAGED: f64 = 3.0;

impl Parses for Rows<'_> {
    type Batch = Batch;

    fn block(&mut self, bytes: &[u8], end: u8, unfinished: bool) -> bool {
        let mut at = 0;
        while at < bytes.len() {
            if !unfinished && self.alike(bytes, &mut at) {
                continue;
            }
            self.no += 1;
            if self.no >= self.layout.first_row
                && !unfinished
                && let Some(next) = self.quick(bytes, at)
            {
                at = next;
                continue;
            }
            let stop = memchr::memchr(end, &bytes[at..]).map_or(bytes.len(), |n| at + n);
            if self.no >= self.layout.first_row {
                self.line(&bytes[at..stop], unfinished);
            }
            at = stop + 1;
        }
        true
    }

    fn too_long(&mut self) {
        let no = self.no + 1;
        let what = || format!("a line longer than {LONGEST} bytes; the rest of the file is not read");
        self.notes.add(Weight::Gap, "line-too-long", || format!("line {no}"), what, "is this a capture?");
    }

    fn shelves(&mut self) -> &mut Shelves<Batch> {
        &mut self.shelves
    }
}

impl<'l> Rows<'l> {
    pub(crate) fn new(layout: &'l Layout) -> Self {
        Rows {
            layout,
            fast: Row::of(layout),
            batch: Batch::new(layout.channels.len()),
            shelves: Shelves::new(),
            no: 0,
            notes: Notes::default(),
            samples: 0,
            segments: 1,
            values: [[0.0; WIDEST]; 2],
            last: 0,
            pending: None,
            envelope: [0.0; WIDEST],
            clock: Clock::of(layout),
            many: vec![[0.0; TOGETHER]; layout.channels.len() + 1],
            strange: 0,
        }
    }

    /// The row that starts at `at` the short way: where the next line starts.
    #[inline]
    fn quick(&mut self, bytes: &[u8], at: usize) -> Option<usize> {
        let (time, next) = self.fast.as_mut()?.read(bytes, at, &mut self.values[self.last ^ 1])?;
        self.row(time);
        Some(next)
    }

    /// Rows that are written like the one before, read together; `false` where there are none.
    fn alike(&mut self, bytes: &[u8], at: &mut usize) -> bool {
        let Some(fast) = self.fast.as_mut().filter(|_| self.strange == 0 && !self.layout.pairs) else {
            return false;
        };
        let room = TOGETHER.min(BATCH - (self.samples % BATCH as u64) as usize);
        let (rows, taken) = fast.alike(&bytes[*at..], room, &mut self.many);
        *at += taken;
        if rows > 0 && !self.at_once(rows) {
            for k in 0..rows {
                self.no += 1;
                let [samples @ .., times] = &self.many[..] else { break };
                for (value, of) in self.values[self.last ^ 1].iter_mut().zip(samples) {
                    *value = of[k];
                }
                self.row(times[k]);
            }
        }
        rows > 0
    }

    /// Rows read together become samples, if each of them is an ordinary one.
    fn at_once(&mut self, rows: usize) -> bool {
        let Some((times, channels)) = self.many.split_last_mut() else { return false };
        for (of, c) in channels.iter_mut().zip(&self.layout.channels) {
            let near = |v: &f64| ((v - c.zero) * c.scale).abs() < FARTHEST;
            if !of[..rows].iter().fold(true, |all, v| all & near(v)) {
                return false;
            }
        }
        if self.clock.timed && !self.clock.ticks(&times[..rows]) {
            return false;
        }
        for (k, (of, c)) in channels.iter().zip(&self.layout.channels).enumerate() {
            self.batch.channels[k].extend(of[..rows].iter().map(|v| ((v - c.zero) * c.scale) as f32));
            self.values[self.last][k] = of[rows - 1];
        }
        self.no += rows as u64;
        self.samples += rows as u64;
        if self.samples.is_multiple_of(BATCH as u64) {
            self.hand_on(None);
        }
        true
    }

    /// One line the long way.
    fn line(&mut self, raw: &[u8], unfinished: bool) {
        let no = self.no;
        let text = String::from_utf8_lossy(raw);
        let text = text.trim_matches(|c: char| c.is_whitespace() || c == '\0');
        if text.is_empty() {
            return;
        }
        let mut out = Vec::new();
        cut(text, self.layout.delimiter, &mut out);
        let letters = |f: &str| f.chars().filter(|c| c.is_alphabetic()).count() > 4;
        let numbers = out.iter().filter(|f| super::table::plain(f, self.layout.decimal).is_some()).count();
        if numbers == 0 || out.iter().any(|f| letters(f)) {
            self.strange += 1;
            let what = || format!("no row: \"{}\"", shown(text));
            self.notes.add(
                Weight::Note,
                "line-skipped",
                || format!("line {no}"),
                what,
                "headers of segments are such lines",
            );
            return;
        }
        if out.len() < self.layout.uses.len() && unfinished {
            self.notes.add(
                Weight::Doubt,
                "last-line-cut",
                || format!("line {no}"),
                || "the last row is not whole".into(),
                "the row is left out; copy the file again",
            );
            return;
        }
        let marks = Marks { decimal: self.layout.decimal, thousands: None };
        let (mut time, mut values) = (f64::NAN, self.values[self.last]);
        for (k, of) in self.layout.uses.iter().enumerate() {
            let field = out.get(k).copied().unwrap_or("");
            let mut read = || noted_number(field, 1.0, marks, || format!("line {no}"), &mut self.notes);
            match of {
                Use::Skip => {}
                Use::Time(factor) => time = read() * factor,
                Use::Samples(slot) => {
                    // A missing sample is the one before it: a hole would shift all that follow.
                    let value = read();
                    if value.is_finite() {
                        values[*slot] = value;
                    }
                }
            }
        }
        if time.is_nan() {
            time = self.clock.before + self.clock.interval;
        }
        self.values[self.last ^ 1] = values;
        self.row(time);
    }

    /// The row beside the last one becomes the last.
    #[inline(always)]
    fn row(&mut self, time: f64) {
        if self.clock.timed {
            let before = self.clock.before;
            if let Tick::Breaks = self.clock.tick(time) {
                let missing = ((time - before) / self.layout.interval_s).round() - 1.0;
                if missing == self.strange as f64 && missing <= DAMAGED && !self.layout.pairs {
                    self.fill(missing as usize);
                } else {
                    self.breaks(before, time);
                }
            }
        } else if self.strange == 1 && self.samples > 0 {
            self.fill(1);
        } else if self.strange >= 2 {
            let t = self.layout.start_s + self.samples as f64 * self.layout.interval_s;
            self.breaks(t, t);
        }
        self.strange = 0;
        self.last ^= 1;
        if self.layout.pairs {
            return self.pair();
        }
        self.sample();
    }

    /// The last row as samples.
    #[inline(always)]
    fn sample(&mut self) {
        let values = &self.values[self.last];
        for (channel, (samples, c)) in self.batch.channels.iter_mut().zip(&self.layout.channels).enumerate() {
            let v = (values[channel] - c.zero) * c.scale;
            samples.push(if v.abs() < FARTHEST {
                v as f32
            } else {
                beyond(v, &mut self.notes, self.no, samples)
            });
        }
        self.samples += 1;
        if self.samples.is_multiple_of(BATCH as u64) {
            self.hand_on(None);
        }
    }

    /// Damaged lines stood where samples were: the one before stands for each, so that what follows keeps its time.
    #[cold]
    fn fill(&mut self, missing: usize) {
        for _ in 0..missing {
            self.sample();
        }
    }

    fn pair(&mut self) {
        let values = &self.values[self.last];
        let Some(first) = self.pending.take() else {
            self.pending = Some(*values);
            return;
        };
        for (k, (samples, c)) in self.batch.channels.iter_mut().zip(&self.layout.channels).enumerate() {
            let (a, b) = ((first[k] - c.zero) * c.scale, (values[k] - c.zero) * c.scale);
            samples.push((0.5 * (a + b)).clamp(-FARTHEST, FARTHEST) as f32);
            self.envelope[k] += 0.5 * (b - a).abs().min(FARTHEST);
        }
        self.samples += 1;
        if self.samples.is_multiple_of(BATCH as u64) {
            self.hand_on(None);
        }
    }

    /// A break in time: what follows is a segment of its own.
    #[cold]
    fn breaks(&mut self, before: f64, time: f64) {
        let no = self.no;
        let place = || format!("line {no}");
        if self.strange > 0 {
            let hint = "each is followed by itself; the voltages are those of the first";
            self.notes.add(Weight::Note, "segments", place, || "a further segment begins".into(), hint);
        } else if time < before {
            let what = || format!("the time falls from {before} s to {time} s");
            self.notes.add(
                Weight::Doubt,
                "time-backwards",
                place,
                what,
                "what follows is taken by itself; check the file",
            );
        } else {
            let what = || format!("the time jumps from {before} s to {time} s");
            let hint =
                "samples are missing; what follows is taken by itself, and a gap across the jump is not seen";
            self.notes.add(Weight::Doubt, "time-jump", place, what, hint);
        }
        self.segments += 1;
        self.pending = None;
        self.hand_on(Some(time));
    }

    /// Lays the batch with the full ones; `segment`: the next samples begin one at this time.
    fn hand_on(&mut self, segment: Option<f64>) {
        let empty = self.shelves.empty.pop().unwrap_or_else(|| Batch::new(self.layout.channels.len()));
        self.shelves.full.push(std::mem::replace(&mut self.batch, empty));
        self.batch.break_at = segment;
    }

    /// Everything is read: samples not handed on yet, and the rest.
    pub(crate) fn finish(self) -> (Batch, Finished) {
        let n = self.samples.max(1) as f64;
        let half_envelope = self.envelope.iter().map(|e| e / n).collect();
        let rest =
            Finished { half_envelope, notes: self.notes, samples: self.samples, segments: self.segments };
        (self.batch, rest)
    }
}

/// What a pass over the rows comes to, beside the samples.
pub(crate) struct Finished {
    /// Half the mean width of pairs, by channel.
    pub(crate) half_envelope: Vec<f64>,
    pub(crate) notes: Notes,
    pub(crate) samples: u64,
    pub(crate) segments: u64,
}
