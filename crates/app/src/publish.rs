//! A published folder, swapped in at one stroke. Never touches a folder that it did not write.
use anyhow::{Context, bail};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Component, Path, PathBuf};

/// Stands in every folder written here, so that a later publishing knows it may replace it.
pub const MARKER: &str = ".trueplate-site";

/// Writes the files beside `folder`, then renames: readers see the old pages or the new ones, never a mixture.
/// `files` has paths with forward slashes, relative to the folder.
pub fn write(files: &BTreeMap<String, Vec<u8>>, folder: &Path) -> anyhow::Result<()> {
    may_replace(folder)?;
    let name = folder.file_name().with_context(|| format!("`{}` names no folder", folder.display()))?;
    let parent = folder.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(parent).with_context(|| format!("{} cannot be made", parent.display()))?;
    let beside = |end: &str| parent.join(format!(".{}.{end}-{}", name.to_string_lossy(), std::process::id()));
    let (fresh, old) = (beside("new"), beside("old"));
    let written = write_all(files, &fresh).and_then(|()| swap(folder, &fresh, &old));
    if written.is_err() {
        // Both carry our marker or were made by this call; what stood before stays.
        let _half_written = fs::remove_dir_all(&fresh);
    }
    written
}

/// Refuses a folder with something in it that was not published from here.
pub fn may_replace(folder: &Path) -> anyhow::Result<()> {
    if !folder.exists() {
        return Ok(());
    }
    if !folder.is_dir() {
        bail!("`{}` is a file, not a folder; choose a folder", folder.display());
    }
    let mut inside = fs::read_dir(folder).with_context(|| format!("{} cannot be read", folder.display()))?;
    if inside.next().is_some() && !folder.join(MARKER).is_file() {
        bail!(
            "`{}` holds files that were not published from here; choose an empty folder or a new one",
            folder.display()
        );
    }
    Ok(())
}

fn write_all(files: &BTreeMap<String, Vec<u8>>, fresh: &Path) -> anyhow::Result<()> {
    fs::create_dir(fresh).with_context(|| format!("{} cannot be made", fresh.display()))?;
    for (path, bytes) in files {
        let file = fresh.join(inside(path)?);
        let folder = file.parent().unwrap_or(fresh);
        fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        fs::write(&file, bytes).with_context(|| format!("{} cannot be written", file.display()))?;
    }
    let marker = fresh.join(MARKER);
    let words = "This folder was published from a bench and is replaced as a whole by the next publishing.\n";
    fs::write(&marker, words).with_context(|| format!("{} cannot be written", marker.display()))
}

/// A path that stays inside the folder.
fn inside(path: &str) -> anyhow::Result<PathBuf> {
    let path = Path::new(path);
    if path.components().all(|c| matches!(c, Component::Normal(_))) {
        return Ok(path.into());
    }
    bail!("`{}` does not stay inside the published folder", path.display())
}

fn swap(folder: &Path, fresh: &Path, old: &Path) -> anyhow::Result<()> {
    let failed = || format!("{} cannot be put in its place", folder.display());
    if folder.exists() {
        fs::rename(folder, old).with_context(failed)?;
        if let Err(e) = fs::rename(fresh, folder) {
            fs::rename(old, folder).with_context(failed)?;
            return Err(e).with_context(failed);
        }
        return fs::remove_dir_all(old).with_context(|| format!("{} cannot be removed", old.display()));
    }
    fs::rename(fresh, folder).with_context(failed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(text: &str) -> BTreeMap<String, Vec<u8>> {
        BTreeMap::from([("index.html".into(), text.into()), ("a/b.html".into(), b"b".to_vec())])
    }

    #[test]
    fn a_published_folder_is_replaced_as_a_whole() {
        let root = tempfile::tempdir().unwrap();
        let site = root.path().join("site");
        write(&files("one"), &site).unwrap();
        fs::write(site.join("stale.html"), "old").unwrap();
        write(&files("two"), &site).unwrap();
        assert_eq!(fs::read_to_string(site.join("index.html")).unwrap(), "two");
        assert!(site.join("a/b.html").is_file() && !site.join("stale.html").exists());
        assert_eq!(fs::read_dir(root.path()).unwrap().count(), 1, "nothing is left beside it");
    }

    #[test]
    fn foreign_files_are_never_touched() {
        let root = tempfile::tempdir().unwrap();
        fs::write(root.path().join("taxes.txt"), "mine").unwrap();
        let refused = write(&files("x"), root.path()).unwrap_err().to_string();
        assert!(refused.contains("not published from here"), "{refused}");
        assert_eq!(fs::read_dir(root.path()).unwrap().count(), 1);
    }

    #[test]
    fn paths_stay_inside() {
        let root = tempfile::tempdir().unwrap();
        let out = BTreeMap::from([("../out.html".to_string(), Vec::new())]);
        assert!(write(&out, &root.path().join("site")).is_err());
        assert_eq!(fs::read_dir(root.path()).unwrap().count(), 0);
    }
}
