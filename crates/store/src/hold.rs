//! Who serves a bench: a lock beside the file, so that a second program finds out at once.
use crate::error::{Error, writing};
use crate::place::beside;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The right to serve a bench. Given back when dropped, or by the system when the program ends in any way.
#[derive(Debug)]
pub struct Hold {
    file: File,
    path: PathBuf,
}

impl Hold {
    /// Takes the bench, saying who holds it (`process 4711 at http://127.0.0.1:8080`).
    ///
    /// [`Error::Busy`] names the other holder. Reading and saving by other commands still work meanwhile.
    pub fn take(bench: &Path, who: &str) -> Result<Hold, Error> {
        let path = lock_of(bench);
        let failed = writing(&path, "taking the bench");
        let mut patience = 10;
        loop {
            let file = open(&path).map_err(&failed)?;
            match file.try_lock() {
                Ok(()) => {}
                // Someone may only be asking who holds it: that takes no longer than a moment.
                Err(TryLockError::WouldBlock) if patience > 0 => {
                    patience -= 1;
                    std::thread::sleep(Duration::from_millis(20));
                    continue;
                }
                Err(TryLockError::WouldBlock) => {
                    let who = said(&path).unwrap_or_else(|| "another program".into());
                    return Err(Error::Busy { path: bench.to_path_buf(), who });
                }
                Err(TryLockError::Error(e)) => return Err(failed(e)),
            }
            // The former holder removes the file when it ends: a lock on a removed file holds nobody off.
            if same(&file, &path) {
                let mut hold = Hold { file, path };
                hold.say(who)?;
                return Ok(hold);
            }
        }
    }

    /// Says anew who holds it, e.g. once the port is known.
    pub fn say(&mut self, who: &str) -> Result<(), Error> {
        let write = |file: &mut File| {
            file.set_len(0)?;
            file.seek(SeekFrom::Start(0))?;
            file.write_all(who.as_bytes())?;
            file.flush()
        };
        write(&mut self.file).map_err(writing(&self.path, "saying who holds the bench"))
    }

    /// Who holds the bench now; none when nobody does.
    pub fn holder(bench: &Path) -> Option<String> {
        let path = lock_of(bench);
        let file = File::open(&path).ok()?;
        match file.try_lock_shared() {
            Ok(()) => None,
            Err(_) => Some(said(&path).unwrap_or_else(|| "another program".into())),
        }
    }
}

impl Drop for Hold {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
        let _ = self.file.unlock();
    }
}

/// Beside the file itself, by whichever name or link it was opened.
fn lock_of(bench: &Path) -> PathBuf {
    let real = fs::canonicalize(bench);
    beside(real.as_deref().unwrap_or(bench), "-lock")
}

fn open(path: &Path) -> std::io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(true).truncate(false);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

fn said(path: &Path) -> Option<String> {
    let mut text = String::new();
    File::open(path).ok()?.take(1000).read_to_string(&mut text).ok()?;
    let text = text.trim().to_string();
    (!text.is_empty()).then_some(text)
}

#[cfg(unix)]
fn same(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(a), Ok(b)) => (a.dev(), a.ino()) == (b.dev(), b.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn same(_file: &File, path: &Path) -> bool {
    path.exists()
}
