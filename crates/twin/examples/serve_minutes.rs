//! Runs many stations minute by minute from two tables and prints the sums: to time the simulation and to compare it
//! with another program's. `cargo run --release -p trueplate-twin --example serve_minutes FOLDER`, where FOLDER holds
//! `sim_profile.csv` (minute, load W, sun) and `sim_units.csv` (name, then the figures of a station in order).
use std::path::Path;
use std::time::Instant;
use trueplate_core::answer::{Served, Station, serve_all};

fn rows(path: &Path, skip: usize) -> Vec<Vec<f64>> {
    let text = std::fs::read_to_string(path).expect("the table can be read");
    let row = |line: &str| line.split(',').skip(skip).map(|c| c.parse().expect("a number")).collect();
    text.lines().skip(1).map(row).collect()
}

fn main() {
    let folder = std::env::args().nth(1).expect("a folder");
    let begin = Instant::now();
    let profile = rows(&Path::new(&folder).join("sim_profile.csv"), 1);
    let load: Vec<f64> = profile.iter().map(|r| r[0]).collect();
    let sun: Vec<f64> = profile.iter().map(|r| r[1]).collect();
    let stations: Vec<Station> = rows(&Path::new(&folder).join("sim_units.csv"), 1)
        .iter()
        .map(|r| Station {
            capacity_wh: r[0],
            rated_w: r[1],
            idle_w: r[2],
            loss_b: r[3],
            loss_c: r[4],
            solar_in_w: r[5],
            solar_kept: r[6],
            charge_max_w: r[7],
            panel_w: r[8],
        })
        .collect();
    let read = begin.elapsed().as_secs_f64();
    let got: Vec<Served> = serve_all(&stations, &load, &sun);
    let all = begin.elapsed().as_secs_f64();
    let sum = |f: fn(&Served) -> f64| got.iter().map(f).sum::<f64>();
    let first = |s: &Served| s.first_off.map_or(-1.0, f64::from);
    let seven = got.get(7).copied().unwrap_or_default();
    println!(
        "{{\"units\": {}, \"served_wh\": {}, \"unserved_wh\": {}, \"curtailed_wh\": {}, \"minutes_off\": {}, \
         \"first_off_mean\": {}, \"u7\": [{}, {}, {}, {}, {}], \"_t\": {{\"read\": {read:.4}, \"end\": {all:.4}}}}}",
        got.len(),
        sum(|s| s.served_wh),
        sum(|s| s.unserved_wh),
        sum(|s| s.curtailed_wh),
        sum(|s| f64::from(s.minutes_off)),
        got.iter().map(first).sum::<f64>() / got.len().max(1) as f64,
        seven.served_wh,
        seven.unserved_wh,
        seven.curtailed_wh,
        seven.minutes_off,
        first(&seven),
    );
}
