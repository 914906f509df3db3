//! What was changed, stroke by stroke, newest first; each can be taken back.
use super::Site;
use super::fault::Fault;
use super::page::{Answer, Ask, Top, html};
use super::words;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Redirect};
use trueplate_core::notebook::{Change, Entry, Notebook};

#[derive(Template)]
#[template(path = "history.html")]
struct Page {
    top: Top,
    strokes: Vec<StrokeLines>,
    older: Option<i64>,
}

struct StrokeLines {
    stroke: i64,
    at: String,
    why: String,
    changes: Vec<ChangeLine>,
    more: usize,
}

/// One change in words.
pub struct ChangeLine {
    /// When.
    pub at: String,
    /// Of what: "counter at the end, Usable energy".
    pub what: String,
    /// Before, as text.
    pub old: String,
    /// After, as text.
    pub new: String,
    /// Reason given.
    pub why: String,
}

/// Strokes on one page.
const PAGE: usize = 40;
/// Changes of one stroke that are listed.
const CHANGES: usize = 8;

/// All strokes, newest first.
pub async fn show(ask: Ask, State(site): State<Site>) -> Answer {
    let notebook = ask.notebook();
    let below: i64 = ask.query.get("below").parse().unwrap_or(0);
    let found = site.with(move |desk| Ok(desk.strokes(below, PAGE + 1)?)).await?;
    let older = found.get(PAGE - 1).filter(|_| found.len() > PAGE).and_then(|s| Some(s.first()?.stroke));
    let lines = |changes: &Vec<Change>| {
        let first = changes.first()?;
        Some(StrokeLines {
            stroke: first.stroke,
            at: words::clock(&first.at, &notebook.settings),
            why: first.why.clone(),
            changes: told(changes).take(CHANGES).map(|c| brief(line(c, notebook))).collect(),
            more: told(changes).count().saturating_sub(CHANGES),
        })
    };
    let strokes = found.iter().take(PAGE).filter_map(lines).collect();
    Ok(html(&Page { top: ask.top(), strokes, older }))
}

/// Changes worth a line: not the moment at which an answer was kept, which the stroke says already.
fn told(changes: &[Change]) -> impl Iterator<Item = &Change> {
    changes.iter().filter(|c| !c.field.ends_with("/at"))
}

/// A JSON text as a person reads it.
fn plain(json: &str) -> String {
    match serde_json::from_str::<serde_json::Value>(json) {
        Ok(serde_json::Value::String(s)) => s,
        Ok(serde_json::Value::Null) | Err(_) => String::new(),
        Ok(serde_json::Value::Object(all)) => {
            let file = all.get("files").and_then(|f| f.as_array()?.last()?.get("name")?.as_str());
            if let (Some(name), Some("")) = (file, all.get("text").and_then(|t| t.as_str())) {
                return name.into();
            }
            let says = ["text", "name", "version", "amount", "title"].iter().find_map(|k| all.get(*k));
            says.map_or_else(
                || "everything".into(),
                |v| v.as_str().map_or_else(|| v.to_string(), str::to_string),
            )
        }
        Ok(serde_json::Value::Array(all)) => words::plural(all.len(), "entry", "entries"),
        Ok(other) => other.to_string(),
    }
}

/// A value of a change as a person reads it: the label of a choice, the name of a load, a time on the bench's clock.
fn said(change: &Change, json: &str, notebook: &Notebook) -> String {
    let text = plain(json);
    if change.field.ends_with("/how") || change.field == "/reads" {
        return if text.is_empty() { text } else { "as confirmed".into() };
    }
    let test = notebook.test(&change.id).filter(|_| change.record == "test");
    let key = change.field.strip_prefix("/entries/").map(|rest| rest.split('/').next().unwrap_or(rest));
    let field = test.and_then(words::spec_of).zip(key).and_then(|(spec, key)| spec.field(key));
    match (test, field) {
        (Some(test), Some(field)) if !text.is_empty() => {
            let entry = Entry { text: text.clone(), ..Entry::default() };
            words::answer(field, &entry, notebook, test)
        }
        _ => text,
    }
}

/// Letters of a value that a list shows.
const LONGEST: usize = 160;

/// The beginning of a long text, to the last whole word.
fn shortened(text: String) -> String {
    let Some((end, _)) = text.char_indices().nth(LONGEST) else { return text };
    let whole = text[..end].rfind(char::is_whitespace).filter(|at| *at > 0).unwrap_or(end);
    format!("{} …", text[..whole].trim_end())
}

/// The same line for a list of many: long texts by their beginning, and nothing said twice.
fn brief(line: ChangeLine) -> ChangeLine {
    let repeated = !line.new.is_empty() && line.what.ends_with(&line.new);
    let new = match line.new.as_str() {
        _ if repeated => String::new(),
        "everything" if line.old.is_empty() => "new".into(),
        _ => shortened(line.new),
    };
    ChangeLine { what: shortened(line.what), old: shortened(line.old), new, ..line }
}

fn line(change: &Change, notebook: &Notebook) -> ChangeLine {
    ChangeLine {
        at: words::clock(&change.at, &notebook.settings),
        what: what(change, notebook),
        old: said(change, &change.old, notebook),
        new: said(change, &change.new, notebook),
        why: change.why.clone(),
    }
}

/// "counter at the end, Usable energy of Fell 1010".
fn what(change: &Change, notebook: &Notebook) -> String {
    let id = change.id.as_str();
    let of = match change.record.as_str() {
        "test" => notebook
            .test(id)
            .map(|t| format!("{} of {}", words::kind_title(t), words::specimen_name(notebook, &t.specimen))),
        "model" => notebook.model(id).map(|m| m.name.clone()),
        "specimen" => notebook.specimen(id).map(|_| words::specimen_name(notebook, id)),
        "instrument" => notebook.instrument(id).map(|i| i.name.clone()),
        "load" => notebook.load(id).map(|l| l.name.clone()),
        "letter" => notebook
            .letter(id)
            .and_then(|l| notebook.model(&l.model))
            .map(|m| format!("letter about {}", m.name)),
        "question" => notebook.question(id).map(|q| format!("reader's question: {}", q.text)),
        "video" => notebook.video(id).map(|v| format!("video: {}", v.title)),
        _ => Some("settings".into()),
    };
    let of = of.unwrap_or_else(|| format!("{} {id}", change.record));
    let field = change.field.strip_prefix("/entries/").map(|rest| {
        let (key, part) = rest.split_once('/').unwrap_or((rest, ""));
        let spec = notebook.test(id).and_then(words::spec_of);
        let label = spec.and_then(|s| s.field(key)).map_or(key, |f| f.label);
        match part {
            "" | "text" => label.to_string(),
            "how" => format!("{label} (how it is read)"),
            part => format!("{label} ({part})"),
        }
    });
    let price = change.field.strip_prefix("/prices/").and_then(|rest| {
        let (n, part) = rest.split_once('/').unwrap_or((rest, "amount"));
        let price = notebook.model(id)?.prices.get(n.parse::<usize>().ok()?)?;
        let of = format!("{} price of {}", price.kind, price.on);
        Some(if part == "amount" { of } else { format!("{part} of the {of}") })
    });
    let reads = (change.field == "/reads").then(|| "how its files are read".to_string());
    match field
        .or(reads)
        .or(price)
        .unwrap_or_else(|| change.field.trim_start_matches('/').replace(['/', '_'], " "))
    {
        field if field.is_empty() => of,
        field => format!("{field}, {of}"),
    }
}

/// Changes of what a test had already said, oldest first: not the first answers, not their time stamps.
pub fn of_test(notebook: &Notebook, test: &str) -> Vec<ChangeLine> {
    let changed = |c: &&Change| {
        let first = c.old.is_empty() || c.old == "null";
        c.record == "test" && c.id == test && !first && !c.field.ends_with("/at") && c.field != "/note"
    };
    // On a page of the test its name is said already.
    let bare = |mut line: ChangeLine| {
        line.what = line.what.split(", ").next().unwrap_or_default().to_string();
        line
    };
    notebook.changes.iter().filter(changed).map(|c| bare(line(c, notebook))).collect()
}

/// Changes with a reason in the tests and claims of a station.
pub fn corrections(notebook: &Notebook, model: &str) -> Vec<ChangeLine> {
    let of_model = |c: &&Change| match c.record.as_str() {
        "model" => c.id == model,
        "test" => {
            notebook.test(&c.id).and_then(|t| notebook.model_of(&t.specimen)).is_some_and(|m| m.id == model)
        }
        _ => false,
    };
    let told = |c: &&Change| !c.why.is_empty() && !c.field.ends_with("/at");
    notebook.changes.iter().rev().filter(of_model).filter(told).map(|c| line(c, notebook)).collect()
}

/// Takes a stroke back, and returns to the page it was asked on where that is still there.
pub async fn undo(State(site): State<Site>, Path(stroke): Path<i64>, headers: HeaderMap) -> Answer {
    let refused = |e: anyhow::Error| match e.downcast_ref::<trueplate_store::Error>() {
        Some(trueplate_store::Error::UndoRefused { .. }) => Fault::Stale(format!("{e}.")),
        _ => Fault::World(e),
    };
    site.with(move |desk| desk.undo(stroke).map_err(refused)).await?;
    let report = site.report().await?;
    let back = came_from(&headers).filter(|path| stands(path, &report.notebook));
    let back = back.unwrap_or_else(|| "/history".into());
    Ok(Redirect::to(&format!("{back}?undone=1")).into_response())
}

/// Path of the page of this bench on which the button was pressed.
fn came_from(headers: &HeaderMap) -> Option<String> {
    let text = |name| headers.get(name).and_then(|v| v.to_str().ok());
    let rest = text(header::REFERER)?.strip_prefix("http://")?.strip_prefix(text(header::HOST)?)?;
    let path = rest.split(['?', '#']).next()?;
    (path.starts_with('/') && !path.starts_with("//")).then(|| path.to_string())
}

/// The page is still there after the undo; forms are not gone back to.
fn stands(path: &str, notebook: &Notebook) -> bool {
    let tests = notebook.tests.iter().map(|t| super::at::test(&t.id));
    let mut things = notebook.models.iter().map(|m| super::at::model(&m.id)).chain(tests);
    ["/", "/models", "/instruments", "/loads", "/settings", "/questions", "/retests"].contains(&path)
        || things.any(|thing| path == thing || path == format!("{thing}/all"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_is_cut_between_words_and_no_question_is_said_twice() {
        let letter = "word ".repeat(50);
        // 160 letters are 32 times "word ".
        assert_eq!(shortened(letter), format!("{} …", ["word"; 32].join(" ")));
        assert_eq!(shortened("ä".repeat(200)), format!("{} …", "ä".repeat(160)));
        let line = |what: &str, new: &str| {
            let (what, new) = (what.to_string(), new.to_string());
            brief(ChangeLine { at: String::new(), what, old: String::new(), new, why: String::new() })
        };
        assert_eq!(line("reader's question: Is it loud?", "Is it loud?").new, "");
        assert_eq!(line("scale reading, Mass of Fell 1010", "23.55 kg").new, "23.55 kg");
    }
}
