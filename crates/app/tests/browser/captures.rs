//! An oscilloscope's files on a phone and on a desk: several at once, the probe's factor in one tap, the result, the chart.
use std::f64::consts::{SQRT_2, TAU};
use std::path::{Path, PathBuf};
use trueplate_core::kinds;
use trueplate_core::notebook::{Claim, Notebook};
use trueplate_core::record::Record;
use trueplate_core::recording::Told;
use trueplate_store::{Bench, Stroke};

use super::harness::{Browser, PHONE, Screen};
use super::program::Program;

const WIDE: Screen = Screen(1440, 1000, false);

/// The core's example bench with a test of this kind, answered as far as no oscilloscope is needed, and a claim of 10 ms.
fn bench(folder: &Path, kind: &str, answered: &[&str]) -> PathBuf {
    let file = folder.join("captures.trueplate");
    let mut bench = Bench::create(&file, "2026-05-03T08:00:00Z").expect("a new bench");
    let example = kinds::find(kind).expect("the kind").example();
    let Notebook { settings, mut models, specimens, instruments, loads, .. } = example.notebook;
    models[0].claims.push(Claim {
        id: "c".into(),
        key: "switchover".into(),
        text: "10 ms".into(),
        ..Claim::default()
    });
    let mut test = example.test;
    test.entries.retain(|key, _| answered.contains(&key.as_str()));
    let mut records = vec![Record::Settings(settings), Record::Test(test)];
    records.extend(models.into_iter().map(Record::Model));
    records.extend(specimens.into_iter().map(Record::Specimen));
    records.extend(instruments.into_iter().map(Record::Instrument));
    records.extend(loads.into_iter().map(Record::Load));
    bench.save(&records, &Stroke::at("2026-05-03T08:00:00Z")).expect("kept");
    file
}

fn notebook(file: &Path) -> Notebook {
    Bench::open_read_only(file).expect("the bench").notebook().expect("the notebook")
}

/// 120 V at 60 Hz for 0.3 s at 20 kS/s, a little of the third harmonic, some noise, a probe of 200 that is not stated;
/// gone for so many samples of 0.05 ms from a different place of the wave each time, and back a quarter of a cycle late.
fn capture(folder: &Path, n: usize, gone: usize) -> String {
    let mut text =
        String::from("Record Length,6000,Points\nSample Interval,5E-05,s\nVertical Units,V\nTIME,CH1\n");
    let from = 3000 + 37 * n;
    let mut seed = 1 + n as u64;
    for i in 0..6000 {
        let t = i as f64 / 20e3;
        let turn = TAU * 60.0 * t + if gone > 0 && i > from { -TAU / 4.0 } else { 0.0 };
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let noise = ((seed >> 33) as f64 / 2f64.powi(31) - 0.5) * 1.2;
        let live = !(from..from + gone).contains(&i);
        let wave = 120.0 * SQRT_2 * (turn.sin() + 0.02 * (3.0 * turn).sin());
        let v = (if live { wave } else { 0.0 } + noise) / 200.0;
        text += &format!("{:.5E},{v:.4E}\n", t - 0.15);
    }
    let file = folder.join(format!("cut {n:02}.csv"));
    std::fs::write(&file, text).expect("a file");
    file.display().to_string()
}

/// The same in both sizes and both schemes; ends on the screen it began with.
async fn look_all(browser: &Browser, name: &str, back: &Screen) {
    for (screen, size) in [(&WIDE, "wide"), (&PHONE, "phone")] {
        browser.screen(screen);
        for (dark, scheme) in [(false, "light"), (true, "dark")] {
            browser.dark(dark);
            browser.look(&format!("capture-{name}-{size}-{scheme}")).await;
        }
    }
    browser.dark(false);
    browser.screen(back);
}

#[tokio::test]
async fn several_captures_one_tap_a_result_and_a_chart() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = bench(folder.path(), "switchover", &["load"]);
    let program = Program::serve(&file).expect("the program");
    let browser = Browser::start(PHONE).await;
    browser.open(&format!("{}test/example?q=captures", program.address)).await;
    browser.wait_for("Have you captures of it?").await;
    browser.look("capture-asked").await;
    browser.press("Choose the files").await;
    browser.wait_for("One or many at once").await;
    look_all(&browser, "empty", &PHONE).await;
    // 160 … 340 samples of 0.05 ms: 8, 9 … 17 ms, and a file that is none.
    let mut files: Vec<String> = (0..10).map(|n| capture(folder.path(), n, 160 + 20 * n)).collect();
    let broken = folder.path().join("broken.csv");
    std::fs::write(&broken, "<html>504 Gateway Timeout</html>\n").expect("a file");
    files.push(broken.display().to_string());
    // Chosen is sent.
    browser.fill("The files", &files.join("\n")).await;
    browser.wait_for("Which factor has the probe?").await;
    // (12 + 13)/2 = 12.5 ms, to a tenth or so at noise and slow edges; the longest 17 ms.
    let text = browser.text().await;
    assert!(text.contains("in the median of 10 cuts") && text.contains("Dead for 12."), "{text}");
    assert!(text.contains("no rows of numbers"), "{text}");
    look_all(&browser, "asks", &PHONE).await;
    browser.press("×200").await;
    browser.wait_for("probe ×200, as you said").await;
    assert!(!browser.text().await.contains("Which factor"));
    look_all(&browser, "understood", &PHONE).await;
    let entry = notebook(&file).test("example").expect("the test").entries["captures"].clone();
    assert_eq!((entry.files.len(), entry.instrument.as_str()), (11, "scope"));
    assert_eq!(Told::of(&entry).about(&entry.files[0].sha256).probe, Some(200.0));
    // The chart: whole, at the interruption, with a cursor by keyboard and by pointer.
    browser.press("cut 05.csv").await;
    browser.wait_for("The outlet is dead for").await;
    look_all(&browser, "chart", &WIDE).await;
    browser.press("The interruption").await;
    browser.wait_for("All of it").await;
    browser.tab_to("Voltage over time").await;
    browser.keys("\u{e010}").await;
    browser.wait_for(" ms: ").await;
    look_all(&browser, "closer", &PHONE).await;
    // The result, on the same way as times typed: beyond the claim of 10 ms.
    browser.open(&format!("{}test/example?q=done", program.address)).await;
    browser.wait_for("not met").await;
    browser.wait_for("11 captures").await;
    browser.look("capture-done").await;
    browser.open(&format!("{}captures/example", program.address)).await;
    browser.press("Take out broken.csv").await;
    browser.wait_for("Kept.").await;
    assert!(!browser.text().await.contains("no rows of numbers"));
    browser.press("Undo").await;
    browser.wait_for("Taken back").await;
    assert_eq!(notebook(&file).test("example").expect("the test").entries["captures"].files.len(), 11);
}

#[tokio::test]
async fn a_wave_that_runs_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = bench(folder.path(), "waveform", &["load", "stated"]);
    let program = Program::serve(&file).expect("the program");
    let browser = Browser::start(PHONE).await;
    browser.open(&format!("{}captures/example", program.address)).await;
    browser.fill("The files", &capture(folder.path(), 1, 0)).await;
    browser.wait_for("Which factor has the probe?").await;
    browser.press("×200").await;
    browser.wait_for("a sine").await;
    look_all(&browser, "wave", &PHONE).await;
    browser.press("cut 01.csv").await;
    browser.wait_for("The undisturbed wave").await;
    look_all(&browser, "wave-chart", &PHONE).await;
}
