//! Rows of a capture written alike, read column by column as those of a log are. What stands behind the columns that are
//! wanted may be written as it likes.
use super::layout::Use;
use super::row::{Row, TOGETHER, WIDEST, rest};
use crate::logs::grid::skips;

/// Fewer rows are not worth it.
const LEAST: usize = 8;

/// Lines as far as they are wanted, all of one length.
#[derive(Clone, Copy)]
pub(crate) struct Lines<'a> {
    bytes: &'a [u8],
    starts: [usize; TOGETHER],
    pub(crate) rows: usize,
    pub(crate) length: usize,
}

impl<'a> Lines<'a> {
    /// The lines, each of them of the length.
    #[inline(always)]
    pub(crate) fn each(&self) -> impl Iterator<Item = &'a [u8]> {
        self.starts[..self.rows].iter().map(|start| &self.bytes[*start..*start + self.length])
    }
}

impl Row {
    /// Reads at most so many rows that are written like the one read last: how many there were, and how many bytes they take.
    /// `to` takes the samples of each channel, and the times as the last.
    pub(crate) fn alike(&mut self, bytes: &[u8], most: usize, to: &mut [[f64; TOGETHER]]) -> (usize, usize) {
        if self.wait > 0 || self.length == 0 {
            self.wait = self.wait.saturating_sub(1);
            return (0, 0);
        }
        let (lines, taken, end) = self.lines(bytes, most);
        let fine = lines.rows >= LEAST && self.read_all(&lines, end, to);
        // One row tells how those behind it are written; where rows differ all the time, looking is a waste.
        self.wait = if fine { usize::from(lines.rows < most) } else { LEAST };
        if fine { (lines.rows, taken) } else { (0, 0) }
    }

    /// The lines that come next, as long as their numbers have the signs of the row read last; how many bytes they take, and
    /// what follows the last column.
    fn lines<'a>(&self, bytes: &'a [u8], most: usize) -> (Lines<'a>, usize, u8) {
        let length: usize = self.columns.iter().map(|c| c.width + 1).sum();
        let mut lines = Lines { bytes, starts: [0; TOGETHER], rows: 0, length };
        let end = match self.length - length {
            0 => b'\n',
            1 if self.returns => b'\r',
            _ => self.delimiter,
        };
        let (signs, known) = self.signs();
        let same = |line: &&[u8]| signs[..known].iter().all(|(at, minus)| (line[*at] == b'-') == *minus);
        let mut at = 0;
        while lines.rows < most.min(TOGETHER) {
            let Some(line) = bytes.get(at..at + length).filter(same) else { break };
            let next = match end {
                b'\n' => (line.last() == Some(&end)).then_some(at + length),
                b'\r' => (bytes.get(at + length) == Some(&b'\n')).then_some(at + length + 1),
                _ => rest(bytes, at + length),
            };
            let Some(next) = next else { break };
            lines.starts[lines.rows] = at;
            (lines.rows, at) = (lines.rows + 1, next);
        }
        (lines, at, end)
    }

    /// Where numbers begin in a line, and whether that in the row read last had a minus.
    fn signs(&self) -> ([(usize, bool); WIDEST], usize) {
        let (mut signs, mut known, mut from) = ([(0, false); WIDEST], 0, 0);
        for column in &self.columns {
            if column.what != Use::Skip && known < WIDEST {
                signs[known] = (from, column.width > column.decimal.length());
                known += 1;
            }
            from += column.width + 1;
        }
        (signs, known)
    }

    /// `false` where one of the lines is written otherwise.
    fn read_all(&mut self, lines: &Lines, end: u8, to: &mut [[f64; TOGETHER]]) -> bool {
        let Some((times, samples)) = to.split_last_mut() else { return false };
        let (delimiter, last) = (self.delimiter, self.columns.len() - 1);
        let mut from = 0;
        for (c, column) in self.columns.iter_mut().enumerate() {
            let (width, after) = (column.width, if c == last { end } else { delimiter });
            let fine = match column.what {
                Use::Time(factor) => {
                    let times = &mut times[..lines.rows];
                    let fine = column.decimal.alike(lines, from, width, after, times);
                    times.iter_mut().for_each(|t| *t *= factor);
                    fine
                }
                Use::Samples(slot) => {
                    let samples = &mut samples[slot][..lines.rows];
                    column.decimal.alike(lines, from, width, after, samples)
                }
                Use::Skip => skips(lines.each(), from..from + width, after, delimiter),
            };
            if !fine {
                return false;
            }
            from += width + 1;
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::super::feed::{BATCH, Batch};
    use super::super::layout::understand;
    use super::super::rows::Rows;
    use crate::relay::Parses;
    use proptest::prelude::*;

    /// A capture of 50 Hz at 5 kS/s: times before and behind the trigger, samples of two channels with exponents.
    fn capture(rows: usize, end: &str) -> String {
        let row = |k: usize| {
            let t = k as f64 / 5000.0 - 0.02;
            let v = 325.0 * (314.159 * t).sin();
            let number = |v: f64| {
                let text = format!("{v:.5e}");
                let (m, e) = text.split_once('e').expect("an exponent");
                format!("{m}E{}{:02}", if e.starts_with('-') { '-' } else { '+' }, e.trim_start_matches('-'))
            };
            format!("{t:.6},{},{}{end}", number(v), number((k * 7 % 11) as f64 - 5.0))
        };
        format!("TIME,CH1,CH2{end}{}", (0..rows).map(row).collect::<String>())
    }

    /// Samples by channel, breaks, and what was noted; and whether any rows were read together.
    fn read(text: &[u8], alone: bool, together: bool) -> (String, bool) {
        let layout = understand(capture(400, "\n").as_bytes()).expect("a capture");
        let layout = if alone { layout.alone(0).expect("a first channel") } else { layout };
        let mut rows = Rows::new(&layout);
        if let (Some(fast), false) = (&mut rows.fast, together) {
            fast.wait = usize::MAX;
        }
        rows.block(text, b'\n', false);
        let waits = rows.fast.as_ref().is_some_and(|fast| fast.wait > usize::MAX / 2);
        let full: Vec<Batch> = std::mem::take(&mut rows.shelves().full);
        let (last, rest) = rows.finish();
        let bits = |b: &Batch| {
            (b.channels.iter().map(|c| c.iter().map(|v| v.to_bits()).collect()).collect(), b.break_at)
        };
        let batches: Vec<(Vec<Vec<u32>>, Option<f64>)> = full.iter().chain([&last]).map(bits).collect();
        (format!("{batches:?} {} {} {:?}", rest.samples, rest.segments, rest.notes.findings()), !waits)
    }

    #[test]
    fn together_is_as_row_by_row() {
        for (end, alone) in [("\n", true), ("\n", false), ("\r\n", true), ("\r\n", false)] {
            // More than one batch.
            let text = capture(BATCH + 1000, end);
            let (one_by_one, together) =
                (read(text.as_bytes(), alone, false), read(text.as_bytes(), alone, true));
            assert!(one_by_one.0 == together.0 && !one_by_one.1 && together.1, "{end:?} {alone}");
        }
    }

    proptest! {
        /// Whatever stands in a capture: bytes changed, lost and put in, whole lines lost.
        #[test]
        fn damage_is_read_as_row_by_row(
            changes in prop::collection::vec((0.0f64..1.0, prop::sample::select(b"0123456789.,-+Ee\"\n\r\0 x".to_vec()), 0u8..4), 0..6),
            crlf: bool,
            alone: bool,
        ) {
            let mut text = capture(150, if crlf { "\r\n" } else { "\n" }).into_bytes();
            for (place, byte, how) in changes {
                let at = (place * text.len() as f64) as usize;
                match how {
                    0 => text[at] = byte,
                    1 => text.insert(at, byte),
                    2 => drop(text.remove(at)),
                    _ => drop(text.drain(at..text.len().min(at + 200))),
                }
            }
            prop_assert_eq!(read(&text, alone, true).0, read(&text, alone, false).0);
        }
    }
}
