//! `trueplate export`: everything in a bench, in open formats, into a folder.
use super::file::compute;
use super::{Ended, Stop, out};
use std::path::PathBuf;
use trueplate_store::Bench;

/// What to hand on, and where to.
#[derive(clap::Args)]
pub struct Arguments {
    /// The bench.
    bench: PathBuf,
    /// The folder to write into: new, empty, or exported into before.
    folder: PathBuf,
}

/// Writes everything.
pub fn run(a: &Arguments) -> Ended {
    let report = compute(&a.bench, None)?;
    let bench = Bench::open_read_only(&a.bench)?;
    let done = crate::export::export(&bench, &report, &a.folder).map_err(|e| {
        let e = match e.downcast::<crate::publish::Error>() {
            Ok(e) => return Stop::from(e),
            Err(e) => e,
        };
        match e.downcast::<trueplate_store::Error>() {
            Ok(e) => Stop::from(e),
            Err(e) => Stop::World(format!("{e:#}")),
        }
    })?;
    let mut text = format!(
        "{}: {} records, {} changes and {} original files are written; README.txt says what is where\n",
        a.folder.display(),
        done.records,
        done.changes,
        done.files
    );
    match done.folder.foreign {
        0 => {}
        1 => text.push_str("1 file of your own is left as it was\n"),
        n => text.push_str(&format!("{n} files of your own are left as they were\n")),
    }
    out(&text)
}
