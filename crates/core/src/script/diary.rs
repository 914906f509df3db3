//! Times of day said of a test, against those written down: "the Fell ran from 6:48 AM to 8:23 AM".
use super::clock::Spoken;
use super::judge::Desk;
use super::scene::Scene;
use super::{Judgement, Line};
use crate::report::Report;
use jiff::tz::TimeZone;

/// The times of day a test was written down with, in minutes since midnight, its start first.
pub struct Day {
    /// Id of the test.
    pub test: String,
    /// Start and all that came later.
    pub minutes: Vec<u32>,
}

/// The fields that hold times of a test, its start first.
const TIMES: [&str; 4] = ["start", "at_80", "at_full", "end"];

/// The days of a model's tests.
pub fn days(report: &Report, model: &str) -> Vec<Day> {
    let of =
        |t: &&crate::notebook::Test| report.notebook.specimen(&t.specimen).is_some_and(|s| s.model == model);
    let zone = TimeZone::get(&report.notebook.settings.zone).unwrap_or(TimeZone::UTC);
    let day = |t: &crate::notebook::Test| {
        let written = |key: &&str| {
            let text = &t.entries.get(*key)?.text;
            let stamp = crate::stamp::stamp(text, t.day.parse().ok(), &zone).ok()?;
            let time = stamp.at.to_zoned_datetime(zone.clone());
            Some(60 * u32::try_from(time.hour()).ok()? + u32::try_from(time.minute()).ok()?)
        };
        let minutes: Vec<u32> = TIMES.iter().filter_map(written).collect();
        (minutes.len() > 1).then(|| Day { test: t.id.clone(), minutes })
    };
    let tests = report.notebook.tests.iter().filter(|t| crate::repeat::counts(t));
    tests.filter(of).filter_map(day).collect()
}

fn is(s: Spoken, minutes: u32) -> bool {
    if s.sure { s.minutes == minutes } else { s.minutes % 720 == minutes % 720 }
}

/// Two times of day, the first of them the start of a test of the model spoken of: the second must be one of that test.
pub fn times(desk: &Desk, scene: &Scene) -> Option<Line> {
    let [a, b] = scene.stamps.as_slice() else { return None };
    let joined = b.at.checked_sub(1).map(|i| scene.word(i));
    if scene.asks || !matches!(joined, Some("to" | "until" | "till" | "and")) {
        return None;
    }
    let [model] = desk.models_at(scene, a.at)[..] else { return None };
    let days = days(desk.book.report, &desk.book.report.models[model].id);
    let mut begun = days.iter().filter(|d| is(*a, d.minutes[0])).peekable();
    begun.peek()?;
    let says = scene.text(a.at, b.to);
    let line = |judgement, record: String, hint: String| Line {
        line: scene.tokens[a.at].line,
        says: says.clone(),
        fact: None,
        record: Some(record),
        judgement,
        hint,
    };
    let words = |d: &Day| {
        let clock = |m: &u32| format!("{:02}:{:02}", m / 60, m % 60);
        format!("{} in test {}", d.minutes.iter().map(clock).collect::<Vec<_>>().join(", "), d.test)
    };
    let all: Vec<&Day> = begun.collect();
    if let Some(d) = all.iter().find(|d| d.minutes[1..].iter().any(|m| is(*b, *m))) {
        return Some(line(Judgement::Agrees, words(d), String::new()));
    }
    let record = all.iter().map(|d| words(d)).collect::<Vec<_>>().join("; ");
    Some(line(Judgement::Differs, record.clone(), format!("written down are {record}")))
}
