//! Stations minute by minute, with outlets that go off and come back: what is served, what is not, for how long.

/// A station as the simulation sees it. Energy is counted in Wh at the outlet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// The usable store, Wh.
    pub capacity_wh: f64,
    /// A load above this is not served, W.
    pub rated_w: f64,
    /// Drain with the outlets on and nothing plugged in, W; half of it with the outlets off.
    pub idle_w: f64,
    /// Drain per W of load, beyond the load itself.
    pub loss_b: f64,
    /// Drain per W² of load, 1/W.
    pub loss_c: f64,
    /// Most it takes from panels, W.
    pub solar_in_w: f64,
    /// Share of that which reaches the store.
    pub solar_kept: f64,
    /// Most the store takes net of what is drained, W.
    pub charge_max_w: f64,
    /// Power of the panels at full sun, W.
    pub panel_w: f64,
}

/// What came of it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Served {
    /// Energy given to the load, Wh.
    pub served_wh: f64,
    /// Energy asked for and not given, Wh.
    pub unserved_wh: f64,
    /// Sun that found no room, Wh.
    pub curtailed_wh: f64,
    /// Minutes with the outlets off.
    pub minutes_off: u32,
    /// The minute in which they first went off.
    pub first_off: Option<u32>,
}

/// Outlets come back when the store is charged to this share again (common practice).
const BACK_AT: f64 = 0.10;

/// Runs a station over minutes of load (W) and sun (1 is full), from full with the outlets on. Stops at the end of
/// the shorter of the two. When the store is empty the outlets go off, and come back at a tenth of its capacity.
pub fn serve(station: &Station, load_w: &[f64], sun: &[f64]) -> Served {
    let s = station;
    let hour = 1.0 / 60.0;
    let back_at = BACK_AT * s.capacity_wh;
    let mut out = Served::default();
    let (mut stored, mut on) = (s.capacity_wh, true);
    let (mut served, mut unserved, mut curtailed) = (0.0, 0.0, 0.0);
    for (minute, (&asked, &sun)) in load_w.iter().zip(sun).enumerate() {
        let load = if on && asked <= s.rated_w { asked } else { 0.0 };
        let drain =
            if on { load + s.idle_w + s.loss_b * load + s.loss_c * load * load } else { 0.5 * s.idle_w };
        let net = (s.panel_w * sun).min(s.solar_in_w) * s.solar_kept - drain;
        let over = (net - s.charge_max_w).max(0.0);
        let then = stored + (net - over) * hour;
        curtailed += over * hour + (then - s.capacity_wh).max(0.0);
        stored = then.clamp(0.0, s.capacity_wh);
        served += load * hour;
        unserved += (asked - load) * hour;
        out.minutes_off += u32::from(!on);
        if on && stored <= 0.0 {
            out.first_off.get_or_insert(minute as u32);
            on = false;
        } else if !on {
            on = stored >= back_at;
        }
    }
    Served { served_wh: served, unserved_wh: unserved, curtailed_wh: curtailed, ..out }
}

#[cfg(test)]
mod tests {
    use super::*;
    fn plain() -> Station {
        Station {
            capacity_wh: 100.0,
            rated_w: 1000.0,
            idle_w: 0.0,
            loss_b: 0.0,
            loss_c: 0.0,
            solar_in_w: 500.0,
            solar_kept: 1.0,
            charge_max_w: 1000.0,
            panel_w: 0.0,
        }
    }
    #[test]
    fn empty_after_an_hour_and_dark_from_then() {
        // 100 Wh at 100 W last 60 minutes: it goes off in minute 59 and stays off for the second hour.
        let got = serve(&plain(), &[100.0; 120], &[0.0; 120]);
        assert!((got.served_wh - 100.0).abs() < 1e-9 && (got.unserved_wh - 100.0).abs() < 1e-9);
        assert_eq!((got.first_off, got.minutes_off), (Some(59), 60));
    }
    #[test]
    fn comes_back_with_the_sun() {
        // 100 Wh at 110 W: off in minute 54. From minute 60 on 61 W of sun, 1.0167 Wh a minute: 10.17 Wh after ten, so
        // it is dark from 55 to 69. Then 49 W are missing: 10.17/0.8167 = 12.4, off in minute 82, dark from 83 to 89.
        let station = Station { panel_w: 61.0, ..plain() };
        let sun: Vec<f64> = (0..90).map(|m| if m < 60 { 0.0 } else { 1.0 }).collect();
        let got = serve(&station, &[110.0; 90], &sun);
        assert_eq!((got.first_off, got.minutes_off), (Some(54), 15 + 7));
    }
    #[test]
    fn too_much_at_once_is_not_served_and_full_wastes_the_sun() {
        let got = serve(&Station { panel_w: 60.0, ..plain() }, &[1200.0; 60], &[1.0; 60]);
        assert_eq!((got.served_wh, got.first_off), (0.0, None));
        assert!((got.unserved_wh - 1200.0).abs() < 1e-9 && (got.curtailed_wh - 60.0).abs() < 1e-9);
        assert_eq!(serve(&plain(), &[], &[]), Served::default());
    }
}
