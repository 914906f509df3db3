//! What was changed, when and why: reading the history.
use crate::bench::Bench;
use crate::error::Error;
use rusqlite::{Connection, Params, Row};
use trueplate_core::notebook::Change;

const ASK: &str = "SELECT c.seq, c.stroke, s.at, c.sort, c.id, c.field, c.old, c.new, s.why
                   FROM change c JOIN stroke s ON s.stroke = c.stroke";

fn change(row: &Row) -> rusqlite::Result<Change> {
    Ok(Change {
        seq: row.get(0)?,
        stroke: row.get(1)?,
        at: row.get(2)?,
        record: row.get(3)?,
        id: row.get(4)?,
        field: row.get(5)?,
        old: row.get(6)?,
        new: row.get(7)?,
        why: row.get(8)?,
    })
}

fn ask(conn: &Connection, which: &str, with: impl Params) -> rusqlite::Result<Vec<Change>> {
    let mut ask = conn.prepare_cached(&format!("{ASK} WHERE {which} ORDER BY c.seq"))?;
    ask.query_map(with, change)?.collect()
}

/// What was changed after it was first written, oldest first.
pub(crate) fn changed(conn: &Connection) -> rusqlite::Result<Vec<Change>> {
    ask(conn, "c.revision > 1", [])
}

/// The same after a stroke.
pub(crate) fn changed_after(conn: &Connection, stroke: i64) -> rusqlite::Result<Vec<Change>> {
    ask(conn, "c.revision > 1 AND c.stroke > ?1", [stroke])
}

/// Everything that was ever written, oldest first.
pub(crate) fn all(conn: &Connection) -> rusqlite::Result<Vec<Change>> {
    ask(conn, "1", [])
}

/// What one stroke changed.
pub(crate) fn of_stroke(conn: &Connection, stroke: i64) -> rusqlite::Result<Vec<Change>> {
    ask(conn, "c.stroke = ?1", [stroke])
}

/// What changed in a record after a revision of it.
pub(crate) fn since(conn: &Connection, sort: &str, id: &str, revision: i64) -> rusqlite::Result<Vec<Change>> {
    ask(conn, "c.sort = ?1 AND c.id = ?2 AND c.revision > ?3", (sort, id, revision))
}

impl Bench {
    /// Everything that ever happened to a record, its first writing included, oldest first.
    ///
    /// A first writing has an empty field, old `null` and the whole record as new; a removal is the reverse.
    /// Files have a history of one line, under the sort `file` and their SHA-256.
    pub fn history(&self, sort: &str, id: &str) -> Result<Vec<Change>, Error> {
        since(&self.conn, sort, id, 0).map_err(self.sql("reading the history"))
    }

    /// What one stroke changed, first writings included; empty when there is no such stroke.
    pub fn stroke(&self, stroke: i64) -> Result<Vec<Change>, Error> {
        of_stroke(&self.conn, stroke).map_err(self.sql("reading the history"))
    }
}
