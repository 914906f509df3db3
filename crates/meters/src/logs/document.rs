//! The JSON document of a log: the keys the command line promises.
use super::log::Log;
use serde_json::{Value, json};

/// An energy with its unit; its uncertainty is unknown while no instrument is.
fn energy(wh: Option<f64>) -> Value {
    wh.map_or(Value::Null, |wh| json!({ "value": wh, "u": null, "unit": "W.h" }))
}

/// The document of `trueplate log --json`. Absent is null, never 0.
pub fn json(log: &Log) -> Value {
    let columns: Vec<Value> = log
        .columns
        .iter()
        .map(|c| {
            let range = c.range.map_or(Value::Null, |r| json!({ "min": r.0, "mean": r.1, "max": r.2 }));
            json!({ "name": c.name, "role": c.role, "unit": c.unit, "range": range })
        })
        .collect();
    json!({
        "rows": log.rows,
        "first": log.first,
        "last": log.last,
        "span_s": log.span_s,
        "covered_s": log.covered_s,
        "energy": energy(log.energy_wh),
        "energy_bridged": energy(log.energy_bridged_wh),
        "energy_counter": energy(log.energy_counter_wh),
        "power": log.power,
        "gaps": log.gaps,
        "gap_count": log.gap_count,
        "gap_s": log.gap_s,
        "cutoff": log.cutoff,
        "cycles": log.cycles,
        "energy_in": energy(log.energy_in_wh),
        "energy_out": energy(log.energy_out_wh),
        "taper_at_s": log.taper_at_s,
        "time_to_80_percent_energy_s": log.time_to_80_percent_energy_s,
        "columns": columns,
        "findings": log.findings,
    })
}
