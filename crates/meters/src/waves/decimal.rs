//! Plain and scientific decimals, read eight bytes at a time where they are cut as the one above them was.
use super::alike::Lines;
use crate::logs::cut::Cut;
use crate::logs::fast::{TENTHS, digit, digits};
use crate::logs::grid::{Window, piece};

/// How the number above was written: its mantissa of up to 16 characters, and whether an exponent of two digits follows.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Decimal {
    /// All of a mantissa of up to eight characters, else its last eight.
    tail: Cut,
    /// What stands before those eight, and ten to the number of digits among them; zero where nothing stands before.
    front: Cut,
    lift: f64,
    fraction: usize,
    /// `E+02` as written, or zero, and what the mantissa's digits are to be multiplied with and divided by.
    exponent: u32,
    times: f64,
    over: f64,
    /// The byte that followed.
    after: u8,
}

impl Decimal {
    /// No number is written like this.
    pub(crate) const NONE: Decimal = Decimal {
        tail: Cut::NONE,
        front: Cut::NONE,
        lift: 0.0,
        fraction: 0,
        exponent: 0,
        times: 1.0,
        over: 1.0,
        after: 0,
    };

    /// `-1.10625E+02`, `0.5`, `12`: the number that starts at `p`, which is moved behind it; a byte has to follow. Whole
    /// numbers below 2⁵³ times or over powers of ten up to 10²² are correctly rounded (W. D. Clinger, "How to read floating
    /// point numbers accurately", 1990).
    #[inline(always)]
    pub(crate) fn read(&mut self, bytes: &[u8], p: &mut usize, mark: u8) -> Option<f64> {
        match self.like_above(bytes, *p) {
            Some((value, end)) => {
                *p = end;
                Some(value)
            }
            None => self.digit_by_digit(bytes, p, mark),
        }
    }

    #[inline(always)]
    fn like_above(&mut self, bytes: &[u8], at: usize) -> Option<(f64, usize)> {
        let negative = *bytes.get(at)? == b'-';
        let mut from = at + usize::from(negative);
        let mut m = 0.0;
        if self.lift > 0.0 {
            let (front, end) = self.front.read(bytes, from)?;
            m = f64::from(front) * self.lift;
            from = end;
        }
        let (tail, mut end) = self.tail.read(bytes, from)?;
        m += f64::from(tail);
        if self.exponent != 0 {
            let found = u32::from_ne_bytes(bytes.get(end..end + 4)?.try_into().ok()?);
            if found != self.exponent {
                self.newly_scaled(found)?;
            }
            end += 4;
        }
        // One of the two factors is 1, so that only one of the two rounds.
        let value = if negative { -m } else { m } * self.times / self.over;
        (*bytes.get(end)? == self.after).then_some((value, end))
    }

    /// Characters of a number written like this, but for a sign before it; 0 where none is.
    pub(crate) fn length(&self) -> usize {
        self.front.length() + self.tail.length() + if self.exponent == 0 { 0 } else { 4 }
    }

    /// The numbers that stand in each line from this place on, as many characters wide and followed by this byte; `false`
    /// where one is written otherwise than the one above it.
    pub(crate) fn alike(
        &mut self,
        lines: &Lines,
        from: usize,
        width: usize,
        after: u8,
        to: &mut [f64],
    ) -> bool {
        let (sign, end) = (width.wrapping_sub(self.length()), from + width);
        let start = from + sign;
        let middle = start + self.front.length();
        let windows = Window::of(lines.length, middle, self.tail.length()).zip(match self.lift > 0.0 {
            true => Window::of(lines.length, start, self.front.length()),
            false => Some(Window::NONE),
        });
        let Some((tail, front)) = windows.filter(|_| self.length() > 0 && sign < 2) else { return false };
        // Kept at hand: what is behind a reference is asked for again in every row.
        let (this, mut all) = (*self, 0);
        let (mut exponent, mut times, mut over) = (self.exponent, self.times, self.over);
        for (to, line) in to.iter_mut().zip(lines.each()) {
            let (digits, odd) = this.tail.digits(tail.text(line));
            all |= odd | u64::from(line[end] ^ after);
            let mut m = f64::from(digits);
            if this.lift > 0.0 {
                let (digits, odd) = this.front.digits(front.text(line));
                all |= odd;
                m += f64::from(digits) * this.lift;
            }
            if this.exponent != 0 {
                let found = u32::from_ne_bytes(*piece(line, end - 4));
                if found != exponent {
                    if self.newly_scaled(found).is_none() {
                        return false;
                    }
                    (exponent, times, over) = (found, self.times, self.over);
                }
            }
            if sign == 1 {
                all |= u64::from(line[from] ^ b'-');
                m = -m;
            }
            *to = m * times / over;
        }
        all == 0
    }

    /// An exponent of two digits that differs from the one above.
    #[inline]
    fn newly_scaled(&mut self, found: u32) -> Option<()> {
        let [letter, sign, tens, ones] = found.to_ne_bytes();
        let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
        if letter | 0x20 != b'e' || tens > 9 || ones > 9 {
            return None;
        }
        let power = i32::from(tens) * 10 + i32::from(ones);
        let power = match sign {
            b'+' => power,
            b'-' => -power,
            _ => return None,
        };
        (self.times, self.over) = factors(power - self.fraction as i32)?;
        self.exponent = found;
        Some(())
    }

    /// The same where the number is not written like the one above it; the next may be written like this one.
    fn digit_by_digit(&mut self, bytes: &[u8], p: &mut usize, mark: u8) -> Option<f64> {
        let from = *p + usize::from(*bytes.get(*p)? == b'-');
        let mut at = *p;
        let (m, fraction) = digits(bytes, &mut at, mark)?;
        let end = at;
        let mut e = -(fraction as i32);
        if matches!(bytes.get(at)?, b'E' | b'e') {
            at += 1;
            let sign = *bytes.get(at)?;
            at += usize::from(sign == b'-' || sign == b'+');
            let first = at;
            let mut power = 0i32;
            while let Some(d) = digit(bytes, at) {
                power = power * 10 + d as i32;
                at += 1;
                if at - first > 3 {
                    return None;
                }
            }
            if at == first {
                return None;
            }
            e += if sign == b'-' { -power } else { power };
        }
        let (times, over) = factors(e).or((m == 0.0).then_some((1.0, 1.0)))?;
        let after = *bytes.get(at)?;
        let exponent = bytes[end..at].try_into().map_or(0, u32::from_ne_bytes);
        // What is written otherwise goes this way again.
        *self = match at - end {
            0 | 4 => Decimal { exponent, times, over, after, ..Decimal::of(end - from, fraction, mark) },
            _ => Decimal::NONE,
        };
        *p = at;
        Some(m * times / over)
    }

    fn of(length: usize, fraction: usize, mark: u8) -> Decimal {
        let behind = (fraction > 0).then_some(fraction);
        let (front, tail, lift) = match length {
            ..=8 => (Cut::NONE, Cut::part(length, behind, mark), 0.0),
            // The mark stands among the last eight characters, before them, or nowhere.
            9..=16 => {
                let (before, among) = match behind {
                    Some(n @ 8..) => (Some(n - 8), None),
                    other => (None, other),
                };
                let digits = if among.is_some() { 7 } else { 8 };
                (Cut::part(length - 8, before, mark), Cut::part(8, among, mark), TENTHS[digits])
            }
            _ => return Decimal::NONE,
        };
        Decimal { tail, front, lift, fraction, ..Decimal::NONE }
    }
}

/// A power of ten as a factor and a divisor, where both are exact.
#[inline]
fn factors(e: i32) -> Option<(f64, f64)> {
    match e {
        -22..=-1 => Some((1.0, TENTHS[-e as usize])),
        0..=22 => Some((TENTHS[e as usize], 1.0)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(decimal: &mut Decimal, text: &str) -> Option<(f64, usize)> {
        // In the middle of a line, as nearly all numbers stand.
        let line = format!("                {text},");
        let mut p = 16;
        decimal.read(line.as_bytes(), &mut p, b'.').map(|value| (value, p - 16))
    }

    /// Both short ways and the careful library way agree to the last bit.
    #[test]
    fn same_as_the_long_way() {
        for text in [
            "-1.10625E+02",
            "1.00000E-06",
            "0.0000E+00",
            "-9.99000E-02",
            "12",
            "-0.5e3",
            "3E0",
            "85.12",
            "-0.100000",
            "19.899999",
            "123456.789012",
            "1.2345678",
            "12.345678",
            "12.3456789",
            "1.23456789012E-05",
            "1234567890",
            "123456789012345",
            "-1234567.8901234",
            "0.00000000000012",
            "2.50E-003",
            "-0.0",
        ] {
            let truth = text.parse::<f64>().ok().map(|v| (v.to_bits(), text.len()));
            let mut decimal = Decimal::NONE;
            for way in ["digit by digit", "like the one above"] {
                let found = read(&mut decimal, text).map(|(v, n)| (v.to_bits(), n));
                assert_eq!(found, truth, "{text} {way}");
            }
        }
        for text in ["1E", "1E+", ".5", "E5", "1E9999", "1e-30", "+1", "1234567890123456", ""] {
            let mut decimal = Decimal::NONE;
            assert_eq!(read(&mut decimal, text), None, "{text}");
        }
    }

    /// What is written otherwise than the number above is read all the same, or not at all, never wrongly.
    #[test]
    fn after_any_other() {
        let all = [
            "1.5",
            "-1.5",
            "12.5",
            "1.50",
            "1.5E+01",
            "1.5e-01",
            "1.5E101",
            "1.5E1",
            "1.5E+1",
            "1.5E+001",
            "15",
            "150",
            "1234.56789",
            "12345.6789",
            "1234567890",
            "123456789.5",
            "1.5/",
            "1.5:",
            "1.5E+0:",
            "1,5",
            "1.5.5",
            "1-5",
        ];
        for above in all {
            for text in all {
                let mut decimal = Decimal::NONE;
                let _first = read(&mut decimal, above);
                if let Some((value, length)) = read(&mut decimal, text) {
                    assert_eq!(
                        Some(value.to_bits()),
                        text[..length].parse().ok().map(f64::to_bits),
                        "{text} after {above}"
                    );
                    assert!(
                        !text[length..].starts_with(|c: char| c.is_ascii_digit()),
                        "{text} after {above}"
                    );
                }
            }
        }
    }

    /// Cut off at any place, nothing is read: the rest of the line may still come.
    #[test]
    fn cut_off() {
        let mut decimal = Decimal::NONE;
        let line = b"                -1.10625E+02,";
        assert!(decimal.read(line, &mut 16, b'.').is_some());
        for end in 16..line.len() {
            assert_eq!(decimal.read(&line[..end], &mut 16, b'.'), None, "{end}");
        }
    }

    proptest::proptest! {
        /// Whatever stood above, a number is read to the last bit as the standard library reads it, or not at all.
        #[test]
        fn any_number_after_any(all in proptest::collection::vec("-?[0-9]{1,9}(\\.[0-9]{0,9})?([eE][+-]?[0-9]{1,3})?", 1..20)) {
            let mut decimal = Decimal::NONE;
            for text in all {
                if let Some((value, length)) = read(&mut decimal, &text) {
                    proptest::prop_assert_eq!(Some(value.to_bits()), text.parse().ok().map(f64::to_bits), "{}", &text);
                    proptest::prop_assert_eq!(length, text.len());
                }
            }
        }
    }
}
