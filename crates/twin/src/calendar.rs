//! Civil time of the invented bench. Instants are seconds since 1970 (UTC); what is written is local time.
use jiff::civil::DateTime;
use jiff::{Timestamp, tz::TimeZone};
use std::sync::LazyLock;

/// The bench stands in this zone (120 V, 60 Hz).
pub const ZONE: &str = "America/New_York";

static TZ: LazyLock<TimeZone> = LazyLock::new(|| TimeZone::get(ZONE).unwrap_or(TimeZone::UTC));

/// An instant, s.
pub type Instant = f64;

fn local(at: Instant) -> DateTime {
    Timestamp::from_second(at.floor() as i64).map(|t| TZ.to_datetime(t)).unwrap_or_default()
}

/// The instant of a local date and time; nonsense gives the start of 1970.
pub fn instant(date: &str, hour: i8, minute: i8) -> Instant {
    let civil = date.parse::<jiff::civil::Date>().map(|d| d.at(hour, minute, 0, 0));
    civil.ok().and_then(|c| TZ.to_timestamp(c).ok()).map_or(0.0, |t| t.as_second() as f64)
}

/// Local time to the minute, seconds dropped, as a person reads a clock: `2026-03-07T20:31`.
pub fn written(at: Instant) -> String {
    let c = local(at);
    format!("{:04}-{:02}-{:02}T{:02}:{:02}", c.year(), c.month(), c.day(), c.hour(), c.minute())
}

/// Local time to the second: `2026-03-07T20:31:07`.
pub fn written_second(at: Instant) -> String {
    format!("{}:{:02}", written(at), local(at).second())
}

/// A written local time as RFC 3339 with the zone's offset; nonsense gives the start of 1970.
pub fn rfc3339(written: &str) -> String {
    let civil = written.parse::<DateTime>().unwrap_or_default();
    let at = TZ.to_timestamp(civil).unwrap_or_default();
    at.to_zoned_datetime(TZ.clone()).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// The hour of the day, with a fraction.
pub fn hour(at: Instant) -> f64 {
    let c = local(at);
    f64::from(c.hour()) + f64::from(c.minute()) / 60.0
}

/// The same local time of day `days` later (daylight saving or not).
pub fn on_day(at: Instant, days: i32, clock_h: i8, clock_min: i8) -> Instant {
    let date = local(at).date();
    let later = date.checked_add(jiff::Span::new().days(days)).unwrap_or(date);
    instant(&later.to_string(), clock_h, clock_min)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Clocks in this zone go forward on 2026-03-08 at 02:00 (US Energy Policy Act of 2005: second Sunday of March).
    #[test]
    fn the_spring_night_is_an_hour_short() {
        let evening = instant("2026-03-07", 20, 0);
        let morning = on_day(evening, 1, 8, 0);
        assert_eq!(morning - evening, 11.0 * 3600.0);
        assert_eq!(written(morning + 59.0), "2026-03-08T08:00");
        assert_eq!(hour(morning), 8.0);
    }
}
