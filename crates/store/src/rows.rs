//! Rows ⇄ records: the present state of the bench.
use crate::bench::Bench;
use crate::diff;
use crate::error::Error;
use crate::history;
use crate::seal::Seal;
use rusqlite::{Connection, OptionalExtension, Row as SqlRow};
use serde::de::DeserializeOwned;
use serde_json::Value;
use trueplate_core::abreast;
use trueplate_core::finding::Finding;
use trueplate_core::notebook::Notebook;
use trueplate_core::record::Record;

/// One row of `record`, in its columns' order.
pub(crate) struct Row {
    /// Order in which records were first written, within the whole bench.
    pub place: i64,
    pub sort: String,
    pub id: String,
    /// 1 when first written, one more with each stroke that changed it.
    pub revision: i64,
    /// JSON text; none once removed.
    pub body: Option<String>,
    pub sum: String,
}

pub(crate) const COLUMNS: &str = "place, sort, id, revision, body, sum";

impl Row {
    pub fn of(row: &SqlRow) -> rusqlite::Result<Row> {
        Ok(Row {
            place: row.get(0)?,
            sort: row.get(1)?,
            id: row.get(2)?,
            revision: row.get(3)?,
            body: row.get(4)?,
            sum: row.get(5)?,
        })
    }
    /// The checksum these columns should have.
    pub fn seal(&self) -> String {
        let s = Seal::default().number(self.place).text(&self.sort).text(&self.id);
        s.number(self.revision).maybe(self.body.as_deref()).done()
    }
    /// The record in words: `test t1`.
    pub fn name(&self) -> String {
        format!("{} {}", self.sort, self.id)
    }
    /// What is wrong with the row itself, if anything.
    pub fn damage(&self) -> Option<Finding> {
        (self.seal() != self.sum)
            .then(|| damaged(&self.name(), "is not what was saved: its checksum differs"))
    }
    /// The document; null once removed.
    pub fn value(&self) -> Result<Value, Finding> {
        let Some(body) = &self.body else { return Ok(Value::Null) };
        serde_json::from_str(body).map_err(|e| damaged(&self.name(), &format!("cannot be read: {e}")))
    }
    /// The record; none once removed.
    pub fn record(&self) -> Result<Option<Record>, Finding> {
        let Some(body) = &self.body else { return Ok(None) };
        let record = parse(&self.sort, body).map_err(|why| unknown(&self.name(), &why))?;
        if record.id() != self.id {
            return Err(damaged(&self.name(), "carries another id inside"));
        }
        Ok(Some(record))
    }
}

/// A part of the bench is not what was saved.
pub(crate) fn damaged(place: &str, text: &str) -> Finding {
    Finding::gap("damaged", place, text, "keep this file as it is and restore the last backup")
}

fn unknown(place: &str, why: &str) -> Finding {
    let text = format!("holds something this version of the program does not know: {why}");
    Finding::gap("record-unknown", place, text, "open the bench with the version that wrote it")
}

fn parse(sort: &str, body: &str) -> Result<Record, String> {
    fn read<T: DeserializeOwned>(body: &str, wrap: fn(T) -> Record) -> Result<Record, String> {
        serde_json::from_str(body).map(wrap).map_err(|e| e.to_string())
    }
    match sort {
        "settings" => read(body, Record::Settings),
        "model" => read(body, Record::Model),
        "specimen" => read(body, Record::Specimen),
        "instrument" => read(body, Record::Instrument),
        "load" => read(body, Record::Load),
        "test" => read(body, Record::Test),
        "letter" => read(body, Record::Letter),
        "question" => read(body, Record::Question),
        "video" => read(body, Record::Video),
        other => Err(format!("a record of the sort `{other}`")),
    }
}

/// The document of a record, provided that it comes back as it is.
pub(crate) fn document(record: &Record) -> Result<Value, Error> {
    let refused = |why: String| {
        let record = format!("{} {}", record.sort(), record.id());
        Error::NotStorable { record: record.trim().into(), why }
    };
    if record.id().is_empty() {
        return Err(refused("it has no id".into()));
    }
    let value = match record {
        Record::Settings(r) => serde_json::to_value(r),
        Record::Model(r) => serde_json::to_value(r),
        Record::Specimen(r) => serde_json::to_value(r),
        Record::Instrument(r) => serde_json::to_value(r),
        Record::Load(r) => serde_json::to_value(r),
        Record::Test(r) => serde_json::to_value(r),
        Record::Letter(r) => serde_json::to_value(r),
        Record::Question(r) => serde_json::to_value(r),
        Record::Video(r) => serde_json::to_value(r),
    };
    let mut value = value.map_err(|e| refused(e.to_string()))?;
    diff::without_nulls(&mut value, "").map_err(|field| refused(format!("{field} is no value")))?;
    // Catches what JSON cannot say, such as a number that is not finite.
    match parse(record.sort(), &value.to_string()) {
        Ok(back) if back == *record => Ok(value),
        _ => Err(refused("a number in it is not finite".into())),
    }
}

/// The row of one record.
pub(crate) fn row(conn: &Connection, sort: &str, id: &str) -> rusqlite::Result<Option<Row>> {
    let mut ask =
        conn.prepare_cached(&format!("SELECT {COLUMNS} FROM record WHERE sort = ?1 AND id = ?2"))?;
    ask.query_row([sort, id], Row::of).optional()
}

/// Every row in the order of first writing, until one cannot be read.
pub(crate) fn each(conn: &Connection, mut see: impl FnMut(Row)) -> rusqlite::Result<()> {
    let mut ask = conn.prepare(&format!("SELECT {COLUMNS} FROM record ORDER BY place"))?;
    let mut rows = ask.query([])?;
    while let Some(row) = rows.next()? {
        see(Row::of(row)?);
    }
    Ok(())
}

/// Rows of the records that were written after a stroke, in the order of first writing.
fn touched(conn: &Connection, stroke: i64) -> rusqlite::Result<Vec<Row>> {
    let mut ask = conn.prepare_cached(&format!(
        "SELECT {COLUMNS} FROM record WHERE (sort, id) IN (SELECT sort, id FROM change WHERE stroke > ?1) ORDER BY place"
    ))?;
    ask.query_map([stroke], Row::of)?.collect()
}

/// Puts one row's record where it stood, takes it out, or adds one that is new; false where its place is not known.
fn replay(now: &mut Notebook, row: &Row) -> Result<bool, Finding> {
    if let Some(damage) = row.damage() {
        return Err(damage);
    }
    let there = now.has(&row.sort, &row.id);
    match row.record()? {
        Some(record) if there || row.revision == 1 => now.put(record),
        Some(_) => return Ok(false),
        None if there => now.take_out(&row.sort, &row.id),
        None => {}
    }
    Ok(true)
}

fn salvaged(snapshot: &Connection) -> (Notebook, Vec<Finding>) {
    let (mut parts, mut findings, mut rows) = (Parts::default(), Vec::new(), Vec::new());
    let read = each(snapshot, |row| rows.push(row));
    for record in abreast::each(&rows, |row| row.damage().map_or_else(|| row.record(), Err)) {
        match record {
            Ok(record) => parts.add(record),
            Err(finding) => findings.push(finding),
        }
    }
    if let Err(e) = read {
        findings.push(damaged("records", &format!("cannot be read to the end: {e}")));
    }
    match history::changed(snapshot) {
        Ok(changes) => parts.0.changes = changes,
        Err(e) => findings.push(damaged("history", &format!("cannot be read: {e}"))),
    }
    (parts.0, findings)
}

impl Bench {
    /// The whole bench as it was written down, with what was changed after it was first written.
    ///
    /// Every record is checked against its checksum; a damaged one is an error that names it ([`Bench::salvage`]
    /// gives the rest).
    pub fn notebook(&self) -> Result<Notebook, Error> {
        Ok(self.notebook_at()?.0)
    }

    /// The same with the number of the last stroke in it.
    pub fn notebook_at(&self) -> Result<(Notebook, i64), Error> {
        let snapshot = self.conn.unchecked_transaction().map_err(self.sql("reading it"))?;
        self.undamaged(&snapshot)
    }

    fn undamaged(&self, snapshot: &Connection) -> Result<(Notebook, i64), Error> {
        let last = self.last_stroke()?;
        let (notebook, findings) = salvaged(snapshot);
        match findings.first() {
            None => Ok((notebook, last)),
            Some(f) if f.code == "record-unknown" => {
                Err(Error::Unknown { path: self.path.clone(), what: format!("{} {}", f.place, f.text) })
            }
            Some(f) => {
                Err(Error::Damaged { path: self.path.clone(), what: format!("{} {}", f.place, f.text) })
            }
        }
    }

    /// The bench as it stands, from how it stood after a stroke: only what was written since is read and checked. The number
    /// of the last stroke goes along, for the next time.
    pub fn notebook_since(&self, before: &Notebook, stroke: i64) -> Result<(Notebook, i64), Error> {
        let snapshot = self.conn.unchecked_transaction().map_err(self.sql("reading it"))?;
        let last = self.last_stroke()?;
        let rows = touched(&snapshot, stroke).map_err(self.sql("reading it"))?;
        let changes = history::changed_after(&snapshot, stroke).map_err(self.sql("reading the history"))?;
        let mut now = before.clone();
        // What was not changed, removed or begun, but came back, has its place in the middle: that is left to a whole reading.
        let placed = rows.into_iter().all(|row| replay(&mut now, &row).unwrap_or(false));
        if !placed {
            return self.undamaged(&snapshot);
        }
        now.changes.extend(changes);
        Ok((now, last))
    }

    /// As much of the bench as can be read, with a finding for each record left out.
    pub fn salvage(&self) -> Result<(Notebook, Vec<Finding>), Error> {
        let snapshot = self.conn.unchecked_transaction().map_err(self.sql("reading it"))?;
        Ok(salvaged(&snapshot))
    }

    /// How often a record was written: 0 when never, 1 when first written. Removal counts too.
    pub fn revision(&self, sort: &str, id: &str) -> Result<i64, Error> {
        let row = row(&self.conn, sort, id).map_err(self.sql("reading it"))?;
        Ok(row.map_or(0, |r| r.revision))
    }
}

/// A notebook being filled; ids are unique in the table, so nothing needs to be searched.
#[derive(Default)]
struct Parts(Notebook);

impl Parts {
    fn add(&mut self, record: Option<Record>) {
        let n = &mut self.0;
        match record {
            None => {}
            Some(Record::Settings(r)) => n.settings = r,
            Some(Record::Model(r)) => n.models.push(r),
            Some(Record::Specimen(r)) => n.specimens.push(r),
            Some(Record::Instrument(r)) => n.instruments.push(r),
            Some(Record::Load(r)) => n.loads.push(r),
            Some(Record::Test(r)) => n.tests.push(r),
            Some(Record::Letter(r)) => n.letters.push(r),
            Some(Record::Question(r)) => n.questions.push(r),
            Some(Record::Video(r)) => n.videos.push(r),
        }
    }
}
