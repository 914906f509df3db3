//! A published folder, swapped in at one stroke. Never touches a folder it did not write, and carries over every
//! file in it that it did not write.
mod kept;
mod swap;

pub use kept::{Kept, Rest};
use kept::{Look, Seen};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};
use swap::{Aside, swap, sweep};
use trueplate_core::abreast;
use trueplate_pages::package::Original;
use trueplate_pages::site::Site;

/// What a folder is written for. The same folder never serves two purposes.
#[derive(Clone, Copy, Debug)]
pub struct Purpose {
    /// Stands in every folder written here: a line per file with its SHA-256.
    marker: &'static str,
    /// What was done with the files: "published".
    done: &'static str,
}

/// The static site.
pub const SITE: Purpose = Purpose { marker: ".trueplate-site", done: "published" };
/// The whole bench in open formats.
pub const EXPORT: Purpose = Purpose { marker: ".trueplate-export", done: "exported" };

/// Files whose bytes are somewhere else, with the way to fetch them.
pub struct Elsewhere<'a> {
    /// What is to lie where.
    pub files: &'a [Original],
    /// Writes the bytes of a SHA-256 into a fresh file.
    pub fetch: &'a dyn Fn(&str, &mut fs::File) -> io::Result<()>,
}

/// Why nothing was published. What stood there before stands there still.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Not a folder of ours.
    #[error("{}: {why}; choose an empty folder or a new name", folder.display())]
    NotOurs {
        /// The folder asked for.
        folder: PathBuf,
        /// What is there instead.
        why: String,
    },
    /// A page that was not made again, because it was as it should be, is not so any more.
    #[error("{}: it was changed while the pages were published", path.display())]
    Changed {
        /// The page.
        path: PathBuf,
    },
    /// The disk.
    #[error("{}: {doing} failed ({source}); what stood in the folder before stands there still", path.display())]
    Disk {
        /// The file or folder.
        path: PathBuf,
        /// What was attempted.
        doing: &'static str,
        /// The operating system's word.
        source: io::Error,
    },
}

/// What publishing did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Published {
    /// Files whose bytes are new.
    pub written: usize,
    /// Files that kept their bytes.
    pub kept: usize,
    /// Files of the last publishing that are gone.
    pub dropped: usize,
    /// Files that were not published from here and were left as they are.
    pub foreign: usize,
}

fn disk<'a>(path: &'a Path, doing: &'static str) -> impl Fn(io::Error) -> Error + use<'a> {
    move |source| Error::Disk { path: path.to_path_buf(), doing, source }
}

/// Everything that is to lie in the folder.
struct Wanted<'a> {
    /// Files with their bytes.
    bytes: &'a BTreeMap<String, Vec<u8>>,
    /// Files that are as the folder has them.
    same: &'a BTreeSet<String>,
    elsewhere: &'a Elsewhere<'a>,
    /// What is known of the folder.
    kept: &'a Kept,
}

impl Wanted<'_> {
    fn has(&self, path: &str) -> bool {
        self.bytes.contains_key(path)
            || self.same.contains(path)
            || self.elsewhere.files.iter().any(|o| o.path == path)
    }
    /// How many files of the last time are not among them.
    fn dropped(&self, before: &BTreeMap<String, String>) -> usize {
        before.keys().filter(|p| !self.has(p)).count()
    }
}

/// Writes the files beside `folder`, then exchanges the two: readers see the old pages or the new ones, never a
/// mixture. `files` has paths with forward slashes, relative to the folder. Files that are elsewhere are fetched only when
/// the folder does not hold them yet.
pub fn write_for(
    purpose: Purpose,
    files: &BTreeMap<String, Vec<u8>>,
    elsewhere: &Elsewhere,
    folder: &Path,
) -> Result<Published, Error> {
    let wanted = Wanted { bytes: files, same: &BTreeSet::new(), elsewhere, kept: &Kept::default() };
    exchange(purpose, &wanted, folder).map(|(published, ..)| published)
}

/// The same with a site of which only that was made which is not as it was when `kept` was left. The new pages stand then;
/// whoever called does what is left to do.
pub fn renew(
    site: &Site,
    elsewhere: &Elsewhere,
    kept: &Kept,
    folder: &Path,
) -> Result<(Published, Rest), Error> {
    let wanted = Wanted { bytes: &site.files, same: &site.same, elsewhere, kept };
    let (published, seen, old) = exchange(SITE, &wanted, folder)?;
    Ok((published, kept.rest(folder, (seen, site.made.clone()), old)))
}

/// Puts the wanted files in place of those of the folder; what was done, what is known of each, and what lay there before.
fn exchange(purpose: Purpose, wanted: &Wanted, folder: &Path) -> Result<(Published, Seen, Aside), Error> {
    let before = last(purpose, folder)?;
    let name = folder
        .file_name()
        .ok_or_else(|| not_ours(folder, "it names no folder"))?
        .to_string_lossy()
        .into_owned();
    let parent = folder.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(parent).map_err(disk(parent, "making the folder"))?;
    sweep(parent, &name);
    let fresh = Aside::beside(parent, &name);
    let (published, seen) = fill(purpose, wanted, folder, &before, fresh.path())?;
    swap(folder, fresh.path())?;
    Ok((published, seen, fresh))
}

/// True when something was published into the folder before.
pub fn was_published(folder: &Path) -> bool {
    folder.join(SITE.marker).is_file()
}

/// How publishing would change the folder, without touching it.
pub fn compare(site: &Site, kept: &Kept, folder: &Path) -> Result<Published, Error> {
    let before = last(SITE, folder)?;
    let elsewhere = Elsewhere { files: &site.originals, fetch: &|_, _| Ok(()) };
    let wanted = Wanted { bytes: &site.files, same: &site.same, elsewhere: &elsewhere, kept };
    let same = |(path, bytes): &(&String, &Vec<u8>)| {
        let sum = hex(bytes);
        before.get(*path) == Some(&sum) && kept.holds(folder, path, &sum, bytes)
    };
    let known = site.same.iter().filter(|p| kept.known(folder, p).is_some()).count();
    let held = site.originals.iter().filter(|o| holds(&before, o, &folder.join(&o.path))).count();
    let all = site.files.len() + site.same.len() + site.originals.len();
    let kept = site.files.iter().filter(same).count() + known + held;
    Ok(Published { written: all - kept, kept, dropped: wanted.dropped(&before), foreign: 0 })
}

/// Whether a file written before is the original asked for. Its length is looked at, not its bytes: there may be
/// gigabytes of them, and nobody edits a log.
fn holds(before: &BTreeMap<String, String>, original: &Original, at: &Path) -> bool {
    before.get(&original.path) == Some(&original.sha256)
        && fs::symlink_metadata(at).is_ok_and(|m| m.is_file() && m.len() == original.bytes)
}

/// Files and sums of the last publishing; empty for a folder that is new or empty.
fn last(purpose: Purpose, folder: &Path) -> Result<BTreeMap<String, String>, Error> {
    let Ok(about) = fs::symlink_metadata(folder) else { return Ok(BTreeMap::new()) };
    if !about.is_dir() {
        return Err(not_ours(folder, "it is no folder"));
    }
    let marker = folder.join(purpose.marker);
    match fs::read_to_string(&marker) {
        Ok(text) => Ok(text
            .lines()
            .filter_map(|l| l.split_once("  "))
            .map(|(sum, path)| (path.into(), sum.into()))
            .collect()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            let empty = fs::read_dir(folder).map_err(disk(folder, "reading it"))?.next().is_none();
            if empty {
                Ok(BTreeMap::new())
            } else {
                Err(not_ours(folder, &format!("it holds files that were not {} from here", purpose.done)))
            }
        }
        Err(e) => Err(disk(&marker, "reading it")(e)),
    }
}

/// What the last publishing wrote into a part of the folder and nobody changed since: path and bytes. Not those named in
/// `but`.
pub fn held(folder: &Path, part: &str, but: &BTreeSet<&String>) -> BTreeMap<String, Vec<u8>> {
    let within = format!("{part}/");
    let listed = last(SITE, folder).unwrap_or_default();
    let of = listed.into_iter().filter(|(path, _)| path.starts_with(&within) && !but.contains(path));
    let read = |(path, sum): (String, String)| {
        let bytes = fs::read(folder.join(inside(folder, &path).ok()?)).ok()?;
        (hex(&bytes) == sum).then_some((path, bytes))
    };
    of.filter_map(read).collect()
}

fn not_ours(folder: &Path, why: &str) -> Error {
    Error::NotOurs { folder: folder.to_path_buf(), why: why.into() }
}

fn hex(bytes: &[u8]) -> String {
    let digit = |n: u8| char::from(b"0123456789abcdef"[usize::from(n)]);
    Sha256::digest(bytes).iter().flat_map(|b| [digit(b >> 4), digit(b & 15)]).collect()
}

fn fill(
    purpose: Purpose,
    wanted: &Wanted,
    folder: &Path,
    before: &BTreeMap<String, String>,
    fresh: &Path,
) -> Result<(Published, Seen), Error> {
    fs::create_dir(fresh).map_err(disk(fresh, "making the new folder"))?;
    let mut published = Published::default();
    let mut seen = Seen::new();
    let made = wanted.bytes.iter().map(|(path, bytes)| (path, Some(bytes.as_slice())));
    let mut all: Vec<(&String, Option<&[u8]>)> = made.chain(wanted.same.iter().map(|p| (p, None))).collect();
    // The long ones first.
    all.sort_by_key(|(_, bytes)| std::cmp::Reverse(bytes.map_or(0, <[u8]>::len)));
    let mut parents = BTreeSet::new();
    for (path, _) in &all {
        parents.extend(fresh.join(inside(folder, path)?).parent().map(Path::to_path_buf));
    }
    for parent in &parents {
        fs::create_dir_all(parent).map_err(disk(parent, "making the folder"))?;
    }
    let kept = wanted.kept;
    let done = abreast::each(&all, |(path, bytes)| match bytes {
        Some(bytes) => put(kept, (path, bytes), folder, before, fresh),
        None => take(kept, path, folder, fresh).map(|sum| (sum, true)),
    });
    for ((path, _), done) in all.iter().zip(done) {
        let ((sum, look), held) = done?;
        seen.insert((*path).clone(), (sum, look));
        if held {
            published.kept += 1;
        } else {
            published.written += 1;
        }
    }
    for original in wanted.elsewhere.files {
        let relative = inside(folder, &original.path)?;
        let (old, new) = (folder.join(&relative), fresh.join(&relative));
        make_parent(&new)?;
        if holds(before, original, &old) && fs::hard_link(&old, &new).is_ok() {
            published.kept += 1;
        } else {
            let mut file = fs::File::create_new(&new).map_err(disk(&new, "writing a kept file"))?;
            (wanted.elsewhere.fetch)(&original.sha256, &mut file)
                .map_err(disk(&new, "writing a kept file"))?;
            published.written += 1;
        }
        seen.insert(original.path.clone(), (original.sha256.clone(), Look::at(&new)));
    }
    published.dropped = wanted.dropped(before);
    published.foreign = carry(folder, folder, before, (purpose, &|name| wanted.has(name)), fresh)?;
    let marker = fresh.join(purpose.marker);
    let list: String = seen.iter().map(|(path, (sum, _))| format!("{sum}  {path}\n")).collect();
    fs::write(&marker, list).map_err(disk(&marker, "writing the list of pages"))?;
    Ok((published, seen))
}

/// Puts a file into the new folder, whose folders are there: its sum and look, and whether it kept its bytes.
fn put(
    kept: &Kept,
    (path, bytes): (&str, &[u8]),
    folder: &Path,
    before: &BTreeMap<String, String>,
    fresh: &Path,
) -> Result<((String, Option<Look>), bool), Error> {
    let (old, new) = (folder.join(path), fresh.join(path));
    let sum = hex(bytes);
    let same = before.get(path) == Some(&sum) && kept.holds(folder, path, &sum, bytes);
    let linked = same && fs::hard_link(&old, &new).is_ok();
    if !linked {
        fs::write(&new, bytes).map_err(disk(&new, "writing the page"))?;
    }
    Ok(((sum, Look::at(&new)), linked))
}

/// Takes a file over that is as it should be; its sum and look.
fn take(kept: &Kept, path: &str, folder: &Path, fresh: &Path) -> Result<(String, Option<Look>), Error> {
    let (old, new) = (folder.join(path), fresh.join(path));
    let changed = || Error::Changed { path: old.clone() };
    let (sum, look) = kept.known(folder, path).ok_or_else(changed)?;
    // Where a file cannot have two names, all are made.
    fs::hard_link(&old, &new).map_err(|_| changed())?;
    let now = Look::at(&new).filter(|now| now.still(look)).ok_or_else(changed)?;
    Ok((sum.to_string(), Some(now)))
}

/// Takes over what was not published from here.
fn carry(
    root: &Path,
    folder: &Path,
    before: &BTreeMap<String, String>,
    (purpose, taken): (Purpose, &dyn Fn(&str) -> bool),
    fresh: &Path,
) -> Result<usize, Error> {
    let mut count = 0;
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        let relative = path.strip_prefix(root).unwrap_or(&path).to_path_buf();
        let name =
            relative.components().map(|c| c.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/");
        let sort = entry.file_type().map_err(disk(&path, "reading it"))?;
        if sort.is_dir() {
            count += carry(root, &path, before, (purpose, taken), fresh)?;
            continue;
        }
        if name == purpose.marker || before.contains_key(&name) {
            continue;
        }
        if taken(&name) {
            let why = format!("it was not {} from here and would be written over", purpose.done);
            return Err(not_ours(&path, &why));
        }
        let to = fresh.join(&relative);
        make_parent(&to)?;
        take_over(&path, &to, sort.is_symlink()).map_err(disk(&path, "taking it over"))?;
        count += 1;
    }
    Ok(count)
}

fn take_over(from: &Path, to: &Path, link: bool) -> io::Result<()> {
    #[cfg(unix)]
    if link {
        return std::os::unix::fs::symlink(fs::read_link(from)?, to);
    }
    let _only_unix_has_links_to_keep = link;
    fs::hard_link(from, to).or_else(|_| fs::copy(from, to).map(|_| ()))
}

fn make_parent(path: &Path) -> Result<(), Error> {
    let Some(parent) = path.parent() else { return Ok(()) };
    fs::create_dir_all(parent).map_err(disk(parent, "making the folder"))
}

/// A path that stays inside the folder.
fn inside(folder: &Path, path: &str) -> Result<PathBuf, Error> {
    let relative = Path::new(path);
    match relative.components().all(|c| matches!(c, Component::Normal(_))) {
        true => Ok(relative.to_path_buf()),
        false => Err(not_ours(&folder.join(relative), "a page would lie outside the folder")),
    }
}

#[cfg(test)]
#[path = "publish_test.rs"]
mod tests;
