//! Original files and photos, kept inside the bench under their SHA-256, in chunks of at most 1 MiB.
use crate::bench::Bench;
use crate::diff::Step;
use crate::error::{Error, reading, sql, writing};
use crate::reader::FileReader;
use crate::seal::hex;
use crate::write::{Line, Stroke, append};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::io::{self, Read, Write};
use std::path::Path;
use trueplate_core::notebook::FileRef;

/// The sort under which files stand in the history.
pub(crate) const SORT: &str = "file";

/// Largest piece of a file in one row.
const CHUNK: usize = 1 << 20;

/// A file in the bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptFile {
    /// Its hash, name and media type as first kept.
    pub file: FileRef,
    /// Bytes.
    pub size: u64,
    /// Its number inside the bench.
    pub(crate) number: i64,
}

/// What the history says of a file.
pub(crate) fn document(name: &str, media: &str, size: i64) -> Value {
    json!({ "name": name, "media": media, "size": size })
}

impl Bench {
    /// Keeps the bytes of `from` to their end and says under which hash. The same bytes are kept once, whatever
    /// their name; `at` is now, RFC 3339.
    ///
    /// Other programs cannot save meanwhile, so give it a file or memory, not a slow connection.
    pub fn put_file(&mut self, from: impl Read, name: &str, media: &str, at: &str) -> Result<FileRef, Error> {
        let failed = self.sql("keeping a file");
        if !self.writable {
            return Err(Error::ReadOnly { path: self.path.clone(), doing: "keeping a file".into() });
        }
        let path = self.path.clone();
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(&failed)?;
        let (number, sha256, size) = pour(&tx, &path, from, name)?;
        let file = FileRef { sha256, name: name.into(), media: media.into() };
        if find(&tx, &file.sha256).map_err(&failed)?.is_some() {
            tx.rollback().map_err(&failed)?;
            return Ok(file);
        }
        let line = enter(&tx, number, &file, size).map_err(&failed)?;
        append(&tx, &Stroke::at(at).why("file kept"), &[line]).map_err(&failed)?;
        tx.commit().map_err(&failed)?;
        Ok(file)
    }

    /// The file with this hash, if it is here.
    pub fn kept_file(&self, sha256: &str) -> Result<Option<KeptFile>, Error> {
        find(&self.conn, sha256).map_err(self.sql("looking for a file"))
    }

    /// Every file in the order it was kept.
    pub fn files(&self) -> Result<Vec<KeptFile>, Error> {
        all(&self.conn).map_err(self.sql("listing its files"))
    }

    /// Writes a file's bytes to `to` and gives their number; a file whose bytes do not fit its hash is an error, told
    /// only after the last byte.
    pub fn copy_file(&self, sha256: &str, to: &mut impl Write) -> Result<u64, Error> {
        let Some(kept) = self.kept_file(sha256)? else {
            return Err(Error::NoSuch { path: self.path.clone(), what: format!("file {sha256}") });
        };
        let name = Path::new(&kept.file.name);
        let mut out = Ok(());
        let damage = check(&self.conn, &kept, |bytes| {
            out = to.write_all(bytes);
            out.is_ok()
        });
        out.map_err(writing(name, "copying a kept file"))?;
        match damage.map_err(self.sql("reading a file"))? {
            Some(what) => Err(Error::Damaged {
                path: self.path.clone(),
                what: format!("file {}: {what}", kept.file.name),
            }),
            None => Ok(kept.size),
        }
    }

    /// A kept file to be read in any order, a chunk in memory at a time. Its bytes are not checked against the hash:
    /// [`Bench::copy_file`] does that.
    pub fn reader(&self, sha256: &str) -> Result<FileReader<'_>, Error> {
        let Some(kept) = self.kept_file(sha256)? else {
            return Err(Error::NoSuch { path: self.path.clone(), what: format!("file {sha256}") });
        };
        FileReader::of(&self.conn, &kept).map_err(self.sql("reading a file"))
    }

    /// A file's bytes, checked against its hash.
    pub fn file(&self, sha256: &str) -> Result<Vec<u8>, Error> {
        let mut bytes = Vec::new();
        self.copy_file(sha256, &mut bytes)?;
        Ok(bytes)
    }
}

/// Gives a file that was poured its name and hash, and the line of history that says so.
pub(crate) fn enter(tx: &Connection, number: i64, file: &FileRef, size: i64) -> rusqlite::Result<Line> {
    tx.execute(
        "INSERT INTO file VALUES (?1, ?2, ?3, ?4, ?5)",
        (number, &file.sha256, &file.name, &file.media, size),
    )?;
    let step = Step { field: String::new(), old: Value::Null, new: document(&file.name, &file.media, size) };
    Ok(Line { sort: SORT.into(), id: file.sha256.clone(), revision: 1, step })
}

/// Reads to the end, a chunk a row, and gives the file's number, hash and length.
pub(crate) fn pour(
    tx: &Connection,
    path: &Path,
    mut from: impl Read,
    name: &str,
) -> Result<(i64, String, i64), Error> {
    let failed = sql(path, "keeping a file");
    let number: i64 =
        tx.query_row("SELECT coalesce(max(file), 0) + 1 FROM file", [], |r| r.get(0)).map_err(&failed)?;
    let mut add = tx.prepare_cached("INSERT INTO chunk VALUES (?1, ?2, ?3)").map_err(&failed)?;
    let (mut hash, mut size, mut chunk) = (Sha256::new(), 0_i64, Vec::new());
    for part in 0_i64.. {
        chunk.clear();
        fill(&mut from, &mut chunk).map_err(reading(Path::new(name), "reading the file to keep"))?;
        if chunk.is_empty() {
            break;
        }
        hash.update(&chunk);
        size += chunk.len() as i64;
        add.execute((number, part, &chunk)).map_err(&failed)?;
    }
    Ok((number, hex(hash), size))
}

fn fill(from: &mut impl Read, chunk: &mut Vec<u8>) -> io::Result<()> {
    from.by_ref().take(CHUNK as u64).read_to_end(chunk).map(|_| ())
}

fn kept(row: &rusqlite::Row) -> rusqlite::Result<KeptFile> {
    let size: i64 = row.get(4)?;
    Ok(KeptFile {
        number: row.get(0)?,
        file: FileRef { sha256: row.get(1)?, name: row.get(2)?, media: row.get(3)? },
        size: u64::try_from(size).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(4, size))?,
    })
}

pub(crate) fn find(conn: &Connection, sha256: &str) -> rusqlite::Result<Option<KeptFile>> {
    let mut ask =
        conn.prepare_cached("SELECT file, sha256, name, media, size FROM file WHERE sha256 = ?1")?;
    ask.query_row([sha256], kept).optional()
}

/// Every file row.
pub(crate) fn all(conn: &Connection) -> rusqlite::Result<Vec<KeptFile>> {
    let mut ask = conn.prepare_cached("SELECT file, sha256, name, media, size FROM file ORDER BY file")?;
    ask.query_map([], kept)?.collect()
}

/// Reads a file chunk by chunk into `see` (until that says no) and says what does not fit.
pub(crate) fn check(
    conn: &Connection,
    kept: &KeptFile,
    mut see: impl FnMut(&[u8]) -> bool,
) -> rusqlite::Result<Option<String>> {
    let mut ask = conn.prepare_cached("SELECT part, bytes FROM chunk WHERE file = ?1 ORDER BY part")?;
    let mut rows = ask.query([kept.number])?;
    let (mut hash, mut size, mut next) = (Sha256::new(), 0_u64, 0_i64);
    while let Some(row) = rows.next()? {
        let bytes = row.get_ref(1)?.as_blob().map_err(rusqlite::Error::from)?;
        if row.get::<_, i64>(0)? != next {
            return Ok(Some(format!("part {next} is missing")));
        }
        next += 1;
        size += bytes.len() as u64;
        hash.update(bytes);
        if !see(bytes) {
            return Ok(None);
        }
    }
    if size != kept.size {
        return Ok(Some(format!("{size} bytes are here, {} were kept", kept.size)));
    }
    let found = hex(hash);
    Ok((found != kept.file.sha256).then(|| "its bytes are not what was kept: the hash differs".into()))
}
