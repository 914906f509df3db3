//! The files that tests rest on, read: from the bench's bytes to what the kinds of test compute with.
use std::io;
use std::sync::Arc;
use trueplate_core::field::Shape;
use trueplate_core::kinds;
use trueplate_core::notebook::{Entry, Notebook, Test};
use trueplate_core::recording::{Recording, Recordings, Source};
use trueplate_meters::logs::{self, Confirmed, Hints, Loaded, Options};
use trueplate_store::{Bench, Error};

/// Every file that a test's fields name, read as confirmed. What is in `known` is taken over, so each is read once; the
/// bench is opened only when something must be read. A file that is missing, damaged or not understood is left out: the
/// test says so.
pub fn of(
    notebook: &Notebook,
    known: &Recordings,
    open: impl FnOnce() -> Result<Bench, Error>,
) -> anyhow::Result<Recordings> {
    let wanted: Vec<(Source, &Entry)> = notebook.tests.iter().flat_map(attached).collect();
    let mut all = Recordings::new();
    let mut missing = Vec::new();
    for (source, entry) in wanted {
        match known.get(&source) {
            Some(recording) => {
                all.insert(source, recording.clone());
            }
            None => missing.push((source, entry)),
        }
    }
    if missing.is_empty() {
        return Ok(all);
    }
    let bench = open()?;
    for (source, entry) in missing {
        if all.contains_key(&source) {
            continue;
        }
        if let Some(recording) = read(&bench, &source, entry, &notebook.settings.zone)? {
            all.insert(source, Arc::new(recording));
        }
    }
    Ok(all)
}

/// The files of a test's fields that take one.
fn attached(test: &Test) -> impl Iterator<Item = (Source, &Entry)> {
    let fields = kinds::find(&test.kind).map(|k| k.spec().fields).unwrap_or_default();
    fields
        .iter()
        .filter(|f| f.shape == Shape::Log)
        .filter_map(|f| test.entries.get(f.key))
        .filter_map(|e| Some((Source::of(e)?, e)))
}

fn read(bench: &Bench, source: &Source, entry: &Entry, zone: &str) -> anyhow::Result<Option<Recording>> {
    match bench.copy_file(&source.sha256, &mut io::sink()) {
        Ok(_) => {}
        Err(Error::NoSuch { .. } | Error::Damaged { .. }) => return Ok(None),
        Err(e) => return Err(e.into()),
    }
    let name = entry.files.last().map(|f| f.name.clone());
    let loaded = log(|| bench.reader(&source.sha256).map_err(io::Error::other), name, zone, &source.how)?;
    Ok(loaded.as_ref().and_then(logs::recording).map(Recording::Log))
}

/// Reads a log as confirmed in `how`; with nothing confirmed, as it is understood by itself. `None` where `how` is not
/// something this program wrote.
pub fn log<R: io::Read + io::Seek>(
    open: impl FnMut() -> io::Result<R>,
    name: Option<String>,
    zone: &str,
    how: &str,
) -> io::Result<Option<Loaded>> {
    if !how.is_empty() {
        return match serde_json::from_str::<Confirmed>(how) {
            Ok(confirmed) => logs::load_confirmed(open, &confirmed, &Options::default()).map(Some),
            Err(_) => Ok(None),
        };
    }
    let hints =
        Hints { file_name: name, zone: Some(zone.to_string()).filter(|z| !z.is_empty()), known: None };
    logs::load(open, &hints, &Options::default(), None).map(Some)
}
