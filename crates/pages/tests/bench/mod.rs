//! A small invented bench for tests and pictures: three stations in different states, one that may not be published.
use std::sync::Arc;
use trueplate_core::instrument::{Accuracy, Calibration, Instrument};
use trueplate_core::notebook::{
    Bound, Came, Change, Claim, Condition, Entry, Firmware, Load, LoadSort, Model, Notebook, Price, Settings,
    Specimen, Test,
};
use trueplate_core::quantity::Dim;
use trueplate_core::repeat::outcomes;
use trueplate_core::report::{Report, report};

/// The report of a notebook, as of the end of June 2026.
pub fn computed(notebook: Notebook) -> Report {
    let outcomes = outcomes(&notebook);
    report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30")
}

/// The whole bench.
pub fn notebook() -> Notebook {
    let mut n = Notebook {
        settings: Settings {
            tester: "Ada Quern".into(),
            site: "The bench at No. 9".into(),
            zone: "America/New_York".into(),
            demo: true,
            ..Settings::default()
        },
        instruments: instruments(),
        loads: loads(),
        ..Notebook::default()
    };
    fell(&mut n);
    cairn(&mut n);
    ember(&mut n);
    n.models.push(Model { id: "u14".into(), name: "Trundlemere Barge 4230".into(), ..Model::default() });
    n.specimens.push(Specimen { id: "u14a".into(), model: "u14".into(), ..Specimen::default() });
    n
}

fn instruments() -> Vec<Instrument> {
    let accuracy = |dim, of_reading, step| Accuracy { dim, of_reading, step, ..Accuracy::default() };
    vec![
        Instrument {
            id: "m1".into(),
            name: "plug meter M1".into(),
            about: "plug meter with a display, read by hand".into(),
            accuracy: vec![accuracy(Dim::Power, 0.01, 0.1), accuracy(Dim::Energy, 0.01, 1.0)],
            own_draw_w: 0.5,
            true_rms: true,
            mains_v: 120.0,
            calibrations: vec![Calibration {
                on: "2026-01-10".into(),
                gain_error: 0.009,
                u: 0.003,
                against: "a DIN-rail meter".into(),
            }],
            ..Instrument::default()
        },
        Instrument {
            id: "m9".into(),
            name: "floor scale".into(),
            accuracy: vec![accuracy(Dim::Mass, 0.0, 0.05)],
            ..Instrument::default()
        },
        Instrument {
            id: "m4".into(),
            name: "oscilloscope with differential probe".into(),
            accuracy: vec![accuracy(Dim::Time, 0.0, 0.1e-3 / 3600.0)],
            ..Instrument::default()
        },
    ]
}

fn loads() -> Vec<Load> {
    let heater = Load { id: "l1".into(), name: "two-step fan heater".into(), ohm: 19.2, ..Load::default() };
    let fridge = Load {
        id: "l6".into(),
        name: "fridge".into(),
        sort: LoadSort::Cycling,
        running_w: 85.0,
        average_w: 37.7,
        starting_w: 900.0,
        ..Load::default()
    };
    vec![heater, fridge]
}

/// Adds a test; entries as (key, text, instrument).
fn test(n: &mut Notebook, id: &str, kind: &str, specimen: &str, day: &str, entries: &[(&str, &str, &str)]) {
    let firmware = n.specimen(specimen).map(|s| s.firmware_now().to_string()).unwrap_or_default();
    let entry = |(key, text, instrument): &(&str, &str, &str)| {
        let at = format!("{day}T15:04:05Z");
        let entry = Entry { text: (*text).into(), instrument: (*instrument).into(), at, ..Entry::default() };
        ((*key).to_string(), entry)
    };
    n.tests.push(Test {
        id: id.into(),
        kind: kind.into(),
        specimen: specimen.into(),
        firmware,
        day: day.into(),
        entries: entries.iter().map(entry).collect(),
        ..Test::default()
    });
}

/// A discharge from full: start and end on the clock, mean power, energy counted.
fn discharge(n: &mut Notebook, id: &str, specimen: &str, day: &str, times: (&str, &str), w: &str, wh: &str) {
    test(
        n,
        id,
        "usable-energy",
        specimen,
        day,
        &[
            ("start_state", "full-rested", ""),
            ("load", "l1", ""),
            ("counter_start", "0", "m1"),
            ("start", times.0, ""),
            ("power", w, "m1"),
            ("end", times.1, ""),
            ("counter_end", wh, "m1"),
            ("cause", "empty", ""),
            ("shown_at_end", "1 %", ""),
        ],
    );
}

fn claim(key: &str, text: &str) -> Claim {
    Claim { id: key.into(), key: key.into(), text: text.into(), source: "box".into(), ..Claim::default() }
}

fn price(amount: f64, on: &str) -> Price {
    Price { amount, currency: "USD".into(), on: on.into(), kind: "list".into(), ..Price::default() }
}

fn fell(n: &mut Notebook) {
    let half = Condition::from([("load".to_string(), "50 %".to_string())]);
    n.models.push(Model {
        id: "u06".into(),
        name: "Tarnhobble Fell 1010".into(),
        chemistry: "LFP".into(),
        mains_v: 120.0,
        mains_hz: 60.0,
        claims: vec![
            claim("stored-energy", "1010 Wh"),
            claim("sustained-output", "1150 W"),
            Claim { condition: half, ..claim("usable-energy", "0.9 kWh") },
            claim("time-to-80", "55 min"),
            Claim { bound: Bound::Maximum, words: "UPS < 10 ms".into(), ..claim("switchover", "10 ms") },
            claim("mass", "13.2 kg"),
            claim("cycles", "3500"),
        ],
        prices: vec![price(699.0, "2026-06-06")],
        ..Model::default()
    });
    n.specimens.push(Specimen {
        id: "u06a".into(),
        model: "u06".into(),
        serial: "SN-PRIVATE-4711".into(),
        came: Came::Lent,
        provenance: "by the maker, for three weeks, no terms on what is published".into(),
        returned: "2026-05-12".into(),
        firmware: vec![Firmware { version: "2.1".into(), ..Firmware::default() }],
        note: "private remark".into(),
        ..Specimen::default()
    });
    discharge(n, "t01", "u06a", "2026-05-03", ("09:02:00", "12:15:00"), "288 W", "917 Wh");
    discharge(n, "t02", "u06a", "2026-05-04", ("09:30:10", "11:06:20"), "574 W", "919 Wh");
    discharge(n, "t03", "u06a", "2026-05-05", ("09:00:00", "10:36:10"), "574 W", "921 Wh");
    discharge(n, "t04", "u06a", "2026-05-05", ("14:00:00", "14:59:30"), "918 W", "910 Wh");
    let idle = [
        ("start_state", "full-rested", ""),
        ("on", "2026-05-06 20:00", ""),
        ("meter_meanwhile", "no", ""),
        ("still_on", "yes", ""),
        ("counter_start", "0", "m1"),
        ("start", "2026-05-07 08:00", ""),
        ("power", "574 W", "m1"),
        ("end", "2026-05-07 09:23:40", ""),
        ("counter_end", "800 Wh", "m1"),
        ("cause", "empty", ""),
    ];
    test(n, "t05", "idle-draw", "u06a", "2026-05-06", &idle);
    let fridge = [
        ("start_state", "full-rested", ""),
        ("load", "l6", ""),
        ("counter_start", "0", "m1"),
        ("start", "2026-05-08 08:00", ""),
        ("power", "85 W", "m1"),
        ("on_power", "85 W", "m1"),
        ("end", "2026-05-09 03:36", ""),
        ("counter_end", "744 Wh", "m1"),
        ("cause", "empty", ""),
        ("starts", "35", ""),
    ];
    test(n, "t06", "cycling-load", "u06a", "2026-05-08", &fridge);
    n.tests.last_mut().expect("just added").held_out = true;
    let held = [
        ("temperature_state", "cold", ""),
        ("start_state", "full-rested", ""),
        ("load", "l1", ""),
        ("start", "14:00", ""),
        ("power", "1172 W", "m1"),
        ("end", "14:45", ""),
        ("cause", "empty", ""),
    ];
    test(n, "t07", "sustained-output", "u06a", "2026-05-09", &held);
    let trials = "9.1 8.7 12.4 7.9 10.2 9.6 8.0 13.1 9.9 8.8 10.9 7.2 9.3 11.8 8.1 9.0 10.4 6.9 9.5 11.2";
    test(n, "t08", "switchover", "u06a", "2026-05-09", &[("load", "half", ""), ("times", trials, "m4")]);
    let charge = [
        ("mode", "fast", ""),
        ("from", "fully empty", ""),
        ("counter_start", "0", "m1"),
        ("start", "18:00:00", ""),
        ("at_80", "18:53:06", ""),
        ("at_full", "19:33:00", ""),
        ("counter_end", "1.12 kWh", "m1"),
    ];
    test(n, "t09", "recharge", "u06a", "2026-05-04", &charge);
    test(n, "t10", "mass", "u06a", "2026-05-03", &[("with", "alone", ""), ("mass", "13.30 kg", "m9")]);
    n.changes.push(Change {
        seq: 41,
        stroke: 12,
        at: "2026-05-11T19:20:00Z".into(),
        record: "test".into(),
        id: "t02".into(),
        field: "/entries/counter_end/text".into(),
        old: "\"991 Wh\"".into(),
        new: "\"919 Wh\"".into(),
        why: "digits transposed; the photo of the display shows 919".into(),
    });
}

fn cairn(n: &mut Notebook) {
    n.models.push(Model {
        id: "u04".into(),
        name: "Gorsefell Cairn 530".into(),
        mains_v: 120.0,
        claims: vec![
            claim("sustained-output", "550 W"),
            claim("usable-energy", "488 Wh"),
            claim("mass", "7.6 kg"),
            claim("time-to-80", "70 min"),
        ],
        prices: vec![price(389.0, "2026-02-11")],
        ..Model::default()
    });
    for (id, came, label) in [("u04a", Came::Bought, "sample A"), ("u04b", Came::Given, "sample B")] {
        n.specimens.push(Specimen {
            id: id.into(),
            model: "u04".into(),
            label: label.into(),
            came,
            provenance: if came == Came::Bought { "online, 389 USD" } else { "by the maker, to keep" }.into(),
            firmware: vec![Firmware { version: "2.4".into(), ..Firmware::default() }],
            ..Specimen::default()
        });
    }
    discharge(n, "t20", "u04a", "2026-03-02", ("10:00:00", "11:46:00"), "276 W", "488 Wh");
    discharge(n, "t21", "u04b", "2026-03-04", ("10:00:00", "11:48:00"), "276 W", "495 Wh");
    discharge(n, "t22", "u04a", "2026-03-05", ("10:00:00", "11:06:00"), "440 W", "485 Wh");
    test(n, "t23", "mass", "u04a", "2026-03-01", &[("with", "alone", ""), ("mass", "7.55 kg", "m9")]);
}

fn ember(n: &mut Notebook) {
    n.models.push(Model {
        id: "u03".into(),
        name: "Mothgarth Ember 480".into(),
        mains_v: 120.0,
        claims: vec![
            claim("sustained-output", "450 W"),
            claim("mass", "5.2 kg"),
            claim("switchover", "fast"),
        ],
        prices: vec![Price { on: String::new(), ..price(199.0, "") }],
        ..Model::default()
    });
    n.specimens.push(Specimen {
        id: "u03a".into(),
        model: "u03".into(),
        came: Came::Bought,
        provenance: "at a market place, 199 USD".into(),
        ..Specimen::default()
    });
    test(n, "t30", "mass", "u03a", "2026-06-02", &[("with", "alone", ""), ("mass", "5.90 kg", "m9")]);
    let tripped = [
        ("temperature_state", "cold", ""),
        ("start_state", "full-rested", ""),
        ("load", "l1", ""),
        ("start", "14:00", ""),
        ("power", "448 W", "m1"),
        ("end", "14:02", ""),
        ("cause", "trip", ""),
    ];
    test(n, "t31", "sustained-output", "u03a", "2026-06-03", &tripped);
}
