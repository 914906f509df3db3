//! The published folder: every page as bytes, from a report alone. Works without a server and without scripts.
//!
//! Equal reports give equal bytes. A model that lacks disclosure or provenance is refused, never half shown.
mod about;
mod anchor;
mod answer;
mod captures;
pub(crate) mod claims;
mod comparison;
pub(crate) mod context;
mod feed;
mod frame;
mod handbook;
mod ld;
mod maker;
mod model;
mod pages;
mod questions;
mod results;
mod run;
mod trail;
pub(crate) mod words;

use crate::assets;
use crate::package::{self, Original};
use context::{Context, Shown};
use std::collections::BTreeMap;
use trueplate_core::abreast;
use trueplate_core::finding::Finding;
use trueplate_core::report::Report;
use trueplate_core::shown::Style;

/// Writes to a `String`, which cannot fail.
macro_rules! put {
    ($out:expr, $($args:tt)*) => {{
        use std::fmt::Write as _;
        let _ = write!($out, $($args)*);
    }};
}
pub(crate) use put;

/// What the owner of the pages chooses.
#[derive(Clone, Debug)]
pub struct SiteOptions {
    /// How numbers are written.
    pub style: Style,
    /// Where the folder will stand, with its closing slash; empty when not known. Only the feed and the map of the
    /// site name it, and the cards.
    pub base: String,
    /// Results in the first table and in the head of a model's page, by key; empty: the first result of each kind.
    pub main: Vec<String>,
    /// Social cards, a picture for each model that links to its page show: `None` for none; else those that were drawn
    /// before, by path, which are not drawn again while they say the same.
    pub cards: Option<BTreeMap<String, Vec<u8>>>,
    /// Files the bench holds, by SHA-256, with the number of their bytes. Those that tests were computed from go along.
    pub kept: BTreeMap<String, u64>,
    /// Scripts of videos by the SHA-256 of their file, as text: with them a correction names the minute.
    pub scripts: BTreeMap<String, String>,
}

impl Default for SiteOptions {
    fn default() -> Self {
        SiteOptions {
            style: Style::POINT,
            base: String::new(),
            main: Vec::new(),
            cards: None,
            kept: BTreeMap::new(),
            scripts: BTreeMap::new(),
        }
    }
}

/// The folder to be written, and what was kept out of it.
pub struct Site {
    /// Path within the folder, with forward slashes, and content.
    pub files: BTreeMap<String, Vec<u8>>,
    /// Original files that belong beside them, whose bytes the bench holds.
    pub originals: Vec<Original>,
    /// Models that were not published, by name, with what stands in the way.
    pub refused: Vec<(String, Vec<Finding>)>,
}

/// One file or some of the folder, by itself.
enum Job<'c, 'a> {
    /// A page of the bench: its path, and what makes it.
    Page(&'static str, fn(&Context) -> String),
    /// The pages of a model, with its card.
    Model(&'c Shown<'a>),
    /// The data package.
    Data,
}

impl Job<'_, '_> {
    fn done(&self, context: &Context) -> Vec<(String, Vec<u8>)> {
        match self {
            Job::Page(path, make) => vec![((*path).to_string(), make(context).into_bytes())],
            Job::Data => package::files(context).into_iter().collect(),
            Job::Model(model) => {
                let page = model::page(context, model).into_bytes();
                let mut files = vec![(format!("m/{}.html", model.slug), page)];
                let captured = captures::page(context, model);
                files.extend(captured.map(|text| (captures::path(model), text.into_bytes())));
                if let (Some(held), Some((path, card))) = (&context.options.cards, &model.card) {
                    // A card that cannot be drawn is a fault of the program, but no reason to publish nothing.
                    let drawn = held.get(path).cloned().or_else(|| card.png().ok());
                    files.extend(drawn.map(|png| (path.clone(), png)));
                }
                files
            }
        }
    }
}

/// Builds every page. Pure.
pub fn site(report: &Report, options: &SiteOptions) -> Site {
    let context = Context::new(report, options);
    // The long ones first.
    let mut jobs = vec![
        Job::Data,
        Job::Page("all.html", comparison::all),
        Job::Page("run.html", run::page),
        Job::Page("index.html", comparison::first),
        Job::Page("how.html", handbook::page),
        Job::Page("corrections.html", pages::corrections),
        Job::Page("corrections.atom", feed::atom),
        Job::Page("questions.html", questions::page),
        Job::Page("about.html", about::page),
    ];
    if !options.base.is_empty() {
        jobs.push(Job::Page("sitemap.xml", feed::sitemap));
    }
    jobs.extend(context.models.iter().map(Job::Model));
    let done = abreast::each(&jobs, |job| job.done(&context));
    let mut files: BTreeMap<String, Vec<u8>> = done.into_iter().flatten().collect();
    for (path, bytes) in assets::files() {
        files.insert((*path).to_string(), bytes.to_vec());
    }
    let refused = report.models.iter().filter(|m| !m.gate.is_empty());
    let originals = context.originals;
    Site { files, originals, refused: refused.map(|m| (m.name.clone(), m.gate.clone())).collect() }
}
