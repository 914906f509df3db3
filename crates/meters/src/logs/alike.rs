//! Rows written alike, read column by column.
//!
//! A meter writes row after row with the same number of digits. While it does, every number stands at the same distance from
//! the start of its line: no field waits for the one before it, and what is known of a column is asked once for many
//! rows. Each byte is checked all the same; rows that are written otherwise are read one by one.
use super::batch::{Batch, ROWS, Use};
use super::fast::{Column, Fast};
use super::grid::{Grid, Window, skips};

/// Rows read together, at most; fewer than the least are not worth it.
const MOST: usize = 64;
const LEAST: usize = 8;

impl Fast {
    /// Reads rows that are written like the one read last: how many there were, and how long each line is. They are in the
    /// batch then, but for the numbers of their lines. `fits` says whether a time needs no more than to be read.
    pub(crate) fn alike(
        &mut self,
        bytes: &[u8],
        batch: &mut Batch,
        fits: impl Fn(i64) -> bool,
    ) -> (usize, usize) {
        let (from, length) = (batch.len(), self.length);
        if self.wait > 0 || length == 0 {
            self.wait = self.wait.saturating_sub(1);
            return (0, length);
        }
        let room = MOST.min(ROWS - from);
        let grid = Grid::of(bytes, length, room).filter(|grid| grid.lines().len() >= LEAST);
        let rows = grid.and_then(|grid| self.columns(grid, batch, fits)).unwrap_or(0);
        // One row tells how those behind it are written; where rows differ all the time, looking is a waste.
        self.wait = if rows == 0 { LEAST } else { usize::from(rows < room) };
        if rows == 0 {
            batch.truncate(from);
        }
        (rows, length)
    }

    fn columns(&self, grid: Grid, batch: &mut Batch, fits: impl Fn(i64) -> bool) -> Option<usize> {
        let line: usize = self.columns.iter().map(|c| c.width + 1).sum();
        let end = match grid.length().checked_sub(line)? {
            0 => b'\n',
            1 => b'\r',
            _ => return None,
        };
        let last = self.columns.len() - 1;
        let after = |c: usize| if c == last { end } else { self.delimiter };
        // The time first: where the minute changes, the rows end that can be read together.
        let time = self.columns.iter().position(|c| c.what == Use::Time)?;
        let from = self.columns[..time].iter().map(|c| c.width + 1).sum();
        if self.number_us.is_some() || self.columns[time].width != self.iso.width() {
            return None;
        }
        let (begins, ends) = self.iso.minute();
        let read = self.iso.alike(grid, from, after(time), &mut batch.t);
        if read < LEAST || !fits(begins) || !fits(ends) {
            return None;
        }
        let grid = grid.first(read);
        let mut from = 0;
        for (c, column) in self.columns.iter().enumerate() {
            let fine = match column.what {
                Use::Number { slot, factor } => {
                    column.numbers(grid, from, after(c), factor, &mut batch.slots[slot])
                }
                Use::Time => c == time,
                _ => skips(grid.lines(), from..from + column.width, after(c), self.delimiter),
            };
            if !fine {
                return None;
            }
            from += column.width + 1;
        }
        Some(read)
    }
}

impl Column {
    /// The numbers of this column; `false` where one is written otherwise.
    fn numbers(&self, grid: Grid, from: usize, after: u8, factor: f64, to: &mut Vec<f64>) -> bool {
        let (cut, new, end) = (self.cut, to.len(), from + self.width);
        let Some(window) =
            Window::of(grid.length(), from, cut.length()).filter(|_| self.width == cut.length())
        else {
            return false;
        };
        to.resize(new + grid.lines().len(), 0.0);
        let mut all = 0;
        for (number, line) in to[new..].iter_mut().zip(grid.lines()) {
            let (digits, odd) = cut.digits(window.text(line));
            all |= odd | u64::from(line[end] ^ after);
            *number = f64::from(digits);
        }
        // Apart, so that the machine can divide two at a time.
        let tenths = cut.tenths();
        to[new..].iter_mut().for_each(|number| *number = *number / tenths * factor);
        all == 0
    }
}

#[cfg(test)]
mod tests {
    use super::super::batch::Plan;
    use super::super::guess::understand;
    use super::*;
    use proptest::prelude::*;

    type Row = (i64, Vec<u64>);

    /// Times, numbers and the first byte of lines that go the long way; and how many rows were read together.
    fn read(head: &str, rows: &[u8], together: bool) -> (Vec<Row>, Vec<usize>, usize) {
        let understood = understand(head.as_bytes(), head.as_bytes(), &Default::default());
        let plan = Plan::of(&understood.mapping);
        let mut fast = Fast::of(&understood.mapping, &plan).expect("a plain log");
        let (mut batch, mut at, mut long, mut alike) = (Batch::new(plan.slots.len()), 0, Vec::new(), 0);
        while at < rows.len() {
            if together {
                let (taken, length) = fast.alike(&rows[at..], &mut batch, |_| true);
                (at, alike) = (at + taken * length, alike + taken);
                if taken > 0 {
                    continue;
                }
            }
            match fast.row(rows, at) {
                Some((t, next)) => {
                    batch.push(0, t, &fast.values[..plan.slots.len()]);
                    at = next;
                }
                None => {
                    long.push(at);
                    at = rows[at..].iter().position(|b| *b == b'\n').map_or(rows.len(), |n| at + n + 1);
                }
            }
        }
        let bits = |k: usize| batch.slots.iter().map(|slot| slot[k].to_bits()).collect();
        (batch.t.iter().enumerate().map(|(k, t)| (*t, bits(k))).collect(), long, alike)
    }

    /// A log of a row each second, with a text nobody reads, in the middle or at the end.
    fn log(rows: usize, end: &str, text_last: bool, decimals: &str) -> (String, String) {
        let row = |k: usize| {
            let (time, text) = (format!("2026-05-02T09:{:02}:{:02}{decimals}", k / 60, k % 60), "on line");
            let numbers = format!("{:.2},{:.1}", 119.0 + (k % 83) as f64 / 50.0, 575.0 + (k % 7) as f64);
            let fields = if text_last { [numbers, text.into()] } else { [text.into(), numbers] };
            format!("{time},{}{end}", fields.join(","))
        };
        let header = if text_last { "time,V,W,state" } else { "time,state,V,W" };
        let rows: Vec<String> = (0..rows).map(row).collect();
        (format!("{header}{end}{}", rows[..8.min(rows.len())].concat()), rows.concat())
    }

    #[test]
    fn most_rows_are_read_together() {
        let ends = [("\n", ".5"), ("\r\n", ""), ("\n", ".250000")];
        for ((end, decimals), text_last) in ends.into_iter().flat_map(|e| [(e, false), (e, true)]) {
            let (head, rows) = log(600, end, text_last, decimals);
            let (one_by_one, together) =
                (read(&head, rows.as_bytes(), false), read(&head, rows.as_bytes(), true));
            assert_eq!((&together.0, &together.1), (&one_by_one.0, &one_by_one.1));
            // Of each minute (of ten seconds with six decimals) one row is read by itself, and so is one where fewer than eight are left.
            assert!(
                together.0.len() == 600 && together.2 > 500,
                "{} of 600, {end:?} {decimals} {text_last}",
                together.2
            );
        }
    }

    proptest! {
        /// Whatever stands in a log: together, all is read as it is row by row, to the last bit.
        #[test]
        fn together_is_as_one_by_one(
            changes in prop::collection::vec((0.0f64..1.0, prop::sample::select(b"0123456789.,-:T\"\n\r\0 x;\xff".to_vec()), 0u8..3), 0..6),
            crlf: bool,
            text_last: bool,
            decimals in prop::sample::select(vec!["", ".5", ".123456"]),
        ) {
            let (head, rows) = log(200, if crlf { "\r\n" } else { "\n" }, text_last, decimals);
            let mut rows = rows.into_bytes();
            for (place, byte, how) in changes {
                let at = (place * rows.len() as f64) as usize;
                match how {
                    0 => rows[at] = byte,
                    1 => rows.insert(at, byte),
                    _ => drop(rows.remove(at)),
                }
            }
            let (one_by_one, together) = (read(&head, &rows, false), read(&head, &rows, true));
            prop_assert_eq!((together.0, together.1), (one_by_one.0, one_by_one.1));
        }
    }
}
