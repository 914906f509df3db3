//! The invented bench as records of a notebook: who tests, what makers state, meters, loads, and every test as
//! written. Slips of the pen stay in; what the tester put right later comes apart, with the reason.
pub mod captures;
mod claims;
mod instruments;
mod models;
mod outgoing;
mod pages;
mod specimens;

pub use instruments::{instrument, instruments, loads};
pub use outgoing::Later;
pub use pages::test_of;

use crate::calendar::ZONE;
use crate::day::whole_bench;
use trueplate_core::notebook::{Notebook, Settings, Test};
use trueplate_core::record::Record;

/// Something put right after it was first written.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// The record as it should have been.
    pub record: Record,
    /// The tester's reason.
    pub why: String,
    /// When, RFC 3339.
    pub at: String,
}

/// The whole bench as first written, and its corrections in order of time.
#[derive(Clone, Debug, PartialEq)]
pub struct Bench {
    /// Settings, instruments, loads, models, specimens, tests in order of time.
    pub records: Vec<Record>,
    /// What was put right later; each replaces the record of its id.
    pub corrections: Vec<Correction>,
    /// Letters, questions and a video, in order of time.
    pub later: Vec<Later>,
}

/// The tester's rules and name.
fn settings() -> Settings {
    Settings {
        tester: "Ada Quern".into(),
        site: "The bench at No. 9".into(),
        zone: ZONE.into(),
        currency: "USD".into(),
        as_of: "2026-06-30".into(),
        licence: "CC0-1.0".into(),
        demo: true,
        ..Settings::default()
    }
}

/// The invented bench of this seed.
pub fn bench(seed: u64) -> Bench {
    let written = whole_bench(seed);
    let mut records = vec![Record::Settings(settings())];
    records.extend(instruments(seed).into_iter().map(Record::Instrument));
    records.extend(loads().into_iter().map(Record::Load));
    records.extend(models::models().into_iter().map(Record::Model));
    records.extend(specimens::specimens(&written).into_iter().map(Record::Specimen));
    records.extend(written.iter().map(|page| Record::Test(test_of(page))));
    let mut right = Notebook::default();
    records.iter().cloned().for_each(|r| right.put(r));
    let later = outgoing::later(&right);
    let corrections = corrected(&mut records);
    Bench { records, corrections, later }
}

/// All records as first written.
pub fn records(seed: u64) -> Vec<Record> {
    bench(seed).records
}

/// What was put right later, in order of time.
pub fn corrections(seed: u64) -> Vec<Correction> {
    bench(seed).corrections
}

/// The notebook as it stands now: everything written, corrections applied; videos without their files.
pub fn notebook(seed: u64) -> Notebook {
    let Bench { records, corrections, later } = bench(seed);
    let mut notebook = Notebook::default();
    let put_right = corrections.into_iter().map(|c| c.record);
    records
        .into_iter()
        .chain(put_right)
        .chain(later.into_iter().map(|l| l.record))
        .for_each(|r| notebook.put(r));
    notebook
}

/// Makes three records wrong as they were first written, and gives back what puts them right.
fn corrected(records: &mut [Record]) -> Vec<Correction> {
    let mut out = Vec::new();
    let mut fix = |id: &str, at: &str, why: &str, spoil: &dyn Fn(&mut Record)| {
        let Some(record) = records.iter_mut().find(|r| r.id() == id) else { return };
        let right = record.clone();
        spoil(record);
        out.push(Correction { record: right, why: why.into(), at: at.into() });
    };
    let why = "weighed again without the carrying strap";
    fix("U12-A/mass/1", "2026-04-24T18:40:00-04:00", why, &|r| retype(r, "mass", |_| "30.30 kg".into()));
    let why = "two digits swapped when typing; the photo of the counter shows it";
    fix("U10-A/usable-energy/3", "2026-06-03T21:15:00-04:00", why, &|r| {
        retype(r, "counter_end", swapped);
    });
    let why = "typed 1,199; the receipt says 1,299";
    fix("U10", "2026-06-05T09:02:00-04:00", why, &|r| {
        if let Record::Model(m) = r
            && let Some(price) = m.prices.first_mut()
        {
            price.amount = 1199.0;
        }
    });
    out
}

fn retype(record: &mut Record, key: &str, change: impl Fn(&str) -> String) {
    if let Record::Test(Test { entries, .. }) = record
        && let Some(entry) = entries.get_mut(key)
    {
        entry.text = change(&entry.text);
    }
}

/// The last two digits exchanged: 1.79 kWh → 1.97 kWh.
fn swapped(text: &str) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    let places: Vec<usize> =
        letters.iter().enumerate().filter(|(_, c)| c.is_ascii_digit()).map(|(i, _)| i).collect();
    if let [.., a, b] = places.as_slice() {
        letters.swap(*a, *b);
    }
    letters.into_iter().collect()
}
