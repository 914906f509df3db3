//! One station, one claim, one meter, one test: from what is written down to the verdict, checked on paper.
use std::sync::Arc;
use trueplate_core::judge::Verdict;
use trueplate_core::kinds;
use trueplate_core::notebook::{Claim, Condition, Notebook};
use trueplate_core::repeat::outcomes;
use trueplate_core::report::{Report, report};

fn half() -> Condition {
    Condition::from([("load".into(), "50 %".into())])
}

fn bench(change: impl Fn(&mut Notebook)) -> Report {
    let example = kinds::find("usable-energy").unwrap().example();
    let mut notebook = example.notebook;
    notebook.tests.push(example.test);
    let claim = Claim {
        id: "u".into(),
        key: "usable-energy".into(),
        text: "850 Wh".into(),
        condition: half(),
        ..Claim::default()
    };
    notebook.models[0].claims.push(claim);
    change(&mut notebook);
    let outcomes = outcomes(&notebook);
    report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30")
}

#[test]
fn energy_with_its_budget() {
    // Counter 0 → 882 Wh over 1 h 46 min; own draw 0.5 W · 106/60 h = 0.8833 Wh: E = 882.8833 Wh.
    // u: gain 882·0.01/√3 = 5.09223; step 1/√12 = 0.288675; start 0.002·882.8833/√3 = 1.019466;
    // repeatability 0.005·882.8833 = 4.414417. Root of the sum of squares: 6.82239.
    let r = bench(|_| ());
    let v = r.models[0].value("usable-energy", &half()).unwrap();
    assert!((v.x - 882.8833).abs() < 5e-5, "{}", v.x);
    assert!((v.u() - 6.8224).abs() < 5e-4, "{}", v.u());
}

#[test]
fn verdicts_follow_the_claim() {
    let verdict = |text: &str| {
        let r = bench(|n| n.models[0].claims.last_mut().unwrap().text = text.into());
        r.models[0].claims.last().unwrap().verdict
    };
    // 882.9 ± 13: margins of −33/6.82 = −4.8 u, +1 u, 0 u, −1 u and +4 u.
    assert_eq!(verdict("850 Wh"), Verdict::Met);
    assert_eq!(verdict("876 Wh"), Verdict::ProbablyMet);
    assert_eq!(verdict("883 Wh"), Verdict::CannotTell);
    assert_eq!(verdict("890 Wh"), Verdict::ProbablyNotMet);
    assert_eq!(verdict("912 Wh"), Verdict::NotMet);
    assert_eq!(verdict("850 W"), Verdict::ClaimUnclear);
}

#[test]
fn other_conditions_are_printed_not_judged() {
    let r = bench(|n| {
        n.models[0].claims.last_mut().unwrap().condition.insert("load".into(), "25 %".into());
    });
    let row = r.models[0].claims.last().unwrap();
    assert_eq!(row.verdict, Verdict::ConditionsDiffer);
    assert!(row.measured.is_some() && row.p.is_none());
}

#[test]
fn a_run_stopped_by_hand_gives_no_energy() {
    let r = bench(|n| n.tests[0].entries.get_mut("cause").unwrap().text = "stopped".into());
    assert!(r.models[0].value("usable-energy", &half()).is_none());
    assert_eq!(r.models[0].claims.last().unwrap().verdict, Verdict::NotTested);
    assert!(r.models[0].findings.iter().any(|(_, f)| f.code == "not-ended-empty"));
}

#[test]
fn watts_typed_for_watt_hours_are_refused_with_the_reason() {
    let r = bench(|n| n.tests[0].entries.get_mut("counter_end").unwrap().text = "882 W".into());
    let wrong = r.models[0].findings.iter().find(|(_, f)| f.code == "wrong-unit").unwrap();
    assert!(wrong.1.text.contains("how fast"), "{}", wrong.1.text);
    assert!(r.models[0].rows.is_empty());
}

#[test]
fn without_provenance_there_is_no_publishing() {
    let r = bench(|n| n.specimens[0].provenance.clear());
    assert_eq!(r.models[0].gate[0].code, "no-provenance");
    assert!(r.models[0].gate[0].text.contains("Example 1000"));
}

#[test]
fn giving_up_above_the_claim_says_nothing_against_it() {
    let verdict = |watts: &str| {
        let example = kinds::find("sustained-output").unwrap().example();
        let mut notebook = example.notebook;
        let mut test = example.test;
        test.entries.get_mut("power").unwrap().text = watts.into();
        test.entries.get_mut("cause").unwrap().text = "trip".into();
        notebook.tests.push(test);
        let outcomes = outcomes(&notebook);
        let r = report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30");
        r.models[0].claims.iter().find(|c| c.claim.key == "sustained-output").unwrap().verdict
    };
    // Claim 1000 W; ± 1 % of reading, rectangular, so the power was within ± 10 W. At 1005 W it may have been 995 W:
    // the share above 1000 is 15/20 = 0.75, not 0.95. At 1015 W every power it may have been is above 1000 W.
    assert_eq!(verdict("1005 W"), Verdict::NotMet);
    assert_eq!(verdict("1015 W"), Verdict::NotTested);
}
