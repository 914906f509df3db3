//! Anything typed into a field: numbers, quantities and times.
#![no_main]
use jiff::civil::date;
use jiff::tz::TimeZone;
use libfuzzer_sys::fuzz_target;
use std::sync::LazyLock;
use trueplate_core::number::{Marks, number, quantity};
use trueplate_core::quantity::Dim;
use trueplate_core::stamp::{clock_changed, hours_between, next_day, stamp};

static BERLIN: LazyLock<TimeZone> = LazyLock::new(|| TimeZone::get("Europe/Berlin").unwrap_or(TimeZone::UTC));

fuzz_target!(|text: &str| {
    for marks in [Marks::Point, Marks::Comma] {
        if let Some((value, step)) = number(text, marks) {
            assert!(value.is_finite() && step.is_finite());
        }
        for dim in [Dim::Energy, Dim::Power, Dim::Time] {
            if let Ok(typed) = quantity(text, dim, dim.kept_in(), marks) {
                assert!(typed.kept.is_finite());
            }
        }
    }
    for day in [None, Some(date(2026, 10, 25))] {
        if let Ok(s) = stamp(text, day, &BERLIN) {
            let later = next_day(s, &BERLIN);
            assert!(later.is_none_or(|l| hours_between(s, l) > 0.0));
            let _ = later.map(|l| clock_changed(s, l, &BERLIN));
        }
    }
});
