//! From a number back to what was written: formula, values, each reading as typed, the budget, what was changed.
use super::entry::found;
use super::fault::Fault;
use super::page::{Answer, Ask, Top, escaped, html, style};
use super::words;
use askama::Template;
use axum::extract::Path;
use trueplate_core::budget::{budget, in_words};
use trueplate_core::kind::{Outcome, Spec};
use trueplate_core::notebook::{Condition, FileRef, Notebook, Test};
use trueplate_core::quantity::Unit;
use trueplate_core::repeat::ResultRow;
use trueplate_core::report::titled;
use trueplate_core::shown::{four_digits, shown};
use trueplate_pages::piece;

#[derive(Template)]
#[template(path = "trail.html")]
struct Page {
    top: Top,
    title: String,
    model: String,
    name: String,
    sources: Vec<Source>,
}

/// A result of one specimen under one firmware.
struct Source {
    about: String,
    value: String,
    formula: &'static str,
    superseded: bool,
    budget: Vec<Line>,
    in_words: String,
    tests: Vec<Tested>,
}

struct Line {
    words: String,
    share: String,
    width: String,
    u: String,
    shared: bool,
}

struct Tested {
    id: String,
    title: String,
    day: String,
    note: String,
    steps: Vec<StepLine>,
    readings: Vec<ReadingLine>,
    findings: Vec<(&'static str, String, String)>,
    changes: Vec<super::history::ChangeLine>,
}

struct StepLine {
    symbol: &'static str,
    words: String,
    value: String,
    field: &'static str,
}

struct ReadingLine {
    key: &'static str,
    label: &'static str,
    text: String,
    said: String,
    instrument: String,
    at: String,
    files: Vec<FileRef>,
}

/// Address of the trail of a result.
pub fn address(model: &str, row: &ResultRow) -> String {
    let mut out = format!(
        "/trail/{}/{}?specimen={}&firmware={}",
        escaped(model),
        row.result.key,
        escaped(&row.specimen),
        escaped(&row.firmware)
    );
    for (axis, value) in &row.condition {
        out.push_str(&format!("&on.{}={}", escaped(axis), escaped(value)));
    }
    out
}

/// The trail of one result; without a sample in the address, of all samples under that condition.
pub async fn show(ask: Ask, Path((model, key)): Path<(String, String)>) -> Answer {
    let report = ask.report.models.iter().find(|m| m.id == model);
    let report = report.ok_or_else(|| super::models::missing(&model))?;
    let asked: Condition = ask
        .query
        .0
        .iter()
        .filter_map(|(name, value)| Some((name.strip_prefix("on.")?.to_string(), value.clone())))
        .collect();
    let (specimen, firmware) = (ask.query.get("specimen"), ask.query.get("firmware"));
    let fits = |r: &&ResultRow| {
        r.result.key == key
            && (r.condition == asked || (asked.is_empty() && specimen.is_empty()))
            && (specimen.is_empty() || (r.specimen == specimen && r.firmware == firmware))
    };
    let rows: Vec<&ResultRow> = report.rows.iter().filter(fits).collect();
    let first = rows.first().ok_or_else(|| {
        let words =
            format!("{} has no such result any more: the readings it came from were changed.", report.name);
        Fault::Missing(words)
    })?;
    Ok(html(&Page {
        top: ask.top(),
        title: words::unbroken(&titled(first.result, &first.condition)),
        model,
        name: report.name.clone(),
        sources: rows.iter().map(|r| source(&ask, r)).collect(),
    }))
}

fn source(ask: &Ask, row: &ResultRow) -> Source {
    let notebook = ask.notebook();
    let (unit, style) = (row.result.shown_in(), ask.style());
    let lines = budget(&row.value, notebook);
    let mut about = vec![words::specimen_name(notebook, &row.specimen)];
    about.extend((!row.firmware.is_empty()).then(|| format!("firmware {}", row.firmware)));
    about.push(words::plural(row.tests.len(), "test", "tests"));
    let tests = row.tests.iter().filter_map(|id| {
        let (test, spec) = found(notebook, id).ok()?;
        Some(tested(test, spec, notebook, ask.report.outcomes.get(id)?))
    });
    Source {
        about: about.join(" · "),
        value: piece::number(&row.value, unit, style),
        formula: row.result.formula,
        superseded: row.superseded,
        in_words: in_words(&lines).unwrap_or_else(|| {
            "No instrument is named, so nothing is known of the error of this number.".into()
        }),
        budget: lines
            .into_iter()
            .map(|l| Line {
                share: if l.share < 0.005 { "< 1 %".into() } else { format!("{:.0} %", l.share * 100.0) },
                width: format!("{:.1}", l.share * 100.0),
                u: format!("{} {}", four_digits(unit.shown_step(l.u), style), unit.symbol),
                shared: l.shared,
                words: l.words,
            })
            .collect(),
        tests: tests.collect(),
    }
}

fn tested(test: &Test, spec: &'static Spec, notebook: &Notebook, outcome: &Outcome) -> Tested {
    let style = style(&notebook.settings);
    let step = |s: &trueplate_core::kind::Step| {
        let unit = Unit::of(s.unit, s.value.dim).unwrap_or(s.value.dim.kept_in());
        StepLine {
            symbol: s.symbol,
            words: s.words.clone(),
            value: piece::written(&shown(&s.value, unit, style)),
            field: s.field,
        }
    };
    let reading = |f: &&'static trueplate_core::field::FieldSpec| {
        let entry = super::stage::answered(test, f.key)?;
        let said = words::answer(f, entry, notebook, test);
        Some(ReadingLine {
            key: f.key,
            label: f.label,
            said: if said == entry.text { String::new() } else { said },
            text: entry.text.clone(),
            instrument: notebook.instrument(&entry.instrument).map_or_else(String::new, |i| i.name.clone()),
            at: words::clock_on(&entry.at, &test.day, &notebook.settings),
            files: entry.files.clone(),
        })
    };
    Tested {
        id: test.id.clone(),
        title: spec.title.into(),
        day: test.day.clone(),
        note: test.note.clone(),
        steps: outcome.steps.iter().map(step).collect(),
        readings: spec.fields.iter().filter_map(reading).collect(),
        findings: outcome
            .findings
            .iter()
            .map(|f| (super::models::weight(f), f.text.clone(), f.hint.clone()))
            .collect(),
        changes: super::history::of_test(notebook, &test.id),
    }
}
