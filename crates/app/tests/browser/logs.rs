//! Ugly files of meters, looked at on a desk and on a phone: what was understood, a wrong guess put right in two taps,
//! the file attached, and taken back.
use std::path::{Path, PathBuf};
use trueplate_core::kinds;
use trueplate_core::notebook::Notebook;
use trueplate_core::record::Record;
use trueplate_store::{Bench, Stroke};

use super::harness::{Browser, PHONE, Screen};
use super::program::Program;

const WIDE: Screen = Screen(1440, 1000, false);

/// The core's example bench with its test of usable energy, under the id `example`.
fn bench(folder: &Path) -> PathBuf {
    let file = folder.join("logs.trueplate");
    let mut bench = Bench::create(&file, "2026-05-03T08:00:00Z").expect("a new bench");
    let example = kinds::find("usable-energy").expect("the kind").example();
    let Notebook { settings, models, specimens, instruments, loads, .. } = example.notebook;
    let mut test = example.test;
    for by_hand in ["power", "start", "end", "counter_start", "counter_end"] {
        test.entries.remove(by_hand);
    }
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

fn fixture(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../meters/tests/logs").join(name);
    path.canonicalize().expect("a fixture").display().to_string()
}

/// A log in another language: power in kW without its unit, decimal commas, a hole of three minutes, one lone reading,
/// crossing midnight; 575 W from 120 s to 6200 s.
fn unlabelled(folder: &Path) -> String {
    let mut text = "Zeit;Leistung;Spannung (V)\n".to_string();
    for s in (0..7000).step_by(5).filter(|s| !(2400..2580).contains(s)) {
        let kw = match s {
            3005 => "2,875",
            120..6200 => "0,575",
            _ => "0,000",
        };
        let at = 23 * 3600 + 58 * 60 + 10 + s;
        let (day, clock) = (2 + at / 86_400, at % 86_400);
        let (h, m) = (clock / 3600, clock / 60 % 60);
        text.push_str(&format!("{day:02}.05.2026 {h:02}:{m:02}:{:02};{kw};119,4\n", clock % 60));
    }
    let file = folder.join("Entladung.csv");
    std::fs::write(&file, text).expect("a file");
    file.display().to_string()
}

async fn send(browser: &Browser, address: &str, file: &str) {
    browser.open(&format!("{address}log/new?test=example")).await;
    // Chosen is sent.
    browser.fill("The file", file).await;
}

#[tokio::test]
async fn five_ugly_files_are_looked_at() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = bench(folder.path());
    let program = Program::serve(&file).expect("the program");
    let browser = Browser::start(WIDE).await;
    let own = unlabelled(folder.path());
    let files = [
        (own.as_str(), "is about 0.575 and has no unit"),
        (&fixture("F03_ambiguous_date.csv"), "Day first: 4 May"),
        (&fixture("F10_zero_filled_gap.csv"), "readings are missing there"),
        (&fixture("F04_swiss_mixed_intervals.csv"), "cannot be summed up together"),
        (&fixture("F29_hand_notes.txt"), "this looks like notes, not a log"),
    ];
    browser.open(&format!("{}log/new", program.address)).await;
    browser.wait_for("None yet.").await;
    browser.look("log-empty").await;
    for (n, (path, says)) in files.iter().enumerate() {
        browser.screen(&WIDE);
        send(&browser, &program.address, path).await;
        browser.wait_for(says).await;
        browser.look(&format!("log-{n}-wide")).await;
        browser.screen(&PHONE);
        browser.look(&format!("log-{n}-phone")).await;
    }
    browser.screen(&WIDE);
    browser.open(&format!("{}log/new", program.address)).await;
    browser.wait_for("Entladung.csv").await;
    browser.look("log-kept").await;
}

#[tokio::test]
async fn a_wrong_guess_is_put_right_in_two_taps_kept_and_taken_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = bench(folder.path());
    let program = Program::serve(&file).expect("the program");
    let browser = Browser::start(PHONE).await;
    browser.open(&format!("{}test/example?q=log", program.address)).await;
    browser.wait_for("Have you a log of it?").await;
    browser.look("log-asked").await;
    send(&browser, &program.address, &unlabelled(folder.path())).await;
    browser.wait_for("has no unit").await;
    // One tap.
    browser.press("kW").await;
    // 575 W for 6080 s are 971.1 Wh; five seconds of 2300 W more are 3.2 Wh: 974.3 Wh.
    browser.wait_for("974.3 Wh in 1 h 41 min").await;
    browser.look("log-answered-phone").await;
    browser.screen(&WIDE);
    browser.look("log-answered-wide").await;
    browser.fill("Logged by", "plug meter").await;
    browser.press("Keep it so").await;
    browser.wait_for("Kept.").await;
    browser.wait_for("stands alone between 575 and 575 W").await;
    browser.look("log-attached").await;
    let kept = notebook(&file);
    let entry = &kept.test("example").expect("the test").entries["log"];
    assert!(entry.how.contains("kW") && entry.instrument == "meter");
    assert!(kept.instrument("meter").expect("the meter").reads.contains("Leistung"), "it is remembered");
    // The same file again, for the same test: no question any more, and nothing changes.
    let strokes = || notebook(&file).changes.last().map_or(0, |c| c.stroke);
    let before = strokes();
    send(&browser, &program.address, &unlabelled(folder.path())).await;
    browser.wait_for("974.3 Wh").await;
    assert!(!browser.text().await.contains("has no unit"), "the answer is remembered");
    browser.press("Keep it so").await;
    browser.wait_for("What came out").await;
    assert_eq!(strokes(), before, "importing it twice changes nothing");
    // A column set otherwise, and the trace closer: both stand in the address, so going back takes them back.
    browser.open(&format!("{}log/{}?test=example", program.address, entry.files[0].sha256)).await;
    browser.press("Closer").await;
    browser.wait_for("All of it").await;
    browser.look("log-closer").await;
    browser.open(&format!("{}history", program.address)).await;
    browser.press("Take back").await;
    browser.wait_for("Taken back").await;
    assert!(!notebook(&file).test("example").expect("the test").entries.contains_key("log"));
}

#[tokio::test]
async fn an_old_table_becomes_stations() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = bench(folder.path());
    let program = Program::serve(&file).expect("the program");
    let table = folder.path().join("tested so far.csv");
    let text = "Model,Capacity Wh,Usable energy at 50 % (Wh),Weight,List price USD,seen on\n\
                Tarnhobble Fell 1010,1010,871,12.9 kg,899,2025-11-02\nGorsefell Cairn 530,530,,about 7,,\n";
    std::fs::write(&table, text).expect("a table");
    let browser = Browser::start(WIDE).await;
    browser.open(&format!("{}import", program.address)).await;
    browser.look("log-table-new").await;
    browser.fill("The table", &table.display().to_string()).await;
    browser.wait_for("2 new stations, 2 claims, 1 price, 2 results as summaries").await;
    browser.look("log-table-wide").await;
    browser.screen(&PHONE);
    browser.look("log-table-phone").await;
    browser.press("Take it over").await;
    browser.wait_for("Kept.").await;
    browser.screen(&WIDE);
    browser.open(&format!("{}compare", program.address)).await;
    browser.wait_for("summary only, no readings").await;
    browser.look("log-table-compare").await;
    browser.open(&format!("{}model/tarnhobble-fell-1010", program.address)).await;
    browser.wait_for("871 Wh").await;
    browser.look("log-table-model").await;
}
