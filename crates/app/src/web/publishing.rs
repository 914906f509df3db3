//! Publishing: what stands in the way, where to, and doing it. The same rules as the command.
use super::Site;
use super::at;
use super::fault::Fault;
use super::figures::written_at;
use super::form::Sent;
use super::logs;
use super::page::{Answer, Ask, Top, html, refused};
use super::words;
use crate::cli::publish::{Remembered, in_the_way, pages_for};
use crate::desk::{Desk, besides};
use crate::publish::Published;
use askama::Template;
use axum::extract::State;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use trueplate_core::finding::{Finding, Weight};
use trueplate_core::notebook::{Specimen, Test};
use trueplate_core::report::{ModelReport, Report};
use trueplate_core::shown::capital;
use trueplate_pages::figure::letters;
use trueplate_store::Bench;

#[derive(Template)]
#[template(path = "publish.html")]
struct Page {
    top: Top,
    gate: Vec<Gate>,
    left_out: Vec<Gate>,
    /// Link, text, and of which test.
    open: Vec<(String, String, String)>,
    folder: String,
    trouble: String,
    done: Option<Published>,
    models: usize,
}

struct Gate {
    text: String,
    hint: String,
    link: String,
}

fn gate(model: &str, f: &Finding) -> Gate {
    let link = match f.code.as_str() {
        "no-provenance" => at::specimen(&f.place),
        "no-specimen" => at::new_specimen(model),
        _ => at::model(model),
    };
    Gate { text: capital(&f.text), hint: f.hint.clone(), link }
}

fn page(ask: &Ask, folder: String) -> Page {
    let report = &ask.report;
    let blocked: Vec<String> = in_the_way(report, None).into_iter().map(|(name, _)| name).collect();
    let gates = |wanted: bool| {
        let models = report.models.iter().filter(|m| blocked.contains(&m.name) == wanted);
        models.flat_map(|m| m.gate.iter().map(|f| gate(&m.id, f))).collect::<Vec<_>>()
    };
    let doubts = report
        .models
        .iter()
        .flat_map(|m| m.findings.iter().filter(|(_, f)| f.weight == Weight::Doubt).map(move |f| (m, f)));
    let tests: BTreeMap<&str, &Test> = report.notebook.tests.iter().map(|t| (t.id.as_str(), t)).collect();
    let samples: BTreeMap<&str, &Specimen> =
        report.notebook.specimens.iter().map(|s| (s.id.as_str(), s)).collect();
    let of = |m: &ModelReport, test: &str| match tests.get(test) {
        Some(test) => {
            let sample = samples.get(test.specimen.as_str());
            logs::label_of(&sample.map_or(m.name.clone(), |s| words::sample_of(&m.name, s)), test)
        }
        None => m.name.clone(),
    };
    let mut open: Vec<_> =
        doubts.map(|(m, (test, f))| (at::finding(test, &f.place), capital(&f.text), of(m, test))).collect();
    let undrawn = letters::undrawn(report, None);
    open.extend(
        undrawn.into_iter().map(|f| (written_at(&f), format!("{}; {}", f.text, f.hint), String::new())),
    );
    if report.notebook.settings.tester.is_empty() {
        open.push(("/settings".into(), "The name of the tester is not written down".into(), String::new()));
    }
    Page {
        top: ask.top(),
        gate: gates(true),
        left_out: gates(false),
        open,
        folder,
        trouble: String::new(),
        done: None,
        models: report.models.len(),
    }
}

/// Beside the bench file.
fn usual_folder(bench: &Path) -> PathBuf {
    let stem = bench.file_stem().map_or_else(|| "bench".into(), |s| s.to_string_lossy().into_owned());
    let full = std::path::absolute(bench).unwrap_or_else(|_| bench.into());
    full.with_file_name(format!("{stem}-site"))
}

/// What stands in the way, and the button.
pub async fn show(ask: Ask, State(site): State<Site>) -> Answer {
    let folder = usual_folder(site.desk.path()).display().to_string();
    Ok(html(&page(&ask, folder)))
}

fn publish_into(desk: &Desk, report: &Report, target: &Path) -> anyhow::Result<Published> {
    // Its own look at the bench: a log of a week is copied without holding up a phone.
    let bench = Bench::open_read_only(desk.path())?;
    // One at a time, each from what the last one left.
    let mut remembered = desk.publishing();
    let built = pages_for(report, besides(&bench, &report.notebook)?, target, remembered.of(target));
    let (published, rest) = built.publish(report, &bench, target)?;
    let now = Remembered::after(&built, target, rest);
    let forgotten = std::mem::replace(&mut *remembered, now);
    // The new pages stand: nobody waits for the memory of the old ones to be given back.
    std::thread::spawn(move || drop((forgotten, built)));
    Ok(published)
}

/// Writes the pages into the folder.
pub async fn publish(ask: Ask, State(site): State<Site>, sent: Sent) -> Answer {
    let folder = sent.text("folder");
    let refuse = |words: &str| Ok(refused(&Page { trouble: words.into(), ..page(&ask, folder.clone()) }));
    if !in_the_way(&ask.report, None).is_empty() {
        return refuse("Nothing was published: what is listed first must be written down.");
    }
    if !Path::new(&folder).is_absolute() {
        return refuse("Write the whole path of the folder, from its root.");
    }
    let report = ask.report.clone();
    let target = PathBuf::from(&folder);
    let desk = site.desk.clone();
    let written = tokio::task::spawn_blocking(move || publish_into(&desk, &report, &target));
    // Meanwhile what the page says besides.
    let ready = page(&ask, folder.clone());
    match written.await.map_err(|e| Fault::World(e.into()))? {
        Ok(published) => Ok(html(&Page { done: Some(published), ..ready })),
        Err(e) => Ok(refused(&Page { trouble: format!("{e}."), ..ready })),
    }
}
