//! `trueplate figures`: the pictures for the video into a folder, and which of those there are out of date.
use super::file::{compute, model_of};
use super::publish::in_the_way;
use super::{Ended, Stop, out, out_json};
use crate::figures::{Drawn, Error, Wanted, draw, options};
use serde_json::json;
use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use trueplate_core::finding::Finding;
use trueplate_pages::figure::{Figure, Frame, figures, letters};

/// What to draw, and where to.
#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// The folder for the pictures; made when it is missing. Files of yours in it are left alone.
    #[arg(long, value_name = "DIR")]
    to: PathBuf,
    /// Only this model: its id, or a part of its name that only it has.
    #[arg(long)]
    model: Option<String>,
    /// Only this size: 1920 × 1080, 3840 × 2160, or 1080 × 1920. Without it all three.
    #[arg(long, value_parser = ["1080", "2160", "vertical"])]
    size: Option<String>,
    /// Compute everything that ages for this date, as 2026-06-30; default today.
    #[arg(long)]
    as_of: Option<String>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

impl From<Error> for Stop {
    fn from(e: Error) -> Stop {
        match e {
            Error::NotOurs { .. } => Stop::Usage(e.to_string()),
            Error::Disk { .. } | Error::Undrawn(_) => Stop::World(e.to_string()),
        }
    }
}

/// Draws, or says why not.
pub fn run(a: &Arguments) -> Ended {
    let report = compute(&a.bench, a.as_of.as_deref())?;
    let model = a.model.as_deref().map(|asked| model_of(&report, asked)).transpose()?;
    let blocked = in_the_way(&report, model.map(|m| m.id.as_str()));
    let all = figures(&report, &options(&report), None);
    let frames: Vec<Frame> =
        Frame::ALL.into_iter().filter(|f| a.size.as_ref().is_none_or(|s| s == f.key())).collect();
    let wanted = Wanted { model: model.map(|m| m.id.as_str()), frames: &frames };
    let asked: Vec<&Figure> = all.iter().filter(|f| wanted.model.is_none_or(|id| f.model == id)).collect();
    let some = !asked.is_empty();
    let undrawn = letters::undrawn(&report, Some(&asked));
    // Told first: who then sees the pictures knows what to look for, or stops here.
    if !a.json {
        undrawn.iter().for_each(|f| eprintln!("{}; {}", f.text, f.hint));
    }
    let drawn = if some { draw(&all, &wanted, &a.to, progress)? } else { Drawn::default() };
    if a.json {
        out_json(&document(&drawn, &blocked, &undrawn))?;
    } else if some {
        out(&text(a, &drawn))?;
    }
    if !blocked.is_empty() {
        let lines: Vec<String> =
            blocked.iter().flat_map(|(_, f)| f).map(|f| format!("{}; {}", f.text, f.hint)).collect();
        return Err(Stop::No(format!("no pictures without disclosure:\n  {}", lines.join("\n  "))));
    }
    if !some {
        return Err(Stop::No(nothing(a, model.map(|m| m.name.as_str()), &all)));
    }
    Ok(())
}

fn nothing(a: &Arguments, model: Option<&str>, all: &[Figure]) -> String {
    match model {
        Some(name) => {
            format!("{name}: nothing is measured yet, so there is nothing to draw; make a test first")
        }
        None if all.is_empty() => format!(
            "{}: no station has a result yet, so there is nothing to draw; make a test first",
            a.bench.display()
        ),
        None => String::new(),
    }
}

/// On a terminal, how far it is.
fn progress(done: usize, of: usize) {
    let mut err = std::io::stderr();
    if err.is_terminal() && (done == of || done.is_multiple_of(5)) {
        let end = if done == of { "\n" } else { "" };
        // A terminal that went away is no reason to stop drawing.
        let _nobody_looks = write!(err, "\r{done} of {of} pictures{end}");
    }
}

fn document(drawn: &Drawn, blocked: &[(String, Vec<Finding>)], undrawn: &[Finding]) -> serde_json::Value {
    let stale: Vec<_> = drawn
        .stale
        .iter()
        .map(|s| json!({"path": s.path, "fact": s.fact, "version": s.version, "now": s.now}))
        .collect();
    let blocked: Vec<_> =
        blocked.iter().map(|(model, findings)| json!({"model": model, "findings": findings})).collect();
    json!({"written": drawn.written, "unchanged": drawn.unchanged, "stale": stale, "in_the_way": blocked,
        "findings": undrawn})
}

/// Stale pictures named one by one; the rest are counted.
const NAMED: usize = 20;

fn text(a: &Arguments, drawn: &Drawn) -> String {
    let (written, unchanged) = (drawn.written.len(), drawn.unchanged.len());
    let mut text = format!("{}: {written} pictures written, {unchanged} unchanged\n", a.to.display());
    if !drawn.stale.is_empty() {
        text.push_str(&format!(
            "{} are out of date and were left as they are; replace them in the video:\n",
            drawn.stale.len()
        ));
    }
    for stale in drawn.stale.iter().take(NAMED) {
        let now =
            stale.now.as_deref().and_then(|v| v.get(..8)).map_or("is gone".into(), |v| format!("is now {v}"));
        text.push_str(&format!("  {} ({} {now})\n", stale.path, stale.fact));
    }
    if drawn.stale.len() > NAMED {
        text.push_str(&format!("  and {} more; --json lists them all\n", drawn.stale.len() - NAMED));
    }
    text
}
