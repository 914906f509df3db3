//! `trueplate answer`: which stations run these devices, and how long.
use super::file::compute;
use super::{Ended, Stop, out, out_json};
use serde_json::json;
use std::path::PathBuf;
use trueplate_core::answer::{Answers, Device, Question, Solar, ask, device, known};
use trueplate_core::reading::marks_of;
use trueplate_core::report::Report;
use trueplate_core::shown::{Style, duration_unit, shown};

#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// A device: name and watts, commas between, any order: "fridge, 85 W, start 900 W, avg 38 W, 24 h/day".
    #[arg(long, required = true)]
    device: Vec<String>,
    /// Panels that charge it meanwhile, in W.
    #[arg(long)]
    solar: Option<f64>,
    /// For how many days.
    #[arg(long, default_value_t = 1.0)]
    days: f64,
    /// Compute everything that ages for this date, as 2026-06-30; default today.
    #[arg(long)]
    as_of: Option<String>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

pub fn run(a: &Arguments) -> Ended {
    let report = compute(&a.bench, a.as_of.as_deref())?;
    let question = question(a, &report)?;
    let answers = ask(&report, &question);
    if a.json { out_json(&document(&answers)) } else { out(&text(&answers)) }
}

fn question(a: &Arguments, report: &Report) -> Result<Question, Stop> {
    if !(a.days > 0.0 && a.days <= 366.0) {
        return Err(Stop::Usage(format!("--days {}: more than 0, at most 366", a.days)));
    }
    if let Some(w) = a.solar.filter(|w| !(*w > 0.0 && w.is_finite())) {
        return Err(Stop::Usage(format!("--solar {w}: the power of the panels in W, more than 0")));
    }
    let library = known(&report.notebook);
    let marks = marks_of(&report.notebook.settings);
    let read = |text: &String| {
        device(text, &library, marks)
            .map_err(|f| Stop::Usage(format!("--device \"{text}\": {}; {}", f.text, f.hint)))
    };
    let devices: Vec<Device> = a.device.iter().map(read).collect::<Result<_, Stop>>()?;
    Ok(Question { devices, days: a.days, solar: a.solar.map(Solar::panels), ..Question::default() })
}

fn document(answers: &Answers) -> serde_json::Value {
    let models: Vec<_> = answers
        .models
        .iter()
        .map(|m| {
            let runtime = m.runtime_h.as_ref().map(|v| trueplate_pages::json::value(v, v.dim.kept_in()));
            let limits: Vec<&str> = m.limits.iter().map(|l| l.text.as_str()).collect();
            json!({"id": m.id, "name": m.name, "answer": m.answer.key(), "p": m.p, "runtime_h": runtime,
                   "why": m.why, "limits": limits})
        })
        .collect();
    let choice = |c: &Option<trueplate_core::answer::Choice>| {
        c.as_ref().map(|c| {
            json!({"id": c.id, "name": c.name, "price": c.price.amount, "currency": c.price.currency,
                                  "on": c.price.on, "old": c.old, "why": c.why})
        })
    };
    json!({"models": models, "cheapest": choice(&answers.cheapest), "runner_up": choice(&answers.runner_up),
           "caution": answers.caution, "assumed": answers.assumed, "paragraph": answers.paragraph,
           "findings": answers.findings})
}

fn text(answers: &Answers) -> String {
    let mut t = String::new();
    for f in &answers.findings {
        t.push_str(&format!("{}; {}\n", f.text, f.hint));
    }
    for m in &answers.models {
        let hours = m
            .runtime_h
            .as_ref()
            .map_or("–".to_string(), |v| shown(v, duration_unit(v.x), Style::PLAIN).line());
        t.push_str(&format!("{:<32}{:<10}{hours:<18}{}\n", m.name, m.answer.words(), m.why));
    }
    for (label, choice) in [("cheapest that suffices", &answers.cheapest), ("runner-up", &answers.runner_up)]
    {
        if let Some(c) = choice {
            t.push_str(&format!(
                "{label}: {}, {} {} on {}{}; {}\n",
                c.name,
                c.price.amount,
                c.price.currency,
                c.price.on,
                if c.old { " (old)" } else { "" },
                c.why
            ));
        }
    }
    if !answers.caution.is_empty() {
        t.push_str(&format!("{}\n", answers.caution));
    }
    t.push_str(&format!("\n{}\n", answers.paragraph));
    t
}
