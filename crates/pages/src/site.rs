//! The published folder: every page as bytes, from a report alone. Works without a server and without scripts.
//!
//! Equal reports give equal bytes. A model that lacks disclosure or provenance is refused, never half shown.
mod about;
mod anchor;
mod answer;
mod captures;
mod cell;
pub(crate) mod claims;
mod column;
mod comparison;
pub(crate) mod context;
mod feed;
mod frame;
mod handbook;
mod ld;
pub(crate) mod made;
mod maker;
mod model;
mod pages;
mod pieces;
mod questions;
mod results;
mod run;
mod said;
mod trail;
pub(crate) mod words;

use crate::assets;
use crate::json;
use crate::package::{self, At, Original};
use context::{Context, Shown};
pub use made::{Before, Known, Made};
pub use pieces::Pieces;
use pieces::Station;
use said::Said;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
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
    /// Files that were not made again: those made before are as they would be.
    pub same: BTreeSet<String>,
    /// What the pages of each model were made from; empty for pages made from nothing.
    pub made: Known,
    /// What was worked out of each model, to be remembered for the next time.
    pub pieces: Pieces,
    /// Original files that belong beside them, whose bytes the bench holds.
    pub originals: Vec<Original>,
    /// Models that were not published, by name, with what stands in the way.
    pub refused: Vec<(String, Vec<Finding>)>,
}

/// One file or some of the folder, by itself.
enum Job<'c, 'a> {
    /// A page of the bench: its path, and what makes it.
    Page(&'static str, fn(&Context) -> String),
    /// One that is put together from pieces of all models.
    Whole(&'static str, fn(&Context, &[Station]) -> String),
    /// The pages of a model, with its card; and the sum of what they are made from, where that is asked for.
    Model(&'c Shown<'a>, Option<&'c str>),
    /// The data package but for the facts.
    Data,
    /// Runtimes.
    Runs,
    /// The facts, of which some lines may be there already.
    Facts(&'c [Option<String>], &'c Before),
}

/// Files; and of each model, where that is among them, its lines in the file of facts with what to remember of them, where
/// its lines in the tables stand, and where what its runtimes rest on; these in the order they were written down.
#[derive(Default)]
struct Done {
    files: Vec<(String, Vec<u8>)>,
    facts: Vec<(Option<said::Lines>, Arc<Said>)>,
    lines: Vec<Vec<At>>,
    grounds: Vec<json::Stretch>,
}

impl Job<'_, '_> {
    fn done(&self, context: &Context, stations: &[Station]) -> Done {
        match self {
            Job::Facts(sums, before) => {
                let (text, facts) = said::facts(context, (sums, stations), before);
                let files = vec![(package::FACTS.to_string(), text.into_bytes())];
                Done { files, facts, ..Done::default() }
            }
            Job::Data => {
                let (files, lines) = tables(context, stations);
                Done { files: files.into_iter().collect(), lines, ..Done::default() }
            }
            Job::Runs => {
                let (text, grounds) = run::page(context, stations);
                let files = vec![(run::PAGE.to_string(), text.into_bytes())];
                Done { files, grounds, ..Done::default() }
            }
            _ => Done { files: self.files(context, stations), ..Done::default() },
        }
    }

    fn files(&self, context: &Context, stations: &[Station]) -> Vec<(String, Vec<u8>)> {
        match self {
            Job::Facts(..) | Job::Data | Job::Runs => Vec::new(),
            Job::Page(path, make) => vec![((*path).to_string(), make(context).into_bytes())],
            Job::Whole(path, make) => vec![((*path).to_string(), make(context, stations).into_bytes())],
            Job::Model(model, _) => {
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

/// Paths of the files of all in which stands what was worked out of each model, besides the facts.
pub fn of_all() -> impl Iterator<Item = String> {
    package::with_lines().chain([run::PAGE.to_string()])
}

/// Builds every page. Pure.
pub fn site(report: &Report, options: &SiteOptions) -> Site {
    built(report, options, None)
}

/// Builds what is not as it was: pages of a model that were made from the same by this build of the program are left out
/// and named. Whoever has the others has the site that [`site`] builds, byte for byte.
pub fn site_since(report: &Report, options: &SiteOptions, before: &Before) -> Site {
    built(report, options, Some(before))
}

/// The data package alone, every file of it by its path.
pub(crate) fn data(report: &Report, options: &SiteOptions) -> BTreeMap<String, Vec<u8>> {
    let nothing = Pieces::default();
    let context = Context::new(report, options, &nothing);
    let stations = nothing.stations(&context, &Before::default());
    let (mut all, _) = tables(&context, &stations);
    let (facts, _) = said::facts(&context, (&[], &stations), &Before::default());
    all.insert(package::FACTS.into(), facts.into_bytes());
    all
}

fn tables(context: &Context, stations: &[Station]) -> (BTreeMap<String, Vec<u8>>, Vec<Vec<At>>) {
    let in_order = context.as_written_at().filter_map(|i| stations.get(i));
    package::files(context, &in_order.map(Station::tables).collect::<Vec<_>>())
}

/// What the pages of each model would be made from, none of them made: with it [`site_since`] makes only those that would
/// come out otherwise.
pub fn known(report: &Report, options: &SiteOptions) -> Known {
    let context = Context::new(report, options, &Pieces::default());
    let alone = abreast::each(&context.models, |shown| made::alone(&context, shown));
    let sums = made::sums(&context, &alone);
    let one = |(model, from): (&Shown, Option<String>)| {
        Some((model.report.id.clone(), Made { from: from?, ..Made::default() }))
    };
    context.models.iter().zip(sums).filter_map(one).collect()
}

/// Files that are made each time, the long ones first.
fn files_of_all<'c, 'a>(
    options: &SiteOptions,
    sums: &'c [Option<String>],
    before: &'c Before,
) -> Vec<Job<'c, 'a>> {
    let mut jobs = vec![
        Job::Data,
        Job::Facts(sums, before),
        Job::Whole("all.html", comparison::all),
        Job::Runs,
        Job::Whole("index.html", comparison::first),
        Job::Page("how.html", handbook::page),
        Job::Page("corrections.html", pages::corrections),
        Job::Page("corrections.atom", feed::atom),
        Job::Page("questions.html", questions::page),
        Job::Page("about.html", about::page),
    ];
    if !options.base.is_empty() {
        jobs.push(Job::Page("sitemap.xml", feed::sitemap));
    }
    jobs
}

fn built(report: &Report, options: &SiteOptions, before: Option<&Before>) -> Site {
    let nothing = Before::default();
    let pieces = &before.unwrap_or(&nothing).pieces;
    let context = Context::new(report, options, pieces);
    let stations = pieces.stations(&context, before.unwrap_or(&nothing));
    let alone: Vec<Option<String>> = stations.iter().map(|s| s.alone.sum.clone()).collect();
    let sums = before.map(|_| made::sums(&context, &alone)).unwrap_or_default();
    let before = before.unwrap_or(&nothing);
    let known = |i: usize, model: &Shown| {
        let found = before.made.get(&model.report.id)?;
        (sums.get(i)?.as_ref() == Some(&found.from)).then_some(found)
    };
    let mut jobs = files_of_all(options, &sums, before);
    let (mut same, mut made) = (BTreeSet::new(), Known::new());
    for (i, model) in context.models.iter().enumerate() {
        match known(i, model) {
            Some(found) => {
                same.extend(found.files.iter().cloned());
                // Where its lines stand is told anew.
                made.insert(model.report.id.clone(), Made { facts: None, stands: None, ..found.clone() });
            }
            None => jobs.push(Job::Model(model, sums.get(i).and_then(Option::as_deref))),
        }
    }
    let (mut files, mut facts) = (BTreeMap::new(), Vec::new());
    let (mut lines, mut grounds) = (Vec::new(), Vec::new());
    let done = abreast::each(&jobs, |job| job.done(&context, &stations));
    for (job, done) in jobs.iter().zip(done) {
        if let Job::Model(model, Some(from)) = job {
            let paths = done.files.iter().map(|(path, _)| path.clone()).collect();
            let new = Made { from: (*from).into(), files: paths, ..Made::default() };
            made.insert(model.report.id.clone(), new);
        }
        facts.extend(done.facts);
        lines.extend(done.lines);
        grounds.extend(done.grounds);
        files.extend(done.files);
    }
    for (i, (lines, ground)) in context.as_written_at().zip(lines.into_iter().zip(grounds)) {
        if let Some(made) = made.get_mut(&context.models[i].report.id) {
            made.stands = stations[i].stands(lines, ground);
        }
    }
    drop(jobs);
    let mut stations = stations;
    for ((model, station), (lines, said)) in context.models.iter().zip(&mut stations).zip(facts) {
        station.facts = Some(said);
        if let Some(made) = made.get_mut(&model.report.id) {
            made.facts = lines;
        }
    }
    let pieces = Pieces::kept(&context, stations);
    for (path, bytes) in assets::files() {
        let path = (*path).to_string();
        if before.stand.contains(&path) {
            same.insert(path);
        } else {
            files.insert(path, bytes.to_vec());
        }
    }
    let refused = report.models.iter().filter(|m| !m.gate.is_empty());
    let refused = refused.map(|m| (m.name.clone(), m.gate.clone())).collect();
    Site { files, same, made, pieces, originals: context.originals, refused }
}
