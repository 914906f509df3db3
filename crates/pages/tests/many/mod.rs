//! A bench of many invented stations: each with the examples of a few kinds, their readings spread evenly.
use std::error::Error;
use trueplate_core::kinds;
use trueplate_core::notebook::{Claim, Model, Notebook, Settings, Specimen, Test};
use trueplate_core::record::Record;

/// What is answered to a question: its key, the text, the number that belongs into it.
type Answer = (&'static str, &'static str, f64);

/// Tests of each station: name, kind, and answers that are not those of the kind's own example. `{}` stands for the number
/// beside it times a factor of the station between 0.8 and 1.2, `{clock}` for so many hours after 09:02 times the same.
const TESTS: &[(&str, &str, &[Answer])] = &[
    ("half", "usable-energy", &[("counter_end", "{} Wh", 882.0), ("end", "{clock}", 882.0 / 500.0)]),
    (
        "quarter",
        "usable-energy",
        &[("power", "250 W", 0.0), ("counter_end", "{} Wh", 861.0), ("end", "{clock}", 861.0 / 250.0)],
    ),
    ("idle", "idle-draw", &[("counter_end", "{} Wh", 750.0)]),
    ("full", "sustained-output", &[("power", "{} W", 1012.0)]),
    ("recharge", "recharge", &[("counter_end", "{} Wh", 1120.0)]),
    ("mass", "mass", &[("mass", "{} kg", 13.3)]),
    ("noise", "noise", &[("level", "{} dB(A)", 45.0)]),
    ("switchover", "switchover", &[]),
];

/// What the maker states: key, number, unit.
const CLAIMS: &[(&str, f64, &str)] = &[
    ("stored-energy", 1000.0, "Wh"),
    ("usable-energy", 870.0, "Wh"),
    ("sustained-output", 1000.0, "W"),
    ("mass", 13.0, "kg"),
    ("time-to-full", 95.0, "min"),
    ("noise", 44.0, "dB(A)"),
    ("switchover", 15.0, "ms"),
    ("cycles", 3000.0, ""),
];

/// A factor between 0.8 and 1.2 that is another for each number of each station (the golden ratio spreads evenly).
fn factor(station: usize, number: usize) -> f64 {
    0.8 + 0.4 * ((station * 17 + number * 5 + 1) as f64 * 0.618_033_988_749_895).fract()
}

/// So many hours after 09:02.
fn clock(hours: f64) -> String {
    let s = 9 * 3600 + 2 * 60 + (hours * 3600.0).round() as u32;
    format!("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

/// The tests of a station.
pub fn tests(station: usize) -> Result<Vec<Record>, Box<dyn Error>> {
    let (specimen, mut all) = (format!("s{station:04}"), Vec::new());
    for (n, (name, kind, changes)) in TESTS.iter().enumerate() {
        let mut test: Test = kinds::find(kind).ok_or(*kind)?.example().test;
        test.id = format!("{specimen}/{name}");
        test.specimen.clone_from(&specimen);
        for (key, text, number) in *changes {
            // What one battery gives is the same in the first three.
            let number = number * factor(station, n.max(2));
            let entry = test.entries.get_mut(*key).ok_or(format!("{kind} asks no {key}"))?;
            entry.text = text.replace("{}", &format!("{number:.1}")).replace("{clock}", &clock(number));
        }
        all.push(Record::Test(test));
    }
    Ok(all)
}

fn station(i: usize, model: &Model, specimen: &Specimen) -> (Model, Specimen) {
    let (id, name) = (format!("m{i:04}"), format!("Example {i:04} <A&B>"));
    let claim = |(n, (key, number, unit)): (usize, &(&str, f64, &str))| {
        // The stated power is the same for all, so that their loads are.
        let factor = if *key == "sustained-output" { 1.0 } else { factor(i, 20 + n) };
        let text = format!("{:.1} {unit}", number * factor);
        Claim { id: (*key).into(), key: (*key).into(), text, ..Claim::default() }
    };
    let claims = CLAIMS.iter().enumerate().map(claim).collect();
    let specimen = Specimen { id: format!("s{i:04}"), model: id.clone(), ..specimen.clone() };
    (Model { id, name, claims, ..model.clone() }, specimen)
}

/// Everything but the tests.
pub fn ground(stations: usize) -> Result<Vec<Record>, Box<dyn Error>> {
    let Notebook { settings, models, specimens, instruments, loads, .. } =
        kinds::find("usable-energy").ok_or("no kind")?.example().notebook;
    let settings = Settings { as_of: "2026-06-30".into(), ..settings };
    let mut all = vec![Record::Settings(settings)];
    all.extend(instruments.into_iter().map(Record::Instrument));
    all.extend(loads.into_iter().map(Record::Load));
    for i in 0..stations {
        let (model, specimen) = station(i, &models[0], &specimens[0]);
        all.extend([Record::Model(model), Record::Specimen(specimen)]);
    }
    Ok(all)
}

/// A test of the station in the middle with one reading typed anew: down by 3 % and back by turns.
pub fn changed(notebook: &Notebook) -> Result<Test, Box<dyn Error>> {
    let middle = notebook.specimens.len() / 2;
    let Some(Record::Test(first)) = tests(middle)?.into_iter().next() else { return Err("no test".into()) };
    let mut test = notebook.test(&first.id).ok_or("no test")?.clone();
    let entry = test.entries.get_mut("counter_end").ok_or("no reading")?;
    let typed = &first.entries["counter_end"].text;
    entry.text = match entry.text == *typed {
        true => format!("{:.1} Wh", 0.97 * typed.trim_end_matches(" Wh").parse::<f64>()?),
        false => typed.clone(),
    };
    Ok(test)
}
