//! The invented bench as records: whole, repeatable, quick, and with its corrections apart.
use std::collections::BTreeSet;
use trueplate_core::kinds;
use trueplate_core::notebook::Notebook;
use trueplate_core::record::Record;
use trueplate_twin::bench::{bench, notebook, records};
use trueplate_twin::day::DEMO_SEED;

#[test]
fn the_same_seed_gives_the_same_records() {
    assert_eq!(bench(DEMO_SEED), bench(DEMO_SEED));
    assert_ne!(records(DEMO_SEED), records(DEMO_SEED + 1));
}

#[test]
fn ids_are_used_once_and_point_to_something() {
    let n = notebook(DEMO_SEED);
    let ids: BTreeSet<(String, String)> =
        records(DEMO_SEED).iter().map(|r| (r.sort().into(), r.id().into())).collect();
    assert_eq!(ids.len(), records(DEMO_SEED).len());
    for s in &n.specimens {
        assert!(n.model(&s.model).is_some() && !s.provenance.is_empty(), "{}", s.id);
    }
    for test in &n.tests {
        let specimen = n.specimen(&test.specimen).unwrap_or_else(|| panic!("{}", test.id));
        assert!(
            specimen.returned.is_empty() || test.day < specimen.returned,
            "{}: it had gone back",
            test.id
        );
        let known = specimen.firmware.iter().any(|f| f.version == test.firmware);
        assert!(known || (specimen.firmware.is_empty() && test.firmware.is_empty()), "{}", test.id);
        for (key, entry) in &test.entries {
            assert!(entry.instrument.is_empty() || n.instrument(&entry.instrument).is_some(), "{}", test.id);
            assert!(entry.at.parse::<jiff::Timestamp>().is_ok(), "{}/{key}: `{}`", test.id, entry.at);
        }
    }
}

/// Pages answer the questions of their kind and no others; every required one is answered.
#[test]
fn pages_speak_the_language_of_their_kinds() {
    for test in &notebook(DEMO_SEED).tests {
        let Some(kind) = kinds::find(&test.kind) else {
            assert_eq!(test.kind, "noise", "{}", test.id);
            continue;
        };
        for key in test.entries.keys() {
            assert!(kind.spec().field(key).is_some(), "{}: nobody asks `{key}`", test.id);
        }
        for field in kind.spec().fields.iter().filter(|f| f.required) {
            assert!(test.entries.contains_key(field.key), "{}: `{}` is missing", test.id, field.key);
        }
    }
}

#[test]
fn corrections_replace_what_was_first_written() {
    let whole = bench(DEMO_SEED);
    assert_eq!(whole.corrections.len(), 3);
    let mut first = Notebook::default();
    whole.records.iter().cloned().for_each(|r| first.put(r));
    let mut last = String::new();
    for c in &whole.corrections {
        let was =
            whole.records.iter().find(|r| (r.sort(), r.id()) == (c.record.sort(), c.record.id())).unwrap();
        assert_ne!(*was, c.record, "{}", c.why);
        assert!(!c.why.is_empty() && c.at > last, "{}", c.why);
        last.clone_from(&c.at);
        let Record::Test(test) = &c.record else { continue };
        let done = test.entries.values().map(|e| e.at.parse::<jiff::Timestamp>().unwrap()).max().unwrap();
        assert!(
            c.at.parse::<jiff::Timestamp>().unwrap() > done,
            "{}: corrected before it was written",
            test.id
        );
        // Two digits swapped, or a strap weighed too: the text differs, its unit does not.
        let unit = |n: &Notebook, key: &str| {
            n.test(&test.id).unwrap().entries[key].text.rsplit(' ').next().map(String::from)
        };
        for key in test.entries.keys() {
            assert_eq!(unit(&first, key), unit(&notebook(DEMO_SEED), key));
        }
    }
    assert_ne!(first, notebook(DEMO_SEED));
}

#[test]
fn it_is_a_demonstration_and_says_so() {
    let n = notebook(DEMO_SEED);
    assert!(n.settings.demo);
    assert_eq!((n.settings.tester.as_str(), n.settings.as_of.as_str()), ("Ada Quern", "2026-06-30"));
    assert_eq!((n.models.len(), n.specimens.len(), n.loads.len()), (14, 15, 14));
    assert!(n.tests.len() > 200, "{}", n.tests.len());
}

/// A tester knows the calibration, not the hidden error: it found the gain but for its own doubt.
#[test]
fn the_calibration_is_honest() {
    let hidden = trueplate_twin::meter::Meter::bench("M1").unwrap().gain;
    let z: Vec<f64> = (0..400)
        .map(|seed| {
            let found = &trueplate_twin::bench::instruments(seed)[0].calibrations[0];
            (found.gain_error - hidden) / found.u
        })
        .collect();
    let mean = z.iter().sum::<f64>() / 400.0;
    let sd = (z.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 400.0).sqrt();
    // Four standard errors: 4/√400 of the mean, 4/√800 of the spread.
    assert!(mean.abs() < 0.2 && (sd - 1.0).abs() < 0.15, "{mean} ± {sd}");
}
