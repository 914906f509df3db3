//! Publishing: what stands in the way, where to, and doing it.
use super::Site;
use super::fault::Fault;
use super::form::Sent;
use super::page::{Answer, Ask, Top, html, refused};
use askama::Template;
use axum::extract::State;
use std::path::{Path, PathBuf};
use trueplate_pages::site::{SiteOptions, site};

#[derive(Template)]
#[template(path = "publish.html")]
struct Page {
    top: Top,
    gate: Vec<Gate>,
    open: Vec<(String, String)>,
    folder: String,
    trouble: String,
    done: Option<usize>,
    models: usize,
}

struct Gate {
    text: String,
    hint: String,
    link: String,
}

fn page(ask: &Ask, folder: String, trouble: String, done: Option<usize>) -> Page {
    let report = &ask.report;
    let mut gate = Vec::new();
    for model in &report.models {
        for f in &model.gate {
            let link = match f.code.as_str() {
                "no-provenance" => format!("/specimen/{}", f.place),
                "no-specimen" => format!("/specimen/new?model={}", model.id),
                _ => format!("/model/{}", model.id),
            };
            gate.push(Gate { text: f.text.clone(), hint: f.hint.clone(), link });
        }
    }
    if report.notebook.settings.tester.is_empty() {
        gate.push(Gate {
            text: "The name of the tester is not written down".into(),
            hint: "readers must know who speaks".into(),
            link: "/settings".into(),
        });
    }
    let doubt = |f: &trueplate_core::finding::Finding| f.weight == trueplate_core::finding::Weight::Doubt;
    let open = report
        .models
        .iter()
        .flat_map(|m| m.findings.iter().filter(|(_, f)| doubt(f)))
        .map(|(test, f)| (format!("/test/{test}/all#{}", f.place), f.text.clone()));
    Page { top: ask.top(), open: open.collect(), folder, trouble, done, models: report.models.len(), gate }
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
    Ok(html(&page(&ask, folder, String::new(), None)))
}

/// Writes the pages into the folder.
pub async fn publish(ask: Ask, sent: Sent) -> Answer {
    let folder = sent.text("folder");
    let ready = page(&ask, folder.clone(), String::new(), None);
    if !ready.gate.is_empty() {
        let words = "Nothing was published: what is listed first must be written down.";
        return Ok(refused(&Page { trouble: words.into(), ..ready }));
    }
    if !Path::new(&folder).is_absolute() {
        let words = "Write the whole path of the folder, from its root.";
        return Ok(refused(&Page { trouble: words.into(), ..ready }));
    }
    let report = ask.report.clone();
    let target = PathBuf::from(&folder);
    let options = SiteOptions { style: ask.style(), ..SiteOptions::default() };
    let written = tokio::task::spawn_blocking(move || {
        let files = site(&report, &options).files;
        crate::publish::write(&files, &target).map(|()| files.len())
    });
    match written.await.map_err(|e| Fault::World(e.into()))? {
        Ok(count) => Ok(html(&Page { done: Some(count), ..ready })),
        Err(e) => Ok(refused(&Page { trouble: format!("{e:#}."), ..ready })),
    }
}
