//! What can go wrong with a bench file: what, where, and what to do about it.
use rusqlite::ErrorCode;
use std::io;
use std::path::{Path, PathBuf};
use trueplate_core::notebook::Change;

/// Why a bench could not be opened, read or written. The bench keeps its last saved state in every case.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// No file of that name.
    #[error("{}: there is no such file; check the name, or begin a new bench there", path.display())]
    NotFound {
        /// The file asked for.
        path: PathBuf,
    },
    /// Something else than a bench; it was not touched.
    #[error("{}: this is not a bench file: {why}; it was left as it is", path.display())]
    NotABench {
        /// The file asked for.
        path: PathBuf,
        /// What it is instead.
        why: String,
    },
    /// Written by a newer program; it was not touched.
    #[error("{}: written by a newer version of the program (schema {found}, this one knows up to {known}); \
             open it with the newer version; it was left as it is", path.display())]
    NewerSchema {
        /// The file asked for.
        path: PathBuf,
        /// Its schema.
        found: i64,
        /// The newest schema this program knows.
        known: i64,
    },
    /// Written by an older program and not writable, so it could not be brought up to date.
    #[error("{}: written by an older version (schema {found}, now {known}) and cannot be written here; \
             copy it to a writable folder and open it there", path.display())]
    OlderSchema {
        /// The file asked for.
        path: PathBuf,
        /// Its schema.
        found: i64,
        /// The schema this program writes.
        known: i64,
    },
    /// File or folder cannot be written.
    #[error("{}: cannot be written ({doing}): the file or its folder is read-only; \
             change its permissions or copy the bench elsewhere. Reading it still works", path.display())]
    ReadOnly {
        /// File or folder.
        path: PathBuf,
        /// What was attempted.
        doing: String,
    },
    /// The file is a bench but parts of it are not what was saved.
    #[error("{}: the bench is damaged: {what}; keep this file as it is, and restore the last backup \
             (`verify` names what is hurt)", path.display())]
    Damaged {
        /// The bench.
        path: PathBuf,
        /// What is wrong.
        what: String,
    },
    /// A record written by a version of the program that knows more.
    #[error("{}: {what}; open the bench with the version that wrote it; it was left as it is", path.display())]
    Unknown {
        /// The bench.
        path: PathBuf,
        /// Which record, and what about it.
        what: String,
    },
    /// No space left; nothing of the last stroke was saved.
    #[error("{}: the disk is full ({doing}); this was not saved, everything before it is; \
             free some space and save again", path.display())]
    Full {
        /// File being written.
        path: PathBuf,
        /// What was attempted.
        doing: String,
    },
    /// Somebody else has it.
    #[error("{}: in use by {who}; close that, or work there", path.display())]
    Busy {
        /// The bench.
        path: PathBuf,
        /// Who holds it, as far as known.
        who: String,
    },
    /// A new file would overwrite something.
    #[error("{}: there is something already; choose another name or move it away first", path.display())]
    Exists {
        /// What stands in the way.
        path: PathBuf,
    },
    /// The record was changed by somebody else since it was read; nothing was saved.
    #[error("{0}")]
    Stale(Box<Stale>),
    /// A record that would not come back as it is.
    #[error("{record}: cannot be saved: {why}")]
    NotStorable {
        /// Sort and id.
        record: String,
        /// What is wrong with it, with a JSON pointer where there is one.
        why: String,
    },
    /// A stroke that cannot be undone any more; nothing was changed.
    #[error("stroke {stroke} cannot be undone: {why}")]
    UndoRefused {
        /// The stroke.
        stroke: i64,
        /// Reason.
        why: String,
    },
    /// Nothing of that name in the bench.
    #[error("{}: there is no {what} in this bench", path.display())]
    NoSuch {
        /// The bench.
        path: PathBuf,
        /// What was asked for.
        what: String,
    },
    /// The program was built with an SQLite that has a known fault.
    #[error(
        "this program carries SQLite {found}, which can lose saved data (fixed in 3.51.3); build it anew"
    )]
    OldSqlite {
        /// Version found.
        found: String,
    },
    /// The operating system refused.
    #[error("{}: {doing} failed: {source}; check the disk and the path", path.display())]
    Disk {
        /// File or folder.
        path: PathBuf,
        /// What was attempted.
        doing: String,
        /// What the system said.
        source: io::Error,
    },
    /// SQLite refused for another reason.
    #[error("{}: {doing} failed: {source}; check the disk and the path", path.display())]
    Sql {
        /// The bench.
        path: PathBuf,
        /// What was attempted.
        doing: String,
        /// What SQLite said.
        source: rusqlite::Error,
    },
}

/// An edit of something that has changed meanwhile.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stale {
    /// Sort of record: `test`.
    pub sort: String,
    /// Its id.
    pub id: String,
    /// Revision the edit was based on.
    pub expected: i64,
    /// Revision it has now.
    pub found: i64,
    /// What changed in between, oldest first: which field, when, why.
    pub changes: Vec<Change>,
}

impl std::fmt::Display for Stale {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}: changed by someone else since you opened it", self.sort, self.id)?;
        if let Some(c) = self.changes.last() {
            let field = if c.field.is_empty() { "the whole record" } else { &c.field };
            write!(f, " ({field}, {})", c.at)?;
            if !c.why.is_empty() {
                write!(f, " for: {}", c.why)?;
            }
        }
        write!(f, "; look at it again, then save. Nothing of this was saved")
    }
}

/// Turns what SQLite said about `path` into an error, while doing something.
pub(crate) fn sql(path: &Path, doing: &str) -> impl Fn(rusqlite::Error) -> Error + use<> {
    let (path, doing) = (path.to_path_buf(), doing.to_string());
    move |source| from_sqlite(path.clone(), doing.clone(), source)
}

fn from_sqlite(path: PathBuf, doing: String, source: rusqlite::Error) -> Error {
    use rusqlite::Error as E;
    let damaged = |what: String| Error::Damaged { path: path.clone(), what };
    match &source {
        E::SqliteFailure(e, _) => match e.code {
            ErrorCode::DiskFull => Error::Full { path, doing },
            // The shared-memory file beside the bench could not be made as large as needed.
            _ if e.extended_code == rusqlite::ffi::SQLITE_IOERR_SHMSIZE => Error::Full { path, doing },
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => {
                let who = crate::hold::Hold::holder(&path);
                Error::Busy { path, who: who.unwrap_or_else(|| "another program that is writing".into()) }
            }
            ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase => {
                damaged(format!("{source} while {doing}"))
            }
            // Its first bytes were read before, so what cannot be opened are the files SQLite needs beside it.
            ErrorCode::ReadOnly | ErrorCode::CannotOpen => Error::ReadOnly { path, doing },
            _ => Error::Sql { path, doing, source },
        },
        // Columns are typed by the schema, so another type or broken text is damage, not a mistake of ours.
        E::FromSqlConversionFailure(..)
        | E::IntegralValueOutOfRange(..)
        | E::Utf8Error(..)
        | E::InvalidColumnType(..)
        | E::QueryReturnedNoRows => damaged(format!("{source} while {doing}")),
        _ => Error::Sql { path, doing, source },
    }
}

/// Turns what the system said while writing `path` into an error.
pub(crate) fn writing(path: &Path, doing: &str) -> impl Fn(io::Error) -> Error + use<> {
    let (path, doing) = (path.to_path_buf(), doing.to_string());
    move |source| {
        let (path, doing) = (path.clone(), doing.clone());
        match source.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                Error::ReadOnly { path, doing }
            }
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Error::Full { path, doing },
            io::ErrorKind::AlreadyExists => Error::Exists { path },
            _ => Error::Disk { path, doing, source },
        }
    }
}

/// Turns what the system said while reading `path` into an error.
pub(crate) fn reading(path: &Path, doing: &str) -> impl Fn(io::Error) -> Error + use<> {
    let (path, doing) = (path.to_path_buf(), doing.to_string());
    move |source| match source.kind() {
        io::ErrorKind::NotFound => Error::NotFound { path: path.clone() },
        _ => Error::Disk { path: path.clone(), doing: doing.clone(), source },
    }
}
