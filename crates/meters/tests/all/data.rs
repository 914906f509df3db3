//! Real and simulated logs with known answers, where their folder is there (their licences keep them out of the project).
//! Expected numbers: the file `expected.json` beside them, computed with NumPy and pandas.
use crate::support::{answered, has, near};
use std::path::PathBuf;
use trueplate_meters::logs::Options;

/// The bytes of a data file, or a loud word that the check is skipped.
#[expect(
    clippy::disallowed_methods,
    reason = "the folder of data that may not be shipped is named by the environment"
)]
fn data(name: &str) -> Option<Vec<u8>> {
    let folder = std::env::var_os("TRUEPLATE_DATA").map(PathBuf::from);
    let folder =
        folder.unwrap_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data"));
    let bytes = std::fs::read(folder.join(name)).ok();
    if bytes.is_none() {
        eprintln!("SKIPPED: {name} is not there (set TRUEPLATE_DATA to the folder that holds it)");
    }
    bytes
}

#[test]
fn fridge_with_one_long_gap() {
    let Some(bytes) = data("fridge_raw.csv") else { return };
    let log =
        answered("fridge_raw.csv", &bytes, None, Options { gap_s: Some(60.0), ..Options::default() }, None)
            .log;
    assert_eq!((log.rows, log.gap_count), (16_489, 1));
    near("span", log.span_s, 16_197.0, 0.0);
    near("covered", log.covered_s, 16_062.0, 0.0);
    near("energy", log.energy_wh, 71.708_472_222, 1e-6);
    near("bridged", log.energy_bridged_wh, 71.745_972_222, 1e-6);
    near("mean", log.power.map(|p| p.mean), 16.072_126_759, 1e-6);
    let c = log.cycles.expect("a fridge cycles");
    assert_eq!((c.starts, c.whole), (5, 4));
    near("period", Some(c.period_s), 3781.0, 0.5);
    near("on", Some(c.on_s), 704.25, 0.5);
    near("duty", Some(c.duty), 0.186_260, 1e-4);
    near("mean of cycles", Some(c.mean_w), 13.953_385, 1e-3);
    near("running", Some(c.running_w), 73.0, 1.0);
    near("start", Some(c.peak_w), 794.0, 1.0);
    // Two columns without a header: what they hold is asked.
    assert!(has(&log, "columns"));
}

#[test]
fn fridge_with_uneven_steps() {
    let Some(bytes) = data("fridge_uneven.csv") else { return };
    let log = answered(
        "fridge_uneven.csv",
        &bytes,
        None,
        Options { gap_s: Some(60.0), ..Options::default() },
        None,
    )
    .log;
    assert_eq!((log.rows, log.gap_count), (7962, 0));
    near("energy", log.energy_wh, 278.418_194_444, 1e-6);
    near("mean", log.power.map(|p| p.mean), 46.415_925_721, 1e-6);
    let c = log.cycles.expect("a fridge cycles");
    assert_eq!((c.starts, c.whole), (11, 10));
    near("period", Some(c.period_s), 1831.5, 0.5);
    near("on", Some(c.on_s), 557.5, 1.0);
    near("mean of cycles", Some(c.mean_w), 45.838_684, 0.05);
}

/// Discharge and charge of a simulated cell; the parts meet in steps of a few seconds, so 0.03 % is left open.
#[test]
fn cell_both_ways() {
    let Some(bytes) = data("sim_constant_power_cccv.csv") else { return };
    let log = answered("sim.csv", &bytes, None, Options::default(), None).log;
    near("out", log.energy_out_wh, 18.016_405, 0.006);
    near("in", log.energy_in_wh, 16.162_738 + 2.962_221, 0.006);
    near("discharge ends", log.cutoff.as_ref().map(|c| c.elapsed_s), 8107.4, 0.5);
    // The voltage is held from 6071 s on; the current then falls, and passes 95 % of 2.5 A at 6131 to 6141 s
    // (2.3812 A and 2.3625 A in the file).
    near("taper", log.taper_at_s, 6141.0248, 0.1);
    assert!(has(&log, "direction"));
}

/// The header says A and Wh, the numbers are mA and mWh: asked, and right once answered. Charge: the first 721 rows.
#[test]
fn cycler_with_wrong_units_in_its_header() {
    let Some(bytes) = data("battery_cycle_raw.csv") else { return };
    let text = String::from_utf8(bytes).expect("plain text");
    let whole = answered("battery.csv", text.as_bytes(), None, Options::default(), None);
    assert!(
        has(&whole.log, "current-unit")
            && has(&whole.log, "direction-unknown")
            && has(&whole.log, "counter-reset")
    );
    assert!(whole.log.energy_in_wh.is_none());
    let charge: String = text.lines().take(722).map(|l| format!("{l}\n")).collect();
    let mut columns = whole.understanding.mapping.columns;
    for c in &mut columns {
        match c.unit.as_deref() {
            Some("A") => c.unit = Some("mA".into()),
            Some("W.h") => c.unit = Some("mW.h".into()),
            _ => {}
        }
    }
    let patch = serde_json::json!({ "columns": columns, "positive": "in" });
    let log = answered("battery.csv", charge.as_bytes(), None, Options::default(), Some(patch)).log;
    assert_eq!(log.rows, 721);
    near("span", log.span_s, 3599.95, 1e-3);
    near("in", log.energy_in_wh, 4.968_100_409, 1e-6);
    // The counter's first row already holds 0.03 mWh.
    near("counter", log.energy_counter_wh, 4.968_33 - 0.000_03, 1e-6);
    near("taper", log.taper_at_s, 2645.0, 0.01);
    assert!(!has(&log, "current-unit"));
}

/// Steps of 0.001, 0.1 and 10 s in one file: all covered once the gap is given, said to be mostly gaps before.
#[test]
fn pulses_with_mixed_steps() {
    let Some(bytes) = data("pulses_mixed_spacing.csv") else { return };
    let log =
        answered("pulses.csv", &bytes, None, Options { gap_s: Some(60.0), ..Options::default() }, None).log;
    near("net", log.energy_wh.map(|e| -e * 1000.0), 2.737_768_523, 1e-6);
    let log = answered("pulses.csv", &bytes, None, Options::default(), None).log;
    assert!(has(&log, "mostly-gaps"));
}
