//! The commonest stamp of all, read the short way: `2026-05-02T23:58:10[.123456]`, the day and the minute kept from the row
//! before.
use super::cut::Cut;
use super::grid::{Grid, piece};
use super::when::{DAY, SECOND, days};

/// Characters up to and with the colon before the seconds.
pub(crate) const MINUTE: usize = 17;

/// Reads stamps; keeps what does not change from row to row.
pub(crate) struct Iso {
    day: [u8; 10],
    midnight: i64,
    /// The last stamp up to its seconds, and that instant; with six decimals, eight characters hold no more than the last
    /// digit of the seconds, and the first belongs to what does not change.
    minute: [u8; MINUTE],
    tens: Option<u8>,
    begins: i64,
    /// How the seconds of the last stamp were cut: a minute's worth of their last digit (ten seconds' with six decimals), and what one of it is, µs.
    seconds: Cut,
    turn: u32,
    unit: i64,
}

impl Iso {
    pub(crate) fn new() -> Iso {
        Iso {
            day: [0; 10],
            midnight: 0,
            minute: [0; MINUTE],
            tens: None,
            begins: 0,
            seconds: Cut::NONE,
            turn: 0,
            unit: 0,
        }
    }

    /// Microseconds as written; `None` sends the line the long way.
    #[inline(always)]
    pub(crate) fn read(&mut self, bytes: &[u8], p: &mut usize) -> Option<i64> {
        let from = *p + self.before();
        if bytes.get(*p..*p + MINUTE)? == self.minute
            && self.tens.is_none_or(|tens| bytes.get(from - 1) == Some(&tens))
            && let Some((digits, end)) = self.seconds.read(bytes, from)
            && digits < self.turn
            && !bytes.get(end).is_some_and(u8::is_ascii_digit)
        {
            *p = end;
            return Some(self.begins + i64::from(digits) * self.unit);
        }
        self.whole(bytes, p)
    }

    /// Characters of the last stamp.
    pub(crate) fn width(&self) -> usize {
        self.before() + self.seconds.length()
    }

    /// Characters that do not change.
    #[inline(always)]
    fn before(&self) -> usize {
        MINUTE + usize::from(self.tens.is_some())
    }

    /// The stamps of a column, µs, as long as they are in the minute of the last one and written like it; how many.
    pub(crate) fn alike(&self, grid: Grid, from: usize, after: u8, to: &mut Vec<i64>) -> usize {
        let (new, eight) = (to.len(), from + self.width() - 8);
        to.resize(new + grid.lines().len(), 0);
        let mut read = 0;
        for (t, line) in to[new..].iter_mut().zip(grid.lines()) {
            let [text @ .., behind] = *piece::<9>(line, eight);
            let (digits, odd) = self.seconds.digits(u64::from_le_bytes(text));
            let mut same = *piece::<MINUTE>(line, from) == self.minute;
            if let Some(tens) = self.tens {
                same &= line[from + MINUTE] == tens;
            }
            if !same || odd != 0 || digits >= self.turn || behind != after {
                break;
            }
            *t = self.begins + i64::from(digits) * self.unit;
            read += 1;
        }
        to.truncate(new + read);
        read
    }

    /// First and last microsecond of the minute of the last stamp.
    pub(crate) fn minute(&self) -> (i64, i64) {
        (self.begins, self.begins + 60 * SECOND - 1)
    }

    /// Any single byte `T` or blank between date and clock.
    fn whole(&mut self, bytes: &[u8], p: &mut usize) -> Option<i64> {
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
        self.minute.copy_from_slice(&text[..MINUTE]);
        // Until its seconds are read, no stamp is like this one.
        (self.tens, self.seconds) = (None, Cut::NONE);
        self.begins = self.midnight + (h * 60 + m) * 60 * SECOND;
        *p += 19;
        let mut us = self.begins + s * SECOND;
        let mut decimals = 0;
        if *bytes.get(*p)? == b'.' {
            *p += 1;
            let mut f = 0;
            while let Some(d) = bytes.get(*p).map(|b| b.wrapping_sub(b'0')).filter(|d| *d < 10) {
                f = f * 10 + i64::from(d);
                *p += 1;
                decimals += 1;
                if decimals > 6 {
                    return None;
                }
            }
            us += f * [0, 100_000, 10_000, 1000, 100, 10, 1][decimals];
            if decimals == 0 {
                return None;
            }
        }
        // What comes before the seconds that are read, and how many of their digits stand before the mark.
        let (before, whole) = if decimals < 6 { (0, 2) } else { (s / 10 * 10, 1) };
        self.tens = (decimals == 6).then_some(text[MINUTE]);
        self.begins += before * SECOND;
        self.seconds = Cut::of(whole, decimals, b'.');
        (self.turn, self.unit) = (
            (60 - 50 * u32::from(whole == 1)) * self.seconds.scale(),
            SECOND / i64::from(self.seconds.scale()),
        );
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
