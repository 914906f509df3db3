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

/// Stations that are run beside each other, so that one need not wait for another's last minute.
const BESIDE: usize = 4;

/// Runs a station over minutes of load (W) and sun (1 is full), from full with the outlets on. Stops at the end of
/// the shorter of the two. When the store is empty the outlets go off, and come back at a tenth of its capacity.
pub fn serve(station: &Station, load_w: &[f64], sun: &[f64]) -> Served {
    let [served] = beside([station], load_w, sun);
    served
}

/// The same for many stations under the same load and sun, in their order.
pub fn serve_all(stations: &[Station], load_w: &[f64], sun: &[f64]) -> Vec<Served> {
    let (eights, rest) = stations.as_chunks::<BESIDE>();
    let mut all: Vec<Served> =
        eights.iter().flat_map(|eight| beside(eight.each_ref(), load_w, sun)).collect();
    all.extend(rest.iter().map(|s| serve(s, load_w, sun)));
    all
}

/// Written without branches: a choice between two numbers costs less than a wrong guess.
fn beside<const N: usize>(stations: [&Station; N], load_w: &[f64], sun: &[f64]) -> [Served; N] {
    const HOUR: f64 = 1.0 / 60.0;
    const NEVER: f64 = f64::INFINITY;
    let mut stored = stations.map(|s| s.capacity_wh);
    let (mut on, mut off, mut first) = ([1.0; N], [0.0; N], [NEVER; N]);
    let (mut served, mut unserved, mut curtailed) = ([0.0; N], [0.0; N], [0.0; N]);
    // Each figure of all stations beside each other.
    let of = |f: fn(&Station) -> f64| stations.map(f);
    let (capacity, rated, idle) = (of(|s| s.capacity_wh), of(|s| s.rated_w), of(|s| s.idle_w));
    let (loss_b, loss_c) = (of(|s| s.loss_b), of(|s| s.loss_c));
    let (panel, limit, kept, charge) =
        (of(|s| s.panel_w), of(|s| s.solar_in_w), of(|s| s.solar_kept), of(|s| s.charge_max_w));
    for (minute, (&asked, &sun)) in load_w.iter().zip(sun).enumerate() {
        let now = minute as f64;
        for i in 0..N {
            let load = if asked <= rated[i] { asked * on[i] } else { 0.0 };
            let on_drain = load + idle[i] + loss_b[i] * load + loss_c[i] * load * load;
            let drain = if on[i] > 0.5 { on_drain } else { 0.5 * idle[i] };
            let net = (panel[i] * sun).min(limit[i]) * kept[i] - drain;
            let over = (net - charge[i]).max(0.0);
            let then = stored[i] + (net - over) * HOUR;
            curtailed[i] += over * HOUR + (then - capacity[i]).max(0.0);
            stored[i] = then.min(capacity[i]).max(0.0);
            served[i] += load * HOUR;
            unserved[i] += (asked - load) * HOUR;
            off[i] += 1.0 - on[i];
            let back = if stored[i] >= BACK_AT * capacity[i] { 1.0 } else { 0.0 };
            let stays = if stored[i] > 0.0 { 1.0 } else { 0.0 };
            let next = if on[i] > 0.5 { stays } else { back };
            let goes_off = if on[i] - next > 0.5 { now } else { NEVER };
            first[i] = first[i].min(goes_off);
            on[i] = next;
        }
    }
    std::array::from_fn(|i| Served {
        served_wh: served[i],
        unserved_wh: unserved[i],
        curtailed_wh: curtailed[i],
        minutes_off: off[i] as u32,
        first_off: (first[i] < NEVER).then_some(first[i] as u32),
    })
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
    #[test]
    fn many_beside_each_other_are_as_each_alone() {
        let stations: Vec<Station> = (0..19)
            .map(|i| Station { capacity_wh: 50.0 + f64::from(i), idle_w: 2.0, panel_w: 80.0, ..plain() })
            .collect();
        let load: Vec<f64> = (0..600).map(|m| f64::from(m % 97)).collect();
        let sun: Vec<f64> = (0..600).map(|m| f64::from(m % 2)).collect();
        let each: Vec<Served> = stations.iter().map(|s| serve(s, &load, &sun)).collect();
        assert_eq!(serve_all(&stations, &load, &sun), each);
    }
}
