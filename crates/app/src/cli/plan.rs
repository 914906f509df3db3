//! `trueplate plan`: what is missing for a model, and the bench days that bring it.
use super::file::{compute, model_of};
use super::{Ended, Stop, out, out_json};
use crate::{calendar, clock};
use jiff::civil::{Date, DateTime};
use serde_json::json;
use std::path::PathBuf;
use trueplate_core::plan::{DAY, Plan, plan};
use trueplate_core::reading::zone_of;

#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// The model: its id or a part of its name that only it has.
    model: String,
    /// First day, as 2026-06-30; default tomorrow.
    #[arg(long)]
    from: Option<String>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
    /// Also write the steps as a calendar file.
    #[arg(long)]
    ics: Option<PathBuf>,
}

pub fn run(a: &Arguments) -> Ended {
    let report = compute(&a.bench, None)?;
    let model = model_of(&report, &a.model)?;
    let settings = &report.notebook.settings;
    let day: Date = match &a.from {
        Some(text) => text
            .parse()
            .map_err(|_| Stop::Usage(format!("--from {text}: not a date; write it as 2026-06-30")))?,
        None => {
            let today: Date =
                report.as_of.parse().map_err(|_| Stop::Usage(format!("{}: not a date", report.as_of)))?;
            today.tomorrow().map_err(|e| Stop::Usage(e.to_string()))?
        }
    };
    let plan = plan(&report, &model.id, day.at(DAY.0, 0, 0, 0))
        .ok_or_else(|| Stop::Usage(format!("{}: no such model", a.model)))?;
    if let Some(path) = &a.ics {
        let text = calendar::calendar(&plan, &model.name, &zone_of(settings), &clock::stamp_utc());
        std::fs::write(path, text)
            .map_err(|e| Stop::World(format!("{}: cannot be written ({e})", path.display())))?;
    }
    if a.json { out_json(&document(&plan)) } else { out(&text(&plan, &model.name)) }
}

fn wall(t: DateTime) -> String {
    t.strftime("%Y-%m-%dT%H:%M").to_string()
}

fn document(plan: &Plan) -> serde_json::Value {
    let steps: Vec<_> = plan
        .steps
        .iter()
        .map(|s| {
            json!({"at": wall(s.at), "until": wall(s.until), "kind": s.kind, "title": s.title, "attended": s.attended,
                   "loads": s.loads, "needs": s.needs, "why": s.why})
        })
        .collect();
    let missing: Vec<_> = plan
        .missing
        .iter()
        .map(|w| json!({"kind": w.kind, "condition": w.condition, "why": w.why}))
        .collect();
    json!({"steps": steps, "missing": missing, "elapsed_h": plan.elapsed_h, "calendar_h": plan.calendar_h})
}

fn text(plan: &Plan, model: &str) -> String {
    if plan.steps.is_empty() {
        return format!("{model}: nothing is missing\n");
    }
    let mut t = format!("{model}: {:.0} h of bench in {:.0} h\n", plan.elapsed_h, plan.calendar_h);
    let mut day = String::new();
    for s in &plan.steps {
        let date = s.at.strftime("%A %-d %B").to_string();
        if date != day {
            t.push_str(&format!("\n{date}\n"));
            day = date;
        }
        let who = if s.attended { "stay" } else { "" };
        let loads = if s.loads.is_empty() { String::new() } else { format!(" [{}]", s.loads.join(", ")) };
        t.push_str(&format!("  {}  {:<5}{}{loads}\n", s.at.strftime("%H:%M"), who, s.title));
        if !s.why.is_empty() {
            t.push_str(&format!("              for {}\n", s.why));
        }
    }
    t
}
