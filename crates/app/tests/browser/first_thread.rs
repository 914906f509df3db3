//! The whole first thread as a tester walks it on a phone: from an empty bench to a published, corrected verdict.
use std::path::Path;
use trueplate_core::notebook::Notebook;
use trueplate_store::Bench;

use super::harness::{Browser, DESK, PHONE};
use super::program::Program;

/// The cautions of the usable energy test, each to be ticked.
const CAUTIONS: [&str; 3] = ["A heater needs", "Plug the heater", "Stop at smell"];

pub fn empty_bench(folder: &Path) -> std::path::PathBuf {
    let file = folder.join("first.trueplate");
    drop(Bench::create(&file, "2026-05-03T08:00:00Z").expect("a new bench"));
    file
}

pub fn notebook(file: &Path) -> Notebook {
    Bench::open_read_only(file).expect("the bench").notebook().expect("the notebook")
}

pub async fn set_up(browser: &Browser, address: &str) {
    browser.open(address).await;
    browser.wait_for("What will stand here").await;
    browser.look("first-empty").await;
    browser.open(&format!("{address}settings")).await;
    browser.fill("Who tests", "Ada Quern").await;
    browser.fill("Title of the bench", "The bench at No. 9").await;
    browser.fill("Time zone of the bench", "America/New_York").await;
    browser.press("Keep the settings").await;
    browser.wait_for("Kept.").await;
    browser.press("The bench at No. 9").await;
    browser.press("Add the first station").await;
    browser.fill("Maker and name", "Tarnhobble Fell 1010").await;
    browser.fill("Outlet voltage", "120 V").await;
    browser.press("Add the station").await;
    claim(browser, "Output held to empty", "1000 W", None).await;
    claim(browser, "Usable energy", "850 Wh", Some("50 %")).await;
    browser.look("first-claims").await;
    browser.press("The bench at No. 9").await;
    browser.press("Add the first instrument").await;
    browser.fill("What you call it", "plug meter M1").await;
    browser.fill("Measures", "Energy").await;
    browser.fill("± of reading", "1 %").await;
    browser.fill("Step", "1 Wh").await;
    browser.press("Add the instrument").await;
    browser.wait_for("Energy: ± 1 % of reading, step 1 Wh").await;
    browser.look("first-instruments").await;
    browser.press("The bench at No. 9").await;
    browser.press("Add the sample on the bench").await;
    browser.fill("How it came", "lent by the maker or a dealer").await;
    browser.fill("From whom, when, on which terms", "lent by the maker for four weeks, no other terms").await;
    browser.press("Add the sample").await;
    browser.wait_for("lent by the maker for four weeks").await;
}

async fn claim(browser: &Browser, about: &str, figure: &str, load: Option<&str>) {
    browser.press("Add a claim").await;
    browser.fill("What it speaks of", about).await;
    browser.fill("The figure, with its unit", figure).await;
    browser.wait_for(&format!("{about}: at least {figure}")).await;
    if let Some(load) = load {
        browser.fill("Condition: load", load).await;
    }
    browser.fill("The maker's own words", figure).await;
    browser.press("Add the claim").await;
    browser.wait_for("Kept.").await;
}

pub async fn begin(browser: &Browser) {
    browser.press("Begin a test").await;
    browser.press("Usable energy").await;
    for caution in CAUTIONS {
        browser.press(caution).await;
    }
    browser.look("first-cautions").await;
    browser.press("Begin").await;
}

/// Skips what may be left out until this question is asked.
pub async fn skip_to(browser: &Browser, question: &str) {
    for _ in 0..10 {
        let started = std::time::Instant::now();
        while started.elapsed().as_secs() < 2 {
            if browser.text().await.contains(question) {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
        browser.press("Skip").await;
    }
    browser.wait_for(question).await;
}

/// The questions of the start, the wait, and those of the end with a misread counter.
async fn measure(browser: &Browser) {
    browser.wait_for("Is it full and rested?").await;
    browser.look("first-choice").await;
    browser.press("full: the charger stopped by itself").await;
    skip_to(browser, "What does the energy counter show?").await;
    browser.fill("What does the energy counter show?", "0").await;
    browser.press("Keep this reading").await;
    browser.wait_for("When did the load go on?").await;
    browser.fill("When did the load go on?", "09:02:00").await;
    browser.wait_for("09:02:00").await;
    browser.look("first-time").await;
    browser.press("Keep the time typed").await;
    skip_to(browser, "It runs").await;
    browser.look("first-wait").await;
    browser.press("It ended").await;
    skip_to(browser, "When did the outlet go off?").await;
    browser.fill("When did the outlet go off?", "10:48:00").await;
    browser.press("Keep the time typed").await;
    let counter = "What does the energy counter show now?";
    browser.wait_for(counter).await;
    browser.fill(counter, "882 W").await;
    browser.wait_for("watts say how fast, watt-hours how much").await;
    browser.fill(counter, "0.892").await;
    browser.wait_for("892 ± 8 Wh").await;
    browser.look("first-number").await;
    browser.press("Keep this reading").await;
    skip_to(browser, "Why did it end?").await;
    browser.press("the outlet switched off because the battery was empty").await;
    skip_to(browser, "What came out").await;
}

#[tokio::test]
async fn from_an_empty_bench_to_a_published_correction() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = empty_bench(folder.path());
    let program = Program::serve(&file).expect("the program serves");
    let browser = Browser::start(PHONE).await;
    set_up(&browser, &program.address).await;
    begin(&browser).await;
    measure(&browser).await;
    // 892 Wh over 1 h 46 min at a claimed 1000 W: 505 W, half load. u: gain 892·0.01/√3 = 5.150, step 1/√12 = 0.289,
    // start 0.002·892/√3 = 1.030, run to run 0.005·892 = 4.460: root of the sum of squares 6.896, so about ± 14.
    browser.wait_for("892 ± 14 Wh").await;
    browser.wait_for("met").await;
    browser.look("first-outcome").await;

    browser.press("All answers").await;
    browser.fill("counter at the end", "0.882 kWh").await;
    browser.press("Keep").await;
    browser.wait_for("write why").await;
    browser.fill("Why it is changed", "the photo shows 0.882").await;
    browser.press("Keep").await;
    browser.wait_for("Kept.").await;
    browser.wait_for("0.892 kWh → 0.882 kWh").await;
    look_after_refusal(&browser, "corrected").await;

    browser.press("Tarnhobble Fell 1010").await;
    browser.wait_for("Gives 882 ± 14 Wh at the outlet at half load.").await;
    browser.look("first-station").await;
    browser.press("882 ± 14 Wh").await;
    browser.wait_for("Where the interval comes from").await;
    for said in
        ["E = R₂ − R₁ + P₀·t", "0.882 kWh", "plug meter M1", "0.892 kWh → 0.882 kWh", "the photo shows 0.882"]
    {
        browser.wait_for(said).await;
    }
    browser.look("first-trail").await;

    browser.press("Publish").await;
    let site = folder.path().join("site");
    browser.fill("Folder", &site.display().to_string()).await;
    browser.look("first-publish").await;
    browser.press("Publish the pages").await;
    browser.wait_for("Published:").await;
    published(&site);
    browser.open(&format!("{}history", program.address)).await;
    browser.wait_for("the photo shows 0.882").await;
    browser.look("first-history").await;
}

/// The refused form is in the console as a failed load; that one is wanted.
async fn look_after_refusal(browser: &Browser, name: &str) {
    browser.assert_fits().await;
    browser.assert_labelled().await;
    browser.picture(&format!("first-{name}")).await;
    browser.forget_console();
}

/// The station's page carries the verdict and, on its page of corrections, what was wrong.
fn published(site: &Path) {
    let pages = std::fs::read_dir(site.join("m")).expect("the pages of stations");
    let page = pages.flatten().next().expect("one station").path();
    let text = std::fs::read_to_string(page).expect("its page");
    assert!(text.contains("Tarnhobble Fell 1010") && text.contains(">met<"), "{text}");
    assert!(text.contains("882"), "the corrected number");
    let corrections = std::fs::read_to_string(site.join("corrections.html")).expect("the corrections");
    assert!(corrections.contains("photo shows 0.882"), "{corrections}");
}

#[tokio::test]
async fn a_phone_that_loses_the_network_loses_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = empty_bench(folder.path());
    let program = Program::serve(&file).expect("the program serves");
    let browser = Browser::start(PHONE).await;
    set_up(&browser, &program.address).await;
    begin(&browser).await;
    browser.wait_for("Is it full and rested?").await;
    browser.offline(true);
    browser.press("full: the charger stopped by itself").await;
    skip_to(&browser, "What does the energy counter show?").await;
    browser.fill("What does the energy counter show?", "0.12").await;
    browser.press("Keep this reading").await;
    browser.wait_for("When did the load go on?").await;
    browser.press("Now").await;
    browser.wait_for("What power does the meter show?").await;
    browser.wait_for("3 answers wait on this device").await;
    assert!(notebook(&file).tests[0].entries.is_empty(), "nothing has arrived");
    let pressed = jiff::Timestamp::now();
    tokio::time::sleep(std::time::Duration::from_secs(2)).await;
    browser.offline(false);
    // A fresh page, as after a reload: what waited is in the browser, not in the page.
    browser.open(&program.address).await;
    let started = std::time::Instant::now();
    while notebook(&file).tests[0].entries.len() < 3 {
        assert!(started.elapsed().as_secs() < 10, "they did not arrive");
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    let entries = notebook(&file).tests[0].entries.clone();
    assert_eq!(entries["counter_start"].text, "0.12 kWh");
    let at: jiff::Timestamp = entries["start"].text.parse().expect("the moment of the press");
    assert!(at <= pressed, "{at} is the moment of the press, not of the arrival");
    browser.screen(&DESK);
    browser.open(&program.address).await;
    browser.wait_for("Running").await;
    assert!(!browser.text().await.contains("wait on this device"));
}
