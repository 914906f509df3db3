//! The tester's desk: the station under test, the clock on the wall, the page being written.
use super::recharge::recharge_page;
use super::{WrittenEntry, WrittenTest};
use crate::calendar::{Instant, hour, on_day, written, written_second};
use crate::chance::Chance;
use crate::charge::{ChargeSetup, charge};
use crate::discharge::Setup;
use crate::meter::Meter;
use crate::station::Station;
use std::collections::VecDeque;

/// The station under test, the clock, and what has been written so far.
pub struct Desk {
    /// Seed of the whole bench.
    pub seed: u64,
    /// What is being tested.
    pub station: Station,
    /// Now.
    pub now: Instant,
    /// When the last charge ended.
    pub charged_at: Instant,
    /// Pages, in order.
    pub pages: Vec<WrittenTest>,
    /// The running total of the meter that cannot be reset (M2), Wh.
    pub total_wh: f64,
    /// Recharges to be written down, in order; the others are not watched.
    pub watch: VecDeque<Watch>,
    /// The next test starts so many seconds after the charge ended, whatever good practice says.
    pub hurry_s: Option<f64>,
}

/// A recharge the tester means to watch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watch {
    /// From empty cells (drained through the DC ports first), else from AC cut-off.
    pub from_empty: bool,
    /// Wall power of the mode, W; `None`: the greatest.
    pub wall_w: Option<f64>,
    /// What the tester calls the mode.
    pub mode: &'static str,
}

/// The instrument for hand readings of a station: M12 on 230 V, M2 (1 Wh) for the small ones, else M1.
pub fn bench_meter(unit: &str) -> Meter {
    let id = match unit {
        "U12" => "M12",
        "U01" | "U02" | "U03" => "M2",
        _ => "M1",
    };
    meter(id)
}

/// An instrument of the bench; an unknown id gives a perfect one of that name, which no table holds.
pub(super) fn meter(id: &str) -> Meter {
    Meter::bench(id).unwrap_or_else(|| Meter { id: id.into(), ..crate::meter::bench()[2].clone() })
}

impl Desk {
    /// A desk with a station that was full and rested at `start`.
    pub fn new(seed: u64, station: Station, start: Instant) -> Desk {
        let total_wh = 1000.0 * Chance::new(seed, &format!("{}/total", station.specimen)).between(40.0, 80.0);
        Desk {
            seed,
            station,
            now: start,
            charged_at: start - 4000.0,
            pages: Vec::new(),
            total_wh: total_wh.round(),
            watch: VecDeque::new(),
            hurry_s: None,
        }
    }

    /// Begins a page: the id is numbered within specimen and kind.
    pub fn page(&mut self, kind: &str) -> Page {
        let n =
            1 + self.pages.iter().filter(|p| p.kind == kind && p.specimen == self.station.specimen).count();
        let id = format!("{}/{kind}/{n}", self.station.specimen);
        let mut chance = Chance::new(self.seed, &id);
        // Nobody starts on the full minute.
        self.now += chance.between(5.0, 600.0);
        if let Some(s) = self.hurry_s.take() {
            self.now = self.charged_at + s;
        }
        let ambient = 25.0 + 0.2 * chance.rect();
        let mut page = Page {
            test: WrittenTest {
                id,
                kind: kind.into(),
                unit: self.station.id.clone(),
                specimen: self.station.specimen.clone(),
                firmware: self.station.firmware.clone(),
                at: written(self.now),
                charge_ended: written(self.charged_at),
                ..WrittenTest::default()
            },
            chance,
            ambient,
            begun: self.now,
        };
        if !matches!(kind, "mass" | "switchover" | "overload-staircase") {
            page.ambient(ambient);
        }
        page
    }

    /// Puts a page on the pile; the clock stands at its end.
    pub fn put(&mut self, mut page: Page) {
        page.test.until = written(self.now);
        self.pages.push(page.test);
    }

    /// Waits until a time of day when a tester starts something (08:00–20:00).
    pub fn working_hours(&mut self) {
        let h = hour(self.now);
        if h < 8.0 {
            self.now = on_day(self.now, 0, 8, 0);
        } else if h > 20.0 {
            self.now = on_day(self.now, 1, 8, 0);
        }
    }

    /// Charges to the charger's own stop and rests for at least 45 min; ends in working hours.
    pub fn refill(&mut self) {
        if let Some(watch) = self.watch.pop_front() {
            return recharge_page(self, watch);
        }
        let from = ChargeSetup::from(self.station.reserve);
        let minutes = charge(&self.station, &from).map_or(0.0, |c| c.minutes_full);
        self.now += 600.0 + 60.0 * minutes;
        self.charged_at = self.now;
        self.now += 45.0 * 60.0;
        self.working_hours();
    }
}

/// A page being written.
pub struct Page {
    /// The page.
    pub test: WrittenTest,
    /// Chance of this page alone.
    pub chance: Chance,
    /// True ambient, °C.
    pub ambient: f64,
    /// When it was begun.
    pub begun: Instant,
}

impl Page {
    /// Answers a question in words, without an instrument.
    pub fn say(&mut self, key: &str, text: impl Into<String>) {
        let at = self.begun;
        self.read(key, text, "", at);
    }

    /// Adds a sentence to the remarks.
    pub fn remark(&mut self, text: &str) {
        let gap = if self.test.note.is_empty() { "" } else { " " };
        self.test.note.push_str(&format!("{gap}{text}"));
    }

    /// Sets the true ambient and writes what the room logger shows.
    pub fn ambient(&mut self, ambient_c: f64) {
        self.ambient = ambient_c;
        let text = format!("{} °C", meter("M11").number(ambient_c));
        if !self.test.rewrite("ambient", &text) {
            let at = self.begun;
            self.read("ambient", text, "M11", at);
        }
    }

    /// Writes an entry read from an instrument.
    pub fn read(&mut self, key: &str, text: impl Into<String>, instrument: &str, at: Instant) {
        let (key, instrument) = (key.to_string(), instrument.to_string());
        self.test.entries.push(WrittenEntry { key, text: text.into(), instrument, at: written(at) });
    }

    /// Writes a clock time, e.g. `2026-03-07 20:31`.
    pub fn clock(&mut self, key: &str, at: Instant) {
        self.read(key, written(at).replace('T', " "), "", at);
    }

    /// Writes a clock time to the second, as a tap on the phone keeps it.
    pub fn second(&mut self, key: &str, at: Instant) {
        self.read(key, written_second(at).replace('T', " "), "", at);
    }

    /// A discharge setup for this page.
    pub fn setup(&mut self, instrument: &Meter) -> Setup {
        let (ambient_c, run) = (self.ambient, self.chance.run());
        Setup { ambient_c, run, beside_w: instrument.beside_w(), ..Setup::default() }
    }
}
