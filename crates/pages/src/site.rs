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
use context::Context;
use std::collections::BTreeMap;
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

/// Builds every page. Pure.
pub fn site(report: &Report, options: &SiteOptions) -> Site {
    let context = Context::new(report, options);
    let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    let mut page = |path: String, text: String| drop(files.insert(path, text.into_bytes()));
    for model in &context.models {
        page(format!("m/{}.html", model.slug), model::page(&context, model));
        if let Some(text) = captures::page(&context, model) {
            page(captures::path(model), text);
        }
    }
    let mut cards = BTreeMap::new();
    if let Some(held) = &options.cards {
        for (path, card) in context.models.iter().filter_map(|m| m.card.as_ref()) {
            // A card that cannot be drawn is a fault of the program, but no reason to publish nothing.
            let drawn = held.get(path).cloned().or_else(|| card.png().ok());
            cards.extend(drawn.map(|png| (path.clone(), png)));
        }
    }
    page("index.html".into(), comparison::first(&context));
    page("all.html".into(), comparison::all(&context));
    page("run.html".into(), run::page(&context));
    page("how.html".into(), handbook::page(&context));
    page("corrections.html".into(), pages::corrections(&context));
    page("corrections.atom".into(), feed::atom(&context));
    page("questions.html".into(), questions::page(&context));
    page("about.html".into(), about::page(&context));
    if !options.base.is_empty() {
        page("sitemap.xml".into(), feed::sitemap(&context));
    }
    files.extend(cards);
    files.extend(package::files(&context));
    for (path, bytes) in assets::files() {
        files.insert((*path).to_string(), bytes.to_vec());
    }
    let refused = report.models.iter().filter(|m| !m.gate.is_empty());
    let originals = context.originals;
    Site { files, originals, refused: refused.map(|m| (m.name.clone(), m.gate.clone())).collect() }
}
