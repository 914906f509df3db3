//! A bench written down by hand from stated truths: t(P) = E/(P + a + q·P²), E in Wh at the outlet, a the idle draw in W.
use std::sync::Arc;
use trueplate_core::notebook::{
    Came, Claim, Entry, Firmware, Model, Notebook, Price, Specimen, SwitchOff, Test,
};
use trueplate_core::repeat::outcomes;
use trueplate_core::report::{Report, report};

/// A fictional station and what is true of it.
#[derive(Clone, Copy)]
pub struct Truth {
    pub id: &'static str,
    pub name: &'static str,
    pub rated_w: f64,
    pub store_wh: f64,
    pub idle_w: f64,
    pub curve: f64,
    /// Amount in USD and day; no day means none was noted.
    pub price: (f64, &'static str),
}

impl Truth {
    /// Hours at a steady load, by hand.
    pub fn hours(&self, watts: f64) -> f64 {
        self.store_wh / (watts + self.idle_w + self.curve * watts * watts)
    }
}

const fn truth(
    id: &'static str,
    name: &'static str,
    rated_w: f64,
    store_wh: f64,
    idle_w: f64,
    curve: f64,
    price: (f64, &'static str),
) -> Truth {
    Truth { id, name, rated_w, store_wh, idle_w, curve, price }
}

/// Fictional stations; E and a as a perfect instrument would find them, q the curvature over 1 + k1.
pub const U05: Truth =
    truth("u05", "Trundlemere Wayfarer 745", 850.0, 689.0, 8.41, 4.7e-5, (649.0, "2026-06-03"));
pub const U06: Truth =
    truth("u06", "Tarnhobble Fell 1010", 1150.0, 955.0, 10.29, 3.3e-5, (699.0, "2026-06-06"));
pub const U07: Truth =
    truth("u07", "Drabbleford Hob 1080", 1750.0, 1007.0, 13.30, 4.1e-5, (749.0, "2026-06-10"));
pub const U08: Truth =
    truth("u08", "Glimmerstoat Lantern 1260", 1450.0, 1142.0, 17.30, 3.4e-5, (849.0, "2026-05-01"));
pub const U10: Truth =
    truth("u10", "Gorsefell Cairn 1985", 2150.0, 1888.0, 16.35, 1.9e-5, (1299.0, "2026-06-20"));
pub const U11: Truth =
    truth("u11", "Hexelbury Granary 2110", 2350.0, 2042.0, 15.64, 1.56e-5, (1499.0, "2026-06-05"));
pub const U13: Truth =
    truth("u13", "Brundlewatt Colossus 3450", 3500.0, 2997.0, 35.85, 1.26e-5, (2699.0, "2026-03-30"));
pub const U14: Truth = truth("u14", "Trundlemere Barge 4230", 4100.0, 4006.0, 29.81, 1.0e-5, (2899.0, ""));

fn entry(test: &mut Test, key: &str, text: String, instrument: &str) {
    let entry = Entry { text, instrument: instrument.into(), ..Entry::default() };
    test.entries.insert(key.into(), entry);
}

/// Hours after 2026-05-03 09:00 as written at the bench, to the second.
fn clock(hours: f64) -> String {
    let seconds = (hours * 3600.0).round() as i64 + 9 * 3600;
    let (day, rest) = (3 + seconds / 86_400, seconds % 86_400);
    let (month, day) = if day > 31 { (6, day - 31) } else { (5, day) };
    format!("2026-{month:02}-{day:02} {:02}:{:02}:{:02}", rest / 3600, rest / 60 % 60, rest % 60)
}

pub fn test(notebook: &mut Notebook, kind: &str, specimen: &str, firmware: &str) -> usize {
    notebook.tests.push(Test {
        id: format!("t{}", notebook.tests.len()),
        kind: kind.into(),
        specimen: specimen.into(),
        firmware: firmware.into(),
        day: "2026-05-03".into(),
        ..Test::default()
    });
    notebook.tests.len() - 1
}

/// Idle for `idle_h`, then a discharge at `watts` to the cut-off.
pub fn run(notebook: &mut Notebook, of: &Truth, firmware: &str, idle_h: f64, watts: f64) {
    let kind = if idle_h > 0.0 { "idle-draw" } else { "usable-energy" };
    let at = test(notebook, kind, &format!("{}-a", of.id), firmware);
    let t = &mut notebook.tests[at];
    let hours = (of.store_wh - of.idle_w * idle_h) / (watts + of.idle_w + of.curve * watts * watts);
    entry(t, "start_state", "full-rested".into(), "");
    entry(t, "ambient", "23 °C".into(), "thermometer");
    entry(t, "load", "heater".into(), "");
    if idle_h > 0.0 {
        entry(t, "on", clock(0.0), "");
        entry(t, "meter_meanwhile", "no".into(), "");
        entry(t, "still_on", "yes".into(), "");
    }
    entry(t, "counter_start", "0".into(), "meter");
    entry(t, "start", clock(idle_h), "");
    entry(t, "power", format!("{watts} W"), "meter");
    entry(t, "end", clock(idle_h + hours), "");
    entry(t, "counter_end", format!("{:.1} Wh", watts * hours), "meter");
    entry(t, "cause", "empty".into(), "");
}

/// A full-power run that ended so after so many minutes.
pub fn full_power(notebook: &mut Notebook, of: &Truth, watts: f64, minutes: f64, cause: &str) {
    let at = test(notebook, "sustained-output", &format!("{}-a", of.id), "1");
    let t = &mut notebook.tests[at];
    entry(t, "start_state", "full-rested".into(), "");
    entry(t, "temperature_state", "cold".into(), "");
    entry(t, "load", "heater".into(), "");
    entry(t, "start", clock(0.0), "");
    entry(t, "power", format!("{watts} W"), "meter");
    entry(t, "end", clock(minutes / 60.0), "");
    entry(t, "cause", cause.into(), "");
}

/// Dead times in ms.
pub fn switched(notebook: &mut Notebook, of: &Truth, times: &str) {
    let at = test(notebook, "switchover", &format!("{}-a", of.id), "1");
    let t = &mut notebook.tests[at];
    entry(t, "load", "half".into(), "");
    entry(t, "times", times.into(), "scope");
}

/// A test of the low-load switch-off: loads that ended it, the one that kept it on, and what the menu says.
pub fn tried_low_loads(notebook: &mut Notebook, of: &Truth, ended: &str, stayed: &str, menu: (&str, &str)) {
    let at = test(notebook, "low-load-switch-off", &format!("{}-a", of.id), "1");
    let t = &mut notebook.tests[at];
    entry(t, "outlet", "AC".into(), "");
    entry(t, "delivered", menu.0.into(), "");
    entry(t, "disable", menu.1.into(), "");
    for (key, text) in [("ended", ended), ("stayed", stayed)].into_iter().filter(|(_, t)| !t.is_empty()) {
        entry(t, key, text.into(), "meter");
    }
    if !ended.is_empty() {
        entry(t, "minutes", "120 min".into(), "");
    }
}

/// A bench with these stations, each with runs at 25, 50 and 80 % and an idle night on firmware 1.
pub fn bench(truths: &[Truth]) -> Notebook {
    let mut notebook = trueplate_core::example_bench::notebook();
    notebook.models.clear();
    notebook.specimens.clear();
    notebook.settings.as_of = "2026-06-30".into();
    for meter in notebook.instruments.iter_mut().filter(|i| i.id == "meter") {
        meter.own_draw_w = 0.0;
        meter.accuracy.iter_mut().for_each(|a| a.step = 0.1);
    }
    for of in truths {
        add(&mut notebook, of);
        for share in [0.25, 0.5, 0.8] {
            run(&mut notebook, of, "1", 0.0, of.rated_w * share);
        }
        run(&mut notebook, of, "1", 0.3 * of.hours(0.0), of.rated_w * 0.5);
    }
    notebook
}

fn add(notebook: &mut Notebook, of: &Truth) {
    let (amount, on) = of.price;
    notebook.models.push(Model {
        id: of.id.into(),
        name: of.name.into(),
        mains_v: 120.0,
        mains_hz: 60.0,
        claims: vec![claim("sustained-output", format!("{} W", of.rated_w))],
        prices: vec![Price {
            amount,
            currency: "USD".into(),
            on: on.into(),
            kind: "list".into(),
            ..Price::default()
        }],
        ..Model::default()
    });
    notebook.specimens.push(Specimen {
        id: format!("{}-a", of.id),
        model: of.id.into(),
        came: Came::Bought,
        provenance: "bought".into(),
        firmware: vec![Firmware { version: "1".into(), from: String::new() }],
        ..Specimen::default()
    });
}

pub fn claim(key: &str, text: String) -> Claim {
    Claim { id: key.into(), key: key.into(), text, ..Claim::default() }
}

/// Low-load switch-off: below so many watts, after so many hours, on as delivered.
pub fn switches_off(notebook: &mut Notebook, id: &str, below_w: f64, after_h: f64, can_be_disabled: bool) {
    let facts = SwitchOff { below_w, after_h, on_by_default: true, can_be_disabled };
    notebook.models.iter_mut().filter(|m| m.id == id).for_each(|m| m.switch_off = facts.clone());
}

pub fn computed(notebook: Notebook) -> Report {
    let outcomes = outcomes(&notebook);
    report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30")
}
