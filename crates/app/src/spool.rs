//! What arrives slowly is put on the disk first, beside the bench: the bench file is held only while bytes are copied
//! from disk to disk, and no file is ever held in memory.
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// Tells the files of one program apart.
static NEXT: AtomicU64 = AtomicU64::new(0);

/// Bytes on their way into the bench; gone when dropped.
#[derive(Debug)]
pub struct Spooled {
    path: PathBuf,
    file: File,
    /// Bytes so far.
    pub size: u64,
}

impl Spooled {
    /// An empty file in the folder of the bench, which has the room if the bench has; readable by its owner only.
    ///
    /// # Errors
    /// When the folder takes no new file.
    pub fn beside(bench: &Path) -> io::Result<Spooled> {
        let name = bench.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let path = bench.with_file_name(format!(".{name}.arriving-{}-{number}", std::process::id()));
        let mut how = OpenOptions::new();
        how.write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut how, 0o600);
        Ok(Spooled { file: how.open(&path)?, path, size: 0 })
    }

    /// Takes some more.
    ///
    /// # Errors
    /// When the disk is full or gone.
    pub fn take(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.size += bytes.len() as u64;
        self.file.write_all(bytes)
    }

    /// What arrived, from its first byte.
    ///
    /// # Errors
    /// When the file cannot be read back.
    pub fn open(&self) -> io::Result<File> {
        File::open(&self.path)
    }
}

impl Drop for Spooled {
    fn drop(&mut self) {
        // Nothing rests on it any more; what cannot be removed now is named so that a person can see what it is.
        let _ = fs::remove_file(&self.path);
    }
}
