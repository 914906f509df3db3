//! The full check: SQLite's own, every checksum, the history replayed against the present state, every file's hash.
use crate::bench::Bench;
use crate::diff;
use crate::error::Error;
use crate::files::{self, SORT};
use crate::rows::{self, Row, damaged};
use crate::running;
use crate::seal::Seal;
use crate::write::{add_line, open_seal};
use rusqlite::Connection;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use trueplate_core::finding::Finding;

/// What the history says each record and file is: its revision and its document (null once removed).
type State = BTreeMap<(String, String), (i64, Value)>;

impl Bench {
    /// Reads everything and says what is not as it was saved; empty when all is well.
    ///
    /// Damage has the code `damaged` and names the record, stroke or file; `file-missing` names a file that a record
    /// speaks of and that was never kept here. Files are read a chunk at a time.
    pub fn verify(&self) -> Result<Vec<Finding>, Error> {
        let snapshot = self.conn.unchecked_transaction().map_err(self.sql("checking it"))?;
        let (mut findings, mut state) = (Vec::new(), State::new());
        let structure = structure(&snapshot, &mut findings);
        readable("file structure", structure, &mut findings);
        let history = replay(&snapshot, &mut state, &mut findings);
        readable("history", history, &mut findings);
        let kept = files(&snapshot, &mut state, &mut findings);
        readable("files", kept, &mut findings);
        let logs = logs(&snapshot, &mut state, &mut findings);
        readable("running logs", logs, &mut findings);
        let records = records(&snapshot, &mut state, &mut findings);
        readable("records", records, &mut findings);
        for (sort, id) in state.into_keys() {
            findings.push(damaged(&format!("{sort} {id}"), "stands in the history and is gone"));
        }
        Ok(findings)
    }
}

fn readable(part: &str, result: rusqlite::Result<()>, findings: &mut Vec<Finding>) {
    if let Err(e) = result {
        findings.push(damaged(part, &format!("cannot be read to the end: {e}")));
    }
}

/// SQLite's own checks: pages, indexes, links between tables.
fn structure(conn: &Connection, findings: &mut Vec<Finding>) -> rusqlite::Result<()> {
    conn.pragma_query(None, "integrity_check", |row| {
        let text: String = row.get(0)?;
        if text != "ok" {
            findings.push(damaged("file structure", text.trim()));
        }
        Ok(())
    })?;
    conn.pragma_query(None, "foreign_key_check", |row| {
        let (from, to): (String, String) = (row.get(0)?, row.get(2)?);
        findings.push(damaged("file structure", &format!("a row of `{from}` has lost its `{to}`")));
        Ok(())
    })
}

/// One stroke as it stands in the file, while its changes are read.
struct Open {
    number: i64,
    seal: Seal,
    sum: String,
}

/// Checks the chain of strokes and collects what the history makes of every record.
fn replay(conn: &Connection, state: &mut State, findings: &mut Vec<Finding>) -> rusqlite::Result<()> {
    let mut changes = conn.prepare(
        "SELECT seq, sort, id, revision, field, old, new FROM change WHERE stroke = ?1 ORDER BY seq",
    )?;
    let mut strokes = conn.prepare("SELECT stroke, at, why, key, sum FROM stroke ORDER BY stroke")?;
    let mut rows = strokes.query([])?;
    let (mut before, mut next_stroke, mut next_seq) = (String::new(), 1_i64, 1_i64);
    while let Some(row) = rows.next()? {
        let (number, at, why): (i64, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let key: Option<String> = row.get(3)?;
        let seal = open_seal(&before, number, &at, &why, key.as_deref());
        let mut open = Open { number, seal, sum: row.get(4)? };
        if number != next_stroke {
            findings.push(damaged(&format!("stroke {next_stroke}"), "is missing"));
        }
        next_stroke = number + 1;
        let mut lines = changes.query([number])?;
        while let Some(line) = lines.next()? {
            open.seal = one_line(line, open.seal, &mut next_seq, state, findings)?;
        }
        if open.seal.done() != open.sum {
            let text = format!("saved {at}, is not what was saved: its checksum differs");
            findings.push(damaged(&format!("stroke {}", open.number), &text));
        }
        before = open.sum;
    }
    let all: i64 = conn.query_row("SELECT count(*) FROM change", [], |r| r.get(0))?;
    if all != next_seq - 1 {
        findings
            .push(damaged("history", &format!("{} changes belong to strokes, {all} are here", next_seq - 1)));
    }
    let head: (i64, String) =
        conn.query_row("SELECT stroke, sum FROM head", [], |r| Ok((r.get(0)?, r.get(1)?)))?;
    if head != (next_stroke - 1, before) {
        findings.push(damaged("history", "does not end with the stroke it should"));
    }
    Ok(())
}

fn one_line(
    line: &rusqlite::Row,
    seal: Seal,
    next_seq: &mut i64,
    state: &mut State,
    findings: &mut Vec<Finding>,
) -> rusqlite::Result<Seal> {
    let (seq, sort, id): (i64, String, String) = (line.get(0)?, line.get(1)?, line.get(2)?);
    let (revision, field): (i64, String) = (line.get(3)?, line.get(4)?);
    let (old, new): (String, String) = (line.get(5)?, line.get(6)?);
    let seal = add_line(seal, seq, (&sort, &id, revision), (&field, &old, &new));
    let name = format!("change {seq} of {sort} {id}");
    if seq != *next_seq {
        findings.push(damaged(&name, &format!("should be change {next_seq}")));
    }
    *next_seq = seq + 1;
    let entry = state.entry((sort, id)).or_insert((0, Value::Null));
    entry.0 = revision;
    let taken = match (serde_json::from_str(&old), serde_json::from_str(&new)) {
        (Ok(old), Ok(new)) => diff::take(&mut entry.1, &field, &old, &new).is_ok(),
        _ => false,
    };
    if !taken {
        findings.push(damaged(&name, "does not follow from what was there before"));
    }
    Ok(seal)
}

/// Checks every file against its hash, and its name against the history.
fn files(conn: &Connection, state: &mut State, findings: &mut Vec<Finding>) -> rusqlite::Result<()> {
    for kept in files::all(conn)? {
        let file = &kept.file;
        let place = format!("file {} {}", file.name, file.sha256);
        if let Some(what) = files::check(conn, &kept, |_| true)? {
            findings.push(damaged(&place, &what));
        }
        let said = state.remove(&(SORT.to_string(), file.sha256.clone())).map(|(_, document)| document);
        let size = i64::try_from(kept.size).unwrap_or(i64::MAX);
        if said != Some(files::document(&file.name, &file.media, size)) {
            findings.push(damaged(&place, "its name, type or size is not what the history says"));
        }
    }
    Ok(())
}

/// Checks every log still being taken. One that was finished is a file, and its place in the history is empty.
fn logs(conn: &Connection, state: &mut State, findings: &mut Vec<Finding>) -> rusqlite::Result<()> {
    for log in running::all(conn)? {
        let place = format!("log {} {}", log.number, log.name);
        let said = state.remove(&(running::SORT.to_string(), log.number.to_string()));
        if said.is_none_or(|(_, document)| document != running::document(&log)) {
            findings.push(damaged(&place, "is not what the history says"));
        }
        if !running::intact(conn, &log)? {
            findings.push(damaged(&place, "its pieces are not what was kept: the checksum differs"));
        }
    }
    state.retain(|(sort, _), (_, document)| sort != running::SORT || !document.is_null());
    Ok(())
}

/// Checks every record against its checksum and the history, and that the files it names are here.
fn records(conn: &Connection, state: &mut State, findings: &mut Vec<Finding>) -> rusqlite::Result<()> {
    let mut named = BTreeSet::new();
    let mut numbers = conn.prepare("SELECT 1 FROM file WHERE sha256 = ?1")?;
    let read = rows::each(conn, |row| {
        let said = state.remove(&(row.sort.clone(), row.id.clone()));
        if let Err(finding) = record(&row, said, &mut named) {
            findings.push(finding);
        }
    });
    for (place, sha256) in named {
        if !numbers.exists([&sha256])? {
            let text = format!("names the file {sha256}, which is not in the bench");
            findings.push(Finding::gap("file-missing", place, text, "add the file again"));
        }
    }
    read
}

fn record(
    row: &Row,
    said: Option<(i64, Value)>,
    named: &mut BTreeSet<(String, String)>,
) -> Result<(), Finding> {
    row.damage().map_or(Ok(()), Err)?;
    let value = row.value()?;
    row.record()?;
    if said.as_ref() != Some(&(row.revision, value.clone())) {
        return Err(damaged(&row.name(), "is not what its history leads to"));
    }
    collect_files(&value, &row.name(), named);
    Ok(())
}

/// Every `sha256` in a document; the store knows nothing else of what a record means.
fn collect_files(value: &Value, place: &str, named: &mut BTreeSet<(String, String)>) {
    match value {
        Value::Object(members) => {
            if let Some(Value::String(sha256)) = members.get("sha256").filter(|v| **v != "") {
                named.insert((place.to_string(), sha256.clone()));
            }
            members.values().for_each(|v| collect_files(v, place, named));
        }
        Value::Array(items) => items.iter().for_each(|v| collect_files(v, place, named)),
        _ => {}
    }
}
