//! Logs still being taken: grown piece by piece, each kept before it is acknowledged, and at the end a file like others.
use crate::bench::Bench;
use crate::diff::Step;
use crate::error::{Error, sql};
use crate::files::{enter, find, pour};
use crate::seal::{Seal, hex};
use crate::write::{Line, Stroke, append};
use rusqlite::{Connection, OptionalExtension};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::io::{self, Read};
use std::path::Path;
use trueplate_core::notebook::FileRef;

/// The sort under which running logs stand in the history.
pub(crate) const SORT: &str = "running";

/// A log still being taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Running {
    /// Its number inside the bench.
    pub number: i64,
    /// Name it will have as a file.
    pub name: String,
    /// Media type it will have.
    pub media: String,
    /// Bytes so far.
    pub size: u64,
    parts: i64,
    sum: String,
}

/// What the history says of a running log.
pub(crate) fn document(log: &Running) -> Value {
    json!({ "name": log.name, "media": log.media })
}

impl Bench {
    /// Begins a log at the time `at` (RFC 3339) and gives its number.
    pub fn begin_log(&mut self, name: &str, media: &str, at: &str) -> Result<i64, Error> {
        self.in_one_stroke(|tx, path| begin(tx, name, media, at).map_err(sql(path, "beginning a log")))
    }

    /// Adds bytes to a running log; when this returns, they are on the disk. Collect what comes in within 100 ms or
    /// so: each call waits for the disk.
    pub fn extend_log(&mut self, number: i64, bytes: &[u8]) -> Result<(), Error> {
        self.in_one_stroke(|tx, path| {
            let mut log = there(tx, path, number)?;
            log.sum = grown(&log, bytes);
            add(tx, &log, bytes).map_err(sql(path, "keeping a piece of a log"))
        })
    }

    /// The logs that were begun and not finished, also by a program that was killed meanwhile.
    pub fn running_logs(&self) -> Result<Vec<Running>, Error> {
        all(&self.conn).map_err(self.sql("listing the running logs"))
    }

    /// Everything a running log has so far.
    pub fn running_log(&self, number: i64) -> Result<Vec<u8>, Error> {
        let log = there(&self.conn, &self.path, number)?;
        let mut bytes = Vec::new();
        let read = Pieces::of(&self.conn, log.number).read_to_end(&mut bytes);
        read.map_err(|source| self.torn(source))?;
        Ok(bytes)
    }

    /// Makes a running log a file of the bench, at the time `at`.
    pub fn finish_log(&mut self, number: i64, at: &str) -> Result<FileRef, Error> {
        let torn =
            |path: &Path, source| Error::Disk { path: path.into(), doing: "reading a log".into(), source };
        self.in_one_stroke(|tx, path| {
            let failed = sql(path, "finishing a log");
            let log = there(tx, path, number)?;
            if !intact(tx, &log).map_err(&failed)? {
                let what = format!("log {number} {}: its checksum differs", log.name);
                return Err(Error::Damaged { path: path.into(), what });
            }
            let sha256 = hash(Pieces::of(tx, number)).map_err(|e| torn(path, e))?;
            let file = FileRef { sha256, name: log.name.clone(), media: log.media.clone() };
            let mut lines = vec![line(number, document(&log), Value::Null)];
            if find(tx, &file.sha256).map_err(&failed)?.is_none() {
                let (number, _, size) = pour(tx, path, Pieces::of(tx, number), &log.name)?;
                lines.push(enter(tx, number, &file, size).map_err(&failed)?);
            }
            forget(tx, number).map_err(&failed)?;
            append(tx, &Stroke::at(at).why("log finished"), &lines).map_err(&failed)?;
            Ok(file)
        })
    }

    fn torn(&self, source: io::Error) -> Error {
        Error::Disk { path: self.path.clone(), doing: "reading a log".into(), source }
    }
}

fn line(number: i64, old: Value, new: Value) -> Line {
    Line {
        sort: SORT.into(),
        id: number.to_string(),
        revision: 1,
        step: Step { field: String::new(), old, new },
    }
}

fn begin(tx: &Connection, name: &str, media: &str, at: &str) -> rusqlite::Result<i64> {
    // Numbers are never used twice, or the history of one log would run into that of another.
    let number: i64 = tx.query_row(
        "SELECT coalesce(max(CAST(id AS INTEGER)), 0) + 1 FROM change WHERE sort = ?1",
        [SORT],
        |r| r.get(0),
    )?;
    let mut log =
        Running { number, name: name.into(), media: media.into(), size: 0, parts: 0, sum: String::new() };
    log.sum = first(&log);
    tx.execute(
        "INSERT INTO running (running, name, media, parts, size, sum) VALUES (?1, ?2, ?3, 0, 0, ?4)",
        (number, name, media, &log.sum),
    )?;
    append(tx, &Stroke::at(at).why("log begun"), &[line(number, Value::Null, document(&log))])?;
    Ok(number)
}

fn add(tx: &Connection, log: &Running, bytes: &[u8]) -> rusqlite::Result<()> {
    tx.prepare_cached("INSERT INTO piece (running, part, bytes) VALUES (?1, ?2, ?3)")?
        .execute((log.number, log.parts, bytes))?;
    let mut grow = tx.prepare_cached(
        "UPDATE running SET parts = parts + 1, size = size + ?2, sum = ?3 WHERE running = ?1",
    )?;
    grow.execute((log.number, bytes.len() as i64, &log.sum)).map(|_| ())
}

fn forget(tx: &Connection, number: i64) -> rusqlite::Result<()> {
    tx.execute("DELETE FROM piece WHERE running = ?1", [number])?;
    tx.execute("DELETE FROM running WHERE running = ?1", [number]).map(|_| ())
}

/// Checksum of a log without pieces; each piece's is over the one before it.
fn first(log: &Running) -> String {
    Seal::default().number(log.number).text(&log.name).text(&log.media).done()
}

fn grown(log: &Running, bytes: &[u8]) -> String {
    Seal::default().text(&log.sum).number(log.parts).bytes(bytes).done()
}

/// Whether the pieces are what was kept, to the last.
pub(crate) fn intact(conn: &Connection, log: &Running) -> rusqlite::Result<bool> {
    let mut ask = conn.prepare_cached("SELECT part, bytes FROM piece WHERE running = ?1 ORDER BY part")?;
    let mut rows = ask.query([log.number])?;
    let mut so_far = Running { sum: first(log), parts: 0, size: 0, ..log.clone() };
    while let Some(row) = rows.next()? {
        let bytes = row.get_ref(1)?.as_blob().map_err(rusqlite::Error::from)?;
        if row.get::<_, i64>(0)? != so_far.parts {
            return Ok(false);
        }
        so_far.sum = grown(&so_far, bytes);
        so_far.parts += 1;
        so_far.size += bytes.len() as u64;
    }
    Ok(so_far == *log)
}

fn read(row: &rusqlite::Row) -> rusqlite::Result<Running> {
    let size: i64 = row.get(4)?;
    Ok(Running {
        number: row.get(0)?,
        name: row.get(1)?,
        media: row.get(2)?,
        parts: row.get(3)?,
        size: u64::try_from(size).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(4, size))?,
        sum: row.get(5)?,
    })
}

const ASK: &str = "SELECT running, name, media, parts, size, sum FROM running";

/// Every running log.
pub(crate) fn all(conn: &Connection) -> rusqlite::Result<Vec<Running>> {
    let mut ask = conn.prepare_cached(&format!("{ASK} ORDER BY running"))?;
    ask.query_map([], read)?.collect()
}

fn there(conn: &Connection, path: &Path, number: i64) -> Result<Running, Error> {
    let find = || {
        let mut ask = conn.prepare_cached(&format!("{ASK} WHERE running = ?1"))?;
        ask.query_row([number], read).optional()
    };
    let none = || Error::NoSuch { path: path.into(), what: format!("running log {number}") };
    find().map_err(sql(path, "reading a log"))?.ok_or_else(none)
}

fn hash(mut from: impl Read) -> io::Result<String> {
    let (mut hash, mut buffer) = (Sha256::new(), vec![0; 1 << 16]);
    loop {
        match from.read(&mut buffer)? {
            0 => return Ok(hex(hash)),
            n => hash.update(&buffer[..n]),
        }
    }
}

/// The pieces of a log as one stream, one in memory at a time.
struct Pieces<'a> {
    conn: &'a Connection,
    number: i64,
    part: i64,
    piece: Vec<u8>,
    taken: usize,
}

impl<'a> Pieces<'a> {
    fn of(conn: &'a Connection, number: i64) -> Self {
        Pieces { conn, number, part: 0, piece: Vec::new(), taken: 0 }
    }
    /// The next piece; none after the last.
    fn next(&mut self) -> rusqlite::Result<Option<Vec<u8>>> {
        let mut ask = self.conn.prepare_cached("SELECT bytes FROM piece WHERE running = ?1 AND part = ?2")?;
        ask.query_row((self.number, self.part), |r| r.get(0)).optional()
    }
}

impl Read for Pieces<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        while self.taken == self.piece.len() {
            let Some(piece) = self.next().map_err(io::Error::other)? else { return Ok(0) };
            (self.piece, self.part, self.taken) = (piece, self.part + 1, 0);
        }
        let n = to.len().min(self.piece.len() - self.taken);
        to[..n].copy_from_slice(&self.piece[self.taken..self.taken + n]);
        self.taken += n;
        Ok(n)
    }
}
