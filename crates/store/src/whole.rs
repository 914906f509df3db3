//! Everything in a bench at one moment, as it is kept: for handing it on in open formats.
use crate::bench::Bench;
use crate::error::Error;
use crate::files::{self, KeptFile};
use crate::{history, rows};
use serde_json::Value;
use trueplate_core::notebook::Change;

/// A record as it is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Document {
    /// Sort of record: `test`.
    pub sort: String,
    /// Its id.
    pub id: String,
    /// How often it was written.
    pub revision: i64,
    /// All of it.
    pub document: Value,
}

/// What was saved at one stroke: when, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StrokeLine {
    /// Its number.
    pub stroke: i64,
    /// When, RFC 3339.
    pub at: String,
    /// Reason given.
    pub why: String,
    /// Key by which it was not done twice; empty when there was none.
    pub once: String,
}

/// A bench at one moment.
#[derive(Clone, Debug, Default)]
pub struct Whole {
    /// Records that were not removed, in the order of first writing.
    pub records: Vec<Document>,
    /// Every stroke, oldest first.
    pub strokes: Vec<StrokeLine>,
    /// Every change, first writings and removals included, oldest first.
    pub changes: Vec<Change>,
    /// Every file.
    pub files: Vec<KeptFile>,
}

impl Bench {
    /// Everything, read at one moment even while another program saves. A damaged record is an error that names it.
    pub fn whole(&self) -> Result<Whole, Error> {
        let failed = || self.sql("reading it");
        let snapshot = self.conn.unchecked_transaction().map_err(failed())?;
        let (mut records, mut damage) = (Vec::new(), None);
        rows::each(&snapshot, |row| match row.damage().map_or_else(|| row.value(), Err) {
            Ok(Value::Null) => {}
            Ok(document) => {
                records.push(Document { sort: row.sort, id: row.id, revision: row.revision, document });
            }
            Err(finding) => damage = damage.take().or(Some(finding)),
        })
        .map_err(failed())?;
        if let Some(f) = damage {
            return Err(Error::Damaged { path: self.path.clone(), what: format!("{} {}", f.place, f.text) });
        }
        let mut ask = snapshot
            .prepare("SELECT stroke, at, why, coalesce(key, '') FROM stroke ORDER BY stroke")
            .map_err(failed())?;
        let line = |r: &rusqlite::Row| {
            Ok(StrokeLine { stroke: r.get(0)?, at: r.get(1)?, why: r.get(2)?, once: r.get(3)? })
        };
        let strokes = ask.query_map([], line).and_then(Iterator::collect).map_err(failed())?;
        Ok(Whole {
            records,
            strokes,
            changes: history::all(&snapshot).map_err(failed())?,
            files: files::all(&snapshot).map_err(failed())?,
        })
    }
}
