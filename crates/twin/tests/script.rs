//! The script check on statements about the demo bench, whose fourteen stations share names, makers and sizes.
use std::fmt::Write;
use std::sync::Arc;
use trueplate_core::repeat::outcomes;
use trueplate_core::report::report;
use trueplate_core::script::{Format, Judgement, check};
use trueplate_twin::bench::notebook;
use trueplate_twin::day::DEMO_SEED;

/// Wanted of the check: 95 % of the wrong statements with the right judgement, 3 % false alarms at most.
#[test]
fn statements_about_the_demo_are_judged_rightly() {
    let notebook = notebook(DEMO_SEED);
    let all = outcomes(&notebook);
    let bench = report(Arc::new(notebook), Arc::new(all), "2026-06-30");
    let (mut wrong, mut caught, mut right, mut alarms) = (0, 0, 0, 0);
    let mut failures = String::new();
    let set = include_str!("script/demo.tsv");
    for row in set.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty()) {
        let (expected, text) = row.split_once('\t').expect("two columns");
        let checked = check(&bench, text, Format::Text, None);
        let flags: Vec<Judgement> =
            checked.lines.iter().map(|l| l.judgement).filter(|j| *j != Judgement::Agrees).collect();
        let fine = match expected {
            "agrees" | "quiet" => {
                right += 1;
                alarms += usize::from(!flags.is_empty());
                flags.is_empty()
            }
            _ => {
                assert!(Judgement::ALL.iter().any(|j| j.key() == expected), "{expected}");
                let hit = !flags.is_empty() && flags.iter().all(|j| j.key() == expected);
                wrong += 1;
                caught += usize::from(hit);
                hit
            }
        };
        if !fine {
            writeln!(failures, "{expected}: {text}\n    {:?}", checked.lines).expect("a string takes all");
        }
    }
    let share = |a: usize, of: usize| a as f64 / of as f64;
    let (caught, alarms) = (share(caught, wrong), share(alarms, right));
    println!("demo: caught {caught:.3}, false alarms {alarms:.3}\n{failures}");
    assert!(caught >= 0.95 && alarms <= 0.03, "{failures}");
}
