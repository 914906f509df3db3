//! `trueplate import` of an oscilloscope's files: to the test that waits for them, else kept with advice.
use super::run::trueplate;
use super::wave::write;
use std::fs;
use std::path::Path;
use trueplate_core::kinds;
use trueplate_core::notebook::{Notebook, Test};
use trueplate_core::record::Record;
use trueplate_core::recording::Told;
use trueplate_store::{Bench, Stroke};

/// The core's example bench with tests of these kinds, answered as far as an oscilloscope is not needed.
fn bench(folder: &Path, wanted: &[(&str, &str)]) {
    let at = "2026-05-03T08:00:00Z";
    let mut bench = Bench::create(&folder.join("b.trueplate"), at).unwrap();
    let Notebook { settings, models, specimens, instruments, loads, .. } =
        kinds::find("switchover").unwrap().example().notebook;
    let mut records = vec![Record::Settings(settings)];
    records.extend(models.into_iter().map(Record::Model));
    records.extend(specimens.into_iter().map(Record::Specimen));
    records.extend(instruments.into_iter().map(Record::Instrument));
    records.extend(loads.into_iter().map(Record::Load));
    for (id, kind) in wanted {
        let mut test = Test { id: (*id).into(), ..kinds::find(kind).unwrap().example().test };
        test.entries.retain(|key, _| key == "load" || key == "stated");
        records.push(Record::Test(test));
    }
    bench.save(&records, &Stroke::at(at)).unwrap();
}

fn notebook(folder: &Path) -> Notebook {
    Bench::open_read_only(&folder.join("b.trueplate")).unwrap().notebook().unwrap()
}

#[test]
fn captures_go_to_the_open_test_of_their_kind() {
    let dir = tempfile::tempdir().unwrap();
    bench(dir.path(), &[("cuts", "switchover"), ("wave", "waveform")]);
    // 292 and 200 samples of 0.05 ms: 14.6 ms and 10.0 ms; the third one runs on.
    write(dir.path(), "a.csv", 292, 1.0);
    write(dir.path(), "b.csv", 200, 1.0);
    write(dir.path(), "c.csv", 0, 1.0);
    let dry =
        trueplate(dir.path(), &["import", "b.trueplate", "a.csv", "--as", "capture", "--dry-run", "--json"]);
    let dry = dry.json();
    assert_eq!(
        (dry["test"].as_str(), dry["sha256"].is_null(), dry["attached"].as_bool()),
        (Some("cuts"), true, Some(false))
    );
    assert!(notebook(dir.path()).test("cuts").unwrap().entries.len() == 1, "nothing is written in a dry run");
    // What it is, is found out too.
    for (file, test) in [("a.csv", "cuts"), ("b.csv", "cuts"), ("c.csv", "wave")] {
        let json = trueplate(dir.path(), &["import", "b.trueplate", file, "--json"]).json();
        let got =
            (json["as"].as_str(), json["test"].as_str(), json["attached"].as_bool(), json["new"].as_bool());
        assert_eq!(got, (Some("capture"), Some(test), Some(true), Some(true)), "{file}: {json}");
        assert!(
            json["wave"]["channels"][0]["rms_v"].is_number() && json["questions"] == serde_json::json!([])
        );
    }
    let before = notebook(dir.path());
    let again = trueplate(dir.path(), &["import", "b.trueplate", "a.csv"]);
    assert!(again.code == 0 && again.out.contains("nothing is changed"), "{}", again.out);
    assert_eq!(notebook(dir.path()), before, "importing it twice changes nothing");
    let entry = &before.test("cuts").unwrap().entries["captures"];
    assert_eq!((entry.files.len(), entry.instrument.as_str(), entry.how.as_str()), (2, "scope", ""));
    let report = trueplate(dir.path(), &["report", "b.trueplate", "--json"]).json();
    let results = report["models"][0]["results"].as_array().unwrap();
    let value = |key: &str| {
        let found =
            results.iter().find(|r| r["key"] == key).unwrap_or_else(|| panic!("no {key}: {results:?}"));
        found["value"]["value"].as_f64().unwrap()
    };
    // (14.6 + 10.0)/2 = 12.3 ms, whatever unit it is told in; 120 V, 60 Hz.
    let time = value("switchover");
    assert!([12.3, 0.0123, 12.3 / 3.6e6].iter().any(|t| (time / t - 1.0).abs() < 0.02), "{time}");
    assert!((value("voltage") - 120.0).abs() < 0.6 && (value("frequency") - 60.0).abs() < 0.005);
}

#[test]
fn a_capture_that_could_go_to_several_or_to_none_is_kept_with_advice() {
    let dir = tempfile::tempdir().unwrap();
    bench(dir.path(), &[("one", "switchover"), ("two", "switchover")]);
    write(dir.path(), "a.csv", 292, 200.0);
    let json = trueplate(dir.path(), &["import", "b.trueplate", "a.csv", "--as", "capture", "--json"]).json();
    assert!(json["test"].is_null() && json["sha256"].is_string(), "{json}");
    assert!(json["advice"].as_str().unwrap().contains("--test: one, two"), "{json}");
    assert_eq!(json["questions"][0]["code"], "probe-factor");
    let named = ["import", "b.trueplate", "a.csv", "--as", "capture", "--test", "two", "--json"];
    let json = trueplate(dir.path(), &named).json();
    assert_eq!(
        (json["test"].as_str(), json["new"].as_bool(), json["attached"].as_bool()),
        (Some("two"), Some(false), Some(true))
    );
    assert_eq!(json["questions"][0]["answers"]["fits"], 200.0);
    let test = notebook(dir.path()).test("two").unwrap().clone();
    assert_eq!(Told::of(&test.entries["captures"]), Told::default(), "a factor is never invented");
    trueplate(dir.path(), &["import", "b.trueplate", "a.csv", "--as", "capture", "--test", "no"])
        .stopped(2, &["--test no"]);
    fs::write(dir.path().join("run.csv"), "time,W\n2026-05-03 10:00,500\n2026-05-03 10:01,500\n").unwrap();
    trueplate(dir.path(), &["import", "b.trueplate", "run.csv", "--test", "two"])
        .stopped(2, &["--test", "log"]);
    // A wave that runs on finds no test of its kind here.
    write(dir.path(), "c.csv", 0, 1.0);
    let kept = trueplate(dir.path(), &["import", "b.trueplate", "c.csv"]);
    assert!(kept.code == 0 && kept.out.contains("none is open"), "{}", kept.out);
    // Damage: kept, said, and no success.
    fs::write(dir.path().join("d.csv"), "Sample Interval,5E-05,s\nTIME,CH1\n<html>504</html>\n").unwrap();
    let damaged = trueplate(dir.path(), &["import", "b.trueplate", "d.csv", "--as", "capture", "--json"]);
    assert_eq!((damaged.code, damaged.json()["readable"].as_bool()), (2, Some(false)));
    assert!(
        damaged.json()["sha256"].is_string() && damaged.json()["wave"]["findings"][0]["code"].is_string()
    );
}
