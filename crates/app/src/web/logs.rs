//! A meter's file: sent, looked at column by column, corrected, and attached to a test.
use super::Site;
use super::fault::Fault;
use super::form::Sent;
use super::log_state::{COLUMN_QUESTIONS, State, of_columns};
use super::log_view::{self, Seen};
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::upload::{self, Upload};
use super::words;
use crate::desk::{Deed, Desk, now};
use askama::Template;
use axum::extract::{Multipart, Path, State as Shared};
use axum::response::{IntoResponse, Redirect};
use serde_json::{Value, json};
use std::io;
use trueplate_core::field::{FieldSpec, Shape};
use trueplate_core::notebook::{Entry, FileRef, Notebook, Test};
use trueplate_core::record::Record;
use trueplate_meters::logs::{self, Confirmed, Hints, Loaded, Mapping};
use trueplate_store::Bench;

/// Largest file taken, in bytes: what a week at ten rows a second comes to, five times over.
pub const LARGEST: u64 = 4 << 30;

/// The field of a test that takes a log.
pub fn field_of(test: &Test) -> Option<&'static FieldSpec> {
    words::spec_of(test)?.fields.iter().copied().find(|f| f.shape == Shape::Log)
}

#[derive(Template)]
#[template(path = "log_new.html")]
struct New {
    top: Top,
    test: String,
    about: String,
    back: String,
    trouble: String,
    kept: Vec<Kept>,
    /// Most bytes sent at once.
    most: u64,
}

struct Kept {
    name: String,
    href: String,
    size: String,
    of: String,
}

/// Where a file is sent to, and what is kept already.
pub async fn new(Shared(site): Shared<Site>, ask: Ask) -> Answer {
    Ok(html(&new_page(&site, &ask, ask.query.text("test"), String::new()).await?))
}

async fn new_page(site: &Site, ask: &Ask, test: String, trouble: String) -> Result<New, Fault> {
    let files = site.with(|desk| Ok(desk.files()?)).await?;
    let notebook = ask.notebook();
    let logs = files.iter().rev().filter(|k| !k.file.media.starts_with("image/"));
    let row = |k: &trueplate_store::KeptFile| Kept {
        name: k.file.name.clone(),
        href: State { sha: k.file.sha256.clone(), test: test.clone(), ..State::default() }.address(),
        size: log_view::size(k.size),
        of: attached(notebook, &k.file.sha256).into_iter().map(|(_, l)| l).collect::<Vec<_>>().join(", "),
    };
    let known = notebook.test(&test);
    Ok(New {
        top: Top { path: "/log".into(), ..ask.top() },
        about: known.map_or_else(String::new, |t| label(notebook, t)),
        back: super::at::test(&test),
        test: known.map_or_else(String::new, |t| t.id.clone()),
        trouble,
        kept: logs.map(row).collect(),
        most: LARGEST,
    })
}

/// Takes a file and shows how it is understood.
pub async fn keep(Shared(site): Shared<Site>, form: Multipart) -> Answer {
    let Upload { sent, files } = upload::read(&site, form, LARGEST).await?;
    let test = sent.text("test");
    let Some(arrived) = files.into_iter().next_back() else {
        let ask = Ask::of(site.report().await?, Sent::default());
        let trouble = "The file is empty, or none was chosen. Export the log again and choose it.";
        return Ok(refused(&new_page(&site, &ask, test, trouble.into()).await?));
    };
    let file = site.with(move |desk| arrived.keep(desk)).await?;
    let report = site.report().await?;
    let instrument =
        report.notebook.test(&test).map_or_else(String::new, |t| usual_instrument(&report.notebook, t));
    let state = State { sha: file.sha256, test, instrument, ..State::default() };
    Ok(Redirect::to(&state.address()).into_response())
}

/// The instrument of the log already attached, else the one that logged last.
fn usual_instrument(notebook: &Notebook, test: &Test) -> String {
    let entry = field_of(test).and_then(|f| test.entries.get(f.key));
    let last = || {
        let of = |t: &Test| field_of(t).and_then(|f| t.entries.get(f.key)).map(|e| e.instrument.clone());
        notebook.tests.iter().rev().filter_map(of).find(|i| !i.is_empty())
    };
    entry.map(|e| e.instrument.clone()).or_else(last).unwrap_or_default()
}

/// Tests that a file is attached to: address and label.
pub fn attached(notebook: &Notebook, sha: &str) -> Vec<(String, String)> {
    let has = |t: &&Test| t.entries.values().any(|e| e.files.iter().any(|f| f.sha256 == sha));
    notebook.tests.iter().filter(has).map(|t| (super::at::test(&t.id), label(notebook, t))).collect()
}

/// "Kestrel 1000, usable energy, 2026-05-03".
pub fn label(notebook: &Notebook, test: &Test) -> String {
    label_of(&words::specimen_name(notebook, &test.specimen), test)
}

/// The same where the sample's name is at hand.
pub fn label_of(sample: &str, test: &Test) -> String {
    let kind = words::spec_of(test).map_or(test.kind.as_str(), |s| s.title);
    format!("{sample}, {}, {}", kind.to_lowercase(), test.day)
}

/// A file as it is understood, with what was said about it so far.
pub async fn show(Shared(site): Shared<Site>, Path(sha): Path<String>, ask: Ask) -> Answer {
    let mut state = State::of(&sha, &ask.query);
    // A file opened from a test is looked at as it was confirmed there.
    let fresh = ask.query.get("map").is_empty() && ask.query.get("instrument").is_empty();
    if let Some(entry) = fresh.then(|| confirmed_in(ask.notebook(), &state)).flatten() {
        state.instrument.clone_from(&entry.instrument);
        if let Ok(c) = serde_json::from_str::<Confirmed>(&entry.how) {
            state.map = json!(c.mapping);
            state.map["answered"] = json!(COLUMN_QUESTIONS);
            state.gap_s = state.gap_s.or(c.gap_s);
        }
    }
    match said(&site, &state, &ask).await? {
        Said::Nothing => page(&site, state, &ask, String::new(), false).await,
        Said::More(next) => Ok(Redirect::to(&format!("{}#columns", next.address())).into_response()),
        Said::Answer(next) => Ok(Redirect::to(&next.address()).into_response()),
        Said::Trouble(words) => page(&site, state, &ask, words, true).await,
    }
}

fn confirmed_in<'a>(notebook: &'a Notebook, state: &State) -> Option<&'a Entry> {
    let test = notebook.test(&state.test)?;
    let entry = test.entries.get(field_of(test)?.key)?;
    entry.files.last().is_some_and(|f| f.sha256 == state.sha).then_some(entry)
}

/// What the address says besides what was said before.
enum Said {
    Nothing,
    /// One answer: back to the top, where the next question stands.
    Answer(State),
    /// Columns: back to the columns.
    More(State),
    Trouble(String),
}

async fn said(site: &Site, state: &State, ask: &Ask) -> Result<Said, Fault> {
    let sent = &ask.query;
    if !sent.get("answer").is_empty() {
        let Ok(answer) = serde_json::from_str::<Value>(sent.get("answer")) else {
            return Err(Fault::Unreadable("This answer could not be read.".into()));
        };
        return Ok(Said::Answer(state.clone().with(&answer)));
    }
    let zone = if sent.get("set-zone").is_empty() { sent.text("zone") } else { sent.text("set-zone") };
    if !zone.is_empty() && jiff::tz::TimeZone::get(&zone).is_err() {
        return Ok(Said::Trouble(format!("`{zone}` is no time zone. Write it as Europe/Berlin or UTC.")));
    }
    if !sent.get("set-zone").is_empty() {
        return Ok(Said::Answer(state.clone().with(&json!({"zone": zone, "answered": ["zone"]}))));
    }
    let start = sent.text("set-start");
    if !start.is_empty() {
        let civil = start.replace(' ', "T");
        if civil.parse::<jiff::civil::DateTime>().is_err() {
            return Ok(Said::Trouble(format!(
                "`{start}` is no date with a time. Write it as 2026-05-02 23:58:10."
            )));
        }
        return Ok(Said::Answer(state.clone().with(&json!({"start": civil, "answered": ["start-instant"]}))));
    }
    if sent.0.iter().any(|(n, _)| n == "role-0") {
        let loaded = read(site, state, ask.notebook(), None).await?.0;
        let patch = of_columns(sent, &loaded.understanding.mapping).unwrap_or(Value::Null);
        return Ok(Said::More(state.clone().with(&patch)));
    }
    Ok(Said::Nothing)
}

/// Reads a kept file with what was said about it; with a window, its trace there, finer.
async fn read(
    site: &Site,
    state: &State,
    notebook: &Notebook,
    window: Option<(i64, i64)>,
) -> Result<(Loaded, FileRef, u64), Fault> {
    let known =
        notebook.instrument(&state.instrument).and_then(|i| serde_json::from_str::<Mapping>(&i.reads).ok());
    let zone = Some(notebook.settings.zone.clone()).filter(|z| !z.is_empty());
    let state = state.clone();
    site.with(move |desk| {
        let bench = Bench::open_read_only(desk.path()).map_err(anyhow::Error::from)?;
        let found = bench.kept_file(&state.sha).map_err(anyhow::Error::from)?;
        let kept = found.ok_or_else(|| Fault::Missing("No file with this mark is kept here.".into()))?;
        let hints = Hints { file_name: Some(kept.file.name.clone()), zone, known };
        let options = logs::Options { window, ..state.options() };
        let open = || bench.reader(&state.sha).map_err(io::Error::other);
        match logs::load(open, &hints, &options, Some(&state.map)) {
            Ok(loaded) => Ok((loaded, kept.file.clone(), kept.size)),
            Err(e) if e.kind() == io::ErrorKind::InvalidInput => {
                Err(Fault::Unreadable(format!("The answers do not go together: {e}.")))
            }
            Err(e) => Err(Fault::World(e.into())),
        }
    })
    .await
}

async fn page(site: &Site, state: State, ask: &Ask, trouble: String, wrong: bool) -> Answer {
    let (mut loaded, file, bytes) = read(site, &state, ask.notebook(), None).await?;
    if let (Some((from, to)), Some(first)) = (state.window, loaded.log.first_us) {
        let us = |s: f64| first + (s * 1e6) as i64;
        let closer = read(site, &state, ask.notebook(), Some((us(from), us(to)))).await?.0;
        // Sums and marks are of the whole log, the picture of the stretch.
        loaded.log.trace = closer.log.trace;
    }
    let page = log_view::page(ask, &Seen { state: &state, loaded: &loaded, file: &file, bytes }, trouble);
    Ok(if wrong { refused(&page) } else { html(&page) })
}

/// Attaches the file to a test as it is understood now, and remembers how files of this instrument are read.
pub async fn confirm(Shared(site): Shared<Site>, Path(sha): Path<String>, sent: Sent) -> Answer {
    let state = State::of(&sha, &sent);
    let ask = Ask::of(site.report().await?, Sent::default());
    if ask.notebook().test(&state.test).and_then(field_of).is_none() {
        return page(&site, state, &ask, "Choose the test it belongs to.".into(), true).await;
    }
    let (loaded, file, _) = read(&site, &state, ask.notebook(), None).await?;
    let stops = loaded.understanding.questions.iter().any(|q| q.assumed.is_none());
    if stops || logs::recording(&loaded).is_none() {
        let trouble =
            if stops { "Answer what is asked first." } else { "There is no power in it to attach." };
        return page(&site, state, &ask, trouble.into(), true).await;
    }
    let to = super::at::test(&state.test);
    let done = site.with(move |desk| attach(desk, &state, &loaded, file)).await?;
    Ok(kept(&format!("{to}?q=done"), done))
}

/// One stroke for both, so that taking it back takes back both. The same again changes nothing.
fn attach(desk: &Desk, state: &State, loaded: &Loaded, file: FileRef) -> Result<i64, Fault> {
    let confirmed = Confirmed { mapping: loaded.understanding.mapping.clone(), gap_s: state.gap_s };
    let how = serde_json::to_string(&confirmed).map_err(anyhow::Error::from)?;
    // Where a log began is said of one file, not of all files of an instrument.
    let remembered = Mapping { start: None, ..confirmed.mapping };
    let reads = serde_json::to_string(&remembered).map_err(anyhow::Error::from)?;
    let done = desk.act("", |notebook| {
        let test = notebook.test(&state.test).ok_or_else(|| super::entry::missing(&state.test))?;
        let field = field_of(test).ok_or_else(|| Fault::Missing("This test takes no log.".into()))?;
        let before = test.entries.get(field.key).cloned().unwrap_or_default();
        let mut files = before.files.clone();
        files.retain(|f| f.sha256 != file.sha256);
        files.push(file);
        let same = before.files == files && before.how == how && before.instrument == state.instrument;
        let mut records = Vec::new();
        if !same {
            let mut test = test.clone();
            let entry =
                Entry { instrument: state.instrument.clone(), at: now(notebook), files, how, ..before };
            test.entries.insert(field.key.into(), entry);
            records.push(Record::Test(test));
        }
        if let Some(instrument) = notebook.instrument(&state.instrument).filter(|i| i.reads != reads) {
            let mut instrument = instrument.clone();
            instrument.reads = reads;
            records.push(Record::Instrument(instrument));
        }
        Ok::<_, Fault>(Deed { records, why: String::new(), then: () })
    })?;
    Ok(done.stroke)
}
