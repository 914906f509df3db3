//! The buyer's question: which of these stations runs my devices, and for how long.
//!
//! One question in, one answer per model out, each with its probability, its limits and its reason; then the cheapest
//! that suffices and the next one. What is not known is said to be unknown, and the test that would tell is named.
//!
//! The joint probability is the product over limits and runtime. They rest on different tests; where they share a
//! meter's gain the true value is a little higher, so the product errs on the cautious side.
mod choose;
mod demand;
mod device;
mod grounds;
mod library;
mod limit;
mod minutes;
mod one;
mod published;
mod seen;
mod sheet;
mod solar;
mod store;
mod typed;
mod words;

pub use choose::Choice;
pub use device::{Device, device};
pub use grounds::{Ground, Grounds, NotHeld, OneLaw, Seen};
pub use library::{MEASURED, known};
pub use limit::Limit;
pub use minutes::{Served, Station, serve, serve_all};
pub use one::{ModelAnswer, Older, Otherwise, Panels};
pub use published::{Published, Reply};
pub use sheet::{Chosen, Held, Row, Sheet};
pub use solar::{Sky, Solar, panels_for_ever};
pub use typed::{Misread, Typed};

use crate::finding::Finding;
use crate::report::Report;
use demand::Demand;
use serde::{Deserialize, Serialize};

/// What somebody asks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Question {
    /// All of them hang on the station together.
    pub devices: Vec<Device>,
    /// For how many days, above 0, at most 366.
    pub days: f64,
    /// Panels that charge it meanwhile.
    pub solar: Option<Solar>,
    /// The low-load switch-off has been disabled where the owner can.
    pub switch_off_disabled: bool,
    /// The outlet stays on between uses; otherwise it is switched off by hand, and what the station takes then is not
    /// counted.
    pub outlet_stays_on: bool,
    /// Mains voltage where they stand, V; 0 when not said.
    pub mains_v: f64,
}

impl Default for Question {
    fn default() -> Self {
        Question {
            devices: Vec::new(),
            days: 1.0,
            solar: None,
            switch_off_disabled: false,
            outlet_stays_on: true,
            mains_v: 0.0,
        }
    }
}

/// The answer in a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Word {
    /// Joint probability 0.95 or more.
    Yes,
    /// 0.80 or more.
    Probably,
    /// 0.20 or less.
    No,
    /// Neither, or something that decides it was not measured.
    Unknown,
}

impl Word {
    /// The word for a joint probability.
    pub fn of(p: f64) -> Word {
        match p {
            p if p >= 0.95 => Word::Yes,
            p if p >= 0.80 => Word::Probably,
            p if p <= 0.20 => Word::No,
            _ => Word::Unknown,
        }
    }
    /// Stable word for programs.
    pub fn key(self) -> &'static str {
        match self {
            Word::Yes => "yes",
            Word::Probably => "probably",
            Word::No => "no",
            Word::Unknown => "unknown",
        }
    }
    /// As printed.
    pub fn words(self) -> &'static str {
        match self {
            Word::Unknown => "not known",
            other => other.key(),
        }
    }
    /// Enough for whoever asks.
    pub fn suffices(self) -> bool {
        matches!(self, Word::Yes | Word::Probably)
    }
}

/// Everything that can be said to a question.
#[derive(Clone, Debug)]
pub struct Answers {
    /// One per model of the report, in its order; empty when the question makes no sense.
    pub models: Vec<ModelAnswer>,
    /// The cheapest that suffices, by dated list price in the bench's currency.
    pub cheapest: Option<Choice>,
    /// The next one, and what it costs or gives more.
    pub runner_up: Option<Choice>,
    /// Cheaper ones that do not suffice, dearest first, and why not.
    pub cheaper: Vec<Choice>,
    /// Cheaper than the next one, and they would do once their low-load switch-off is disabled; cheapest first.
    pub after_setting: Vec<Choice>,
    /// Said first where somebody's health hangs on it; empty otherwise. Then no station is recommended.
    pub caution: String,
    /// What is taken for granted.
    pub assumed: Vec<String>,
    /// A paragraph ready to be pasted under a viewer's question.
    pub paragraph: String,
    /// What was noticed in the question or stands in the way of an answer.
    pub findings: Vec<Finding>,
}

/// Longest time asked about, days.
const DAYS_MAX: f64 = 366.0;

impl Grounds {
    /// What answers rest on, gathered from a whole report.
    pub fn of(report: &Report) -> Grounds {
        seen::grounds(report)
    }
}

/// Answers a question from a report. Total: a question that makes no sense is answered with findings.
pub fn ask(report: &Report, question: &Question) -> Answers {
    ask_on(&Grounds::of(report), question)
}

/// The same from what was gathered or published of it.
pub fn ask_on(grounds: &Grounds, question: &Question) -> Answers {
    let mut findings = faults(grounds, question);
    if !findings.is_empty() {
        return nothing(findings);
    }
    let demand = Demand::of(&question.devices, question.days, question.outlet_stays_on);
    let sun = match question.solar.as_ref().map(|s| solar::sunlight(s, &demand)) {
        None => None,
        Some(Ok(sun)) => sun.or_else(|| {
            findings.push(Finding::doubt(
                "no-sun",
                "solar",
                "the sun brings nothing there on that day",
                "look at latitude, date, tilt and direction of the panel; the answer counts without sun",
            ));
            None
        }),
        Some(Err(finding)) => return nothing(vec![finding]),
    };
    let style = grounds.style();
    let asking = |of| one::Asked { of, question, demand: &demand, sun: sun.as_ref(), style };
    let asked: Vec<one::Asked> = grounds.models.iter().map(asking).collect();
    let mut models: Vec<ModelAnswer> = asked.iter().map(one::answer).collect();
    if let Some(sun) = &sun {
        dark_hours(&asked, sun, &mut models);
    }
    let medical = question.devices.iter().any(|d| d.medical);
    let chosen = if medical {
        choose::Chosen::default()
    } else {
        choose::choose(grounds, &models, demand.steady(), &mut findings)
    };
    let caution = if medical { words::CAUTION.to_string() } else { String::new() };
    let mut answers = Answers {
        models,
        cheapest: chosen.cheapest,
        runner_up: chosen.runner_up,
        cheaper: chosen.cheaper,
        after_setting: chosen.after_setting,
        caution,
        assumed: words::assumed(question, sun.as_ref(), style),
        paragraph: String::new(),
        findings,
    };
    answers.paragraph = words::paragraph(question, &answers, style);
    answers
}

/// Hours without power where the sun does not surely suffice, outlets coming back at a tenth of the store.
fn dark_hours(asked: &[one::Asked], sun: &store::Sunlight, models: &mut [ModelAnswer]) {
    let short = models.iter_mut().zip(asked).filter(|(m, _)| m.p.is_none_or(|p| p < 0.95));
    let (models, stations): (Vec<_>, Vec<_>) =
        short.filter_map(|(model, asked)| Some((model, one::station(asked, sun)?))).unzip();
    for (model, served) in models.into_iter().zip(serve_all(&stations, &sun.load, &sun.light)) {
        model.dark_h = Some(f64::from(served.minutes_off) / 60.0);
    }
}

fn nothing(findings: Vec<Finding>) -> Answers {
    let paragraph = findings.first().map_or_else(String::new, |f| format!("No answer: {}.", f.text));
    Answers {
        models: Vec::new(),
        cheapest: None,
        runner_up: None,
        cheaper: Vec::new(),
        after_setting: Vec::new(),
        caution: String::new(),
        assumed: Vec::new(),
        paragraph,
        findings,
    }
}

fn faults(grounds: &Grounds, question: &Question) -> Vec<Finding> {
    let mut findings: Vec<Finding> = question.devices.iter().filter_map(Device::fault).collect();
    if question.devices.is_empty() {
        findings.push(Finding::gap(
            "no-device",
            "device",
            "no device is named",
            "say what is to run, and its power",
        ));
    }
    if !(question.days > 0.0 && question.days <= DAYS_MAX) {
        findings.push(Finding::gap(
            "days-out-of-range",
            "days",
            format!("{} days cannot be answered", question.days),
            "ask for more than 0 and at most 366 days",
        ));
    }
    if !(question.mains_v >= 0.0 && question.mains_v.is_finite()) {
        let text = format!("{} V is no mains voltage", question.mains_v);
        findings.push(Finding::gap("mains-out-of-range", "mains", text, "write 120 V or 230 V"));
    }
    if !grounds.models.iter().any(|m| m.tested) {
        findings.push(Finding::gap(
            "no-station-tested",
            "bench",
            "no station has been tested yet",
            "test one: a discharge from full to the cut-off answers the first questions",
        ));
    }
    findings
}
