//! Stations side by side: what can be asked, what a filter keeps, how it is sorted, what is said beside it.
use crate::bench::{U05, U06, U08, U10, U11, U13, U14, bench as notebook, computed, switched};
use trueplate_core::beside::{Order, Query, beside};
use trueplate_core::filter::{Clause, Held, Side, filter};
use trueplate_core::front::Standing;
use trueplate_core::notebook::{Firmware, Notebook, Price, Specimen, Test};
use trueplate_core::number::Marks;
use trueplate_core::property::{Property, properties};
use trueplate_core::report::Report;

fn seven() -> Report {
    let mut notebook = notebook(&[U05, U06, U08, U10, U11, U13, U14]);
    switched(&mut notebook, &U06, "9.1 8.7 12.4");
    switched(&mut notebook, &U10, "21 19 24");
    computed(notebook)
}

fn at(all: &[Property], key: &str) -> usize {
    all.iter().position(|p| p.key == key).unwrap_or_else(|| panic!("no {key}"))
}

fn read(report: &Report, text: &str) -> Vec<Clause> {
    filter(text, &properties(report), Marks::Point).unwrap_or_else(|f| panic!("{text}: {f:?}"))
}

fn code(report: &Report, text: &str) -> String {
    let found = filter(text, &properties(report), Marks::Point).expect_err(text);
    assert!(found.iter().all(|f| f.place.starts_with('`') && !f.hint.is_empty()), "{found:?}");
    found[0].code.clone()
}

#[test]
fn a_filter_is_read_as_typed() {
    let report = seven();
    let all = properties(&report);
    let got = read(&report, "idle draw < 12 W and switchover < 15 ms");
    assert_eq!(
        got.iter().map(|c| all[c.property].key.as_str()).collect::<Vec<_>>(),
        ["idle-draw", "switchover load=half"]
    );
    // Kept in W and h: 15 ms are 15/3,600,000 h.
    assert_eq!((got[0].limit, got[0].side), (12.0, Side::Below));
    assert!((got[1].limit - 15.0 / 3.6e6).abs() < 1e-15);
    for text in [
        "idle draw at most 12 W, switchover under 15 ms",
        "Idle draw, AC on ≤ 0.012 kW; switchover no more than 15 ms",
        "idle-draw<=12W\nswitchover < 0.015 s",
        "IDLE DRAW < 12 W AND SWITCHOVER < 15 ms",
    ] {
        let other = read(&report, text);
        assert_eq!(other.len(), 2, "{text}");
        assert!(
            other
                .iter()
                .zip(&got)
                .all(|(a, b)| a.property == b.property && (a.limit - b.limit).abs() < 1e-12)
        );
    }
    let energy = read(&report, "usable energy, load 50 % > 0.8 kWh, price at most 1,299 USD");
    assert_eq!(all[energy[0].property].key, "usable-energy load=50 %");
    assert_eq!((energy[0].limit, energy[0].side, energy[1].limit), (800.0, Side::Above, 1299.0));
    assert_eq!(read(&report, "price < $700")[0].limit, 700.0);
    assert!(read(&report, "  \n").is_empty());
    let comma = filter("idle draw < 12,5 W", &all, Marks::Comma).unwrap();
    assert_eq!(comma[0].limit, 12.5);
}

#[test]
fn slips_in_a_filter_are_named() {
    let report = seven();
    for (text, want) in [
        ("idle draw 12 W", "no-comparison"),
        ("idle draw < 12 Wh", "wrong-unit"),
        ("idle draw < 12", "no-unit"),
        ("idle draw < much", "not-a-number"),
        ("colour < 3 W", "unknown-property"),
        ("< 12 W", "no-property"),
        ("usable energy > 800 Wh", "several-properties"),
        ("5 W < idle draw < 12 W", "two-comparisons"),
        ("idle draw < 5 W or mass < 9 kg", "or-unknown"),
        ("price < 700", "no-unit"),
        ("price < 700 EUR", "other-currency"),
        ("price < cheap", "not-a-number"),
        ("€ < 5 <", "two-comparisons"),
    ] {
        assert_eq!(code(&report, text), want, "{text}");
    }
    let several = filter("usable energy > 800 Wh", &properties(&report), Marks::Point).unwrap_err();
    assert!(several[0].text.contains("load 25 %") && several[0].text.contains("load 50 %"), "{several:?}");
    // Each fault is told, not the first alone.
    assert_eq!(filter("idle draw 5; mass", &properties(&report), Marks::Point).unwrap_err().len(), 2);
}

#[test]
fn a_filter_keeps_what_may_hold_and_says_what_it_cannot_tell() {
    let report = seven();
    let all = properties(&report);
    let query = |text: &str| Query { columns: vec![0], filter: read(&report, text), ..Query::default() };
    let ids = |text: &str| {
        beside(&report, &all, &query(text)).lines.iter().map(|l| l.model.id.clone()).collect::<Vec<_>>()
    };
    // Hidden idle draws: 8.41, 10.29, 17.30, 16.35, 15.64, 35.85, 29.81 W.
    assert_eq!(ids("idle draw < 13 W"), ["u05", "u06"]);
    assert_eq!(ids("idle draw > 25 W"), ["u13", "u14"]);
    assert_eq!(ids("idle draw < 13 W and switchover < 15 ms"), ["u06"]);
    let got = beside(&report, &all, &query("switchover < 15 ms"));
    let why = |id: &str| got.left_out.iter().find(|(m, _)| m.id == id).map(|(_, why)| why.clone()).unwrap();
    assert!(
        why("u05").ends_with("not tested") && why("u10") == "not switchover < 15 ms",
        "{} {}",
        why("u05"),
        why("u10")
    );
    // A limit at the very value: inside the interval.
    let idle = report.models[1].at(&report.columns[all[at(&all, "idle-draw")].column().unwrap()]).unwrap();
    let got = beside(&report, &all, &query(&format!("idle draw < {} W", idle.x)));
    let line = got.lines.iter().find(|l| l.model.id == "u06").unwrap();
    assert!(line.open[0].contains("cannot tell"), "{:?}", line.open);
    let none = beside(&report, &all, &query("idle draw < 1 W"));
    assert!(none.lines.is_empty());
    assert_eq!(none.findings[0].code, "filter-keeps-none");
    assert!(none.findings[0].text.contains("7: not idle draw < 1 W"), "{}", none.findings[0].text);
}

#[test]
fn conditions_that_never_meet_leave_nobody_and_say_so() {
    let report = seven();
    let all = properties(&report);
    let filter = read(&report, "idle draw < 13 W and idle draw > 25 W");
    let got = beside(&report, &all, &Query { columns: vec![0], filter, ..Query::default() });
    assert!(got.lines.is_empty() && got.left_out.len() == 7);
    assert_eq!(got.findings[0].code, "filter-keeps-none");
    assert!(got.findings[0].hint.contains("loosen"));
}

#[test]
fn the_unknown_stands_last_either_way() {
    let report = seven();
    let all = properties(&report);
    let price = at(&all, "price list USD without tax");
    let ids = |order| {
        let query = Query { columns: vec![price], sort: Some((0, order)), ..Query::default() };
        beside(&report, &all, &query).lines.iter().map(|l| l.model.id.clone()).collect::<Vec<_>>()
    };
    // 649, 699, 849, 1299, 1499, 2699; the Barge has no dated price.
    assert_eq!(ids(Order::Best), ["u05", "u06", "u08", "u10", "u11", "u13", "u14"]);
    assert_eq!(ids(Order::Worst), ["u13", "u11", "u10", "u08", "u06", "u05", "u14"]);
    let query = Query { columns: vec![price], sort: Some((0, Order::Best)), ..Query::default() };
    let got = beside(&report, &all, &query);
    assert_eq!(got.lines[6].cells[0].why, "no dated price");
    // 1 May to 30 June is 60 days.
    assert!(got.lines[2].cells[0].old && got.lines[2].cells[0].notes.contains(&"60 days old".to_string()));
    assert!(!got.lines[0].cells[0].old);
    assert_eq!((got.lines[0].places[0].as_ref().unwrap().low, got.lines[6].places[0].is_none()), (1, true));
}

#[test]
fn the_front_and_the_weights_over_price_and_energy() {
    let report = seven();
    let all = properties(&report);
    let columns = vec![
        at(&all, "usable-energy load=50 %"),
        at(&all, "price list USD without tax"),
        at(&all, "idle-draw"),
    ];
    let got = beside(
        &report,
        &all,
        &Query { columns: columns.clone(), weights: vec![1.0, 1.0, 0.0], ..Query::default() },
    );
    let of = |id: &str| got.lines.iter().find(|l| l.model.id == id).unwrap();
    // The Lantern gives more than the Fell and costs more, but draws 17.3 W where the Cairn draws 16.35: the Cairn gives
    // more, draws less and costs more, so all of them stand. The Barge has no price.
    assert!(
        ["u05", "u06", "u08", "u10", "u11", "u13"].iter().all(|id| of(id)
            .standing
            .as_ref()
            .unwrap()
            .stands())
    );
    assert!(of("u14").standing.is_none() && of("u14").weighed.is_none());
    // Without the price: the Barge gives more than the Colossus and draws 6 W less, beyond doubt. The Granary gives more
    // than the Cairn and draws 0.7 W less, which one meter and one night cannot tell.
    let two = beside(&report, &all, &Query { columns: vec![columns[0], columns[2]], ..Query::default() });
    let standing = |id: &str| two.lines.iter().find(|l| l.model.id == id).unwrap().standing.clone().unwrap();
    assert_eq!(standing("u13"), Standing::Beaten(vec![6]));
    assert_eq!(standing("u10"), Standing::Perhaps(vec![4]));
    assert_eq!(two.lines.iter().find(|l| l.model.id == "u10").unwrap().beaten_by, ["u11"]);
    // Wayfarer: worst energy, best price: score 1/2. Colossus: the other way round. In between the energy at half load:
    // E/(P + a + qP²)·P. Shares add up to one.
    assert!((of("u05").weighed.as_ref().unwrap().score - 0.5).abs() < 1e-9);
    assert!((of("u13").weighed.as_ref().unwrap().score - 0.5).abs() < 1e-9);
    let sum: f64 = got.lines.iter().filter_map(|l| l.weighed.as_ref()).map(|w| w.share).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    // Highest score first; nobody has more than the Granary or the Cairn, between both ends.
    assert!(["u10", "u11"].contains(&got.lines[0].model.id.as_str()));
    let zero = beside(&report, &all, &Query { columns, weights: vec![0.0; 3], ..Query::default() });
    assert_eq!(zero.findings[0].code, "weights-all-0");
}

fn second_sample(mut notebook: Notebook, firmware: &str, revision: u32) -> Report {
    let tests: Vec<Test> = notebook.tests.clone();
    notebook.specimens.push(Specimen {
        id: "u06-b".into(),
        model: "u06".into(),
        label: "sample B".into(),
        firmware: vec![Firmware { version: firmware.into(), from: String::new() }],
        ..Specimen::default()
    });
    notebook.tests.iter_mut().for_each(|t| t.revision = 1);
    notebook.tests.extend(tests.into_iter().map(|t| Test {
        id: format!("b-{}", t.id),
        specimen: "u06-b".into(),
        firmware: firmware.into(),
        revision,
        ..t
    }));
    computed(notebook)
}

#[test]
fn what_is_not_alike_is_said() {
    let half = |report: &Report| {
        let all = properties(report);
        let query = Query { columns: vec![at(&all, "usable-energy load=50 %")], ..Query::default() };
        let got = beside(report, &all, &query);
        (got.lines[0].cells[0].clone(), got.remarks[0].clone())
    };
    let one = computed(notebook(&[U06]));
    let (alone, _) = half(&one);
    assert!(alone.notes.is_empty());
    let (cell, remark) = half(&second_sample(notebook(&[U06]), "2", 2));
    assert!(cell.notes.contains(&"different firmware: 1 and 2".to_string()), "{:?}", cell.notes);
    assert!(cell.notes.contains(&"revisions 1 and 2 of the method together".to_string()), "{:?}", cell.notes);
    assert!(remark.contains("revisions 1 and 2"), "{remark}");
    // Two samples widen the interval: their own spread comes in (s = 1.2 %, so 1.2 %/√2 = 0.85 % more).
    let (two, _) = half(&second_sample(notebook(&[U06]), "1", 1));
    assert_eq!(two.notes, ["2 samples"]);
    let (a, b) = (alone.value.unwrap(), two.value.unwrap());
    assert!(b.u() > a.u() && (b.u() / b.x) > 0.008, "{} {}", a.u(), b.u());
    let mut other = notebook(&[U05, U06]);
    other.models[1].mains_v = 230.0;
    assert_eq!(half(&computed(other)).1, "stations for 120 V and 230 V together");
}

#[test]
fn prices_of_another_basis_have_columns_of_their_own() {
    let mut notebook = notebook(&[U05, U06]);
    notebook.models[0].prices.push(Price {
        amount: 599.0,
        currency: "EUR".into(),
        on: "2026-06-20".into(),
        kind: "list".into(),
        with_tax: true,
        ..Price::default()
    });
    notebook.models[1].claims.push(crate::bench::claim("cycles", "3000".into()));
    let report = computed(notebook);
    let all = properties(&report);
    let euro = at(&all, "price list EUR tax inside");
    let life = at(&all, "price-per-lifetime-kwh list USD without tax");
    let got = beside(&report, &all, &Query { columns: vec![euro, life], ..Query::default() });
    assert_eq!(got.lines[0].cells[0].value.as_ref().unwrap().x, 599.0);
    assert_eq!(got.lines[1].cells[0].why, "no price in EUR");
    assert_eq!(got.lines[0].cells[1].why, "no cycles stated");
    // 955 Wh store at 575 W: 575·955/(575 + 10.29 + 3.3e-5·575²) = 921 Wh; 699/(3000·0.921·0.9) = 0.281 USD a kWh.
    let fell = &got.lines[1].cells[1];
    assert!((fell.value.as_ref().unwrap().x - 0.281).abs() < 0.001, "{fell:?}");
    assert!(fell.notes.iter().any(|n| n.contains("untested")), "{fell:?}");
    let price = Clause { property: euro, side: Side::Below, limit: 600.0, text: "price".into() };
    assert_eq!(
        (price.held(&got.lines[0].cells[0]), price.held(&got.lines[1].cells[0])),
        (Held::Yes, Held::Unknown)
    );
}
