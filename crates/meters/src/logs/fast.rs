//! The short way for the commonest rows: ISO local time or a plain number first, plain decimals after it.
//! Anything else on a line, however small, sends that line the long way round; nothing is decided here.
use super::batch::{Plan, Use};
use super::mapping::{Mapping, TimeKind};
use super::rows::FARTHEST;
use super::when::{DAY, SECOND, days};

/// The most numbers in a row that goes the short way.
pub(crate) const WIDEST: usize = 16;

pub(crate) const TENTHS: [f64; 16] =
    [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];

/// How to read a row the short way.
pub(crate) struct Fast {
    uses: Vec<Use>,
    delimiter: u8,
    decimal: u8,
    /// Microseconds of one unit of a numeric time; `None`: ISO.
    number_us: Option<f64>,
    day: [u8; 10],
    midnight: i64,
    /// Numbers of the row read last, by slot.
    pub(crate) values: [f64; WIDEST],
}

impl Fast {
    /// `None` where the mapping rules the short way out.
    pub(crate) fn of(mapping: &Mapping, plan: &Plan) -> Option<Fast> {
        let number_us = match mapping.time {
            TimeKind::Stamp => None,
            TimeKind::EpochSeconds => Some(1e6),
            TimeKind::EpochMillis => Some(1e3),
            TimeKind::ElapsedNumber => Some(plan.time_unit * 1e6),
            _ => return None,
        };
        let plain = plan.uses.iter().all(|u| matches!(u, Use::Time | Use::Number { .. } | Use::Skip));
        let marks =
            mapping.delimiter.is_ascii() && mapping.delimiter != ' ' && mapping.delimiter != mapping.decimal;
        let fits = plan.slots.len() <= WIDEST && mapping.decimal.is_ascii() && !mapping.cr_only;
        (plain && marks && fits).then(|| Fast {
            uses: plan.uses.clone(),
            delimiter: mapping.delimiter as u8,
            decimal: mapping.decimal as u8,
            number_us,
            day: [0; 10],
            midnight: 0,
            values: [f64::NAN; WIDEST],
        })
    }

    /// Reads the row that starts at `at`: its time as written (µs) and where the next line starts; the numbers are in
    /// `values`. `None` sends the line the long way.
    #[inline]
    pub(crate) fn row(&mut self, bytes: &[u8], at: usize) -> Option<(i64, usize)> {
        let mut p = at;
        let mut local = 0;
        let last = self.uses.len() - 1;
        for k in 0..=last {
            match self.uses[k] {
                Use::Time => match self.number_us {
                    None => local = self.iso(bytes, &mut p)?,
                    Some(us) => local = (number(bytes, &mut p, self.decimal)? * us).round() as i64,
                },
                Use::Number { slot, factor } => {
                    // Times 1.0 is exact, and cheaper than asking.
                    self.values[slot] = number(bytes, &mut p, self.decimal)? * factor;
                }
                _ => skip(bytes, &mut p, self.delimiter)?,
            }
            let end = *bytes.get(p)?;
            p += 1;
            if k < last {
                if end != self.delimiter {
                    return None;
                }
            } else if end == b'\r' {
                if *bytes.get(p)? != b'\n' {
                    return None;
                }
                p += 1;
            } else if end != b'\n' {
                return None;
            }
        }
        (local.abs() < FARTHEST).then_some((local, p))
    }

    /// `2026-05-02T23:58:10[.123456]`, any single byte between date and clock.
    #[inline]
    fn iso(&mut self, bytes: &[u8], p: &mut usize) -> Option<i64> {
        let text: &[u8; 19] = bytes.get(*p..*p + 19)?.try_into().ok()?;
        if text[..10] != self.day {
            self.new_day(text)?;
        }
        let pair = |i: usize| {
            let (a, b) = (text[i].wrapping_sub(b'0'), text[i + 1].wrapping_sub(b'0'));
            (i64::from(a) * 10 + i64::from(b), a > 9 || b > 9)
        };
        let ((h, e1), (m, e2), (s, e3)) = (pair(11), pair(14), pair(17));
        let marks = (text[10] == b'T' || text[10] == b' ') && text[13] == b':' && text[16] == b':';
        if e1 || e2 || e3 || !marks || h > 23 || m > 59 || s > 59 {
            return None;
        }
        *p += 19;
        let mut us = self.midnight + ((h * 60 + m) * 60 + s) * SECOND;
        if *bytes.get(*p)? == b'.' {
            *p += 1;
            let from = *p;
            let mut f = 0i64;
            while let Some(d) = digit(bytes, *p) {
                f = f * 10 + d as i64;
                *p += 1;
                if *p - from > 6 {
                    return None;
                }
            }
            us += f * [0, 100_000, 10_000, 1000, 100, 10, 1][*p - from];
            if *p == from {
                return None;
            }
        }
        Some(us)
    }

    #[cold]
    fn new_day(&mut self, text: &[u8; 19]) -> Option<()> {
        let digits = |r: std::ops::Range<usize>| {
            text[r].iter().try_fold(0i64, |v, b| b.is_ascii_digit().then(|| v * 10 + i64::from(b - b'0')))
        };
        if text[4] != b'-' || text[7] != b'-' {
            return None;
        }
        self.midnight = days(digits(0..4)?, digits(5..7)?, digits(8..10)?)? * DAY;
        self.day.copy_from_slice(&text[..10]);
        Some(())
    }
}

#[inline(always)]
pub(crate) fn digit(bytes: &[u8], p: usize) -> Option<u64> {
    let d = bytes.get(p)?.wrapping_sub(b'0');
    (d < 10).then_some(u64::from(d))
}

/// A plain decimal of at most 15 digits. Such a number over a power of ten is correctly rounded, since both are
/// exact in a double (W. D. Clinger, "How to read floating point numbers accurately", 1990).
///
/// Digit by digit on purpose: the lengths of numbers are easily predicted, so the machine runs ahead, while any scheme
/// that computes where a number ends makes each number wait for the one before (measured: half as fast).
#[inline(always)]
fn number(bytes: &[u8], p: &mut usize, decimal: u8) -> Option<f64> {
    let (m, fraction) = digits(bytes, p, decimal)?;
    Some(m / TENTHS[fraction])
}

/// All digits of a plain decimal as one whole number, with its sign, and how many of them are behind the mark.
#[inline(always)]
pub(crate) fn digits(bytes: &[u8], p: &mut usize, decimal: u8) -> Option<(f64, usize)> {
    let mut at = *p;
    let negative = *bytes.get(at)? == b'-';
    if negative {
        at += 1;
    }
    let from = at;
    let mut m = 0u64;
    while let Some(d) = digit(bytes, at) {
        m = m.wrapping_mul(10).wrapping_add(d);
        at += 1;
    }
    let whole = at - from;
    let mut fraction = 0;
    if *bytes.get(at)? == decimal {
        at += 1;
        let from = at;
        while let Some(d) = digit(bytes, at) {
            m = m.wrapping_mul(10).wrapping_add(d);
            at += 1;
        }
        fraction = at - from;
    }
    *p = at;
    if whole == 0 || whole + fraction > 15 {
        return None;
    }
    let value = m as i64 as f64;
    Some((if negative { -value } else { value }, fraction))
}

/// Past a field that is not read; quotes go the long way.
#[inline]
pub(crate) fn skip(bytes: &[u8], p: &mut usize, delimiter: u8) -> Option<()> {
    loop {
        match *bytes.get(*p)? {
            b'"' | 0 => return None,
            b'\n' | b'\r' => return Some(()),
            b if b == delimiter => return Some(()),
            _ => *p += 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The short way and the careful library way agree to the last bit.
    #[test]
    fn same_as_the_long_way() {
        for text in [
            "0",
            "7.5",
            "119.83",
            "0.003",
            "10357.852",
            "1234567.1234567",
            "12345678.25",
            "-0.5",
            "-12",
            "99999999",
        ] {
            let line = format!("{text},        ");
            let mut p = 0;
            let value = number(line.as_bytes(), &mut p, b'.');
            assert_eq!(value.map(f64::to_bits), text.parse::<f64>().ok().map(f64::to_bits), "{text}");
            assert_eq!(p, text.len());
            let mut p = 0;
            assert_eq!(number(format!("{text},").as_bytes(), &mut p, b'.'), value);
        }
        for text in [".5,", "1e5,", "+3,", "abc,", "", "\u{2212}3,"] {
            let mut p = 0;
            let line = format!("{text}        ");
            let value = number(line.as_bytes(), &mut p, b'.');
            // "1e5" stops at the e, which is no separator; the row then goes the long way.
            assert!(value.is_none() || line.as_bytes().get(p) != Some(&b','), "{text}");
        }
    }
}
