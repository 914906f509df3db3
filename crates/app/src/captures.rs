//! An oscilloscope's files on their way into a test: which tests can take one, and how the test stands with it.
use trueplate_core::field::{FieldSpec, Holds, Shape};
use trueplate_core::notebook::{Entry, FileRef, Notebook, Test};
use trueplate_core::quantity::Dim;
use trueplate_core::recording::{Asks, CaptureRecord, Manner, Recordings, Told};
use trueplate_core::wave::mains::mains_of;
use trueplate_core::{examine, kinds};

/// The field of a test that takes captures, and what each has to hold.
pub fn field_of(test: &Test) -> Option<(&'static FieldSpec, Holds)> {
    kinds::find(&test.kind)?.spec().fields.iter().find_map(|f| match f.shape {
        Shape::Captures(holds) => Some((*f, holds)),
        _ => None,
    })
}

/// The captures of a test as its entry stands.
pub fn entry_of(test: &Test) -> Option<&Entry> {
    test.entries.get(field_of(test)?.0.key).filter(|e| !e.files.is_empty())
}

/// The voltage that the station of a test is made for, V; 0 when that is not known.
pub fn mains_v(notebook: &Notebook, test: &Test) -> f64 {
    notebook.model_of(&test.specimen).map_or(0.0, |m| m.mains_v)
}

/// What a capture holds, so that it finds its kind of test.
pub fn holds(record: &CaptureRecord) -> Holds {
    if record.interruptions().is_empty() { Holds::Wave } else { Holds::Interruption }
}

/// Tests that a capture of this sort can still go to: those that rest on captures, or have no result by hand yet.
pub fn open_tests<'a>(notebook: &'a Notebook, wanted: Holds, known: &Recordings) -> Vec<&'a Test> {
    let takes = |t: &&Test| t.excluded.is_empty() && field_of(t).is_some_and(|(_, holds)| holds == wanted);
    let open = |t: &&Test| {
        entry_of(t).is_some()
            || kinds::find(&t.kind)
                .is_some_and(|k| examine::run_with(k, t, notebook, known).results.is_empty())
    };
    notebook.tests.iter().filter(takes).filter(open).collect()
}

/// The oscilloscope named with a test's captures, else the one of the latest test that has some, else the only
/// instrument that could be one.
pub fn usual_instrument(notebook: &Notebook, test: &Test) -> String {
    let named = |t: &Test| entry_of(t).map(|e| e.instrument.clone()).filter(|i| !i.is_empty());
    let scopes = || {
        // What states an accuracy for times and for voltages is an oscilloscope.
        let mut fits =
            notebook.instruments.iter().filter(|i| i.measures(Dim::Time) && i.measures(Dim::Voltage));
        fits.next().filter(|_| fits.next().is_none()).map(|i| i.id.clone())
    };
    named(test).or_else(|| notebook.tests.iter().rev().find_map(named)).or_else(scopes).unwrap_or_default()
}

/// The probe's factor as last said of a capture of this instrument.
fn remembered(notebook: &Notebook, instrument: &str) -> Option<f64> {
    let said = |t: &Test| {
        let entry = entry_of(t).filter(|e| !instrument.is_empty() && e.instrument == instrument)?;
        let told = Told::of(entry);
        entry.files.iter().rev().find_map(|f| told.about(&f.sha256).probe)
    };
    notebook.tests.iter().rev().find_map(said)
}

/// What is said of a file without asking: the probe's factor that this instrument had before, where it makes the wave
/// the voltage that is meant.
pub fn known_manner(notebook: &Notebook, test: &Test, instrument: &str, record: &CaptureRecord) -> Manner {
    let Some(Asks::Probe { rms_v, .. }) = record.asks() else { return Manner::default() };
    let nominal = mains_v(notebook, test);
    let fits = |p: &f64| match nominal > 0.0 {
        // As the reader of captures takes it: a fifth either way.
        true => (0.8..=1.2).contains(&(rms_v * p / nominal)),
        false => mains_of(rms_v * p).is_some(),
    };
    Manner { probe: remembered(notebook, instrument).filter(fits), ..Manner::default() }
}

/// The test with further captures; `None` where that changes nothing. What was said of files before stays said.
pub fn with_files(
    notebook: &Notebook,
    test: &Test,
    files: &[(FileRef, Manner)],
    instrument: &str,
    at: &str,
) -> Option<Test> {
    let (field, _) = field_of(test)?;
    let before = test.entries.get(field.key).cloned().unwrap_or_default();
    let mut entry = before.clone();
    let mut told = Told::of(&before);
    for (file, manner) in files {
        if entry.files.iter().all(|f| f.sha256 != file.sha256) {
            entry.files.push(file.clone());
            told = told.say(&file.sha256, manner.clone());
        }
    }
    // Later files are from the one that stands there.
    if before.files.is_empty() && notebook.instrument(instrument).is_some() {
        entry.instrument = instrument.into();
    }
    entry.how = told.kept();
    if entry == before {
        return None;
    }
    entry.at = at.into();
    let mut test = test.clone();
    test.entries.insert(field.key.into(), entry);
    Some(test)
}
