//! Pages of real things: the fridge, appliances, the scale, the sound meter.
use super::desk::{Desk, bench_meter, meter};
use super::energy::{EnergyRun, energy_page};
use crate::loads::Load;
use crate::truth::truth;

/// Heats 1.0 l from 16 to 100 °C: 4.186 kJ/(kg·K)·84 K = 97.7 Wh, and about 110 Wh from the outlet at 90 %.
const KETTLE_WH: f64 = 97.7 / 0.9;
/// A fridge day.
const DAY_H: f64 = 24.0;

/// The fridge: to AC cut-off, or a day where the station would outlast it by far.
pub fn fridge_page(desk: &mut Desk) {
    desk.working_hours();
    let phase_s = crate::chance::Chance::new(desk.seed, &desk.station.specimen).between(0.0, 2040.0);
    let words = "fridge, door closed, room 25 °C";
    let mut run = EnergyRun::new(Load::Fridge { phase_s }, "L6", words, bench_meter(&desk.station.id));
    if desk.station.runtime_h(37.7) > 2.0 * DAY_H {
        run.stop_h = DAY_H;
    }
    energy_page(desk, "cycling-load", &run);
}

/// One appliance that suits the station.
pub fn appliance_page(desk: &mut Desk) {
    let (id, words, hours, low_load_on): (&'static str, &str, f64, bool) = match desk.station.id.as_str() {
        "U01" => ("L9", "desktop computer, idle", 1.0, true),
        "U02" | "U04" => ("L8", "CPAP, humidifier off, one night", 8.0, false),
        "U03" => ("L13", "LED bank, 40 W", 2.0, true),
        "U05" => ("L7", "router and modem", 12.0, true),
        "U06" => ("L9", "desktop computer, idle", 2.0, true),
        "U12" => ("L14", "kettle 230 V, 1.0 l from 16 °C", 0.0, true),
        _ => ("L3", "kettle, 1.0 l from 16 °C", 0.0, true),
    };
    let Some(load) = Load::bench(id) else { return };
    desk.working_hours();
    let mut run = EnergyRun::new(load, id, words, bench_meter(&desk.station.id));
    run.low_load_on = low_load_on;
    run.stop_h = hours;
    if hours == 0.0 {
        let demand = run.load.demand(0.0);
        run.stop_h = KETTLE_WH / desk.station.outlet_w(demand.watts, demand.ohms);
    }
    energy_page(desk, "appliance", &run);
}

/// The scale.
pub fn mass_page(desk: &mut Desk) {
    let Some(t) = truth(&desk.station.id) else { return };
    let mut page = desk.page("mass");
    page.say("with", "alone");
    page.read("mass", format!("{} kg", meter("M9").number(t.mass_kg.1)), "M9", desk.now);
    desk.now += 120.0;
    desk.put(page);
}

/// Noise at half load, 1 m, with the background before and after.
pub fn noise_page(desk: &mut Desk, background_db: f64) {
    let Some(t) = truth(&desk.station.id) else { return };
    desk.working_hours();
    let mut page = desk.page("noise");
    page.say("state", "half load");
    page.remark("Half load, fan running, load outside the room, 1 m.");
    let sum = |a: f64, b: f64| 10.0 * (10f64.powf(a / 10.0) + 10f64.powf(b / 10.0)).log10();
    let m = meter("M7");
    let mut level = |page: &mut super::desk::Page, key: &str, db: f64| {
        let text = format!("{} dB(A)", m.number(db + 0.1 * page.chance.rect()));
        page.read(key, text, "M7", desk.now);
        desk.now += 60.0;
    };
    level(&mut page, "background_before", background_db);
    level(&mut page, "level", sum(t.noise_db.1, background_db));
    level(&mut page, "background_after", background_db);
    desk.put(page);
}
