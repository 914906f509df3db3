//! Undo: a new stroke that puts back what one stroke changed, as long as nothing was built on it.
use crate::bench::Bench;
use crate::diff;
use crate::error::{Error, sql};
use crate::files::SORT;
use crate::history;
use crate::rows;
use crate::running;
use crate::write::{Edit, Saved, Stroke, write};
use rusqlite::Connection;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use trueplate_core::notebook::Change;

impl Bench {
    /// Puts the old values of a stroke back, at the time `at`. An undo is a stroke and can be undone itself.
    ///
    /// Refused when one of its values has been changed since: that change must be undone first.
    pub fn undo(&mut self, stroke: i64, at: &str) -> Result<Saved, Error> {
        self.in_one_stroke(|tx, path| {
            let changes = history::of_stroke(tx, stroke).map_err(sql(path, "undoing"))?;
            let edits = put_back(tx, path, stroke, &changes)?;
            let reason = changes.first().map_or("", |c| &c.why);
            let why = match reason {
                "" => format!("undo of stroke {stroke}"),
                reason => format!("undo of stroke {stroke}: {reason}"),
            };
            write(tx, path, &edits, &Stroke::at(at).why(why))
        })
    }
}

fn put_back(tx: &Connection, path: &Path, stroke: i64, changes: &[Change]) -> Result<Vec<Edit>, Error> {
    let refused = |why: String| Err(Error::UndoRefused { stroke, why });
    if changes.is_empty() {
        return refused("there is no such stroke, or it changed nothing".into());
    }
    if changes.iter().any(|c| c.record == SORT) {
        return refused("it kept a file, and files stay; take it out of the record that names it".into());
    }
    if changes.iter().any(|c| c.record == running::SORT) {
        return refused("it began a log; finish that instead".into());
    }
    let failed = sql(path, "undoing");
    let mut documents: BTreeMap<(&str, &str), Value> = BTreeMap::new();
    for change in changes.iter().rev() {
        let key = (change.record.as_str(), change.id.as_str());
        if let std::collections::btree_map::Entry::Vacant(place) = documents.entry(key) {
            let row = rows::row(tx, key.0, key.1).map_err(&failed)?;
            place.insert(row.map_or(Ok(Value::Null), |r| r.value()).map_err(|f| Error::Damaged {
                path: path.into(),
                what: format!("{} {}", f.place, f.text),
            })?);
        }
        let (Some(document), Ok(old), Ok(new)) = (
            documents.get_mut(&key),
            serde_json::from_str::<Value>(&change.old),
            serde_json::from_str::<Value>(&change.new),
        ) else {
            return Err(Error::Damaged {
                path: path.into(),
                what: format!("change {} cannot be read", change.seq),
            });
        };
        if diff::take(document, &change.field, &new, &old).is_err() {
            return refused(later(tx, change).map_err(&failed)?);
        }
    }
    let edit = |((sort, id), to): ((&str, &str), Value)| Edit { sort: sort.into(), id: id.into(), to };
    Ok(documents.into_iter().map(edit).collect())
}

/// Says which later change stands in the way.
fn later(tx: &Connection, change: &Change) -> rusqlite::Result<String> {
    let touches = |c: &&Change| c.field.starts_with(&change.field) || change.field.starts_with(&c.field);
    let all = history::since(tx, &change.record, &change.id, 0)?;
    let field = if change.field.is_empty() { "as a whole" } else { &change.field };
    let what = format!("{} {} {field}", change.record, change.id);
    Ok(match all.iter().filter(|c| c.stroke > change.stroke).rfind(touches) {
        Some(c) => format!("{what} was changed again by stroke {} ({}); undo that first", c.stroke, c.at),
        None => format!("{what} was changed again since; correct it by hand"),
    })
}
