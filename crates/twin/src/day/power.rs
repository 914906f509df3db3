//! Pages of sustained output, the overload staircase and the switchover.
use super::desk::Desk;
use super::energy::{capital, heater_bank, power_at};
use crate::behaviour::Sustained;
use crate::discharge::{Cause, Discharge, Setup, cooled, discharge};
use crate::loads::Load;
use crate::meter::{LastDigit, Meter, in_steps};
use crate::truth::truth;

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
    // A little above the figure, so that the meter's own doubt does not leave it open; where the steps of the bank
    // allow it.
    let above = if matches!(desk.station.id.as_str(), "U03" | "U07" | "U14") { 1.0 } else { 1.015 };
    let w = above * desk.station.rated_w;
    Ask { load: heater_bank(desk, w), words: format!("heater bank set to {w:.0} W"), both_legs: true }
}

fn sustained_page(desk: &mut Desk, meter: &Meter, ask: &Ask, start: (&str, f64, f64)) -> Discharge {
    let (state, rise_k, left) = start;
    let mut page = desk.page("sustained-output");
    page.say("start_state", if left < 1.0 { "not-full" } else { "full-rested" });
    page.say("temperature_state", state);
    page.say("load", "L1");
    page.remark(&format!("{}.", capital(&ask.words)));
    if matches!(desk.station.behaviour.sustained, Sustained::PerLeg { .. }) {
        page.say("spread", if ask.both_legs { "all" } else { "one" });
    }
    let setup = Setup { rise_k, left, both_legs: ask.both_legs, ..page.setup(meter) };
    let d = discharge(&desk.station, &ask.load, &setup);
    let (t0, t1) = (desk.now, desk.now + 3600.0 * d.hours);
    let fell = power_fell(&d);
    let warm_h = fell.unwrap_or(d.hours).min(1.0 / 12.0);
    let w = power_at(&d, 0.999 * warm_h).0;
    page.second("start", t0);
    page.read("power", meter.power_text(w, 1.0), &meter.id, t0 + 3600.0 * warm_h);
    page.remark(&format!("The outlet gave {:.1} V under this load.", desk.station.volts_at(w)));
    let shown = desk.station.shown_percent(d.left);
    match fell {
        Some(hours) => {
            page.second("end", t0 + 3600.0 * hours);
            page.read("cause", "derated", "", t0 + 3600.0 * hours);
            let (less, last) = (power_at(&d, d.hours).0, 60.0 * (d.hours - hours));
            page.remark(&format!(
                "It went on with {} and went off {last:.0} min later, {shown} % shown.",
                meter.power_text(less, 1.0)
            ));
        }
        None => {
            page.second("end", t1);
            page.read("cause", d.cause.word(), "", t1);
            page.remark(&format!("{shown} % shown at the end."));
        }
    }
    if meter.id == "M2" {
        desk.total_wh += meter.counted(&d);
    }
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
const STAIRS: [f64; 5] = [105.0, 115.0, 130.0, 150.0, 200.0];
/// The tester waits no longer than this at a stair, s.
const PATIENCE_S: f64 = 600.0;

/// The overload staircase: each stair from a cool restart, timed by hand above 10 s and from the video below.
pub fn staircase_page(desk: &mut Desk, meter: &Meter) {
    let mut page = desk.page("overload-staircase");
    page.remark(
        "Heater banks, switched on together; 15 min off between the steps; short times from the video.",
    );
    let (mut levels, mut times) = (Vec::new(), Vec::new());
    for percent in STAIRS {
        let w = percent / 100.0 * desk.station.rated_w;
        let load = Load::Steady { watts: w, power_factor: 1.0 };
        let setup = Setup { stop_h: PATIENCE_S / 3600.0, left: 0.9, ..page.setup(meter) };
        let d = discharge(&desk.station, &load, &setup);
        let held = 3600.0 * d.hours;
        let at = desk.now + held;
        levels.push(meter.power_text(w, 1.0).trim_end_matches(" W").to_string());
        times.push(if d.cause == Cause::ByHand {
            format!("{PATIENCE_S}")
        } else if held >= 10.0 {
            format!("{:.0}", held + page.chance.between(-0.3, 0.3))
        } else {
            format!("{:.2}", (60.0 * held).round() / 60.0)
        });
        desk.now = at + 900.0;
    }
    page.read("levels", format!("{} W", levels.join(" ")), &meter.id, desk.now);
    page.read("times", format!("{} s", times.join(" ")), "", desk.now);
    desk.put(page);
    desk.refill();
}

/// Steps of the starting power, as shares of the claim.
const STARTS: [f64; 7] = [0.6, 0.7, 0.8, 0.9, 0.95, 1.0, 1.04];

/// Starting power: a second heater switched on top for half a second, larger each time. The elements are known from
/// their steady power on the meter; that the voltage held is seen on the oscilloscope.
pub fn starting_page(desk: &mut Desk, meter: &Meter) {
    let Some(t) = truth(&desk.station.id) else { return };
    desk.working_hours();
    let mut page = desk.page("starting-power");
    page.say("how", "resistive");
    page.say("seen_by", "capture");
    page.remark("Steps in all watts, from the steady power of the elements; half a minute between them.");
    let (claimed, holds) = t.surge_w;
    let shown = |w: f64| meter.power_text(w, 1.0).trim_end_matches(" W").to_string();
    let of = |held: bool| {
        let steps = STARTS.iter().map(|s| s * claimed).filter(|w| (*w <= holds) == held);
        steps.map(shown).collect::<Vec<_>>().join(" ")
    };
    desk.now += 1200.0;
    for (key, steps) in [("held", of(true)), ("not_held", of(false))] {
        if !steps.is_empty() {
            page.read(key, format!("{steps} W"), &meter.id, desk.now);
        }
    }
    desk.put(page);
}

/// Switchover: 20 trials with the oscilloscope, the mains cut at any phase.
pub fn switchover_page(desk: &mut Desk, charging: bool) {
    if desk.station.switchover_ms.is_none() {
        return;
    }
    desk.working_hours();
    let mut page = desk.page("switchover");
    page.say("load", "half");
    page.say("charging", if charging { "yes" } else { "no" });
    page.remark(
        "First to last half cycle under 90 % of the voltage, differential probe, read with the cursors.",
    );
    let mut times = Vec::new();
    for _ in 0..20 {
        let Some((ms, _)) = page.chance.switchover(&desk.station, charging) else { break };
        times.push(in_steps(ms, 0.1, LastDigit::Rounded));
    }
    desk.now += 1800.0;
    page.read("times", format!("{} ms", times.join(" ")), "M4", desk.now);
    desk.put(page);
}

/// Switchover by survival: how often the desktop computer (L9) kept running.
pub fn survival_page(desk: &mut Desk, survived: u32, trials: u32) {
    desk.working_hours();
    let mut page = desk.page("switchover");
    page.say("load", "small");
    page.say("charging", "no");
    page.remark("Desktop computer, 92 W.");
    page.say("trials", format!("{trials}"));
    desk.now += 1800.0;
    page.read("failed", format!("{}", trials - survived), "", desk.now);
    desk.put(page);
}
