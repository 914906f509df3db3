//! Commands on the bench file as a whole: `new`, `verify`, `backup`, `restore`, and opening it for the others.
use super::{Ended, Stop, out, out_json};
use crate::{clock, recordings};
use serde_json::json;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trueplate_core::notebook::Notebook;
use trueplate_core::recording::Recordings;
use trueplate_core::repeat;
use trueplate_core::report::{ModelReport, Report, report};
use trueplate_store::{Bench, Error, restore as put_back};

#[derive(clap::Args)]
pub struct NewArguments {
    /// The bench to begin: a name that ends in .trueplate.
    file: PathBuf,
}

#[derive(clap::Args)]
pub struct VerifyArguments {
    /// The bench.
    bench: PathBuf,
    /// File with ids that must be in the bench, one a line.
    #[arg(long)]
    acked: Option<PathBuf>,
    /// One JSON document on standard output.
    #[arg(long)]
    json: bool,
}

#[derive(clap::Args)]
pub struct BackupArguments {
    /// The bench.
    bench: PathBuf,
    /// The copy to write; never overwritten.
    file: PathBuf,
}

#[derive(clap::Args)]
pub struct RestoreArguments {
    /// The copy.
    file: PathBuf,
    /// The bench to write; never overwritten.
    bench: PathBuf,
}

impl From<Error> for Stop {
    fn from(e: Error) -> Stop {
        let text = e.to_string();
        match e {
            Error::Damaged { .. } => Stop::Damaged(text),
            Error::Full { .. }
            | Error::Disk { .. }
            | Error::Sql { .. }
            | Error::ReadOnly { .. }
            | Error::Busy { .. } => Stop::World(text),
            _ => Stop::Usage(text),
        }
    }
}

/// `new`: an empty bench in the zone of this machine.
pub fn new(a: &NewArguments) -> Ended {
    begin(&a.file)?;
    out(&format!("{} is begun; open it with: trueplate serve {}\n", a.file.display(), a.file.display()))
}

/// Creates an empty bench.
pub fn begin(file: &Path) -> Result<Bench, Stop> {
    Ok(Bench::create(file, &clock::now_in("UTC"))?)
}

/// Reads a bench without holding it.
pub fn notebook(bench: &Path) -> Result<Notebook, Stop> {
    Ok(Bench::open_read_only(bench)?.notebook()?)
}

/// Computes the report of a bench, as of a date or today.
pub fn compute(bench: &Path, as_of: Option<&str>) -> Result<Report, Stop> {
    let mut notebook = notebook(bench)?;
    let recordings = recordings::of(&notebook, &Recordings::new(), || Bench::open_read_only(bench))
        .map_err(|e| Stop::World(format!("{e:#}")))?;
    if let Some(date) = as_of {
        date.parse::<jiff::civil::Date>()
            .map_err(|_| Stop::Usage(format!("--as-of {date}: not a date; write it as 2026-06-30")))?;
        notebook.settings.as_of = date.into();
    }
    let outcomes = repeat::outcomes_with(&notebook, &recordings);
    let today = clock::today_in(&notebook.settings.zone);
    Ok(report(Arc::new(notebook), Arc::new(outcomes), &today))
}

/// The model a person means: its id, or a part of its name that only it has.
pub fn model_of<'a>(report: &'a Report, asked: &str) -> Result<&'a ModelReport, Stop> {
    if let Some(exact) = report.models.iter().find(|m| m.id.eq_ignore_ascii_case(asked) || m.name == asked) {
        return Ok(exact);
    }
    let part = asked.to_lowercase();
    let found: Vec<&ModelReport> =
        report.models.iter().filter(|m| m.name.to_lowercase().contains(&part)).collect();
    let names = |list: &[&ModelReport]| list.iter().map(|m| m.name.as_str()).collect::<Vec<_>>().join(", ");
    match found.as_slice() {
        [one] => Ok(one),
        [] => {
            let all: Vec<&ModelReport> = report.models.iter().collect();
            let known = if all.is_empty() {
                "there is none yet".into()
            } else {
                format!("there are {}", names(&all))
            };
            Err(Stop::Usage(format!("`{asked}`: no model of this bench is called so; {known}")))
        }
        many => Err(Stop::Usage(format!("`{asked}` fits {}; write more of the name", names(many)))),
    }
}

/// `verify`: reads everything and says what is not as it was saved.
pub fn verify(a: &VerifyArguments) -> Ended {
    let opened = Bench::open_read_only(&a.bench).and_then(|bench| Ok((bench.verify()?, bench)));
    let (mut findings, bench) = match opened {
        Ok(found) => found,
        Err(e) => {
            // A program that reads the answer gets one, even where the file cannot be opened.
            if a.json && matches!(e, Error::Damaged { .. }) {
                let said = json!([{"code": "damaged", "weight": "gap", "where": "file", "text": e.to_string(), "hint": ""}]);
                out_json(&json!({"bench": a.bench.display().to_string(), "ok": false, "findings": said}))?;
            }
            return Err(e.into());
        }
    };
    if let Some(list) = &a.acked {
        let text = std::fs::read_to_string(list).map_err(|e| Stop::unread(list, &e))?;
        for id in text.lines().map(str::trim).filter(|l| !l.is_empty()) {
            if bench.once(id)?.is_none() {
                findings.push(trueplate_core::finding::Finding::gap(
                    "not-kept",
                    id,
                    "was said to be kept and is not in the bench".to_string(),
                    "restore the last backup and compare",
                ));
            }
        }
    }
    let damaged = findings.iter().any(|f| f.code == "damaged");
    if a.json {
        out_json(
            &json!({"bench": a.bench.display().to_string(), "ok": findings.is_empty(), "findings": findings}),
        )?;
    } else if findings.is_empty() {
        out(&format!("{}: every record, change and file is as it was saved\n", a.bench.display()))?;
    }
    if findings.is_empty() {
        return Ok(());
    }
    let lines: Vec<String> =
        findings.iter().map(|f| format!("{}: {}; {}", f.place, f.text, f.hint)).collect();
    let text = format!("{}: {} found\n  {}", a.bench.display(), findings.len(), lines.join("\n  "));
    Err(if damaged { Stop::Damaged(text) } else { Stop::No(text) })
}

/// `backup`: one consistent copy.
pub fn backup(a: &BackupArguments) -> Ended {
    let findings = Bench::open_read_only(&a.bench)?.backup_to(&a.file)?;
    if let Some(f) = findings.iter().find(|f| f.code == "damaged") {
        return Err(Stop::Damaged(format!(
            "{}: copied, but the bench is damaged: {} {}",
            a.file.display(),
            f.place,
            f.text
        )));
    }
    out(&format!("{} is a whole copy of {}\n", a.file.display(), a.bench.display()))
}

/// `restore`: a copy back in place.
pub fn restore(a: &RestoreArguments) -> Ended {
    put_back(&a.file, &a.bench)?;
    out(&format!("{} is restored from {}\n", a.bench.display(), a.file.display()))
}
