//! `trueplate report`: all results, verdicts and findings of a bench.
use super::file::{compute, model_of};
use super::{Ended, out, out_json};
use std::path::PathBuf;
use trueplate_core::finding::Weight;
use trueplate_core::report::{ModelReport, Report, titled};
use trueplate_core::shown::{Style, shown};

#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// Only this model: its id or a part of its name that only it has.
    #[arg(long)]
    model: Option<String>,
    /// Compute everything that ages for this date, as 2026-06-30; default today.
    #[arg(long)]
    as_of: Option<String>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

pub fn run(a: &Arguments) -> Ended {
    let mut report = compute(&a.bench, a.as_of.as_deref())?;
    if let Some(asked) = &a.model {
        let id = model_of(&report, asked)?.id.clone();
        report.models.retain(|m| m.id == id);
    }
    if a.json { out_json(&trueplate_pages::json::report(&report)) } else { out(&text(&report)) }
}

fn text(report: &Report) -> String {
    if report.models.is_empty() {
        return "no model in this bench yet; open it with `trueplate serve` and add the first\n".into();
    }
    report.models.iter().map(model).collect::<Vec<_>>().join("\n")
}

fn model(m: &ModelReport) -> String {
    let mut t = format!("{}\n", m.name);
    if !m.claims.is_empty() {
        t.push_str("  claims\n");
    }
    for c in &m.claims {
        let title = c.result.map_or_else(|| c.claim.key.clone(), |r| titled(r, &c.claim.condition));
        let measured = match (&c.counted, &c.measured, c.result) {
            (Some(n), _, _) => format!("{} of {} beyond", n.k, n.n),
            (None, Some(v), Some(r)) => shown(v, r.shown_in(), Style::PLAIN).line(),
            _ => "–".into(),
        };
        t.push_str(&format!("    {title:<44}{:>12}  {measured:<20}{}\n", c.claim.text, c.verdict.words()));
        if !c.why.is_empty() {
            t.push_str(&format!("      {}\n", c.why));
        }
    }
    if !m.rows.is_empty() {
        t.push_str("  results\n");
    }
    for r in &m.rows {
        let value = shown(&r.value, r.result.shown_in(), Style::PLAIN).line();
        let old =
            if r.superseded { format!("  (firmware {}, superseded)", r.firmware) } else { String::new() };
        t.push_str(&format!(
            "    {:<44}{value:>22}  n {}{old}\n",
            titled(r.result, &r.condition),
            r.tests.len()
        ));
    }
    let serious = m.findings.iter().filter(|(_, f)| f.weight != Weight::Note);
    for (test, f) in serious {
        t.push_str(&format!("  look: {test}: {}; {}\n", f.text, f.hint));
    }
    for drain in m.drains.iter().filter(|d| !d.superseded) {
        for told in drain.told().iter().filter(|t| t.weight != Weight::Note) {
            let whose = &drain.specimen;
            t.push_str(&format!(
                "  look: curve of {whose}: {} {} To settle it: {}\n",
                told.what, told.means, told.next
            ));
        }
    }
    for f in &m.gate {
        t.push_str(&format!("  not to be published: {}; {}\n", f.text, f.hint));
    }
    t
}
