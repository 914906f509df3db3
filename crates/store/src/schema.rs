//! The tables, and how an older file is brought up to date: one step a version, each in one transaction.
use crate::error::{Error, sql};
use crate::header::APPLICATION_ID;
use rusqlite::{Connection, TransactionBehavior};
use std::path::Path;

/// Every version ever released, as the step from the one before it. Step 1 makes an empty bench.
/// A released step is never edited again.
pub(crate) const STEPS: &[&str] = &[include_str!("../schema/1.sql")];

/// Runs the steps after `from` and marks the file with each version reached.
pub(crate) fn migrate(conn: &mut Connection, path: &Path, steps: &[&str], from: i64) -> Result<(), Error> {
    let failed = sql(path, "bringing it up to date");
    let done = usize::try_from(from).unwrap_or(0);
    for (version, step) in (1_i64..).zip(steps).skip(done) {
        let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(&failed)?;
        tx.execute_batch(step).map_err(&failed)?;
        tx.pragma_update(None, "application_id", APPLICATION_ID).map_err(&failed)?;
        tx.pragma_update(None, "user_version", version).map_err(&failed)?;
        tx.commit().map_err(&failed)?;
    }
    Ok(())
}

/// One table, index or trigger as SQLite keeps it: type, name, table, text.
type Item = (String, String, String, Option<String>);

/// Everything the file declares, by name.
pub(crate) fn declared(conn: &Connection) -> rusqlite::Result<Vec<Item>> {
    let mut ask = conn.prepare("SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY type, name")?;
    let rows = ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)))?;
    rows.collect()
}

/// Says what is not as this version declares it: a damaged file, or a hostile one with triggers of its own.
pub(crate) fn unlike(conn: &Connection, path: &Path) -> Result<Option<String>, Error> {
    let failed = sql(path, "reading its tables");
    let mut fresh = Connection::open_in_memory().map_err(&failed)?;
    migrate(&mut fresh, path, STEPS, 0)?;
    let (want, have) = (declared(&fresh).map_err(&failed)?, declared(conn).map_err(&failed)?);
    let name = |i: &Item| format!("{} `{}`", i.0, i.1);
    let missing =
        want.iter().find(|i| !have.contains(i)).map(|i| format!("{} is missing or changed", name(i)));
    Ok(missing.or_else(|| have.iter().find(|i| !want.contains(i)).map(|i| format!("{} is foreign", name(i)))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::types::Value;

    fn version(conn: &Connection) -> i64 {
        conn.pragma_query_value(None, "user_version", |r| r.get(0)).unwrap()
    }

    /// A made-up second version: the step is applied once, keeps what was there, and marks the file.
    #[test]
    fn a_later_step_keeps_what_is_there() {
        let path = Path::new("fake");
        let steps = [STEPS[0], "ALTER TABLE file ADD COLUMN camera TEXT NOT NULL DEFAULT ''"];
        let mut conn = Connection::open_in_memory().unwrap();
        migrate(&mut conn, path, &steps[..1], 0).unwrap();
        conn.execute("INSERT INTO file VALUES (1, 'aa', 'a.csv', 'text/csv', 0)", []).unwrap();
        migrate(&mut conn, path, &steps, 1).unwrap();
        assert_eq!(version(&conn), 2);
        let row: (String, String) =
            conn.query_row("SELECT name, camera FROM file", [], |r| Ok((r.get(0)?, r.get(1)?))).unwrap();
        assert_eq!(row, ("a.csv".to_string(), String::new()));
        // What this program would say of such a file: its table is not as version 1 declares it.
        assert!(unlike(&conn, path).unwrap().unwrap().contains("`file`"));
    }

    /// A step that fails half-way leaves the version before it whole.
    #[test]
    fn a_failing_step_leaves_the_old_version() {
        let path = Path::new("fake");
        let steps = [STEPS[0], "DELETE FROM head; ALTER TABLE nowhere ADD COLUMN a TEXT"];
        let mut conn = Connection::open_in_memory().unwrap();
        migrate(&mut conn, path, &steps[..1], 0).unwrap();
        migrate(&mut conn, path, &steps, 1).unwrap_err();
        assert_eq!(version(&conn), 1);
        let heads: Value = conn.query_row("SELECT count(*) FROM head", [], |r| r.get(0)).unwrap();
        assert_eq!(heads, Value::Integer(1));
        assert_eq!(unlike(&conn, path).unwrap(), None);
    }
}
