//! What a file is, from its first bytes, before SQLite is let near it.
//!
//! Offsets after "Database File Format" (sqlite.org/fileformat2.html, section 1.3): magic 0..16, user version 60,
//! application id 68, all big-endian.
use crate::error::{Error, reading};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// Marks a bench among SQLite files: `TrPl` in ASCII.
pub(crate) const APPLICATION_ID: i32 = 0x5472_506C;
const MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// Looks at the file and gives its schema number, or says what it is instead. Writes nothing.
pub(crate) fn schema_of(path: &Path, known: i64) -> Result<i64, Error> {
    let failed = reading(path, "opening it");
    let meta = std::fs::metadata(path).map_err(&failed)?;
    let other = |why: &str| Err(Error::NotABench { path: path.to_path_buf(), why: why.into() });
    let damaged = |what: &str| Err(Error::Damaged { path: path.to_path_buf(), what: what.into() });
    if meta.is_dir() {
        return other("it is a folder");
    }
    if !meta.is_file() {
        return other("it is no ordinary file");
    }
    let mut head = Vec::with_capacity(100);
    File::open(path).and_then(|f| f.take(100).read_to_end(&mut head)).map_err(&failed)?;
    if head.is_empty() {
        return other("it is empty (if it was a bench once, restore a backup)");
    }
    let magic = head.starts_with(MAGIC) || (head.len() < 16 && MAGIC.starts_with(&head));
    let Some(number) = number_at(&head, 68) else {
        return if magic { damaged("it was cut short") } else { other("it is something else") };
    };
    let ours = number == APPLICATION_ID;
    let schema = i64::from(number_at(&head, 60).unwrap_or(0));
    match (magic, ours) {
        (true, true) if schema > known => {
            Err(Error::NewerSchema { path: path.to_path_buf(), found: schema, known })
        }
        (true, true) if schema < 1 => damaged("its schema number is gone"),
        (true, true) => Ok(schema),
        (true, false) => other("it is a database of another program"),
        (false, true) => damaged("its first bytes were overwritten"),
        (false, false) => other("it does not begin as one"),
    }
}

fn number_at(head: &[u8], at: usize) -> Option<i32> {
    let bytes = head.get(at..at + 4)?;
    Some(i32::from_be_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]))
}
