//! Clock readings: from what a person or a phone wrote to an instant, with the zone's rules.
//!
//! Kept as instants; shown in the bench's zone. A wall time that a clock change made double or impossible
//! is a trouble, never a guess.
use crate::number::Trouble;
use jiff::civil::{Date, DateTime, Time};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};

/// An instant with the resolution it was read to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The instant.
    pub at: Timestamp,
    /// Smallest step of the writing in seconds: 60 for "11:04", 1 for "11:04:52".
    pub step_s: u32,
    /// True when only a time of day was written, so that the day is an assumption.
    pub day_assumed: bool,
}

/// Names of the months.
pub const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Is this word the name of a month, in letters of any size?
pub fn is_month(word: &str) -> bool {
    MONTHS.iter().any(|m| m.eq_ignore_ascii_case(word))
}

/// Day, month name and year of an ISO 8601 date; `None` for anything else.
pub fn day_parts(iso: &str) -> Option<(u32, &'static str, &str)> {
    let mut fields = iso.get(..10)?.split('-');
    let (year, month, day) = (fields.next()?, fields.next()?, fields.next()?);
    let month = *MONTHS.get(month.parse::<usize>().ok()?.checked_sub(1)?)?;
    Some((day.parse().ok()?, month, year))
}

/// "6 May 2026"; what was written when it is no ISO 8601 date.
pub fn day_words(iso: &str) -> String {
    day_parts(iso).map_or_else(|| iso.to_string(), |(d, m, y)| format!("{d} {m} {y}"))
}

/// Days from one ISO 8601 date to another, negative when the second is earlier; `None` where one is no date.
pub fn days_between(from: &str, to: &str) -> Option<i64> {
    let (from, to): (Date, Date) = (from.get(..10)?.parse().ok()?, to.get(..10)?.parse().ok()?);
    from.until(to).ok().map(|s| i64::from(s.get_days()))
}

/// Hours from `a` to `b`, negative when `b` is earlier.
pub fn hours_between(a: Stamp, b: Stamp) -> f64 {
    b.at.duration_since(a.at).as_secs_f64() / 3600.0
}

/// Reads a stamp: RFC 3339 ("2026-05-03T11:04:52-04:00"), "2026-05-03 11:04", or a time of day with the
/// day of the test ("11:04", "11:04:52", "8:05 pm"). `zone` is the bench's.
pub fn stamp(text: &str, day: Option<Date>, zone: &TimeZone) -> Result<Stamp, Trouble> {
    let text = text.trim();
    let with_offset = text.contains('T') && text.parse::<Timestamp>().is_ok();
    if with_offset && let Ok(at) = text.parse::<Timestamp>() {
        return Ok(Stamp { at, step_s: step_of(text), day_assumed: false });
    }
    let (date, clock) = match text.split_once(['T', ' ']) {
        Some((d, c)) if d.parse::<Date>().is_ok() => (d.parse::<Date>().ok(), c),
        _ => (None, text),
    };
    let Some(time) = time_of_day(clock) else {
        return Err(Trouble {
            code: "not-a-time",
            text: format!("`{text}` is not a time of day"),
            hint: "write 2026-05-03 11:04, or 11:04, or 8:05 pm".into(),
        });
    };
    let Some(on) = date.or(day) else {
        return Err(Trouble {
            code: "no-day",
            text: format!("`{text}` has no day and the test has none either"),
            hint: "set the day of the test, or write 2026-05-03 11:04".into(),
        });
    };
    let at = wall_to_instant(on.to_datetime(time), zone)?;
    Ok(Stamp { at, step_s: step_of(clock), day_assumed: date.is_none() })
}

/// The same wall time one civil day later, for an end written without its day.
pub fn next_day(s: Stamp, zone: &TimeZone) -> Option<Stamp> {
    let later = s.at.to_zoned_datetime(zone.clone()).datetime().checked_add(1.day()).ok()?;
    Some(Stamp { at: wall_to_instant(later, zone).ok()?, ..s })
}

/// True when the zone's clock was changed between the two instants.
pub fn clock_changed(a: Stamp, b: Stamp, zone: &TimeZone) -> bool {
    zone.to_offset(a.at) != zone.to_offset(b.at)
}

/// An instant as it is kept and handed on: RFC 3339 with the bench's offset, to the second.
pub fn written(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// Whether a text is a day of the calendar as ISO 8601 writes it: "2026-05-03".
pub fn is_day(text: &str) -> bool {
    text.len() == 10 && text.parse::<Date>().is_ok()
}

/// An instant as written at the bench: "2026-05-03 11:04:52".
pub fn wall(at: Timestamp, zone: &TimeZone) -> String {
    at.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%d %H:%M:%S").to_string()
}

fn wall_to_instant(wall: DateTime, zone: &TimeZone) -> Result<Timestamp, Trouble> {
    zone.to_ambiguous_timestamp(wall).unambiguous().map_err(|_| Trouble {
        code: "clock-change",
        text: format!("{wall} happens twice or not at all in the bench's zone: the clocks change there"),
        hint: "write the time with its offset, for example 2026-11-01T01:30:00-04:00".into(),
    })
}

/// Seconds written? Then 1, else 60.
fn step_of(clock: &str) -> u32 {
    let time = clock.split('T').next_back().unwrap_or(clock);
    let time = time.split(['+', 'Z']).next().unwrap_or(time);
    let time = time.find('-').map_or(time, |i| &time[..i]);
    if time.matches(':').count() >= 2 { 1 } else { 60 }
}

fn time_of_day(text: &str) -> Option<Time> {
    let lower = text.trim().to_lowercase().replace('.', "").replace('\u{202f}', " ");
    let (clock, half) =
        match lower.strip_suffix("pm").map(|c| (c, 12)).or(lower.strip_suffix("am").map(|c| (c, 0))) {
            Some((clock, half)) => (clock.trim(), Some(half)),
            None => (lower.trim(), None),
        };
    let parts: Vec<i8> = clock.split(':').map(|p| p.parse().ok()).collect::<Option<_>>()?;
    let (mut hour, minute, second) = match *parts.as_slice() {
        [h, m] => (h, m, 0),
        [h, m, s] => (h, m, s),
        // "8 pm" is a time; "8" alone is not.
        [h] if half.is_some() => (h, 0, 0),
        _ => return None,
    };
    if let Some(half) = half {
        // On a 12-hour clock 12 am is midnight and 12 pm is noon.
        if !(1..=12).contains(&hour) {
            return None;
        }
        hour = hour % 12 + half;
    }
    Time::new(hour, minute, second, 0).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    fn new_york() -> TimeZone {
        TimeZone::get("America/New_York").unwrap()
    }
    fn day(text: &str) -> Option<Date> {
        Some(text.parse().unwrap())
    }
    fn at(text: &str) -> Stamp {
        stamp(text, day("2026-05-03"), &new_york()).unwrap()
    }
    #[test]
    fn noon_and_midnight_on_a_twelve_hour_clock() {
        assert_eq!(at("12:00 AM").at, at("00:00").at);
        assert_eq!(at("12:30 pm").at, at("12:30").at);
        assert_eq!(at("8:05 p.m.").at, at("20:05:00").at);
        assert!((hours_between(at("11:45 AM"), at("12:30 PM")) - 0.75).abs() < 1e-12);
        assert!(stamp("13:00 pm", day("2026-05-03"), &new_york()).is_err());
        assert!(stamp("8", day("2026-05-03"), &new_york()).is_err());
        assert_eq!(stamp("25:00", day("2026-05-03"), &new_york()).unwrap_err().code, "not-a-time");
        assert_eq!(stamp("8:00", None, &new_york()).unwrap_err().code, "no-day");
    }
    #[test]
    fn elapsed_time_over_a_clock_change_is_true_time() {
        // US rule: on 2026-03-08 clocks jump from 02:00 to 03:00, so 22:00 to 06:00 is seven hours.
        let a = stamp("2026-03-07 22:00", None, &new_york()).unwrap();
        let b = stamp("2026-03-08 06:00", None, &new_york()).unwrap();
        assert!((hours_between(a, b) - 7.0).abs() < 1e-12);
        assert!(clock_changed(a, b, &new_york()));
    }
    #[test]
    fn the_double_hour_is_asked_about_not_guessed() {
        assert_eq!(stamp("2026-11-01 01:30", None, &new_york()).unwrap_err().code, "clock-change");
        assert_eq!(stamp("2026-03-08 02:30", None, &new_york()).unwrap_err().code, "clock-change");
        assert!(stamp("2026-11-01T01:30:00-04:00", None, &new_york()).is_ok());
    }
    #[test]
    fn minutes_and_seconds_are_told_apart() {
        assert_eq!(at("11:04").step_s, 60);
        assert_eq!(at("11:04:52").step_s, 1);
        assert_eq!(at("2026-05-03T11:04:52-04:00").step_s, 1);
        assert_eq!(at("2026-05-03 11:04").step_s, 60);
    }
    #[test]
    fn the_next_day_keeps_the_wall_time() {
        let late = stamp("2026-03-07 23:00", None, &new_york()).unwrap();
        assert!((hours_between(late, next_day(late, &new_york()).unwrap()) - 23.0 - 0.0).abs() < 1.01);
        assert_eq!(wall(next_day(late, &new_york()).unwrap().at, &new_york()), "2026-03-08 23:00:00");
    }
}
