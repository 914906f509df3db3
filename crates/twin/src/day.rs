//! What a tester writes on the bench: plain texts by kind of test, for every station, in order of time.
mod desk;
mod energy;
mod idle;
mod power;
mod recharge;
mod schedule;
mod things;

pub use desk::{Desk, Watch, bench_meter};
pub use energy::EnergyRun;
pub(crate) use energy::energy_only;
pub(crate) use idle::idle_then;
pub use schedule::{DEMO_SEED, START_DAYS, of_unit, whole_bench};

use serde::Serialize;

/// The kinds of test produced here.
pub const KINDS: [&str; 11] = [
    "usable-energy",
    "idle-draw",
    "sustained-output",
    "overload-staircase",
    "starting-power",
    "recharge",
    "switchover",
    "cycling-load",
    "appliance",
    "mass",
    "noise",
];

/// One entry as written.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WrittenEntry {
    /// What it is, e.g. `counter_end`.
    pub key: String,
    /// As typed, with its unit.
    pub text: String,
    /// Instrument id; empty for a clock, a word, or what the station itself shows.
    pub instrument: String,
    /// Local time to the minute.
    pub at: String,
}

/// One test as written.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct WrittenTest {
    /// Stable id within the bench, e.g. `U06-A/idle-draw/1`.
    pub id: String,
    /// One of `KINDS`.
    pub kind: String,
    /// Model id.
    pub unit: String,
    /// Specimen id.
    pub specimen: String,
    /// Firmware at the time.
    pub firmware: String,
    /// Local time of the start, to the minute.
    pub at: String,
    /// Local time of the end, to the minute (never written by the tester; for checks).
    pub until: String,
    /// Entries in order of writing, by the keys of the kind's own questions.
    pub entries: Vec<WrittenEntry>,
    /// Remarks of the tester: what no question asks for. May be empty.
    pub note: String,
    /// When the charge before it ended, local time to the minute (never written by the tester; for checks).
    pub charge_ended: String,
}

impl WrittenTest {
    /// The first entry of this key.
    pub fn entry(&self, key: &str) -> Option<&WrittenEntry> {
        self.entries.iter().find(|e| e.key == key)
    }

    /// Replaces the text of the first entry of this key; says whether there was one.
    pub fn rewrite(&mut self, key: &str, text: &str) -> bool {
        let Some(e) = self.entries.iter_mut().find(|e| e.key == key) else { return false };
        e.text = text.to_string();
        true
    }
}
