//! Instants and durations as written: civil stamps in every usual form, clocks, elapsed times. All in microseconds.
use super::mapping::DateOrder;

pub(crate) const SECOND: i64 = 1_000_000;
pub(crate) const DAY: i64 = 86_400 * SECOND;

/// A civil instant as written: microseconds since 1970-01-01T00:00:00 on the clock that wrote it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stamp {
    pub(crate) local: i64,
    /// Seconds east of UTC, where written.
    pub(crate) offset: Option<i32>,
}

/// Days since 1970-01-01 of a date in the proleptic Gregorian calendar; `None` if there is no such day.
/// Algorithm: H. Hinnant, "chrono-compatible low-level date algorithms", days_from_civil.
pub(crate) fn days(y: i64, m: i64, d: i64) -> Option<i64> {
    const LENGTH: [i64; 12] = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    if !(1..=9999).contains(&y) || !(1..=12).contains(&m) || d < 1 {
        return None;
    }
    let leap = y % 4 == 0 && (y % 100 != 0 || y % 400 == 0);
    if d > LENGTH[m as usize - 1] + i64::from(leap && m == 2) {
        return None;
    }
    let y = if m <= 2 { y - 1 } else { y };
    let era = y.div_euclid(400);
    let yoe = y.rem_euclid(400);
    let doy = (153 * ((m + 9) % 12) + 2) / 5 + d - 1;
    let doe = yoe * 365 + yoe / 4 - yoe / 100 + doy;
    Some(era * 146_097 + doe - 719_468)
}

/// A cursor over the bytes of a field.
struct Cursor<'a>(&'a [u8]);

impl Cursor<'_> {
    /// A whole number of at most `most` digits, with the count of its digits.
    fn int(&mut self, most: usize) -> Option<(i64, usize)> {
        let n = self.0.iter().take(most).take_while(|b| b.is_ascii_digit()).count();
        let (head, rest) = self.0.split_at(n);
        self.0 = rest;
        (n > 0).then(|| (head.iter().fold(0, |v, b| v * 10 + i64::from(b - b'0')), n))
    }
    fn eat(&mut self, wanted: &[u8]) -> Option<u8> {
        let first = *self.0.first()?;
        wanted.contains(&first).then(|| {
            self.0 = &self.0[1..];
            first
        })
    }
    fn spaces(&mut self) {
        loop {
            if self.eat(b" ").is_some() {
                continue;
            }
            // No-break and narrow no-break spaces stand before AM and PM in some exports.
            match self.0.strip_prefix("\u{a0}".as_bytes()).or(self.0.strip_prefix("\u{202f}".as_bytes())) {
                Some(rest) => self.0 = rest,
                None => return,
            }
        }
    }
    fn word(&mut self, lower: &[u8]) -> bool {
        let hit = self.0.len() >= lower.len() && self.0[..lower.len()].eq_ignore_ascii_case(lower);
        if hit {
            self.0 = &self.0[lower.len()..];
        }
        hit
    }
    /// Digits behind a decimal mark, as microseconds; further digits are cut off.
    fn micros(&mut self) -> Option<i64> {
        let n = self.0.iter().take_while(|b| b.is_ascii_digit()).count();
        if n == 0 {
            return None;
        }
        let mut v = 0;
        for k in 0..6 {
            v = v * 10 + if k < n { i64::from(self.0[k] - b'0') } else { 0 };
        }
        self.0 = &self.0[n..];
        Some(v)
    }
}

/// A date, in days since 1970-01-01. With `order` `None` only forms that need no order are read.
fn date(c: &mut Cursor, order: Option<DateOrder>) -> Option<i64> {
    let compact = c.0.iter().take_while(|b| b.is_ascii_digit()).count() == 8;
    if compact {
        let (v, _) = c.int(8)?;
        return days(v / 10_000, v / 100 % 100, v % 100);
    }
    let (a, wide) = c.int(4)?;
    let mark = c.eat(b"-/.")?;
    c.spaces();
    let (b, _) = c.int(2)?;
    c.eat(&[mark])?;
    c.spaces();
    let (e, last) = c.int(4)?;
    if wide == 4 {
        return days(a, b, e);
    }
    if wide > 2 || last == 1 || last == 3 {
        return None;
    }
    let century = |y: i64, n: usize| if n == 2 { 2000 + y } else { y };
    // Dates with dots are day-first wherever they are written (common practice).
    match if mark == b'.' && order != Some(DateOrder::YearFirst) { Some(DateOrder::DayFirst) } else { order }?
    {
        DateOrder::DayFirst => days(century(e, last), b, a),
        DateOrder::MonthFirst => days(century(e, last), a, b),
        DateOrder::YearFirst if last == 2 => days(2000 + a, b, e),
        DateOrder::YearFirst => None,
    }
}

/// A time of day in microseconds, 12- or 24-hour.
fn clock(c: &mut Cursor) -> Option<i64> {
    let (mut h, mut m, mut s, mut us) = (c.int(2)?.0, 0, 0, 0);
    if c.0.len() >= 4 && c.0[..4].iter().all(u8::is_ascii_digit) && c.0.get(4) != Some(&b':') {
        (m, s) = (c.int(2)?.0, c.int(2)?.0);
    } else {
        c.eat(b":")?;
        m += c.int(2)?.0;
        if c.eat(b":").is_some() {
            s = c.int(2)?.0;
        }
    }
    if c.eat(b".,:").is_some() {
        us = c.micros()?;
    }
    c.spaces();
    let half =
        [(b"pm" as &[u8], 12), (b"p.m.", 12), (b"am", 0), (b"a.m.", 0)].iter().find(|(w, _)| c.word(w));
    if let Some((_, add)) = half {
        if !(1..=12).contains(&h) {
            return None;
        }
        h = h % 12 + add;
    }
    // 24:00:00 is the end of the day, 60 a leap second (ISO 8601).
    let sane = m < 60 && s <= 60 && (h < 24 || (h == 24 && m == 0 && s == 0));
    sane.then(|| ((h * 60 + m) * 60 + s) * SECOND + us)
}

/// An offset from UTC in seconds: `Z`, `UTC`, `+02:00`, `+0200`, `+02`.
fn offset(c: &mut Cursor) -> Option<i32> {
    c.spaces();
    if c.word(b"z") || c.word(b"utc") || c.word(b"gmt") {
        return Some(0);
    }
    let sign = if c.eat(b"+-")? == b'-' { -1 } else { 1 };
    let (h, _) = c.int(2)?;
    c.eat(b":");
    let m = c.int(2).map_or(0, |(m, _)| m);
    (h <= 18 && m < 60).then_some(sign * (h * 3600 + m * 60) as i32)
}

fn trimmed(field: &str) -> Cursor<'_> {
    Cursor(field.trim_matches(|c: char| c.is_whitespace() || c == '"').as_bytes())
}

/// Date and clock in one field.
pub(crate) fn stamp(field: &str, order: Option<DateOrder>) -> Option<Stamp> {
    let mut c = trimmed(field);
    let day = date(&mut c, order)?;
    c.eat(b"T,_t");
    c.spaces();
    let time = if c.0.is_empty() { 0 } else { clock(&mut c)? };
    let offset = if c.0.is_empty() { None } else { Some(offset(&mut c)?) };
    c.0.is_empty().then_some(Stamp { local: day * DAY + time, offset })
}

/// A date alone, as microseconds of its midnight.
pub(crate) fn date_only(field: &str, order: Option<DateOrder>) -> Option<i64> {
    let mut c = trimmed(field);
    let day = date(&mut c, order)?;
    c.0.is_empty().then_some(day * DAY)
}

/// A time of day alone.
pub(crate) fn clock_only(field: &str) -> Option<i64> {
    let mut c = trimmed(field);
    let time = clock(&mut c)?;
    c.0.is_empty().then_some(time)
}

/// Time since the start as `h:mm:ss`, `mm:ss` (minutes may pass 59), `0d hh:mm:ss`, each with a fraction.
pub(crate) fn elapsed_clock(field: &str) -> Option<i64> {
    let mut c = trimmed(field);
    let (first, _) = c.int(7)?;
    let mut d = 0;
    let mut parts = vec![first];
    if c.word(b"d") {
        c.spaces();
        d = first;
        parts = vec![c.int(7)?.0];
    }
    while c.eat(b":").is_some() {
        parts.push(c.int(2)?.0);
    }
    let us = if c.eat(b".,").is_some() { c.micros()? } else { 0 };
    let seconds = match parts[..] {
        [h, m, s] if m < 60 && s < 60 => (h * 60 + m) * 60 + s,
        [m, s] if s < 60 => m * 60 + s,
        _ => return None,
    };
    c.0.is_empty().then_some(d * DAY + seconds * SECOND + us)
}

/// `1970-01-01T00:00:00` with as many decimals as the microseconds need.
pub(crate) fn civil_text(us: i64) -> String {
    let (day, rest) = (us.div_euclid(DAY), us.rem_euclid(DAY));
    // The inverse of `days`, same source.
    let z = day + 719_468;
    let (era, doe) = (z.div_euclid(146_097), z.rem_euclid(146_097));
    let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
    let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
    let mp = (5 * doy + 2) / 153;
    let (d, m) = (doy - (153 * mp + 2) / 5 + 1, if mp < 10 { mp + 3 } else { mp - 9 });
    let y = yoe + era * 400 + i64::from(m <= 2);
    format!("{y:04}-{m:02}-{d:02}T{}", clock_text(rest))
}

/// `23:58:10`, `23:58:10.120`.
pub(crate) fn clock_text(us: i64) -> String {
    let (s, f) = (us.div_euclid(SECOND), us.rem_euclid(SECOND));
    let fraction = match f {
        0 => String::new(),
        _ if f % 1000 == 0 => format!(".{:03}", f / 1000),
        _ => format!(".{f:06}"),
    };
    format!("{:02}:{:02}:{:02}{fraction}", s / 3600, s / 60 % 60, s % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same instant in eleven spellings; 1777766290 s is 2026-05-02T23:58:10Z (arithmetic: 20575 days and 86290 s).
    #[test]
    fn spellings() {
        let local = 1_777_766_290 * SECOND;
        let day_first = Some(DateOrder::DayFirst);
        let month_first = Some(DateOrder::MonthFirst);
        for (text, order) in [
            ("2026-05-02T23:58:10", None),
            ("2026-05-02 23:58:10", None),
            ("2026/05/02 23:58:10", None),
            ("02.05.2026 23:58:10", None),
            ("2.5.26 23:58:10", None),
            ("20260502_235810", None),
            ("20260502T235810", None),
            ("02/05/2026 23:58:10", day_first),
            ("5/2/2026 11:58:10 PM", month_first),
            ("05-02-2026, 11:58:10\u{202f}p.m.", month_first),
            ("2026-05-02 23:58:10,000", None),
        ] {
            assert_eq!(stamp(text, order), Some(Stamp { local, offset: None }), "{text}");
        }
        assert_eq!(stamp("2026-05-03T01:58:10+02:00", None).map(|s| s.offset), Some(Some(7200)));
        assert_eq!(civil_text(local), "2026-05-02T23:58:10");
    }

    #[test]
    fn no_guess_without_order() {
        assert_eq!(stamp("04/05/2026 10:00", None), None);
        assert_eq!(stamp("31/02/2026 10:00", Some(DateOrder::DayFirst)), None);
        assert_eq!(stamp("2026-05-02 25:00:00", None), None);
    }

    /// Twelve o'clock: 12 AM is the start of the day, 12 PM noon.
    #[test]
    fn twelve() {
        assert_eq!(clock_only("12:00:00 AM"), Some(0));
        assert_eq!(clock_only("12:00 PM"), Some(43_200 * SECOND));
        assert_eq!(clock_only("13:00 PM"), None);
    }

    /// 1:02:03 and 62:03 are both 3723 s.
    #[test]
    fn elapsed() {
        assert_eq!(elapsed_clock("1:02:03"), Some(3723 * SECOND));
        assert_eq!(elapsed_clock("62:03"), Some(3723 * SECOND));
        assert_eq!(elapsed_clock("  0d 00:00:05.05"), Some(5_050_000));
        assert_eq!(elapsed_clock("1:75"), None);
    }
}
