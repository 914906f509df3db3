//! Prints the document of one log: `log_json FILE [--zone ZONE] [--gap SECONDS] [--map JSON]`; with `--workload` instead one
//! line with the figures of the speed comparison (`bench/`), as that comparison defines them.
#![expect(
    clippy::disallowed_methods,
    reason = "an example is a program: it takes its words from the command line"
)]
use std::fs::File;
use std::process::ExitCode;
use trueplate_meters::logs::{Hints, Log, Options, Role, json, load};

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let (mut path, mut hints, mut options, mut patch) =
        (String::new(), Hints::default(), Options::default(), None);
    let mut print: fn(&Log) -> serde_json::Value = json;
    while let Some(word) = words.next() {
        match word.as_str() {
            "--workload" => print = workload,
            "--zone" => hints.zone = words.next(),
            "--gap" => options.gap_s = words.next().and_then(|s| s.parse().ok()),
            "--map" => patch = words.next().and_then(|s| serde_json::from_str(&s).ok()),
            _ => path = word,
        }
    }
    hints.file_name = std::path::Path::new(&path).file_name().map(|n| n.to_string_lossy().into_owned());
    match load(|| File::open(&path), &hints, &options, patch.as_ref()) {
        Ok(loaded) => {
            println!("{}", print(&loaded.log));
            ExitCode::SUCCESS
        }
        Err(e) => {
            eprintln!("{path}: {e}");
            ExitCode::from(2)
        }
    }
}

fn workload(log: &Log) -> serde_json::Value {
    let of = |role: Role| {
        let range = log.columns.iter().find(|c| c.role == role).and_then(|c| c.range);
        range.map(|r| serde_json::json!({ "min": r.0, "mean": r.1, "max": r.2 }))
    };
    serde_json::json!({
        "rows": log.rows,
        "wh": log.energy_wh,
        "gaps": log.gap_count,
        "gap_s": log.span_s.zip(log.covered_s).map(|(span, covered)| span - covered),
        // The comparison writes milliseconds even where there are none.
        "cutoff": log.cutoff.as_ref().and_then(|c| c.at.clone()).map(|at| if at.contains('.') { at } else { at + ".000" }),
        "wh_to_cutoff": log.cutoff.as_ref().map(|c| c.energy_wh),
        "meter_wh": log.energy_counter_wh,
        "volts": of(Role::Voltage),
        "amps": of(Role::Current),
        "watts": of(Role::Power),
    })
}
