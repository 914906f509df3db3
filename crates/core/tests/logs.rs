//! Kinds of test that take a meter's log: numbers on paper, gaps apart, doubts named.
use std::sync::Arc;
use trueplate_core::examine;
use trueplate_core::kind::{Example, Outcome};
use trueplate_core::kinds;
use trueplate_core::notebook::{Entry, FileRef};
use trueplate_core::recording::{
    CurvePoint, Cycling, Defrosts, LogRecord, Mark, Recording, Recordings, Source, Tally,
};
use trueplate_core::uncertain::{Effect, Value};

fn mark(at: &str, elapsed_s: f64, covered_s: f64, energy_wh: f64, w2h: f64) -> Mark {
    let tally = Tally { covered_s, energy_wh, w2h, ..Tally::default() };
    Mark { at: at.into(), elapsed_s, tally }
}

/// 500 W from 60 s to 5460 s: 1.5 h, 750 Wh, 375 000 W²·h; a row a second; then 600 s of nothing.
fn steady() -> LogRecord {
    let off = mark("2026-05-03T10:31:00", 5460.0, 5460.0, 750.0, 375_000.0);
    LogRecord {
        rows: 6061,
        interval_s: 1.0,
        gap_s: 5.0,
        step_w: 0.1,
        first: mark("2026-05-03T09:00:00", 0.0, 0.0, 0.0, 0.0),
        on: Some(mark("2026-05-03T09:01:00", 60.0, 60.0, 0.0, 0.0)),
        last: mark("2026-05-03T10:41:00", 6060.0, 6060.0, 750.0, 375_000.0),
        off: Some(off),
        spread_w: (495.0, 505.0),
        ..LogRecord::default()
    }
}

/// The kind's example with a log in place of clock and counter.
fn with_log(kind: &str, log: LogRecord, change: impl FnOnce(&mut Example)) -> Outcome {
    let kind = kinds::find(kind).expect("a kind");
    let mut example = kind.example();
    for key in ["start", "end", "counter_start", "counter_end", "on_power"] {
        example.test.entries.remove(key);
    }
    let file = FileRef { sha256: "ab".into(), name: "run.csv".into(), ..FileRef::default() };
    let entry = Entry { instrument: "meter".into(), files: vec![file], ..Entry::default() };
    let source = Source::of(&entry).expect("a file");
    example.test.entries.insert("log".into(), entry);
    change(&mut example);
    let read = Recordings::from([(source, Arc::new(Recording::Log(Box::new(log))))]);
    examine::run_with(kind, &example.test, &example.notebook, &read)
}

fn value<'a>(out: &'a Outcome, key: &str) -> &'a Value {
    let found = out.results.iter().find(|r| r.result.key == key);
    &found.unwrap_or_else(|| panic!("no {key}; {:?}", out.findings)).value
}

fn codes(out: &Outcome) -> Vec<&str> {
    out.findings.iter().map(|f| f.code.as_str()).collect()
}

fn part(v: &Value, effect: Effect) -> f64 {
    v.parts.iter().filter(|(i, _)| i.effect == effect).map(|(_, p)| p.signed.powi(2)).sum::<f64>().sqrt()
}

/// 750 Wh through the meter and 0.5 W · 1.5 h of its own: 750.75 Wh. The meter is good to ± 1 % of reading: 7.5/√3 =
/// 4.330 Wh; its step of 0.1 W on every sample alike: 0.1/√12 · 1.5 h = 0.0433 Wh.
#[test]
fn usable_energy_by_a_log() {
    let out = with_log("usable-energy", steady(), |_| ());
    let e = value(&out, "usable-energy");
    assert!((e.x - 750.75).abs() < 1e-9, "{}", e.x);
    assert!((part(e, Effect::Gain) - 4.330).abs() < 5e-4);
    assert!((part(e, Effect::Step) - 0.0433).abs() < 5e-5);
    let row = out.row.as_ref().expect("a row of the runtime curve");
    assert!((row.hours.x() - 1.5).abs() < 1e-12 && (row.w2h - 375_000.0).abs() < 1e-6);
    // Two ends within one second each: 1/√6 s.
    assert!((row.hours.clone().value().u() * 3600.0 - 1.0 / 6f64.sqrt()).abs() < 1e-9);
    assert!(!codes(&out).contains(&"missing"), "{:?}", out.findings);
}

/// A gap of 180 s at 500 W: 25 Wh by straight lines. The load was seen between 495 and 505 W: 5 W · 0.05 h = 0.25 Wh, /√3.
#[test]
fn a_gap_counts_apart_and_widens() {
    let gap = |mut log: LogRecord, counted: bool| {
        for m in [&mut log.last, log.off.as_mut().expect("off")] {
            let t = &mut m.tally;
            (t.gaps, t.covered_s, t.energy_wh) = (1, t.covered_s - 180.0, t.energy_wh - 25.0);
            (t.bridged_wh, t.w2h, t.bridged_w2h) = (25.0, t.w2h - 12_500.0, 12_500.0);
            if counted {
                (t.counted_wh, t.counted_s, t.counted_bridged_wh) = (24.0, 180.0, 25.0);
            }
        }
        log.counter_step_wh = 1.0;
        log
    };
    let lines = with_log("usable-energy", gap(steady(), false), |_| ());
    let e = value(&lines, "usable-energy");
    assert!((e.x - 750.75).abs() < 1e-9);
    assert!((part(e, Effect::Gaps) - 0.25 / 3f64.sqrt()).abs() < 1e-9);
    // 180 s of 5400 s are 3.3 %: more than a note.
    let f = lines.findings.iter().find(|f| f.code == "log-gaps").expect("said");
    assert_eq!(
        (f.weight, f.text.contains("3.3 %")),
        (trueplate_core::finding::Weight::Doubt, true),
        "{}",
        f.text
    );
    // With a counter that went on, the gap holds what it counted: 24 Wh, and its step of 1 Wh twice: 1/√6.
    let counter = with_log("usable-energy", gap(steady(), true), |_| ());
    let e = value(&counter, "usable-energy");
    assert!((e.x - 749.75).abs() < 1e-9, "{}", e.x);
    assert!(part(e, Effect::Gaps) == 0.0);
    assert!((part(e, Effect::Step) - (1.0f64 / 6.0 + 0.0433f64.powi(2)).sqrt()).abs() < 1e-3);
}

#[test]
fn a_counter_read_by_hand_checks_the_log_and_the_log_wins() {
    let write = |end: &str, out: &mut Example| {
        for (key, text) in [("counter_start", "0"), ("counter_end", end)] {
            let entry = Entry { text: text.into(), instrument: "meter".into(), ..Entry::default() };
            out.test.entries.insert(key.into(), entry);
        }
    };
    let near = with_log("usable-energy", steady(), |e| write("0.752 kWh", e));
    assert!((value(&near, "usable-energy").x - 750.75).abs() < 1e-9);
    assert!(!codes(&near).contains(&"log-against-counter"));
    let far = with_log("usable-energy", steady(), |e| write("0.890 kWh", e));
    assert!(codes(&far).contains(&"log-against-counter"));
}

#[test]
fn a_log_nobody_read_a_log_without_load_and_one_that_ends_on() {
    let kind = kinds::find("usable-energy").expect("a kind");
    let mut example = kind.example();
    let file = FileRef { sha256: "ab".into(), name: "run.csv".into(), ..FileRef::default() };
    example.test.entries.insert("log".into(), Entry { files: vec![file], ..Entry::default() });
    let unread = examine::run(kind, &example.test, &example.notebook);
    assert!(codes(&unread).contains(&"file-not-read"));
    // The readings by hand stand meanwhile: 882 Wh by the example.
    assert!((value(&unread, "usable-energy").x - 882.0).abs() < 2.0);
    let dark = with_log("usable-energy", LogRecord { on: None, ..steady() }, |_| ());
    assert!(dark.results.is_empty() && codes(&dark).contains(&"log-never-on"));
    let open = with_log("usable-energy", LogRecord { off: None, ..steady() }, |_| ());
    assert!(codes(&open).contains(&"log-ends-on"));
}

/// Charging at 600 W for 1 h, then falling in a straight line to 0 in 1 h: 600 + 300 = 900 Wh. 80 % = 720 Wh: 600 Wh in
/// the first hour, 120 Wh more: 600·t − 300·t² = 120 → t = 1 − √0.6 = 0.2254 h → 73.524 min. Below 570 W (95 %) from
/// 1.05 h = 63 min.
#[test]
fn recharge_by_a_log_of_the_wall() {
    let curve = (0..=7200).step_by(4).map(|s| {
        let h = f64::from(s) / 3600.0;
        let (w, wh) = if h <= 1.0 {
            (600.0, 600.0 * h)
        } else {
            (600.0 * (2.0 - h), 600.0 + 600.0 * (h - 1.0) - 300.0 * (h - 1.0).powi(2))
        };
        CurvePoint { at_s: f64::from(s), min_w: w, max_w: w, energy_wh: wh }
    });
    let off = mark("2026-05-03T20:00:00", 7200.0, 7200.0, 900.0, 0.0);
    let log = LogRecord {
        interval_s: 1.0,
        on: Some(mark("2026-05-03T18:00:00", 0.0, 0.0, 0.0, 0.0)),
        last: Mark { elapsed_s: 7900.0, ..off.clone() },
        off: Some(off),
        spread_w: (200.0, 600.0),
        curve: curve.collect(),
        ..LogRecord::default()
    };
    let out = with_log("recharge", log, |_| ());
    assert!((value(&out, "wall-energy").x - 900.0).abs() < 1e-9);
    assert!((value(&out, "time-to-full").x - 2.0).abs() < 1e-9);
    assert!((value(&out, "time-to-80-energy").x * 60.0 - 73.524).abs() < 0.01);
    // The example notes 80 % shown at 18:55.
    assert!((value(&out, "time-to-80").x * 60.0 - 55.0).abs() < 1e-6);
    let taper = out.steps.iter().find(|s| s.symbol == "t_taper").expect("a taper");
    assert!((taper.value.x * 60.0 - 63.0).abs() < 0.1, "{}", taper.value.x * 60.0);
}

/// A fridge, 85 W for 12 min of every 30: mean 34 W over whole cycles. 20 h are 40 cycles, 680 Wh, S = 85 · 680 W²·h. The
/// outlet died in a pause (18 min): 9 min more, ± 9/√3 min.
#[test]
fn a_fridge_by_a_log() {
    let dead = mark("2026-05-04T03:42:00", 71_000.0, 71_000.0, 680.0, 57_800.0);
    let cycles = Cycling {
        starts: 41,
        whole: 40,
        period_s: 1800.0,
        on_s: 720.0,
        mean_w: 34.0,
        running_w: 85.0,
        peak_w: 91.0,
        defrosts: None,
    };
    let log = LogRecord {
        interval_s: 5.0,
        on: Some(mark("2026-05-03T08:00:00", 0.0, 0.0, 0.0, 0.0)),
        off: Some(dead.clone()),
        last: Mark { elapsed_s: 75_000.0, ..dead },
        spread_w: (84.0, 90.0),
        cycles: Some(cycles),
        ..LogRecord::default()
    };
    let out = with_log("cycling-load", log, |_| ());
    let ran = value(&out, "cycling-runtime");
    assert!((ran.x - (71_000.0 + 540.0) / 3600.0).abs() < 1e-9, "{}", ran.x);
    assert!((part(ran, Effect::Cycling) * 60.0 - 9.0 / 3f64.sqrt()).abs() < 1e-9);
    // 34 W by the meter, and its own 0.5 W beside it: 34 · (680 + 0.5 · 19.72)/680 = 34.49.
    assert!((value(&out, "cycling-mean").x - 34.49).abs() < 0.01);
    assert!((out.row.expect("a row").w2h - 57_800.0).abs() < 1e-6);
}

/// The same fridge with a defrost: of 20 h at a mean of 40 W two times 20 min at 180 W are 120 of 800 Wh, 15 %. The rest
/// is (800 − 120)/(20 − 2/3) = 35.172 W, so one takes (180 − 35.172)/3 = 48.276 Wh beyond it; half of that at either end:
/// 48.276/20/√6 = 0.9854 W.
#[test]
fn a_fridge_that_defrosts_says_so_and_doubts_its_mean() {
    let defrosts = Defrosts { times: 2, length_s: 1200.0, mean_w: 180.0, every_s: Some(39_600.0) };
    let cycles = Cycling {
        starts: 41,
        whole: 40,
        period_s: 1800.0,
        on_s: 720.0,
        mean_w: 40.0,
        running_w: 85.0,
        peak_w: 91.0,
        defrosts: Some(defrosts),
    };
    let end = mark("2026-05-04T04:00:00", 72_000.0, 72_000.0, 800.0, 80_000.0);
    let fridge = |cycles| LogRecord {
        interval_s: 5.0,
        on: Some(mark("2026-05-03T08:00:00", 0.0, 0.0, 0.0, 0.0)),
        off: None,
        last: end.clone(),
        spread_w: (84.0, 180.0),
        cycles: Some(cycles),
        ..LogRecord::default()
    };
    let out = with_log("cycling-load", fridge(cycles), |_| ());
    let said = out.findings.iter().find(|f| f.code == "defrosts").expect("it is said");
    assert_eq!(
        said.text,
        "it defrosts 2 times in 20.0 h of whole cycles, every 11.0 h: 20 min at 180 W, 15 % of the energy"
    );
    assert!((part(value(&out, "cycling-mean"), Effect::Cycling) - 0.9854).abs() < 1e-4);
    let step = out.steps.iter().find(|s| s.symbol == "P_defrost").expect("a step of the trail");
    assert_eq!(step.value.x, 180.0);
    // One that does not defrost says nothing of it.
    let out = with_log("cycling-load", fridge(Cycling { defrosts: None, ..cycles }), |_| ());
    assert!(out.findings.iter().all(|f| f.code != "defrosts"));
    assert_eq!(part(value(&out, "cycling-mean"), Effect::Cycling), 0.0);
}

#[test]
fn what_the_reading_mended_stands_on_the_test() {
    let note =
        trueplate_core::finding::Finding::doubt("counter-reset", "line 3", "it was reset", "the sum stands");
    let out = with_log("usable-energy", LogRecord { findings: vec![note], ..steady() }, |_| ());
    let f = out.findings.iter().find(|f| f.code == "counter-reset").expect("an event of the test");
    assert_eq!((f.place.as_str(), f.text.as_str()), ("log", "run.csv, line 3: it was reset"));
}

#[test]
fn one_file_under_two_tests_is_doubted() {
    let kind = kinds::find("usable-energy").expect("a kind");
    let mut notebook = kind.example().notebook;
    for (id, day) in [("a", "2026-05-03"), ("b", "2026-05-04")] {
        let mut test = kind.example().test;
        (test.id, test.day) = (id.into(), day.into());
        let file = FileRef { sha256: "ab".into(), name: "run.csv".into(), ..FileRef::default() };
        test.entries.insert("log".into(), Entry { files: vec![file], ..Entry::default() });
        notebook.tests.push(test);
    }
    let outcomes = trueplate_core::repeat::outcomes(&notebook);
    let report = trueplate_core::report::report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30");
    let found: Vec<&str> = report.models[0]
        .findings
        .iter()
        .filter(|(_, f)| f.code == "same-file-twice")
        .map(|(t, _)| t.as_str())
        .collect();
    assert_eq!(found, ["b"]);
}
