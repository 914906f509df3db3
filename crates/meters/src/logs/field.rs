//! One field of numbers: its value, or why it has none.
use super::notes::Notes;
use super::number::{Marks, Number, parse};
use trueplate_core::finding::Weight;

/// A number in base units, NaN where it is missing; what is odd about it is noted.
pub(crate) fn noted_number(
    field: &str,
    factor: f64,
    marks: Marks,
    place: impl FnOnce() -> String,
    notes: &mut Notes,
) -> f64 {
    match parse(field, marks) {
        Number::Value(v, None) => v * factor,
        Number::Value(v, Some(unit)) => v * unit.factor,
        Number::Missing => {
            let what = || format!("no value: \"{field}\"");
            notes.add(Weight::Note, "placeholder", place, what, "these values are missing, not zero");
            f64::NAN
        }
        Number::NotFinite => {
            let what = || format!("not a finite number: \"{field}\"");
            notes.add(Weight::Doubt, "not-finite", place, what, "these values are missing, not zero");
            f64::NAN
        }
        Number::Bad => {
            let what = || format!("not a number: \"{}\"", shown(field));
            notes.add(
                Weight::Doubt,
                "bad-number",
                place,
                what,
                "these values are missing; check the marks and the export",
            );
            f64::NAN
        }
    }
}

/// The beginning of a text, for a message.
pub(crate) fn shown(text: &str) -> String {
    let mut out: String = text.chars().filter(|c| !c.is_control()).take(60).collect();
    if text.chars().count() > 60 {
        out.push('…');
    }
    out
}
