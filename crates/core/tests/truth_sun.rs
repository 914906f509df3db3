//! The sun against the NREL example and pvlib 0.16.1. Numbers marked pvlib come from tests/derive/sun.py.
use jiff::Timestamp;
use jiff::civil::date;
use trueplate_core::sun::{self, Air, Panel, Parts, Position, Site};

fn near(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got} is not {want} ± {within}");
}

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

#[test]
fn the_nrel_example() {
    // Reda and Andreas, NREL/TP-560-34302, table A5.1: 2003-10-17 12:30:30 UTC−7, 39.742476° N 105.1786° W,
    // 1830.14 m, 820 hPa, 11 °C: zenith 50.111622° as seen, azimuth 194.340241°; true zenith 50.127954° (pvlib).
    let when = at("2003-10-17T19:30:30Z");
    let seen =
        sun::position(when, 39.742476, -105.1786, 1830.14, Some(Air { hpa: 820.0, celsius: 11.0 })).unwrap();
    near(seen.zenith, 50.111622, 1e-4);
    near(seen.azimuth, 194.340241, 1e-4);
    near(sun::position(when, 39.742476, -105.1786, 1830.14, None).unwrap().zenith, 50.127954, 1e-4);
    // Slope 30°, turned 10° to the east from south (azm_rotation −10): incidence 25.187000°.
    near(sun::incidence(30.0, 170.0, seen), 25.187, 1e-3);
    // The classic sign error would give 20.29°.
    near(sun::incidence(30.0, 190.0, seen), 20.294, 1e-3);
}

#[test]
fn positions_around_the_earth() {
    // pvlib: true zenith and azimuth.
    for (when, latitude, longitude, zenith, azimuth) in [
        ("2025-06-21T11:00:00Z", 52.52, 13.405, 29.1256, 176.1200),
        ("2025-12-21T02:00:00Z", -33.87, 151.21, 10.5409, 351.3627),
        ("2025-03-20T12:00:00Z", 0.0, 0.0, 1.8408, 88.4807),
    ] {
        let sun = sun::position(at(when), latitude, longitude, 0.0, None).unwrap();
        near(sun.zenith, zenith, 2e-4);
        near(sun.azimuth, azimuth, 2e-3);
    }
    assert!(sun::position(at("2025-06-21T11:00:00Z"), 91.0, 0.0, 0.0, None).is_none());
    assert!(sun::position(at("2025-06-21T11:00:00Z"), 0.0, f64::NAN, 0.0, None).is_none());
}

#[test]
fn haurwitz_clear_sky() {
    // pvlib tests: elevations 5, 10, 30, 50, 90.
    let want =
        [48.629_868_794_2, 135.741_748_091_8, 487.894_132_885_4, 778.766_689_344_4, 1_035.092_032_534_5];
    for (elevation, light) in [5.0, 10.0, 30.0, 50.0, 90.0].into_iter().zip(want) {
        near(sun::clear_sky(90.0 - elevation), light, 1e-6);
    }
    assert_eq!(sun::clear_sky(90.1), 0.0);
    assert_eq!(sun::clear_sky(f64::NAN), 0.0);
}

#[test]
fn angle_of_incidence() {
    let sun = Position { zenith: 40.0, azimuth: 150.0 };
    // cos θ = cos 35·cos 40 + sin 35·sin 40·cos 30 = 0.946798: 18.773200° (pvlib aoi agrees).
    near(sun::incidence(35.0, 180.0, sun), 18.773_200_063, 1e-6);
    near(sun::incidence(0.0, 0.0, sun), 40.0, 1e-9);
    near(sun::incidence(40.0, 150.0, sun), 0.0, 1e-5);
    // Upright and to the north, the sun in the south at 40°: 90 + 40.
    near(sun::incidence(90.0, 0.0, Position { zenith: 40.0, azimuth: 180.0 }), 130.0, 1e-9);
}

#[test]
fn light_on_a_tilted_plane() {
    // Beam 800, sky 100, z 40°, sun 150°, slope 35° south, ground 0.2: global 800·cos 40 + 100 = 712.8356;
    // beam 757.4399, sky 100·(1 + cos 35)/2 = 90.9576, ground 712.8356·0.2·(1 − cos 35)/2 = 12.8915 (pvlib agrees).
    let sun = Position { zenith: 40.0, azimuth: 150.0 };
    let parts = Parts { global: 712.835_554_495, beam: 800.0, sky: 100.0 };
    let light = sun::on_tilt(parts, 35.0, 180.0, sun, 0.2);
    near(light.beam, 757.439_916_326, 1e-6);
    near(light.sky, 90.957_602_214, 1e-6);
    near(light.ground, 12.891_485_279, 1e-6);
    near(light.total(), 861.289_003_819, 1e-6);
}

#[test]
fn cells_power_and_losses() {
    // NOCT 45 °C, 25 °C air, 1000 W/m²: 25 + 25·1000/800 = 56.25 (pvlib ross). Faiman in 1 m/s: 25 + 1000/31.84.
    near(sun::cell_noct(25.0, 1000.0, 45.0), 56.25, 1e-9);
    near(sun::cell_noct(20.0, 1000.0, 45.0), 51.25, 1e-9);
    near(sun::cell_faiman(25.0, 1000.0, 1.0), 56.407_035, 1e-6);
    // 200 W, γ −0.0035: 56.25 °C at 1000 → 200·(1 − 0.109375) = 178.125; 640 W/m² and 45 °C → 128·0.93 = 119.04.
    near(sun::dc_power(200.0, 1000.0, 56.25, -0.0035), 178.125, 1e-9);
    near(sun::dc_power(200.0, 640.0, 45.0, -0.0035), 119.04, 1e-9);
    // PVWatts version 5 defaults: 14.075660688 % (pvlib pvwatts_losses).
    let defaults = [0.02, 0.03, 0.0, 0.02, 0.02, 0.005, 0.015, 0.01, 0.0, 0.03];
    near(sun::losses(&defaults), 0.140_756_606_9, 1e-9);
}

#[test]
fn the_whole_chain_at_six_instants() {
    // pvlib: 48° N 11° E, 500 m; 40° to the south, albedo 0.2, 25 °C, 1.5 m/s, γ −0.0035. Seen zenith, light beyond
    // the air, global, beam, sky, on the panel, share of its label.
    for (when, zenith, extra, global, beam, sky, tilted, power) in [
        ("2026-03-20T11:20:00Z", 48.0462, 1377.6889, 672.0422, 800.6781, 136.7634, 929.2058, 0.8435),
        ("2026-06-21T11:20:00Z", 24.5596, 1321.6236, 935.9378, 857.5797, 155.9438, 986.1756, 0.8896),
        ("2026-06-21T06:00:00Z", 65.8815, 1321.6236, 388.3489, 744.5381, 84.1113, 248.8580, 0.2427),
        ("2026-09-22T15:00:00Z", 68.9726, 1355.8239, 334.2427, 684.6899, 88.5656, 447.5631, 0.4277),
        ("2026-12-21T11:20:00Z", 71.4046, 1412.7086, 290.9915, 600.6788, 99.4452, 607.1895, 0.5706),
        ("2026-06-21T20:00:00Z", 95.9348, 1321.6236, 0.0, 0.0, 0.0, 0.0, 0.0),
    ] {
        let air = Air { hpa: 1013.25, celsius: 25.0 };
        let sun = sun::position(at(when), 48.0, 11.0, 500.0, Some(air)).unwrap();
        let day = at(when).to_zoned_datetime(jiff::tz::TimeZone::UTC).date().day_of_year();
        near(sun.zenith, zenith, 2e-4);
        near(sun::beyond_the_air(day), extra, 1e-4);
        near(sun::clear_sky(sun.zenith), global, 5e-3);
        let parts = sun::split(global, zenith, extra);
        near(parts.beam, beam, 0.02);
        near(parts.sky, sky, 0.02);
        let light = sun::on_tilt(parts, 40.0, 180.0, sun, 0.2).total();
        near(light, tilted, 0.02);
        near(sun::dc_power(1.0, light, sun::cell_faiman(25.0, light, 1.5), -0.0035), power, 1e-4);
    }
}

fn south() -> (Site, Panel) {
    let panel = Panel { tilt: 40.0, wind: 1.5, ..Panel::default() };
    (Site { latitude: 48.0, longitude: 11.0, height: 500.0 }, panel)
}

#[test]
fn clear_days_add_up() {
    // pvlib, minute by minute: 7.4416, 2.8994 and 6.2025 h at the label's power, less 14.0757 % losses.
    let (site, panel) = south();
    for (on, hours) in
        [(date(2026, 6, 21), 7.4416), (date(2026, 12, 21), 2.8994), (date(2026, 3, 20), 6.2025)]
    {
        let shares = sun::clear_day(site, on, panel).unwrap();
        assert_eq!(shares.len(), sun::DAY_MINUTES);
        near(sun::daily_sun_hours(&shares), hours * 0.859_243_393, 0.002 * hours);
        // Brightest around noon by the sun, dark at midnight.
        let best = (0..shares.len()).max_by(|&a, &b| shares[a].total_cmp(&shares[b])).unwrap();
        assert!((700..=740).contains(&best), "{best}");
        assert_eq!((shares[0], shares[1439]), (0.0, 0.0));
    }
}

#[test]
fn what_makes_no_sense_is_refused_and_polar_night_is_dark() {
    let (site, panel) = south();
    let on = date(2026, 12, 21);
    assert!(sun::clear_day(Site { latitude: 95.0, ..site }, on, panel).is_none());
    assert!(sun::clear_day(site, on, Panel { tilt: f64::NAN, ..panel }).is_none());
    assert!(sun::clear_day(site, on, Panel { wind: -1.0, ..panel }).is_none());
    let night = sun::clear_day(Site { latitude: 75.0, ..site }, on, panel).unwrap();
    assert_eq!(sun::daily_sun_hours(&night), 0.0);
}

#[test]
fn an_even_day_adds_up() {
    // 4 h of full sun at 70 %: 2.8 h; at noon π/2 over the mean of twelve hours: 4/12·0.7·π/2 = 0.36652.
    let shares = sun::even_day(4.0, 0.7);
    near(sun::daily_sun_hours(&shares), 2.8, 1e-9);
    near(shares[720], 0.366_52, 1e-5);
    assert_eq!((shares[359], shares[1080]), (0.0, 0.0));
}
