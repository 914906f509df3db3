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

/// Longest wait for another program's save, before it is named in an error.
const PATIENCE: Duration = Duration::from_secs(2);

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
        match backup::copy(self, &beside(&path, &format!(".schema-{found}"))) {
            // A former attempt was killed after the copy: that copy is the older state.
            Ok(()) | Err(Error::Exists { .. }) => {}
            Err(e) => return Err(e),
        }
        schema::migrate(&mut self.conn, &path, steps, found)?;
        // The header of the file itself must tell the version, also to programs that never look into the log.
        self.conn
            .pragma_update_and_check(None, "wal_checkpoint", "TRUNCATE", |_| Ok(()))
            .map_err(self.sql("bringing it up to date"))
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

/// A connection that trusts nothing in the file and writes through to the disk.
fn connect(path: &Path, flags: OpenFlags) -> rusqlite::Result<Connection> {
    let flags = flags | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = if flags.contains(OpenFlags::SQLITE_OPEN_URI) {
        Connection::open_with_flags(immutable(path), flags)?
    } else {
        Connection::open_with_flags(path, flags)?
    };
    conn.busy_timeout(PATIENCE)?;
    conn.set_db_config(rusqlite::config::DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    conn.pragma_update(None, "trusted_schema", false)?;
    conn.pragma_update(None, "cell_size_check", true)?;
    conn.pragma_update(None, "foreign_keys", true)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    Ok(conn)
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
