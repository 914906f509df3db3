//! What the tests of single kinds ask: the example with some answers changed, and what came of it.
use crate::examine;
use crate::kind::{Example, Kind, Outcome};
use crate::uncertain::Value;

/// The kind's example with some answers changed; an empty text takes the answer away. Instruments stay.
pub fn changed(kind: &dyn Kind, answers: &[(&str, &str)]) -> Example {
    let mut example = kind.example();
    for (key, text) in answers {
        assert!(kind.spec().field(key).is_some(), "nobody asks `{key}`");
        example.test.entries.entry((*key).into()).or_default().text = (*text).into();
    }
    example
}

/// Outcome of the example with some answers changed.
pub fn outcome(kind: &dyn Kind, answers: &[(&str, &str)]) -> Outcome {
    let example = changed(kind, answers);
    examine::run(kind, &example.test, &example.notebook)
}

/// The value of a result that must be there.
pub fn value<'a>(out: &'a Outcome, key: &str) -> &'a Value {
    match out.results.iter().find(|r| r.result.key == key) {
        Some(found) => &found.value,
        None => panic!("no result {key}; findings: {:?}", out.findings),
    }
}

/// Codes of everything noticed.
pub fn codes(out: &Outcome) -> Vec<&str> {
    out.findings.iter().map(|f| f.code.as_str()).collect()
}
