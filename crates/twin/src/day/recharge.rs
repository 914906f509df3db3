//! Pages of recharging from the wall.
use super::desk::{Desk, Watch, meter};
use crate::charge::{ChargeSetup, charge};
use crate::discharge::{Cause, Discharge, Stretch};

/// What drains the cells through the DC ports after AC cut-off, W.
const DRAIN_W: f64 = 100.0;
/// What an ordinary circuit of the bench carries for hours, W: 15 A at 120 V, and the mains voltage under load.
const CIRCUIT_W: f64 = 1800.0;

/// One watched charge after a discharge to AC cut-off; the station is full and rested afterwards.
pub fn recharge_page(desk: &mut Desk, watch: Watch) {
    let Watch { from_empty, wall_w, mode } = watch;
    if from_empty {
        desk.now += 3600.0 * desk.station.cell_wh * desk.station.reserve / DRAIN_W;
    }
    let mut page = desk.page("recharge");
    page.say("mode", mode);
    page.say("circuit", if wall_w.is_some_and(|w| w > CIRCUIT_W) { "larger" } else { "ordinary" });
    page.say("from", if from_empty { "fully empty" } else { "AC cut-off" });
    let instrument = meter(if desk.station.id == "U12" { "M12" } else { "M1" });
    let from = if from_empty { 0.0 } else { desk.station.reserve };
    let setup = ChargeSetup { from, wall_w, ambient_c: page.ambient, cell: page.chance.run().cell };
    let start = desk.now;
    let Some(c) = charge(&desk.station, &setup) else {
        page.remark("It refused to charge.");
        desk.put(page);
        return;
    };
    let end = start + 60.0 * c.minutes_full;
    page.clock("start", start);
    page.read("counter_start", instrument.counter_text(0.0), &instrument.id, start);
    page.remark(&format!("The wall gave up to {}.", instrument.power_text(c.peak_w, 1.0)));
    if let Some(m) = c.minutes_80_shown {
        page.clock("at_80", start + 60.0 * m);
    }
    page.clock("at_full", end);
    // The counter sees the mean power for the whole time; its gain and offset act as on any power.
    let hours = c.minutes_full / 60.0;
    let mean = Stretch { hours, watts: c.wall_wh / hours, power_factor: 1.0 };
    let seen = Discharge {
        hours,
        wh: c.wall_wh,
        cause: Cause::ByHand,
        left: 1.0,
        rise_k: 0.0,
        stretches: vec![mean],
    };
    page.read("counter_end", instrument.counter_text(instrument.counted(&seen)), &instrument.id, end);
    desk.now = end;
    desk.charged_at = end;
    desk.put(page);
    desk.now += 45.0 * 60.0;
    desk.working_hours();
}
