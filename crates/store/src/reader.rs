//! A kept file as a stream that can be wound on and back, one chunk in memory.
use crate::files::KeptFile;
use rusqlite::{Connection, OptionalExtension};
use std::io::{self, Read, Seek, SeekFrom};

/// Reads a kept file. Chunks are fetched as they are needed.
pub struct FileReader<'a> {
    conn: &'a Connection,
    number: i64,
    /// Where each chunk ends.
    ends: Vec<u64>,
    at: u64,
    /// Index of the chunk in hand.
    held: Option<usize>,
    chunk: Vec<u8>,
}

impl<'a> FileReader<'a> {
    pub(crate) fn of(conn: &'a Connection, kept: &KeptFile) -> rusqlite::Result<Self> {
        // The length of a blob stands in the row's header: this reads no bytes of the file.
        let mut ask = conn.prepare_cached("SELECT length(bytes) FROM chunk WHERE file = ?1 ORDER BY part")?;
        let mut end = 0_u64;
        let ends = ask
            .query_map([kept.number], |r| r.get::<_, u32>(0))?
            .map(|n| {
                end += u64::from(n?);
                Ok(end)
            })
            .collect::<rusqlite::Result<_>>()?;
        Ok(FileReader { conn, number: kept.number, ends, at: 0, held: None, chunk: Vec::new() })
    }

    fn length(&self) -> u64 {
        self.ends.last().copied().unwrap_or(0)
    }

    fn fetch(&mut self, k: usize) -> io::Result<()> {
        let ask = "SELECT bytes FROM chunk WHERE file = ?1 AND part = ?2";
        let found: Option<Vec<u8>> = self
            .conn
            .prepare_cached(ask)
            .and_then(|mut ask| ask.query_row((self.number, k as i64), |r| r.get(0)).optional())
            .map_err(io::Error::other)?;
        self.chunk = found.ok_or_else(|| io::Error::other(format!("part {k} of a kept file is missing")))?;
        self.held = Some(k);
        Ok(())
    }
}

impl Read for FileReader<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.at >= self.length() || into.is_empty() {
            return Ok(0);
        }
        let k = self.ends.partition_point(|end| *end <= self.at);
        if self.held != Some(k) {
            self.fetch(k)?;
        }
        let begin = k.checked_sub(1).map_or(0, |k| self.ends[k]);
        let rest = self.chunk.get((self.at - begin) as usize..).unwrap_or_default();
        let n = rest.len().min(into.len());
        into[..n].copy_from_slice(&rest[..n]);
        self.at += n as u64;
        Ok(n)
    }
}

impl Seek for FileReader<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let wanted = match to {
            SeekFrom::Start(n) => Some(n),
            SeekFrom::End(n) => self.length().checked_add_signed(n),
            SeekFrom::Current(n) => self.at.checked_add_signed(n),
        };
        self.at = wanted.ok_or_else(|| io::Error::from(io::ErrorKind::InvalidInput))?;
        Ok(self.at)
    }
}
