//! The script check on statements about the demo bench, whose fourteen stations share names, makers and sizes.
use std::fmt::Write;
use std::sync::{Arc, LazyLock};
use trueplate_core::repeat::outcomes;
use trueplate_core::report::{Report, report};
use trueplate_core::script::{Format, Judgement, Line, check};
use trueplate_twin::bench::notebook;
use trueplate_twin::day::DEMO_SEED;

/// Right judgements on the wrong statements, false alarms on the right ones, as shares, and what went amiss.
struct Score {
    caught: f64,
    alarms: f64,
    failures: String,
}

static BENCH: LazyLock<Report> = LazyLock::new(|| {
    let notebook = notebook(DEMO_SEED);
    let all = outcomes(&notebook);
    report(Arc::new(notebook), Arc::new(all), "2026-06-30")
});

/// The rows of a set with the lines found in each.
fn score(rows: &[(&str, &str)], found: impl Fn(usize) -> Vec<Line>) -> Score {
    let (mut wrong, mut caught, mut right, mut alarms) = (0, 0, 0, 0);
    let mut failures = String::new();
    for (i, (expected, text)) in rows.iter().enumerate() {
        let lines = found(i);
        let flags: Vec<Judgement> =
            lines.iter().map(|l| l.judgement).filter(|j| *j != Judgement::Agrees).collect();
        let fine = match *expected {
            "agrees" | "quiet" => {
                right += 1;
                alarms += usize::from(!flags.is_empty());
                flags.is_empty()
            }
            _ => {
                let fair: Vec<&str> = expected.split('|').collect();
                assert!(fair.iter().all(|e| Judgement::ALL.iter().any(|j| j.key() == *e)), "{expected}");
                let hit = !flags.is_empty() && flags.iter().all(|j| fair.contains(&j.key()));
                wrong += 1;
                caught += usize::from(hit);
                hit
            }
        };
        if !fine {
            writeln!(failures, "{expected}: {text}\n    {lines:?}").expect("a string takes all");
        }
    }
    let share = |a: usize, of: usize| f64::from(a as u32) / f64::from(of as u32);
    Score { caught: share(caught, wrong), alarms: share(alarms, right), failures }
}

fn rows(set: &str) -> Vec<(&str, &str)> {
    let of = |l: &&str| !l.starts_with('#') && !l.trim().is_empty();
    set.lines().filter(of).map(|l| l.split_once('\t').expect("two columns")).collect()
}

/// Wanted of the check: 95 % of the wrong statements with the right judgement, 3 % false alarms at most.
fn must_do(name: &str, s: &Score) {
    println!("{name}: caught {:.3}, false alarms {:.3}\n{}", s.caught, s.alarms, s.failures);
    assert!(s.caught >= 0.95 && s.alarms <= 0.03, "{name}\n{}", s.failures);
}

#[test]
fn statements_about_the_demo_are_judged_rightly() {
    let rows = rows(include_str!("script/demo.tsv"));
    must_do("demo", &score(&rows, |i| check(&BENCH, rows[i].1, Format::Text, None).lines));
}

/// The rows of whole scripts, and the lines found in each.
fn whole(set: &'static str) -> (Vec<(&'static str, &'static str)>, Vec<Vec<Line>>) {
    let parts = set.split("# --- ").skip(1);
    let scripts: Vec<_> = parts.map(|p| rows(p.split_once('\n').expect("a title and rows").1)).collect();
    let check_whole = |rows: &Vec<(&str, &str)>| {
        let text = rows.iter().map(|r| r.1).collect::<Vec<_>>().join("\n\n");
        let lines = check(&BENCH, &text, Format::Text, None).lines;
        let of = |i: usize| lines.iter().filter(|l| l.line == 2 * i + 1).cloned().collect();
        (0..rows.len()).map(of).collect::<Vec<Vec<Line>>>()
    };
    let found = scripts.iter().flat_map(check_whole).collect();
    (scripts.concat(), found)
}

/// Whole scripts, a row to a paragraph: what a number speaks of is told by the paragraphs before it.
#[test]
fn whole_scripts_about_the_demo_are_judged_rightly() {
    let (rows, found) = whole(include_str!("script/aloud.tsv"));
    must_do("aloud", &score(&rows, |i| found[i].clone()));
}

/// Twenty-eight speakers more, of whom it has not learnt all yet: no fewer than it understands today, and no more false alarms
/// than are wanted.
#[test]
fn other_speakers_are_understood_as_well_as_before() {
    let (rows, found) = whole(include_str!("script/heard.tsv"));
    let s = score(&rows, |i| found[i].clone());
    println!("heard: caught {:.3}, false alarms {:.3}\n{}", s.caught, s.alarms, s.failures);
    assert!(s.caught >= 0.87 && s.alarms <= 0.03, "heard: {:.3}, {:.3}\n{}", s.caught, s.alarms, s.failures);
}
