//! A decimal read eight bytes at a time, where it is cut as the one above it in its column was.
//!
//! The cut is taken from the row before, so where a number ends is known before it is read and no number waits for
//! another. Rows of a log differ in their digits, seldom in where these stand.

/// How a plain decimal of at most eight characters is cut.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut {
    /// Characters, decimal mark included.
    length: usize,
    /// The bytes before and behind the decimal mark, in eight that end with the number; without a mark all stand behind.
    before: u64,
    behind: u64,
    /// Where the mark stands, and the mark.
    at_mark: u64,
    mark: u64,
    /// Ten to the number of decimals.
    scale: u32,
    tenths: f64,
}

impl Cut {
    /// No number is cut like this: every byte would have to be a digit and zero.
    pub(crate) const NONE: Cut =
        Cut { length: 0, before: u64::MAX, behind: 0, at_mark: u64::MAX, mark: 0, scale: 1, tenths: 1.0 };

    /// The cut of a number with so many digits before and behind the mark; [`Cut::NONE`] where eight characters do not
    /// hold it.
    pub(crate) fn of(whole: usize, fraction: usize, mark: u8) -> Cut {
        match (whole, fraction) {
            (0, _) => Cut::NONE,
            (_, 0) => Cut::part(whole, None, mark),
            _ => Cut::part(whole + 1 + fraction, Some(fraction), mark),
        }
    }

    /// Part of a number: so many characters, and how many of them stand behind the mark if it is one of them.
    pub(crate) fn part(length: usize, fraction: Option<usize>, mark: u8) -> Cut {
        if length == 0 || length > 8 || fraction.is_some_and(|f| f >= length) {
            return Cut::NONE;
        }
        let top = |bytes: usize| if bytes == 0 { 0 } else { u64::MAX << (64 - 8 * bytes) };
        let behind = top(fraction.unwrap_or(length));
        let at_mark = fraction.map_or(0, |f| top(f + 1) & !behind);
        let before = top(length) & !behind & !at_mark;
        let scale = 10u32.pow(fraction.unwrap_or(0) as u32);
        let mark = u64::from_ne_bytes([mark; 8]) & at_mark;
        Cut { length, before, behind, at_mark, mark, scale, tenths: scale.into() }
    }

    /// Ten to the number of decimals.
    #[inline(always)]
    pub(crate) fn scale(&self) -> u32 {
        self.scale
    }

    /// The same as a double, kept because turning it into one costs as much as a digit pair.
    #[inline(always)]
    pub(crate) fn tenths(&self) -> f64 {
        self.tenths
    }

    /// The digits of the number that starts at `at`, as one integer, and where it ends; `None` where it is cut otherwise.
    /// What follows the number is for the caller to look at.
    #[inline(always)]
    pub(crate) fn read(&self, bytes: &[u8], at: usize) -> Option<(u32, usize)> {
        let end = at + self.length;
        let eight: [u8; 8] = bytes.get(end.checked_sub(8)?..end)?.try_into().ok()?;
        let text = u64::from_le_bytes(eight);
        let (digits, odd) = self.digits(text);
        (odd == 0).then_some((digits, end))
    }

    /// Characters, decimal mark included.
    pub(crate) fn length(&self) -> usize {
        self.length
    }

    /// The digits of the number that ends these eight characters (the first in the lowest byte); the other is not 0 where
    /// it is cut otherwise.
    #[inline(always)]
    pub(crate) fn digits(&self, text: u64) -> (u32, u64) {
        let values = text ^ 0x3030_3030_3030_3030;
        let digits = (values & self.behind) | ((values & self.before) << 8);
        // This lifts 10 and more into the highest bit of the byte, where no digit is.
        let odd = (digits.wrapping_add(0x7676_7676_7676_7676) | digits) & 0x8080_8080_8080_8080;
        (joined(digits), odd | ((text & self.at_mark) ^ self.mark))
    }
}

/// Eight digits, the first in the lowest byte, as a number: pairs, then fours, then all.
#[inline(always)]
fn joined(digits: u64) -> u32 {
    let pairs = digits.wrapping_mul(10).wrapping_add(digits >> 8);
    let every_fourth = 0x0000_00ff_0000_00ff;
    let upper = (pairs & every_fourth).wrapping_mul(100 + (1_000_000 << 32));
    let lower = ((pairs >> 16) & every_fourth).wrapping_mul(1 + (10_000 << 32));
    (upper.wrapping_add(lower) >> 32) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, whole: usize, fraction: usize) -> Option<(u32, usize)> {
        Cut::of(whole, fraction, b'.').read(format!("        {text},").as_bytes(), 8)
    }

    #[test]
    fn digits_and_nothing_else() {
        assert_eq!(read("119.83", 3, 2), Some((11_983, 14)));
        assert_eq!(read("12345678", 8, 0), Some((12_345_678, 16)));
        assert_eq!(read("0.003", 1, 3), Some((3, 13)));
        assert_eq!(read("7", 1, 0), Some((7, 9)));
        assert_eq!(read("1234.567", 4, 3), Some((1_234_567, 16)));
        // Cut otherwise, or no digits: the bytes beside the digits in the code are '/' and ':'.
        for text in ["-19.83", "11983,", "1a9.83", "119.8/", "119.8:", "11:.83", "1 9.83", "119.8\u{e9}"] {
            assert_eq!(read(text, 3, 2), None, "{text}");
        }
    }

    /// Parts of 12.34567890: the mark may be first or last of them.
    #[test]
    fn parts() {
        let read = |text: &str, fraction| {
            let cut = Cut::part(text.len(), fraction, b'.');
            cut.read(format!("        {text}9").as_bytes(), 8)
        };
        assert_eq!(read(".3456789", Some(7)), Some((3_456_789, 16)));
        assert_eq!(read("12.", Some(0)), Some((12, 11)));
        assert_eq!(read("12", None), Some((12, 10)));
        assert_eq!(read(".", Some(0)), Some((0, 9)));
        assert_eq!(read("12", Some(2)), None);
    }

    #[test]
    fn what_does_not_fit_is_not_cut() {
        assert_eq!(read("123456789", 9, 0), None);
        assert_eq!(read("12345.678", 5, 3), None);
        assert_eq!(Cut::of(3, 2, b'.').read(b"1.00,", 0), None);
        for eight in [[b'1'; 8], [b'0'; 8], [0; 8], [0xff; 8]] {
            assert_eq!(Cut::NONE.read(&eight, 8), None);
        }
    }
}
