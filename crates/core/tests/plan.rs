//! The plan of bench days: what is missing, in an order a person can follow.
use jiff::civil::date;
use std::sync::Arc;
use trueplate_core::example_bench;
use trueplate_core::notebook::{Claim, Notebook};
use trueplate_core::plan::{DAY, Plan, plan};
use trueplate_core::repeat::outcomes;
use trueplate_core::report::report;

fn planned(change: impl Fn(&mut Notebook)) -> Plan {
    let mut notebook = example_bench::notebook();
    for (key, text) in
        [("time-to-full", "100 min"), ("mass", "12 kg"), ("switchover", "20 ms"), ("cycles", "3000")]
    {
        let claim = Claim { id: key.into(), key: key.into(), text: text.into(), ..Claim::default() };
        notebook.models[0].claims.push(claim);
    }
    change(&mut notebook);
    let outcomes = outcomes(&notebook);
    let report = report(Arc::new(notebook), Arc::new(outcomes), "2026-05-03");
    plan(&report, "m1", date(2026, 5, 4).at(7, 30, 0, 0)).unwrap()
}

#[test]
fn every_claim_that_can_be_tested_has_a_step() {
    let plan = planned(|_| ());
    let kinds: Vec<&str> = plan.steps.iter().map(|s| s.kind.as_str()).collect();
    for kind in ["usable-energy", "idle-draw", "recharge", "sustained-output", "mass", "switchover"] {
        assert!(kinds.contains(&kind), "{kind} is not in {kinds:?}");
    }
    assert_eq!(kinds.iter().filter(|k| **k == "usable-energy").count(), 3);
    assert!(plan.missing.iter().all(|w| !w.why.contains("3000")), "nothing tests cycles");
}

#[test]
fn steps_follow_each_other_and_attended_ones_stay_within_the_day() {
    let plan = planned(|_| ());
    for pair in plan.steps.windows(2) {
        assert_eq!(pair[0].until, pair[1].at);
    }
    for step in plan.steps.iter().filter(|s| s.attended) {
        assert!(step.at < step.until, "{step:?}");
        assert!(step.at.hour() >= DAY.0 && step.at.date() == step.until.date(), "{step:?}");
    }
}

#[test]
fn no_discharge_without_a_full_battery_and_no_charge_twice() {
    let plan = planned(|_| ());
    let mut full = false;
    for step in &plan.steps {
        match step.kind.as_str() {
            "charge" | "recharge" => {
                assert!(!full, "charged twice at {}", step.at);
                full = true;
            }
            "usable-energy" | "sustained-output" => {
                assert!(full, "empty at {}", step.at);
                full = false;
            }
            "idle-draw" if step.attended => full = false,
            "idle-draw" => assert!(full, "empty at {}", step.at),
            _ => (),
        }
    }
    // 1 kWh: three discharges, an idle night, full power, recharges between: a few days, not a week.
    assert!(plan.calendar_h < 120.0 && plan.elapsed_h < 60.0, "{} {}", plan.calendar_h, plan.elapsed_h);
}

#[test]
fn what_is_measured_is_not_planned_again() {
    let plan = planned(|n| {
        let example = trueplate_core::kinds::find("usable-energy").unwrap().example();
        n.tests.push(example.test);
    });
    let shares: Vec<_> = plan
        .missing
        .iter()
        .filter(|w| w.kind == "usable-energy")
        .map(|w| w.condition["load"].clone())
        .collect();
    assert_eq!(shares, ["25 %", "80 %"]);
}

#[test]
fn a_model_that_is_not_there_has_no_plan() {
    let notebook = example_bench::notebook();
    let outcomes = outcomes(&notebook);
    let report = report(Arc::new(notebook), Arc::new(outcomes), "2026-05-03");
    assert!(plan(&report, "m9", date(2026, 5, 4).at(8, 0, 0, 0)).is_none());
}
