//! A small invented bench of four models, made of tests as they are written down; the numbers it yields stand beside.
//!
//! Meter: ± 1 % of reading, 1 Wh step, own draw 0.5 W that the station feeds. Names are made up.
use jiff::ToSpan;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;
use trueplate_core::example_bench;
use trueplate_core::notebook::{
    Bound, Came, Change, Claim, Condition, Entry, Firmware, Model, Notebook, Price, Specimen, Test,
};
use trueplate_core::repeat::outcomes;
use trueplate_core::report::{Report, report};

fn claim(key: &str, text: &str) -> Claim {
    let bound = Bound::AsUsual;
    Claim { id: key.into(), key: key.into(), text: text.into(), bound, ..Claim::default() }
}

fn fast(mut c: Claim) -> Claim {
    c.condition = Condition::from([("mode".into(), "fast".into())]);
    c
}

fn price(amount: f64, on: &str, kind: &str) -> Price {
    Price { amount, currency: "USD".into(), on: on.into(), kind: kind.into(), ..Price::default() }
}

fn model(id: &str, name: &str, claims: Vec<Claim>, prices: Vec<Price>) -> Model {
    Model {
        id: id.into(),
        name: name.into(),
        mains_v: 120.0,
        mains_hz: 60.0,
        claims,
        prices,
        ..Model::default()
    }
}

fn specimen(model: &str, firmware: &[&str]) -> Specimen {
    let version = |v: &&str| Firmware { version: (*v).into(), from: String::new() };
    Specimen {
        id: format!("{model}-a"),
        model: model.into(),
        came: Came::Bought,
        provenance: "bought for the bench".into(),
        firmware: firmware.iter().map(version).collect(),
        ..Specimen::default()
    }
}

/// A test with its entries; a third part names the instrument.
fn test(id: &str, kind: &str, model: &str, firmware: &str, entries: &[(&str, &str, &str)]) -> Test {
    let entry = |(k, text, instrument): &(&str, &str, &str)| {
        (
            (*k).to_string(),
            Entry { text: (*text).into(), instrument: (*instrument).into(), ..Entry::default() },
        )
    };
    Test {
        id: id.into(),
        kind: kind.into(),
        specimen: format!("{model}-a"),
        firmware: firmware.into(),
        day: "2026-05-03".into(),
        entries: entries.iter().map(entry).collect::<BTreeMap<_, _>>(),
        ..Test::default()
    }
}

fn energy(id: &str, model: &str, firmware: &str, start: &str, end: &str, counter: &str) -> Test {
    let entries = [
        ("start_state", "full-rested", ""),
        ("counter_start", "0", "meter"),
        ("start", start, ""),
        ("end", end, ""),
        ("counter_end", counter, "meter"),
        ("cause", "empty", ""),
    ];
    test(id, "usable-energy", model, firmware, &entries)
}

fn idle(id: &str, model: &str, firmware: &str, on: &str, start: &str, end: &str, counter: &str) -> Test {
    let entries = [
        ("start_state", "full-rested", ""),
        ("on", on, ""),
        ("meter_meanwhile", "no", ""),
        ("still_on", "yes", ""),
        ("counter_start", "0", "meter"),
        ("start", start, ""),
        ("end", end, ""),
        ("counter_end", counter, "meter"),
        ("cause", "empty", ""),
    ];
    test(id, "idle-draw", model, firmware, &entries)
}

fn charge(id: &str, model: &str, firmware: &str, mode: &str, at_80: &str, full: &str, wall: &str) -> Test {
    let entries = [
        ("mode", mode, ""),
        ("from", "AC cut-off", ""),
        ("counter_start", "0", "meter"),
        ("start", "18:00", ""),
        ("at_80", at_80, ""),
        ("at_full", full, ""),
        ("counter_end", wall, "meter"),
    ];
    test(id, "recharge", model, firmware, &entries)
}

fn mass(id: &str, model: &str, firmware: &str, read: &str) -> Test {
    test(id, "mass", model, firmware, &[("with", "alone", ""), ("mass", read, "scale")])
}

fn held(id: &str, model: &str, firmware: &str, watts: &str, end: &str, cause: &str) -> Test {
    let entries = [
        ("start_state", "full-rested", ""),
        ("temperature_state", "cold", ""),
        ("start", "14:00", ""),
        ("power", watts, "meter"),
        ("end", end, ""),
        ("cause", cause, ""),
    ];
    test(id, "sustained-output", model, firmware, &entries)
}

fn switches(id: &str, model: &str, firmware: &str, times: &str) -> Test {
    test(id, "switchover", model, firmware, &[("load", "half", ""), ("times", times, "scope")])
}

fn fell(n: &mut Notebook) {
    let claims = vec![
        claim("stored-energy", "1010 Wh"),
        claim("sustained-output", "1150 W"),
        claim("starting-power", "2300 W"),
        fast(claim("time-to-80", "55 min")),
        claim("switchover", "10 ms"),
        claim("mass", "13.2 kg"),
    ];
    let prices = vec![
        price(729.0, "2026-03-01", "list"),
        price(579.0, "2026-05-20", "sale"),
        price(699.0, "2026-06-05", "list"),
    ];
    n.models.push(model("fell-1010", "Tarnhobble Fell 1010", claims, prices));
    n.specimens.push(specimen("fell-1010", &["2.1"]));
    let m = "fell-1010";
    // Seven of twenty beyond 10 ms; sorted, the tenth and eleventh are 9.3 and 9.5: median 9.4.
    let times = "6.2 7.1 7.7 8.0 8.3 8.6 8.8 9.0 9.1 9.3 9.5 9.7 9.9 10.4 10.6 10.9 11.2 11.6 12.1 13.1";
    n.tests.extend([
        // 910 Wh + 0.5 W · 95/60 h = 910.79 Wh at 575 W (50 % of 1150 W), share 90.2 % of 1010 Wh.
        energy("f1", m, "2.1", "6:48 AM", "8:23 AM", "0.910 kWh"),
        // 907 + 0.5 · 3.1617 = 908.6 Wh at 287 W (25 %).
        energy("f2", m, "2.1", "10:00:00", "13:09:42", "0.907 kWh"),
        // 12 h on cost 910.8 − 790.2 = 120.6 Wh of the 910.8 at half load: about 10.3 W, once the load's own idle share
        // (911 + 10.3 · 1.58 = 927 Wh at 0 W) is taken in; about 93 h on with nothing plugged in.
        idle("f3", m, "2.1", "2026-05-03 20:00:00", "2026-05-04 08:00:00", "2026-05-04 09:22:23", "789.5 Wh"),
        charge("f4", m, "2.1", "fast", "18:53", "19:33", "1.088 kWh"),
        switches("f5", m, "2.1", times),
        mass("f6", m, "2.1", "13.30 kg"),
        held("f7", m, "2.1", "1160 W", "14:46", "empty"),
        // 746 Wh in 19 h 48 min: 37.7 W on average.
        test(
            "f8",
            "cycling-load",
            m,
            "2.1",
            &[
                ("start_state", "full-rested", ""),
                ("counter_start", "0", "meter"),
                ("start", "2026-05-05 08:00:00", ""),
                ("on_power", "85 W", "meter"),
                ("end", "2026-05-06 03:48:00", ""),
                ("counter_end", "746 Wh", "meter"),
                ("cause", "empty", ""),
                ("starts", "35", ""),
            ],
        ),
    ]);
}

fn hob(n: &mut Notebook) {
    let claims = vec![
        claim("stored-energy", "1080 Wh"),
        claim("sustained-output", "1750 W"),
        fast(claim("time-to-80", "45 min")),
        claim("switchover", "20 ms"),
        claim("mass", "13.9 kg"),
    ];
    n.models.push(model(
        "hob-1080",
        "Drabbleford Hob 1080",
        claims,
        vec![price(749.0, "2026-06-10", "list")],
    ));
    n.specimens.push(specimen("hob-1080", &["1.3"]));
    let m = "hob-1080";
    let times =
        "9.9 10.8 11.4 11.9 12.3 12.6 12.9 13.2 13.4 13.5 13.7 13.9 14.1 14.4 14.8 15.1 15.6 16.2 17.0 18.3";
    n.tests.extend([
        // 916 + 0.5 · 1.047 = 916.5 Wh at 875 W (50 % of 1750 W): 5.7 Wh above the Fell, within the run-to-run 9 Wh.
        energy("h1", m, "1.3", "9:00:00", "10:02:49", "0.916 kWh"),
        charge("h2", m, "1.3", "fast", "18:43", "19:20", "1.173 kWh"),
        mass("h3", m, "1.3", "14.10 kg"),
        held("h4", m, "1.3", "1750 W", "14:17", "trip"),
        switches("h5", m, "1.3", times),
    ]);
}

fn lantern(n: &mut Notebook) {
    let claims = vec![
        claim("stored-energy", "1260 Wh"),
        claim("sustained-output", "1450 W"),
        claim("time-to-full", "120 min"),
        claim("mass", "15.8 kg"),
    ];
    let prices = vec![price(849.0, "2026-05-01", "list"), price(599.0, "2026-05-27", "flash sale")];
    n.models.push(model("lantern-1260", "Glimmerstoat Lantern 1260", claims, prices));
    n.specimens.push(specimen("lantern-1260", &["1.0.7", "1.2.0"]));
    let m = "lantern-1260";
    n.tests.extend([
        // At 725 W: 1068 + 0.74 and 1075 + 0.74 Wh. Idle by 24 h on: 17.3 W before, 10.5 W after the update.
        energy("l1", m, "1.0.7", "9:00:00", "10:28:24", "1.068 kWh"),
        energy("l2", m, "1.0.7", "12:00:00", "14:56:48", "1.068 kWh"),
        idle("l3", m, "1.0.7", "2026-05-03 20:00:00", "2026-05-04 20:00:00", "2026-05-04 20:56:36", "684 Wh"),
        energy("l4", m, "1.2.0", "9:00:00", "10:28:58", "1.075 kWh"),
        idle("l5", m, "1.2.0", "2026-05-03 20:00:00", "2026-05-04 20:00:00", "2026-05-04 21:08:24", "826 Wh"),
        energy("l7", m, "1.2.0", "12:00:00", "14:57:56", "1.075 kWh"),
        charge("l6", m, "1.2.0", "as delivered", "19:17", "20:20", "1.331 kWh"),
        mass("l8", m, "1.2.0", "16.90 kg"),
        test(
            "l9",
            "switchover",
            m,
            "1.2.0",
            &[("load", "small", ""), ("trials", "20", ""), ("failed", "18", "")],
        ),
    ]);
}

fn cairn(n: &mut Notebook) {
    let claims = vec![
        claim("stored-energy", "530 Wh"),
        claim("sustained-output", "550 W"),
        fast(claim("time-to-80", "70 min")),
        claim("switchover", "20 ms"),
        claim("mass", "7.6 kg"),
    ];
    n.models.push(model(
        "cairn-530",
        "Gorsefell Cairn 530",
        claims,
        vec![price(389.0, "2026-06-11", "list")],
    ));
    n.specimens.push(specimen("cairn-530", &["2.4"]));
    let m = "cairn-530";
    let times =
        "11.2 12.4 13.0 13.6 14.0 14.3 14.6 14.8 15.0 15.1 15.2 15.4 15.6 15.9 16.3 16.7 17.2 17.8 18.1 18.7";
    n.tests.extend([
        // 483.5 + 0.5 · 1.76 = 484.4 Wh at 275 W (50 % of 550 W): 91.4 % of 530 Wh.
        energy("c1", m, "2.4", "7:00:00", "8:45:38", "0.4835 kWh"),
        energy("c2", m, "2.4", "10:00:00", "13:29:27", "0.480 kWh"),
        // 24 h on, then 348 Wh: 6.1 W.
        idle("c3", m, "2.4", "2026-05-03 20:00:00", "2026-05-04 20:00:00", "2026-05-04 21:15:00", "343.5 Wh"),
        charge("c4", m, "2.4", "fast", "19:10", "19:57", "0.584 kWh"),
        mass("c5", m, "2.4", "7.55 kg"),
        held("c6", m, "2.4", "555 W", "14:51", "empty"),
        switches("c7", m, "2.4", times),
    ]);
    // The counter was first typed wrongly.
    n.changes.push(Change {
        seq: 1,
        at: "2026-05-09T10:00:00Z".into(),
        record: "test".into(),
        id: "c1".into(),
        field: "/entries/counter_end/text".into(),
        old: "\"0.4475 kWh\"".into(),
        new: "\"0.4835 kWh\"".into(),
        why: "typing".into(),
        ..Change::default()
    });
}

/// Gives each test five days of its own from 2026-01-01 on; they are written as if all began on 2026-05-03.
fn apart(tests: &mut [Test]) {
    let written: Date = "2026-05-03".parse().expect("a date");
    for (i, test) in tests.iter_mut().enumerate() {
        let day = "2026-01-01".parse::<Date>().expect("a date").saturating_add((5 * i as i64).days());
        test.day = day.to_string();
        for entry in test.entries.values_mut() {
            let Some((date, time)) = entry.text.split_once(' ') else { continue };
            let Ok(date) = date.parse::<Date>() else { continue };
            let later = date.since(written).expect("days between").get_days();
            entry.text = format!("{} {time}", day.saturating_add(i64::from(later).days()));
        }
    }
}

/// The report of the bench as of 2026-06-30.
pub fn bench() -> Report {
    let mut n = example_bench::notebook();
    n.models.clear();
    n.specimens.clear();
    fell(&mut n);
    hob(&mut n);
    lantern(&mut n);
    cairn(&mut n);
    apart(&mut n.tests);
    let all = outcomes(&n);
    report(Arc::new(n), Arc::new(all), "2026-06-30")
}
