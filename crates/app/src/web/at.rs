//! Addresses of things. An id may hold any sign, so each is escaped here and nowhere else.
use super::page::escaped;

/// A station.
pub fn model(id: &str) -> String {
    format!("/model/{}", escaped(id))
}

/// A sample.
pub fn specimen(id: &str) -> String {
    format!("/specimen/{}", escaped(id))
}

/// The form for a new sample of a station.
pub fn new_specimen(model: &str) -> String {
    format!("/specimen/new?model={}", escaped(model))
}

/// A test, one question at a time.
pub fn test(id: &str) -> String {
    format!("/test/{}", escaped(id))
}

/// One answer among all answers of a test.
pub fn answer(test: &str, field: &str) -> String {
    format!("/test/{}/all#{}", escaped(test), escaped(field))
}

/// Where a finding can be looked at; empty when it belongs to no single test.
pub fn finding(test: &str, field: &str) -> String {
    if test.is_empty() { String::new() } else { answer(test, field) }
}

/// Choosing a new test for a sample.
pub fn new_test(specimen: &str) -> String {
    format!("/test/new?specimen={}", escaped(specimen))
}

/// What one calibration of an instrument changed.
pub fn effect(instrument: &str, calibration: usize) -> String {
    format!("/instrument/{}/effect/{calibration}", escaped(instrument))
}
