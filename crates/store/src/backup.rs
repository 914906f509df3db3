//! One consistent copy of a bench, also while it is being written, and back.
use crate::bench::Bench;
use crate::error::{Error, sql};
use crate::place::Draft;
use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};
use std::path::Path;
use std::time::{Duration, Instant};
use trueplate_core::finding::Finding;

impl Bench {
    /// Writes the bench as of now to a new file, and reads the copy back. Never overwrites.
    ///
    /// Other connections may save meanwhile. Damage of this bench is in the copy too: it is in the findings.
    pub fn backup_to(&self, path: &Path) -> Result<Vec<Finding>, Error> {
        copy(self, path)?;
        Bench::open_read_only(path)?.verify()
    }
}

/// Puts a backup in place under a new name and opens it. Verified first; a damaged backup is refused, and nothing is
/// ever overwritten.
pub fn restore(backup: &Path, path: &Path) -> Result<Bench, Error> {
    let from = Bench::open_read_only(backup)?;
    if let Some(f) = from.verify()?.iter().find(|f| f.code == "damaged") {
        let what = format!("{} {}", f.place, f.text);
        return Err(Error::Damaged { path: backup.to_path_buf(), what });
    }
    copy(&from, path)?;
    Bench::open(path)
}

/// Copies all pages of one moment into a new file.
pub(crate) fn copy(from: &Bench, path: &Path) -> Result<(), Error> {
    let draft = Draft::of(path)?;
    let failed = sql(path, "writing the copy");
    let mut to = Connection::open(&draft.path).map_err(&failed)?;
    to.pragma_update(None, "synchronous", "FULL").map_err(&failed)?;
    let copying = Backup::new(&from.conn, &mut to).map_err(&failed)?;
    let until = Instant::now() + Duration::from_secs(10);
    // All pages in one step: with more, every save in between would begin the copy anew.
    loop {
        match copying.step(-1).map_err(&failed)? {
            StepResult::Done => break,
            _ if Instant::now() > until => {
                return Err(Error::Busy {
                    path: from.path.clone(),
                    who: "another program that is writing".into(),
                });
            }
            _ => std::thread::sleep(Duration::from_millis(20)),
        }
    }
    drop(copying);
    to.close().map_err(|(_, e)| failed(e))?;
    draft.settle()
}
