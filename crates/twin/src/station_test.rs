//! The physics against the oracle numbers, which were computed apart from this crate.
use crate::charge::{ChargeSetup, charge};
use crate::station::Station;
use crate::truth::truths;

fn near(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!((got - want).abs() <= tolerance, "{what}: {got} against {want}");
}

// Source of every number here: `oracle` in data/stations.json, printed to four decimals.
#[test]
fn constant_loads_match_the_oracle() {
    for t in truths() {
        let (s, o) = (Station::new(t), t.oracle);
        for (share, want) in [(0.10, o.e10), (0.25, o.e25), (0.50, o.e50), (0.80, o.e80), (1.0, o.e100)] {
            near(s.energy_wh(share * s.rated_w), want, 1e-4, &format!("{} at {share}", t.id));
        }
        near(s.runtime_h(10.0), o.t10, 1e-4, &t.id);
        near(s.runtime_h(60.0), o.t60, 1e-4, &t.id);
        // The oracle's t0 leaves the rate effect out: it is longer by α·(1 − reserve) hours.
        near(s.runtime_h(0.0) + s.alpha * (1.0 - s.reserve), o.t0, 1e-4, &t.id);
        near(s.idle_outlet_w(), o.a, 1e-4, &t.id);
        near(s.cell_wh * (1.0 - s.reserve) / (1.0 + s.k1), o.effective_wh, 1e-4, &t.id);
        let efficiency = |p: f64| p / s.battery_w(p, crate::station::Variation::NONE);
        let peak = (5..=100).map(|n| efficiency(f64::from(n) / 100.0 * s.rated_w)).fold(0.0, f64::max);
        near(peak, o.peak, 1e-4, &t.id);
    }
}

#[test]
fn charging_matches_the_oracle() {
    for t in truths() {
        let (s, o) = (Station::new(t), t.oracle);
        let cut = charge(&s, &ChargeSetup::from(s.reserve)).unwrap();
        near(cut.wall_wh, o.wall, 1e-4, &t.id);
        near(cut.minutes_80_true.unwrap(), o.t80, 1e-4, &t.id);
        near(cut.minutes_full, o.t100, 1e-4, &t.id);
        near(s.energy_wh(0.5 * s.rated_w) / cut.wall_wh, o.rte, 1e-4, &t.id);
        near(charge(&s, &ChargeSetup::from(0.0)).unwrap().wall_wh, o.wall_empty, 1e-4, &t.id);
    }
}

// Source: the words beside the tables. U05: 67 min to 80 % in fast mode, 108 in the default 350 W mode.
// U13: 169 min to full at 1,650 W, 147 at 1,920 W.
#[test]
fn charge_modes() {
    let of = |id: &str, wall_w| {
        let s = &Station::specimens(id)[0];
        charge(s, &ChargeSetup { wall_w: Some(wall_w), ..ChargeSetup::from(s.reserve) }).unwrap()
    };
    near(of("U05", 560.0).minutes_80_true.unwrap(), 67.0, 0.5, "U05 fast");
    near(of("U05", 350.0).minutes_80_true.unwrap(), 108.0, 0.5, "U05 default");
    near(of("U13", 1650.0).minutes_full, 169.0, 0.5, "U13 on 15 A");
    near(of("U13", 1920.0).minutes_full, 147.0, 0.5, "U13 on 20 A");
}

// Source: U08's words: a 1,500 W/120 V heater (9.6 Ω) gets about 1,160 W at 105.5 V; 110.8 V falls to 104.2 V.
#[test]
fn soft_outlet_starves_a_heater() {
    let s = &Station::specimens("U08")[0];
    let p = s.outlet_w(0.0, Some(9.6));
    near(p, 1160.0, 5.0, "heater");
    near(s.volts_at(p), 105.5, 0.05, "voltage");
    near(s.volts_at(s.rated_w), 104.2, 0.05, "voltage at rated");
}

// Source: U03 dies at 11 % shown and shows 100 % for the first 9 %; U10 falls to 1 % with 6 % left; U13 cuts at 8 %.
#[test]
fn displays() {
    let of = |id: &str, left| Station::specimens(id)[0].shown_percent(left);
    assert_eq!((of("U03", 0.0), of("U03", 0.92), of("U03", 0.455)), (11.0, 100.0, 55.0));
    assert_eq!((of("U10", 0.06), of("U10", 0.01), of("U10", 1.0)), (1.0, 1.0, 100.0));
    assert_eq!(of("U13", 0.0), 8.0);
    for t in truths() {
        let s = Station::new(t);
        for n in 0..=100 {
            let left = f64::from(n) / 100.0;
            assert!((0.0..=100.0).contains(&s.shown_percent(left)));
        }
        assert_eq!(s.shown_percent(1.0), 100.0, "{}", t.id);
    }
}

// Source: the words beside the tables: U08 18.2 → 11.0 W, U06 9.4 ± 1.8 → 8.1 ± 1.5 ms, U07 A 1,093 and B 1,074 Wh,
// U13's pack adds 3,372 Wh and 4.5 W of idle draw to 3,408 Wh and 37.5 W.
#[test]
fn specimens_and_updates() {
    let of = |id: &str| Station::specimens(id);
    assert_eq!(of("U08").iter().map(|s| s.idle_w).collect::<Vec<_>>(), [18.2, 11.0]);
    assert_eq!(of("U06")[1].switchover_ms, Some((8.1, 1.5)));
    assert_eq!(of("U07").iter().map(|s| s.cell_wh).collect::<Vec<_>>(), [1093.0, 1074.0]);
    let big = of("U13")[0].expanded();
    assert_eq!((big.cell_wh, big.idle_w), (6780.0, 42.0));
    assert!(of("U99").is_empty());
}

// 25 °C is the reference; the table's factor holds at −5 °C; 100 cycles and a year cost 1.8 % + 1 %.
#[test]
fn cold_and_age() {
    let s = &Station::specimens("U03")[0];
    near(s.energy_factor(25.0), 1.0, 1e-12, "warm");
    near(s.energy_factor(-5.0), 0.66, 1e-12, "cold");
    let old = Station { cycles: 100.0, years: 1.0, ..s.clone() };
    near(old.energy_factor(25.0), 0.972, 1e-12, "old");
}
