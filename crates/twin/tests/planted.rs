//! Each recording error planted in the invented bench is named by its finding, and the page as it should have been
//! written is not.
use std::sync::Arc;
use trueplate_core::notebook::Notebook;
use trueplate_core::repeat::outcomes;
use trueplate_core::report::report;
use trueplate_twin::bench::notebook;
use trueplate_twin::day::DEMO_SEED;
use trueplate_twin::planted::{Planted, planted};

/// The slip about noise: there is no kind of test by hand readings for it yet.
const NOISE: u8 = 11;

/// Codes said of the slip's test, or of its model where the slip is on no page.
fn codes(notebook: Notebook, slip: &Planted) -> Vec<String> {
    let outcomes = outcomes(&notebook);
    let report = report(Arc::new(notebook), Arc::new(outcomes), "");
    let model = report.models.iter().find(|m| m.id == slip.unit).unwrap();
    let of_page = |test: &str| test == slip.test || (test.is_empty() && matches!(slip.id, 6 | 13));
    model.findings.iter().filter(|(test, _)| of_page(test)).map(|(_, f)| f.code.to_string()).collect()
}

fn only(notebook: &mut Notebook, unit: &str) {
    // Another model's tests say nothing of this one, but for how its meters are used.
    notebook.models.retain(|m| m.id == unit);
}

/// The page as a careful tester would have written it.
fn mended(notebook: &mut Notebook, slip: &Planted) {
    if slip.id == 13 {
        notebook.models.iter_mut().flat_map(|m| &mut m.prices).for_each(|p| p.on = "2026-06-01".into());
        return;
    }
    if slip.id == 6 {
        // Before the update there is nothing old.
        notebook.tests.retain(|t| t.firmware != "1.2.0");
        notebook.specimens.iter_mut().for_each(|s| s.firmware.retain(|f| f.version != "1.2.0"));
        return;
    }
    let test = notebook.tests.iter_mut().find(|t| t.id == slip.test).unwrap();
    let mut write = |key: &str, change: &dyn Fn(&str) -> String| {
        let entry = test.entries.get_mut(key).unwrap_or_else(|| panic!("{key}"));
        entry.text = change(&entry.text);
    };
    let kwh = |text: &str| text.trim_end_matches(" kWh").parse::<f64>().unwrap();
    match slip.id {
        1 => write("start_state", &|_| "full-just-now".into()),
        2 => write("cause", &|_| "empty".into()),
        3 => ["on", "start", "end"].iter().for_each(|k| {
            write(k, &|t| t.replace("03-07", "03-14").replace("03-08", "03-15"));
        }),
        5 => write("counter_end", &|_| "1.80 kWh".into()),
        7 => write("still_on", &|_| "yes".into()),
        8 => test
            .entries
            .values_mut()
            .filter(|e| e.instrument == "M1")
            .for_each(|e| e.instrument = "M12".into()),
        9 => write("temperature_state", &|_| "warm".into()),
        12 => test.entries.values_mut().filter(|e| e.instrument == "M1").for_each(|e| {
            e.instrument = "M2".into();
            e.text = e.text.replace("0.17 kWh", "0.174 kWh");
        }),
        15 => ["start", "end"].iter().for_each(|k| write(k, &|t| t.replace("AM", "PM"))),
        16 => {
            let from = kwh(&test.entries["counter_start"].text);
            let to = kwh(&test.entries["counter_end"].text);
            let mut write = |key: &str, text: String| test.entries.get_mut(key).unwrap().text = text;
            write("counter_start", "0.00 kWh".into());
            write("counter_end", format!("{:.2} kWh", to - from));
        }
        17 => write("load", &|_| "L1".into()),
        19 => write("counter_end", &|_| "0.89 kWh".into()),
        20 => write("ambient", &|_| "25.0 °C".into()),
        other => panic!("slip {other} has no mended page"),
    }
}

#[test]
fn each_slip_is_named_and_its_mended_page_is_not() {
    for slip in planted().iter().filter(|s| s.id != NOISE) {
        let mut written = notebook(DEMO_SEED);
        only(&mut written, slip.unit);
        let mut honest = written.clone();
        mended(&mut honest, slip);
        let found = codes(written, slip);
        assert!(found.iter().any(|c| c == slip.finding), "slip {} ({}): only {found:?}", slip.id, slip.what);
        let left = codes(honest, slip);
        assert!(!left.iter().any(|c| c == slip.finding), "slip {}: still {left:?}", slip.id);
    }
}

/// The seed of the demo was chosen; slips are named with others as well.
#[test]
fn slips_are_named_whatever_chance_does() {
    for seed in 1000..1004 {
        let notebook = notebook(seed);
        let outcomes = outcomes(&notebook);
        let report = report(Arc::new(notebook), Arc::new(outcomes), "");
        for slip in planted().iter().filter(|s| s.id != NOISE) {
            let model = report.models.iter().find(|m| m.id == slip.unit).unwrap();
            let named = model.findings.iter().any(|(t, f)| {
                f.code == slip.finding && (t == slip.test || (t.is_empty() && matches!(slip.id, 6 | 13)))
            });
            assert!(named, "seed {seed}, slip {} ({})", slip.id, slip.what);
        }
    }
}

/// Pages without a slip raise no doubt and leave no gap, but for what their stations are known to do.
#[test]
fn honest_pages_raise_no_doubt() {
    let notebook = notebook(DEMO_SEED);
    let outcomes = outcomes(&notebook);
    let report = report(Arc::new(notebook), Arc::new(outcomes), "");
    for (test, finding) in report.models.iter().flat_map(|m| &m.findings) {
        if finding.weight == trueplate_core::finding::Weight::Note || planted().iter().any(|p| p.test == test)
        {
            continue;
        }
        // A second start on what the first left over says nothing about holding to empty.
        let known = ["start-not-full"].contains(&finding.code.as_str()) || finding.code == "price-undated";
        assert!(known, "{test}: {} {}", finding.code, finding.text);
    }
}
