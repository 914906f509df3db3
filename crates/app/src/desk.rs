//! What a person does at the bench: read the report, keep something, take it back. Between the bench file and the pages.
//!
//! One writer at a time; reading goes on while a large file is put in. The report is computed again only when something
//! was kept, and then only the tests it touches.
use crate::cli::publish::Remembered;
use crate::{clock, figures, recordings};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use trueplate_core::notebook::{Change, FileRef, Notebook};
use trueplate_core::record::Record;
use trueplate_core::recording::{Recording, Recordings, Source};
use trueplate_core::repeat;
use trueplate_core::report::{Report, report, since};
use trueplate_meters::logs::plain;
use trueplate_pages::figure::{self, Figure};
use trueplate_store::{Bench, KeptFile, Stroke};

/// An open bench.
pub struct Desk {
    path: PathBuf,
    /// Taken before `bench` by whoever saves.
    saving: Mutex<()>,
    bench: Mutex<Bench>,
    notes: Mutex<Option<Notes>>,
    seen: Mutex<Option<Seen>>,
    pictures: Mutex<Option<Pictures>>,
    published: Mutex<Remembered>,
    /// Files read so far, so that each is read once.
    read: Mutex<Recordings>,
}

/// The pictures of one report, and that report.
type Pictures = (Arc<Report>, Arc<Vec<Figure>>);

/// The notebook, and the last stroke in it.
type Notes = (Arc<Notebook>, i64);

/// The report of one revision on one day.
struct Seen {
    revision: i64,
    today: String,
    report: Arc<Report>,
}

/// What is to be kept at one stroke, and why.
pub struct Deed<T> {
    /// Records as they shall stand.
    pub records: Vec<Record>,
    /// Reason, for changes of what was already kept.
    pub why: String,
    /// What the caller wants to know afterwards, e.g. a new id.
    pub then: T,
}

/// A deed that was done.
#[derive(Debug)]
pub struct Done<T> {
    /// Number by which it can be taken back; 0 when nothing changed.
    pub stroke: i64,
    /// What the deed said; `None` when this very deed had been done before.
    pub then: Option<T>,
}

impl Desk {
    /// Opens a bench file.
    pub fn open(path: &Path) -> anyhow::Result<Desk> {
        let bench = Bench::open(path)?;
        Ok(Desk {
            path: path.into(),
            saving: Mutex::new(()),
            bench: Mutex::new(bench),
            notes: Mutex::default(),
            seen: Mutex::new(None),
            pictures: Mutex::new(None),
            published: Mutex::default(),
            read: Mutex::default(),
        })
    }

    /// Where the bench file is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The whole bench, computed as of today.
    pub fn report(&self) -> anyhow::Result<Arc<Report>> {
        let (revision, notebook) = {
            let bench = self.bench();
            let mut seen = lock(&self.seen);
            let revision = bench.last_stroke()?;
            if let Some(known) = seen.as_mut().filter(|s| s.revision == revision) {
                let today = today(&known.report.notebook);
                if known.today != today {
                    let (n, o) = (known.report.notebook.clone(), known.report.outcomes.clone());
                    known.report = Arc::new(since(n, o, &today, &known.report));
                    known.today = today;
                }
                return Ok(known.report.clone());
            }
            (revision, self.notebook(&bench)?)
        };
        let before = lock(&self.seen).as_ref().map(|s| s.report.clone());
        let recordings = self.recordings_of(&notebook)?;
        let today = today(&notebook);
        let report = Arc::new(match before {
            None => {
                let outcomes = repeat::outcomes_with(&notebook, &recordings);
                report(notebook, Arc::new(outcomes), &today)
            }
            Some(before) => {
                let known = (&*before.notebook, &*before.outcomes);
                let outcomes = repeat::outcomes_since(&notebook, &recordings, known);
                since(notebook, Arc::new(outcomes), &today, &before)
            }
        });
        *lock(&self.seen) = Some(Seen { revision, today, report: report.clone() });
        Ok(report)
    }

    /// The notebook as it stands; of what was read before, only what was written since is read.
    fn notebook(&self, bench: &Bench) -> anyhow::Result<Arc<Notebook>> {
        let mut notes = lock(&self.notes);
        let (notebook, stroke) = match &*notes {
            Some((known, stroke)) if bench.last_stroke()? == *stroke => return Ok(known.clone()),
            Some((known, stroke)) => bench.notebook_since(known, *stroke)?,
            None => bench.notebook_at()?,
        };
        Ok(notes.insert((Arc::new(notebook), stroke)).0.clone())
    }

    /// Every picture for the video, not yet drawn; gathered again only when the report is another.
    pub fn figures(&self) -> anyhow::Result<Arc<Vec<Figure>>> {
        let report = self.report()?;
        let mut pictures = lock(&self.pictures);
        if let Some((_, known)) = pictures.as_ref().filter(|(of, _)| Arc::ptr_eq(of, &report)) {
            return Ok(known.clone());
        }
        let all = Arc::new(figure::figures(&report, &figures::options(&report), None));
        *pictures = Some((report, all.clone()));
        Ok(all)
    }

    /// What is remembered of the last publishing. Whoever holds it publishes; others wait.
    pub fn publishing(&self) -> MutexGuard<'_, Remembered> {
        lock(&self.published)
    }

    /// Every file that the tests of a notebook rest on, read; those read before are not read again.
    fn recordings_of(&self, notebook: &Notebook) -> anyhow::Result<Recordings> {
        let known = lock(&self.read).clone();
        let all = recordings::of(notebook, &known, || Bench::open_read_only(&self.path))?;
        lock(&self.read).clone_from(&all);
        Ok(all)
    }

    /// A file was read before a test names it, as the test will read it.
    pub fn has_read(&self, source: Source, recording: Recording) {
        lock(&self.read).insert(source, Arc::new(recording));
    }

    /// Files read so far.
    pub fn recordings(&self) -> Recordings {
        lock(&self.read).clone()
    }

    /// Does something to the notebook. `deed` sees it as it stands and nobody changes it meanwhile.
    /// With a key in `once`, a deed that was done before is not done again.
    pub fn act<T, E: From<anyhow::Error>>(
        &self,
        once: &str,
        deed: impl FnOnce(&Notebook) -> Result<Deed<T>, E>,
    ) -> Result<Done<T>, E> {
        let _one_at_a_time = lock(&self.saving);
        let mut bench = self.bench();
        if let Some(stroke) = bench.once(once).map_err(anyhow::Error::from)? {
            return Ok(Done { stroke, then: None });
        }
        let notebook = self.notebook(&bench)?;
        let deed = deed(&notebook)?;
        let at = now(&notebook);
        let stroke = Stroke::at(at).why(deed.why).once(once);
        let saved = bench.save(&deed.records, &stroke).map_err(anyhow::Error::from)?;
        Ok(Done { stroke: saved.stroke.unwrap_or(0), then: Some(deed.then) })
    }

    /// Takes a record out of the notebook; its history stays, and it can be taken back.
    pub fn take_out(&self, sort: &str, id: &str, why: &str) -> anyhow::Result<i64> {
        let _one_at_a_time = lock(&self.saving);
        let mut bench = self.bench();
        let at = now(&*self.notebook(&bench)?);
        Ok(bench.remove(sort, id, &Stroke::at(at).why(why))?.stroke.unwrap_or(0))
    }

    /// The kept scripts of all videos as text, by the hash of their file. What cannot be read is left out.
    pub fn scripts(&self) -> anyhow::Result<BTreeMap<String, String>> {
        let bench = self.bench();
        Ok(scripts(&bench, &*self.notebook(&bench)?))
    }

    /// Takes a stroke back. Fails with words when later changes stand on it.
    pub fn undo(&self, stroke: i64) -> anyhow::Result<i64> {
        let _one_at_a_time = lock(&self.saving);
        let mut bench = self.bench();
        let at = now(&*self.notebook(&bench)?);
        Ok(bench.undo(stroke, &at)?.stroke.unwrap_or(0))
    }

    /// Strokes below the one named (all of them for 0), newest first, at most `count`: those that changed a record.
    pub fn strokes(&self, below: i64, count: usize) -> anyhow::Result<Vec<Vec<Change>>> {
        let bench = self.bench();
        let last = bench.last_stroke()?;
        let from = if below > 0 { below.min(last + 1) } else { last + 1 };
        let mut found = Vec::new();
        for stroke in (1..from).rev() {
            // A kept file stands in the record that names it; it cannot be taken back by itself.
            let changes: Vec<Change> =
                bench.stroke(stroke)?.into_iter().filter(|c| c.record != "file").collect();
            if !changes.is_empty() {
                found.push(changes);
            }
            if found.len() == count {
                break;
            }
        }
        Ok(found)
    }

    /// Keeps the bytes of a file to their end. Nobody else can save meanwhile, so give it what is on the disk already;
    /// reading goes on, for the file goes in by a connection of its own.
    pub fn put_file(&self, name: &str, media: &str, bytes: impl Read) -> anyhow::Result<FileRef> {
        let _one_at_a_time = lock(&self.saving);
        let at = now(&*self.notebook(&self.bench())?);
        Ok(Bench::open(&self.path)?.put_file(bytes, name, media, &at)?)
    }

    /// Every kept file, in the order they came.
    pub fn files(&self) -> anyhow::Result<Vec<KeptFile>> {
        Ok(self.bench().files()?)
    }

    /// The kept file with this hash, if it is here.
    pub fn kept_file(&self, sha256: &str) -> anyhow::Result<Option<KeptFile>> {
        Ok(self.bench().kept_file(sha256)?)
    }

    /// The bytes of a kept file.
    pub fn file(&self, sha256: &str) -> anyhow::Result<Vec<u8>> {
        Ok(self.bench().file(sha256)?)
    }

    fn bench(&self) -> MutexGuard<'_, Bench> {
        lock(&self.bench)
    }
}

/// What the bench holds besides its notebook, as far as published pages need it.
#[derive(Clone, Debug, Default)]
pub struct Besides {
    /// Every kept file, by SHA-256, with the number of its bytes.
    pub kept: BTreeMap<String, u64>,
    /// The scripts of videos as text, by the hash of their file, so that corrections name the minute.
    pub scripts: BTreeMap<String, String>,
}

/// What lies beside the notebook.
pub fn besides(bench: &Bench, notebook: &Notebook) -> Result<Besides, trueplate_store::Error> {
    let kept = bench.files()?.into_iter().map(|k| (k.file.sha256, k.size)).collect();
    Ok(Besides { kept, scripts: scripts(bench, notebook) })
}

/// Writes the bytes of a kept file into another.
pub fn fetch(bench: &Bench, sha256: &str, to: &mut impl std::io::Write) -> std::io::Result<()> {
    bench.copy_file(sha256, to).map(|_| ()).map_err(std::io::Error::other)
}

/// The kept scripts of all videos as text, whatever their encoding, by the hash of their file.
pub fn scripts(bench: &Bench, notebook: &Notebook) -> BTreeMap<String, String> {
    let hashes = notebook.videos.iter().map(|v| &v.script.sha256).filter(|h| !h.is_empty());
    hashes.filter_map(|h| Some((h.clone(), plain(&bench.file(h).ok()?)))).collect()
}

/// A panic in another request leaves the bench file as it was after the last whole stroke, so the lock may be taken.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

pub use trueplate_core::stamp::written;

/// The moment of asking, as it is kept.
pub fn now(notebook: &Notebook) -> String {
    clock::now_in(&notebook.settings.zone)
}

/// The day of asking in the bench's zone, ISO 8601.
pub fn today(notebook: &Notebook) -> String {
    clock::today_in(&notebook.settings.zone)
}

/// An id that no record and no former record of this sort has.
pub fn free_id(notebook: &Notebook, sort: &str, wanted: &str) -> String {
    let taken = |id: &str| {
        notebook.changes.iter().any(|c| c.record == sort && c.id == id)
            || match sort {
                "model" => notebook.model(id).is_some(),
                "specimen" => notebook.specimen(id).is_some(),
                "instrument" => notebook.instrument(id).is_some(),
                "load" => notebook.load(id).is_some(),
                "letter" => notebook.letter(id).is_some(),
                "question" => notebook.question(id).is_some(),
                "video" => notebook.video(id).is_some(),
                _ => notebook.test(id).is_some(),
            }
    };
    let base = slug(wanted);
    let first = (!base.is_empty() && !taken(&base)).then(|| base.clone());
    let stem = if base.is_empty() { sort.to_string() } else { base };
    first.unwrap_or_else(|| (2..).map(|n| format!("{stem}-{n}")).find(|id| !taken(id)).unwrap_or(stem))
}

/// Lower-case letters and digits of a name, joined by hyphens, at most 40.
fn slug(name: &str) -> String {
    let kept: String =
        name.to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { ' ' }).collect();
    let joined = kept.split_whitespace().collect::<Vec<_>>().join("-");
    joined.chars().take(40).collect::<String>().trim_end_matches('-').to_string()
}
