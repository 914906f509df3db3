//! Rules that every kind of test keeps, free for each new one.
use std::collections::BTreeSet;
use trueplate_core::examine;
use trueplate_core::field::Shape;
use trueplate_core::kinds::KINDS;
use trueplate_core::notebook::{Entry, Test};
use trueplate_core::quantity::Unit;

fn kebab(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

#[test]
fn ids_and_keys_are_stable_words_used_once() {
    let mut ids = BTreeSet::new();
    for spec in KINDS.iter().map(|k| k.spec()) {
        assert!(kebab(spec.id) && ids.insert(spec.id), "{}", spec.id);
        let mut keys = BTreeSet::new();
        for field in spec.fields {
            assert!(keys.insert(field.key), "{}: {} twice", spec.id, field.key);
            assert!(!field.label.is_empty() && !field.label.ends_with('.'), "{}: {}", spec.id, field.key);
        }
        let mut results = BTreeSet::new();
        for result in spec.results {
            assert!(kebab(result.key) && results.insert(result.key), "{}: {}", spec.id, result.key);
            assert!(Unit::of(result.unit, result.dim).is_some(), "{}: no unit {}", result.key, result.unit);
        }
    }
}

#[test]
fn units_of_fields_exist_and_choices_are_at_least_two() {
    for spec in KINDS.iter().map(|k| k.spec()) {
        for field in spec.fields {
            if let Some((dim, unit)) = field.measured() {
                assert!(Unit::of(unit, dim).is_some(), "{}: {} in `{unit}`", spec.id, field.key);
            }
            if let Shape::Choice(choices) = field.shape {
                assert!(choices.len() > 1, "{}: {}", spec.id, field.key);
            }
        }
    }
}

#[test]
fn every_kind_says_how_why_and_what_not() {
    for spec in KINDS.iter().map(|k| k.spec()) {
        assert!(spec.question.ends_with('?'), "{}", spec.id);
        assert!(
            !spec.method.is_empty() && !spec.uncertainty.is_empty() && !spec.does_not_tell.is_empty(),
            "{}",
            spec.id
        );
        assert!(spec.revision > 0 && spec.minutes > 0, "{}", spec.id);
    }
}

#[test]
fn the_example_yields_without_gaps_and_with_an_interval() {
    for kind in KINDS {
        let example = kind.example();
        let out = examine::run(*kind, &example.test, &example.notebook);
        let id = kind.spec().id;
        let gaps: Vec<_> =
            out.findings.iter().filter(|f| f.weight == trueplate_core::finding::Weight::Gap).collect();
        assert!(gaps.is_empty(), "{id}: {gaps:?}");
        assert!(
            !out.results.is_empty()
                || out.row.is_some()
                || !out.trials.is_empty()
                || !out.behaviours.is_empty(),
            "{id}: the example yields nothing"
        );
        for key in example.test.entries.keys() {
            assert!(kind.spec().field(key).is_some(), "{id}: the example answers `{key}`, which nobody asks");
        }
    }
}

#[test]
fn an_empty_test_is_a_list_of_gaps() {
    for kind in KINDS {
        let mut example = kind.example();
        example.test.entries.clear();
        let out = examine::run(*kind, &example.test, &example.notebook);
        assert!(out.results.is_empty(), "{}", kind.spec().id);
        assert!(out.findings.iter().any(|f| f.code == "missing"), "{}", kind.spec().id);
    }
}

#[test]
fn absurd_answers_never_panic() {
    let absurd = [
        "",
        " ",
        "-1",
        "1e308",
        "nan",
        "0",
        "12 AM",
        "Wh",
        "99:99",
        "ü",
        "1,2,3",
        "9999999999999999999",
        "-0",
        "%",
    ];
    for kind in KINDS {
        for field in kind.spec().fields {
            for text in absurd {
                let mut example = kind.example();
                let entry = Entry { text: text.into(), instrument: "meter".into(), ..Entry::default() };
                example.test.entries.insert(field.key.into(), entry);
                let out = examine::run(*kind, &example.test, &example.notebook);
                for found in &out.results {
                    assert!(
                        found.value.x.is_finite() && found.value.u().is_finite(),
                        "{}: {} = {text}",
                        kind.spec().id,
                        field.key
                    );
                }
            }
        }
        let lost = Test { specimen: "nobody".into(), ..kind.example().test };
        examine::run(*kind, &lost, &kind.example().notebook);
    }
}

#[test]
fn a_result_is_found_by_one_kind_only() {
    let mut keys = BTreeSet::new();
    for spec in KINDS.iter().map(|k| k.spec()) {
        for result in spec.results {
            assert!(keys.insert(result.key), "{}: {} is found by another kind too", spec.id, result.key);
        }
    }
}

#[test]
fn all_numbers_alike_never_panic() {
    for kind in KINDS {
        for text in ["0", "1", "-5", "100", "1e-9", "999999999", "3 3 3", "0 0", "1e6"] {
            let mut example = kind.example();
            for field in kind.spec().fields {
                if field.measured().is_some() || field.shape == Shape::Count {
                    let entry = Entry { text: text.into(), instrument: "meter".into(), ..Entry::default() };
                    example.test.entries.insert(field.key.into(), entry);
                }
            }
            let out = examine::run(*kind, &example.test, &example.notebook);
            for found in &out.results {
                let (x, u) = (found.value.x, found.value.u());
                assert!(
                    x.is_finite() && u.is_finite(),
                    "{}: all {text}: {}",
                    kind.spec().id,
                    found.result.key
                );
            }
            for said in &out.behaviours {
                assert!(kebab(said.key) && !said.label.is_empty(), "{}: {}", kind.spec().id, said.key);
                assert!(!said.text.contains("NaN") && !said.text.contains("inf"), "{}", said.text);
            }
        }
    }
}
