//! What a test is called when a sentence speaks of it among others: never by its id, which nobody typed.
use crate::field::Shape;
use crate::kinds;
use crate::notebook::{Notebook, Test};
use crate::reading::zone_of;
use crate::stamp;
use jiff::tz::TimeZone;

impl Test {
    /// "Usable energy, 3 May 2026", by the title of its kind; by the kind's id where no title is known.
    pub fn titled(&self, title: Option<&str>) -> String {
        let title = title.unwrap_or(&self.kind);
        if self.day.is_empty() { title.into() } else { format!("{title}, {}", stamp::day_words(&self.day)) }
    }
}

/// "“Usable energy, 3 May 2026, 09:02”": its title, its day, and when it began where that is written, since a day can hold
/// two tests of a kind.
pub fn named(test: &Test, zone: &TimeZone) -> String {
    let title = kinds::find(&test.kind).map(|k| k.spec().title);
    match began(test, zone) {
        Some(clock) => format!("“{}, {clock}”", test.titled(title)),
        None => format!("“{}”", test.titled(title)),
    }
}

/// The same by its id in a notebook; the id itself where it holds no such test.
pub fn named_in(notebook: &Notebook, id: &str) -> String {
    notebook.test(id).map_or_else(|| format!("`{id}`"), |t| named(t, &zone_of(&notebook.settings)))
}

/// Time of day of the first clock reading, "09:02".
fn began(test: &Test, zone: &TimeZone) -> Option<String> {
    let fields = kinds::find(&test.kind)?.spec().fields;
    let first = fields.iter().find(|f| f.shape == Shape::Stamp)?;
    let at = stamp::stamp(&test.entries.get(first.key)?.text, test.day.parse().ok(), zone).ok()?;
    stamp::wall(at.at, zone).get(11..16).map(String::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_test_is_called_by_kind_day_and_hour() {
        let mut test = kinds::find("usable-energy").unwrap().example().test;
        test.day = "2026-05-03".into();
        test.entries.entry("start".into()).or_default().text = "9:02 pm".into();
        let zone = TimeZone::get("America/New_York").unwrap();
        assert_eq!(named(&test, &zone), "“Usable energy, 3 May 2026, 21:02”");
        test.entries.remove("start");
        assert_eq!(named(&test, &zone), "“Usable energy, 3 May 2026”");
        test.kind = "of-later".into();
        test.day = String::new();
        assert_eq!(named(&test, &zone), "“of-later”");
        assert_eq!(named_in(&Notebook::default(), "gone"), "`gone`");
    }
}
