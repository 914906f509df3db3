//! Saving: everything saved together is one stroke, all of it or nothing, with its changes in the history.
use crate::bench::Bench;
use crate::diff::{self, Step};
use crate::error::{Error, Stale, sql};
use crate::history;
use crate::rows::{self, Row};
use crate::seal::Seal;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior};
use serde_json::Value;
use std::path::Path;
use trueplate_core::record::Record;

/// When and why something is saved, and under which conditions.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stroke {
    at: String,
    why: String,
    key: String,
    expected: Vec<(String, String, i64)>,
}

impl Stroke {
    /// Saved at this time, RFC 3339 with offset.
    pub fn at(at: impl Into<String>) -> Stroke {
        Stroke { at: at.into(), ..Stroke::default() }
    }
    /// For this reason.
    pub fn why(mut self, why: impl Into<String>) -> Stroke {
        self.why = why.into();
        self
    }
    /// Exactly once: a second saving with the same key does nothing. An empty key is none.
    pub fn once(mut self, key: impl Into<String>) -> Stroke {
        self.key = key.into();
        self
    }
    /// Only if the record still has the revision it was read with (0: only if it was never written).
    pub fn expecting(mut self, sort: impl Into<String>, id: impl Into<String>, revision: i64) -> Stroke {
        self.expected.push((sort.into(), id.into(), revision));
        self
    }
}

/// What became of a saving. When it is returned, it is on the disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Saved {
    /// Number of the stroke; none when nothing differed from what is there.
    pub stroke: Option<i64>,
    /// The key had been saved before, by the stroke named; nothing was done.
    pub again: bool,
}

/// One line of history to be written.
pub(crate) struct Line {
    pub sort: String,
    pub id: String,
    pub revision: i64,
    pub step: Step,
}

/// What a record is to become; null: removed.
pub(crate) struct Edit {
    pub sort: String,
    pub id: String,
    pub to: Value,
}

impl Bench {
    /// Saves records, all or none: one change for each field that differs, or one for a record first written.
    ///
    /// Nothing is written when nothing differs (a key is kept all the same).
    pub fn save(&mut self, records: &[Record], stroke: &Stroke) -> Result<Saved, Error> {
        let edit = |r: &Record| Ok(Edit { sort: r.sort().into(), id: r.id().into(), to: rows::document(r)? });
        let edits = records.iter().map(edit).collect::<Result<Vec<Edit>, Error>>()?;
        self.in_one_stroke(|tx, path| write(tx, path, &edits, stroke))
    }

    /// Removes a record from the notebook. Its history stays, and the removal can be undone.
    pub fn remove(&mut self, sort: &str, id: &str, stroke: &Stroke) -> Result<Saved, Error> {
        let edit = Edit { sort: sort.into(), id: id.into(), to: Value::Null };
        self.in_one_stroke(|tx, path| {
            let there = rows::row(tx, sort, id).map_err(sql(path, "removing a record"))?;
            if there.is_none_or(|r| r.body.is_none()) && kept(tx, path, &stroke.key)?.is_none() {
                return Err(Error::NoSuch { path: path.into(), what: format!("{sort} {id}") });
            }
            write(tx, path, &[edit], stroke)
        })
    }

    /// The stroke that kept this key, if one did.
    pub fn once(&self, key: &str) -> Result<Option<i64>, Error> {
        kept(&self.conn, &self.path, key)
    }

    /// Runs a writing from a state nobody else can change meanwhile, and keeps it only when it succeeds.
    pub(crate) fn in_one_stroke<T>(
        &mut self,
        act: impl FnOnce(&Transaction, &Path) -> Result<T, Error>,
    ) -> Result<T, Error> {
        let failed = self.sql("saving");
        if !self.writable {
            return Err(Error::ReadOnly { path: self.path.clone(), doing: "saving".into() });
        }
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(&failed)?;
        let done = act(&tx, &self.path)?;
        tx.commit().map_err(&failed)?;
        Ok(done)
    }
}

/// Writes the edits as one stroke, within a transaction.
pub(crate) fn write(tx: &Connection, path: &Path, edits: &[Edit], stroke: &Stroke) -> Result<Saved, Error> {
    if let Some(before) = kept(tx, path, &stroke.key)? {
        return Ok(Saved { stroke: Some(before), again: true });
    }
    not_stale(tx, path, stroke)?;
    let mut lines = Vec::new();
    for edit in edits {
        put(tx, path, edit, &mut lines)?;
    }
    if lines.is_empty() && stroke.key.is_empty() {
        return Ok(Saved { stroke: None, again: false });
    }
    let number = append(tx, stroke, &lines).map_err(sql(path, "saving"))?;
    Ok(Saved { stroke: Some(number), again: false })
}

fn kept(conn: &Connection, path: &Path, key: &str) -> Result<Option<i64>, Error> {
    if key.is_empty() {
        return Ok(None);
    }
    let find = || {
        let mut ask = conn.prepare_cached("SELECT stroke FROM stroke WHERE key = ?1")?;
        ask.query_row([key], |r| r.get(0)).optional()
    };
    find().map_err(sql(path, "looking for a saved key"))
}

fn not_stale(tx: &Connection, path: &Path, stroke: &Stroke) -> Result<(), Error> {
    let failed = sql(path, "saving");
    for (sort, id, expected) in &stroke.expected {
        let found = rows::row(tx, sort, id).map_err(&failed)?.map_or(0, |r| r.revision);
        if found != *expected {
            let changes = history::since(tx, sort, id, *expected).map_err(&failed)?;
            let (sort, id) = (sort.clone(), id.clone());
            return Err(Error::Stale(Box::new(Stale { sort, id, expected: *expected, found, changes })));
        }
    }
    Ok(())
}

/// Writes one record's row where it differs, and notes the steps.
fn put(tx: &Connection, path: &Path, edit: &Edit, lines: &mut Vec<Line>) -> Result<(), Error> {
    let failed = sql(path, "saving");
    let now = rows::row(tx, &edit.sort, &edit.id).map_err(&failed)?;
    let old = match &now {
        None => Value::Null,
        // Nothing is built on a damaged record: its checksum would then vouch for the damage.
        Some(row) => row
            .damage()
            .map_or_else(|| row.value(), Err)
            .map_err(|f| Error::Damaged { path: path.into(), what: format!("{} {}", f.place, f.text) })?,
    };
    let steps = diff::between(&old, &edit.to);
    if steps.is_empty() {
        return Ok(());
    }
    let revision = now.as_ref().map_or(1, |r| r.revision + 1);
    let place = match &now {
        Some(row) => row.place,
        None => tx
            .query_row("SELECT coalesce(max(place), 0) + 1 FROM record", [], |r| r.get(0))
            .map_err(&failed)?,
    };
    let body = (!edit.to.is_null()).then(|| edit.to.to_string());
    let mut row =
        Row { place, sort: edit.sort.clone(), id: edit.id.clone(), revision, body, sum: String::new() };
    row.sum = row.seal();
    store(tx, &row).map_err(&failed)?;
    lines.extend(steps.into_iter().map(|step| Line {
        sort: row.sort.clone(),
        id: row.id.clone(),
        revision,
        step,
    }));
    Ok(())
}

fn store(tx: &Connection, row: &Row) -> rusqlite::Result<()> {
    let mut put = tx.prepare_cached(
        "INSERT INTO record (place, sort, id, revision, body, sum) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
         ON CONFLICT (place) DO UPDATE SET revision = excluded.revision, body = excluded.body, sum = excluded.sum",
    )?;
    put.execute((row.place, &row.sort, &row.id, row.revision, &row.body, &row.sum)).map(|_| ())
}

/// Appends a stroke to the history and moves the head to it.
pub(crate) fn append(tx: &Connection, stroke: &Stroke, lines: &[Line]) -> rusqlite::Result<i64> {
    let (last, before): (i64, String) =
        tx.query_row("SELECT stroke, sum FROM head", [], |r| Ok((r.get(0)?, r.get(1)?)))?;
    let first: i64 = tx.query_row("SELECT coalesce(max(seq), 0) + 1 FROM change", [], |r| r.get(0))?;
    let number = last + 1;
    let key = (!stroke.key.is_empty()).then_some(stroke.key.as_str());
    let texts: Vec<(String, String)> =
        lines.iter().map(|l| (l.step.old.to_string(), l.step.new.to_string())).collect();
    let mut seal = open_seal(&before, number, &stroke.at, &stroke.why, key);
    for (seq, (line, (old, new))) in (first..).zip(lines.iter().zip(&texts)) {
        seal = add_line(seal, seq, (&line.sort, &line.id, line.revision), (&line.step.field, old, new));
    }
    let sum = seal.done();
    tx.prepare_cached("INSERT INTO stroke (stroke, at, why, key, sum) VALUES (?1, ?2, ?3, ?4, ?5)")?
        .execute((number, &stroke.at, &stroke.why, key, &sum))?;
    let mut add = tx.prepare_cached(
        "INSERT INTO change (seq, stroke, sort, id, revision, field, old, new) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    for (seq, (line, (old, new))) in (first..).zip(lines.iter().zip(&texts)) {
        add.execute((seq, number, &line.sort, &line.id, line.revision, &line.step.field, old, new))?;
    }
    tx.prepare_cached("UPDATE head SET stroke = ?1, sum = ?2")?.execute((number, &sum))?;
    Ok(number)
}

/// Begins the checksum of a stroke: it covers the one before, so the history cannot be changed in the middle.
pub(crate) fn open_seal(before: &str, number: i64, at: &str, why: &str, key: Option<&str>) -> Seal {
    Seal::default().text(before).number(number).text(at).text(why).maybe(key)
}

/// Adds one change: its number, its record (sort, id, revision), its field with the old and the new text.
pub(crate) fn add_line(seal: Seal, seq: i64, record: (&str, &str, i64), step: (&str, &str, &str)) -> Seal {
    let seal = seal.number(seq).text(record.0).text(record.1).number(record.2);
    seal.text(step.0).text(step.1).text(step.2)
}
