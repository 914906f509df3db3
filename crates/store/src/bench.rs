//! The bench file: beginning one, opening one, and the state it is in.
use crate::backup;
use crate::error::{Error, sql};
use crate::header;
use crate::place::{Draft, beside, length};
use crate::schema::{self, STEPS};
use crate::write::{self, Stroke};
use rusqlite::{Connection, OpenFlags};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The schema version this program writes.
pub const SCHEMA: i64 = STEPS.len() as i64;

/// First SQLite in which two connections checkpointing at once cannot lose data (release notes of 3.51.3).
const SQLITE_FROM: i32 = 3_051_003;

/// How often another program's save is waited for, [`PAUSE`] each time, before that program is named in an error.
const PATIENCE: i32 = 1000;

/// SQLite's own waiting grows to 100 ms a turn, by which the faster of two writers starves the other.
const PAUSE: Duration = Duration::from_millis(2);

/// An open bench file. One writer at a time; others wait up to two seconds for their turn.
#[derive(Debug)]
pub struct Bench {
    pub(crate) conn: Connection,
    pub(crate) path: PathBuf,
    pub(crate) writable: bool,
}

/// Version of the SQLite built in, e.g. `3.54.1`.
pub fn sqlite_version() -> &'static str {
    rusqlite::version()
}

impl Bench {
    /// Begins an empty bench, readable by its owner only, and opens it. Never overwrites a file.
    ///
    /// `at` is now, RFC 3339. The file gets its name only when it is whole.
    pub fn create(path: &Path, at: &str) -> Result<Bench, Error> {
        fit_library()?;
        let draft = Draft::of(path)?;
        let failed = sql(path, "beginning the bench");
        let mut conn = connect(&draft.path, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(&failed)?;
        schema::migrate(&mut conn, path, STEPS, 0)?;
        let begun = Stroke::at(at).why("bench begun");
        let tx = conn.transaction().map_err(&failed)?;
        write::append(&tx, &begun, &[]).map_err(&failed)?;
        tx.commit().map_err(&failed)?;
        to_wal(&conn).map_err(&failed)?;
        conn.close().map_err(|(_, e)| failed(e))?;
        draft.settle()?;
        Bench::open(path)
    }

    /// Opens a bench for reading and saving; an older one is brought up to date, with a copy of it beside.
    ///
    /// Anything that is not a bench this program knows is refused and left byte for byte as it is.
    pub fn open(path: &Path) -> Result<Bench, Error> {
        fit_library()?;
        header::schema_of(path, SCHEMA)?;
        let bench = Bench::attach(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        if !bench.writable {
            return Err(Error::ReadOnly { path: path.to_path_buf(), doing: "opening it for saving".into() });
        }
        Ok(bench)
    }

    /// Opens a bench for reading; works beside a running program and from a read-only folder.
    pub fn open_read_only(path: &Path) -> Result<Bench, Error> {
        fit_library()?;
        header::schema_of(path, SCHEMA)?;
        // A connection that may write cleans up the files SQLite keeps beside the bench; one that may not leaves them.
        let mut found = Bench::attach(path, OpenFlags::SQLITE_OPEN_READ_WRITE);
        if matches!(found, Err(Error::ReadOnly { .. })) {
            found = Bench::attach(path, OpenFlags::SQLITE_OPEN_READ_ONLY);
        }
        // Without its neighbours, in a folder that takes none, the file alone is the whole bench and nobody writes it.
        if matches!(found, Err(Error::ReadOnly { .. })) && length(&beside(path, "-wal")) == 0 {
            found = Bench::attach(path, OpenFlags::SQLITE_OPEN_READ_ONLY.union(OpenFlags::SQLITE_OPEN_URI));
        }
        let mut bench = found?;
        bench.conn.pragma_update(None, "query_only", true).map_err(sql(path, "opening it"))?;
        bench.writable = false;
        Ok(bench)
    }

    /// Where the file is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it can be saved to.
    pub fn is_writable(&self) -> bool {
        self.writable
    }

    /// Number of the last stroke, by whichever program. Cheap: ask it to learn whether anything changed.
    pub fn last_stroke(&self) -> Result<i64, Error> {
        let mut ask = self.conn.prepare_cached("SELECT stroke FROM head").map_err(self.sql("reading it"))?;
        ask.query_row([], |r| r.get(0)).map_err(self.sql("reading it"))
    }

    pub(crate) fn sql(&self, doing: &str) -> impl Fn(rusqlite::Error) -> Error + use<> {
        sql(&self.path, doing)
    }

    fn attach(path: &Path, flags: OpenFlags) -> Result<Bench, Error> {
        let failed = sql(path, "opening it");
        let conn = connect(path, flags).map_err(&failed)?;
        let found: i64 = conn.pragma_query_value(None, "user_version", |r| r.get(0)).map_err(&failed)?;
        let writable = !conn.is_readonly("main").map_err(&failed)?;
        let mut bench = Bench { conn, path: path.to_path_buf(), writable };
        bench.bring_up(found, STEPS)?;
        bench.sound()?;
        Ok(bench)
    }

    /// Brings an older file up to date after copying it beside itself.
    fn bring_up(&mut self, found: i64, steps: &[&str]) -> Result<(), Error> {
        let (path, known) = (self.path.clone(), steps.len() as i64);
        if found > known {
            return Err(Error::NewerSchema { path, found, known });
        }
        if found == known {
            return Ok(());
        }
        if !self.writable {
            return Err(Error::OlderSchema { path, found, known });
        }
        self.keep_old(found)?;
        schema::migrate(&mut self.conn, &path, steps, found)?;
        // The header of the file itself must tell the version, also to programs that never look into the log.
        self.conn
            .pragma_update_and_check(None, "wal_checkpoint", "TRUNCATE", |_| Ok(()))
            .map_err(self.sql("bringing it up to date"))
    }

    /// Copies the older file beside itself, under the first free name.
    fn keep_old(&self, found: i64) -> Result<(), Error> {
        let mut result = Ok(());
        for n in 1..100 {
            result = backup::copy(self, &beside(&self.path, &format!(".schema-{found}.{n}")));
            if !matches!(result, Err(Error::Exists { .. })) {
                break;
            }
        }
        result
    }

    /// The quick look at every opening: tables as declared, history ends where it says.
    fn sound(&self) -> Result<(), Error> {
        let damaged = |what: String| Error::Damaged { path: self.path.clone(), what };
        if let Some(what) = schema::unlike(&self.conn, &self.path)? {
            return Err(damaged(what));
        }
        let ends: bool = self
            .conn
            .query_row(
                "SELECT EXISTS (SELECT 1 FROM head h JOIN stroke s ON s.stroke = h.stroke AND s.sum = h.sum
                   WHERE s.stroke = (SELECT max(stroke) FROM stroke))",
                [],
                |r| r.get(0),
            )
            .map_err(self.sql("opening it"))?;
        if ends { Ok(()) } else { Err(damaged("its history does not end where it should".into())) }
    }
}

fn fit_library() -> Result<(), Error> {
    if rusqlite::version_number() < SQLITE_FROM {
        return Err(Error::OldSqlite { found: sqlite_version().into() });
    }
    Ok(())
}

/// Length to which the log beside the bench is cut when all of it is in the bench.
const LOG_BYTES: i64 = 16 << 20;

/// A connection that trusts nothing in the file and writes through to the disk.
fn connect(path: &Path, flags: OpenFlags) -> rusqlite::Result<Connection> {
    let flags = flags | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut conn = if flags.contains(OpenFlags::SQLITE_OPEN_URI) {
        Connection::open_with_flags(immutable(path), flags)?
    } else {
        Connection::open_with_flags(path, flags)?
    };
    conn.busy_handler(Some(wait))?;
    conn.set_db_config(rusqlite::config::DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    conn.pragma_update(None, "trusted_schema", false)?;
    conn.pragma_update(None, "cell_size_check", true)?;
    conn.pragma_update(None, "foreign_keys", true)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    // On macOS an ordinary sync leaves the data in the drive's own memory; elsewhere these do nothing.
    conn.pragma_update(None, "fullfsync", true)?;
    conn.pragma_update(None, "checkpoint_fullfsync", true)?;
    // A large file passes through the log beside the bench; once it is in, the log gives its room back.
    conn.pragma_update_and_check(None, "journal_size_limit", LOG_BYTES, |_| Ok(()))?;
    Ok(conn)
}

/// Waits for another writer; no after about two seconds.
fn wait(turn: i32) -> bool {
    std::thread::sleep(PAUSE);
    turn < PATIENCE
}

/// Readers never wait for a writer, and an acknowledged save survives a power cut (with synchronous FULL).
pub(crate) fn to_wal(conn: &Connection) -> rusqlite::Result<()> {
    conn.pragma_update_and_check(None, "journal_mode", "WAL", |r| r.get::<_, String>(0)).map(|_| ())
}

/// The address of a file that nobody changes while it is read.
fn immutable(path: &Path) -> String {
    let mut text = String::from("file:");
    for byte in path.to_string_lossy().bytes() {
        match byte {
            b'/' | b'.' | b'-' | b'_' | b'0'..=b'9' | b'A'..=b'Z' | b'a'..=b'z' => text.push(byte as char),
            other => text.push_str(&format!("%{other:02X}")),
        }
    }
    text.push_str("?immutable=1");
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use trueplate_core::notebook::Model;
    use trueplate_core::record::Record;

    /// A made-up second version: the older file stays beside, and the file itself says its version without its log.
    #[test]
    fn bringing_up_keeps_a_copy_beside() {
        let folder = tempfile::TempDir::new().unwrap();
        let path = folder.path().join("a.trueplate");
        let mut bench = Bench::create(&path, "2026-06-30T10:00:00Z").unwrap();
        let model = Model { id: "m".into(), ..Model::default() };
        bench.save(&[Record::Model(model)], &Stroke::at("2026-06-30T10:00:00Z")).unwrap();
        let want = bench.notebook().unwrap();
        let steps = [STEPS[0], "ALTER TABLE file ADD COLUMN camera TEXT NOT NULL DEFAULT ''"];
        bench.bring_up(1, &steps).unwrap();
        assert_eq!(bench.notebook().unwrap(), want);
        assert_eq!(header::schema_of(&path, 2).unwrap(), 2);
        let copy = Bench::open(&beside(&path, ".schema-1.1")).unwrap();
        assert_eq!((copy.notebook().unwrap(), copy.verify().unwrap()), (want, vec![]));
        // A newer file in the hands of this program, also when its header was not looked at.
        drop(bench);
        assert!(matches!(
            Bench::attach(&path, OpenFlags::SQLITE_OPEN_READ_WRITE),
            Err(Error::NewerSchema { .. })
        ));
    }

    /// No page more may be had, as on a full disk: the stroke is refused as a whole, those before it stay.
    #[test]
    fn no_space_loses_only_the_stroke_that_did_not_fit() {
        let folder = tempfile::TempDir::new().unwrap();
        let mut bench = Bench::create(&folder.path().join("a.trueplate"), "2026-06-30T10:00:00Z").unwrap();
        let model =
            |id: &str| Record::Model(Model { id: id.into(), note: "x".repeat(3000), ..Model::default() });
        let pages: i64 = bench.conn.pragma_query_value(None, "page_count", |r| r.get(0)).unwrap();
        let limit = |b: &Bench, pages: i64| {
            b.conn.pragma_update_and_check(None, "max_page_count", pages, |r| r.get::<_, i64>(0)).unwrap()
        };
        limit(&bench, pages + 6);
        let now = Stroke::at("2026-06-30T10:00:00Z");
        bench.save(&[model("fits")], &now).unwrap();
        let many: Vec<Record> = (0..9).map(|i| model(&format!("m{i}"))).collect();
        assert!(matches!(bench.save(&many, &now), Err(Error::Full { .. })));
        assert_eq!((bench.notebook().unwrap().models.len(), bench.verify().unwrap()), (1, vec![]));
        limit(&bench, pages + 600);
        bench.save(&many, &now).unwrap();
        assert_eq!((bench.notebook().unwrap().models.len(), bench.verify().unwrap()), (10, vec![]));
    }
}
