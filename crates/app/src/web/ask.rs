//! What is understood of an answer while it is typed: the same reader as the analysis, nothing is kept.
use super::entry::found;
use super::fault::Fault;
use super::page::{Answer, Ask, style};
use super::words;
use axum::Json;
use axum::extract::Path;
use axum::response::IntoResponse;
use serde_json::json;
use trueplate_core::field::{FieldSpec, Shape};
use trueplate_core::finding::Weight;
use trueplate_core::kind::Outcome;
use trueplate_core::notebook::{Entry, Notebook, Test};
use trueplate_core::recording::Recordings;
use trueplate_core::shown::shown;

/// A number gets the unit that stood beside the field, unless one was typed.
pub fn with_unit(field: &FieldSpec, text: &str, unit: &str) -> String {
    let text = text.trim();
    let bare = !text.is_empty() && text.chars().all(|c| !c.is_alphabetic() && !"%°:".contains(c));
    let known = field.measured().is_some_and(|(dim, _)| dim.units().any(|u| u.symbol == unit));
    let single = matches!(field.shape, Shape::Quantity(..));
    if bare && known && single && !unit.is_empty() { format!("{text} {unit}") } else { text.into() }
}

/// What the bench makes of an answer.
pub struct Understood {
    /// It can be read.
    pub ok: bool,
    /// "890 Wh", or what is wrong.
    pub words: String,
    /// What to do, where something is wrong.
    pub hint: String,
    /// Doubts that this answer raises, and the result so far.
    pub besides: Vec<String>,
}

/// Reads one answer of a test as it would stand.
pub fn read(
    field: &FieldSpec,
    entry: &Entry,
    test: &Test,
    notebook: &Notebook,
    recordings: &Recordings,
) -> Understood {
    match words::understood(field, entry, notebook, test) {
        Err(t) => Understood { ok: false, words: t.text, hint: t.hint, besides: Vec::new() },
        Ok(words) => {
            let outcome = words::outcome_with(test, field.key, entry, notebook, recordings);
            let besides = outcome.map(|o| besides(&o, field, notebook)).unwrap_or_default();
            Understood { ok: true, words, hint: String::new(), besides }
        }
    }
}

fn besides(outcome: &Outcome, field: &FieldSpec, notebook: &Notebook) -> Vec<String> {
    let here = outcome.findings.iter().filter(|f| f.place == field.key && f.weight >= Weight::Doubt);
    let doubts = here.map(|f| format!("{}; {}", f.text, f.hint));
    let results = outcome.results.iter().map(|r| {
        format!(
            "{}: {}",
            r.result.title,
            shown(&r.value, r.result.shown_in(), style(&notebook.settings)).line()
        )
    });
    doubts.chain(results).collect()
}

/// The answer to a question half typed.
pub async fn understand(ask: Ask, Path(id): Path<String>) -> Answer {
    let notebook = ask.notebook();
    let (test, spec) = found(notebook, &id)?;
    let key = ask.query.get("field");
    let field = spec.field(key).ok_or_else(|| Fault::Missing(format!("This kind asks no `{key}`.")))?;
    let entry = Entry {
        text: with_unit(field, ask.query.get("text"), ask.query.get("unit")),
        instrument: ask.query.get("instrument").into(),
        ..Entry::default()
    };
    let none = Recordings::new();
    let recordings = ask.report.outcomes.get(&test.id).map_or(&none, |o| &o.recordings);
    let u = read(field, &entry, test, notebook, recordings);
    Ok(Json(json!({"ok": u.ok, "words": u.words, "hint": u.hint, "besides": u.besides})).into_response())
}
