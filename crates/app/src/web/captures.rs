//! An oscilloscope's files of one test: many sent at once, what was understood of each, what only a person can say of
//! them, and taking one out again.
use super::Site;
use super::capture_view;
use super::entry::{found, missing};
use super::fault::Fault;
use super::form::Sent;
use super::page::{Answer, Ask, html, kept, refused};
use super::upload::{self, Arrived, Upload};
use crate::captures::{self, known_manner, usual_instrument, with_files};
use crate::desk::{Deed, Desk, now};
use crate::recordings;
use axum::extract::{Multipart, Path, State as Shared};
use std::io;
use trueplate_core::notebook::{Entry, FileRef, Notebook, Test};
use trueplate_core::record::Record;
use trueplate_core::recording::{CaptureRecord, Manner, Recording, Source, Told};
use trueplate_store::Bench;

/// Most that is taken at once, in bytes: a batch of twenty captures of a million samples, several times over.
pub const LARGEST: u64 = 2 << 30;

/// A test that takes captures.
pub fn taking<'a>(notebook: &'a Notebook, id: &str) -> Result<&'a Test, Fault> {
    let (test, _) = found(notebook, id)?;
    match captures::field_of(test) {
        Some(_) => Ok(test),
        None => Err(Fault::Missing("This test takes no oscilloscope's files.".into())),
    }
}

/// The captures of a test.
pub async fn show(Shared(site): Shared<Site>, Path(id): Path<String>, ask: Ask) -> Answer {
    taking(ask.notebook(), &id)?;
    Ok(html(&capture_view::page(&ask, &id, loose(&site).await?, String::new())?))
}

/// Files that no test names yet, newest first, pictures left out.
async fn loose(site: &Site) -> Result<Vec<FileRef>, Fault> {
    site.with(|desk| {
        let notebook = &desk.report()?.notebook;
        let named = |sha: &str| {
            let of = |t: &Test| t.entries.values().any(|e| e.files.iter().any(|f| f.sha256 == sha));
            notebook.tests.iter().any(of) || notebook.videos.iter().any(|v| v.script.sha256 == sha)
        };
        let all = desk.files()?.into_iter().rev().map(|k| k.file);
        Ok(all.filter(|f| !f.media.starts_with("image/") && !named(&f.sha256)).take(40).collect())
    })
    .await
}

/// Reads a kept file in a manner; `None` where its bytes are not here or damaged.
fn read(desk: &Desk, sha: &str, manner: &Manner) -> Result<Option<CaptureRecord>, Fault> {
    let bench = Bench::open_read_only(desk.path()).map_err(anyhow::Error::from)?;
    let open = || bench.reader(sha).map_err(io::Error::other);
    Ok(recordings::capture(open, manner).ok())
}

/// Takes files into a test, all at one stroke.
pub async fn keep(Shared(site): Shared<Site>, Path(id): Path<String>, form: Multipart) -> Answer {
    let Upload { sent, files: arrived } = upload::read(&site, form, LARGEST).await?;
    let already: Vec<String> = sent.all("sha256").map(str::to_string).collect();
    if arrived.is_empty() && already.is_empty() {
        let ask = Ask::of(site.report().await?, Sent::default());
        let trouble = "The files are empty, or none was chosen. Export the captures again and choose them.";
        return Ok(refused(&capture_view::page(&ask, &id, loose(&site).await?, trouble.into())?));
    }
    let to = super::at::captures(&id);
    let stroke = site.with(move |desk| take(desk, &id, arrived, &already)).await?;
    Ok(if stroke > 0 { kept(&to, stroke) } else { kept(&format!("{to}?same=1"), 0) })
}

fn take(desk: &Desk, id: &str, arrived: Vec<Arrived>, already: &[String]) -> Result<i64, Fault> {
    let mut files = Vec::new();
    for file in arrived {
        files.push(file.keep(desk)?);
    }
    for sha in already {
        let kept = desk.kept_file(sha)?;
        files.push(kept.ok_or_else(|| Fault::Missing("No file with this mark is kept here.".into()))?.file);
    }
    let report = desk.report()?;
    let test = taking(&report.notebook, id)?;
    let scope = usual_instrument(&report.notebook, test);
    let nominal_v = Some(captures::mains_v(&report.notebook, test)).filter(|v| *v > 0.0);
    let mut told = Vec::new();
    for file in files {
        let record = read(desk, &file.sha256, &Manner { nominal_v, ..Manner::default() })?;
        let manner =
            record.as_ref().map_or_else(Manner::default, |r| known_manner(&report.notebook, test, &scope, r));
        // Read as the test will read it, it need not be read again.
        if let Some(record) = record.filter(|_| manner == Manner::default()) {
            let source = Source::capture(&file.sha256, manner.clone(), nominal_v.unwrap_or(0.0));
            desk.has_read(source, Recording::Capture(record));
        }
        told.push((file, manner));
    }
    change(desk, id, "", |notebook, test| with_files(notebook, test, &told, &scope, &now(notebook)))
}

/// Changes a test by its captures; 0 where nothing changes.
fn change(
    desk: &Desk,
    id: &str,
    why: &str,
    how: impl FnOnce(&Notebook, &Test) -> Option<Test>,
) -> Result<i64, Fault> {
    let done = desk.act("", |notebook| {
        let test = notebook.test(id).ok_or_else(|| missing(id))?;
        let records = how(notebook, test).map(Record::Test).into_iter().collect();
        Ok::<_, Fault>(Deed { records, why: why.into(), then: () })
    })?;
    Ok(done.stroke)
}

/// Changes the entry of a test's captures; with no file left it is gone.
fn with_entry(notebook: &Notebook, test: &Test, edit: impl FnOnce(&mut Entry)) -> Option<Test> {
    let (field, _) = captures::field_of(test)?;
    let before = captures::entry_of(test)?;
    let mut entry = before.clone();
    edit(&mut entry);
    if entry == *before {
        return None;
    }
    entry.at = now(notebook);
    let mut test = test.clone();
    match entry.files.is_empty() {
        true => test.entries.remove(field.key),
        false => test.entries.insert(field.key.into(), entry),
    };
    Some(test)
}

/// An answer about some files: the probe's factor, the outlet's channel, the oscilloscope, or that one does not belong.
pub async fn say(Shared(site): Shared<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    taking(&site.report().await?.notebook, &id)?;
    let number = sent.get("probe").replace(',', ".");
    let probe = match number.trim_start_matches(['x', 'X', '×']).trim() {
        "" => None,
        text => match text.parse::<f64>() {
            Ok(p) if p > 0.0 && p <= 1e5 => Some(p),
            _ => {
                let ask = Ask::of(site.report().await?, Sent::default());
                let trouble = format!("`{}` is no factor of a probe. Write it as 200.", sent.get("probe"));
                return Ok(refused(&capture_view::page(&ask, &id, loose(&site).await?, trouble)?));
            }
        },
    };
    let says_probe = sent.0.iter().any(|(n, _)| n == "probe");
    let channel = sent.get("channel").parse::<usize>().ok();
    let instrument = sent.0.iter().any(|(n, _)| n == "instrument").then(|| sent.text("instrument"));
    let back = match sent.get("back") {
        "" => super::at::captures(&id),
        sha => super::at::capture(&id, sha),
    };
    let about: Vec<String> = sent.all("sha256").map(str::to_string).collect();
    let (out, why) = (sent.text("out"), sent.text("why"));
    let stroke = site
        .with(move |desk| {
            change(desk, &id, &why, |notebook, test| {
                with_entry(notebook, test, |entry| {
                    let mut told = Told::of(entry);
                    for sha in &about {
                        let before = told.about(sha);
                        // An empty field takes back what was said; one that was not sent leaves it.
                        let manner = Manner {
                            probe: if says_probe { probe } else { before.probe },
                            channel: channel.or(before.channel),
                            nominal_v: None,
                        };
                        told = told.say(sha, manner);
                    }
                    if !out.is_empty() {
                        entry.files.retain(|f| f.sha256 != out);
                        told = told.say(&out, Manner::default());
                    }
                    entry.how = told.kept();
                    if let Some(instrument) = instrument {
                        entry.instrument = instrument;
                    }
                })
            })
        })
        .await?;
    Ok(kept(&back, stroke))
}
