//! Local clock to instant: one place that knows what a time zone does to a log.
use super::when::{SECOND, Stamp};
use jiff::{civil, tz};

/// What a local time turned out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fit {
    /// One instant, or the order of the rows told which of two.
    Clear,
    /// The clock shows this hour twice and no row before it tells which.
    Twice,
    /// The clock never shows this time: it is skipped in spring.
    Never,
}

/// Turns stamps into instants, with the offset of each quarter of an hour remembered.
pub(crate) struct Resolver {
    zone: Option<tz::TimeZone>,
    quarter: i64,
    offset: Option<i64>,
}

const QUARTER: i64 = 900 * SECOND;

impl Resolver {
    /// `name` must be an IANA name; an unknown one gives `None`.
    pub(crate) fn new(name: Option<&str>) -> Option<Self> {
        let zone = match name {
            None => None,
            Some(name) => Some(tz::TimeZone::get(name).ok()?),
        };
        Some(Resolver { zone, quarter: i64::MIN, offset: None })
    }

    /// Microseconds since the epoch; without a zone or offset the local clock is taken as if it were UTC.
    pub(crate) fn instant(&mut self, stamp: Stamp, last: Option<i64>) -> (i64, Fit) {
        if let Some(offset) = stamp.offset {
            return (stamp.local - i64::from(offset) * SECOND, Fit::Clear);
        }
        let Some(zone) = &self.zone else { return (stamp.local, Fit::Clear) };
        let quarter = stamp.local.div_euclid(QUARTER);
        if quarter == self.quarter
            && let Some(offset) = self.offset
        {
            return (stamp.local - offset, Fit::Clear);
        }
        let Some(civil) = civil_of(stamp.local) else { return (stamp.local, Fit::Never) };
        let micros = |o: tz::Offset| i64::from(o.seconds()) * SECOND;
        self.quarter = quarter;
        self.offset = None;
        match zone.to_ambiguous_timestamp(civil).offset() {
            tz::AmbiguousOffset::Unambiguous { offset } => {
                self.offset = Some(micros(offset));
                (stamp.local - micros(offset), Fit::Clear)
            }
            tz::AmbiguousOffset::Gap { before, .. } => (stamp.local - micros(before), Fit::Never),
            tz::AmbiguousOffset::Fold { before, after } => {
                let (early, late) = (stamp.local - micros(before), stamp.local - micros(after));
                match last {
                    None => (early, Fit::Twice),
                    // Time does not run backwards: once the early reading would, it is the late one.
                    Some(last) if early < last => (late, Fit::Clear),
                    Some(_) => (early, Fit::Clear),
                }
            }
        }
    }

    /// RFC 3339 with the zone's offset; `None` without a zone.
    pub(crate) fn text(&self, instant: i64) -> Option<String> {
        let zone = self.zone.as_ref()?;
        let stamp = jiff::Timestamp::from_microsecond(instant).ok()?;
        let offset = zone.to_offset(stamp).seconds();
        Some(with_offset(instant, offset))
    }
}

/// RFC 3339 text of an instant at an offset in seconds.
pub(crate) fn with_offset(instant: i64, offset: i32) -> String {
    let local = super::when::civil_text(instant + i64::from(offset) * SECOND);
    let (sign, size) = if offset < 0 { ('-', -offset) } else { ('+', offset) };
    format!("{local}{sign}{:02}:{:02}", size / 3600, size / 60 % 60)
}

fn civil_of(local: i64) -> Option<civil::DateTime> {
    let stamp = jiff::Timestamp::from_microsecond(local).ok()?;
    Some(tz::Offset::UTC.to_datetime(stamp))
}
