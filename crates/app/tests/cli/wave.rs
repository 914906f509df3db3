//! `trueplate wave`: one document per capture, plain text for people, and a newcomer's slips.
use super::run::trueplate;
use std::f64::consts::{SQRT_2, TAU};
use std::fs;
use std::path::Path;

/// 120 V at 60 Hz, 0.3 s at 20 kS/s, gone for so many samples from the 3000th on; divided by `probe`.
pub fn write(folder: &Path, name: &str, gone: usize, probe: f64) {
    let mut text = String::from("Sample Interval,5E-05,s\nTIME,CH1\n");
    for i in 0..6000 {
        let t = f64::from(i) / 20e3;
        let live = !(3000..3000 + gone as i32).contains(&i);
        let v = if live { 120.0 * SQRT_2 * (TAU * 60.0 * t + 0.3).sin() / probe } else { 0.0 };
        text += &format!("{t:.6},{v:.5}\n");
    }
    fs::write(folder.join(name), text).unwrap();
}

#[test]
fn one_document_with_the_promised_keys() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", 292, 1.0);
    let run = trueplate(dir.path(), &["wave", "a.csv", "--json"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let json = run.json();
    assert_eq!(
        (json["samples"].as_u64(), json["rate_hz"].as_f64().map(f64::round)),
        (Some(6000), Some(20_000.0))
    );
    let channel = &json["channels"][0];
    for key in [
        "name",
        "rms_v",
        "mean_v",
        "frequency_hz",
        "fundamental_v",
        "thd_percent",
        "crest",
        "shape",
        "interruptions",
        "dips",
    ] {
        assert!(!channel[key].is_null(), "{key}");
    }
    assert_eq!(channel["shape"], "sine");
    let gap = &channel["interruptions"][0];
    for key in ["start_s", "dead_ms", "rms_before_v", "rms_after_v", "phase_jump_deg", "lowest_cycle_rms_v"] {
        assert!(gap[key].is_number(), "{key}");
    }
    // 292 samples of 0.05 ms.
    assert!((gap["dead_ms"].as_f64().unwrap() - 14.6).abs() < 0.3);
    let dip = &channel["dips"][0];
    for key in ["start_s", "duration_ms", "residual_v", "residual_percent"] {
        assert!(dip[key].is_number(), "{key}");
    }
    // From the first upward crossing to the gap run seven whole cycles; a window of the standard has twelve.
    assert_eq!(json["findings"].as_array().unwrap().len(), 1, "{}", json["findings"]);
    assert_eq!(
        (&json["findings"][0]["code"], &json["findings"][0]["weight"]),
        (&"short-window".into(), &"note".into())
    );
    let text = trueplate(dir.path(), &["wave", "a.csv"]);
    assert_eq!(text.code, 0);
    for word in ["a sine", "dead for 14.", "ITIC", "hold-up"] {
        assert!(text.out.contains(word), "{word} is not in: {}", text.out);
    }
}

#[test]
fn a_missing_factor_is_asked_for_and_taken() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", 0, 200.0);
    let json = trueplate(dir.path(), &["wave", "a.csv", "--json"]).json();
    assert_eq!(json["findings"][0]["code"], "probe-factor");
    let json = trueplate(dir.path(), &["wave", "a.csv", "--probe", "200", "--json"]).json();
    assert!((json["channels"][0]["rms_v"].as_f64().unwrap() - 120.0).abs() < 0.2);
    assert!(json["findings"].as_array().unwrap().is_empty(), "{}", json["findings"]);
}

#[test]
fn several_files_are_trials() {
    let dir = tempfile::tempdir().unwrap();
    for (name, gone) in [("a.csv", 200), ("b.csv", 300), ("c.csv", 440)] {
        write(dir.path(), name, gone, 1.0);
    }
    let json = trueplate(dir.path(), &["wave", "a.csv", "b.csv", "c.csv", "--json"]).json();
    let batch = &json["batch"];
    assert_eq!((json["files"].as_array().unwrap().len(), batch["n"].as_u64()), (3, Some(3)));
    // 10, 15 and 22 ms.
    assert!((batch["median_ms"].as_f64().unwrap() - 15.0).abs() < 0.3);
    assert!((batch["longest_ms"].as_f64().unwrap() - 22.0).abs() < 0.3);
    let over: Vec<_> = batch["over"].as_array().unwrap().iter().map(|o| o["k"].as_u64().unwrap()).collect();
    assert_eq!(over, [2, 1, 1]);
}

#[test]
fn slips() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "a.csv", 0, 1.0);
    fs::write(dir.path().join("letter.txt"), "Dear bench,\nno numbers here.\n").unwrap();
    trueplate(dir.path(), &["wave"]).stopped(2, &["FILE"]);
    trueplate(dir.path(), &["wave", "nothing.csv"]).stopped(2, &["nothing.csv", "check the name"]);
    trueplate(dir.path(), &["wave", "."]).stopped(2, &["folder"]);
    trueplate(dir.path(), &["wave", "a.csv", "--probe", "0"]).stopped(2, &["--probe 0", "more than 0"]);
    trueplate(dir.path(), &["wave", "a.csv", "--nominal", "-5"]).stopped(2, &["--nominal -5", "more than 0"]);
    trueplate(dir.path(), &["wave", "a.csv", "--orders", "1"]).stopped(2, &["--orders 1", "2 to 200"]);
    let run = trueplate(dir.path(), &["wave", "letter.txt", "--json"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("letter.txt") && run.json()["findings"][0]["code"] == "no-rows", "{}", run.err);
}
