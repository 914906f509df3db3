//! What the bench says, laid out for looking up: facts, what they replaced, single tests and trials.
use super::lexicon::{Takes, takes};
use crate::facts::{self, Fact, Sort};
use crate::notebook::Condition;
use crate::report::{ModelReport, Report};
use crate::shown::{Style, shown, usual};
use crate::uncertain::Value;

/// Whose word a mark is.
#[derive(Clone, Debug, PartialEq)]
pub enum Whose {
    /// Measured or computed here.
    Bench,
    /// A single test or trial.
    Test,
    /// The maker's; true when the bench speaks against it.
    Maker(bool),
    /// No longer so, and why.
    Former(String),
}

/// A number the bench knows.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Id of its fact.
    pub fact: Option<String>,
    /// Index of its model.
    pub model: usize,
    /// Result key.
    pub key: String,
    /// Sort of amount.
    pub takes: Takes,
    /// Currency of money.
    pub currency: String,
    /// Value in the unit its dimension is kept in.
    pub x: f64,
    /// Half-width of the 95 % interval; 0 when unknown.
    pub half: f64,
    /// Condition.
    pub condition: Condition,
    /// Whose word.
    pub whose: Whose,
    /// As printed.
    pub text: String,
}

/// Everything a script can be held against.
pub struct Book<'a> {
    /// The report.
    pub report: &'a Report,
    /// All marks, by model.
    pub marks: Vec<Vec<Mark>>,
    /// Trials per model: key, n, k beyond the claim, fact id.
    pub counts: Vec<Vec<(String, f64, f64, String)>>,
}

fn mark(model: usize, f: &Fact) -> Mark {
    let whose = match (f.sort, f.former.as_str()) {
        (_, why) if !why.is_empty() => Whose::Former(why.into()),
        (Sort::Claimed, _) => Whose::Maker(f.do_not_say.iter().any(|d| d.contains("without \"claimed\""))),
        _ => Whose::Bench,
    };
    Mark {
        fact: Some(f.id.clone()),
        model,
        takes: takes(&f.key),
        currency: f.unit.split('/').next().filter(|u| u.len() == 3).unwrap_or("").to_string(),
        key: f.key.clone(),
        x: f.value.x,
        half: if f.value.has_u() { f.value.half95() } else { 0.0 },
        condition: f.condition.clone(),
        whose,
        text: f.rounded.clone(),
    }
}

impl<'a> Book<'a> {
    /// Lays out a report.
    pub fn of(report: &'a Report) -> Book<'a> {
        let mut book = Book { report, marks: Vec::new(), counts: Vec::new() };
        book.marks.resize_with(report.models.len(), Vec::new);
        book.counts.resize_with(report.models.len(), Vec::new);
        let index = |id: &str| report.models.iter().position(|m| m.id == id);
        for f in facts::facts(report) {
            let Some(m) = index(&f.model) else { continue };
            match f.sort {
                Sort::Measured | Sort::Claimed | Sort::Price | Sort::Runtime => book.marks[m].push(mark(m, &f)),
                Sort::Count if f.id.ends_with("/beyond") => {
                    let n = report.models[m].claims.iter().find_map(|c| {
                        c.counted.as_ref().filter(|n| c.claim.key == f.key && n.k as f64 == f.value.x).map(|n| n.n)
                    });
                    book.counts[m].push((f.key.clone(), n.unwrap_or(0) as f64, f.value.x, f.id.clone()));
                }
                _ => {}
            }
        }
        for f in facts::former(report) {
            if let Some(m) = index(&f.model) {
                let old = mark(m, &f);
                book.marks[m].push(old);
            }
        }
        for (m, model) in report.models.iter().enumerate() {
            let single = tests(report, m, model);
            book.marks[m].extend(single);
        }
        book
    }

    /// The runtime at a load, worked out when it is asked for.
    pub fn runtime(&self, model: usize, watts: f64) -> Option<Mark> {
        let f = facts::runtime(self.report, &self.report.models[model], watts)?;
        Some(mark(model, &f))
    }

    /// Claimed continuous power in W.
    pub fn rated_w(&self, model: usize) -> Option<f64> {
        let claims = &self.report.models[model].claims;
        claims.iter().find(|c| c.claim.key == "sustained-output").and_then(|c| c.limit)
    }
}

fn tests(report: &Report, m: usize, model: &ModelReport) -> Vec<Mark> {
    let mut out = Vec::new();
    let now = |t: &&crate::notebook::Test| {
        let specimen = report.notebook.specimen(&t.specimen);
        specimen.is_some_and(|s| s.model == model.id && (s.firmware.is_empty() || s.firmware_now() == t.firmware))
    };
    for test in report.notebook.tests.iter().filter(|t| crate::repeat::counts(t)).filter(now) {
        let Some(outcome) = report.outcomes.get(&test.id) else { continue };
        let mut add = |key: &str, value: &Value, condition: &Condition, unit: &'static crate::quantity::Unit| {
            out.push(Mark {
                fact: None,
                model: m,
                key: key.into(),
                takes: takes(key),
                currency: String::new(),
                x: value.x,
                half: if value.has_u() { value.half95() } else { 0.0 },
                condition: condition.clone(),
                whose: Whose::Test,
                text: format!("{} in test {}", shown(value, unit, Style::POINT).line(), test.id),
            });
        };
        let kind_keys = |key: &str| report.kinds.iter().any(|k| k.id == test.kind && k.results.iter().any(|r| r.key == key));
        for found in &outcome.results {
            add(found.result.key, &found.value, &found.condition, found.result.shown_in());
        }
        for (found, _) in &outcome.failed {
            add(found.result.key, &found.value, &found.condition, found.result.shown_in());
        }
        for trials in &outcome.trials {
            for value in &trials.values {
                add(trials.result.key, value, &trials.condition, trials.result.shown_in());
            }
        }
        // How long a discharge lasted is a runtime at its mean power.
        if let (Some(row), true) = (&outcome.row, kind_keys("usable-energy")) {
            let load = Condition::from([("load".to_string(), format!("{:.0} W", row.mean_w))]);
            add("runtime", &row.hours.clone().value(), &load, usual(crate::quantity::Dim::Time));
        }
    }
    out
}
