//! The clock, asked here and nowhere else.
use jiff::Timestamp;
use jiff::tz::TimeZone;

/// Now, RFC 3339 with the offset of a zone; UTC when the zone is not known.
pub fn now_in(zone: &str) -> String {
    let zone = TimeZone::get(zone).unwrap_or(TimeZone::UTC);
    Timestamp::now().to_zoned_datetime(zone).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// Today in a zone, ISO 8601.
pub fn today_in(zone: &str) -> String {
    now_in(zone)[..10].to_string()
}

/// Now in UTC, in the short form of calendars: `20260503T120000Z`.
pub fn stamp_utc() -> String {
    Timestamp::now().strftime("%Y%m%dT%H%M%SZ").to_string()
}
