//! Kinds of test that take an oscilloscope's captures: truth from the waves they were made of, and from closed forms.
use std::f64::consts::{PI, SQRT_2, TAU};
use std::sync::Arc;
use trueplate_core::examine;
use trueplate_core::finding::Weight;
use trueplate_core::kind::{Example, Outcome};
use trueplate_core::kinds;
use trueplate_core::notebook::{Claim, Entry, FileRef};
use trueplate_core::recording::{CaptureRecord, Manner, Recording, Recordings, Segment, Source, Told};
use trueplate_core::uncertain::{Effect, Value};
use trueplate_core::wave::{self, Setup};

const RATE: f64 = 10e3;

/// A wave of 60 Hz sampled at 10 kS/s for 0.5 s; `v(t)` is its voltage.
fn capture(name: &str, probe: Option<f64>, v: impl Fn(f64) -> f64) -> CaptureRecord {
    let samples: Vec<f32> = (0..5000).map(|i| v(f64::from(i) / RATE) as f32).collect();
    let setup = Setup { probe, nominal_v: Some(120.0), ..Setup::new(name, RATE, 0.0) };
    CaptureRecord {
        rate_hz: Some(RATE),
        samples: 5000,
        segments: 1,
        end_s: 0.5,
        channels: vec![wave::analyse(&samples, &setup)],
        ..CaptureRecord::default()
    }
}

fn sine(t: f64) -> f64 {
    120.0 * SQRT_2 * (TAU * 60.0 * t).sin()
}

/// Gone from the peak near 0.2 s, between two samples, for so many samples.
fn cut(samples: u32) -> CaptureRecord {
    // 0.2041666 s is a peak; the first dead sample is number 2042.
    let dead = 2042..2042 + samples;
    capture("CH1", None, move |t| if dead.contains(&((t * RATE).round() as u32)) { 0.0 } else { sine(t) })
}

/// The kind's example with these captures and nothing typed in their place.
fn outcome(kind: &str, all: Vec<CaptureRecord>, change: impl FnOnce(&mut Example)) -> Outcome {
    let kind = kinds::find(kind).expect("a kind");
    let mut example = kind.example();
    for key in ["times", "trials", "failed", "seen", "voltage", "frequency", "thd", "peak", "mean"] {
        example.test.entries.remove(key);
    }
    let file =
        |n| FileRef { sha256: format!("{n:02}"), name: format!("cut{n:02}.csv"), ..FileRef::default() };
    let files: Vec<FileRef> = (1..=all.len()).map(file).collect();
    let entry = Entry { instrument: "scope".into(), files, ..Entry::default() };
    let sources = Source::captures(&entry, 120.0);
    example.test.entries.insert("captures".into(), entry);
    change(&mut example);
    let all = all.into_iter().map(|c| Arc::new(Recording::Capture(c)));
    let read: Recordings = sources.into_iter().zip(all).collect();
    examine::run_with(kind, &example.test, &example.notebook, &read)
}

fn value<'a>(out: &'a Outcome, key: &str) -> &'a Value {
    let found = out.results.iter().find(|r| r.result.key == key);
    &found.unwrap_or_else(|| panic!("no {key}; {:?}", out.findings)).value
}

fn codes(out: &Outcome) -> Vec<&str> {
    out.findings.iter().map(|f| f.code.as_str()).collect()
}

fn ms(v: &Value) -> f64 {
    v.x * 3.6e6
}

/// 80, 90 … 170 dead samples at 10 kS/s: 8, 9 … 17 ms. Median (12 + 13)/2 = 12.5 ms, longest 17 ms. Six of ten are longer
/// than 11 ms, one than 16 ms, none than 20 ms.
#[test]
fn ten_captures_make_ten_trials() {
    let captures = (0..10).map(|n| cut(80 + 10 * n)).collect();
    let out = outcome("switchover", captures, |_| ());
    // Sampling leaves each edge anywhere in 0.1 ms.
    assert!((ms(value(&out, "switchover")) - 12.5).abs() < 0.11, "{}", ms(value(&out, "switchover")));
    let trials = &out.trials[0].values;
    assert_eq!(trials.len(), 10);
    for (n, trial) in trials.iter().enumerate() {
        assert!((ms(trial) - (8.0 + n as f64)).abs() < 0.11, "{n}: {}", ms(trial));
    }
    let batch = out.batch.as_ref().expect("a batch");
    assert!((batch.median_ms - 12.5).abs() < 0.11 && (batch.longest_ms - 17.0).abs() < 0.11);
    let over: Vec<(f64, u64)> = batch.over.iter().map(|o| (o.limit_ms, o.k)).collect();
    assert_eq!(over, [(11.0, 6), (16.0, 1), (20.0, 0)]);
    assert!(batch.over.iter().all(|o| !o.source.is_empty()));
}

/// Both edges quantised to 0.1 ms: 0.1/√6 = 0.0408 ms. The example's oscilloscope states no share of the reading, and the
/// step of its display has no part in it.
#[test]
fn the_doubt_of_a_dead_time_is_that_of_its_edges() {
    let out = outcome("switchover", vec![cut(120)], |_| ());
    let time = &out.trials[0].values[0];
    assert!((time.u() * 3.6e6 - 0.0408).abs() < 5e-5, "{}", time.u() * 3.6e6);
    let effects: Vec<Effect> =
        time.parts.iter().filter(|p| p.1.signed > 0.0).map(|(i, _)| i.effect).collect();
    assert_eq!(effects, [Effect::Edges]);
}

/// The same verdict, by captures as by hand: twenty of 12 ms against a claim of 20 ms, then one of 25 ms among them.
#[test]
fn a_claim_is_judged_by_captures_as_by_hand() {
    let judged = |captures: Vec<CaptureRecord>| {
        let kind = kinds::find("switchover").expect("a kind");
        let mut notebook = kind.example().notebook;
        let claim =
            Claim { id: "c".into(), key: "switchover".into(), text: "20 ms".into(), ..Claim::default() };
        notebook.models[0].claims.push(claim.clone());
        let out = outcome("switchover", captures, |e| e.notebook.models[0].claims.push(claim));
        notebook.tests.push(kind.example().test);
        let batch = out.batch.clone().expect("a batch");
        let outcomes = [("example".to_string(), std::sync::Arc::new(out))].into();
        let report = trueplate_core::report::report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30");
        let row = report.models[0].claims.iter().find(|c| c.claim.id == "c").expect("the claim").clone();
        (row.verdict.key(), batch.over[0].clone())
    };
    let usual = cut(120);
    let (verdict, claim) = judged(vec![usual.clone(); 20]);
    assert_eq!((verdict, claim.k, claim.with.as_str()), ("met", 0, "the maker's claim"));
    let mut one_longer = vec![usual; 20];
    one_longer[7] = cut(250);
    let (verdict, claim) = judged(one_longer);
    assert_eq!((verdict, claim.k), ("not-met", 1));
}

#[test]
fn a_capture_without_an_interruption_or_without_its_end_is_no_trial_in_favour() {
    let out = outcome("switchover", vec![cut(0), cut(120)], |_| ());
    assert_eq!(out.trials[0].values.len(), 1);
    let f = out.findings.iter().find(|f| f.code == "no-interruption").expect("said");
    assert!(f.weight == Weight::Doubt && f.text.contains("cut01.csv"), "{}", f.text);
    // Gone from 0.2042 s to the end at 0.5 s: 295.8 ms at least, beyond anything that equipment bears.
    let out = outcome("switchover", vec![cut(4000), cut(120)], |_| ());
    let longest = out.trials[0].values.iter().map(ms).fold(0.0, f64::max);
    assert!((longest - 295.8).abs() < 0.2, "{longest}");
    let f = out.findings.iter().find(|f| f.code == "dead-to-the-end").expect("said");
    assert!(f.text.contains("cut01.csv: the station did not take over within 295."), "{}", f.text);
    // Twelve milliseconds of it say nothing: not counted, and said.
    let mut short = cut(4000);
    short.end_s = 0.2162;
    let out = outcome("switchover", vec![short, cut(120)], |_| ());
    assert_eq!(out.trials[0].values.len(), 1);
    assert!(out.findings.iter().any(|f| f.code == "dead-to-the-end" && f.weight == Weight::Gap));
    // Twice that is beyond a claim of 20 ms and beyond the ITIC curve's 20 ms, 18 ms only beyond a claim of 15 ms: said, not
    // counted, for it may have lasted for any time. The dead part begins at 0.2042 s.
    let with_claim = |end_s: f64, claim: &'static str| {
        let mut open = cut(4000);
        open.end_s = end_s;
        outcome("switchover", vec![open, cut(120)], |e| {
            let claim =
                Claim { id: "c".into(), key: "switchover".into(), text: claim.into(), ..Claim::default() };
            e.notebook.models[0].claims = vec![claim];
        })
    };
    assert_eq!(with_claim(0.2282, "20 ms").trials[0].values.len(), 2);
    let out = with_claim(0.2222, "15 ms");
    assert_eq!(out.trials[0].values.len(), 1);
    let f = out.findings.iter().find(|f| f.code == "dead-to-the-end").expect("said");
    assert!(
        f.weight == Weight::Doubt && f.text.contains("within 18.") && f.text.contains("15 ms claimed"),
        "{}",
        f.text
    );
    // Nothing but that: no result, and no word about typing times.
    let none = outcome("switchover", vec![cut(0)], |_| ());
    assert!(none.results.is_empty() && !codes(&none).contains(&"no-trials"));
}

#[test]
fn times_typed_beside_captures_only_check_them() {
    let typed = |text: &'static str| {
        move |e: &mut Example| {
            let entry = Entry { text: text.into(), instrument: "scope".into(), ..Entry::default() };
            e.test.entries.insert("times".into(), entry);
        }
    };
    let near = outcome("switchover", vec![cut(120)], typed("12.4 11.8"));
    assert_eq!(near.trials[0].values.len(), 1, "no trial counts twice");
    assert!(!codes(&near).contains(&"times-against-captures"));
    let far = outcome("switchover", vec![cut(120)], typed("8.1 7.9"));
    assert!(codes(&far).contains(&"times-against-captures"));
}

/// Three segments of 0.1 s, each from −0.02 s of its own time on, begin at −0.02, 0.08 and 0.18 s laid end to end. What starts
/// at 0.03 s of the second lies at 0.08 + 0.05 = 0.13 s and ends 12 ms later; without an end it lasts to the third's begin.
#[test]
fn an_instant_of_a_segment_has_its_place_end_to_end() {
    let of = |n: u32| Segment { start_s: -0.02, laid_s: -0.02 + 0.1 * f64::from(n) };
    let record = CaptureRecord {
        segments: 3,
        samples: 3000,
        end_s: 0.28,
        parts: (0..3).map(of).collect(),
        ..cut(120)
    };
    let mut gap = record.interruptions()[0].clone();
    (gap.segment, gap.start_s, gap.dead_ms) = (2, 0.03, Some(12.0));
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} is not {b}");
    near(record.from_s(&gap), 0.13);
    near(record.until_s(&gap), 0.142);
    assert_eq!(record.at_least_ms(&gap), None);
    gap.dead_ms = None;
    near(record.until_s(&gap), 0.18);
    // Dead from 0.13 to 0.18 s end to end at least; the last segment is over at 0.28 s: from 0.18 + 0.05 = 0.23 s on.
    near(record.at_least_ms(&gap).unwrap(), 50.0);
    gap.segment = 3;
    near(record.at_least_ms(&gap).unwrap(), 50.0);
    // Only the first thousand segments are known by their beginnings.
    let long = CaptureRecord { segments: 1500, parts: (0..1000).map(of).collect(), ..record.clone() };
    gap.segment = 1000;
    assert_eq!(long.at_least_ms(&gap), None);
    assert_eq!(long.place("cuts.csv", &gap), "cuts.csv, segment 1000");
}

#[test]
fn a_damaged_capture_says_so_and_the_others_count() {
    let damaged = CaptureRecord {
        findings: vec![trueplate_core::finding::Finding::gap(
            "no-rows",
            "file",
            "no rows of numbers are found",
            "-",
        )],
        ..CaptureRecord::default()
    };
    let out = outcome("switchover", vec![damaged.clone(), cut(120), damaged], |_| ());
    assert_eq!(out.trials[0].values.len(), 1);
    let said: Vec<_> = out.findings.iter().filter(|f| f.code == "no-rows").collect();
    assert!(said.len() == 1 && said[0].text.contains("cut01.csv") && said[0].text.ends_with("one file more"));
    assert_eq!(said[0].place, "captures");
}

/// Blocks of 120° of a stepped wave of 147 V: V_rms = V·√(2/3) = 120.02 V, crest √(3/2) = 1.224745, distortion to the 40th
/// order 29.679 % (Fourier series), frequency as made. The capture answers what would have to be typed.
#[test]
fn a_stepped_wave_by_its_closed_form() {
    let blocks = |t: f64| {
        let turn = (TAU * 60.0 * t).rem_euclid(TAU);
        let inside = |from: f64| (from..from + 2.0 * PI / 3.0).contains(&turn);
        147.0 * (f64::from(u8::from(inside(PI / 6.0))) - f64::from(u8::from(inside(7.0 * PI / 6.0))))
    };
    let out = outcome("waveform", vec![capture("CH1", None, blocks)], |_| ());
    assert!((value(&out, "voltage").x - 120.02).abs() < 0.36, "{}", value(&out, "voltage").x);
    assert!((value(&out, "crest").x - 1.224_745).abs() < 0.01, "{}", value(&out, "crest").x);
    assert!((value(&out, "thd").x - 0.296_79).abs() < 0.003, "{}", value(&out, "thd").x);
    assert!((value(&out, "frequency").x - 60.0).abs() < 0.005);
    assert_eq!(out.behaviours[0].text, "a stepped wave, no sine");
    // The example's maker states a pure sine.
    assert!(
        codes(&out).contains(&"not-a-pure-sine") && !codes(&out).contains(&"missing"),
        "{:?}",
        out.findings
    );
}

/// ± 2 % of reading, rectangular: 120·0.02/√3 = 1.386 V. Three captures of 119, 120 and 121 V: mean 120 V, s/√n = 1/√3 V.
#[test]
fn several_captures_of_a_wave_are_averaged() {
    let at = |share: f64| capture("CH1", None, move |t| share * sine(t));
    let out = outcome("waveform", vec![at(119.0 / 120.0), at(1.0), at(121.0 / 120.0)], |_| ());
    let volts = value(&out, "voltage");
    assert!((volts.x - 120.0).abs() < 0.05);
    let part = |e: Effect| volts.parts.iter().find(|(i, _)| i.effect == e).map_or(0.0, |(_, p)| p.signed);
    assert!((part(Effect::Gain) - 1.386).abs() < 1e-3, "{}", part(Effect::Gain));
    assert!((part(Effect::Repeatability) - 1.0 / 3f64.sqrt()).abs() < 2e-3);
    // A sine: crest √2, in which the scale cancels.
    assert!((value(&out, "crest").x - SQRT_2).abs() < 0.005);
}

/// 0.6 V of a wave through ×200: shape and distortion stand, the voltage waits for an answer.
#[test]
fn a_missing_factor_holds_back_the_voltage_alone() {
    let out = outcome("waveform", vec![capture("CH1", None, |t| sine(t) / 200.0)], |_| ());
    let keys: Vec<&str> = out.results.iter().map(|r| r.result.key).collect();
    assert_eq!(keys, ["frequency", "thd", "crest"]);
    assert!((value(&out, "crest").x - SQRT_2).abs() < 0.005);
    assert!(codes(&out).contains(&"probe-factor"));
    let out = outcome("waveform", vec![capture("CH1", Some(200.0), |t| sine(t) / 200.0)], |_| ());
    assert!((value(&out, "voltage").x - 120.0).abs() < 0.05);
}

#[test]
fn of_two_channels_the_one_that_comes_back_is_the_outlet() {
    let mut both = cut(120);
    let mains = capture("mains", None, |t| if t > 0.2 { 0.0 } else { sine(t) });
    both.channels.insert(0, mains.channels[0].clone());
    let out = outcome("switchover", vec![both.clone()], |_| ());
    assert_eq!(out.trials[0].values.len(), 1);
    assert!((ms(&out.trials[0].values[0]) - 12.0).abs() < 0.11 && !codes(&out).contains(&"which-channel"));
    both.channels[0] = cut(300).channels[0].clone();
    let out = outcome("switchover", vec![both], |_| ());
    assert!(codes(&out).contains(&"which-channel"));
}

#[test]
fn what_is_said_of_a_file_stands_by_its_hash() {
    let manner = Manner { probe: Some(200.0), ..Manner::default() };
    let kept = Told::default().say("ab", manner.clone()).kept();
    assert_eq!(kept, r#"{"ab":{"probe":200.0}}"#);
    let file = |sha: &str| FileRef { sha256: sha.into(), ..FileRef::default() };
    let entry = Entry { files: vec![file("ab"), file("cd")], how: kept, ..Entry::default() };
    let sources = Source::captures(&entry, 120.0);
    assert_eq!(sources[0].manner(), Some(Manner { nominal_v: Some(120.0), ..manner }));
    assert_eq!(sources[1].manner().map(|m| m.probe), Some(None));
    // Nobody said anything, or what cannot be read: nothing is said.
    let damaged = Entry { how: "{".into(), ..entry };
    assert_eq!(Told::of(&damaged), Told::default());
    assert_eq!(Told::default().say("ab", Manner::default()).kept(), "");
}
