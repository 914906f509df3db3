//! Pages of idle draw by remainder: full, outlet on with nothing plugged in, then a reference discharge.
use super::desk::{Desk, Page};
use super::energy::{EnergyRun, at_share, common, readings};
use crate::calendar::on_day;
use crate::discharge::{Cause, Discharge, Setup, discharge, rested};
use crate::loads::Load;
use crate::meter::Meter;

/// Idle hours worth their time: 12 h for 1 kWh, 48 h for 4 kWh, never under 10, a night (u(a) ≈ E·0.5 %·√2/T).
pub fn idle_hours(cell_wh: f64) -> f64 {
    ((12.0 * cell_wh / 1000.0 / 2.0).round() * 2.0).clamp(10.0, 48.0)
}

/// Waits for the moment from which the idle time ends when someone is up (about 08:30).
fn wait_for_start(desk: &mut Desk, hours: f64) {
    let mut end = on_day(desk.now, 0, 8, 30);
    while end - 3600.0 * hours < desk.now {
        end += 86_400.0;
    }
    desk.now = end - 3600.0 * hours;
}

/// An idle page with its reference discharge at half of rated power, then a refill.
pub fn idle_page(desk: &mut Desk, meter: Meter, low_load_on: bool) {
    let hours = idle_hours(desk.station.cell_wh);
    wait_for_start(desk, hours);
    let run = EnergyRun { low_load_on, ..at_share(desk, 0.5, meter) };
    idle_then(desk, &run, hours);
    desk.refill();
}

/// The page alone: `hours` idle from full, then the run.
pub(crate) fn idle_then(desk: &mut Desk, run: &EnergyRun, hours: f64) {
    let mut page = desk.page("idle-draw");
    common(&mut page, desk, run);
    if let Some(c) = run.ambient_c {
        page.ambient(c);
    }
    let left = 1.0 + run.start_off;
    let setup = Setup { low_load_on: run.low_load_on, stop_h: hours, left, ..page.setup(&run.meter) };
    let idle = discharge(&desk.station, &Load::Nothing, &setup);
    let left = write_idle(desk, &mut page, &idle, hours, run.meter.beside_w() > 0.0);
    let d = discharge(&desk.station, &run.load, &Setup { left, stop_h: f64::INFINITY, ..setup });
    readings(desk, &mut page, run, &d);
    desk.put(page);
}

/// Writes the idle part; gives what is left of the AC energy when the discharge starts.
fn write_idle(desk: &mut Desk, page: &mut Page, idle: &Discharge, hours: f64, hung: bool) -> f64 {
    let (start, end) = (desk.now, desk.now + 3600.0 * hours);
    page.clock("on", start);
    page.say("meter_meanwhile", if hung { "yes" } else { "no" });
    let off = idle.cause == Cause::LowLoad;
    page.read("still_on", if off { "no" } else { "yes" }, "", end);
    desk.now = end;
    rested(&desk.station, idle.left, (hours - idle.hours).max(0.0))
}
