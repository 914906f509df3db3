//! What people really type: each wrong thing has its code, its place, its reason and a hint.
use trueplate_core::examine;
use trueplate_core::finding::{Finding, Weight};
use trueplate_core::kind::Outcome;
use trueplate_core::kinds;
use trueplate_core::notebook::Entry;

fn with(kind: &str, changes: &[(&str, &str)]) -> Outcome {
    let kind = kinds::find(kind).unwrap();
    let mut example = kind.example();
    example.notebook.settings.zone = "America/New_York".into();
    for (key, text) in changes {
        let instrument = example.test.entries.get(*key).map(|e| e.instrument.clone()).unwrap_or_default();
        let entry = Entry { text: (*text).into(), instrument, ..Entry::default() };
        example.test.entries.insert((*key).into(), entry);
    }
    examine::run(kind, &example.test, &example.notebook)
}

fn finding<'a>(out: &'a Outcome, code: &str) -> &'a Finding {
    let found = out.findings.iter().find(|f| f.code == code);
    let found = found.unwrap_or_else(|| panic!("no {code} in {:?}", out.findings));
    assert!(!found.place.is_empty() && !found.text.is_empty() && !found.hint.is_empty(), "{found:?}");
    found
}

#[test]
fn each_slip_is_named_and_gives_no_energy() {
    let slips = [
        (("counter_end", "882 W"), "wrong-unit"),
        (("counter_end", "882 parsec"), "unknown-unit"),
        (("counter_end", "a lot"), "not-a-number"),
        (("counter_end", "-5 Wh"), "negative"),
        (("counter_end", "0"), "counter-not-rising"),
        (("counter_end", ""), "missing"),
        (("counter_end", "1e12 Wh"), "out-of-range"),
        (("end", "25:10"), "not-a-time"),
        (("end", "2026-05-03 08:00"), "time-order"),
        (("cause", "because"), "no-such-choice"),
        (("cause", "low-load"), "not-ended-empty"),
        (("start_state", "not-full"), "start-not-full"),
    ];
    for (change, code) in slips {
        let out = with("usable-energy", &[change]);
        assert_eq!(finding(&out, code).weight, Weight::Gap, "{code}");
        assert!(out.results.is_empty(), "{code} still gave {:?}", out.results);
    }
}

#[test]
fn per_cent_over_a_hundred() {
    finding(&with("usable-energy", &[("shown_at_end", "101 %")]), "over-100-percent");
}

#[test]
fn noon_taken_for_midnight_shows_in_energy_against_power() {
    // 9:02 am to 10:48 pm instead of am: 13.8 h, 64 W against 500 W shown.
    let out = with("usable-energy", &[("start", "9:02 AM"), ("end", "10:48 PM")]);
    finding(&out, "energy-against-power");
}

#[test]
fn the_double_hour_of_autumn_is_asked_about() {
    let out = with("usable-energy", &[("start", "2026-11-01 00:30"), ("end", "2026-11-01 01:30")]);
    assert!(finding(&out, "clock-change").hint.contains("offset"));
}

#[test]
fn a_night_over_the_spring_change_has_its_true_length() {
    // 2026-03-07 20:00 to 2026-03-08 08:00 in New York: eleven hours, not twelve.
    let night = [("on", "2026-03-07 20:00"), ("start", "2026-03-08 08:00"), ("end", "2026-03-08 09:30")];
    let out = with("idle-draw", &night);
    finding(&out, "clock-change-inside");
    assert!((out.row.unwrap().hours.x() - 12.5).abs() < 1e-9);
}

#[test]
fn a_load_that_switches_itself_feeds_no_energy() {
    let out = with("usable-energy", &[("load", "fridge")]);
    finding(&out, "load-switches");
    assert!(out.results.is_empty() && out.row.is_none());
}

#[test]
fn an_end_past_midnight_without_a_date_is_the_next_day() {
    let out = with("usable-energy", &[("start", "23:30"), ("end", "01:16")]);
    finding(&out, "next-day");
    assert!((out.row.unwrap().hours.x() - 1.0 - 46.0 / 60.0).abs() < 1e-9);
}

#[test]
fn lists_of_unequal_length_and_trials_that_do_not_add_up() {
    finding(&with("overload-staircase", &[("times", "60 10")]), "lists-differ");
    finding(&with("switchover", &[("failed", "21")]), "trials-do-not-add-up");
    for text in ["9.1 8.7 s", "9.1 s 8.7 s", "9,1 s; 8,7 s"] {
        finding(&with("switchover", &[("times", text)]), "switchover-out-of-range");
    }
    for text in ["9.1 8.7 12", "9.1 ms 8.7 ms 12 ms", "9,1; 8,7; 12 ms", "9.1, 8.7, 12"] {
        assert_eq!(with("switchover", &[("times", text)]).trials[0].values.len(), 3, "{text}");
    }
}

#[test]
fn kilowatt_hours_typed_for_watt_hours_give_nothing() {
    // 882 kWh in 1 h 46 min would be 499 kW from a station of 1000 W; without a power shown nothing else would tell.
    let out = with("usable-energy", &[("counter_end", "882"), ("power", "")]);
    assert_eq!(finding(&out, "beyond-rating").weight, Weight::Gap);
    assert!(out.results.is_empty() && out.row.is_none());
}
