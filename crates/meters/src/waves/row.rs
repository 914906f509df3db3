//! One row, the short way: plain and scientific decimals. Anything else sends the line the long way round.
use super::decimal::Decimal;
use super::layout::{Layout, Use};
use crate::logs::fast::skip;

/// The most channels.
pub(crate) const WIDEST: usize = 16;

/// The numbers of one row, by channel.
pub(crate) type Values = [f64; WIDEST];

/// Rows read together, at most.
pub(crate) const TOGETHER: usize = 64;

/// What becomes of a column, how its number was written in the row before, and how many characters it had.
pub(crate) struct Column {
    pub(crate) what: Use,
    pub(crate) decimal: Decimal,
    pub(crate) width: usize,
}

/// How to read a row the short way.
pub(crate) struct Row {
    pub(crate) columns: Vec<Column>,
    pub(crate) delimiter: u8,
    decimal: u8,
    /// Bytes of the line read last, with its end; 0 where it went the long way.
    pub(crate) length: usize,
    /// It ended in a carriage return and a line feed right behind the last column.
    pub(crate) returns: bool,
    /// Rows to be read one by one before any are read together.
    pub(crate) wait: usize,
}

impl Row {
    /// `None` where the layout rules the short way out.
    pub(crate) fn of(layout: &Layout) -> Option<Row> {
        let delimiter = layout.delimiter.unwrap_or('\n');
        let short = delimiter.is_ascii() && delimiter != ' ' && !layout.cr_only && !layout.uses.is_empty();
        short.then(|| Row {
            columns: layout
                .uses
                .iter()
                .map(|u| Column { what: *u, decimal: Decimal::NONE, width: 0 })
                .collect(),
            delimiter: delimiter as u8,
            decimal: layout.decimal,
            length: 0,
            returns: false,
            wait: 0,
        })
    }

    /// Reads the row that starts at `at`: its time in s (0 without such a column), and where the next line starts; its samples
    /// go into `values`.
    #[inline]
    pub(crate) fn read(&mut self, bytes: &[u8], at: usize, values: &mut Values) -> Option<(f64, usize)> {
        self.length = 0;
        let mut p = at;
        let mut time = 0.0;
        let mut end = self.delimiter;
        for Column { what, decimal, width } in &mut self.columns {
            if end != self.delimiter {
                return None;
            }
            let from = p;
            match *what {
                Use::Time(factor) => time = decimal.read(bytes, &mut p, self.decimal)? * factor,
                Use::Samples(slot) => {
                    values[slot & (WIDEST - 1)] = decimal.read(bytes, &mut p, self.decimal)?
                }
                Use::Skip => skip(bytes, &mut p, self.delimiter)?,
            }
            *width = p - from;
            end = *bytes.get(p)?;
            p += 1;
        }
        let next = match end {
            b'\n' => p,
            b'\r' if bytes.get(p) == Some(&b'\n') => p + 1,
            // A comma at the end, or columns that are not wanted.
            _ if end == self.delimiter => rest(bytes, p)?,
            _ => return None,
        };
        (self.length, self.returns) = (next - at, end == b'\r');
        Some((time, next))
    }
}

/// Words that are looked at one by one before the search for a long line's end.
const NEAR: usize = 6;

/// Past columns behind the last that is wanted. Eight bytes at a time: most of them are short, and a call costs as much as a
/// number.
pub(crate) fn rest(bytes: &[u8], p: usize) -> Option<usize> {
    // The lowest set bit marks the first byte that is zero; above it there may be false ones.
    let zero = |w: u64| w.wrapping_sub(0x0101_0101_0101_0101) & !w & 0x8080_8080_8080_8080;
    let (near, _) = bytes.get(p..)?.as_chunks::<8>();
    for (k, eight) in near.iter().take(NEAR).enumerate() {
        let word = u64::from_le_bytes(*eight);
        let (end, nul) = (zero(word ^ 0x0a0a_0a0a_0a0a_0a0a), zero(word));
        if end | nul != 0 {
            let first = (end | nul).trailing_zeros();
            return (end.trailing_zeros() == first).then_some(p + 8 * k + first as usize / 8 + 1);
        }
    }
    let end = p + memchr::memchr2(b'\n', 0, &bytes[p..])?;
    (bytes[end] == b'\n').then_some(end + 1)
}

#[cfg(test)]
mod tests {
    use super::rest;

    /// The end of a line at every distance, and none behind a NUL.
    #[test]
    fn ends_of_lines() {
        for length in 0..100 {
            for behind in ["", "next", "12345678\n\n", "\0\n"] {
                let line = format!("1,{}\n{behind}", "5".repeat(length));
                assert_eq!(rest(line.as_bytes(), 2), Some(3 + length));
                assert_eq!(rest(&line.as_bytes()[..2 + length], 2), None);
                for at in 0..length {
                    let mut spoiled = line.clone().into_bytes();
                    spoiled[2 + at] = 0;
                    assert_eq!(rest(&spoiled, 2), None, "{length} {at}");
                }
            }
        }
    }
}
