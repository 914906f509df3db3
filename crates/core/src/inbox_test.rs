//! Questions on the example bench: 883 Wh at half load from one test, a station of 1000 W and 1000 Wh.
use super::*;
use crate::example_bench;
use crate::kinds;
use crate::letter;
use crate::notebook::{Claim, Notebook, Test};
use crate::repeat::outcomes;
use crate::report::report;
use std::sync::Arc;

fn bench(change: impl Fn(&mut Notebook)) -> Report {
    let example = kinds::find("usable-energy").unwrap().example();
    let mut n = example_bench::notebook();
    let condition = Condition::from([("load".into(), "50 %".into())]);
    let claim = Claim {
        id: "u".into(),
        key: "usable-energy".into(),
        text: "850 Wh".into(),
        source: "box".into(),
        seen: "2026-05-01".into(),
        condition,
        ..Claim::default()
    };
    n.models[0].claims.push(claim);
    n.tests = vec![Test { id: "t1".into(), ..example.test }];
    change(&mut n);
    let n = Arc::new(n);
    report(n.clone(), Arc::new(outcomes(&n)), "2026-06-30")
}

fn asked(about: &str) -> ReaderQuestion {
    ReaderQuestion { about: about.into(), model: "m1".into(), ..ReaderQuestion::default() }
}

#[test]
fn a_result_answers_and_its_claim_is_told_with_it() {
    let report = bench(|_| {});
    let Standing::Answered { paragraph, tests, .. } = standing(&report, &asked("usable-energy")) else {
        panic!()
    };
    assert!(paragraph.starts_with("Example 1000: 883 ± "), "{paragraph}");
    assert!(paragraph.ends_with("The maker states 850 Wh: met. One test."), "{paragraph}");
    assert_eq!(tests, ["t1"]);
    // Nobody named: the same sentence for each station that was tested.
    let all = standing(&report, &ReaderQuestion { model: String::new(), ..asked("usable-energy") });
    assert!(matches!(all, Standing::Answered { paragraph: p, .. } if p == paragraph));
}

#[test]
fn what_was_not_tested_names_the_kind_of_test() {
    let report = bench(|_| {});
    let missing = |q: &ReaderQuestion| match standing(&report, q) {
        Standing::NotTested { kind, why, .. } => (kind, why),
        other => panic!("{other:?}"),
    };
    let (kind, why) = missing(&asked("noise"));
    assert_eq!((kind.as_str(), why.as_str()), ("noise", "Example 1000: noise was not tested"));
    assert_eq!(missing(&asked(NOTHING)).0, "");
    // One discharge gives no law for 10 W; the kind that would is the discharge.
    assert_eq!(missing(&ReaderQuestion { watts: 10.0, ..asked(RUNTIME) }).0, "usable-energy");
    let cold = Condition::from([("load".into(), "25 %".into())]);
    let (_, why) = missing(&ReaderQuestion { condition: cold, ..asked("usable-energy") });
    assert!(why.ends_with("was tested, but not under this condition"), "{why}");
    assert_eq!(standing(&report, &asked("")), Standing::Unsorted);
}

#[test]
fn own_words_take_the_place_and_reports_and_private_ones_stay_here() {
    let report = bench(|_| {});
    let own = ReaderQuestion { answer: "Not before autumn.".into(), ..asked("noise") };
    let said = standing(&report, &own);
    assert!(matches!(&said, Standing::Answered { paragraph, .. } if paragraph == "Not before autumn."));
    assert!(published(&own, &said));
    assert!(!published(&ReaderQuestion { private: true, ..own.clone() }, &said));
    assert!(!published(&ReaderQuestion { wants: Wants::Report, ..own }, &said));
    assert!(!published(&asked(""), &Standing::Unsorted));
}

/// A device that keeps somebody well is answered with its caution first.
#[test]
fn devices_are_asked_with_their_caution() {
    let report = bench(|_| {});
    let mut q = ReaderQuestion { devices: "lamp, 500 W, 1 h/day".into(), ..asked(DEVICES) };
    let Standing::NotTested { kind, why, .. } = standing(&report, &q) else { panic!() };
    let reason = "Example 1000: 500 W together; the maker states 1000 W, that much was not tried here";
    assert_eq!((kind.as_str(), why.as_str()), ("sustained-output", reason));
    q.devices = "CPAP, 40 W, 8 h/day, medical".into();
    q.model.clear();
    let Standing::Answered { paragraph, .. } = standing(&report, &q) else { panic!() };
    assert!(
        paragraph.to_lowercase().contains("medical")
            || paragraph.contains("health")
            || paragraph.contains("life"),
        "{paragraph}"
    );
    q.devices = "lamp".into();
    assert!(matches!(standing(&report, &q), Standing::NotTested { kind, .. } if kind.is_empty()));
}

#[test]
fn words_propose_a_model_a_result_and_a_load() {
    let report = bench(|_| {});
    let g = guess(&report, "How heavy is the Example 1000?");
    assert_eq!((g.model.as_str(), g.keys.first()), ("m1", Some(&"mass")));
    let g = guess(&report, "How many hours does it run a 60 watt lamp?");
    assert!(g.keys.contains(&RUNTIME) && g.watts == Some(60) && g.model.is_empty(), "{g:?}");
    assert_eq!(guess(&report, "Hello!"), Guess::default());
}

/// The letter on the same bench: every claim with what was found, no serial number, the rule, the question.
#[test]
fn a_letter_holds_every_claim_and_nothing_private() {
    let report = bench(|n| n.specimens[0].serial = "SN-12345".into());
    let draft = letter::draft(&report, &report.models[0], "the press office", "2026-07-14");
    for part in [
        "To: the press office\n",
        "Usable energy, load 50 %: stated 850 Wh (box, seen 2026-05-01); measured 883 ± ",
        "(one test); met (p",
        "Output held to empty: stated 1000 W; not tested.",
        "Please answer by 14 July 2026",
        "met from a probability of 0.95",
        "One sample was tested.",
        "Kinds of test: Usable energy.",
    ] {
        assert!(draft.text.contains(part), "{part}: {}", draft.text);
    }
    assert!(!draft.text.contains("SN-12345"));
    let carried: Vec<_> = draft.facts.iter().map(|c| c.fact.as_str()).collect();
    for fact in ["m1/claim/usable-energy/load-50", "m1/usable-energy/load-50", "m1/claim/sustained-output"] {
        assert!(carried.contains(&fact), "{fact}: {carried:?}");
    }
    assert_eq!(
        carried.len(),
        carried.iter().collect::<std::collections::BTreeSet<_>>().len(),
        "each fact once"
    );
}
