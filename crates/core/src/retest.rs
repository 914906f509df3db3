//! The retest queue: what should be measured again or seen again, and why. Pure; the day is the report's.
use crate::finding::Weight;
use crate::instrument::Instrument;
use crate::judge::Verdict;
use crate::notebook::{Notebook, Specimen, Test};
use crate::outgoing::{Reply, Wants};
use crate::repeat::counts;
use crate::report::{ModelReport, Report};
use crate::stamp::{day_words, days_between};
use std::collections::BTreeMap;

/// Why something is in the queue.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// The maker objects to a figure.
    Disputed,
    /// A reader saw something else.
    Reported,
    /// The sample carries newer firmware than was tested.
    Firmware,
    /// An instrument was calibrated after the tests.
    Recalibrated,
    /// Results speak against the maker on one sample alone.
    OneSample,
    /// The price is older than the settings allow, or was never dated.
    Price,
}

impl Reason {
    /// Stable word for programs.
    pub fn key(self) -> &'static str {
        match self {
            Reason::Disputed => "disputed",
            Reason::Reported => "reported",
            Reason::Firmware => "firmware",
            Reason::Recalibrated => "recalibrated",
            Reason::OneSample => "one-sample",
            Reason::Price => "price",
        }
    }
    /// As a heading.
    pub fn words(self) -> &'static str {
        match self {
            Reason::Disputed => "The maker objects",
            Reason::Reported => "A reader saw something else",
            Reason::Firmware => "Newer firmware than tested",
            Reason::Recalibrated => "An instrument was calibrated after the tests",
            Reason::OneSample => "Tested on one sample only",
            Reason::Price => "The price is old",
        }
    }
}

/// One line of the queue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Retest {
    /// Id of the model.
    pub model: String,
    /// Its name.
    pub name: String,
    /// Why.
    pub reason: Reason,
    /// How much it matters.
    pub weight: Weight,
    /// What was seen. No full stop at the end.
    pub text: String,
    /// What to do.
    pub hint: String,
    /// Kinds of test to be made again, by id.
    pub kinds: Vec<&'static str>,
    /// Sample on which they can be made; empty when none is here.
    pub specimen: String,
    /// Letter or question it comes from; empty for none.
    pub from: String,
}

/// Everything to be done again: what presses first, by reason, then in the order of the models.
pub fn queue(report: &Report) -> Vec<Retest> {
    let mut tests: BTreeMap<&str, Vec<&Test>> = BTreeMap::new();
    for test in report.notebook.tests.iter().filter(|t| counts(t)) {
        tests.entry(&test.specimen).or_default().push(test);
    }
    let one = |m: &ModelReport| {
        let mine = report.notebook.specimens.iter().filter(|s| s.model == m.id);
        let tests = mine.flat_map(|s| tests.get(s.id.as_str()).cloned().unwrap_or_default());
        with_tests(report, m, &tests.collect::<Vec<_>>())
    };
    let mut all: Vec<Retest> = report.models.iter().flat_map(one).collect();
    all.sort_by_key(|r| (r.weight == Weight::Note, r.reason));
    all
}

/// The same for one model.
pub fn of_model(report: &Report, model: &ModelReport) -> Vec<Retest> {
    let of = |t: &&Test| report.notebook.specimen(&t.specimen).is_some_and(|s| s.model == model.id);
    let tests: Vec<&Test> = report.notebook.tests.iter().filter(|t| counts(t)).filter(of).collect();
    let mut all = with_tests(report, model, &tests);
    all.sort_by_key(|r| (r.weight == Weight::Note, r.reason));
    all
}

fn with_tests(report: &Report, model: &ModelReport, tests: &[&Test]) -> Vec<Retest> {
    let notebook = &report.notebook;
    let specimens: Vec<&Specimen> = notebook.specimens.iter().filter(|s| s.model == model.id).collect();
    let here = specimens.iter().find(|s| s.returned.is_empty()).map_or("", |s| &s.id);
    let base = |reason: Reason, weight: Weight, text: String, hint: &str| Retest {
        model: model.id.clone(),
        name: model.name.clone(),
        reason,
        weight,
        text,
        hint: hint.into(),
        kinds: Vec::new(),
        specimen: here.into(),
        from: String::new(),
    };
    let mut out = from_outside(notebook, model, &base);
    out.extend(specimens.iter().filter_map(|s| firmware(s, tests, &base)));
    out.extend(notebook.instruments.iter().filter_map(|i| drifted(report, i, tests, &base)));
    out.extend(one_sample(model, &specimens, tests, &base));
    out.extend(price(report, model, &base));
    out
}

/// Makes a line from reason, weight, text and hint.
type Base<'a> = &'a dyn Fn(Reason, Weight, String, &str) -> Retest;

/// What makers and readers say.
fn from_outside(notebook: &Notebook, model: &ModelReport, base: Base) -> Vec<Retest> {
    let disputed =
        notebook.letters.iter().filter(|l| l.model == model.id && l.reply == Reply::Disputed).map(|l| {
            Retest {
                from: l.id.clone(),
                ..base(
                    Reason::Disputed,
                    Weight::Doubt,
                    format!("the maker objected on {}", day_words(&l.answered)),
                    "test the disputed figure again, three times; then say in the letter whether it stands",
                )
            }
        });
    let reported =
        |q: &&crate::outgoing::ReaderQuestion| q.model == model.id && q.wants == Wants::Report && !q.settled;
    let reported = notebook.questions.iter().filter(reported).map(|q| {
        let n = q.times.max(1);
        let on = if q.on.is_empty() { String::new() } else { format!(" on {}", day_words(&q.on)) };
        let who = if n == 1 { "a reader".to_string() } else { format!("{n} readers") };
        Retest {
            from: q.id.clone(),
            kinds: kinds_of(&q.about),
            ..base(
                Reason::Reported,
                Weight::Doubt,
                format!("{who} reported{on}: {}", q.text.trim().trim_end_matches('.')),
                "test it again; then mark the report as settled",
            )
        }
    });
    disputed.chain(reported).collect()
}

fn kinds_of(key: &str) -> Vec<&'static str> {
    let of_key = |k: &&crate::kind::Spec| k.results.iter().any(|r| r.key == key);
    crate::kinds::KINDS.iter().map(|k| k.spec()).filter(of_key).map(|k| k.id).take(1).collect()
}

/// Kinds of test whose last run on this sample is of older firmware.
fn firmware(specimen: &Specimen, tests: &[&Test], base: Base) -> Option<Retest> {
    let now = specimen.firmware_now();
    if now.is_empty() {
        return None;
    }
    let mine = |t: &&&Test| t.specimen == specimen.id;
    let touched = |kind: &str| {
        let spec = crate::kinds::find(kind).map(|k| k.spec());
        spec.filter(|s| s.results.iter().any(|r| r.varies || r.at_least || r.counted))
    };
    let mut kinds: Vec<&crate::kind::Spec> = Vec::new();
    for test in tests.iter().filter(mine).filter(|t| t.firmware != now) {
        let again = tests.iter().filter(mine).any(|t| t.kind == test.kind && t.firmware == now);
        if let Some(spec) = touched(&test.kind).filter(|s| !again && !kinds.iter().any(|k| k.id == s.id)) {
            kinds.push(spec);
        }
    }
    let first = tests.iter().filter(mine).find(|t| t.firmware != now)?;
    if kinds.is_empty() {
        return None;
    }
    let titles: Vec<String> = kinds.iter().map(|k| k.title.to_lowercase()).collect();
    let label = if specimen.label.is_empty() { String::new() } else { format!("{}: ", specimen.label) };
    let was = if first.firmware.is_empty() {
        "before any was noted".to_string()
    } else {
        format!("on {}", first.firmware)
    };
    let text = format!("{label}carries firmware {now}, tested {was}: {}", titles.join("; "));
    let back = !specimen.returned.is_empty();
    let hint = match back {
        true => "the sample was sent back: it cannot be tested again; say so on the page, or get another",
        false => "repeat the idle draw and the switchover first: updates change them most",
    };
    let line = base(Reason::Firmware, if back { Weight::Note } else { Weight::Doubt }, text, hint);
    Some(Retest {
        kinds: kinds.iter().map(|k| k.id).collect(),
        specimen: if back { String::new() } else { specimen.id.clone() },
        ..line
    })
}

/// A calibration done after the tests, which found the instrument elsewhere than the one before by more than both doubts.
fn drifted(report: &Report, instrument: &Instrument, tests: &[&Test], base: Base) -> Option<Retest> {
    let newest = instrument.calibrations.last()?;
    let uses = |t: &&&Test| t.entries.values().any(|e| e.instrument == instrument.id);
    let before = |t: &&&Test| days_between(&t.day, &newest.on).is_some_and(|d| d > 0);
    let used: Vec<&&Test> = tests.iter().filter(uses).filter(before).collect();
    if used.is_empty() || days_between(&newest.on, &report.as_of).is_none_or(|d| d < 0) {
        return None;
    }
    let n = used.len();
    let count = if n == 1 { "one test was".to_string() } else { format!("{n} tests were") };
    let head = format!("{}, calibrated on {}; {count} made before", instrument.name, day_words(&newest.on));
    let mut kinds: Vec<&'static str> = Vec::new();
    for spec in used.iter().filter_map(|t| crate::kinds::find(&t.kind).map(|k| k.spec())) {
        if !kinds.contains(&spec.id) {
            kinds.push(spec.id);
        }
    }
    let Some(old) = instrument.calibrations.iter().rev().nth(1) else {
        let hint = "they were computed again with it; repeat one of them if it is the only evidence";
        return Some(base(Reason::Recalibrated, Weight::Note, head, hint));
    };
    let (moved, doubt) = (newest.gain_error - old.gain_error, 2.0 * newest.u.hypot(old.u));
    if moved.abs() <= doubt {
        return None;
    }
    let per_cent = crate::shown::four_digits(moved.abs() * 100.0, crate::shown::Style::POINT);
    let text = format!("{head}; it had drifted by {per_cent} %");
    let hint = "nobody knows when it drifted: repeat what was measured between the two calibrations";
    Some(Retest { kinds, ..base(Reason::Recalibrated, Weight::Doubt, text, hint) })
}

/// One sample, and some verdict against the maker rests on it.
fn one_sample(model: &ModelReport, specimens: &[&Specimen], tests: &[&Test], base: Base) -> Option<Retest> {
    if specimens.len() != 1 || tests.is_empty() {
        return None;
    }
    let against =
        model.claims.iter().filter(|c| c.verdict == Verdict::NotMet || c.verdict == Verdict::ProbablyNotMet);
    let titles: Vec<String> = against.filter_map(|c| c.result.map(|r| r.title.to_lowercase())).collect();
    let (weight, text, hint) = match titles.is_empty() {
        true => (
            Weight::Note,
            "every result rests on one sample".to_string(),
            "a second sample shows how much they differ",
        ),
        false => (
            Weight::Gap,
            format!("one sample speaks against the maker: {}", titles.join(", ")),
            "test a second sample, bought without the maker's knowledge, before much hangs on it",
        ),
    };
    Some(base(Reason::OneSample, weight, text, hint))
}

fn price(report: &Report, model: &ModelReport, base: Base) -> Option<Retest> {
    let days = report.notebook.settings.price_days;
    if let Some(price) = model.price.price.as_ref().filter(|_| model.price.old) {
        let age = days_between(&price.on, &report.as_of)?;
        let text = format!("the list price of {} is {age} days old, more than {days}", day_words(&price.on));
        return Some(base(
            Reason::Price,
            Weight::Note,
            text,
            "look it up again and write it down with its day",
        ));
    }
    let undated = report.notebook.model(&model.id).is_some_and(|m| m.prices.iter().any(|p| p.on.is_empty()));
    undated.then(|| {
        base(
            Reason::Price,
            Weight::Note,
            "a price has no date and is never printed".into(),
            "write the day it was seen",
        )
    })
}

#[cfg(test)]
#[path = "retest_test.rs"]
mod tests;
