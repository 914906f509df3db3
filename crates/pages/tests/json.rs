//! The keys that programs rely on, and what they must mean.
mod bench;

use serde_json::Value as Json;
use trueplate_core::notebook::Notebook;

fn data(change: impl Fn(&mut Notebook)) -> Json {
    let mut notebook = bench::notebook();
    change(&mut notebook);
    trueplate_pages::json::report(&bench::computed(notebook))
}

fn model<'j>(data: &'j Json, id: &str) -> &'j Json {
    let models = data["models"].as_array().expect("models");
    models.iter().find(|m| m["id"] == id).expect("the model")
}

fn find<'j>(list: &'j Json, key: &str, value: &str) -> &'j Json {
    let found = list.as_array().expect("a list").iter().find(|x| x[key] == value);
    found.unwrap_or_else(|| panic!("no {key} {value} in {list}"))
}

#[test]
fn every_promised_key_is_there() {
    let data = data(|_| ());
    for key in ["decision_rule", "as_of", "instruments"] {
        assert!(!data["bench"][key].is_null(), "{key}");
    }
    assert_eq!(data["bench"]["as_of"], "2026-06-30");
    let fell = model(&data, "u06");
    for key in ["id", "name", "specimens", "results", "verdicts", "law", "ranks", "findings"] {
        assert!(fell.get(key).is_some(), "{key}");
    }
    assert_eq!(fell["specimens"][0]["firmware"], "2.1");
    assert_eq!(fell["specimens"][0]["came"], "lent");
    for key in ["key", "condition", "specimen", "firmware", "value", "n", "tests", "superseded"] {
        assert!(fell["results"][0].get(key).is_some(), "{key}");
    }
    for key in ["claim", "condition", "claimed", "measured", "p", "n", "k", "bound", "verdict"] {
        assert!(fell["verdicts"][0].get(key).is_some(), "{key}");
    }
    assert!(!data.to_string().contains("SN-PRIVATE"));
}

#[test]
fn values_carry_their_unit_and_standard_uncertainty() {
    let data = data(|_| ());
    let mass = find(&model(&data, "u06")["results"], "key", "mass");
    // Read as 13.30 kg in steps of 0.05 kg: u = 0.05 / √12 = 0.014434 kg. UCUM: kg.
    assert_eq!(mass["value"]["unit"], "kg");
    assert!((mass["value"]["value"].as_f64().unwrap() - 13.30).abs() < 1e-9);
    assert!((mass["value"]["u"].as_f64().unwrap() - 0.014_434).abs() < 1e-6);
    assert_eq!(mass["n"], 1);
    assert_eq!(mass["condition"]["with"], "alone");
    let switch = find(&model(&data, "u06")["results"], "key", "switchover");
    // Median of the twenty times typed: (9.3 + 9.5) / 2 = 9.4 ms.
    assert_eq!(switch["value"]["unit"], "ms");
    assert!((switch["value"]["value"].as_f64().unwrap() - 9.4).abs() < 1e-9);
}

#[test]
fn what_is_not_known_is_null_and_never_zero() {
    let data = data(|n| {
        let test = n.tests.iter_mut().find(|t| t.id == "t30").expect("the weighing");
        test.entries.values_mut().for_each(|e| e.instrument.clear());
    });
    let ember = model(&data, "u03");
    assert!(find(&ember["results"], "key", "mass")["value"]["u"].is_null());
    assert!(ember["law"].is_null());
    let cycles = find(&model(&data, "u06")["verdicts"], "claim", "cycles");
    assert_eq!(cycles["verdict"], "not-tested");
    assert!(cycles["measured"].is_null() && cycles["p"].is_null() && cycles["n"].is_null());
    assert_eq!(find(&ember["verdicts"], "claim", "switchover")["verdict"], "claim-unclear");
}

#[test]
fn trials_are_counted() {
    let data = data(|_| ());
    let switch = find(&model(&data, "u06")["verdicts"], "claim", "switchover");
    // Of the twenty times typed seven are above 10 ms: 12.4 10.2 13.1 10.9 11.8 10.4 11.2.
    assert_eq!((switch["n"].as_u64(), switch["k"].as_u64()), (Some(20), Some(7)));
    assert_eq!(switch["verdict"], "not-met");
    // Exact one-sided 95 % bound for 7 of 20: the p at which a binomial count of 20 is 7 or less with 5 %:
    // checked below by the definition itself.
    let bound = switch["bound"].as_f64().unwrap();
    let at_most_7: f64 = (0..=7).map(|k| choose(20, k) * bound.powi(k) * (1.0 - bound).powi(20 - k)).sum();
    assert!((at_most_7 - 0.05).abs() < 1e-6, "{bound}: {at_most_7}");
    assert!(switch["p"].is_null());
}

fn choose(n: i32, k: i32) -> f64 {
    (1..=k).map(|i| f64::from(n - k + i) / f64::from(i)).product()
}

#[test]
fn findings_say_code_weight_where_and_test() {
    let data = data(|n| {
        let test = n.tests.iter_mut().find(|t| t.id == "t01").expect("a discharge");
        test.entries.get_mut("counter_end").expect("its counter").text = "917 W".into();
    });
    let finding = find(&model(&data, "u06")["findings"], "code", "wrong-unit");
    assert_eq!((finding["test"].as_str(), finding["where"].as_str()), (Some("t01"), Some("counter_end")));
    assert_eq!(finding["weight"], "gap");
    assert!(finding["text"].is_string() && finding["hint"].is_string());
    let gate = &model(&data, "u14")["gate"];
    assert_eq!(gate[0]["code"], "no-provenance");
}

#[test]
fn the_law_and_the_places_are_there_where_tests_allow() {
    let data = data(|_| ());
    let law = &model(&data, "u06")["law"];
    assert_eq!(law["specimen"], "u06a");
    assert_eq!(law["covariance"].as_array().map(Vec::len), Some(3));
    assert_eq!(law["held_out"][0]["test"], "t06");
    let place = &model(&data, "u06")["ranks"]["usable-energy load=50 %"];
    assert_eq!((place["low"].as_u64(), place["high"].as_u64()), (Some(1), Some(1)));
    assert_eq!(place["confidence"], 0.95);
}

#[test]
fn facts_are_complete_and_money_has_a_currency_and_no_unit_of_measure() {
    let report = bench::computed(bench::notebook());
    let all = trueplate_core::facts::all(&report);
    let json: Json = serde_json::from_str(&trueplate_pages::json::facts(&all)).expect("one document");
    let facts = json["facts"].as_array().expect("facts");
    assert_eq!(facts.len(), all.current.len());
    for fact in facts {
        for key in [
            "id",
            "version",
            "model",
            "name",
            "key",
            "title",
            "condition",
            "sort",
            "value",
            "seen",
            "rounded",
            "spoken",
            "wording",
            "do_not_say",
            "tests",
            "as_of",
            "former",
        ] {
            assert!(fact.get(key).is_some(), "{key} is not in {fact}");
        }
        // An amount is money or has a unit of the Unified Code, and never passes money off as a plain number.
        let (unit, currency) = (&fact["value"]["unit"], fact["value"].get("currency"));
        assert_eq!(fact["sort"] == "price", currency.is_some(), "{fact}");
        assert!(currency.is_none() || unit != "1", "{fact}");
        assert!(currency.is_some() || unit.is_string(), "{fact}");
    }
    let of = |key: &str| facts.iter().find(|f| f["key"] == key).unwrap_or_else(|| panic!("no fact of {key}"));
    // The Fell was seen for 699 dollars on 6 June 2026 (the bench of these tests).
    let price = of("price");
    assert_eq!((&price["value"]["currency"], &price["value"]["unit"]), (&"USD".into(), &Json::Null));
    assert_eq!((&price["value"]["value"], &price["seen"]), (&699.0.into(), &"2026-06-06".into()));
    let per = of("price-per-wh");
    assert_eq!((&per["value"]["unit"], &per["value"]["currency"]), (&"/(W.h)".into(), &"USD".into()));
    // A share is told in the unit it is shown in: per cent, between 1 and 100.
    let share = of("usable-share");
    assert_eq!(share["value"]["unit"], "%");
    assert!((1.0..100.0).contains(&share["value"]["value"].as_f64().expect("a number")), "{share}");
}

#[test]
fn a_price_without_its_day_may_not_be_printed() {
    let mut notebook = bench::notebook();
    let fell = notebook.models.iter_mut().find(|m| m.id == "u06").expect("the Fell");
    let price =
        trueplate_core::notebook::Price { on: String::new(), amount: 555.0, ..fell.prices[0].clone() };
    fell.prices.push(price);
    let all = trueplate_core::facts::all(&bench::computed(notebook));
    let undated = all.former.iter().find(|f| f.value.x == 555.0).expect("it is known as a former price");
    assert!(!undated.may_be_printed());
    assert!(all.current.iter().all(|f| f.may_be_printed()));
}
