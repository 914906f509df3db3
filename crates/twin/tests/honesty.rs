//! Stated intervals against hidden truth: over 2,000 benches drawn by chance the 95 % intervals of usable energy, idle
//! draw and runtimes hold the truth in 93 to 97 % of the cases, each quantity by itself and all together.
//!
//! Each bench draws its meter's gain and offset, the phase of its counter, how full each start is and the scatter of
//! each run from the very distributions that the budgets state. Truth is the specimen's mean, without any meter.
use std::collections::BTreeMap;
use trueplate_core::drain;
use trueplate_core::law::Load;
use trueplate_core::notebook::{Claim, Condition, Firmware, Model, Notebook, Settings, Specimen};
use trueplate_core::repeat;
use trueplate_core::uncertain::Value;
use trueplate_twin::bench::{instrument, test_of};
use trueplate_twin::bench_draw::{BenchPlan, DrawnBench, bench_draw};
use trueplate_twin::calendar::ZONE;
use trueplate_twin::chance::RUN_SD;
use trueplate_twin::meter::{LastDigit, Meter};

/// Hits and tries by quantity.
type Table = BTreeMap<String, (u32, u32)>;

fn notebook(drawn: &DrawnBench) -> Notebook {
    let s = &drawn.station;
    let rated = Claim {
        id: "rated".into(),
        key: "sustained-output".into(),
        text: format!("{} W", s.rated_w),
        ..Claim::default()
    };
    let firmware = vec![Firmware { version: s.firmware.clone(), from: String::new() }];
    Notebook {
        settings: Settings { zone: ZONE.into(), repeatability: RUN_SD, ..Settings::default() },
        models: vec![Model { id: s.id.clone(), claims: vec![rated], ..Model::default() }],
        specimens: vec![Specimen {
            id: s.specimen.clone(),
            model: s.id.clone(),
            firmware: if s.firmware == "none" { Vec::new() } else { firmware },
            ..Specimen::default()
        }],
        instruments: vec![instrument(&drawn.meter), instrument(&Meter::bench("M11").unwrap())],
        tests: drawn.pages.iter().map(test_of).collect(),
        ..Notebook::default()
    }
}

fn hold(table: &mut Table, what: &str, value: &Value, truth: f64) {
    let cell = table.entry(what.into()).or_default();
    cell.0 += u32::from((value.x - truth).abs() <= value.half95());
    cell.1 += 1;
}

fn measure(drawn: &DrawnBench, table: &mut Table) {
    let notebook = notebook(drawn);
    let outcomes = repeat::outcomes(&notebook);
    let scatter = repeat::repeatability(&notebook, &outcomes);
    let by_id: BTreeMap<&str, f64> =
        drawn.pages.iter().zip(&drawn.runs).map(|(p, r)| (p.id.as_str(), r.mean_wh)).collect();
    for row in repeat::rows(&notebook, &outcomes, scatter).iter().filter(|r| r.result.key == "usable-energy")
    {
        let truth = row.tests.iter().map(|t| by_id[t.as_str()]).sum::<f64>() / row.tests.len() as f64;
        let load = row.condition.get("load").cloned().unwrap_or_default();
        assert_eq!(row.condition, Condition::from([("load".to_string(), load.clone())]));
        hold(table, &format!("usable energy, {load}"), &row.value, truth);
    }
    let drains = drain::of_specimen(&notebook, &outcomes, &notebook.specimens[0], scatter);
    let law = drains.last().expect("five rows give a law");
    if let Some(idle) = law.idle() {
        hold(table, "idle draw", &idle.value, drawn.idle_outlet_w());
    }
    let rated = drawn.station.rated_w;
    for (what, watts) in [
        ("runtime, 60 W", 60.0),
        ("runtime, 35 % of rated", 0.35 * rated),
        ("runtime, 65 % of rated", 0.65 * rated),
    ] {
        if let Some(Ok((hours, _))) = law.answer(Load::steady(watts)) {
            hold(table, what, &hours, drawn.runtime_h(watts));
        }
    }
}

fn covered(title: &str, benches: u64, seed: u64, plan: &BenchPlan) {
    let mut table = Table::new();
    (0..benches).for_each(|n| measure(&bench_draw(seed, n, plan), &mut table));
    let all = table.values().fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    table.insert("all together".into(), all);
    println!("{title}: {benches} benches");
    let share = |c: &(u32, u32)| 100.0 * f64::from(c.0) / f64::from(c.1);
    for (what, cell) in &table {
        println!("  {what:26} {:6.2} %  of {}", share(cell), cell.1);
    }
    for (what, cell) in &table {
        assert!(f64::from(cell.1) > 0.9 * benches as f64, "{title}, {what}: only {} answers", cell.1);
        assert!((93.0..=97.0).contains(&share(cell)), "{title}, {what}: {:.2} %", share(cell));
    }
}

/// A coarse truncating counter and a meter known to ± 1.5 %: one rectangular part dominates.
#[test]
fn a_cheap_meter() {
    covered("cheap meter", 2000, 20_260_630, &BenchPlan::default());
}

/// A fine meter: the scatter of the runs dominates.
#[test]
fn a_fine_meter() {
    let plan = BenchPlan {
        gain_pct: 0.3,
        offset_w: 0.1,
        step_wh: 1.0,
        last_digit: LastDigit::Rounded,
        own_w: 0.5,
        ..BenchPlan::default()
    };
    covered("fine meter", 2000, 20_260_701, &plan);
}
