//! The page of a station's captures: the worst one drawn without scripts, each in a row, a link away from the station.
mod markup;

use std::f64::consts::{SQRT_2, TAU};
use std::sync::Arc;
use trueplate_core::notebook::{Came, Entry, FileRef, Notebook};
use trueplate_core::recording::{CaptureRecord, Recording, Recordings, Source};
use trueplate_core::report::report;
use trueplate_core::wave::{Setup, analyse};
use trueplate_core::{examine, kinds, repeat};
use trueplate_pages::site::{Site, SiteOptions, site};

/// 120 V, 60 Hz, 0.5 s at 10 kS/s, gone from a peak for so many samples of 0.1 ms.
fn capture(gone: usize) -> CaptureRecord {
    let v = |i: usize| match (2042..2042 + gone).contains(&i) {
        true => 0.0,
        false => (120.0 * SQRT_2 * (TAU * 60.0 * i as f64 / 1e4).sin()) as f32,
    };
    let samples: Vec<f32> = (0..5000).map(v).collect();
    let setup = Setup { nominal_v: Some(120.0), ..Setup::new("CH1", 1e4, 0.0) };
    let channels = vec![analyse(&samples, &setup)];
    let whole = CaptureRecord {
        rate_hz: Some(1e4),
        samples: 5000,
        segments: 1,
        end_s: 0.5,
        channels,
        ..CaptureRecord::default()
    };
    let (from, to) = whole.stretch().expect("a wave");
    let inside = (0..5000usize).map(|i| (i as f64 / 1e4, v(i), v(i))).filter(|p| (from..=to).contains(&p.0));
    CaptureRecord { curve: inside.collect(), ..whole }
}

/// A station with one test of this kind that rests on these captures.
fn built(kind: &str, captures: Vec<CaptureRecord>) -> Site {
    let kind = kinds::find(kind).expect("a kind");
    let mut notebook: Notebook = kind.example().notebook;
    notebook.specimens[0].came = Came::Bought;
    let mut test = kind.example().test;
    test.entries.retain(|key, _| key == "load" || key == "stated");
    let file =
        |n| FileRef { sha256: format!("{n:02}"), name: "secret name.csv".into(), ..FileRef::default() };
    let files = (0..captures.len()).map(file).collect();
    let entry = Entry { instrument: "scope".into(), files, ..Entry::default() };
    let read: Recordings = Source::captures(&entry, 120.0)
        .into_iter()
        .zip(captures.into_iter().map(|c| Arc::new(Recording::Capture(c))))
        .collect();
    test.entries.insert("captures".into(), entry);
    let out = examine::run_with(kind, &test, &notebook, &read);
    notebook.tests.push(test);
    let mut outcomes = repeat::outcomes(&notebook);
    outcomes.insert("example".into(), std::sync::Arc::new(out));
    site(&report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30"), &SiteOptions::default())
}

fn page<'s>(site: &'s Site, folder: &str) -> &'s str {
    let found = site.files.iter().find(|(path, _)| path.starts_with(folder) && path.ends_with(".html"));
    std::str::from_utf8(found.unwrap_or_else(|| panic!("no page in {folder}: {:?}", site.refused)).1)
        .expect("UTF-8")
}

/// 8.0, 17.0 and 12.0 ms: median 12.0, longest number 2; two of three are longer than 11 ms, one than 16 ms.
#[test]
fn a_batch_stands_with_its_worst_capture_drawn() {
    let site = built("switchover", vec![capture(80), capture(170), capture(120)]);
    let text = page(&site, "c/");
    assert!(markup::tags(text).is_ok());
    let said = markup::text(text);
    for words in [
        "dead for 12.0 ms in the median, 17.0 ms at the longest",
        "Number 2, the longest of 3",
        "2&#160;of&#160;3",
        "ITIC",
    ] {
        assert!(said.contains(words) || text.contains(words), "{words} is not in {said}");
    }
    assert!(text.contains("dead 17 ms") && text.contains("class=\"rms\"") && text.contains("class=\"gap\""));
    assert!(text.contains("data-points=\"\""), "nothing for a cursor that is not there");
    assert!(!said.contains("secret name"), "names of files stay on the bench");
    // The station's page gains a link, no drawing.
    let station = page(&site, "m/");
    let links = markup::tags(station).expect("a sound page");
    assert!(links.iter().filter_map(|t| t.attributes.get("href")).any(|to| to.starts_with("../c/")));
    assert!(!station.contains("class=\"rms\""));
    // A page with its drawing in both sizes stays light: 40 kB beside the shared 100 kB of type and style.
    assert!(text.len() < 40_000, "{}", text.len());
}

#[test]
fn a_wave_is_drawn_by_its_first_cycles() {
    let text = built("waveform", vec![capture(0)]);
    let text = page(&text, "c/");
    let said = markup::text(text);
    assert!(said.contains("The only capture") && said.contains("60.00") && said.contains("a sine"), "{said}");
    assert!(!text.contains("class=\"gap\"") && text.contains("ms</text>"));
}

#[test]
fn what_is_noticed_names_no_file() {
    let site = built("switchover", vec![capture(120), capture(0)]);
    let station = page(&site, "m/");
    assert!(
        station.contains("File 1: no interruption in it") && !station.contains("secret name"),
        "{station}"
    );
}

#[test]
fn no_captures_no_page() {
    let site = built("switchover", Vec::new());
    assert!(site.files.keys().all(|p| !p.starts_with("c/")));
    assert!(!page(&site, "m/").contains("../c/"));
}
