//! `trueplate script`: a draft script or subtitles checked against the record.
use super::file::{compute, model_of};
use super::{Ended, Stop, out, out_json};
use serde_json::json;
use std::path::PathBuf;
use trueplate_core::finding::Finding;
use trueplate_core::script::{Checked, Format, Judgement, check};

#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// The script: txt, md, srt or vtt.
    file: PathBuf,
    /// The model it speaks of, where it names none.
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
    let report = compute(&a.bench, a.as_of.as_deref())?;
    let bytes = std::fs::read(&a.file).map_err(|e| Stop::unread(&a.file, &e))?;
    let text = trueplate_meters::logs::plain(&bytes);
    let model = a.model.as_deref().map(|m| model_of(&report, m).map(|m| m.id.clone())).transpose()?;
    let format = Format::of_name(&a.file.to_string_lossy());
    let mut checked = check(&report, &text, format, model.as_deref());
    let encoding = trueplate_meters::logs::encoding_name(&bytes);
    if encoding != "UTF-8" {
        let said = format!("read as {encoding}");
        let hint = "if signs such as ° or ± look wrong below, save the script as UTF-8";
        checked.findings.insert(0, Finding::note("encoding", "file", said, hint));
    }
    if a.json {
        out_json(&document(&checked))?;
    } else {
        out(&said(a, &checked))?;
    }
    let wrong = checked.lines.iter().filter(|l| l.judgement != Judgement::Agrees).count();
    match wrong {
        0 => Ok(()),
        n => Err(Stop::No(format!("{}: {n} statements to look at", a.file.display()))),
    }
}

fn document(checked: &Checked) -> serde_json::Value {
    let lines: Vec<_> = checked
        .lines
        .iter()
        .map(|l| json!({"line": l.line, "says": l.says, "fact": l.fact, "record": l.record, "judgement": l.judgement.key(), "hint": l.hint}))
        .collect();
    json!({"lines": lines, "counts": checked.counts, "findings": checked.findings})
}

fn said(a: &Arguments, checked: &Checked) -> String {
    let mut t = String::new();
    for f in &checked.findings {
        t.push_str(&format!("{}: {}: {}; {}\n", a.file.display(), f.place, f.text, f.hint));
    }
    for l in &checked.lines {
        t.push_str(&format!(
            "{}:{}: {}: {}\n",
            a.file.display(),
            l.line,
            l.judgement.key().replace('-', " "),
            l.says
        ));
        if l.judgement != Judgement::Agrees {
            if let Some(record) = &l.record {
                t.push_str(&format!("    the record: {record}\n"));
            }
            if !l.hint.is_empty() {
                t.push_str(&format!("    {}\n", l.hint));
            }
        }
    }
    let counts: Vec<String> =
        checked.counts.iter().map(|(k, n)| format!("{n} {}", k.replace('-', " "))).collect();
    t.push_str(&format!(
        "{}\n",
        if counts.is_empty() { "no statement with a number was found".into() } else { counts.join(", ") }
    ));
    t
}
