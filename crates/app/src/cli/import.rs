//! `trueplate import`: a file into a bench. A meter's log is kept whole, to be attached to a test; an oscilloscope's file
//! goes to the test that waits for it; an old table of stations becomes stations, claims, prices and summaries.
use super::{Ended, Stop, out, out_json};
use crate::{clock, old_table};
use serde_json::{Value, json};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use trueplate_core::finding::Finding;
use trueplate_core::table;
use trueplate_meters::logs::{self, Hints, Loaded, Options, TimeKind};
use trueplate_store::{Bench, Stroke};

#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    pub(super) bench: PathBuf,
    /// A meter's file, an oscilloscope's file, or a table of earlier results saved as CSV.
    pub(super) file: PathBuf,
    /// What it is; found out by itself when left out.
    #[arg(long = "as", value_enum)]
    sort: Option<Sort>,
    /// The test that an oscilloscope's file goes to, by its id; needed where several could take it.
    #[arg(long, value_name = "ID")]
    pub(super) test: Option<String>,
    /// Only say what would be written.
    #[arg(long)]
    pub(super) dry_run: bool,
    /// One JSON document on standard output.
    #[arg(long)]
    pub(super) json: bool,
}

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Sort {
    /// A meter's log.
    Log,
    /// An oscilloscope's file.
    Capture,
    /// A table of earlier results, a row for each station.
    Table,
}

/// Largest table read, in bytes.
const TABLE_BYTES: u64 = 16 << 20;

pub fn run(a: &Arguments) -> Ended {
    let at = |e: std::io::Error| Stop::unread(&a.file, &e);
    let about = std::fs::metadata(&a.file).map_err(at)?;
    if about.is_dir() {
        return Err(Stop::Usage(format!("{}: this is a folder; name one file", a.file.display())));
    }
    if about.len() == 0 {
        return Err(Stop::Usage(format!("{}: the file is empty; export it again", a.file.display())));
    }
    // A bench that cannot be opened is told before a long file is read.
    let zone = Bench::open_read_only(&a.bench)?.notebook()?.settings.zone;
    let rows =
        if about.len() <= TABLE_BYTES { old_table::rows(&read(&a.file).map_err(at)?) } else { Vec::new() };
    let loaded = match a.sort {
        Some(Sort::Capture | Sort::Table) => None,
        _ => Some(load(&a.file, &zone).map_err(at)?),
    };
    let capture = match a.sort {
        Some(Sort::Capture) => true,
        None => {
            loaded.as_ref().is_none_or(|l| !has_sums(l))
                && super::import_capture::is_one(&a.file).map_err(at)?
        }
        _ => false,
    };
    let sort =
        if capture { Sort::Capture } else { a.sort.unwrap_or_else(|| sort_of(loaded.as_ref(), &rows)) };
    if a.test.is_some() && sort != Sort::Capture {
        return Err(Stop::Usage(
            "--test goes with an oscilloscope's file only; a log is attached in the app, where its columns are looked at".into(),
        ));
    }
    match (sort, loaded) {
        (Sort::Table, _) => import_table(a, &rows),
        (Sort::Log, Some(loaded)) => import_log(a, &loaded, about.len()),
        _ => super::import_capture::import(a, about.len()),
    }
}

fn read(file: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(file)?.take(TABLE_BYTES).read_to_end(&mut bytes)?;
    Ok(bytes)
}

pub(super) fn name(file: &Path) -> String {
    file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}

fn load(file: &Path, zone: &str) -> std::io::Result<Loaded> {
    let zone = Some(zone.to_string()).filter(|z| !z.is_empty());
    let hints = Hints { file_name: Some(name(file)), zone, known: None };
    logs::load(|| File::open(file), &hints, &Options::default(), None)
}

fn has_sums(loaded: &Loaded) -> bool {
    loaded.log.energy_wh.is_some() || loaded.log.energy_counter_wh.is_some()
}

/// Rows with times and energy are a log; a header with stations is a table; anything else with times may be a log yet.
fn sort_of(loaded: Option<&Loaded>, rows: &[Vec<String>]) -> Sort {
    let sums = loaded.is_some_and(has_sums);
    let timed =
        loaded.is_some_and(|l| l.understanding.readable && l.understanding.mapping.time != TimeKind::Missing);
    match (sums, table::understand(rows)) {
        (false, Some(_)) => Sort::Table,
        (true, _) => Sort::Log,
        _ if timed || loaded.is_some() => Sort::Log,
        _ => Sort::Capture,
    }
}

/// Keeps the file by its hash; the hash, and whether it is new here. In a dry run nothing is written.
pub(super) fn keep(a: &Arguments) -> Result<(Value, bool), Stop> {
    if a.dry_run {
        return Ok((Value::Null, false));
    }
    let mut bench = Bench::open(&a.bench)?;
    let at = clock::now_in(&bench.notebook()?.settings.zone);
    let before = bench.files()?.len();
    let open = File::open(&a.file).map_err(|e| Stop::unread(&a.file, &e))?;
    let kept = bench.put_file(open, &name(&a.file), "", &at)?;
    Ok((json!(kept.sha256), bench.files()?.len() > before))
}

fn import_log(a: &Arguments, loaded: &Loaded, bytes: u64) -> Ended {
    let u = &loaded.understanding;
    let (sha256, new) = keep(a)?;
    let questions: Vec<Value> = u.questions.iter().map(|q| super::log::question(q, &u.mapping)).collect();
    let said = json!({"as": "log", "file": name(&a.file), "bytes": bytes, "sha256": sha256, "new": new,
        "dry_run": a.dry_run, "readable": u.readable, "questions": questions, "log": logs::json(&loaded.log)});
    if a.json {
        out_json(&said)?;
    } else if u.readable {
        let how = match (a.dry_run, new) {
            (true, _) => "would be kept",
            (false, true) => "kept",
            (false, false) => "was kept already; nothing is changed",
        };
        let next = if a.dry_run {
            ""
        } else {
            "; look at it and attach it to a test in the app, under Meters' files"
        };
        out(&format!("{}: {how} as it is{next}\n{}", a.file.display(), super::log::text(loaded)))?;
    }
    match u.readable {
        true => Ok(()),
        false => Err(Stop::Usage(unread(a, new, "log", &loaded.log.findings))),
    }
}

/// Why nothing came of a file, what to do, and that the file itself is not lost: all of it in one answer.
pub(super) fn unread(a: &Arguments, new: bool, what: &str, findings: &[Finding]) -> String {
    let kept = match (a.dry_run, new) {
        (true, _) => "the file itself would be kept as it is",
        (false, true) => {
            "the file itself is kept on the bench as it is, and importing it again changes nothing"
        }
        (false, false) => "the file itself was kept already, nothing is changed",
    };
    let why: Vec<String> = findings.iter().map(|f| format!("{}: {}; {}", f.place, f.text, f.hint)).collect();
    format!("{}: no {what} could be read in it\n  {}\n  {kept}", a.file.display(), why.join("\n  "))
}

fn import_table(a: &Arguments, rows: &[Vec<String>]) -> Ended {
    let Some(table) = table::understand(rows) else {
        let (sha256, new) = keep(a)?;
        let text = "no row looks like a header with the names of stations";
        let hint = "put one such as `Model, Capacity Wh, Usable energy Wh` above the rows and save it as CSV";
        let findings = [Finding::gap("no-header", "table", text, hint)];
        if a.json {
            out_json(
                &json!({"as": "table", "file": name(&a.file), "sha256": sha256, "new": new, "readable": false,
                "dry_run": a.dry_run, "findings": findings}),
            )?;
        }
        return Err(Stop::Usage(unread(a, new, "table of stations", &findings)));
    };
    let source = name(&a.file);
    let mut bench = if a.dry_run { Bench::open_read_only(&a.bench)? } else { Bench::open(&a.bench)? };
    let notebook = bench.notebook()?;
    let plan = table::plan(&table, rows, &notebook, &source);
    let (sha256, _) = keep(a)?;
    if !a.dry_run && !plan.models.is_empty() {
        let stroke =
            Stroke::at(clock::now_in(&notebook.settings.zone)).why(format!("taken over from {source}"));
        bench.save(&old_table::records(&plan, &notebook), &stroke)?;
    }
    let columns: Vec<Value> = table
        .columns
        .iter()
        .map(|c| json!({"name": c.name, "holds": c.meaning.key(), "unit": c.unit.map(|u| u.ucum)}))
        .collect();
    let models: Vec<Value> =
        plan.models.iter().map(|m| json!({"name": m.name, "new": m.id.is_empty()})).collect();
    if a.json {
        return out_json(
            &json!({"as": "table", "file": source, "sha256": sha256, "dry_run": a.dry_run, "columns": columns,
            "models": models, "claims": plan.claims, "prices": plan.prices, "summaries": plan.earlier,
            "unchanged": plan.unchanged, "findings": plan.findings}),
        );
    }
    let mut text = format!(
        "{}: {}{}\n",
        a.file.display(),
        if a.dry_run { "would bring " } else { "" },
        old_table::words(&plan)
    );
    text.push_str("columns\n");
    for c in &table.columns {
        text.push_str(&format!("  {:<32}{}\n", c.name, c.meaning.words()));
    }
    let line = |f: &Finding| format!("{}: {}; {}\n", f.place, f.text, f.hint);
    plan.findings.iter().for_each(|f| text.push_str(&line(f)));
    if plan.earlier > 0 {
        text.push_str("results are summaries without readings: shown as such, never judged, never ranked\n");
    }
    out(&text)
}
