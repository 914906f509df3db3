//! One row, the short way: plain and scientific decimals. Anything else sends the line the long way round.
use super::layout::{Layout, Use};
use crate::logs::fast::{TENTHS, digit, digits, skip};

/// The most channels.
pub(crate) const WIDEST: usize = 16;

/// How to read a row the short way.
pub(crate) struct Row {
    uses: Vec<Use>,
    delimiter: u8,
    decimal: u8,
    /// Of the row read last: its time in s, and its samples by channel.
    pub(crate) time: f64,
    pub(crate) values: [f64; WIDEST],
}

impl Row {
    /// `None` where the layout rules the short way out.
    pub(crate) fn of(layout: &Layout) -> Option<Row> {
        let delimiter = layout.delimiter.unwrap_or('\n');
        (delimiter.is_ascii() && delimiter != ' ' && !layout.cr_only && !layout.uses.is_empty()).then(|| {
            Row {
                uses: layout.uses.clone(),
                delimiter: delimiter as u8,
                decimal: layout.decimal,
                time: 0.0,
                values: [0.0; WIDEST],
            }
        })
    }

    /// Reads the row that starts at `at`; where the next line starts.
    #[inline]
    pub(crate) fn read(&mut self, bytes: &[u8], at: usize) -> Option<usize> {
        let mut p = at;
        let last = self.uses.len() - 1;
        for k in 0..=last {
            match self.uses[k] {
                Use::Time(factor) => self.time = number(bytes, &mut p, self.decimal)? * factor,
                Use::Samples(slot) => self.values[slot & (WIDEST - 1)] = number(bytes, &mut p, self.decimal)?,
                Use::Skip => skip(bytes, &mut p, self.delimiter)?,
            }
            let end = *bytes.get(p)?;
            p += 1;
            if k < last {
                if end != self.delimiter {
                    return None;
                }
                continue;
            }
            return match end {
                b'\n' => Some(p),
                b'\r' if bytes.get(p) == Some(&b'\n') => Some(p + 1),
                // A comma at the end, or columns that are not wanted.
                _ if end == self.delimiter => rest(bytes, p),
                _ => None,
            };
        }
        None
    }
}

/// Past columns behind the last that is wanted.
fn rest(bytes: &[u8], p: usize) -> Option<usize> {
    let end = p + memchr::memchr(b'\n', &bytes[p..])?;
    let tail = &bytes[p..end];
    (!tail.contains(&0)).then_some(end + 1)
}

/// `-1.10625E+02`, `0.5`, `12`. Whole numbers below 2⁵³ times or over powers of ten up to 10²² are correctly rounded
/// (W. D. Clinger, "How to read floating point numbers accurately", 1990).
#[inline(always)]
pub(crate) fn number(bytes: &[u8], p: &mut usize, decimal: u8) -> Option<f64> {
    let (m, fraction) = digits(bytes, p, decimal)?;
    if !matches!(bytes.get(*p)?, b'E' | b'e') {
        return Some(m / TENTHS[fraction]);
    }
    let mut at = *p + 1;
    let sign = *bytes.get(at)?;
    at += usize::from(sign == b'-' || sign == b'+');
    let from = at;
    let mut e = 0i32;
    while let Some(d) = digit(bytes, at) {
        e = e * 10 + d as i32;
        at += 1;
        if at - from > 3 {
            return None;
        }
    }
    if at == from {
        return None;
    }
    *p = at;
    let e = if sign == b'-' { -e } else { e } - fraction as i32;
    match e {
        -15..=-1 => Some(m / TENTHS[-e as usize]),
        0..=15 => Some(m * TENTHS[e as usize]),
        _ if m == 0.0 => Some(0.0),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The short way and the careful library way agree to the last bit.
    #[test]
    fn same_as_the_long_way() {
        for text in
            ["-1.10625E+02", "1.00000E-06", "0.0000E+00", "-9.99000E-02", "12", "-0.5e3", "3E0", "85.12"]
        {
            let mut p = 0;
            let value = number(format!("{text},").as_bytes(), &mut p, b'.');
            assert_eq!(value.map(f64::to_bits), text.parse::<f64>().ok().map(f64::to_bits), "{text}");
            assert_eq!(p, text.len());
        }
        for text in ["1E", "1E+", ".5", "E5", "1E9999", "1e-30", "+1"] {
            assert_eq!(number(format!("{text},").as_bytes(), &mut 0, b'.'), None, "{text}");
        }
    }
}
