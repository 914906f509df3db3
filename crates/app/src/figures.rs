//! Pictures for the video in a folder: drawn where they are missing or differ, left alone where they are right. Finds those
//! that no longer say what the bench says; never deletes a file and never writes over one it did not write.
use crate::cli::publish::MAIN;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use trueplate_core::facts::fnv1a;
use trueplate_core::report::Report;
use trueplate_core::shown::Style;
use trueplate_pages::figure::{Figure, Form, Frame, Options, Undrawn, keyword, raster};

/// How the pictures of a bench are drawn: its way of writing numbers, the same results compared as on the site.
pub fn options(report: &Report) -> Options {
    let style = if report.notebook.settings.decimal_comma { Style::COMMA } else { Style::POINT };
    Options { style, main: MAIN.map(String::from).to_vec() }
}

/// Stands in the folder: a line per picture with what it was drawn from and its SHA-256.
pub const MARKER: &str = ".trueplate-figures";

/// Why a picture was not written.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Something else has its name.
    #[error("{}: {why}; move it away or choose another folder", path.display())]
    NotOurs {
        /// The file or folder.
        path: PathBuf,
        /// What it is instead.
        why: &'static str,
    },
    /// The disk.
    #[error("{}: {doing} failed ({source}); pictures that were finished are whole", path.display())]
    Disk {
        /// The file or folder.
        path: PathBuf,
        /// What was attempted.
        doing: &'static str,
        /// The operating system's word.
        source: io::Error,
    },
    /// The program.
    #[error("{0}; please report this")]
    Undrawn(#[from] Undrawn),
}

/// A picture in the folder that no longer says what the bench says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stale {
    /// Its place in the folder.
    pub path: String,
    /// Fact it shows.
    pub fact: String,
    /// Version it shows.
    pub version: String,
    /// Version of the bench; `None` when the bench no longer has that picture.
    pub now: Option<String>,
}

/// What was done. Paths are within the folder, with forward slashes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drawn {
    /// New or drawn anew.
    pub written: Vec<String>,
    /// Already as they should be; not touched.
    pub unchanged: Vec<String>,
    /// Out of date; not touched.
    pub stale: Vec<Stale>,
}

/// Which pictures are wanted: of one model (all when `None`), in these sizes.
pub struct Wanted<'a> {
    /// Id of the model.
    pub model: Option<&'a str>,
    /// Sizes.
    pub frames: &'a [Frame],
}

struct Job<'a> {
    figure: &'a Figure,
    frame: Frame,
    form: Form,
    path: String,
}

fn disk<'a>(path: &'a Path, doing: &'static str) -> impl Fn(io::Error) -> Error + use<'a> {
    move |source| Error::Disk { path: path.to_path_buf(), doing, source }
}

/// Draws what is wanted of `all`, every picture the bench has. `said` hears how many are done, of how many.
pub fn draw(
    all: &[Figure],
    wanted: &Wanted,
    folder: &Path,
    said: impl Fn(usize, usize) + Sync,
) -> Result<Drawn, Error> {
    if fs::symlink_metadata(folder).is_ok_and(|m| !m.is_dir() && !folder.is_dir()) {
        return Err(Error::NotOurs { path: folder.into(), why: "it is no folder" });
    }
    fs::create_dir_all(folder).map_err(disk(folder, "making the folder"))?;
    let jobs = jobs(all, wanted);
    let known = listed(folder);
    let (next, done) = (AtomicUsize::new(0), Mutex::new((Drawn::default(), BTreeMap::new(), None::<Error>)));
    let work = || {
        while let Some(job) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
            let ended = one(job, folder, &known);
            let mut done = done.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            match ended {
                Ok((written, line)) => {
                    let list = if written { &mut done.0.written } else { &mut done.0.unchanged };
                    list.push(job.path.clone());
                    done.1.insert(job.path.clone(), line);
                    said(done.1.len(), jobs.len());
                }
                Err(e) => {
                    done.2.get_or_insert(e);
                    next.store(jobs.len(), Ordering::Relaxed);
                }
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(work);
        }
    });
    let (mut drawn, lines, failed) = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    list(folder, known, lines)?;
    if let Some(e) = failed {
        return Err(e);
    }
    drawn.written.sort();
    drawn.unchanged.sort();
    drawn.stale = stale(all, folder);
    Ok(drawn)
}

fn jobs<'a>(all: &'a [Figure], wanted: &Wanted) -> Vec<Job<'a>> {
    let mut jobs = Vec::new();
    for figure in all.iter().filter(|f| wanted.model.is_none_or(|id| f.model == id)) {
        let forms = figure.forms();
        for &frame in wanted.frames {
            let job = |form: &Form| Job { figure, frame, form: *form, path: figure.path(frame, *form) };
            jobs.extend(forms.iter().map(job));
        }
    }
    jobs
}

/// What a picture is drawn from, as a short word: another drawing or another program gives another word.
fn source(job: &Job) -> String {
    let texts: Vec<String> = job.figure.texts(job.frame, job.form).into_iter().map(|(_, t)| t).collect();
    let svg = job.figure.svg(job.frame, job.form);
    format!("{:016x}", fnv1a(&format!("{}\n{svg}\n{}", env!("CARGO_PKG_VERSION"), texts.join("\n"))))
}

fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

/// Draws one picture unless it stands there already; whether it was written, and its line in the list.
fn one(job: &Job, folder: &Path, known: &BTreeMap<String, String>) -> Result<(bool, String), Error> {
    let file = folder.join(&job.path);
    let found = match fs::read(&file) {
        Ok(bytes) => Some(bytes),
        Err(e) if e.kind() == io::ErrorKind::NotFound => None,
        Err(e) => return Err(disk(&file, "reading it")(e)),
    };
    let source = source(job);
    if let Some(bytes) = &found {
        let line = format!("{source}  {}", hex(bytes));
        if known.get(&job.path) == Some(&line) {
            return Ok((false, line));
        }
    }
    let png = job.figure.png(job.frame, job.form)?;
    let line = format!("{source}  {}", hex(&png));
    if let Some(bytes) = found {
        if bytes == png {
            return Ok((false, line));
        }
        if !ours(&raster::texts(&bytes)) {
            return Err(Error::NotOurs { path: file, why: "it is not a picture of this bench" });
        }
    }
    write_whole(&file, &png)?;
    Ok((true, line))
}

/// Under another name first, so that nobody ever sees half a picture.
fn write_whole(file: &Path, bytes: &[u8]) -> Result<(), Error> {
    if let Some(parent) = file.parent() {
        fs::create_dir_all(parent).map_err(disk(parent, "making the folder"))?;
    }
    let mut name = file.file_name().unwrap_or_default().to_os_string();
    name.push(format!(".{}.part", std::process::id()));
    let part = file.with_file_name(name);
    let kept = fs::write(&part, bytes).and_then(|()| fs::rename(&part, file));
    kept.map_err(|e| {
        let _gone_already = fs::remove_file(&part);
        disk(file, "writing it")(e)
    })
}

fn listed(folder: &Path) -> BTreeMap<String, String> {
    let text = fs::read_to_string(folder.join(MARKER)).unwrap_or_default();
    let line = |l: &str| {
        let mut parts = l.splitn(3, "  ");
        let (source, sum, path) = (parts.next()?, parts.next()?, parts.next()?);
        Some((path.to_string(), format!("{source}  {sum}")))
    };
    text.lines().filter_map(line).collect()
}

fn list(folder: &Path, known: BTreeMap<String, String>, new: BTreeMap<String, String>) -> Result<(), Error> {
    let mut all = known.clone();
    all.retain(|path, _| folder.join(path).is_file());
    all.extend(new);
    if all == known {
        return Ok(());
    }
    let text: String = all.iter().map(|(path, line)| format!("{line}  {path}\n")).collect();
    write_whole(&folder.join(MARKER), text.as_bytes())
}

fn of<'t>(texts: &'t [(String, String)], keyword: &str) -> &'t str {
    texts.iter().find(|(k, _)| k == keyword).map_or("", |(_, t)| t)
}

fn ours(texts: &[(String, String)]) -> bool {
    of(texts, keyword::SOFTWARE) == "Trueplate" && !of(texts, keyword::FACT).is_empty()
}

/// Bytes of a file in which the texts before its pixels stand.
const HEAD: u64 = 16 << 10;

/// Our pictures in the folder, renamed ones too, that show another version than the bench has.
pub fn stale(all: &[Figure], folder: &Path) -> Vec<Stale> {
    let current: BTreeMap<(&str, &str), &str> =
        all.iter().map(|f| ((f.fact.as_str(), f.kind()), f.version.as_str())).collect();
    let mut found = BTreeSet::new();
    pictures(folder, folder, 0, &mut found);
    let check = |path: String| {
        let mut head = Vec::new();
        fs::File::open(folder.join(&path)).ok()?.take(HEAD).read_to_end(&mut head).ok()?;
        let texts = raster::texts(&head);
        let (fact, version) = (of(&texts, keyword::FACT), of(&texts, keyword::VERSION));
        let now = current.get(&(fact, of(&texts, keyword::FIGURE))).copied();
        (ours(&texts) && now != Some(version)).then(|| Stale {
            path,
            fact: fact.into(),
            version: version.into(),
            now: now.map(String::from),
        })
    };
    found.into_iter().filter_map(check).collect()
}

/// Depth to which folders are searched.
const DEEP: usize = 8;

fn pictures(root: &Path, folder: &Path, depth: usize, found: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let (path, sort) = (entry.path(), entry.file_type());
        if sort.as_ref().is_ok_and(|s| s.is_dir()) {
            if depth < DEEP {
                pictures(root, &path, depth + 1, found);
            }
        } else if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("png")) {
            let inside = path.strip_prefix(root).unwrap_or(&path);
            let parts: Vec<_> = inside.components().map(|c| c.as_os_str().to_string_lossy()).collect();
            found.insert(parts.join("/"));
        }
    }
}
