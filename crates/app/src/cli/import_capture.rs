//! An oscilloscope's file into a bench: to the one test that can take it, else kept, and what to do is said.
use super::import::{Arguments, keep, name, unread};
use super::{Ended, Stop, out, out_json, wave};
use crate::{captures, clock, recordings};
use serde_json::{Value, json};
use std::fs::File;
use std::io;
use std::path::Path;
use trueplate_core::field::Holds;
use trueplate_core::notebook::{FileRef, Notebook, Test};
use trueplate_core::record::Record;
use trueplate_core::recording::{Asks, CaptureRecord, Manner, Recordings};
use trueplate_meters::waves::{self, Capture};
use trueplate_store::{Bench, Stroke};

/// Does a file look like a capture: a wave as fast as mains are, within a wide margin?
pub fn is_one(file: &Path) -> io::Result<bool> {
    let capture = waves::load(|| File::open(file), &waves::Options::default())?;
    let mains = |hz: f64| (10.0..=1000.0).contains(&hz);
    Ok(capture.channels.iter().any(|c| c.frequency_hz.is_some_and(mains)))
}

fn load(file: &Path, manner: &Manner) -> Result<Capture, Stop> {
    waves::load(|| File::open(file), &waves::options(manner)).map_err(|e| Stop::unread(file, &e))
}

/// Where a file goes.
enum Goes {
    To(Box<Test>),
    /// To none, and what to do.
    Nowhere(String),
}

fn goes(
    a: &Arguments,
    notebook: &Notebook,
    known: &Recordings,
    record: &CaptureRecord,
) -> Result<Goes, Stop> {
    if let Some(id) = &a.test {
        let Some(test) = notebook.test(id) else {
            return Err(Stop::Usage(format!("--test {id}: no such test on this bench")));
        };
        if captures::field_of(test).is_none() {
            return Err(Stop::Usage(format!("--test {id}: a test of {} takes no captures", test.kind)));
        }
        return Ok(Goes::To(Box::new(test.clone())));
    }
    if !record.understood() {
        return Ok(Goes::Nowhere("look at it in the app, or export it again as CSV".into()));
    }
    let holds = captures::holds(record);
    let open = captures::open_tests(notebook, holds, known);
    let kinds = match holds {
        Holds::Interruption => "an interruption: a switchover test",
        Holds::Wave => "an undisturbed wave: a waveform test",
    };
    Ok(match open.as_slice() {
        [one] => Goes::To(Box::new((*one).clone())),
        [] => Goes::Nowhere(format!(
            "it holds {kinds} takes it, and none is open; begin one, then import it again"
        )),
        many => {
            let ids: Vec<&str> = many.iter().map(|t| t.id.as_str()).collect();
            Goes::Nowhere(format!("several tests can take it; name one with --test: {}", ids.join(", ")))
        }
    })
}

pub fn import(a: &Arguments, bytes: u64) -> Ended {
    let opened = Bench::open_read_only(&a.bench)?;
    let notebook = opened.notebook()?;
    let known = recordings::of(&notebook, &Recordings::new(), || Bench::open_read_only(&a.bench))
        .map_err(|e| Stop::World(format!("{e:#}")))?;
    drop(opened);
    let plain = Manner::default();
    let goes = goes(a, &notebook, &known, &waves::recording(load(&a.file, &plain)?, &plain))?;
    let (test, advice) = match goes {
        Goes::To(test) => (Some(*test), String::new()),
        Goes::Nowhere(advice) => (None, advice),
    };
    let nominal = test.as_ref().map(|t| captures::mains_v(&notebook, t)).filter(|v| *v > 0.0);
    let scope = test.as_ref().map_or_else(String::new, |t| captures::usual_instrument(&notebook, t));
    let mut manner = Manner { nominal_v: nominal, ..Manner::default() };
    let mut capture = load(&a.file, &manner)?;
    let mut record = waves::recording(capture.clone(), &manner);
    let told =
        test.as_ref().map_or_else(Manner::default, |t| captures::known_manner(&notebook, t, &scope, &record));
    if told != Manner::default() {
        manner = Manner { nominal_v: nominal, ..told.clone() };
        capture = load(&a.file, &manner)?;
        record = waves::recording(capture.clone(), &manner);
    }
    let (sha256, new) = keep(a)?;
    let attached = match (&test, sha256.as_str()) {
        (Some(test), Some(sha)) => attach(a, test, sha, told, &scope)?,
        _ => false,
    };
    let questions: Vec<Value> = record.asks().iter().map(|q| question(q, &record)).collect();
    let id = test.as_ref().map(|t| t.id.clone());
    let said = json!({"as": "capture", "file": name(&a.file), "bytes": bytes, "sha256": sha256, "new": new,
        "dry_run": a.dry_run, "readable": record.understood(), "questions": questions, "test": id,
        "attached": attached, "advice": Some(&advice).filter(|s| !s.is_empty()), "wave": waves::json(&capture)});
    if a.json {
        out_json(&said)?;
    } else if record.understood() {
        let kept = match (a.dry_run, new) {
            (true, _) => "would be kept",
            (false, true) => "kept",
            (false, false) => "was kept already",
        };
        let to = match (&id, attached, a.dry_run) {
            (Some(id), _, true) => format!("would go to the test {id}"),
            (Some(id), true, _) => format!("it is with the test {id} now"),
            (Some(id), false, _) => format!("it is with the test {id} already; nothing is changed"),
            (None, ..) => advice,
        };
        let asks: String = record.asks().iter().map(|q| format!("asked: {}\n", words(q, &record))).collect();
        out(&format!("{}: {kept} as it is; {to}\n{asks}{}", a.file.display(), wave::text(&capture)))?;
    }
    match record.understood() {
        true => Ok(()),
        false => Err(Stop::Usage(unread(a, new, "capture", &record.findings))),
    }
}

/// Attaches a kept file; false where it is with the test already.
fn attach(a: &Arguments, test: &Test, sha: &str, told: Manner, scope: &str) -> Result<bool, Stop> {
    let mut bench = Bench::open(&a.bench)?;
    let notebook = bench.notebook()?;
    let at = clock::now_in(&notebook.settings.zone);
    let file = FileRef { sha256: sha.into(), name: name(&a.file), ..FileRef::default() };
    let Some(test) = captures::with_files(&notebook, test, &[(file, told)], scope, &at) else {
        return Ok(false);
    };
    bench.save(&[Record::Test(test)], &Stroke::at(at))?;
    Ok(true)
}

/// What is asked, in words.
fn words(asks: &Asks, record: &CaptureRecord) -> String {
    match asks {
        Asks::Probe { rms_v, fits } => {
            let volts = trueplate_core::shown::four_digits(*rms_v, trueplate_core::shown::Style::PLAIN);
            let perhaps = fits.map_or_else(String::new, |p| format!("; ×{p} would fit"));
            format!(
                "which factor has the probe? The wave has {volts} V as written{perhaps}. Say it in the app"
            )
        }
        Asks::Channel(which) => {
            let names: Vec<&str> =
                which.iter().filter_map(|n| record.channels.get(*n)).map(|c| c.name.as_str()).collect();
            format!("which channel is the outlet's: {}? Say it in the app", names.join(", "))
        }
    }
}

fn question(asks: &Asks, record: &CaptureRecord) -> Value {
    let (code, answers) = match asks {
        Asks::Probe { fits, .. } => ("probe-factor", json!({"fits": fits})),
        Asks::Channel(which) => ("which-channel", json!({"channels": which})),
    };
    json!({"code": code, "text": words(asks, record), "answers": answers})
}
