//! How far a test is: which question comes next, running or done.
use trueplate_core::field::FieldSpec;
use trueplate_core::kind::Spec;
use trueplate_core::notebook::{Entry, Notebook, Test};
use trueplate_core::reading::{self, Desk, Reading};

/// How far a test is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Something needed for the start is not answered.
    Starting,
    /// It runs; the questions of the end are still open.
    Running,
    /// Some question of the end is answered, some needed one is not.
    Ending,
    /// Everything needed is answered.
    Done,
}

impl Stage {
    /// In a word.
    pub fn words(self) -> &'static str {
        match self {
            Stage::Starting => "begun",
            Stage::Running => "running",
            Stage::Ending => "ending",
            Stage::Done => "done",
        }
    }
}

/// The answer to a question, if there is one.
pub fn answered<'a>(test: &'a Test, key: &str) -> Option<&'a Entry> {
    test.entries.get(key).filter(|e| e.is_answer())
}

fn open<'a>(test: &'a Test, spec: &'a Spec, at_end: bool) -> impl Iterator<Item = &'static FieldSpec> + 'a {
    let wanted = move |f: &&FieldSpec| f.at_end == at_end && f.is_missing(test);
    spec.fields.iter().copied().filter(wanted)
}

/// How far a test is.
pub fn stage(test: &Test, spec: &Spec) -> Stage {
    let at_end = |f: &&&FieldSpec| f.at_end;
    let any_end = spec.fields.iter().filter(at_end).any(|f| answered(test, f.key).is_some());
    if open(test, spec, false).next().is_some() {
        Stage::Starting
    } else if open(test, spec, true).next().is_none() {
        Stage::Done
    } else if any_end {
        Stage::Ending
    } else {
        Stage::Running
    }
}

/// Everything needed is answered.
pub fn is_done(test: &Test) -> bool {
    super::words::spec_of(test).is_some_and(|spec| stage(test, spec) == Stage::Done)
}

/// What stands on the phone when a test is opened: a field's key, `wait` or `done`.
pub fn now_asked(test: &Test, spec: &Spec) -> &'static str {
    match stage(test, spec) {
        Stage::Starting => open(test, spec, false).next().map_or("wait", |f| f.key),
        Stage::Running => "wait",
        Stage::Ending => open(test, spec, true).next().map_or("done", |f| f.key),
        Stage::Done => "done",
    }
}

/// The questions in the order they are asked, `wait` between start and end, `done` last.
pub fn order(spec: &Spec) -> Vec<&'static str> {
    let start = spec.fields.iter().filter(|f| !f.at_end).map(|f| f.key);
    let end: Vec<_> = spec.fields.iter().filter(|f| f.at_end).map(|f| f.key).collect();
    let wait = (!end.is_empty()).then_some("wait");
    start.chain(wait).chain(end).chain(["done"]).collect()
}

/// What follows a question.
pub fn after(spec: &Spec, key: &str) -> &'static str {
    let order = order(spec);
    order.iter().skip_while(|k| **k != key).nth(1).copied().unwrap_or("done")
}

/// What stands before a question.
pub fn before(spec: &Spec, key: &str) -> Option<&'static str> {
    let order = order(spec);
    let at = order.iter().position(|k| *k == key)?;
    order.get(at.checked_sub(1)?).copied()
}

/// When it began to run, RFC 3339: the first moment it tells of, else when the last answer of the start was kept.
pub fn since(test: &Test, spec: &Spec, notebook: &Notebook) -> Option<String> {
    let desk = Desk::new(notebook, test);
    let stamps = spec.fields.iter().filter(|f| !f.at_end).filter_map(|f| {
        match reading::read(f, answered(test, f.key)?, &desk, &mut Vec::new()) {
            Ok(Reading::Stamp(s)) => Some(crate::desk::written(s.at, &desk.zone)),
            _ => None,
        }
    });
    let kept =
        spec.fields.iter().filter(|f| !f.at_end).filter_map(|f| Some(answered(test, f.key)?.at.clone()));
    stamps.min().or_else(|| kept.max()).filter(|s| !s.is_empty())
}
