//! Pages of usable energy, cycling loads and appliances: a load until something ends it.
use super::desk::{Desk, Page};
use crate::discharge::{Discharge, Setup, discharge};
use crate::loads::Load;
use crate::meter::{Meter, hours_minutes};

/// How a load is run and read.
pub struct EnergyRun {
    /// The load.
    pub load: Load,
    /// What the tester writes about it.
    pub words: String,
    /// Bench id of the load.
    pub load_id: &'static str,
    /// Instrument that truly measures.
    pub meter: Meter,
    /// Counter before the start, Wh; `None`: reset to zero (or the running total of a meter without reset).
    pub counter_from_wh: Option<f64>,
    /// Stopped by the tester after so many hours.
    pub stop_h: f64,
    /// Ambient, when it is not the room's.
    pub ambient_c: Option<f64>,
    /// Factor on the cell energy of this run; `None`: by chance.
    pub cell: Option<f64>,
    /// Low-load switch-off left on.
    pub low_load_on: bool,
    /// How far from full it truly was at the start, as a share of the AC energy.
    pub start_off: f64,
}

impl EnergyRun {
    /// A load run to its own end with this instrument.
    pub fn new(load: Load, load_id: &'static str, words: &str, meter: Meter) -> EnergyRun {
        EnergyRun {
            load,
            words: words.into(),
            load_id,
            meter,
            counter_from_wh: None,
            stop_h: f64::INFINITY,
            ambient_c: None,
            cell: None,
            low_load_on: false,
            start_off: 0.0,
        }
    }
}

/// A bank of heaters set so that it takes `w` when hot.
pub fn heater_bank(desk: &Desk, w: f64) -> Load {
    let fan_w = 18.0_f64.min(w * 0.05);
    let (hot, ohms) = (0.03, desk.station.ohms_for(w, fan_w));
    Load::Heater { ohms: ohms / (1.0 + hot), hot, fan_w }
}

/// A run with a heater bank at `share` of rated power, not yet written.
pub fn at_share(desk: &Desk, share: f64, meter: Meter) -> EnergyRun {
    let w = share * desk.station.rated_w;
    EnergyRun::new(heater_bank(desk, w), "L1", &format!("heater bank set to {w:.0} W"), meter)
}

/// The first letter large, as a sentence begins.
pub(super) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// What every discharge page says of its start and load.
pub(crate) fn common(page: &mut Page, desk: &Desk, run: &EnergyRun) {
    page.say("start_state", "full-rested");
    page.say("load", run.load_id);
    page.remark(&format!("{}.", capital(&run.words)));
    if let Some(e) = desk.station.behaviour.low_load {
        let off = !run.low_load_on && e.can_disable;
        page.remark(if off { "Low-load switch-off disabled." } else { "Low-load switch-off on." });
    }
    if desk.station.id == "U13" || desk.station.id == "U14" {
        page.remark("Spread over both legs.");
    }
}

/// The truth of a discharge from full under the conditions of the page.
pub(crate) fn simulate(desk: &Desk, page: &mut Page, run: &EnergyRun) -> (Discharge, Setup) {
    if let Some(c) = run.ambient_c {
        page.ambient(c);
    }
    let left = 1.0 + run.start_off;
    let mut setup =
        Setup { stop_h: run.stop_h, low_load_on: run.low_load_on, left, ..page.setup(&run.meter) };
    if let Some(cell) = run.cell {
        setup.run.cell = cell;
    }
    (discharge(&desk.station, &run.load, &setup), setup)
}

/// Writes the readings of a discharge that starts now; the clock moves to its end.
pub(crate) fn readings(desk: &mut Desk, page: &mut Page, run: &EnergyRun, d: &Discharge) {
    let (m, start) = (&run.meter, desk.now);
    let from = run.counter_from_wh.unwrap_or(if m.id == "M2" { desk.total_wh } else { 0.0 });
    let counted = m.counted(d);
    if m.id == "M2" {
        desk.total_wh = from + counted;
    }
    let end = start + 3600.0 * d.hours;
    page.clock("start", start);
    if page.test.kind != "appliance" {
        page.read("counter_start", m.counter_text(from), &m.id, start);
    }
    powers(desk, page, run, d);
    page.clock("end", end);
    match page.test.kind.as_str() {
        "appliance" => {
            page.read("tries", "1", "", end);
            page.read("ran", "1", "", end);
            page.remark(&format!(
                "The counter rose from {} to {}.",
                m.counter_text(from),
                m.counter_text(from + counted)
            ));
        }
        _ => page.read("counter_end", m.counter_text(from + counted), &m.id, end),
    }
    page.read("elapsed", hours_minutes(d.hours), &m.id, end);
    let shown = format!("{} %", desk.station.shown_percent(d.left));
    match page.test.kind.as_str() {
        "usable-energy" => page.read("shown_at_end", shown, "", end),
        _ => page.remark(&format!("The display showed {shown} at the end.")),
    }
    page.read("cause", d.cause.word(), "", end);
    desk.now = end;
}

/// The power reading: ten minutes after the start (earlier in a short run), for a load that switches while it is on.
fn powers(desk: &Desk, page: &mut Page, run: &EnergyRun, d: &Discharge) {
    let (m, start) = (&run.meter, desk.now);
    if matches!(run.load, Load::Fridge { .. } | Load::Cycle { .. }) {
        let key = if page.test.kind == "cycling-load" { "on_power" } else { "power" };
        let Some(s) = d.stretches.iter().find(|s| s.watts > 20.0) else { return };
        return page.read(key, m.power_text(s.watts, s.power_factor), &m.id, start + 1800.0);
    }
    let hours = (1.0f64 / 6.0).min(0.5 * d.hours);
    let (watts, pf) = power_at(d, hours);
    page.read("power", m.power_text(watts, pf), &m.id, start + 3600.0 * hours);
    if matches!(run.load, Load::Heater { .. }) {
        page.remark(&format!("The outlet gave {:.1} V under this load.", desk.station.volts_at(watts)));
    }
}

/// Power and power factor so many hours after the start.
pub(super) fn power_at(d: &Discharge, hours: f64) -> (f64, f64) {
    let mut t = 0.0;
    for s in &d.stretches {
        t += s.hours;
        if t >= hours {
            return (s.watts, s.power_factor);
        }
    }
    d.stretches.last().map_or((0.0, 1.0), |s| (s.watts, s.power_factor))
}

/// A page alone: the load from full to whatever ends it.
pub(crate) fn energy_only(desk: &mut Desk, kind: &str, run: &EnergyRun) -> Discharge {
    let mut page = desk.page(kind);
    common(&mut page, desk, run);
    let (d, _) = simulate(desk, &mut page, run);
    readings(desk, &mut page, run, &d);
    desk.put(page);
    d
}

/// A page, then a refill.
pub fn energy_page(desk: &mut Desk, kind: &str, run: &EnergyRun) -> Discharge {
    let d = energy_only(desk, kind, run);
    desk.refill();
    d
}
