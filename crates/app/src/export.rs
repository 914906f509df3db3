//! The whole bench in open formats: every record and its history, original files under their names, and what is
//! computed from them. Nothing of it needs this program to be read.
use crate::desk;
use crate::publish::{EXPORT, Elsewhere, Published, write_for};
use serde_json::{Value as Json, json};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use trueplate_core::report::Report;
use trueplate_core::{cells, facts};
use trueplate_pages::package::{self, Original};
use trueplate_store::{Bench, SCHEMA, Whole};

const README: &str = "\
Everything in this bench, in open formats (UTF-8; tables are comma-separated values by RFC 4180).

bench.json      every record as it is kept: settings, stations with claims and prices, samples, instruments, loads, tests
                with all answers as typed. Private notes and serial numbers too: do not publish this folder.
records.csv     the same, a line for each value: sort of record, id, place in it (JSON pointer), type, value
history.json    everything that was ever written or changed: when, where, old, new, why
history.csv     the same as a table
files/          photos, logs and captures under the names they came with
files.csv       their names, media types, bytes and SHA-256
report.json     all results, verdicts, ranks and findings as computed
facts.json, facts.csv, facts.md   every number that may be said
package/        the tables of the published site for all stations: a Frictionless Data Package with units

A text that a spreadsheet would take for a formula has one apostrophe in front in the tables: take it away to have the
text as it was. Writing into this folder again renews these files and leaves others alone.
";

/// What was written.
pub struct Exported {
    /// Records.
    pub records: usize,
    /// Changes.
    pub changes: usize,
    /// Original files.
    pub files: usize,
    /// What happened in the folder.
    pub folder: Published,
}

/// Writes everything into `folder`: a new one, an empty one, or one that was exported into before.
pub fn export(bench: &Bench, report: &Report, folder: &Path) -> anyhow::Result<Exported> {
    let whole = bench.whole()?;
    let originals = named(&whole);
    let mut files = BTreeMap::new();
    let mut put = |path: &str, text: String| drop(files.insert(path.to_string(), text.into_bytes()));
    put("README.txt", README.into());
    put("bench.json", bench_json(&whole));
    put("records.csv", records_csv(&whole));
    put("history.json", history_json(&whole));
    put("history.csv", history_csv(&whole));
    put("files.csv", files_csv(&whole, &originals));
    put("report.json", format!("{:#}\n", trueplate_pages::json::report(report)));
    let said = facts::all(report);
    put("facts.json", trueplate_pages::json::facts(&said));
    let all: Vec<facts::Fact> = said.current.into_iter().chain(said.former).collect();
    put("facts.csv", facts::csv(&all));
    put("facts.md", facts::markdown(&all.into_iter().filter(|f| f.former.is_empty()).collect::<Vec<_>>()));
    for (path, bytes) in package::whole(report) {
        files.insert(format!("package/{path}"), bytes);
    }
    let fetch = |sha256: &str, file: &mut std::fs::File| desk::fetch(bench, sha256, file);
    let elsewhere = Elsewhere { files: &originals, fetch: &fetch };
    Ok(Exported {
        records: whole.records.len(),
        changes: whole.changes.len(),
        files: originals.len(),
        folder: write_for(EXPORT, &files, &elsewhere, folder)?,
    })
}

/// A name that every file system takes and that stays in its folder.
fn safe(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let kept = |c: char| if c.is_control() || "<>:\"|?*".contains(c) { '_' } else { c };
    let name: String = last.chars().map(kept).collect();
    let name = name.trim_matches([' ', '.']);
    let stem = name.split('.').next().unwrap_or_default().to_ascii_uppercase();
    // Names of devices, which Windows keeps for itself.
    let device = ["CON", "PRN", "AUX", "NUL"].contains(&stem.as_str())
        || (stem.len() == 4 && (stem.starts_with("COM") || stem.starts_with("LPT")));
    match name {
        "" => "file".into(),
        _ if device => format!("_{name}"),
        _ => shortened(name),
    }
}

/// At most 120 bytes, the ending kept.
fn shortened(name: &str) -> String {
    if name.len() <= 120 {
        return name.into();
    }
    let (stem, ending) = name.rsplit_once('.').filter(|(_, e)| e.len() <= 10).unwrap_or((name, ""));
    let mut end = 100;
    while !stem.is_char_boundary(end.min(stem.len())) {
        end -= 1;
    }
    let stem = &stem[..end.min(stem.len())];
    if ending.is_empty() { stem.into() } else { format!("{stem}.{ending}") }
}

/// Every kept file under the name it came with; a second one of that name is numbered.
fn named(whole: &Whole) -> Vec<Original> {
    let mut taken = BTreeSet::new();
    let one = |kept: &trueplate_store::KeptFile| {
        let name = safe(&kept.file.name);
        let (stem, ending) =
            name.rsplit_once('.').map_or((name.as_str(), String::new()), |(s, e)| (s, format!(".{e}")));
        let numbered = (2..).map(|n| format!("{stem} ({n}){ending}"));
        // Some file systems take "A.csv" and "a.csv" for one.
        let free = std::iter::once(name.clone()).chain(numbered).find(|n| taken.insert(n.to_lowercase()));
        Original {
            path: format!("files/{}", free.unwrap_or(name)),
            sha256: kept.file.sha256.clone(),
            bytes: kept.size,
            media: kept.file.media.clone(),
        }
    };
    whole.files.iter().map(one).collect()
}

/// A list of documents, one to a line.
fn list(out: &mut String, name: &str, all: impl Iterator<Item = Json>) {
    out.push_str(&format!("\"{name}\": ["));
    for (i, one) in all.enumerate() {
        out.push_str(if i == 0 { "\n" } else { ",\n" });
        out.push_str(&one.to_string());
    }
    out.push(']');
}

fn bench_json(whole: &Whole) -> String {
    let mut out =
        format!("{{\"program\": \"trueplate {}\", \"schema\": {SCHEMA},\n", env!("CARGO_PKG_VERSION"));
    let one = |r: &trueplate_store::Document| json!({"sort": r.sort, "id": r.id, "revision": r.revision, "document": r.document});
    list(&mut out, "records", whole.records.iter().map(one));
    out.push_str("}\n");
    out
}

fn records_csv(whole: &Whole) -> String {
    let mut out = String::new();
    cells::line(&mut out, &["sort", "id", "field", "type", "value"]);
    for record in &whole.records {
        leaves(&record.document, &mut String::new(), &mut |field, sort, value| {
            cells::line(&mut out, &[record.sort.as_str(), &record.id, field, sort, value]);
        });
    }
    out
}

/// Every value inside a document with its place (JSON pointer, RFC 6901) and type; an empty list or object is a value.
fn leaves(json: &Json, at: &mut String, see: &mut impl FnMut(&str, &str, &str)) {
    let length = at.len();
    match json {
        Json::Object(map) if !map.is_empty() => {
            for (key, value) in map {
                at.push('/');
                at.push_str(&key.replace('~', "~0").replace('/', "~1"));
                leaves(value, at, see);
                at.truncate(length);
            }
        }
        Json::Array(list) if !list.is_empty() => {
            for (i, value) in list.iter().enumerate() {
                at.push_str(&format!("/{i}"));
                leaves(value, at, see);
                at.truncate(length);
            }
        }
        Json::Object(_) => see(at, "object", ""),
        Json::Array(_) => see(at, "array", ""),
        Json::String(text) => see(at, "string", text),
        Json::Number(number) => see(at, "number", &number.to_string()),
        Json::Bool(yes) => see(at, "boolean", &yes.to_string()),
        Json::Null => see(at, "null", ""),
    }
}

fn history_json(whole: &Whole) -> String {
    // Old and new are JSON texts; one that is none is kept as it stands.
    let value = |text: &str| serde_json::from_str::<Json>(text).unwrap_or_else(|_| json!(text));
    let stroke = |s: &trueplate_store::StrokeLine| json!({"stroke": s.stroke, "at": s.at, "why": s.why, "once": s.once});
    let change = |c: &trueplate_core::notebook::Change| {
        json!({"seq": c.seq, "stroke": c.stroke, "record": c.record, "id": c.id, "field": c.field,
               "old": value(&c.old), "new": value(&c.new)})
    };
    let mut out = String::from("{");
    list(&mut out, "strokes", whole.strokes.iter().map(stroke));
    out.push_str(",\n");
    list(&mut out, "changes", whole.changes.iter().map(change));
    out.push_str("}\n");
    out
}

fn history_csv(whole: &Whole) -> String {
    let mut out = String::new();
    cells::line(&mut out, &["seq", "stroke", "at", "record", "id", "field", "old", "new", "why"]);
    for c in &whole.changes {
        let (seq, stroke) = (c.seq.to_string(), c.stroke.to_string());
        cells::line(&mut out, &[&seq, &stroke, &c.at, &c.record, &c.id, &c.field, &c.old, &c.new, &c.why]);
    }
    out
}

fn files_csv(whole: &Whole, originals: &[Original]) -> String {
    let mut out = String::new();
    cells::line(&mut out, &["path", "name", "media", "bytes", "sha256"]);
    for (kept, original) in whole.files.iter().zip(originals) {
        let bytes = kept.size.to_string();
        let row = [&original.path, &kept.file.name, &kept.file.media, &bytes, &kept.file.sha256];
        cells::line(&mut out, &row);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stay_in_their_folder_and_fit_every_system() {
        for (name, kept) in [
            ("../../etc/passwd", "passwd"),
            ("C:\\logs\\a:b.csv", "a_b.csv"),
            ("..", "file"),
            ("", "file"),
            ("con.txt", "_con.txt"),
            ("my log.csv", "my log.csv"),
        ] {
            assert_eq!(safe(name), kept, "{name}");
        }
        let long = safe(&format!("{}é.csv", "a".repeat(300)));
        assert!(long.len() <= 120 && long.ends_with(".csv"), "{long}");
    }
}
