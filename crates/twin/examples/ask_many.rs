//! Times one question to a bench of 500 stations, with and without sun.
//! `cargo run --release -p trueplate-twin --example ask_many`
use std::sync::Arc;
use std::time::Instant;
use trueplate_core::answer::{self, Question, Solar};
use trueplate_core::kinds;
use trueplate_core::notebook::{Model, Notebook, Specimen, Test};
use trueplate_core::number::Marks;
use trueplate_core::repeat::outcomes;
use trueplate_core::report::report;

/// The example bench five hundred times: a discharge at 500 W and at 250 W, and an idle night, each.
fn many(stations: usize) -> Notebook {
    let energy = kinds::find("usable-energy").expect("a kind").example();
    let idle = kinds::find("idle-draw").expect("a kind").example();
    let mut quarter = energy.test.clone();
    for (key, text) in [("power", "250 W"), ("counter_end", "0.861 kWh"), ("end", "12:29:00")] {
        quarter.entries.get_mut(key).expect("an entry").text = text.into();
    }
    let mut notebook = energy.notebook;
    let (model, specimen) = (notebook.models.remove(0), notebook.specimens.remove(0));
    for i in 0..stations {
        let (m, s) = (format!("m{i}"), format!("s{i}"));
        notebook.models.push(Model { id: m.clone(), name: format!("Example {i}"), ..model.clone() });
        notebook.specimens.push(Specimen { id: s.clone(), model: m, ..specimen.clone() });
        for (k, test) in [&energy.test, &quarter, &idle.test].into_iter().enumerate() {
            notebook.tests.push(Test { id: format!("t{i}-{k}"), specimen: s.clone(), ..test.clone() });
        }
    }
    notebook
}

fn main() {
    let notebook = many(500);
    let begin = Instant::now();
    let outcomes = outcomes(&notebook);
    let report = report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30");
    println!("report      {:7.1} ms", 1e3 * begin.elapsed().as_secs_f64());
    let read = |text: &str| answer::device(text, &[], Marks::Point).expect("a device");
    let devices = vec![
        read("router, 12 W"),
        read("fridge, 85 W, start 400 W, avg 38 W"),
        read("laptop, 45 W, 8 h/day"),
    ];
    let plain = Question { devices, ..Question::default() };
    let sunny = Question { days: 7.0, solar: Some(Solar::panels(400.0)), ..plain.clone() };
    for (name, question) in [("a day", plain), ("a sunny week", sunny)] {
        let times = (0..5).map(|_| {
            let begin = Instant::now();
            let got = answer::ask(&report, &question);
            let took = 1e3 * begin.elapsed().as_secs_f64();
            (took, got.models[0].answer.key(), got.models[0].why.clone())
        });
        let best = times.min_by(|a, b| a.0.total_cmp(&b.0)).expect("five");
        println!("{name:12}{:7.1} ms   {}: {}", best.0, best.1, best.2);
    }
}
