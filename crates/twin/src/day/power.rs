//! Pages of sustained output, the overload staircase and the switchover.
use super::desk::Desk;
use super::energy::heater_bank;
use crate::behaviour::Sustained;
use crate::calendar::written;
use crate::discharge::{Cause, Discharge, Setup, cooled, discharge};
use crate::loads::Load;
use crate::meter::{LastDigit, Meter, in_steps};

/// What is asked of the station in a sustained run.
pub struct Ask {
    /// The load.
    pub load: Load,
    /// What the tester writes about it.
    pub words: String,
    /// Both legs of a split-phase station.
    pub both_legs: bool,
}

/// Rated power cold from full; when something other than the battery stops it, once more ten minutes later.
/// `say_warm` is what the second page says about its start; an honest tester writes "warm".
pub fn sustained_pages(desk: &mut Desk, meter: &Meter, ask: &Ask, say_warm: &str) {
    let first = sustained_page(desk, meter, ask, ("cold", 0.0, 1.0));
    // A second start says something about heat only while the battery is not the limit.
    if first.cause == Cause::LowBattery || first.left < 0.2 {
        desk.refill();
        return;
    }
    let pause_min = 8.0;
    desk.now += 60.0 * pause_min;
    let rise = cooled(&desk.station, first.rise_k, pause_min + 1.0);
    sustained_page(desk, meter, ask, (say_warm, rise, first.left));
    desk.refill();
}

/// Rated power from a heater bank set for it.
pub fn rated(desk: &Desk) -> Ask {
    let w = desk.station.rated_w;
    Ask { load: heater_bank(desk, w), words: format!("heater bank set to {w:.0} W"), both_legs: true }
}

fn sustained_page(desk: &mut Desk, meter: &Meter, ask: &Ask, start: (&str, f64, f64)) -> Discharge {
    let (state, rise_k, left) = start;
    let mut page = desk.page("sustained-output");
    if rise_k > 0.0 || left < 1.0 {
        page.condition("start", if left < 1.0 { "not refilled" } else { "full" });
    } else {
        page.condition("start", "full");
        page.condition("charge_ended", written(desk.charged_at).replace('T', " "));
    }
    page.condition("temperature_state", state);
    page.condition("load", ask.words.clone());
    page.condition("load_id", "L1");
    page.condition("meter_place", "station outlet, before the load");
    if matches!(desk.station.behaviour.sustained, Sustained::PerLeg { .. }) {
        page.condition("legs", if ask.both_legs { "both" } else { "one" });
    }
    let setup = Setup { rise_k, left, both_legs: ask.both_legs, ..page.setup(meter) };
    let d = discharge(&desk.station, &ask.load, &setup);
    let (t0, t1) = (desk.now, desk.now + 3600.0 * d.hours);
    let ends = [(t0, d.stretches.first()), (t1, d.stretches.last())];
    page.clock("start", t0);
    let from = if meter.id == "M2" { desk.total_wh } else { 0.0 };
    page.read("counter_start", meter.counter_text(from), &meter.id, t0);
    for (at, stretch) in ends {
        let w = stretch.map_or(0.0, |s| s.watts);
        page.read("load_power", meter.power_text(w, 1.0), &meter.id, at);
        page.read("outlet_voltage", format!("{:.1} V", desk.station.volts_at(w)), &meter.id, at);
    }
    if let Some(hours) = power_fell(&d) {
        page.read("power_fell_after", format!("{:.1} min", 60.0 * hours), "", t0 + 3600.0 * hours);
    }
    let counted = meter.counted(&d);
    page.read("counter_end", meter.counter_text(from + counted), &meter.id, t1);
    if meter.id == "M2" {
        desk.total_wh = from + counted;
    }
    page.read("held", format!("{} min", in_steps(60.0 * d.hours, 0.1, LastDigit::Rounded)), "", t1);
    page.read("shown_end", format!("{} %", desk.station.shown_percent(d.left)), "", t1);
    page.read("cause", d.cause.word(), "", t1);
    desk.now = t1 + 60.0;
    desk.put(page);
    d
}

/// Hours after which the power fell by more than a twentieth at one moment, if it did.
fn power_fell(d: &Discharge) -> Option<f64> {
    let at = d.stretches.windows(2).position(|s| s[1].watts < 0.95 * s[0].watts)?;
    Some(d.stretches[..=at].iter().map(|s| s.hours).sum())
}

/// Percents of the staircase.
const STAIRS: [f64; 6] = [105.0, 110.0, 115.0, 125.0, 150.0, 200.0];
/// The tester waits no longer than this at a stair, s.
const PATIENCE_S: f64 = 600.0;

/// The overload staircase: each stair from a cool restart, timed by hand above 10 s and from the video below.
pub fn staircase_page(desk: &mut Desk, meter: &Meter) {
    let mut page = desk.page("overload-staircase");
    page.condition("start", "full");
    page.condition("load", "heater banks, switched on together");
    page.condition("between_stairs", "15 min off");
    for percent in STAIRS {
        let w = percent / 100.0 * desk.station.rated_w;
        let load = Load::Steady { watts: w, power_factor: 1.0 };
        let setup = Setup { stop_h: PATIENCE_S / 3600.0, left: 0.9, ..page.setup(meter) };
        let d = discharge(&desk.station, &load, &setup);
        let held = 3600.0 * d.hours;
        let at = desk.now + held;
        page.read("load_percent", format!("{percent} %"), "", at);
        page.read("load_power", meter.power_text(w, 1.0), &meter.id, at);
        let text = if d.cause == Cause::ByHand {
            format!("no trip in {PATIENCE_S} s")
        } else if held >= 10.0 {
            format!("{:.0} s", held + page.chance.between(-0.3, 0.5))
        } else {
            format!("{:.2} s", (60.0 * held).round() / 60.0)
        };
        page.read("time_to_trip", text, "", at);
        desk.now = at + 900.0;
    }
    desk.put(page);
    desk.refill();
}

/// Switchover: 20 trials with the oscilloscope, the mains cut at any phase.
pub fn switchover_page(desk: &mut Desk, charging: bool) {
    if desk.station.switchover_ms.is_none() {
        return;
    }
    desk.working_hours();
    let mut page = desk.page("switchover");
    page.condition("load", "50 % of rated power");
    page.condition("charging", if charging { "yes" } else { "no, full" });
    page.condition("method", "first to last half cycle under 90 % of the voltage, differential probe");
    for n in 0..20 {
        let Some((ms, _)) = page.chance.switchover(&desk.station, charging) else { break };
        // Read with the cursors to 0.1 ms; the time base has no error worth noting.
        let text = format!("{} ms", in_steps(ms, 0.1, LastDigit::Rounded));
        page.read("gap", text, "M4", desk.now + 90.0 * f64::from(n));
    }
    desk.now += 1800.0;
    desk.put(page);
}

/// Switchover by survival: how often the desktop computer (L9) kept running.
pub fn survival_page(desk: &mut Desk, survived: u32, trials: u32) {
    desk.working_hours();
    let mut page = desk.page("switchover");
    page.condition("load", "desktop computer, 92 W");
    page.condition("charging", "no, full");
    page.condition("method", "does the computer keep running");
    desk.now += 1800.0;
    page.read("survived", format!("{survived} of {trials}"), "", desk.now);
    desk.put(page);
}
