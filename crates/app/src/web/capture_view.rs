//! What was understood of a test's captures, all together and each by itself.
use super::capture_words::{self as said, Asked, Gap, Row};
use super::captures::{LARGEST, taking};
use super::fault::Fault;
use super::form::Sent;
use super::page::{Answer, Ask, Top, html};
use super::{Site, at, logs, models};
use crate::captures;
use askama::Template;
use axum::extract::{Path, State as Shared};
use std::io;
use trueplate_core::kind::Outcome;
use trueplate_core::notebook::{FileRef, Test};
use trueplate_core::quantity::Dim;
use trueplate_core::recording::{CaptureRecord, Source, Told};
use trueplate_core::shown::{Style, four_digits};
use trueplate_meters::waves;
use trueplate_pages::chart::capture;
use trueplate_store::Bench;

#[derive(Template)]
#[template(path = "captures.html")]
pub struct Page {
    top: Top,
    id: String,
    label: String,
    back: String,
    hint: &'static str,
    trouble: String,
    same: bool,
    answer: String,
    asked: Vec<Asked>,
    rows: Vec<Row>,
    batch: Vec<(String, String, String, &'static str)>,
    findings: Vec<(&'static str, String, String)>,
    instruments: Vec<(String, String, bool)>,
    loose: Vec<(String, String)>,
    /// Most bytes sent at once.
    most: u64,
}

/// A file of a test's captures: as kept, as understood.
struct Attached<'a> {
    file: &'a FileRef,
    record: Option<&'a CaptureRecord>,
}

fn attached<'a>(ask: &'a Ask, test: &'a Test) -> Vec<Attached<'a>> {
    let Some(entry) = captures::entry_of(test) else { return Vec::new() };
    let outcome = ask.report.outcomes.get(&test.id);
    let sources = Source::captures(entry, captures::mains_v(ask.notebook(), test));
    let record = |s: &Source| outcome?.recordings.get(s)?.capture();
    entry.files.iter().zip(&sources).map(|(file, s)| Attached { file, record: record(s) }).collect()
}

/// The page of all captures of a test.
pub fn page(ask: &Ask, id: &str, loose: Vec<FileRef>, trouble: String) -> Result<Page, Fault> {
    let notebook = ask.notebook();
    let test = taking(notebook, id)?;
    let (field, holds) =
        captures::field_of(test).ok_or_else(|| Fault::Missing("This test takes no captures.".into()))?;
    let style = ask.style();
    let files = attached(ask, test);
    let outcome = ask.report.outcomes.get(id).map(AsRef::as_ref);
    let row = |a: &Attached| said::row(&test.id, a.file, a.record, holds, style);
    let chosen = captures::usual_instrument(notebook, test);
    let chosen = captures::entry_of(test).map_or(chosen, |e| e.instrument.clone());
    let fits = notebook
        .instruments
        .iter()
        .filter(|i| i.measures(Dim::Voltage) || i.measures(Dim::Time) || i.id == chosen);
    let known: Vec<(&FileRef, &CaptureRecord)> =
        files.iter().filter_map(|a| Some((a.file, a.record?))).collect();
    let asked = said::asked(&known, captures::mains_v(notebook, test), style);
    let put: Vec<&str> = if asked.is_empty() { Vec::new() } else { vec!["probe-factor", "which-channel"] };
    let findings = outcome.into_iter().flat_map(|o| &o.findings);
    let findings = findings.filter(|f| f.place == field.key && !put.contains(&f.code.as_str()));
    Ok(Page {
        top: Top { path: "/captures".into(), ..ask.top() },
        id: id.into(),
        label: logs::label(notebook, test),
        back: at::test(id),
        hint: field.hint,
        trouble,
        same: ask.query.ticked("same"),
        answer: answer(outcome, &known, style),
        asked,
        rows: files.iter().map(row).collect(),
        batch: outcome.and_then(|o| o.batch.as_ref()).map_or_else(Vec::new, |b| said::batch(b, style)),
        findings: findings.map(|f| (models::weight(f), f.text.clone(), f.hint.clone())).collect(),
        instruments: fits.map(|i| (i.id.clone(), i.name.clone(), i.id == chosen)).collect(),
        loose: loose.into_iter().map(|f| (f.sha256, f.name)).collect(),
        most: LARGEST,
    })
}

/// The result in one sentence, before everything else.
fn answer(outcome: Option<&Outcome>, known: &[(&FileRef, &CaptureRecord)], style: Style) -> String {
    if known.is_empty() {
        return String::new();
    }
    if let Some(batch) = outcome.and_then(|o| o.batch.as_ref()) {
        return said::sentence(batch, style);
    }
    let wave = known.iter().find_map(|(_, r)| r.outlet());
    match wave {
        Some((_, c)) if known.len() > 1 => format!("The first of {}: {}", known.len(), said::wave(c, style)),
        Some((_, c)) => said::wave(c, style),
        None => "No wave was found in what was sent.".into(),
    }
}

#[derive(Template)]
#[template(path = "capture.html")]
struct One {
    top: Top,
    id: String,
    sha: String,
    name: String,
    label: String,
    back: String,
    /// The captures before and after it.
    beside: Vec<(&'static str, String)>,
    answer: String,
    facts: Vec<(&'static str, String)>,
    figure: String,
    zooms: Vec<(String, String)>,
    /// It has several segments.
    many: bool,
    gaps: Vec<Gap>,
    pairs: Vec<(&'static str, String)>,
    dips: Vec<(String, String, String)>,
    probe: String,
    channels: Vec<(usize, String, bool)>,
    findings: Vec<(&'static str, String, String)>,
}

/// Pieces of a drawing: two for each pixel of a wide one.
const PIECES: usize = 1900;

/// One capture, looked at.
pub async fn one(Shared(site): Shared<Site>, Path((id, sha)): Path<(String, String)>, ask: Ask) -> Answer {
    let test = taking(ask.notebook(), &id)?;
    let none = || Fault::Missing("This file is not among the captures of this test.".into());
    let entry = captures::entry_of(test).ok_or_else(none)?;
    let n = entry.files.iter().position(|f| f.sha256 == sha).ok_or_else(none)?;
    let source = Source::captures(entry, captures::mains_v(ask.notebook(), test)).swap_remove(n);
    let wanted = window(&ask.query);
    // What it comes to is known since it was taken; only the picture is drawn from its bytes.
    let known = ask.report.outcomes.get(&test.id).and_then(|o| o.recordings.get(&source));
    let record = known.and_then(|r| r.capture());
    let place = record.and_then(|r| r.outlet()).map_or(0, |(place, _)| place);
    let shown = wanted.unwrap_or_else(|| record.map_or((0.0, 0.0), CaptureRecord::whole));
    let points = site
        .with(move |desk| {
            let bench = Bench::open_read_only(desk.path()).map_err(anyhow::Error::from)?;
            let open = || bench.reader(&source.sha256).map_err(io::Error::other);
            Ok(waves::trace(open, place, shown, PIECES).unwrap_or_default())
        })
        .await?;
    let told = Told::of(entry).about(&sha);
    let seen = Seen { record, points, shown, closer: wanted.is_some() };
    Ok(html(&one_page(&ask, test, n, told.probe, &seen)))
}

/// The stretch asked for in the address, s.
fn window(sent: &Sent) -> Option<(f64, f64)> {
    let number = |name: &str| sent.get(name).parse::<f64>().ok().filter(|x| x.is_finite());
    number("from").zip(number("to")).filter(|(a, b)| b > a)
}

struct Seen<'a> {
    record: Option<&'a CaptureRecord>,
    points: Vec<waves::Point>,
    shown: (f64, f64),
    closer: bool,
}

fn one_page(ask: &Ask, test: &Test, n: usize, probe: Option<f64>, seen: &Seen<'_>) -> One {
    let style = ask.style();
    let files = captures::entry_of(test).map_or(&[][..], |e| &e.files);
    let file = &files[n];
    let address = at::capture(&test.id, &file.sha256);
    let other = |n: Option<usize>| n.and_then(|n| files.get(n)).map(|f| at::capture(&test.id, &f.sha256));
    let beside = [("The one before", other(n.checked_sub(1))), ("The next one", other(Some(n + 1)))];
    let outlet = seen.record.and_then(|r| r.outlet());
    let claim = ask.report.outcomes.get(&test.id).and_then(|o| o.batch.as_ref()).and_then(said::claim_ms);
    let findings: Vec<_> = seen.record.into_iter().flat_map(|r| r.noticed()).collect();
    let channels = seen.record.map_or(&[][..], |r| &r.channels);
    let gaps = seen.record.map_or(&[][..], |r| r.interruptions());
    let many = seen.record.is_some_and(|r| r.segments > 1);
    One {
        top: Top { path: "/captures".into(), ..ask.top() },
        id: test.id.clone(),
        sha: file.sha256.clone(),
        name: file.name.clone(),
        label: logs::label(ask.notebook(), test),
        back: at::captures(&test.id),
        beside: beside.into_iter().filter_map(|(w, to)| Some((w, to?))).collect(),
        answer: match (seen.record, outlet) {
            (None, _) => "Its bytes cannot be read; attach it again.".into(),
            (_, None) => "It is kept, but no wave is found in it.".into(),
            (Some(record), Some((_, c))) => said::one(record, c, style),
        },
        facts: seen.record.map_or_else(Vec::new, |r| said::facts(r, style)),
        figure: seen.record.map_or_else(String::new, |r| figure(r, seen, style)),
        zooms: seen.record.map_or_else(Vec::new, |r| zooms(&address, r, seen)),
        many,
        gaps: seen
            .record
            .map_or_else(Vec::new, |r| gaps.iter().map(|g| said::gap(r, g, claim, style)).collect()),
        pairs: outlet.map_or_else(Vec::new, |(_, c)| said::figures(c, style)),
        dips: outlet.map_or_else(Vec::new, |(_, c)| said::dips(c, many, style)),
        probe: probe.map_or_else(String::new, |p| four_digits(p, style)),
        channels: channels
            .iter()
            .enumerate()
            .map(|(n, c)| (n, c.name.clone(), outlet.is_some_and(|(place, _)| place == n)))
            .filter(|_| channels.len() > 1)
            .collect(),
        findings: findings.iter().map(|f| (models::weight(f), f.text.clone(), f.hint.clone())).collect(),
    }
}

fn figure(record: &CaptureRecord, seen: &Seen<'_>, style: Style) -> String {
    let Some((_, channel)) = record.outlet() else { return String::new() };
    let k = channel.probe_factor;
    let points = seen.points.iter().map(|p| (p.0, f64::from(p.1) * k, f64::from(p.2) * k)).collect();
    capture::trace(record, points, seen.shown, style).figure()
}

/// Links that show less or more of the time; without scripts too.
fn zooms(address: &str, record: &CaptureRecord, seen: &Seen<'_>) -> Vec<(String, String)> {
    let (first, end) = record.whole();
    let (a, b) = seen.shown;
    let (wide, middle) = (b - a, (a + b) / 2.0);
    let to =
        |from: f64, to: f64| format!("{address}?from={:.7}&to={:.7}#trace", from.max(first), to.min(end));
    let mut links = Vec::new();
    let gaps = record.interruptions();
    let cycle = record.outlet().and_then(|(_, c)| c.frequency_hz).map_or(0.02, |hz| 1.0 / hz);
    for (n, g) in gaps.iter().take(4).enumerate() {
        let (start, until) = (record.from_s(g), record.until_s(g));
        let word =
            if gaps.len() == 1 { "The interruption".into() } else { format!("Interruption {}", n + 1) };
        links.push((word, to(start - 1.5 * cycle, until + 1.5 * cycle)));
    }
    links.push(("Closer".into(), to(middle - wide / 4.0, middle + wide / 4.0)));
    if seen.closer {
        let (earlier, later) = ((a - wide / 2.0).max(first), (b + wide / 2.0).min(end));
        links.push(("Earlier".into(), to(earlier, earlier + wide)));
        links.push(("Later".into(), to(later - wide, later)));
        links.push(("Wider".into(), to(middle - wide, middle + wide)));
        links.push(("All of it".into(), format!("{address}#trace")));
    }
    links
}
