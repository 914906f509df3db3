//! The short way for the commonest rows: ISO local time or a plain number first, plain decimals after it.
//! Anything else on a line, however small, sends that line the long way round; nothing is decided here.
use super::batch::{Plan, Use};
use super::cut::Cut;
use super::iso::Iso;
use super::mapping::{Mapping, TimeKind};
use super::rows::FARTHEST;

/// The most numbers in a row that goes the short way.
pub(crate) const WIDEST: usize = 16;

/// Powers of ten, all that a double holds exactly.
pub(crate) const TENTHS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// What becomes of a column, and how its number was written in the row before.
pub(crate) struct Column {
    pub(crate) what: Use,
    pub(crate) cut: Cut,
    /// The byte that followed.
    after: u8,
    /// Characters of the field.
    pub(crate) width: usize,
}

impl Column {
    fn of(what: Use) -> Column {
        Column { what, cut: Cut::NONE, after: 0, width: 0 }
    }
}

/// How to read a row the short way.
pub(crate) struct Fast {
    pub(crate) columns: Vec<Column>,
    pub(crate) delimiter: u8,
    decimal: u8,
    /// Microseconds of one unit of a numeric time; `None`: ISO.
    pub(crate) number_us: Option<f64>,
    pub(crate) iso: Iso,
    /// Bytes of the line read last, with its end; 0 where it went the long way.
    pub(crate) length: usize,
    /// Rows to be read one by one before any are read together.
    pub(crate) wait: usize,
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
            columns: plan.uses.iter().map(|u| Column::of(*u)).collect(),
            delimiter: mapping.delimiter as u8,
            decimal: mapping.decimal as u8,
            number_us,
            iso: Iso::new(),
            length: 0,
            wait: 0,
            values: [f64::NAN; WIDEST],
        })
    }

    /// Reads the row that starts at `at`: its time as written (µs) and where the next line starts; the numbers are in
    /// `values`. `None` sends the line the long way.
    #[inline]
    pub(crate) fn row(&mut self, bytes: &[u8], at: usize) -> Option<(i64, usize)> {
        self.length = 0;
        let mut p = at;
        let mut local = 0;
        let mut end = self.delimiter;
        for column in &mut self.columns {
            if end != self.delimiter {
                return None;
            }
            let from = p;
            // Asked one after the other, the commonest first: quicker than a table of places to jump to.
            if let Use::Number { slot, factor } = column.what {
                // Times 1.0 is exact, and cheaper than asking.
                self.values[slot & (WIDEST - 1)] = number(bytes, &mut p, self.decimal, column)? * factor;
            } else if column.what == Use::Time {
                match self.number_us {
                    None => local = self.iso.read(bytes, &mut p)?,
                    Some(us) => local = (number(bytes, &mut p, self.decimal, column)? * us).round() as i64,
                }
            } else {
                skip(bytes, &mut p, self.delimiter)?;
            }
            column.width = p - from;
            end = *bytes.get(p)?;
            p += 1;
        }
        if end == b'\r' {
            end = *bytes.get(p)?;
            p += 1;
        }
        if end != b'\n' || local.unsigned_abs() >= FARTHEST.unsigned_abs() {
            return None;
        }
        self.length = p - at;
        Some((local, p))
    }
}

/// A plain decimal of at most 15 digits. Such a number over a power of ten is correctly rounded, since both are
/// exact in a double (W. D. Clinger, "How to read floating point numbers accurately", 1990).
#[inline(always)]
fn number(bytes: &[u8], p: &mut usize, decimal: u8, column: &mut Column) -> Option<f64> {
    if let Some((digits, end)) = column.cut.read(bytes, *p)
        && bytes.get(end) == Some(&column.after)
    {
        *p = end;
        return Some(f64::from(digits) / column.cut.tenths());
    }
    digit_by_digit(bytes, p, decimal, column)
}

/// The same where the number is not written like the one above it; the next may be written like this one.
fn digit_by_digit(bytes: &[u8], p: &mut usize, decimal: u8, column: &mut Column) -> Option<f64> {
    let from = *p + usize::from(bytes.get(*p) == Some(&b'-'));
    let (m, fraction) = digits(bytes, p, decimal)?;
    let behind = if fraction > 0 { fraction + 1 } else { 0 };
    column.cut = Cut::of(*p - from - behind, fraction, decimal);
    column.after = *bytes.get(*p)?;
    Some(m / TENTHS[fraction])
}

#[inline(always)]
pub(crate) fn digit(bytes: &[u8], p: usize) -> Option<u64> {
    let d = bytes.get(p)?.wrapping_sub(b'0');
    (d < 10).then_some(u64::from(d))
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
            let mut column = Column::of(Use::Skip);
            let value = number(line.as_bytes(), &mut p, b'.', &mut column);
            assert_eq!(value.map(f64::to_bits), text.parse::<f64>().ok().map(f64::to_bits), "{text}");
            assert_eq!(p, text.len());
            // Again, in the middle of a line and cut as it was before.
            let mut p = 8;
            assert_eq!(number(format!("        {text},").as_bytes(), &mut p, b'.', &mut column), value);
        }
        for text in [".5,", "1e5,", "+3,", "abc,", "", "\u{2212}3,"] {
            let mut p = 0;
            let line = format!("{text}        ");
            let value = number(line.as_bytes(), &mut p, b'.', &mut Column::of(Use::Skip));
            // "1e5" stops at the e, which is no separator; the row then goes the long way.
            assert!(value.is_none() || line.as_bytes().get(p) != Some(&b','), "{text}");
        }
    }
}
