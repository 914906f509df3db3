//! Counting what was noticed: one finding per code, with the first lines it was seen at.
use trueplate_core::finding::{Finding, Weight};

/// Places named in a finding.
const SHOWN: usize = 5;

/// One thing noticed, and how often.
struct Tally {
    code: &'static str,
    weight: Weight,
    count: u64,
    places: Vec<String>,
    text: String,
    hint: &'static str,
}

/// All that was noticed while reading.
#[derive(Default)]
pub(crate) struct Notes(Vec<Tally>);

impl Notes {
    /// Notes one more occurrence. `text` is only made for the first.
    pub(crate) fn add(
        &mut self,
        weight: Weight,
        code: &'static str,
        place: impl FnOnce() -> String,
        text: impl FnOnce() -> String,
        hint: &'static str,
    ) {
        let tally = match self.0.iter_mut().position(|t| t.code == code) {
            Some(at) => &mut self.0[at],
            None => {
                self.0.push(Tally { code, weight, count: 0, places: Vec::new(), text: text(), hint });
                self.0.last_mut().expect("just pushed")
            }
        };
        tally.count += 1;
        tally.weight = tally.weight.max(weight);
        if tally.places.len() < SHOWN {
            tally.places.push(place());
        }
    }

    /// How often a code was noted.
    pub(crate) fn count(&self, code: &str) -> u64 {
        self.0.iter().find(|t| t.code == code).map_or(0, |t| t.count)
    }

    /// Adds what was noted elsewhere.
    pub(crate) fn append(&mut self, other: Notes) {
        for tally in other.0 {
            match self.0.iter_mut().find(|t| t.code == tally.code) {
                Some(mine) => {
                    mine.count += tally.count;
                    mine.weight = mine.weight.max(tally.weight);
                    mine.places.extend(tally.places);
                    mine.places.truncate(SHOWN);
                }
                None => self.0.push(tally),
            }
        }
    }

    /// One finding per code, in order of first sight.
    pub(crate) fn findings(self) -> Vec<Finding> {
        self.0
            .into_iter()
            .map(|t| {
                let more = if t.count > t.places.len() as u64 { ", …" } else { "" };
                let times = if t.count > 1 { format!(" ({} times)", t.count) } else { String::new() };
                Finding::new(
                    t.weight,
                    t.code,
                    format!("{}{more}", t.places.join(", ")),
                    t.text + &times,
                    t.hint,
                )
            })
            .collect()
    }
}
