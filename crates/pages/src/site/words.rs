//! Days, counts, conditions and provenance in the words of a page.
use trueplate_core::finding::Weight;
use trueplate_core::kind::Spec;
use trueplate_core::notebook::{Condition, Price, Specimen, Test};
use trueplate_core::report::labelled;
pub use trueplate_core::shown::capital;
use trueplate_core::shown::{self, Style};
use trueplate_core::stamp;

/// "6 May 2026"; what was written when it is no ISO 8601 date.
pub fn day(iso: &str) -> String {
    stamp::day_words(iso)
}

/// "3–9 May 2026", "3 May – 2 June 2026"; empty without days.
pub fn span(days: &[&str]) -> String {
    let dated = || days.iter().copied().filter(|d| stamp::day_parts(d).is_some());
    let (Some(first), Some(last)) = (dated().min(), dated().max()) else { return String::new() };
    let (Some(a), Some(b)) = (stamp::day_parts(first), stamp::day_parts(last)) else { return String::new() };
    match (a, b) {
        _ if first == last => day(first),
        ((d1, m1, y1), (d2, m2, y2)) if m1 == m2 && y1 == y2 => format!("{d1}–{d2} {m2} {y2}"),
        ((d1, m1, y1), (_, _, y2)) if y1 == y2 => format!("{d1} {m1} – {}", day(last)),
        _ => format!("{} – {}", day(first), day(last)),
    }
}

/// "one test", "14 tests", "no tests".
pub fn count(n: usize, one: &str, many: &str) -> String {
    match n {
        0 => format!("no {many}"),
        1 => format!("one {one}"),
        n => format!("{n} {many}"),
    }
}

/// How much a finding matters, as the bold beginning of its sentence.
pub fn weight(weight: Weight) -> &'static str {
    match weight {
        Weight::Note => "",
        Weight::Doubt => "<b>In doubt:</b> ",
        Weight::Gap => "<b>Missing:</b> ",
    }
}

/// "load 50 %, with cables"; empty without a condition.
pub fn condition(condition: &Condition) -> String {
    // A number stays with its unit: no line break between them.
    let one = |(label, value): (&str, String)| format!("{label} {}", value.replace(' ', "\u{a0}"));
    labelled(condition).map(one).collect::<Vec<_>>().join(", ")
}

/// Name of a specimen among others: its label, or where it stands in the list.
pub fn specimen(specimen: &Specimen, index: usize) -> String {
    if specimen.label.is_empty() { format!("sample {}", index + 1) } else { specimen.label.clone() }
}

/// "699 USD", "1299.50 EUR".
pub fn amount(price: &Price, style: Style) -> String {
    let places = if price.amount.fract() == 0.0 { 0 } else { 2 };
    format!("{} {}", shown::decimal(price.amount, places, style), price.currency)
}

/// Title of a test: its kind and its day.
pub fn test(test: &Test, kind: Option<&Spec>) -> String {
    test.titled(kind.map(|k| k.title))
}

/// Probability in words people read: "97 %", never 0 or 100.
pub fn probability(p: f64) -> String {
    let percent = (p * 100.0).round();
    match percent {
        x if x > 99.0 => "more than 99 %".into(),
        x if x < 1.0 => "less than 1 %".into(),
        x => format!("{x} %"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_read_like_speech() {
        assert_eq!(day("2026-05-06"), "6 May 2026");
        assert_eq!(day("2026-05-06T11:04:00-04:00"), "6 May 2026");
        assert_eq!(day("soon"), "soon");
        assert_eq!(span(&["2026-05-09", "", "2026-05-03"]), "3–9 May 2026");
        assert_eq!(span(&["2026-05-03", "2026-06-02"]), "3 May – 2 June 2026");
        assert_eq!(span(&["2025-12-30", "2026-01-02"]), "30 December 2025 – 2 January 2026");
        assert_eq!(span(&["2026-05-03"]), "3 May 2026");
        assert_eq!(span(&[]), "");
    }

    #[test]
    fn nothing_is_certain() {
        assert_eq!(probability(0.9999), "more than 99 %");
        assert_eq!(probability(0.002), "less than 1 %");
        assert_eq!(probability(0.974), "97 %");
    }
}
