//! Will it run mine: what is said to questions and readings that cannot be.
use super::bench::Served;
use super::client::{encoded, get, hidden, multipart, post};

fn ask(s: &Served, devices: &str, days: &str, solar: &str) -> String {
    let address =
        format!("/answer?devices={}&days={}&solar={}", encoded(devices), encoded(days), encoded(solar));
    let a = get(s.port, &address);
    assert_eq!(a.status, 200, "{}", a.body);
    a.body.replace("&#39;", "'")
}

#[test]
fn each_slip_is_named_with_its_line_and_nothing_typed_is_lost() {
    let s = Served::demo();
    for (devices, days, solar, said) in [
        ("lamp, 0 W", "1", "", "0 W is no power a device can take"),
        ("router, 12 W\nlamp, -5 W", "1", "", "Line 2: lamp, -5 W"),
        ("lamp, 60 Wh", "1", "", "here a power is asked"),
        ("router, 12 W\n\nlamp, 60 W, 25 h/day", "1", "", "Line 3: lamp, 60 W, 25 h/day"),
        ("lamp, 60 W, 25 h/day", "1", "", "a day has 24"),
        ("fridge, 85 W, start 60 W", "1", "", "starting takes at least as much as running"),
        ("lamp, 60 W", "0", "", "write a time above 0 and up to 366 days"),
        ("lamp, 60 W", "soon", "", "write a time above 0 and up to 366 days"),
        ("lamp, 60 W", "400", "", "write a time above 0 and up to 366 days"),
        ("lamp, 60 W", "1", "0 W", "write the watts on their labels, above 0"),
        ("lamp, 60 W", "1", "400 Wh", "here a power is asked"),
        ("lamp, 60 W", "1", "sunny", "does not start with a number"),
    ] {
        let page = ask(&s, devices, days, solar);
        assert!(page.contains(said), "{devices} {days} {solar}: {said:?} is not in\n{page}");
        assert!(page.contains(devices) && !page.contains("What the bench says"), "{devices}");
    }
    // A decimal comma, a unit, and what is held against each station.
    let page = ask(&s, "lamp, 60 W, 4 h/day", "2,5 days", "0.4 kW");
    assert!(page.contains("What the bench says") && page.contains("Every limit"), "{page}");
    assert!(
        page.contains("W of panels would run it for ever") && page.contains("60\u{a0}W together"),
        "{page}"
    );
}

#[test]
fn a_medical_device_gets_hours_and_the_caution_and_no_station() {
    let s = Served::demo();
    let page = ask(&s, "CPAP, 24 W, 8 h/day", "1", "");
    assert!(page.contains("No station here is recommended for a medical device"), "{page}");
    assert!(!page.contains("Cheapest that suffices") && page.contains("Every limit"), "{page}");
}

#[test]
fn without_a_test_or_a_dated_price_nobody_is_recommended() {
    let s = Served::empty();
    post(s.port, "/model/new", &[("name", "Example 1000")]);
    assert!(ask(&s, "lamp, 60 W", "1", "").contains("no station has been tested yet"));
    let s = Served::example();
    let stand = hidden(&get(s.port, "/model/m1/price/new").body, "stand");
    let price =
        [("stand", stand.as_str()), ("amount", "700"), ("currency", "USD"), ("kind", "list"), ("on", "")];
    assert_eq!(post(s.port, "/model/m1/price/new", &price).status, 303);
    let page = ask(&s, "heater, 495 W, 0.5 h/day", "1", "");
    assert!(page.contains("no price can be compared") && page.contains("no dated price"), "{page}");
}

/// Begins a test of a kind with three cautions and keeps these answers; gives its page with all answers.
fn answered(s: &Served, kind: &str, answers: &[(&str, &str)]) -> String {
    let form = [("kind", kind), ("specimen", "s1"), ("day", "2026-05-04")];
    let ticks = [("caution-0", "1"), ("caution-1", "1"), ("caution-2", "1")];
    let begun = post(s.port, "/test/new", &[&form[..], &ticks[..]].concat());
    assert_eq!(begun.status, 303, "{}", begun.body);
    let test = begun.header("location").split('?').next().unwrap_or_default().to_string();
    for (field, text) in answers {
        let fields = [("field", *field), ("text", *text), ("instrument", ""), ("was", "")];
        let kept = multipart(s.port, &format!("{test}/keep"), &fields, &[], false);
        assert!(kept.status == 303, "{field}: {}", kept.body);
    }
    get(s.port, "/model/m1").body
}

#[test]
fn a_string_above_the_input_is_refused_with_the_danger() {
    let s = Served::example();
    // Three panels of 21.6 V at −10 °C and −0.35 %/K: 64.8·(1 + 0.0035·35) = 72.7 V on an input of 60 V.
    let answers = [
        ("rated", "60 V"),
        ("ambient", "23 °C"),
        ("panels", "3"),
        ("voc", "21.6 V"),
        ("start", "12 V"),
        ("highest", "58 V"),
        ("current", "15 A"),
        ("power", "400 W"),
    ];
    let page = answered(&s, "solar-bench", &answers);
    assert!(
        page.contains("DANGER: 3 in series reach 72.7 V at −10 °C; the input bears 60 V and no more"),
        "{page}"
    );
    assert!(page.contains("do not connect this string"), "{page}");
}

#[test]
fn an_irradiance_of_0_is_weather_not_a_test() {
    let s = Served::example();
    let answers = [
        ("ambient", "23 °C"),
        ("panel", "400 W"),
        ("power", "250 W"),
        ("irradiance", "0 W/m²"),
        ("cell", "45 °C"),
    ];
    let page = answered(&s, "solar-sky", &answers);
    assert!(page.contains("measure the irradiance"), "{page}");
}
