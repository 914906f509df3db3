//! The order of the bench's tests: which station when, and what is done with it.
use super::WrittenTest;
use super::desk::{Desk, Watch, bench_meter, meter};
use super::energy::{EnergyRun, at_share, energy_page};
use super::idle::idle_page;
use super::power::{
    Ask, rated, staircase_page, starting_page, survival_page, sustained_pages, switchover_page,
};
use super::things::{appliance_page, fridge_page, mass_page, noise_page};
use crate::behaviour::Sustained;
use crate::calendar::{hour, instant, on_day};
use crate::loads::Load;
use crate::planted;
use crate::station::Station;
use crate::truth::truths;

/// The seed of the demo bench. Chosen: about one seed in fifteen, this one among them, shows no late trial on the
/// stations that are late only now and then (U05 3 % of its trials, U10 7 %); with most others those two are caught.
pub const DEMO_SEED: u64 = 7;

/// The day each station comes to the bench; one at a time, in this order of dates.
pub const START_DAYS: [(&str, &str); 14] = [
    ("U14", "2025-11-08"),
    ("U05", "2025-12-01"),
    ("U07", "2025-12-15"),
    ("U09", "2026-01-16"),
    ("U04", "2026-02-12"),
    ("U06", "2026-03-06"),
    ("U01", "2026-03-20"),
    ("U13", "2026-03-31"),
    ("U12", "2026-04-23"),
    ("U08", "2026-05-04"),
    ("U02", "2026-05-19"),
    ("U10", "2026-05-28"),
    ("U03", "2026-06-08"),
    ("U11", "2026-06-18"),
];

/// Everything written on the bench, in order of time, recording errors included.
pub fn whole_bench(seed: u64) -> Vec<WrittenTest> {
    let mut all: Vec<_> = truths().iter().flat_map(|t| of_unit(&t.id, seed)).collect();
    all.sort_by(|a, b| (&a.at, &a.id).cmp(&(&b.at, &b.id)));
    all
}

/// Everything written about one model, in order of time, recording errors included. Unknown ids give nothing.
pub fn of_unit(id: &str, seed: u64) -> Vec<WrittenTest> {
    let Some((_, day)) = START_DAYS.iter().find(|(u, _)| *u == id) else { return Vec::new() };
    let mut start = instant(day, 8, 30);
    let mut pages = Vec::new();
    for (n, station) in Station::specimens(id).into_iter().enumerate() {
        let mut desk = Desk::new(seed, station, start);
        desk.pages = pages;
        desk.working_hours();
        match (id, n) {
            ("U07", 0) => lent_sample(&mut desk),
            ("U06" | "U08", 1) => after_update(&mut desk),
            _ => full_set(&mut desk),
        }
        desk.refill();
        // The next specimen or firmware starts the day after.
        start = desk.now + 12.0 * 3600.0;
        pages = desk.pages;
    }
    for page in &mut pages {
        planted::misread(page);
    }
    pages
}

/// The whole set of a station that stays long enough.
fn full_set(desk: &mut Desk) {
    let id = desk.station.id.clone();
    mass_page(desk);
    noise_page(desk, if id == "U11" { 31.0 } else { 27.5 });
    watch_charges(desk);
    usable_energy(desk);
    idle(desk);
    if matches!(desk.station.behaviour.sustained, Sustained::ToEmpty | Sustained::PerLeg { .. })
        && id != "U08"
    {
        full_power(desk);
    }
    output(desk);
    if !matches!(id.as_str(), "U01" | "U02" | "U03" | "U05" | "U12" | "U13") {
        fridge_page(desk);
    }
    appliance_page(desk);
    extras(desk);
}

/// Recharges to watch after the next discharges: from AC cut-off for the times, in the modes there are, and from
/// empty cells for the bracket.
fn watch_charges(desk: &mut Desk) {
    let of = |from_empty, wall_w, mode| Watch { from_empty, wall_w, mode };
    match desk.station.id.as_str() {
        "U05" => desk.watch.extend([of(false, Some(350.0), "as delivered"), of(false, None, "fast")]),
        "U13" => {
            desk.watch.extend([of(false, None, "as delivered"), of(false, Some(1920.0), "as delivered")])
        }
        _ => desk.watch.extend([of(false, None, "as delivered")]),
    }
    let mode = if desk.station.id == "U05" { "fast" } else { "as delivered" };
    desk.watch.push_back(of(true, None, mode));
}

/// 50 % twice, 80 %, 25 %; with the slips of the stations that have one here.
fn usable_energy(desk: &mut Desk) {
    let id = desk.station.id.clone();
    let own = bench_meter(&id);
    let first = if id == "U01" { meter("M1") } else { own.clone() };
    let run = at_share(desk, 0.50, first);
    energy_page(desk, "usable-energy", &run);
    if id == "U04" {
        // Slip 1: starts 8 min after the charger stopped.
        desk.hurry_s = Some(480.0);
    }
    let run = at_share(desk, 0.50, own.clone());
    let second = energy_page(desk, "usable-energy", &run);
    let mut run = at_share(desk, 0.80, own.clone());
    if id == "U05" {
        // Slip 16: the counter still stands where the run before left it.
        run.counter_from_wh = Some(run.meter.counted(&second));
    }
    energy_page(desk, "usable-energy", &run);
    let mut run = at_share(desk, 0.25, own.clone());
    match id.as_str() {
        // Slip 2: a finger on the switch.
        "U09" => run.stop_h = 0.7 * desk.station.runtime_h(0.25 * desk.station.rated_w),
        // Slip 15 needs a start a little after noon.
        "U02" => desk.now = on_day(desk.now, i32::from(hour(desk.now) > 12.0), 12, 20),
        _ => {}
    }
    energy_page(desk, "usable-energy", &run);
    let watts = match id.as_str() {
        "U03" => 30.0,
        "U05" => 20.0,
        _ => return,
    };
    // These two cannot be kept on without a load: a small one above the switch-off threshold instead.
    let load = Load::Steady { watts, power_factor: 1.0 };
    let run = EnergyRun::new(load, "L13", &format!("LED bank, {watts} W"), own);
    energy_page(desk, "usable-energy", &run);
}

/// The idle draw; U03 switches off after half an hour whatever one does.
fn idle(desk: &mut Desk) {
    let id = desk.station.id.clone();
    match id.as_str() {
        "U03" => return,
        // Slip 3: the night the clocks go forward.
        "U06" => desk.now = desk.now.max(instant("2026-03-07", 12, 0)),
        _ => {}
    }
    // Slip 7: U05's switch-off cannot be disabled.
    idle_page(desk, bench_meter(&id), id == "U05");
}

/// Usable energy at rated power.
fn full_power(desk: &mut Desk) {
    let mut run = at_share(desk, 1.0, bench_meter(&desk.station.id));
    if desk.station.id == "U06" {
        // Slip 19 needs 0.89 on the counter: a run 0.8 % poorer than the mean.
        run.cell = Some(0.992);
    }
    energy_page(desk, "usable-energy", &run);
}

/// Sustained output, staircase, switchover.
fn output(desk: &mut Desk) {
    let id = desk.station.id.clone();
    let m = bench_meter(&id);
    let ask = match id.as_str() {
        "U08" => Ask {
            load: Load::Heater { ohms: 9.6, hot: 0.0, fan_w: 0.0 },
            words: "heater, 1,500 W at 120 V".into(),
            both_legs: true,
        },
        _ => rated(desk),
    };
    // Slip 9: the second start of U07 is written down as cold.
    sustained_pages(desk, &m, &ask, if id == "U07" { "cold" } else { "warm" });
    if id == "U13" {
        let watts = 1.2 * 1750.0;
        let load = Load::Steady { watts, power_factor: 1.0 };
        let ask = Ask { load, words: format!("heater bank set to {watts:.0} W"), both_legs: false };
        sustained_pages(desk, &m, &ask, "warm");
    }
    if id == "U07" {
        let w = 0.8 * desk.station.rated_w;
        let load = super::energy::heater_bank(desk, w);
        sustained_pages(
            desk,
            &m,
            &Ask { load, words: format!("heater bank set to {w:.0} W"), both_legs: true },
            "warm",
        );
    }
    staircase_page(desk, &m);
    starting_page(desk, &m);
    if id == "U08" {
        // The invented data says 18 restarts in 20.
        survival_page(desk, 2, 20);
    }
    switchover_page(desk, false);
    if id == "U13" {
        switchover_page(desk, true);
    }
}

/// Runs that only one station has.
fn extras(desk: &mut Desk) {
    let own = bench_meter(&desk.station.id);
    match desk.station.id.as_str() {
        // Slip 20: a cold garage.
        "U09" => {
            let run = EnergyRun { ambient_c: Some(14.0), ..at_share(desk, 0.5, own) };
            energy_page(desk, "usable-energy", &run);
        }
        // Slip 17: a heater with a thermostat.
        "U11" => {
            let Some(load) = Load::bench("L4") else { return };
            let run = EnergyRun::new(load, "L4", "oil heater, 1,000 W", own);
            energy_page(desk, "usable-energy", &run);
        }
        _ => {}
    }
}

/// The lent sample A of U07: what the loan allowed.
fn lent_sample(desk: &mut Desk) {
    mass_page(desk);
    for share in [0.5, 0.5, 0.25] {
        let run = at_share(desk, share, bench_meter("U07"));
        energy_page(desk, "usable-energy", &run);
    }
    let ask = rated(desk);
    sustained_pages(desk, &bench_meter("U07"), &ask, "warm");
}

/// After a firmware update: the short set. U08 is discharged once before its idle draw is measured again (slip 6).
fn after_update(desk: &mut Desk) {
    let id = desk.station.id.clone();
    let run = at_share(desk, 0.5, bench_meter(&id));
    energy_page(desk, "usable-energy", &run);
    switchover_page(desk, false);
    if id == "U08" {
        idle_page(desk, bench_meter(&id), false);
    }
}

#[cfg(test)]
#[path = "schedule_test.rs"]
mod tests;
