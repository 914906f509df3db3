//! Instruments and loads as the tester knows them: what makers and calibrations say, never the hidden errors.
use crate::calendar::{instant, on_day, written};
use crate::chance::Chance;
use crate::meter::{Feed, LastDigit, Meter, bench};
use trueplate_core::instrument::{Accuracy, Calibration, Check, Feeds, Instrument};
use trueplate_core::notebook::{Load, LoadSort};
use trueplate_core::quantity::Dim;

/// Standard uncertainty of the comparison of M1, a share of the reading.
const U_CALIBRATION: f64 = 0.003;

/// Every instrument of the bench, M1 with its calibration.
pub fn instruments(seed: u64) -> Vec<Instrument> {
    let mut all: Vec<Instrument> = bench().iter().map(instrument).collect();
    for (m, meter) in all.iter_mut().zip(bench()) {
        m.mains_v = match m.id.as_str() {
            "M1" | "M2" => 120.0,
            "M12" => 230.0,
            _ => 0.0,
        };
        m.true_rms = matches!(m.id.as_str(), "M2" | "M3" | "M4");
        if m.id == "M1" {
            m.calibrations.push(calibration(seed, &meter));
            m.checks = checks(seed, &meter);
        }
    }
    all
}

/// The comparison found the hidden gain but for its own doubt, and was written down to 0.05 %.
fn calibration(seed: u64, meter: &Meter) -> Calibration {
    let found = meter.gain + U_CALIBRATION * Chance::new(seed, "calibration of M1").normal();
    Calibration {
        on: "2025-11-20".into(),
        gain_error: (found * 2000.0).round() / 2000.0,
        u: U_CALIBRATION,
        against: "a wattmeter of class 0.2 lent by a friend's workshop, 100 to 1,500 W".into(),
    }
}

/// Weeks in which M1 read its lamp, the last two days before the bench's date.
const WEEKS: i32 = 32;

/// One lamp of the string, every Sunday, M1 in series with M3: both scatter a little and show tenths of a watt.
fn checks(seed: u64, meter: &Meter) -> Vec<Check> {
    let mut chance = Chance::new(seed, "weekly checks of M1");
    let first = instant("2025-11-23", 12, 0);
    let tenths = |w: f64| (w * 10.0).round() / 10.0;
    let one = |week: i32| {
        let lamp = 61.4 * (1.0 + 0.002 * chance.normal());
        let day = written(on_day(first, 7 * week, 12, 0));
        Check {
            on: day.split('T').next().unwrap_or_default().into(),
            reading_w: tenths(lamp * (1.0 + meter.gain) * (1.0 + 0.0012 * chance.normal())),
            true_w: tenths(lamp),
            load: "one lamp of the string, in series with the rail meter".into(),
        }
    };
    (0..WEEKS).map(one).collect()
}

/// A meter as its maker states it.
pub fn instrument(meter: &Meter) -> Instrument {
    let feeds = match (meter.feed, meter.shows_own) {
        (Feed::Outlet, true) => Feeds::Counted,
        (Feed::Outlet, false) => Feeds::Unseen,
        _ => Feeds::Elsewhere,
    };
    Instrument {
        id: meter.id.clone(),
        name: meter.name.clone(),
        about: about(&meter.id).into(),
        accuracy: dims(&meter.id).iter().map(|&dim| accuracy(meter, dim)).collect(),
        own_draw_w: meter.own_w,
        feeds,
        ..Instrument::default()
    }
}

fn about(id: &str) -> &'static str {
    match id {
        "M1" | "M12" | "D1" => "plug-in energy meter",
        "M2" => "plug with a log",
        "M3" => "rail meter with a bus",
        "M4" => "oscilloscope",
        "M5" => "USB meter",
        "M6" => "current clamp",
        "M7" => "sound level meter",
        "M8" | "M11" => "thermometer",
        "M9" => "scale",
        _ => "electronic load",
    }
}

fn dims(id: &str) -> &'static [Dim] {
    match id {
        "M4" => &[Dim::Time, Dim::Voltage],
        "M5" => &[Dim::Power, Dim::Energy],
        "M6" => &[Dim::Current],
        "M7" => &[Dim::Level],
        "M8" | "M11" => &[Dim::Temperature],
        "M9" => &[Dim::Mass],
        "M10" => &[Dim::Power],
        _ => &[Dim::Power, Dim::Energy, Dim::Time],
    }
}

/// ± % of reading ± a fixed part, written in digits of the step as makers do.
fn accuracy(meter: &Meter, dim: Dim) -> Accuracy {
    let of_reading = meter.stated.gain_pct / 100.0;
    let digits = meter.stated.offset / meter.step;
    let truncates = meter.counter_digit == LastDigit::Truncated;
    let main =
        Accuracy { dim, of_reading, digits, step: meter.step, floor: meter.floor_w, ..Accuracy::default() };
    match dim {
        // Its energy counter adds up its power: the fixed part is known per hour, from the power.
        Dim::Energy => Accuracy { dim, of_reading, step: meter.step_wh, truncates, ..Accuracy::default() },
        // The scope's time base has no error worth noting; the cursors step by 0.1 ms. A plug meter shows minutes.
        Dim::Time if meter.id == "M4" => Accuracy { dim, step: 0.1e-3 / 3600.0, ..Accuracy::default() },
        Dim::Time => Accuracy { dim, step: 1.0 / 60.0, truncates: true, ..Accuracy::default() },
        _ => main,
    }
}

/// The appliances of the bench as the tester knows them.
pub fn loads() -> Vec<Load> {
    use LoadSort::{Cycling, Electronic, Motor, Resistive};
    let load = |id: &str, name: &str, sort, ohm, running_w, average_w, starting_w| Load {
        id: id.into(),
        name: name.into(),
        sort,
        ohm,
        running_w,
        average_w,
        starting_w,
        note: String::new(),
    };
    vec![
        load("L1", "heater bank with steps, no thermostat", Resistive, 9.9, 1500.0, 0.0, 0.0),
        load("L2", "string of eight 60 W halogen lamps", Resistive, 30.0, 480.0, 0.0, 4800.0),
        load("L3", "kettle", Resistive, 9.9, 1450.0, 0.0, 0.0),
        load("L4", "oil heater", Cycling, 14.4, 1000.0, 600.0, 0.0),
        load("L5", "heated blanket", Cycling, 0.0, 95.0, 32.0, 0.0),
        load("L6", "fridge", Cycling, 0.0, 85.0, 38.0, 1080.0),
        load("L7", "router and modem", Electronic, 0.0, 12.0, 12.0, 0.0),
        load("L8", "CPAP machine", Electronic, 0.0, 24.0, 24.0, 0.0),
        load("L9", "desktop computer", Electronic, 0.0, 92.0, 92.0, 0.0),
        load("L10", "circular saw", Motor, 0.0, 1150.0, 0.0, 3680.0),
        load("L11", "sump pump, 1/3 hp", Motor, 0.0, 610.0, 0.0, 2070.0),
        load("L12", "microwave oven, 900 W on its label", Electronic, 0.0, 1390.0, 0.0, 1810.0),
        load("L13", "LED bank with a dimmer", Electronic, 0.0, 40.0, 0.0, 0.0),
        load("L14", "kettle, 230 V", Resistive, 24.0, 2200.0, 0.0, 0.0),
    ]
}
