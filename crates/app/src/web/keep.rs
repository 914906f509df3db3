//! Keeping an answer: from a plain form, or from a phone that may have waited for the network. Exactly once.
use super::Site;
use super::ask::{self, with_unit};
use super::entry::{self, Refused, found};
use super::fault::Fault;
use super::form::Sent;
use super::page::{Answer, Ask, kept, refused};
use super::stage::{after, answered};
use super::upload;
use crate::desk::{Deed, now};
use axum::Json;
use axum::extract::{Multipart, Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::json;
use trueplate_core::field::{FieldSpec, Shape};
use trueplate_core::notebook::{Entry, FileRef, Notebook, Test};
use trueplate_core::record::Record;

/// Largest photo sent from a phone, in bytes.
pub const LARGEST: u64 = 64 << 20;

/// What became of an answer.
enum Kept {
    /// It is kept; the stroke by which it can be undone.
    Done(i64, String),
    /// It cannot be read; what is wrong and what to do.
    Trouble(String, String),
}

/// Keeps one answer of a test.
pub async fn keep(
    State(site): State<Site>,
    Path(id): Path<String>,
    headers: HeaderMap,
    form: Multipart,
) -> Answer {
    let keeping = upload::read(&site, form, LARGEST).await?;
    let script = headers.get(header::ACCEPT).is_some_and(|a| a == "application/json");
    let key = keeping.sent.get("field").to_string();
    let report = site.report().await?;
    let (test, spec) = found(&report.notebook, &id)?;
    let field = spec.field(&key).ok_or_else(|| Fault::Missing(format!("This kind asks no `{key}`.")))?;
    let address = super::at::test(&test.id);
    let next = after(spec, &key);
    let (typed, test_id) = (keeping.sent.text("text"), id.clone());
    let outcome = site.with(move |desk| {
        let files = keeping.files.iter().map(|f| f.keep(desk)).collect::<Result<Vec<_>, _>>()?;
        save(desk, &test_id, field, &keeping.sent, files)
    });
    Ok(match outcome.await? {
        Kept::Done(stroke, words) if script => {
            Json(json!({"kept": stroke, "words": words, "next": next})).into_response()
        }
        Kept::Trouble(words, hint) if script => {
            let body = Json(json!({"words": words, "hint": hint}));
            (StatusCode::UNPROCESSABLE_ENTITY, body).into_response()
        }
        Kept::Done(stroke, _) => kept(&format!("{address}?q={next}"), stroke),
        Kept::Trouble(words, hint) => {
            let shown = Refused { field: field.key, text: typed, words: format!("{words}. {hint}.") };
            let ask = Ask::of(report, Sent::default());
            refused(&entry::page(&ask, &id, &key, Some(shown))?)
        }
    })
}

fn save(
    desk: &crate::desk::Desk,
    id: &str,
    field: &'static FieldSpec,
    sent: &Sent,
    files: Vec<FileRef>,
) -> Result<Kept, Fault> {
    let mut trouble = None;
    let once = sent.get("once").to_string();
    let recordings = desk.recordings();
    let done = desk.act(&once, |notebook| {
        let (test, _) = found(notebook, id)?;
        let entry = entry_of(field, test, notebook, sent, files);
        let stands = answered(test, field.key).map_or("", |e| &e.text);
        // Another screen answered it meanwhile, otherwise than here.
        if stands != sent.get("was") && stands != entry.text {
            return Err(Fault::Stale(format!(
                "Another screen answered `{}` with `{stands}` meanwhile. Your `{}` was not put in its place; \
                 open the test again and correct it there if yours is right.",
                field.label, entry.text
            )));
        }
        let understood = ask::read(field, &entry, test, notebook, &recordings);
        // What waited on the phone is kept as it was written; a finding will say what is wrong with it.
        if !understood.ok && sent.get("waited").is_empty() {
            trouble = Some((understood.words, understood.hint));
            return Err(Fault::Unreadable(String::new()));
        }
        let mut test = test.clone();
        test.entries.insert(field.key.into(), entry);
        let why = sent.text("why");
        let said = super::words::answer(field, &test.entries[field.key], notebook, &test);
        Ok(Deed { records: vec![Record::Test(test)], why, then: format!("{}: {said}", field.label) })
    });
    match (done, trouble) {
        (_, Some((words, hint))) => Ok(Kept::Trouble(words, hint)),
        (Ok(done), None) => Ok(Kept::Done(done.stroke, done.then.unwrap_or_default())),
        (Err(fault), None) => Err(fault),
    }
}

/// The entry as it will stand: as typed, on which instrument, at which moment, with its files.
fn entry_of(field: &FieldSpec, test: &Test, notebook: &Notebook, sent: &Sent, files: Vec<FileRef>) -> Entry {
    let before = test.entries.get(field.key).cloned().unwrap_or_default();
    // The moment of the person's press, where the phone told it; else of the arrival.
    let at = match sent.get("at").parse::<jiff::Timestamp>() {
        Ok(instant) => crate::desk::written(instant, &trueplate_core::reading::zone_of(&notebook.settings)),
        Err(_) => now(notebook),
    };
    let mut text = with_unit(field, &sent.text("text"), sent.get("unit"));
    if sent.ticked("now") {
        text.clone_from(&at);
    }
    let (mut all, mut how) = (before.files, before.how);
    if !files.is_empty() {
        // The same file sent again stands once. Another log is read anew; what is said of a capture names its file.
        if !matches!(field.shape, Shape::Captures(_)) {
            how = String::new();
            all.retain(|f| files.iter().all(|new| new.sha256 != f.sha256));
        }
        for file in files {
            if all.iter().all(|f| f.sha256 != file.sha256) {
                all.push(file);
            }
        }
    }
    Entry { text, instrument: sent.text("instrument"), at, files: all, how, note: before.note }
}

/// Something happened: a remark with its moment.
pub async fn remark(
    State(site): State<Site>,
    Path(id): Path<String>,
    headers: HeaderMap,
    sent: Sent,
) -> Answer {
    let script = headers.get(header::ACCEPT).is_some_and(|a| a == "application/json");
    let address = super::at::test(&id);
    let back = match sent.get("q") {
        "" => address,
        q => format!("{address}?q={}", super::page::escaped(q)),
    };
    if sent.get("text").is_empty() {
        return Err(Fault::Unreadable("Write what happened.".into()));
    }
    let done = site.with(move |desk| {
        let once = sent.get("once").to_string();
        desk.act(&once, |notebook| {
            let (test, _) = found(notebook, &id)?;
            let at = match sent.get("at").parse::<jiff::Timestamp>() {
                Ok(t) => crate::desk::written(t, &trueplate_core::reading::zone_of(&notebook.settings)),
                Err(_) => now(notebook),
            };
            let mut test = test.clone();
            let line = format!("{} {}", super::words::clock(&at, &notebook.settings), sent.text("text"));
            test.note = if test.note.is_empty() { line } else { format!("{}\n{line}", test.note) };
            Ok::<_, Fault>(Deed { records: vec![Record::Test(test)], why: String::new(), then: () })
        })
    });
    let stroke = done.await?.stroke;
    let answer: Response =
        if script { Json(json!({"kept": stroke})).into_response() } else { kept(&back, stroke) };
    Ok(answer)
}
