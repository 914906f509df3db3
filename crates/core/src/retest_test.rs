//! The queue on the example bench, one reason at a time. As of 2026-06-30.
use super::*;
use crate::example_bench;
use crate::instrument::Calibration;
use crate::kinds;
use crate::notebook::{Claim, Condition, Firmware, Price};
use crate::outgoing::{Letter, ReaderQuestion};
use crate::repeat::outcomes;
use crate::report::report;
use std::sync::Arc;

/// One sample, one test of usable energy (883 Wh at half load) on 2026-05-03.
fn bench() -> Notebook {
    let example = kinds::find("usable-energy").unwrap().example();
    let mut n = example_bench::notebook();
    n.tests = vec![Test { id: "t1".into(), day: "2026-05-03".into(), ..example.test }];
    n
}

fn asked(n: &Notebook) -> Vec<(Reason, Weight, String)> {
    let n = Arc::new(n.clone());
    let report = report(n.clone(), Arc::new(outcomes(&n)), "2026-06-30");
    queue(&report).into_iter().map(|r| (r.reason, r.weight, r.text)).collect()
}

fn only(n: &Notebook, reason: Reason) -> Vec<(Weight, String)> {
    asked(n).into_iter().filter(|(r, ..)| *r == reason).map(|(_, w, t)| (w, t)).collect()
}

#[test]
fn an_untested_model_asks_for_nothing() {
    let mut n = bench();
    n.tests.clear();
    assert_eq!(asked(&n), []);
}

#[test]
fn newer_firmware_than_tested() {
    let mut n = bench();
    let version = |v: &str| Firmware { version: v.into(), from: String::new() };
    n.specimens[0].firmware = vec![version("1.0"), version("1.2")];
    n.tests[0].firmware = "1.0".into();
    let text = "carries firmware 1.2, tested on 1.0: usable energy".to_string();
    assert_eq!(only(&n, Reason::Firmware), [(Weight::Doubt, text.clone())]);
    // Sent back: a note, since nothing can be done on this bench.
    n.specimens[0].returned = "2026-05-12".into();
    assert_eq!(only(&n, Reason::Firmware), [(Weight::Note, text)]);
    let mut again = n.tests[0].clone();
    (again.id, again.firmware) = ("t2".into(), "1.2".into());
    n.tests.push(again);
    assert_eq!(only(&n, Reason::Firmware), []);
}

/// Found 0.9 % high in April and 2.1 % high in June, each ± 0.3 %: moved by 1.2 %, more than 2·√2·0.3 % = 0.85 %.
#[test]
fn an_instrument_that_drifted_after_the_test() {
    let mut n = bench();
    let meter = n.instruments.iter_mut().find(|i| i.id == "meter").unwrap();
    let calibration =
        |on: &str, gain_error| Calibration { on: on.into(), gain_error, u: 0.003, ..Calibration::default() };
    meter.calibrations = vec![calibration("2026-04-01", 0.009), calibration("2026-06-10", 0.021)];
    let name = meter.name.clone();
    let text =
        format!("{name}, calibrated on 10 June 2026; one test was made before; it had drifted by 1.2 %");
    assert_eq!(only(&n, Reason::Recalibrated), [(Weight::Doubt, text)]);
    // Moved by 0.6 %: within both doubts.
    n.instruments.iter_mut().find(|i| i.id == "meter").unwrap().calibrations[1].gain_error = 0.015;
    assert_eq!(only(&n, Reason::Recalibrated), []);
    // The first calibration of all, after the test: computed again with it, worth knowing.
    n.instruments.iter_mut().find(|i| i.id == "meter").unwrap().calibrations.remove(0);
    assert_eq!(only(&n, Reason::Recalibrated)[0].0, Weight::Note);
    // Done before the test: nothing.
    n.instruments.iter_mut().find(|i| i.id == "meter").unwrap().calibrations[0].on = "2026-05-01".into();
    assert_eq!(only(&n, Reason::Recalibrated), []);
}

/// 883 Wh against a claim of 950 Wh is not met: on one sample that asks for a second.
#[test]
fn one_sample_that_speaks_against_the_maker() {
    let mut n = bench();
    assert_eq!(only(&n, Reason::OneSample), [(Weight::Note, "every result rests on one sample".into())]);
    let condition = Condition::from([("load".into(), "50 %".into())]);
    n.models[0].claims.push(Claim {
        id: "u".into(),
        key: "usable-energy".into(),
        text: "950 Wh".into(),
        condition,
        ..Claim::default()
    });
    assert_eq!(
        only(&n, Reason::OneSample),
        [(Weight::Gap, "one sample speaks against the maker: usable energy".into())]
    );
    let mut second = n.specimens[0].clone();
    second.id = "s2".into();
    n.specimens.push(second);
    assert_eq!(only(&n, Reason::OneSample), []);
}

/// 31 days from 30 May to 30 June; 30 are allowed.
#[test]
fn an_old_or_undated_price() {
    let mut n = bench();
    let price = |on: &str| Price {
        amount: 699.0,
        currency: "USD".into(),
        on: on.into(),
        kind: "list".into(),
        ..Price::default()
    };
    n.models[0].prices = vec![price("2026-05-30")];
    assert_eq!(
        only(&n, Reason::Price),
        [(Weight::Note, "the list price of 30 May 2026 is 31 days old, more than 30".into())]
    );
    n.models[0].prices = vec![price("2026-05-31")];
    assert_eq!(only(&n, Reason::Price), []);
    n.models[0].prices = vec![price("")];
    assert_eq!(only(&n, Reason::Price).len(), 1);
}

#[test]
fn makers_and_readers_who_object_come_first() {
    let mut n = bench();
    n.letters.push(Letter {
        id: "l".into(),
        model: "m1".into(),
        answered: "2026-05-20".into(),
        reply: Reply::Disputed,
        ..Letter::default()
    });
    let report = ReaderQuestion {
        id: "q".into(),
        model: "m1".into(),
        text: "Mine gave 700 Wh.".into(),
        on: "2026-06-01".into(),
        times: 2,
        wants: Wants::Report,
        about: "usable-energy".into(),
        ..ReaderQuestion::default()
    };
    n.questions.push(report);
    let found = asked(&n);
    assert_eq!(found[0].2, "the maker objected on 20 May 2026");
    assert_eq!(found[1].2, "2 readers reported on 1 June 2026: Mine gave 700 Wh");
    n.letters[0].reply = Reply::Stands;
    n.questions[0].settled = true;
    assert_eq!(asked(&n).len(), 1);
}
