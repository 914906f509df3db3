//! Tables of the tests and of every reading in them: as typed, and as understood.
use super::condition;
use super::table::{Cell, Lines, NO_INSTRUMENT, NONE, Plan, Sort, UNREADABLE, column, day, text, value};
use crate::site::context::{Context, Shown};
use trueplate_core::field::Shape;
use trueplate_core::kind::Spec;
use trueplate_core::notebook::{Entry, Test};
use trueplate_core::quantity::Unit;
use trueplate_core::reading::{self, Desk, Reading};
use trueplate_core::uncertain::Value;
use trueplate_core::{repeat, stamp};

pub static TESTS: Plan = Plan {
    name: "tests",
    title: "Tests",
    about: "Each execution of a kind of test on a sample. How a kind is done stands in how.html.",
    columns: &[
        column("test", Sort::Text, "the test, by its id"),
        column("model", Sort::Text, "the station"),
        column("specimen", Sort::Text, "the sample"),
        column("kind", Sort::Text, "the recipe"),
        column(
            "revision",
            Sort::Whole,
            "of the recipe: rises when the same readings would give other numbers",
        ),
        column("condition", Sort::Text, "that holds for all its results: axis=value, separated by ;"),
        column("firmware", Sort::Text, "at the time"),
        column("day", Sort::Day, "it began").gaps(&[UNREADABLE]),
        column("counts", Sort::Yes, "its results count"),
        column("why_not", Sort::Text, "why it does not count"),
        column("held_out", Sort::Yes, "kept out of the runtime curve as a check of it"),
    ],
    key: &["test"],
    refs: &[("model", "models", "model"), ("specimen", "specimens", "specimen")],
};

/// Every test of a station.
pub fn tests(context: &Context, shown: &Shown) -> Lines {
    let mut lines = Lines::of(&TESTS, false);
    for t in &shown.tests {
        let kind = context.kind(&t.kind);
        let outcome = context.report.outcomes.get(&t.id);
        let first_cycle = if t.conditioning { "first cycle" } else { "" };
        lines.row([
            text(&t.id),
            text(&shown.report.id),
            text(&t.specimen),
            text(&t.kind),
            kind.map_or(Cell::Gap(NONE), |k| Cell::Whole(k.revision.into())),
            text(outcome.map_or(String::new(), |o| condition(&o.condition))),
            text(&t.firmware),
            day(&t.day),
            Cell::Yes(repeat::counts(t)),
            text(if t.excluded.is_empty() { first_cycle } else { &t.excluded }),
            Cell::Yes(t.held_out),
        ]);
    }
    lines
}

pub static READINGS: Plan = Plan {
    name: "readings",
    title: "Readings",
    about: "Every answer of every test: as it was typed, and what was understood.",
    columns: &[
        column("test", Sort::Text, "the test"),
        column("field", Sort::Text, "the question, by its key"),
        column("n", Sort::Whole, "which of several numbers of one answer; 1 for a single one"),
        column("label", Sort::Text, "the question"),
        column("typed", Sort::Text, "the answer as it was written"),
        column("value", Sort::Number, "as understood, corrected by the calibration")
            .unit("@unit")
            .gaps(&[UNREADABLE]),
        column("u", Sort::Number, "standard uncertainty").unit("@unit").gaps(&[NO_INSTRUMENT]),
        column("unit", Sort::Text, "by the Unified Code for Units of Measure"),
        column("moment", Sort::Moment, "as understood, where the answer is a moment").gaps(&[UNREADABLE]),
        column("instrument", Sort::Text, "it was read on"),
        column("kept", Sort::Moment, "when it was kept").gaps(&[UNREADABLE]),
        column("files", Sort::Text, "attached, by SHA-256, separated by spaces; photos stay on the bench"),
    ],
    key: &["test", "field", "n"],
    refs: &[("test", "tests", "test")],
};

/// Every answer of every test of a station.
pub fn readings(context: &Context, shown: &Shown) -> Lines {
    let mut lines = Lines::of(&READINGS, false);
    for test in &shown.tests {
        let (kind, desk) = (context.kind(&test.kind), Desk::new(context.notebook, test));
        for (key, entry) in &test.entries {
            reading(&mut lines, test, kind, &desk, (key, entry));
        }
    }
    lines
}

/// An answer as understood: its numbers with their units, or a moment.
fn understood<'a>(
    kind: Option<&'static Spec>,
    desk: &Desk,
    key: &str,
    entry: &Entry,
) -> (Vec<[Cell<'a>; 3]>, Cell<'a>) {
    let field = kind.and_then(|k| k.field(key));
    let none = || [Cell::Gap(NONE), Cell::Gap(NONE), Cell::Gap(NONE)];
    let in_unit = |v: &Value| {
        let unit = field.and_then(|f| Unit::of(f.measured()?.1, v.dim));
        value(v, unit.unwrap_or(v.dim.kept_in()))
    };
    let read = field.map(|f| (f.shape, reading::read(f, entry, desk, &mut Vec::new())));
    match read {
        Some((_, Ok(Reading::Quantity(v)))) => (vec![in_unit(&v)], Cell::Gap(NONE)),
        Some((_, Ok(Reading::List(all)))) if !all.is_empty() => {
            (all.iter().map(in_unit).collect(), Cell::Gap(NONE))
        }
        Some((_, Ok(Reading::Count(n)))) => {
            (vec![[Cell::Whole(n), Cell::Gap(NONE), Cell::Text("1".into())]], Cell::Gap(NONE))
        }
        Some((_, Ok(Reading::Stamp(s)))) => (vec![none()], text(stamp::written(s.at, &desk.zone))),
        Some((Shape::Quantity(..) | Shape::List(..) | Shape::Count, Err(_))) => {
            let mut number = none();
            number[0] = Cell::Gap(UNREADABLE);
            (vec![number], Cell::Gap(NONE))
        }
        Some((Shape::Stamp, Err(_))) => (vec![none()], Cell::Gap(UNREADABLE)),
        _ => (vec![none()], Cell::Gap(NONE)),
    }
}

fn reading(
    lines: &mut Lines,
    test: &Test,
    kind: Option<&'static Spec>,
    desk: &Desk,
    (key, entry): (&str, &Entry),
) {
    let (numbers, moment) = understood(kind, desk, key, entry);
    let kept = match stamp::stamp(&entry.at, None, &desk.zone) {
        Ok(s) => text(stamp::written(s.at, &desk.zone)),
        Err(_) => Cell::Gap(if entry.at.is_empty() { NONE } else { UNREADABLE }),
    };
    let files: Vec<&str> = entry.files.iter().map(|f| f.sha256.as_str()).collect();
    for (i, [x, u, unit]) in numbers.into_iter().enumerate() {
        lines.row([
            text(&test.id),
            text(key),
            Cell::Whole(i as u64 + 1),
            text(kind.and_then(|k| k.field(key)).map_or("", |f| f.label)),
            text(&entry.text),
            x,
            u,
            unit,
            moment.clone(),
            text(&entry.instrument),
            kept.clone(),
            text(files.join(" ")),
        ]);
    }
}
