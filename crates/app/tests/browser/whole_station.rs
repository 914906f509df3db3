//! A whole station entered by hand at a desk: claims, instruments, a load, five tests, one mistake put right, published.
use super::first_thread::empty_bench;
use super::harness::{Browser, Screen};
use super::program::Program;
use serde_json::Value;

const DESK: Screen = Screen(1440, 1700, false);

async fn instrument(
    browser: &Browser,
    address: &str,
    name: &str,
    measures: &str,
    of_reading: &str,
    step: &str,
) {
    browser.open(&format!("{address}instrument/new")).await;
    browser.fill("What you call it", name).await;
    browser.fill("Measures", measures).await;
    browser.fill("± of reading", of_reading).await;
    browser.fill("Step", step).await;
    browser.press("Add the instrument").await;
    browser.wait_for("Kept.").await;
}

async fn claim(browser: &Browser, about: &str, figure: &str, load: Option<&str>) {
    browser.press("Add a claim").await;
    browser.fill("What it speaks of", about).await;
    browser.fill("The figure, with its unit", figure).await;
    if let Some(load) = load {
        browser.fill("Condition: load", load).await;
    }
    browser.fill("The maker's own words", figure).await;
    browser.press("Add the claim").await;
    browser.wait_for("Kept.").await;
}

/// One test on the laptop's sheet: label and answer; an instrument as `label, read on`.
async fn test(browser: &Browser, address: &str, kind: &str, answers: &[(&str, &str)]) -> String {
    browser.open(&format!("{address}models")).await;
    browser.press("Tarnhobble Fell 1010").await;
    browser.press("Begin a test").await;
    browser.press(kind).await;
    let tick =
        "document.querySelectorAll('input[name^=caution]:not(:checked)').forEach(c => c.click()); return 1";
    browser.run(tick, vec![]).await;
    browser.press("Begin").await;
    let here = "return location.pathname";
    let mut path = browser.run(here, vec![]).await;
    while path.as_str().is_some_and(|p| p.ends_with("/new")) {
        path = browser.run(here, vec![]).await;
    }
    let Value::String(path) = path else { panic!("no address") };
    let sheet = format!("{}{}/all", address.trim_end_matches('/'), path.trim_end_matches("/all"));
    browser.open(&sheet).await;
    for (label, answer) in answers {
        browser.fill(label, answer).await;
    }
    browser.press("Keep").await;
    browser.wait_for("Kept.").await;
    sheet
}

async fn five_tests(browser: &Browser, address: &str) -> String {
    let empty = ("why it ended", "the outlet switched off because the battery was empty");
    let full = ("state at the start", "full: the charger stopped by itself, then 30 minutes of rest");
    let energy = [
        full,
        ("load", "fan heater"),
        ("counter at the start", "0"),
        ("start", "09:02:00"),
        ("end", "10:38:00"),
        ("counter at the end", "0.991 kWh"),
        ("counter at the end, read on", "plug meter, energy"),
        empty,
    ];
    let sheet = test(browser, address, "Usable energy", &energy).await;
    let held = [
        full,
        ("cold or warm start", "cold: at room temperature inside"),
        ("start", "14:00:00"),
        ("power shown when warm", "1180 W"),
        ("power shown when warm, read on", "plug meter, power"),
        ("end", "14:46:00"),
        ("why it ended", "the battery was empty"),
    ];
    test(browser, address, "Sustained output", &held).await;
    let charge = [
        ("charging mode", "the fastest it has"),
        ("empty in which sense", "everything had switched off, the 12 V outlet too"),
        ("counter at the start", "0"),
        ("charger plugged in", "18:00:00"),
        ("80 % shown", "18:53:00"),
        ("charger stopped", "19:33:00"),
        ("counter at the end", "1.110 kWh"),
        ("counter at the end, read on", "plug meter, energy"),
    ];
    test(browser, address, "Recharge from the mains", &charge).await;
    let dead = "9.1 8.7 12.4 7.9 10.2 9.6 8.0 13.1 9.9 8.8 10.9 7.2 9.3 11.8 8.1 9.0 10.4 6.9 9.5 11.2";
    let trials = [
        ("load at the switchover", "about half of its power"),
        ("dead times", dead),
        ("dead times, read on", "oscilloscope"),
    ];
    test(browser, address, "Switchover to battery", &trials).await;
    let mass = [
        ("weighed", "the station alone"),
        ("scale reading", "13.30 kg"),
        ("scale reading, read on", "floor scale"),
    ];
    test(browser, address, "Mass", &mass).await;
    sheet
}

#[tokio::test]
async fn from_an_empty_bench_to_five_judged_claims() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = empty_bench(folder.path());
    let program = Program::serve(&file).expect("the program serves");
    let address = program.address.clone();
    let browser = Browser::start(DESK).await;
    browser.open(&format!("{address}settings")).await;
    browser.fill("Who tests", "Ada Quern").await;
    browser.fill("Title of the bench", "The bench at No. 9").await;
    browser.press("Keep the settings").await;
    browser.wait_for("Kept.").await;
    instrument(&browser, &address, "plug meter, energy", "Energy", "1 %", "1 Wh").await;
    instrument(&browser, &address, "plug meter, power", "Power", "1 %", "0.1 W").await;
    instrument(&browser, &address, "floor scale", "Mass", "", "0.05 kg").await;
    instrument(&browser, &address, "oscilloscope", "Time", "", "0.1 ms").await;
    browser.open(&format!("{address}load/new")).await;
    browser.fill("What you call it", "fan heater").await;
    browser.fill("Power while on", "575 W").await;
    browser.press("Add the load").await;
    browser.wait_for("Kept.").await;
    browser.open(&format!("{address}model/new")).await;
    browser.fill("Maker and name", "Tarnhobble Fell 1010").await;
    browser.fill("Outlet voltage", "120 V").await;
    browser.fill("Frequency", "60 Hz").await;
    browser.press("Add the station").await;
    claim(&browser, "Stored energy", "1010 Wh", None).await;
    claim(&browser, "Output held to empty", "1150 W", None).await;
    claim(&browser, "Usable energy", "900 Wh", Some("50 %")).await;
    claim(&browser, "Charge to 80 % shown", "55 min", None).await;
    claim(&browser, "Switches over", "10 ms", None).await;
    claim(&browser, "Mass", "13.2 kg", None).await;
    browser.press("Add a sample").await;
    browser.fill("How it came", "bought at an ordinary seller").await;
    browser.fill("From whom, when, on which terms", "bought online on 2 March 2026, paid in full").await;
    browser.press("Add the sample").await;
    browser.wait_for("paid in full").await;
    let sheet = five_tests(&browser, &address).await;

    // 991 Wh was typed for 919: the photo shows it.
    browser.open(&sheet).await;
    browser.fill("counter at the end", "0.919 kWh").await;
    browser.fill("Why it is changed", "two digits swapped; the photo shows 0.919").await;
    browser.press("Keep").await;
    browser.wait_for("0.991 kWh → 0.919 kWh").await;

    browser.open(&format!("{address}models")).await;
    browser.press("Tarnhobble Fell 1010").await;
    // 919 ± 14 Wh against 900, 1180 ± 11 W against 1150, 53 min against 55; seven of the twenty times are over 10 ms.
    // 13.30 kg against 13.2: a step of 0.05 kg is ± 0.025, of which 95 % are ± 0.024.
    browser.wait_for("Gives 919 ±").await;
    browser.wait_for("7 of 20 beyond it").await;
    browser.wait_for("the cells hold between").await;
    browser.assert_fits().await;
    browser.assert_labelled().await;
    browser.picture("whole-station").await;

    browser.open(&format!("{address}publish")).await;
    let site = folder.path().join("site");
    browser.fill("Folder", &site.display().to_string()).await;
    browser.press("Publish the pages").await;
    browser.wait_for("Published:").await;
    published(&site);
}

/// Every verdict and the correction stand on the published pages.
fn published(site: &std::path::Path) {
    let text = std::fs::read_to_string(site.join("m/tarnhobble-fell-1010.html")).expect("the station's page");
    for said in ["<b>919</b>", "7 of 20", "not met", ">met<", "cannot tell", "paid in full"] {
        assert!(text.contains(said), "`{said}` is not on the page");
    }
    let corrections = std::fs::read_to_string(site.join("corrections.html")).expect("the corrections");
    let corrections = corrections.replace('\u{a0}', " ");
    assert!(corrections.contains("0.991 kWh") && corrections.contains("photo shows 0.919"), "{corrections}");
}
