//! The files that tests rest on, read: from the bench's bytes to what the kinds of test compute with.
use std::io;
use std::sync::Arc;
use trueplate_core::field::Shape;
use trueplate_core::kinds;
use trueplate_core::notebook::{Notebook, Test};
use trueplate_core::recording::{CaptureRecord, Manner, Recording, Recordings, Source};
use trueplate_meters::logs::{self, Confirmed, Hints, Loaded, Options};
use trueplate_meters::waves;
use trueplate_store::{Bench, Error};

/// Every file that a test's fields name, read as confirmed. What is in `known` is taken over, so each is read once; the
/// bench is opened only when something must be read. A file that is missing, damaged or not understood is left out: the
/// test says so.
pub fn of(
    notebook: &Notebook,
    known: &Recordings,
    open: impl FnOnce() -> Result<Bench, Error>,
) -> anyhow::Result<Recordings> {
    let mut all = Recordings::new();
    let mut missing = Vec::new();
    for wanted in notebook.tests.iter().flat_map(|t| attached(notebook, t)) {
        match known.get(&wanted.source) {
            Some(recording) => {
                all.insert(wanted.source, recording.clone());
            }
            None => missing.push(wanted),
        }
    }
    if missing.is_empty() {
        return Ok(all);
    }
    let bench = open()?;
    for wanted in missing {
        if all.contains_key(&wanted.source) {
            continue;
        }
        if let Some(recording) = read(&bench, &wanted, &notebook.settings.zone)? {
            all.insert(wanted.source, Arc::new(recording));
        }
    }
    Ok(all)
}

/// A file that a test rests on.
struct Wanted {
    source: Source,
    shape: Shape,
    /// Name it came with.
    name: String,
}

/// The files of a test's fields that take some.
fn attached(notebook: &Notebook, test: &Test) -> Vec<Wanted> {
    let fields = kinds::find(&test.kind).map(|k| k.spec().fields).unwrap_or_default();
    let mains = || notebook.model_of(&test.specimen).map_or(0.0, |m| m.mains_v);
    let mut wanted = Vec::new();
    for field in fields {
        let Some(entry) = test.entries.get(field.key) else { continue };
        let sources = match field.shape {
            Shape::Log => Source::of(entry).into_iter().collect(),
            Shape::Captures(_) => Source::captures(entry, mains()),
            _ => continue,
        };
        let name = |sha: &str| entry.files.iter().find(|f| f.sha256 == sha).map(|f| f.name.clone());
        wanted.extend(sources.into_iter().map(|source| {
            let name = name(&source.sha256).unwrap_or_default();
            Wanted { source, shape: field.shape, name }
        }));
    }
    wanted
}

fn read(bench: &Bench, wanted: &Wanted, zone: &str) -> anyhow::Result<Option<Recording>> {
    let source = &wanted.source;
    match bench.copy_file(&source.sha256, &mut io::sink()) {
        Ok(_) => {}
        Err(Error::NoSuch { .. } | Error::Damaged { .. }) => return Ok(None),
        Err(e) => return Err(e.into()),
    }
    let open = || bench.reader(&source.sha256).map_err(io::Error::other);
    if let Shape::Captures(_) = wanted.shape {
        let manner = source.manner().unwrap_or_default();
        return Ok(Some(Recording::Capture(capture(open, &manner)?)));
    }
    let loaded = log(open, Some(wanted.name.clone()), zone, &source.how)?;
    Ok(loaded.as_ref().and_then(logs::recording).map(|log| Recording::Log(Box::new(log))))
}

/// Pieces of a curve that is kept for the eye.
const CURVE: usize = 900;

/// Reads a capture in a manner; what is not understood says so itself.
pub fn capture<R: io::Read>(
    mut open: impl FnMut() -> io::Result<R>,
    manner: &Manner,
) -> io::Result<CaptureRecord> {
    let mut record = waves::recording(waves::load(&mut open, &waves::options(manner))?, manner);
    let outlet = record.outlet().map(|(place, channel)| (place, channel.probe_factor));
    if let Some(((place, k), stretch)) = outlet.zip(record.stretch()) {
        let curve = waves::trace(open, place, stretch, CURVE)?;
        let volts = |v: f32| (f64::from(v) * k) as f32;
        record.curve = curve.into_iter().map(|(t, low, high)| (t, volts(low), volts(high))).collect();
    }
    Ok(record)
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
