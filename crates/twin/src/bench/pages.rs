//! A written page as a test of the notebook: its keys are already those of the kind's questions.
use crate::calendar::rfc3339;
use crate::day::{WrittenEntry, WrittenTest};
use trueplate_core::notebook::{Entry, Test};

/// A page as a test. A key written twice keeps the last.
pub fn test_of(page: &WrittenTest) -> Test {
    let entry = |e: &WrittenEntry| {
        let kept = Entry {
            text: e.text.clone(),
            instrument: e.instrument.clone(),
            at: rfc3339(&e.at),
            ..Entry::default()
        };
        (e.key.clone(), kept)
    };
    let ended_empty = page.entry("cause").is_some_and(|c| c.text == "empty");
    Test {
        id: page.id.clone(),
        kind: page.kind.clone(),
        specimen: page.specimen.clone(),
        firmware: if page.firmware == "none" { String::new() } else { page.firmware.clone() },
        day: page.at.split('T').next().unwrap_or_default().into(),
        entries: page.entries.iter().map(entry).collect(),
        // A fridge run to empty is kept apart as a check of the runtime curve.
        held_out: page.kind == "cycling-load" && ended_empty,
        note: page.note.clone(),
        ..Test::default()
    }
}
