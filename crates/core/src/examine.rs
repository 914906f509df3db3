//! The one door to a kind's analysis: reads the entries, says what every kind would say, then analyses.
use crate::field::{FieldSpec, Holds, Shape};
use crate::finding::Finding;
use crate::kind::{Kind, Outcome, Run};
use crate::notebook::{Entry, Notebook, Test};
use crate::questions;
use crate::reading::{self, Desk, FileRead, Reading};
use crate::recording::{Recordings, Source};
use crate::shown;
use std::collections::BTreeMap;

/// The outcome of one test whose files nobody has read.
pub fn run(kind: &dyn Kind, test: &Test, notebook: &Notebook) -> Outcome {
    run_with(kind, test, notebook, &Recordings::new())
}

/// The outcome of one test with its files as read. Total: whatever was written, it returns.
pub fn run_with(kind: &dyn Kind, test: &Test, notebook: &Notebook, recordings: &Recordings) -> Outcome {
    let spec = kind.spec();
    let mut out = Outcome::default();
    let desk = Desk::new(notebook, test).with(recordings);
    let mut readings = BTreeMap::new();
    for field in spec.fields {
        match test.entries.get(field.key).filter(|e| e.is_answer()) {
            Some(entry) => match reading::read(field, entry, &desk, &mut out.findings) {
                Ok(reading) => {
                    of_files(field, entry, &reading, &mut out);
                    readings.insert(field.key, reading);
                }
                Err(t) => {
                    let text = format!("{}: {}", field.label, t.text);
                    out.findings.push(Finding::gap(t.code, field.key, text, t.hint));
                }
            },
            None if field.is_missing(test) => out.findings.push(Finding::gap(
                "missing",
                field.key,
                format!("{} is missing", field.label),
                "enter it, or write down why it cannot be had",
            )),
            None => (),
        }
    }
    let run = Run { spec, readings, desk };
    check(&run, &mut out);
    let _missing_input_already_reported = kind.analyse(&run, &mut out);
    for found in &out.results {
        let declared = spec.results.iter().any(|r| r.key == found.result.key);
        assert!(declared, "{}: result {} is not in its spec", spec.id, found.result.key);
    }
    out
}

/// What the reading of its files noticed and mended belongs to the test that rests on them. The same in several files
/// is said once.
fn of_files(field: &FieldSpec, entry: &Entry, reading: &Reading, out: &mut Outcome) {
    let files: Vec<FileRead> = match reading {
        Reading::Log(logged) => Source::of(entry)
            .map(|source| FileRead { file: logged.file.clone(), source, recording: logged.recording.clone() })
            .into_iter()
            .collect(),
        Reading::Captures(captured) => captured.files.clone(),
        _ => return,
    };
    let mut noticed: Vec<(Finding, usize)> = Vec::new();
    let mut add = |f: Finding| match noticed.iter_mut().find(|(known, _)| known.code == f.code) {
        Some((_, more)) if files.len() > 1 => *more += 1,
        _ => noticed.push((f, 0)),
    };
    for one in &files {
        let name = &one.file.name;
        let Some(recording) = &one.recording else {
            let text = format!("{}: {name} has not been read", field.label);
            let hint = "open the file and say how it is to be read";
            add(Finding::gap("file-not-read", field.key, text, hint));
            continue;
        };
        let mut own: Vec<&str> = Vec::new();
        // How finely harmonics are told apart matters only where the wave is asked for.
        let of_times = field.shape == Shape::Captures(Holds::Interruption);
        for f in recording.findings().into_iter().filter(|f| !(of_times && f.code == "short-window")) {
            let text = match f.place.starts_with("line") {
                true => format!("{name}, {}: {}", f.place, f.text),
                false => format!("{name}: {}", f.text),
            };
            // Once for a file, however many of its channels show it.
            if files.len() == 1 || !own.contains(&f.code.as_str()) {
                add(Finding::new(f.weight, &f.code, field.key, text, f.hint.as_str()));
            }
            own.push(&f.code);
        }
        out.recordings.insert(one.source.clone(), recording.clone());
    }
    out.findings.extend(noticed.into_iter().map(|(f, more)| match more {
        0 => f,
        1 => Finding { text: format!("{}; so in one file more", f.text), ..f },
        n => Finding { text: format!("{}; so in {n} files more", f.text), ..f },
    }));
}

/// Doubts that do not depend on the kind.
fn check(run: &Run, out: &mut Outcome) {
    let test = run.desk.test;
    let Some(specimen) = run.specimen() else {
        out.findings.push(Finding::gap(
            "no-specimen",
            "specimen",
            format!("the test speaks of the specimen `{}`, which is not in the bench", test.specimen),
            "choose the specimen that was tested",
        ));
        return;
    };
    if !specimen.firmware.is_empty() && !specimen.firmware.iter().any(|f| f.version == test.firmware) {
        out.findings.push(Finding::doubt(
            "firmware-unknown",
            "firmware",
            format!("firmware `{}` is not one that this specimen had", test.firmware),
            "choose the version the station showed at the test",
        ));
    }
    market_of_meters(run, out);
    if let Some(Reading::Quantity(t)) = run.readings.get(questions::AMBIENT.spec.key)
        && !(questions::BAND_C.0..=questions::BAND_C.1).contains(&t.x)
    {
        let text = format!("{} °C at the bench", shown::decimal(t.x, 0, shown::Style::POINT));
        out.condition.insert("temperature".into(), format!("{:.0} °C", t.x));
        out.findings.push(Finding::note(
            "outside-temperature-band",
            questions::AMBIENT.spec.key,
            text,
            "results outside 20 to 27 °C stand apart and are not ranked with the rest",
        ));
    }
}

/// A meter made for other mains than the station gives.
fn market_of_meters(run: &Run, out: &mut Outcome) {
    let Some(model) = run.model().filter(|m| m.mains_v > 0.0) else { return };
    let mut seen = Vec::new();
    for (key, entry) in &run.desk.test.entries {
        let Some(meter) = run.desk.notebook.instrument(&entry.instrument) else { continue };
        if meter.mains_v > 0.0
            && (meter.mains_v - model.mains_v).abs() > 0.2 * model.mains_v
            && !seen.contains(&&meter.id)
        {
            seen.push(&meter.id);
            out.findings.push(Finding::doubt(
                "meter-for-other-mains",
                key.as_str(),
                format!(
                    "{} is made for {:.0} V, the station gives {:.0} V",
                    meter.name, meter.mains_v, model.mains_v
                ),
                "use a meter made for this voltage, or choose the profile it was really read on",
            ));
        }
    }
}
