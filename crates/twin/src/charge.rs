//! Mains charging: constant wall power, an exponential taper, a balancing tail.
//!
//! Stepped every 5 s, as the script that made the oracle numbers does.
use crate::station::Station;

/// How a charge starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeSetup {
    /// Charge of the cells at the start, 0–1 (0: empty cells; the AC reserve: after AC cut-off).
    pub from: f64,
    /// Wall power of a mode or circuit, W. `None`: the greatest the station takes.
    pub wall_w: Option<f64>,
    /// °C.
    pub ambient_c: f64,
    /// Factor on the cell energy of this run.
    pub cell: f64,
}

impl ChargeSetup {
    /// A plain charge at 25 °C in the fastest mode.
    pub fn from(from: f64) -> ChargeSetup {
        ChargeSetup { from, wall_w: None, ambient_c: 25.0, cell: 1.0 }
    }
}

/// What a charge truly did.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charge {
    /// Energy taken from the wall, Wh.
    pub wall_wh: f64,
    /// Minutes to 80 % of the cell energy.
    pub minutes_80_true: Option<f64>,
    /// Minutes until the display shows 80 %.
    pub minutes_80_shown: Option<f64>,
    /// Minutes until the charger stops by itself.
    pub minutes_full: f64,
    /// Greatest wall power, W.
    pub peak_w: f64,
}

const STEP_S: f64 = 5.0;
/// Coulombic surplus of a full charge.
const SURPLUS: f64 = 1.005;

/// Charges to the charger's own stop. `None`: it refuses at this temperature.
pub fn charge(station: &Station, setup: &ChargeSetup) -> Option<Charge> {
    if station.behaviour.charge_blocked_below_c.is_some_and(|limit| setup.ambient_c < limit) {
        return None;
    }
    let c = station.charge;
    let top = setup.wall_w.unwrap_or(c.wall_w).max(c.floor_w);
    let cells = station.cell_wh * setup.cell * SURPLUS;
    let (mut level, mut hours, mut wh) = (setup.from, 0.0, 0.0);
    let (mut at_80, mut shown_80) = (None, None);
    let step_h = STEP_S / 3600.0;
    while level < 1.0 {
        let w = if level < c.taper_from {
            top
        } else {
            (top * (-(level - c.taper_from) / c.taper).exp()).max(c.floor_w)
        };
        level += w * c.efficiency * step_h / cells;
        wh += w * step_h;
        hours += step_h;
        if at_80.is_none() && level >= 0.8 {
            at_80 = Some(hours * 60.0);
        }
        let left = ((level - station.reserve) / (1.0 - station.reserve)).max(0.0);
        if shown_80.is_none() && station.shown_percent(left) >= 80.0 {
            shown_80 = Some(hours * 60.0);
        }
    }
    wh += c.floor_w * c.tail_min / 60.0 * 0.6;
    Some(Charge {
        wall_wh: wh,
        minutes_80_true: at_80,
        minutes_80_shown: shown_80,
        minutes_full: hours * 60.0 + c.tail_min,
        peak_w: top,
    })
}
