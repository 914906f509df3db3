//! Corrections of readings, claims and prices on the example bench, their effect worked out on paper.
use super::effect::effect;
use super::*;
use crate::example_bench;
use crate::judge::Verdict;
use crate::notebook::{Condition, Test};
use crate::outgoing::Video;
use crate::repeat::outcomes;
use crate::report::{Report, report};
use std::sync::Arc;

fn change(record: &str, id: &str, field: &str, old: &str, new: &str) -> Change {
    Change {
        seq: 7,
        stroke: 3,
        at: "2026-05-09T18:00:00Z".into(),
        record: record.into(),
        id: id.into(),
        field: field.into(),
        old: old.into(),
        new: new.into(),
        why: "digits swapped".into(),
    }
}

fn half() -> Condition {
    Condition::from([("load".into(), "50 %".into())])
}

/// Two models of 1000 W: m1 gave 0.882 kWh over 1 h 46 min, m2 0.865 kWh. m1 claims 865 Wh at half load and costs 699.
fn bench() -> Notebook {
    let example = kinds::find("usable-energy").unwrap().example();
    let mut n = example_bench::notebook();
    n.models[0].claims.push(Claim {
        id: "u".into(),
        key: "usable-energy".into(),
        text: "865 Wh".into(),
        condition: half(),
        ..Claim::default()
    });
    n.models[0].prices.push(Price {
        amount: 699.0,
        currency: "USD".into(),
        on: "2026-05-01".into(),
        kind: "list".into(),
        ..Price::default()
    });
    let test = Test { id: "t1".into(), ..example.test };
    let mut other = Test { id: "t2".into(), specimen: "s2".into(), ..test.clone() };
    other.entries.get_mut("counter_end").unwrap().text = "0.865 kWh".into();
    let mut model = n.models[0].clone();
    (model.id, model.name) = ("m2".into(), "Other 1000".into());
    model.claims.retain(|c| c.key == "sustained-output");
    let mut specimen = n.specimens[0].clone();
    (specimen.id, specimen.model) = ("s2".into(), "m2".into());
    n.models.push(model);
    n.specimens.push(specimen);
    n.tests = vec![test, other];
    n
}

fn computed(n: &Notebook) -> Report {
    let n = Arc::new(n.clone());
    report(n.clone(), Arc::new(outcomes(&n)), "2026-06-30")
}

/// 0.848 kWh was typed, 0.882 kWh is right. The meter's own 0.5 W over 106 min adds 0.9 Wh: 848.9 Wh, then 882.9 Wh.
/// Doubt: the meter's ± 1 % as a rectangle (0.58 %), from run to run 0.5 %, start up to 0.2 %: u ≈ 0.8 %, 7 Wh.
/// Claim of 865 Wh: 16 Wh missing is 2.3 u (p ≈ 0.01), so not met; 18 Wh to spare is 2.6 u, so met.
/// Place: 848.9 against 865.9 of the other is behind it, 882.9 before it; 17 Wh are 2.7 times the doubt of the
/// difference (the meter cancels; 0.5 % of both remain, 6.2 Wh), so no place is shared.
#[test]
fn a_changed_reading_turns_its_verdict_and_its_place() {
    let mut n = bench();
    n.changes.push(change("test", "t1", "/entries/counter_end/text", "\"0.848 kWh\"", "\"0.882 kWh\""));
    let found = all(&n);
    assert_eq!(found.len(), 1);
    let c = &found[0];
    assert_eq!((c.old.as_str(), c.new.as_str(), c.model.as_str()), ("0.848 kWh", "0.882 kWh", "m1"));
    assert_eq!((c.what.as_str(), c.test()), ("counter at the end", "t1"));
    let e = effect(&computed(&n), c).unwrap();
    assert_eq!(e.verdicts, [("Usable energy, load 50 %".into(), Verdict::NotMet, Verdict::Met)]);
    assert_eq!(e.ranks, [("Usable energy, load 50 %".into(), "2".into(), "1".into())]);
    let energy = e.facts.iter().find(|m| m.old.fact == "m1/usable-energy/load-50").unwrap();
    assert!(energy.old.rounded.starts_with("849 ± ") && energy.new.starts_with("883 ± "), "{energy:?}");
    assert!(energy.old.version.len() == 16 && energy.old.version != energy.version);
    // 699 USD / 848.9 Wh = 0.823; / 882.9 Wh = 0.792.
    let per = e.facts.iter().find(|m| m.old.fact == "m1/price-per-wh").unwrap();
    assert!(per.old.rounded.starts_with("0.82") && per.new.starts_with("0.79"), "{per:?}");
    assert_eq!(
        e.words(),
        "Verdict on usable energy, load 50 %: not met → met. Place in usable energy, load 50 %: 2 → 1."
    );
}

/// The same bench: subtitles that said 849 Wh at 1:02 and 699 dollars at 1:30. Only the first is stale.
#[test]
fn the_line_and_the_minute_that_carry_the_old_number_are_named() {
    let mut n = bench();
    n.changes.push(change("test", "t1", "/entries/counter_end/text", "\"0.848 kWh\"", "\"0.882 kWh\""));
    let now = computed(&n);
    let c = &all(&n)[0];
    let before = spread::report_before(&now, c).unwrap();
    let mut video = Video { id: "v".into(), model: "m1".into(), title: "Tested".into(), ..Video::default() };
    video.script.name = "tested.srt".into();
    let script = "1\n00:01:02,000 --> 00:01:05,000\nThe Example 1000 delivered 849 watt-hours at half load.\n\n2\n00:01:30,000 --> 00:01:33,000\nIts list price is 699 dollars.\n";
    let lines = spread::lines(&now, &before, &video, script);
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!((lines[0].line, lines[0].place().as_str()), (3, "1:02"));
    let text = spread::pinned("Example 1000", c, &effect(&now, c).unwrap(), &lines);
    for part in [
        "Correction, 9 May 2026: Example 1000.",
        "At 1:02: “849",
        "0.848 kWh → 0.882 kWh",
        "Why: digits swapped.",
        "not met → met",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

/// The maker's figure was typed 950 Wh; the box says 865 Wh. 883 ± 14 Wh: not met, then met.
#[test]
fn a_changed_claim_is_a_correction() {
    let mut n = bench();
    n.changes.push(change("model", "m1", "/claims/2/text", "\"950 Wh\"", "\"865 Wh\""));
    let found = all(&n);
    assert_eq!(found.len(), 1);
    let c = &found[0];
    assert_eq!((c.what.as_str(), c.of.clone()), ("claim: usable energy", Of::Claim("u".into())));
    assert_eq!((c.old.as_str(), c.new.as_str()), ("950 Wh (load 50 %)", "865 Wh (load 50 %)"));
    let e = effect(&computed(&n), c).unwrap();
    assert_eq!(e.verdicts, [("Usable energy, load 50 %".into(), Verdict::NotMet, Verdict::Met)]);
    assert!(
        e.facts.iter().any(|m| m.old.fact == "m1/claim/usable-energy/load-50" && m.old.rounded == "950 Wh")
    );
    assert!(e.ranks.is_empty());
}

#[test]
fn a_changed_price_is_a_correction_and_a_newer_one_is_not() {
    let mut n = bench();
    n.changes.push(change("model", "m1", "/prices/0/amount", "599.0", "699.0"));
    let c = all(&n);
    assert_eq!(
        (c[0].what.as_str(), c[0].old.as_str(), c[0].new.as_str()),
        ("list price of 2026-05-01", "599 USD", "699 USD")
    );
    let e = effect(&computed(&n), &c[0]).unwrap();
    assert!(e.facts.iter().any(|m| m.old.rounded == "599 USD" && m.new == "699 USD"), "{e:?}");
    // Seen anew on a later day in the same row: nothing was wrong.
    let mut n = bench();
    n.changes.push(change("model", "m1", "/prices/0/amount", "599.0", "699.0"));
    n.changes
        .push(Change { seq: 8, ..change("model", "m1", "/prices/0/on", "\"2026-04-01\"", "\"2026-05-01\"") });
    assert_eq!(all(&n), []);
}

/// A claim taken out by itself changes the list as a whole; its place in it is then another.
#[test]
fn a_claim_taken_out_is_withdrawn_and_later_ones_are_not_mistaken_for_it() {
    let mut n = bench();
    let whole = serde_json::to_value(&n.models[0].claims).unwrap();
    let gone = n.models[0].claims.remove(0);
    let now = serde_json::to_value(&n.models[0].claims).unwrap();
    n.changes.push(change("model", "m1", "/claims", &whole.to_string(), &now.to_string()));
    let found = all(&n);
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].old.as_str(), found[0].new.as_str()), ("1000 Wh", "withdrawn"));
    assert_eq!(found[0].of, Of::Claim(gone.id));
}

/// Twice corrected: each step shows its own old and new.
#[test]
fn a_chain_of_corrections_keeps_every_step() {
    let mut n = bench();
    n.changes.push(change("model", "m1", "/claims/2/text", "\"900 Wh\"", "\"950 Wh\""));
    n.changes.push(Change {
        seq: 9,
        stroke: 5,
        ..change("model", "m1", "/claims/2/text", "\"950 Wh\"", "\"865 Wh\"")
    });
    let steps: Vec<_> = all(&n).into_iter().map(|c| (c.old, c.new)).collect();
    let step = |a: &str, b: &str| (format!("{a} (load 50 %)"), format!("{b} (load 50 %)"));
    assert_eq!(steps, [step("900 Wh", "950 Wh"), step("950 Wh", "865 Wh")]);
}

fn of(field: &str, old: &str, new: &str) -> Vec<Correction> {
    let mut n = bench();
    n.changes.push(change("test", "t1", field, old, new));
    all(&n)
}

#[test]
fn the_first_writing_is_none() {
    assert!(of("/entries/counter_end/text", "null", "\"0.882 kWh\"").is_empty());
    assert!(of("", "null", "{\"kind\":\"mass\",\"entries\":{\"mass\":{\"text\":\"13 kg\"}}}").is_empty());
    assert!(of("/conditioning", "false", "false").is_empty());
    let mut n = bench();
    n.changes.push(change("model", "m1", "/claims/2", "null", "{\"id\":\"u\",\"text\":\"865 Wh\"}"));
    assert_eq!(all(&n), []);
}

#[test]
fn whole_records_are_taken_apart() {
    let old = "{\"day\":\"2026-05-03\",\"note\":\"private\",\"entries\":{\"mass\":{\"text\":\"13 kg\",\"note\":\"p\"}}}";
    let new = "{\"day\":\"2026-05-03\",\"note\":\"other\",\"entries\":{\"mass\":{\"text\":\"14 kg\",\"note\":\"q\"}}}";
    let found = of("", old, new);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].new, "14 kg");
    // One entry, replaced as a whole.
    assert_eq!(of("/entries/mass", "{\"text\":\"13 kg\"}", "{\"text\":\"14 kg\"}")[0].old, "13 kg");
}

#[test]
fn leaving_out_later_and_withdrawing_are_corrections() {
    assert_eq!(of("/excluded", "\"\"", "\"meter not reset\"")[0].old, "counts");
    let mut n = bench();
    let gone = n.tests.remove(0);
    let whole = serde_json::to_string(&gone).unwrap();
    n.changes.push(change("test", "t1", "", &whole, "null"));
    let c = &all(&n)[0];
    assert_eq!((c.new.as_str(), c.model.as_str()), ("withdrawn", "m1"));
    // Both verdicts fall with the only test: stored energy was bracketed from below alone, so that it could not tell.
    let e = effect(&computed(&n), c).unwrap();
    let fell = |title: &str, from| (title.to_string(), from, Verdict::NotTested);
    assert_eq!(
        e.verdicts,
        [fell("Stored energy", Verdict::CannotTell), fell("Usable energy, load 50 %", Verdict::Met)]
    );
}

#[test]
fn remarks_files_and_sellers_stay_private() {
    assert!(of("/note", "\"a\"", "\"b\"").is_empty());
    assert!(of("/entries/mass/files/0/name", "\"a\"", "\"b\"").is_empty());
    assert!(of("/entries/mass/at", "\"a\"", "\"b\"").is_empty());
    let mut n = bench();
    n.changes.push(change("model", "m1", "/note", "\"a\"", "\"b\""));
    n.changes.push(change("model", "m1", "/prices/0/seller", "\"a\"", "\"\""));
    n.changes.push(change("model", "m1", "/claims/2/words", "\"a\"", "\"\""));
    assert_eq!(all(&n), []);
}
