//! `trueplate publish`: the static site into a folder, or what stands in its way.
use super::file::compute;
use super::{Ended, Stop, out, out_json};
use crate::desk;
use crate::publish::{Elsewhere, Error, Kept, Published, Rest, compare, held, renew, was_published};
use serde_json::json;
use std::collections::{BTreeMap, BTreeSet};
use std::mem::ManuallyDrop;
use std::path::{Path, PathBuf};
use std::thread::JoinHandle;
use trueplate_core::finding::Finding;
use trueplate_core::report::Report;
use trueplate_core::shown::Style;
use trueplate_pages::figure::letters;
use trueplate_pages::site::{self, Before, Known, Pieces, Site, SiteOptions, site_since};
use trueplate_store::Bench;

/// What to publish, and where to.
#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// The folder to publish into: new, empty, or published from here before.
    #[arg(long, value_name = "DIR")]
    to: PathBuf,
    /// Only say what stands in the way or is stale; write nothing.
    #[arg(long)]
    check: bool,
    /// Compute everything that ages for this date, as 2026-06-30; default today.
    #[arg(long)]
    as_of: Option<String>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

impl From<Error> for Stop {
    fn from(e: Error) -> Stop {
        match e {
            Error::NotOurs { .. } => Stop::Usage(e.to_string()),
            Error::Disk { .. } | Error::Changed { .. } => Stop::World(e.to_string()),
        }
    }
}

/// What a buyer asks first: how much, what it can carry, what it costs while it waits.
pub const MAIN: [&str; 3] = ["usable-energy", "sustained-output", "idle-draw"];

/// The pages of a report in the bench's own way of writing numbers, without those of models that were made from the same
/// before.
pub fn pages_since(report: &Report, besides: desk::Besides, before: &Before) -> Site {
    site_since(report, &options(report, besides, None), before)
}

/// What they would be made from, none of them made.
pub fn known(report: &Report, besides: desk::Besides) -> Known {
    site::known(report, &options(report, besides, None))
}

fn options(report: &Report, besides: desk::Besides, cards: Option<BTreeMap<String, Vec<u8>>>) -> SiteOptions {
    let style = Style::of(report.notebook.settings.decimal_comma);
    let main = MAIN.iter().map(|key| (*key).to_string()).collect();
    let base = report.notebook.settings.address.clone();
    let desk::Besides { kept, scripts } = besides;
    SiteOptions { style, main, kept, scripts, base, cards }
}

/// What the last publishing into a folder left to know.
#[derive(Default)]
pub struct Earlier {
    kept: Kept,
    before: Before,
}

impl Earlier {
    /// Reads it. May go on while the report is computed.
    pub fn of(folder: &Path) -> Earlier {
        let kept = Kept::learnt(folder);
        let before = kept.before(folder);
        Earlier { kept, before }
    }
}

/// What a program that goes on running remembers from one publishing to the next.
#[derive(Default)]
pub struct Remembered {
    /// The folder published into last, and what is known of it once all is done there.
    folder: Option<(PathBuf, JoinHandle<Kept>)>,
    pieces: Pieces,
}

impl Remembered {
    /// After a publishing whose pages stand: what is left to do is done while others go on.
    pub fn after(built: &Built, folder: &Path, rest: Rest) -> Remembered {
        let doing = std::thread::spawn(move || rest.done());
        Remembered { folder: Some((folder.to_path_buf(), doing)), pieces: built.site.pieces.clone() }
    }

    /// What is known of a folder, with what is remembered of the stations. The folder itself is then forgotten, until it is
    /// published into again.
    pub fn of(&mut self, folder: &Path) -> Earlier {
        let last = self.folder.take().and_then(|(of, doing)| Some((of, doing.join().ok()?)));
        let Some((_, kept)) = last.filter(|(of, _)| of == folder) else {
            let earlier = Earlier::of(folder);
            return Earlier { before: Before { pieces: self.pieces.clone(), ..earlier.before }, ..earlier };
        };
        Earlier { before: kept.before_with(folder, self.pieces.clone()), kept }
    }
}

impl Drop for Remembered {
    /// What was begun is done, even where the program ends.
    fn drop(&mut self) {
        if let Some((_, doing)) = self.folder.take() {
            let _a_panic_said_so_itself = doing.join();
        }
    }
}

/// A site for a folder, and what is known of that.
pub struct Built {
    /// The site, without what the folder has already.
    pub site: Site,
    earlier: Earlier,
    besides: desk::Besides,
}

/// The pages for a folder, but for those it holds as they would be. Where the address is known they have social cards, which
/// must name it; those that the folder holds from the last publishing are not drawn again.
pub fn pages_for(report: &Report, besides: desk::Besides, folder: &Path, earlier: Earlier) -> Built {
    let addressed = !report.notebook.settings.address.is_empty();
    let made = &earlier.before.made;
    let not_needed: BTreeSet<&String> = made.values().flat_map(|made| &made.files).collect();
    let cards = addressed.then(|| held(folder, "card", &not_needed));
    let site = site_since(report, &options(report, besides.clone(), cards), &earlier.before);
    Built { site, earlier, besides }
}

impl Built {
    /// How publishing would change the folder.
    pub fn compare(&self, folder: &Path) -> Result<Published, Error> {
        compare(&self.site, &self.earlier.kept, folder)
    }

    /// Publishes into the folder it was built for. The new pages stand then; what is left to do comes with it.
    pub fn publish(&self, report: &Report, bench: &Bench, folder: &Path) -> Result<(Published, Rest), Error> {
        let fetch = |sha256: &str, file: &mut std::fs::File| desk::fetch(bench, sha256, file);
        let write = |built: &Built| {
            let elsewhere = Elsewhere { files: &built.site.originals, fetch: &fetch };
            renew(&built.site, &elsewhere, &built.earlier.kept, folder)
        };
        match write(self) {
            // Somebody edits the folder just now, or its files cannot have two names: then everything is made.
            Err(Error::Changed { .. }) => {
                write(&pages_for(report, self.besides.clone(), folder, Earlier::default()))
            }
            done => done,
        }
    }
}

/// Models that were tested but may not be published: they stand in the way. Untested ones are only left out. Of all models or
/// of one.
pub fn in_the_way(report: &Report, model: Option<&str>) -> Vec<(String, Vec<Finding>)> {
    let notebook = &report.notebook;
    let tested =
        |id: &str| notebook.tests.iter().any(|t| notebook.model_of(&t.specimen).is_some_and(|m| m.id == id));
    let asked = report.models.iter().filter(|m| model.is_none_or(|id| m.id == id));
    let shut = asked.filter(|m| !m.gate.is_empty() && (model.is_some() || tested(&m.id)));
    shut.map(|m| (m.name.clone(), m.gate.clone())).collect()
}

/// Publishes, or says what stands in the way.
pub fn run(a: &Arguments) -> Ended {
    let to = a.to.clone();
    let earlier = std::thread::spawn(move || Earlier::of(&to));
    // The process ends with this: the system takes the memory back in less time than giving it back piece by piece takes.
    let report = ManuallyDrop::new(compute(&a.bench, a.as_of.as_deref())?);
    let blocked = in_the_way(&report, None);
    if !blocked.is_empty() {
        if a.json {
            out_json(&document(&blocked, None))?;
        }
        let lines: Vec<String> =
            blocked.iter().flat_map(|(_, f)| f).map(|f| format!("{}; {}", f.text, f.hint)).collect();
        return Err(Stop::No(format!("nothing was published:\n  {}", lines.join("\n  "))));
    }
    let bench = Bench::open_read_only(&a.bench)?;
    let earlier = earlier.join().unwrap_or_default();
    let built = pages_for(&report, desk::besides(&bench, &report.notebook)?, &a.to, earlier);
    let built = ManuallyDrop::new(built);
    let published = match a.check {
        true => built.compare(&a.to)?,
        false => {
            let (published, rest) = built.publish(&report, &bench, &a.to)?;
            let _nobody_asks_again = rest.done();
            published
        }
    };
    if a.json {
        out_json(&document(&blocked, Some(published)))?;
    } else {
        let left_out: Vec<&str> = built.site.refused.iter().map(|(name, _)| name.as_str()).collect();
        let undrawn = letters::undrawn(&report, None);
        let lines: String = undrawn.iter().map(|f| format!("{}; {}\n", f.text, f.hint)).collect();
        out(&(text(a, published, &left_out) + &lines))?;
    }
    // A folder that was never published into cannot be out of date.
    let stale = published.written + published.dropped;
    if a.check && stale > 0 && was_published(&a.to) {
        return Err(Stop::No(format!(
            "{}: {stale} files are not as the bench has them; publish to renew them",
            a.to.display()
        )));
    }
    Ok(())
}

fn document(blocked: &[(String, Vec<Finding>)], published: Option<Published>) -> serde_json::Value {
    let blocked: Vec<_> =
        blocked.iter().map(|(model, findings)| json!({"model": model, "findings": findings})).collect();
    let counts = published
        .map(|p| json!({"written": p.written, "kept": p.kept, "dropped": p.dropped, "foreign": p.foreign}));
    json!({"in_the_way": blocked, "pages": counts})
}

fn text(a: &Arguments, p: Published, left_out: &[&str]) -> String {
    let verb = if a.check { "would be written" } else { "written" };
    let mut t =
        format!("{}: {} files {verb}, {} unchanged, {} gone", a.to.display(), p.written, p.kept, p.dropped);
    if p.foreign > 0 {
        t.push_str(&format!(", {} of your own files left as they are", p.foreign));
    }
    t.push('\n');
    if !left_out.is_empty() {
        t.push_str(&format!("left out, not tested yet: {}\n", left_out.join(", ")));
    }
    t
}
