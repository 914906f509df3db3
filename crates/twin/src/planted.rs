//! The recording errors planted on purpose, and what a careful notebook should make of each.
use crate::day::WrittenTest;

/// One planted slip. Numbers are those of the invented scenario; some of its twenty are about files and not here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Planted {
    /// Number of the slip.
    pub id: u8,
    /// Model.
    pub unit: &'static str,
    /// The page it is on; empty when it is on none (a price, a retest).
    pub test: &'static str,
    /// What went wrong.
    pub what: &'static str,
    /// Code of the finding that names it.
    pub finding: &'static str,
}

const fn slip(
    id: u8,
    unit: &'static str,
    test: &'static str,
    what: &'static str,
    finding: &'static str,
) -> Planted {
    Planted { id, unit, test, what, finding }
}

/// All planted slips that hand readings can show.
pub fn planted() -> &'static [Planted] {
    &PLANTED
}

static PLANTED: [Planted; 16] = [
    slip(1, "U04", "U04-A/usable-energy/2", "started 8 min after the charger stopped", "not-rested"),
    slip(2, "U09", "U09-A/usable-energy/4", "ended by a finger on the switch", "not-ended-empty"),
    slip(3, "U06", "U06-A/idle-draw/1", "the night the clocks go forward", "clock-change-inside"),
    slip(5, "U10", "U10-A/usable-energy/2", "energy typed with the unit W", "wrong-unit"),
    slip(
        6,
        "U08",
        "U08-A/usable-energy/5",
        "new firmware, idle draw still the old one",
        "measured-on-older-firmware",
    ),
    slip(
        7,
        "U05",
        "U05-A/idle-draw/1",
        "low-load switch-off ended the idle night after 60 min",
        "idle-ended-by-power-saving",
    ),
    slip(8, "U12", "U12-A/usable-energy/3", "written with the 120 V meter", "meter-for-other-mains"),
    slip(9, "U07", "U07-B/sustained-output/2", "warm start written as cold", "warm-start-unmarked"),
    slip(11, "U11", "U11-A/noise/1", "background 31 dB(A)", "background-too-near"),
    slip(12, "U01", "U01-A/usable-energy/1", "0.01 kWh counter on 175 Wh", "counter-step-coarse"),
    slip(13, "U14", "", "price without a date", "price-undated"),
    slip(15, "U02", "U02-A/usable-energy/4", "12 PM written as 12 AM", "elapsed-disagrees"),
    slip(16, "U05", "U05-A/usable-energy/3", "counter not reset before the run", "counter-not-reset"),
    slip(17, "U11", "U11-A/usable-energy/6", "heater with a thermostat used for capacity", "load-switches"),
    slip(19, "U06", "U06-A/usable-energy/5", "0.89 kWh written as 0.98", "energy-against-power"),
    slip(20, "U09", "U09-A/usable-energy/6", "run in a 14 °C garage", "outside-temperature-band"),
];

/// Applies the slips of the pen to a page (the slips of the hand are in the schedule).
pub fn misread(page: &mut WrittenTest) {
    let slip = PLANTED.iter().find(|p| p.test == page.id).map(|p| p.id);
    match slip {
        Some(5) => {
            page.rewrite("counter_end", "1,805 W");
        }
        Some(8) => {
            for e in page.entries.iter_mut().filter(|e| e.instrument == "M12") {
                e.instrument = "M1".into();
            }
        }
        Some(15) => twelve_hour_clock(page),
        Some(19) => {
            page.rewrite("counter_end", "0.98 kWh");
        }
        _ => {}
    }
}

/// Rewrites start and end with a 12-hour clock, noon as AM.
fn twelve_hour_clock(page: &mut WrittenTest) {
    for key in ["start", "end"] {
        let Some(text) = page.entry(key).map(|e| e.text.clone()) else { continue };
        let Some((date, clock)) = text.split_once(' ') else { continue };
        let Some((hour, minute)) = clock.split_once(':') else { continue };
        let hour: u32 = hour.parse().unwrap_or(0);
        // The slip: every hour from 13 on is PM, so noon falls to AM.
        let half = if hour > 12 { "PM" } else { "AM" };
        let twelve = if hour.is_multiple_of(12) { 12 } else { hour % 12 };
        page.rewrite(key, &format!("{date} {twelve}:{minute} {half}"));
    }
}
