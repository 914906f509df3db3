//! All questions of a test on one page, for the laptop. An answer that was kept is changed only with a reason.
use super::Site;
use super::ask::with_unit;
use super::entry::{found, instruments};
use super::fault::Fault;
use super::form::{Sent, Troubles, stand, unchanged};
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::stage::answered;
use super::words;
use crate::desk::{Deed, now};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::field::{FieldSpec, Shape};
use trueplate_core::kind::Spec;
use trueplate_core::notebook::{Entry, FileRef, Notebook, Test};
use trueplate_core::record::Record;

#[derive(Template)]
#[template(path = "sheet.html")]
struct Page {
    top: Top,
    id: String,
    title: &'static str,
    specimen: String,
    model: String,
    rows: Vec<Row>,
    test: Test,
    firmware: Vec<(String, bool)>,
    why: String,
    findings: Vec<(String, &'static str, String, String)>,
    changes: Vec<super::history::ChangeLine>,
    stand: String,
    troubles: Troubles,
}

struct Row {
    key: &'static str,
    label: &'static str,
    required: bool,
    text: String,
    understood: String,
    at: String,
    choices: Vec<(String, String, bool)>,
    instruments: Vec<(String, String, bool)>,
    files: Vec<FileRef>,
}

fn row(field: &'static FieldSpec, test: &Test, notebook: &Notebook, sent: Option<&Sent>) -> Row {
    let entry = answered(test, field.key);
    let kept = entry.map_or("", |e| &e.text);
    let text = sent.map_or(kept, |s| s.get(field.key)).to_string();
    let choices = match field.shape {
        Shape::Choice(all) => {
            all.iter().map(|c| (c.key.to_string(), c.label.to_string(), c.key == text)).collect()
        }
        Shape::Load => notebook.loads.iter().map(|l| (l.id.clone(), l.name.clone(), l.id == text)).collect(),
        _ => Vec::new(),
    };
    Row {
        key: field.key,
        label: field.label,
        required: field.required,
        understood: entry.and_then(|e| words::understood(field, e, notebook, test).ok()).unwrap_or_default(),
        at: entry.map_or_else(String::new, |e| words::clock(&e.at, &notebook.settings)),
        choices,
        instruments: field.measured().map(|(d, _)| instruments(notebook, d, entry)).unwrap_or_default(),
        files: entry.map(|e| e.files.clone()).unwrap_or_default(),
        text,
    }
}

fn page(
    ask: &Ask,
    test: &Test,
    spec: &'static Spec,
    sent: Option<&Sent>,
    troubles: Vec<(String, String)>,
) -> Page {
    let notebook = ask.notebook();
    let done = super::stage::is_done(test);
    let findings = ask.report.outcomes.get(&test.id).into_iter().flat_map(|o| &o.findings);
    let findings = findings.filter(|f| done || f.code != "missing");
    let firmware = notebook
        .specimen(&test.specimen)
        .map(|s| s.firmware.iter().map(|f| (f.version.clone(), f.version == test.firmware)).collect());
    Page {
        top: ask.top(),
        id: test.id.clone(),
        title: spec.title,
        specimen: words::specimen_name(notebook, &test.specimen),
        model: notebook.model_of(&test.specimen).map_or_else(String::new, |m| m.id.clone()),
        rows: spec.fields.iter().map(|f| row(f, test, notebook, sent)).collect(),
        firmware: firmware.unwrap_or_default(),
        why: sent.map_or_else(String::new, |s| s.text("why")),
        findings: findings
            .map(|f| (f.place.clone(), super::models::weight(f), f.text.clone(), f.hint.clone()))
            .collect(),
        changes: super::history::of_test(notebook, &test.id),
        stand: sent.map_or_else(|| stand(test), |s| s.get("stand").into()),
        test: test.clone(),
        troubles: Troubles(troubles),
    }
}

/// Every question with its answer.
pub async fn show(ask: Ask, Path(id): Path<String>) -> Answer {
    let (test, spec) = found(ask.notebook(), &id)?;
    Ok(html(&page(&ask, test, spec, None, Vec::new())))
}

/// The test as it would stand, whether something that was kept is changed, and what cannot be read.
fn read(sent: &Sent, test: &Test, spec: &Spec, notebook: &Notebook) -> (Test, bool, Vec<(String, String)>) {
    let (mut new, mut changed, mut troubles) = (test.clone(), false, Vec::new());
    for field in spec.fields.iter().filter(|f| !f.shape.takes_files()) {
        let before = answered(test, field.key);
        let typed = sent.text(field.key);
        let as_before = before.is_some_and(|b| b.text == typed);
        let unit = field.measured().map_or("", |(_, u)| u);
        let text = if as_before { typed } else { with_unit(field, &typed, unit) };
        let instrument = sent.text(&format!("{}-instrument", field.key));
        let same = before.is_some_and(|b| b.text == text && b.instrument == instrument);
        if same || (before.is_none() && text.is_empty()) {
            continue;
        }
        changed |= before.is_some();
        if text.is_empty() {
            new.entries.remove(field.key);
            continue;
        }
        let entry = Entry { text, instrument, at: now(notebook), ..before.cloned().unwrap_or_default() };
        if let Err(t) = words::understood(field, &entry, notebook, test) {
            troubles.push((field.key.to_string(), format!("{}; {}", t.text, t.hint)));
        }
        new.entries.insert(field.key.into(), entry);
    }
    new.firmware = sent.text("firmware");
    new.day = sent.text("day");
    if new.day.parse::<jiff::civil::Date>().is_err() {
        troubles.push(("day".into(), "Write the day as 2026-05-03".into()));
    }
    new.excluded = sent.text("excluded");
    new.conditioning = sent.ticked("conditioning");
    new.held_out = sent.ticked("held_out");
    new.note = sent.text("note");
    let around = |t: &Test| (t.firmware.clone(), t.day.clone());
    changed |= !test.entries.is_empty() && around(&new) != around(test);
    if changed && sent.get("why").is_empty() {
        let words = "An answer that was already kept is changed: write why. The old one stays in the history";
        troubles.push(("why".into(), words.into()));
    }
    (new, changed, troubles)
}

/// Keeps what was changed.
pub async fn save(ask: Ask, State(site): State<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    let (test, spec) = found(ask.notebook(), &id)?;
    let (_, _, troubles) = read(&sent, test, spec, ask.notebook());
    if !troubles.is_empty() {
        return Ok(refused(&page(&ask, test, spec, Some(&sent), troubles)));
    }
    let back = format!("{}/all", super::at::test(&id));
    let done = site.act(move |notebook| {
        let (test, spec) = found(notebook, &id)?;
        unchanged(test, &sent)?;
        let (new, _, troubles) = read(&sent, test, spec, notebook);
        if let Some((_, words)) = troubles.into_iter().next() {
            return Err(Fault::Unreadable(words));
        }
        Ok(Deed { records: vec![Record::Test(new)], why: sent.text("why"), then: () })
    });
    Ok(kept(&back, done.await?.stroke))
}
