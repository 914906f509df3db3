//! Names beside a bench, and putting a finished file in its place at one stroke, never over another.
use crate::error::{Error, writing};
use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::path::{Path, PathBuf};

/// `path` with `ending` added to its name: `a.trueplate` and `-wal` give `a.trueplate-wal`.
pub(crate) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// Length of a file in bytes; 0 when there is none.
pub(crate) fn length(path: &Path) -> u64 {
    fs::metadata(path).map_or(0, |m| m.len())
}

/// Options for a file that must not be there yet and that only its owner may read.
pub(crate) fn private() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

/// A file under way to `target`: written under another name, removed again unless settled.
pub(crate) struct Draft {
    /// Where it is written.
    pub path: PathBuf,
    target: PathBuf,
}

impl Draft {
    /// An empty private file beside `target`; refused when something stands there already, also a leftover
    /// `-wal` or `-journal`, which SQLite would take for part of the new file.
    pub fn of(target: &Path) -> Result<Draft, Error> {
        for path in [target.to_path_buf(), beside(target, "-wal"), beside(target, "-journal")] {
            if path.symlink_metadata().is_ok() {
                return Err(Error::Exists { path });
            }
        }
        let path = beside(target, &format!(".{}.part", std::process::id()));
        // A killed program may have left one under our number.
        let _ = fs::remove_file(&path);
        let doing = if folder_of(target).is_dir() {
            "making the file"
        } else {
            "making the file in a folder that is not there"
        };
        private().open(&path).map_err(writing(target, doing))?;
        Ok(Draft { path, target: target.to_path_buf() })
    }

    /// Gives the file its name. Where the file system has no hard links the name is reserved first.
    pub fn settle(self) -> Result<(), Error> {
        let failed = writing(&self.target, "giving the new file its name");
        File::options().write(true).open(&self.path).and_then(|f| f.sync_all()).map_err(&failed)?;
        match fs::hard_link(&self.path, &self.target) {
            Ok(()) => {}
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => return Err(failed(e)),
            Err(_) => {
                private().open(&self.target).map_err(&failed)?;
                fs::rename(&self.path, &self.target).map_err(&failed)?;
            }
        }
        sync_folder(&self.target);
        Ok(())
    }
}

impl Drop for Draft {
    fn drop(&mut self) {
        for ending in ["", "-wal", "-shm", "-journal"] {
            let _ = fs::remove_file(beside(&self.path, ending));
        }
    }
}

/// Makes a new name survive a power cut, where the system lets a folder be synced.
fn sync_folder(path: &Path) {
    if let Ok(folder) = File::open(folder_of(path)) {
        let _ = folder.sync_all();
    }
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
