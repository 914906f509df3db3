//! Nights on which the clock changes, in four zones: dates and sizes of the changes from the IANA time zone database.
use crate::support::{answered, codes, has, near};
use trueplate_meters::logs::Options;

/// A row a minute at 360 W over `minutes` of real time, written by a clock that jumps by `jump` minutes at `at`.
fn night(date: &str, from: i64, minutes: i64, at: i64, jump: i64) -> String {
    let mut text = String::from("time,W\n");
    for k in 0..minutes {
        let m = from + k + if from + k >= at { jump } else { 0 };
        text.push_str(&format!("{date} {:02}:{:02}:00,360\n", m / 60, m % 60));
    }
    text
}

#[test]
fn clock_changes_are_resolved_by_the_zone() {
    for (zone, date, at, jump) in [
        ("Europe/Berlin", "2026-03-29", 120, 60),
        ("Europe/Berlin", "2026-10-25", 180, -60),
        ("America/New_York", "2026-03-08", 120, 60),
        ("America/New_York", "2026-11-01", 120, -60),
        ("Australia/Lord_Howe", "2026-04-05", 120, -30),
        ("Australia/Lord_Howe", "2026-10-04", 120, 30),
    ] {
        let text = night(date, 30, 300, at, jump);
        let log = answered("x", text.as_bytes(), Some(zone), Options::default(), None).log;
        // 299 minutes at 360 W: 6 W·h a minute.
        near(zone, log.energy_wh, 299.0 * 6.0, 1e-6);
        assert_eq!((log.gap_count, log.rows), (0, 300), "{zone} {date}: {:?}", codes(&log));
    }
}

#[test]
fn without_a_zone_it_is_said() {
    let autumn =
        answered("x", night("2026-10-25", 30, 300, 180, -60).as_bytes(), None, Options::default(), None).log;
    assert!(has(&autumn, "clock-back-an-hour") || has(&autumn, "block-repeated"), "{:?}", codes(&autumn));
    let spring =
        answered("x", night("2026-03-29", 30, 300, 120, 60).as_bytes(), None, Options::default(), None).log;
    assert!(has(&spring, "hour-jump"), "{:?}", codes(&spring));
}

#[test]
fn an_hour_that_never_comes_is_a_doubt() {
    let text = "time,W\n2026-03-29 02:30:00,360\n2026-03-29 02:31:00,360\n";
    let log = answered("x", text.as_bytes(), Some("Europe/Berlin"), Options::default(), None).log;
    assert!(has(&log, "dst-hour-skipped"));
    let text = "time,W\n2026-10-25 02:30:00,360\n2026-10-25 02:31:00,360\n";
    let log = answered("x", text.as_bytes(), Some("Europe/Berlin"), Options::default(), None).log;
    assert!(has(&log, "dst-hour-twice"));
}

#[test]
fn unknown_zone_is_refused() {
    let log = answered(
        "x",
        b"time,W\n2026-03-29 02:30:00,360\n2026-03-29 02:31:00,360\n",
        Some("Mars/Base"),
        Options::default(),
        None,
    )
    .log;
    assert!(has(&log, "unknown-zone") && log.energy_wh.is_none());
}
