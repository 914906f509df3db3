//! The new folder in place of the old one, and what killed publishings left.
use super::{Error, disk};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

/// A folder of ours beside the published one: unfinished new pages or, after the exchange, the old ones. It is taken away when
/// nobody holds it any more; what a killed program leaves goes at the next publishing.
#[derive(Debug)]
#[must_use]
pub struct Aside(PathBuf);

impl Aside {
    /// A name that no other publishing has, of this program or another one.
    pub fn beside(parent: &Path, name: &str) -> Aside {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let n = COUNT.fetch_add(1, Ordering::Relaxed);
        Aside(parent.join(format!(".{name}.publishing-{}-{n}", std::process::id())))
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Aside {
    fn drop(&mut self) {
        let _gone_already = fs::remove_dir_all(&self.0);
    }
}

/// Unfinished folders of publishings that were killed.
pub fn sweep(parent: &Path, name: &str) {
    let unfinished = format!(".{name}.publishing-");
    for entry in fs::read_dir(parent).into_iter().flatten().flatten() {
        if entry.file_name().to_string_lossy().starts_with(&unfinished) {
            let _gone_already = fs::remove_dir_all(entry.path());
        }
    }
}

/// Puts the new folder in place of the old one.
pub fn swap(folder: &Path, fresh: &Path) -> Result<(), Error> {
    if !folder.exists() {
        return fs::rename(fresh, folder).map_err(disk(folder, "putting it in place"));
    }
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        if renameat_with(CWD, fresh, CWD, folder, RenameFlags::EXCHANGE).is_ok() {
            return Ok(());
        }
    }
    // Without an exchange the folder is away for a moment, and comes back if the second step fails.
    let aside = fresh.with_extension("old");
    fs::rename(folder, &aside).map_err(disk(folder, "moving the old pages aside"))?;
    if let Err(e) = fs::rename(fresh, folder) {
        let _the_old_pages_come_back = fs::rename(&aside, folder);
        return Err(disk(folder, "putting it in place")(e));
    }
    let _gone_already = fs::remove_dir_all(&aside);
    Ok(())
}
