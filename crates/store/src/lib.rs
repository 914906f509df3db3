//! The one bench file: rows to notebook and back, history, original files, checks. The only SQL in the program.
//!
//! A bench is a single SQLite file. [`Bench`] opens it, gives the whole [`trueplate_core::notebook::Notebook`]
//! and saves records by [`Stroke`]: everything saved together, with its time and reason.
//! The clock is an argument everywhere.
//!
//! How the file keeps its word:
//! * `stroke` and `change` are the history and only grow; each stroke's checksum covers the one before it.
//! * `record` holds the present state, each row with its own checksum; replaying the history must give the same.
//! * `file` and `chunk` hold original bytes under their SHA-256; their names stand in the history too.
//! * `running` and `piece` hold logs still being taken, each with a checksum over all of it; done, they become files.
//! * `head` names the last stroke, so that a lost end is noticed.
//!
//! SQLite itself adds no redundancy by which a flipped bit could be noticed; [`Bench::verify`] reads all of the above.
mod error;
mod place;
mod seal;
mod header;
mod hold;
mod schema;
mod diff;
mod rows;
mod bench;
mod history;
mod write;
mod undo;
mod files;
mod reader;
mod running;
mod verify;
mod backup;
mod whole;

pub use backup::restore;
pub use bench::{Bench, SCHEMA, sqlite_version};
pub use error::{Error, Stale};
pub use files::KeptFile;
pub use hold::Hold;
pub use reader::FileReader;
pub use running::Running;
pub use whole::{Document, StrokeLine, Whole};
pub use write::{Saved, Stroke};
