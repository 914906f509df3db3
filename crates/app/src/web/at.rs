//! Addresses of things. An id may hold any sign, so each is escaped here and nowhere else.
use super::page::escaped;
use trueplate_core::facts::{Fact, Sort};
use trueplate_core::notebook::Condition;
use trueplate_core::report::Report;

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

/// A load on the bench.
pub fn load(id: &str) -> String {
    format!("/load/{}", escaped(id))
}

/// A test, one question at a time.
pub fn test(id: &str) -> String {
    format!("/test/{}", escaped(id))
}

/// A meter's file as it is read for a test.
pub fn log(sha256: &str, test: &str) -> String {
    format!("/log/{}?test={}", escaped(sha256), escaped(test))
}

/// Sending a meter's file for a test.
pub fn new_log(test: &str) -> String {
    format!("/log/new?test={}", escaped(test))
}

/// The oscilloscope's files of a test.
pub fn captures(test: &str) -> String {
    format!("/captures/{}", escaped(test))
}

/// One of them, looked at.
pub fn capture(test: &str, sha256: &str) -> String {
    format!("/captures/{}/{}", escaped(test), escaped(sha256))
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

/// What may be said of a station.
pub fn facts(model: &str) -> String {
    format!("/facts/{}", escaped(model))
}

/// The trail of a result under a condition, of all samples.
pub fn trail(model: &str, key: &str, condition: &Condition) -> String {
    let mut out = format!("/trail/{}/{}", escaped(model), escaped(key));
    for (i, (axis, value)) in condition.iter().enumerate() {
        let joint = if i == 0 { '?' } else { '&' };
        out.push_str(&format!("{joint}on.{}={}", escaped(axis), escaped(value)));
    }
    out
}

/// Where the readings behind a fact can be seen: the trail of its result, else the curve, the claim, the prices or the
/// comparison it stands in.
pub fn fact(report: &Report, fact: &Fact) -> String {
    let station = || model(&fact.model);
    let Some(found) = report.models.iter().find(|m| m.id == fact.model) else { return String::new() };
    match fact.sort {
        Sort::Price => return format!("{}#prices", station()),
        Sort::Runtime => return format!("{}#runtime", station()),
        Sort::Rank => return "/compare".into(),
        _ => {}
    }
    // A share is computed from the energy; a claim may be judged by what was measured under another condition.
    let key = if fact.key == "usable-share" { "usable-energy" } else { fact.key.as_str() };
    let claim = found.claims.iter().find(|c| c.claim.key == key && c.claim.condition == fact.condition);
    let claim = claim.filter(|_| fact.sort != Sort::Measured);
    let rows =
        |condition: &Condition| found.rows.iter().any(|r| r.result.key == key && r.condition == *condition);
    let condition = claim
        .filter(|c| c.measured.is_some() || c.counted.is_some())
        .map_or(&fact.condition, |c| &c.condition);
    match (rows(condition), claim, fact.trail.first()) {
        (true, ..) => trail(&fact.model, key, condition),
        (_, _, Some(id)) => format!("{}/all", test(id)),
        (_, Some(c), _) => format!("{}/claim/{}", station(), escaped(&c.claim.id)),
        _ => station(),
    }
}

/// A letter to the maker of a station; `new` for a draft.
pub fn letter(model: &str, id: &str) -> String {
    format!("/model/{}/letter/{}", escaped(model), escaped(id))
}

/// A video about a station; `new` for an empty one.
pub fn video(model: &str, id: &str) -> String {
    format!("/model/{}/video/{}", escaped(model), escaped(id))
}

/// A reader's question.
pub fn question(id: &str) -> String {
    format!("/question/{}", escaped(id))
}
