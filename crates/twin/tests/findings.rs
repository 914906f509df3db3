//! What the invented stations are known to hide, found by the program from the written pages alone. Expected findings
//! and numbers: the hidden tables in `data/stations.json` and its `oracle` blocks, computed apart from this project's
//! Rust code. Nothing here is known to the program.
use std::sync::{Arc, LazyLock};
use trueplate_core::claims::ClaimRow;
use trueplate_core::judge::{self, Verdict};
use trueplate_core::notebook::{Condition, Notebook};
use trueplate_core::repeat::outcomes;
use trueplate_core::report::{ModelReport, Report, report};
use trueplate_twin::bench::notebook;
use trueplate_twin::day::DEMO_SEED;
use trueplate_twin::truth::{truth, truths};

fn computed(change: impl Fn(&mut Notebook)) -> Report {
    of_seed(DEMO_SEED, change)
}

fn of_seed(seed: u64, change: impl Fn(&mut Notebook)) -> Report {
    let mut notebook = notebook(seed);
    change(&mut notebook);
    let outcomes = outcomes(&notebook);
    report(Arc::new(notebook), Arc::new(outcomes), "")
}

static DEMO: LazyLock<Report> = LazyLock::new(|| computed(|_| {}));

fn model<'a>(report: &'a Report, id: &str) -> &'a ModelReport {
    report.models.iter().find(|m| m.id == id).unwrap()
}

fn claim<'a>(report: &'a Report, id: &str, claim: &str) -> &'a ClaimRow {
    model(report, id).claims.iter().find(|c| c.claim.id == claim).unwrap()
}

fn verdict(id: &str, of: &str) -> Verdict {
    claim(&DEMO, id, of).verdict
}

/// Measured value of a claim in the unit it is shown in.
fn measured(row: &ClaimRow) -> f64 {
    row.result.unwrap().shown_in().shown(row.measured.as_ref().unwrap().x)
}

fn near(got: f64, truth: f64, tolerance: f64) {
    assert!((got - truth).abs() <= tolerance, "{got} against {truth} ± {tolerance}");
}

fn at(axes: &[(&str, &str)]) -> Condition {
    axes.iter().map(|(a, v)| ((*a).to_string(), (*v).to_string())).collect()
}

/// The current value of a result, in the unit it is kept in, and its 95 % half-width.
fn value(id: &str, key: &str, axes: &[(&str, &str)]) -> (f64, f64) {
    let v = model(&DEMO, id).value(key, &at(axes)).unwrap();
    (v.x, v.half95())
}

fn has(id: &str, code: &str) -> bool {
    model(&DEMO, id).findings.iter().any(|(_, f)| f.code == code)
}

#[test]
fn u01_is_not_full_in_120_minutes() {
    let row = claim(&DEMO, "U01", "charge");
    assert_eq!(row.verdict, Verdict::NotMet);
    near(measured(row), truth("U01").unwrap().oracle.t100, 4.0);
    assert!(has("U01", "counter-step-coarse"));
}

// At the limit: the verdict is whatever the rule says of the readings.
#[test]
fn verdicts_at_the_limit_follow_the_rule() {
    for (id, of) in
        [("U02", "charge"), ("U04", "charge"), ("U09", "charge"), ("U10", "charge"), ("U11", "charge")]
    {
        let row = claim(&DEMO, id, of);
        let p = judge::p_kept(row.measured.as_ref().unwrap(), row.limit.unwrap(), false);
        assert_eq!(row.verdict, judge::word(p, &DEMO.notebook.settings), "{id}");
        assert_eq!(row.p, Some(p), "{id}");
    }
    // U04: 70.4 min against 70, read to the minute: the claim can be neither met nor surely kept.
    let row = claim(&DEMO, "U04", "charge");
    near(measured(row), 70.4, 1.3);
    assert!(!matches!(row.verdict, Verdict::Met | Verdict::ProbablyMet), "{:?}", row.verdict);
    // U02: 163.7 min against 165, U09: 63.9 against 65: kept by about a minute.
    for (id, t) in [("U02", 163.7), ("U09", 63.9)] {
        near(measured(claim(&DEMO, id, "charge")), t, 1.5);
        assert!(!claim(&DEMO, id, "charge").verdict.against(), "{id}");
    }
}

// Wall energy from empty cells 458 Wh: the 480 Wh cannot be inside.
#[test]
fn u03_cannot_hold_what_it_claims() {
    let row = claim(&DEMO, "U03", "stored");
    assert_eq!(row.verdict, Verdict::NotMet);
    assert!(row.why.starts_with("impossible"), "{}", row.why);
    near(measured(row), truth("U03").unwrap().oracle.wall_empty, 7.0);
    let row = claim(&DEMO, "U03", "continuous");
    assert_eq!(row.verdict, Verdict::NotMet);
    assert!(row.why.contains("it tripped after 75 s"), "{}", row.why);
    assert_eq!(verdict("U03", "mass"), Verdict::NotMet);
    // Dies at 11 % shown; list price only.
    near(value("U03", "shown-at-end", &[("load", "50 %")]).0, 0.11, 1e-9);
    assert_eq!(model(&DEMO, "U03").price.price.as_ref().unwrap().amount, 199.0);
}

// The other thirteen pass both bounds: out ≤ cells ≤ in.
#[test]
fn nobody_else_is_accused_of_stored_energy() {
    for m in DEMO.models.iter().filter(|m| m.id != "U03") {
        let row = m.claims.iter().find(|c| c.claim.id == "stored").unwrap();
        assert_eq!(row.verdict, Verdict::CannotTell, "{}: {}", m.id, row.why);
        assert!(row.why.contains("the cells hold between"), "{}", row.why);
    }
}

// 67 min in the fast mode it claims, 108 min as delivered.
#[test]
fn u05_charges_slower_than_claimed_and_its_default_is_another_condition() {
    let row = claim(&DEMO, "U05", "charge");
    assert_eq!(row.verdict, Verdict::NotMet);
    near(measured(row), 67.0, 1.5);
    let slow = computed(|n| n.tests.retain(|t| t.entries.get("mode").is_none_or(|m| m.text != "fast")));
    let row = claim(&slow, "U05", "charge");
    assert_eq!((row.verdict, row.p), (Verdict::ConditionsDiffer, None));
    near(measured(row), 108.0, 2.0);
    // A 12 W router dies after 60 min.
    assert!(has("U05", "switched-off-low-load"));
}

// Mean 9.4, sd 1.8 ms on 2.1 and 8.1, sd 1.5 on 2.3, against 10 ms.
#[test]
fn u06_switches_over_too_late_before_the_update_and_both_are_shown() {
    let before = computed(|n| {
        n.tests.retain(|t| t.firmware != "2.3");
        n.specimens.iter_mut().for_each(|s| s.firmware.retain(|f| f.version != "2.3"));
    });
    let row = claim(&before, "U06", "switchover");
    assert_eq!(row.verdict, Verdict::NotMet);
    let counted = row.counted.as_ref().unwrap();
    assert!(counted.n == 20 && (3..=12).contains(&counted.k), "{} of {}", counted.k, counted.n);
    let rows: Vec<_> = model(&DEMO, "U06").rows.iter().filter(|r| r.result.key == "switchover").collect();
    assert_eq!(rows.len(), 2);
    for (row, (firmware, mean, old)) in rows.iter().zip([("2.1", 9.4, true), ("2.3", 8.1, false)]) {
        assert_eq!((row.firmware.as_str(), row.superseded), (firmware, old));
        // The median of 20 scatters by 1.25·sd/√20 ≈ 0.5 ms.
        near(row.value.x * 3.6e6, mean, 1.5);
    }
    assert!(has("U06", "measured-on-older-firmware"));
}

#[test]
fn u07_holds_four_fifths_of_what_it_claims() {
    let row = claim(&DEMO, "U07", "continuous");
    assert_eq!(row.verdict, Verdict::NotMet);
    assert!(row.why.contains("it tripped after 17 min"), "{}", row.why);
    assert!(row.why.contains("it tripped after 22 min"), "{}", row.why);
    near(measured(row), 1400.0, 15.0);
    assert_eq!(row.specimens.iter().filter(|s| *s == "U07-A").count(), 1);
    let of = |sample: &str, load: &str| {
        let rows = &model(&DEMO, "U07").rows;
        let fits = |r: &&trueplate_core::repeat::ResultRow| {
            r.specimen == sample && r.result.key == "usable-energy" && r.condition == at(&[("load", load)])
        };
        rows.iter().find(fits).unwrap().value.x
    };
    // The lent sample holds more (1,093 against 1,074 Wh); more load, less energy (949 to 906 Wh).
    assert!(of("U07-A", "50 %") > of("U07-B", "50 %"));
    assert!(of("U07-B", "25 %") > of("U07-B", "80 %"));
}

// 18.2 W and 11.0 W at the battery are 17.3 and 10.5 W at the outlet (k1 0.052).
#[test]
fn u08_idles_less_after_its_update() {
    let rows: Vec<_> = model(&DEMO, "U08").rows.iter().filter(|r| r.result.key == "idle-draw").collect();
    assert_eq!(rows.len(), 2);
    for (row, (firmware, watts, old)) in rows.iter().zip([("1.0.7", 17.30, true), ("1.2.0", 10.46, false)]) {
        assert_eq!((row.firmware.as_str(), row.superseded), (firmware, old));
        near(row.value.x, watts, row.value.half95());
    }
    assert_eq!(verdict("U08", "switchover"), Verdict::ClaimUnclear);
    assert_eq!(verdict("U08", "boost"), Verdict::ClaimUnclear);
    // The heater got 1,160 W: held, but nobody asked it for 1,450 W.
    assert_eq!(verdict("U08", "continuous"), Verdict::CannotTell);
    near(measured(claim(&DEMO, "U08", "continuous")), 1160.0, 12.0);
    // 18 of 20 restarts.
    near(value("U08", "rides-through", &[("load", "small")]).0, 0.1, 1e-9);
    assert_eq!(verdict("U08", "mass"), Verdict::NotMet);
    assert_eq!(verdict("U08", "charge"), Verdict::NotMet);
}

// Held for half a second (hidden): 600 W of 640, 560 of 900, 2,900 of 3,500, 2,100 of 2,900; 1,150 of 1,100, 5,100 of 4,700.
#[test]
fn starting_power_is_held_or_not() {
    for id in ["U01", "U02", "U03", "U05", "U06", "U07", "U08", "U09", "U12", "U13", "U14"] {
        assert_eq!(verdict(id, "surge"), Verdict::NotMet, "{id}");
        let row = claim(&DEMO, id, "surge");
        // What it did hold is printed beside it, and is no more than the truth but for the meter's doubt.
        assert!(measured(row) <= 1.02 * truth(id).unwrap().surge_w.1, "{id}: {}", measured(row));
    }
    for id in ["U04", "U11"] {
        assert_eq!(verdict(id, "surge"), Verdict::Met, "{id}");
    }
    // 4,300 of 4,300: just at the limit.
    assert!(!verdict("U10", "surge").against(), "{:?}", verdict("U10", "surge"));
}

// Mean 26.5 ms against 20.
#[test]
fn u09_switches_over_too_late() {
    let row = claim(&DEMO, "U09", "switchover");
    assert_eq!(row.verdict, Verdict::NotMet);
    assert!(row.counted.as_ref().unwrap().k >= 15);
}

// 169 min on an ordinary circuit, 147 on a 20 A one, against 150: the claim does not say which.
#[test]
fn u13_depends_on_the_circuit() {
    let row = claim(&DEMO, "U13", "charge");
    assert_eq!((row.verdict, row.p), (Verdict::ConditionsDiffer, None));
    near(measured(row), 169.0, 2.5);
    assert!(row.why.contains("circuit larger"), "{}", row.why);
    // 3,500 W over both legs; one leg stops at 1,750 W and says nothing against the claim.
    assert!(matches!(verdict("U13", "continuous"), Verdict::Met));
    assert!(has("U13", "output-not-held"));
    assert_eq!(verdict("U13", "switchover"), Verdict::NotMet);
    near(value("U13", "shown-at-end", &[("load", "50 %")]).0, 0.08, 0.011);
    let (idle, u) = value("U13", "idle-draw", &[]);
    near(idle, truth("U13").unwrap().oracle.a, u);
}

#[test]
fn u14_has_no_dated_price_and_is_heavier_and_slower() {
    let m = model(&DEMO, "U14");
    assert!(m.price.per_wh.is_none());
    assert_eq!(m.price.why, "no dated price");
    assert!(has("U14", "price-undated"));
    assert_eq!(verdict("U14", "mass"), Verdict::NotMet);
    assert_eq!(verdict("U14", "charge"), Verdict::NotMet);
    near(measured(claim(&DEMO, "U14", "charge")), 126.0, 2.0);
    // It gives less from 15 % of its energy on.
    assert_eq!(verdict("U14", "continuous"), Verdict::NotMet);
    assert!(claim(&DEMO, "U14", "continuous").why.contains("gave less"));
}

#[test]
fn u12_is_priced_in_another_currency() {
    assert_eq!(model(&DEMO, "U12").price.why, "no price in USD");
    assert!(
        model(&DEMO, "U12")
            .at(DEMO.columns.iter().find(|c| c.result.key == "usable-energy").unwrap())
            .is_some()
    );
}

/// Minutes of the charge claim, and what a perfect clock would read as delivered.
fn charge_truth(id: &str) -> f64 {
    let t = truth(id).unwrap();
    match t.charge_claim.starts_with("80 %") {
        true => t.oracle.t80,
        false => t.oracle.t100,
    }
}

/// No verdict may contradict the hidden truth: not `met` for a broken claim, not `not met` for a kept one. The seed of
/// the demo was chosen, so others are asked too.
#[test]
fn no_verdict_is_false() {
    none_false(&DEMO, DEMO_SEED);
    for seed in 1000..1004 {
        none_false(&of_seed(seed, |_| {}), seed);
    }
}

fn none_false(report: &Report, seed: u64) {
    for t in truths() {
        let held = !matches!(t.id.as_str(), "U03" | "U07" | "U14");
        let charge = claim(report, &t.id, "charge");
        let kept = [
            ("mass", t.mass_kg.1 <= t.mass_kg.0),
            ("continuous", held),
            ("stored", t.cell_wh >= t.claim_wh),
            ("surge", t.surge_w.1 >= t.surge_w.0),
            ("charge", charge_truth(&t.id) <= charge.limit.unwrap() * 60.0),
        ];
        for (of, kept) in kept {
            let row = claim(report, &t.id, of);
            // 0.4 min beyond its claim: there the rule itself lets some runs pass.
            if (t.id.as_str(), of) == ("U04", "charge") && seed != DEMO_SEED {
                continue;
            }
            let says_kept = matches!(row.verdict, Verdict::Met | Verdict::ProbablyMet);
            assert!(!says_kept || kept, "{} {of}: {:?} is false", t.id, row.verdict);
            assert!(!row.verdict.against() || !kept, "{} {of}: {:?} is false", t.id, row.verdict);
        }
        // Three and a half deviations inside the limit, a late trial is not to be expected in twenty.
        let (Some((mean, sd)), Some(row)) =
            (t.switchover_ms, model(report, &t.id).claims.iter().find(|c| c.claim.id == "switchover"))
        else {
            continue;
        };
        let Some(limit) = row.limit.map(|h| h * 3.6e6) else { continue };
        if t.id != "U06" && mean + 3.5 * sd < limit {
            assert!(!row.verdict.against(), "{}", t.id);
        }
        if mean > limit {
            assert_eq!(row.verdict, Verdict::NotMet, "{}", t.id);
        }
    }
}

/// Usable energy against the oracle, each within its own interval but for one in twenty, idle draws likewise.
#[test]
fn intervals_hold_the_oracle() {
    let (mut hits, mut all) = (0, 0);
    for t in truths().iter().filter(|t| t.id != "U07") {
        let loads = [("25 %", t.oracle.e25), ("50 %", t.oracle.e50), ("80 %", t.oracle.e80)];
        for (load, wh) in loads {
            // U14 gives less near its end, so its 80 % run is no steady load.
            let Some(v) = model(&DEMO, &t.id).value("usable-energy", &at(&[("load", load)])) else {
                continue;
            };
            if (t.id.as_str(), load) != ("U14", "80 %") {
                all += 1;
                hits += u32::from((v.x - wh).abs() <= v.half95());
            }
        }
        let watts = if t.id == "U08" { 10.46 } else { t.oracle.a };
        if let Some(v) = model(&DEMO, &t.id).value("idle-draw", &Condition::new()) {
            all += 1;
            hits += u32::from((v.x - watts).abs() <= v.half95());
        }
    }
    println!("{hits} of {all} intervals hold the oracle");
    assert!(all >= 40, "{all}");
    // 50 tries of 95 %: fewer than 43 has a probability below 1 %; gains are shared, so a few more may miss together.
    assert!(f64::from(hits) >= 0.84 * f64::from(all), "{hits} of {all}");
}

#[test]
fn nothing_stands_in_the_way_of_publishing() {
    assert!(DEMO.models.iter().all(|m| m.gate.is_empty()));
    assert_eq!(DEMO.models.len(), 14);
    assert_eq!(DEMO.as_of, "2026-06-30");
}

/// Everything a person reads in what was noticed: of models, of their curves, of what stands in the way of publishing.
fn told(report: &Report) -> Vec<String> {
    let of_model = |m: &ModelReport| {
        let own = m.findings.iter().map(|(_, f)| f).chain(&m.gate);
        let all: Vec<String> = own
            .chain(m.drains.iter().flat_map(|d| &d.findings))
            .map(|f| format!("{} | {} | {}", f.place, f.text, f.hint))
            .collect();
        all
    };
    report.models.iter().flat_map(of_model).collect()
}

/// A test is named by its kind and its day, never by the id that the program made up; and a number below zero has a minus sign.
#[test]
fn what_was_noticed_is_written_for_a_person() {
    // 2.31 kWh read as 2.22 kWh, 4 % less: over five times what two equal runs differ by, and within the 5 % at which a
    // meter's energy and power are held against each other.
    let poor = computed(|n| {
        let test = n.tests.iter_mut().find(|t| t.id == "U12-A/usable-energy/2").unwrap();
        test.entries.get_mut("counter_end").unwrap().text = "2.22 kWh".into();
    });
    let misfit = told(&poor).into_iter().find(|t| t.contains("do not fit one law")).unwrap();
    // The upper 1 % point of χ² with 3 degrees of freedom is 11.345 (NIST/SEMATECH e-Handbook, 1.3.6.7.4).
    let said = [
        "“Usable energy, 23 April 2026, 13:02”",
        "χ² 11.4 with 3 degrees of freedom, p = 0.010",
        "by −2.9 %",
    ];
    said.iter().for_each(|words| assert!(misfit.contains(words), "{misfit}"));
    let mut signs = 0;
    for (report, text) in [&*DEMO, &poor].into_iter().flat_map(|r| told(r).into_iter().map(move |t| (r, t))) {
        for test in &report.notebook.tests {
            assert!(!text.contains(&test.id), "{text}");
        }
        let words = text.split([' ', '(']).filter(|w| w.len() > 1);
        for word in words {
            let number =
                |sign: char| word.strip_prefix(sign).is_some_and(|w| w.starts_with(char::is_numeric));
            assert!(!number('-'), "a hyphen before a number: {text}");
            signs += usize::from(number('−'));
        }
    }
    // (80 W shown, 18 W by counter and clock.)
    assert!(signs > 0);
    assert!(told(&DEMO).iter().any(|t| t.contains("the meter showed 80 W (−78 %)")));
}
