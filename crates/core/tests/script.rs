//! The script check on statements right and wrong in known ways.
#[path = "script/bench.rs"]
mod bench;

use std::fmt::Write;
use trueplate_core::facts;
use trueplate_core::report::Report;
use trueplate_core::script::{Format, Judgement, check};

/// Right verdicts on the wrong ones, false alarms on the right ones, right ones that found their record; shares.
struct Score {
    caught: f64,
    alarms: f64,
    matched: f64,
    failures: String,
}

fn score(report: &Report, set: &str) -> Score {
    let (mut wrong, mut caught, mut right, mut alarms, mut meant, mut matched) = (0, 0, 0, 0, 0, 0);
    let mut failures = String::new();
    for row in set.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty()) {
        let (expected, text) = row.split_once('\t').expect("two columns");
        let checked = check(report, text, Format::Text, None);
        let flagged: Vec<&str> =
            checked.lines.iter().filter(|l| l.judgement != Judgement::Agrees).map(|l| l.judgement.key()).collect();
        let agreed = checked.counts["agrees"];
        let fine = match expected {
            "quiet" | "agrees" => {
                right += 1;
                alarms += usize::from(!flagged.is_empty());
                meant += usize::from(expected == "agrees");
                matched += usize::from(expected == "agrees" && agreed > 0);
                flagged.is_empty() && (expected == "quiet" || agreed > 0)
            }
            _ => {
                let hit = !flagged.is_empty() && flagged.iter().all(|j| *j == expected);
                wrong += 1;
                caught += usize::from(hit);
                hit
            }
        };
        if !fine {
            writeln!(failures, "{expected}: {text}").unwrap();
            for l in &checked.lines {
                writeln!(failures, "    {} `{}` {:?} {:?} {}", l.judgement.key(), l.says, l.fact, l.record, l.hint).unwrap();
            }
        }
    }
    let share = |a: usize, of: usize| a as f64 / of as f64;
    Score { caught: share(caught, wrong), alarms: share(alarms, right), matched: share(matched, meant), failures }
}

#[test]
fn statements_of_the_set_are_judged_rightly() {
    let s = score(&bench::bench(), include_str!("script/set.tsv"));
    println!("caught {:.3}, false alarms {:.3}, matched {:.3}\n{}", s.caught, s.alarms, s.matched, s.failures);
    assert!(s.caught >= 0.95 && s.alarms <= 0.03 && s.matched >= 0.95, "{} {} {}\n{}", s.caught, s.alarms, s.matched, s.failures);
}

#[test]
fn held_out_statements_are_judged_rightly() {
    let s = score(&bench::bench(), include_str!("script/held.tsv"));
    println!("caught {:.3}, false alarms {:.3}, matched {:.3}\n{}", s.caught, s.alarms, s.matched, s.failures);
    assert!(s.caught >= 0.90 && s.alarms <= 0.05, "{} {} {}\n{}", s.caught, s.alarms, s.matched, s.failures);
}

#[test]
fn the_bench_yields_what_its_comments_say() {
    for f in facts::facts(&bench::bench()) {
        println!("{} | {} | {} | {}", f.id, f.rounded, f.spoken, f.wording);
    }
    for f in facts::all(&bench::bench()).former {
        println!("FORMER {} | {} | {}", f.id, f.rounded, f.former);
    }
}

/// A script of about 5,000 words: statements of the set over and over.
fn long_script() -> String {
    let said: Vec<&str> =
        include_str!("script/set.tsv").lines().filter_map(|l| l.split_once('\t')).map(|(_, t)| t).collect();
    let mut text = String::new();
    let mut words = 0;
    for line in said.iter().cycle() {
        text.push_str(line);
        text.push('\n');
        words += line.split(' ').count();
        if words > 5000 {
            break;
        }
    }
    text
}

#[test]
fn half_an_hour_of_script_is_checked_at_once() {
    let report = bench::bench();
    let text = long_script();
    let began = std::time::Instant::now();
    let f = facts::facts(&report).len();
    println!("facts {f} {:?}", began.elapsed());
    let began = std::time::Instant::now();
    let checked = check(&report, "Hello.", Format::Text, None);
    println!("one word {} {:?}", checked.lines.len(), began.elapsed());
    let began = std::time::Instant::now();
    let checked = check(&report, &text, Format::Text, None);
    println!("script {} {:?}", checked.lines.len(), began.elapsed());
}
