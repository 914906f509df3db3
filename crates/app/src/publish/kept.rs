//! What a publishing leaves to know for the next: how each file of the folder looked, and what the pages of each model
//! were made from.
//!
//! It lies beside the folder and saves time alone. It may be deleted at any time; what another build of the program left,
//! or what is damaged, is as if it were not there; and a file that no longer looks as it did is not known.
use super::hex;
use super::swap::Aside;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};
use trueplate_core::uncertain;
use trueplate_pages::package::FACTS;
use trueplate_pages::site::{Before, Known, Pieces, of_all};

/// Names the build of the program; the version for those who look into the file.
const BUILD: &str = concat!("trueplate ", env!("CARGO_PKG_VERSION"), " ", env!("TRUEPLATE_BUILD"));

/// A file written so shortly ago may be written again without looking otherwise: clocks of file systems go in ticks,
/// of 10 ms at most, or of two seconds where they know no parts of one.
const TICK: Duration = Duration::from_millis(25);
const LONG_TICK: Duration = Duration::from_millis(2500);

/// How a file looks from outside: length, and where the system has them the times of the last change of its bytes and
/// of anything about it (nanoseconds), and its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Look(u64, u64, u64, u64);

impl Look {
    fn of(about: &Metadata) -> Option<Look> {
        #[cfg(unix)]
        let (touched, number) = {
            use std::os::unix::fs::MetadataExt;
            let touched = about.ctime().checked_mul(1_000_000_000)?.checked_add(about.ctime_nsec())?;
            (u64::try_from(touched).ok()?, about.ino())
        };
        #[cfg(not(unix))]
        let (touched, number) = (about.created().ok().and_then(nanoseconds)?, 0);
        let written = about.modified().ok().and_then(nanoseconds)?;
        about.is_file().then_some(Look(about.len(), written, touched, number))
    }

    /// That of a file; nothing where there is none.
    pub fn at(path: &Path) -> Option<Look> {
        Look::of(&fs::symlink_metadata(path).ok()?)
    }

    /// Whether it is the look of the same file, unchanged, but for the time that giving and taking a name changes.
    pub fn still(self, was: Look) -> bool {
        (self.0, self.1, self.3) == (was.0, was.1, was.3)
    }

    /// Written long enough ago that another writing would show.
    fn settled(self, now: u64) -> bool {
        let tick = if self.1.is_multiple_of(1_000_000_000) { LONG_TICK } else { TICK };
        now.saturating_sub(self.1) >= tick.as_nanos() as u64
    }
}

fn nanoseconds(at: SystemTime) -> Option<u64> {
    u64::try_from(at.duration_since(SystemTime::UNIX_EPOCH).ok()?.as_nanos()).ok()
}

/// By path: SHA-256, and how the file looked.
pub type Seen = BTreeMap<String, (String, Option<Look>)>;

/// What is known of a published folder.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Kept {
    /// Those whose look is there looked so when another writing would have shown.
    files: Seen,
    /// What the pages of models were made from.
    made: Known,
    /// How many intervals stood beside the folder when this program last read or wrote them.
    #[serde(skip)]
    intervals: usize,
}

/// What was kept beside a folder under an ending, whole and by this build; nothing else.
fn read(folder: &Path, ending: &str) -> Option<Vec<u8>> {
    let mut bytes = fs::read(beside(folder, ending)?).ok()?;
    let end = bytes.iter().position(|b| *b == b'\n')?;
    let body = bytes.split_off(end + 1);
    (bytes[..end] == *head(&body).as_bytes()).then_some(body)
}

/// Keeps bytes beside a folder. Where that cannot be, the next publishing takes longer.
fn write(folder: &Path, ending: &str, body: &[u8]) {
    let Some(to) = beside(folder, ending) else { return };
    // Under its name it is whole or not there.
    let draft = to.with_extension(format!("{ending}-{}", std::process::id()));
    let all = [head(body).as_bytes(), b"\n", body].concat();
    if fs::write(&draft, all).and_then(|()| fs::rename(&draft, &to)).is_err() {
        let _nothing_was_kept = fs::remove_file(&draft);
    }
}

fn beside(folder: &Path, ending: &str) -> Option<PathBuf> {
    let name = folder.file_name()?.to_string_lossy();
    Some(folder.with_file_name(format!(".{name}.{ending}")))
}

/// The first line: which build wrote it, and the sum of all that follows.
fn head(body: &[u8]) -> String {
    format!("{BUILD} {}", hex(body))
}

/// Intervals are written again when they grew by this share.
const MANY_MORE: usize = 16;

/// Pages and files of the folder.
const PAGES: &str = "kept";
/// Intervals and probabilities that were worked out for it.
const INTERVALS: &str = "kept-intervals";

impl Kept {
    /// The same as [`Kept::of`], with the intervals that the last publishing into the folder worked out taken over first:
    /// what is computed meanwhile asks for them.
    pub fn learnt(folder: &Path) -> Kept {
        let learnt = read(folder, INTERVALS).map(|bytes| uncertain::learn(&bytes));
        let intervals = learnt.map_or(0, |()| uncertain::known());
        Kept { intervals, ..Kept::of(folder) }
    }

    /// What the last publishing into the folder left; nothing where that cannot be trusted.
    pub fn of(folder: &Path) -> Kept {
        let found = read(folder, PAGES).and_then(|body| serde_json::from_slice(&body).ok());
        found.unwrap_or_default()
    }

    /// The sum and the look of a file of the folder, when it looks as it did.
    pub fn known(&self, folder: &Path, path: &str) -> Option<(&str, Look)> {
        let (sum, look) = self.files.get(path)?;
        look.filter(|look| Look::at(&folder.join(path)) == Some(*look)).map(|look| (sum.as_str(), look))
    }

    /// Whether a file of the folder holds these bytes, whose sum is given. What it looks like decides where that is known,
    /// else its bytes: somebody may have edited the page.
    pub fn holds(&self, folder: &Path, path: &str, sum: &str, bytes: &[u8]) -> bool {
        match self.known(folder, path) {
            Some((known, _)) => known == sum,
            None => fs::read(folder.join(path)).is_ok_and(|found| found == bytes),
        }
    }

    /// What those pages were made from whose files all look as they did, and all files that do.
    fn whole(&self, folder: &Path) -> Before {
        let known = |path: &&String| self.known(folder, path).is_some();
        let stand: BTreeSet<String> = self.files.keys().filter(known).cloned().collect();
        let whole = self.made.iter().filter(|(_, made)| made.files.iter().all(|path| stand.contains(path)));
        let made = whole.map(|(id, made)| (id.clone(), made.clone())).collect();
        Before { made, stand, ..Before::default() }
    }

    /// The same with what the program remembers of the models. The facts are in that.
    pub fn before_with(&self, folder: &Path, pieces: Pieces) -> Before {
        Before { pieces, ..self.whole(folder) }
    }

    /// The same with the files that lines are taken from, those that are as they were.
    pub fn before(&self, folder: &Path) -> Before {
        let bytes = |path: &str| {
            let (sum, _) = self.files.get(path)?;
            fs::read(folder.join(path)).ok().filter(|bytes| hex(bytes) == *sum)
        };
        let facts = bytes(FACTS).and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default();
        let files = of_all().filter_map(|path| Some((path.clone(), bytes(&path)?))).collect();
        Before { facts, files, ..self.whole(folder) }
    }

    /// What is to be kept of a folder just published, after what was known of it before.
    pub(super) fn rest(&self, folder: &Path, (seen, made): (Seen, Known), old: Aside) -> Rest {
        let kept = Kept { files: seen, made, intervals: self.intervals };
        Rest { folder: folder.to_path_buf(), kept, old }
    }
}

/// What is left to do when new pages stand: the old ones are taken away, and what is known of the new ones is kept beside
/// them. Readers need not wait for it, the next publishing must.
#[derive(Debug)]
#[must_use]
pub struct Rest {
    folder: PathBuf,
    /// With the looks of before the exchange.
    kept: Kept,
    old: Aside,
}

impl Rest {
    /// Does it; what is known for the next time.
    pub fn done(self) -> Kept {
        let Rest { folder, mut kept, old } = self;
        // A file with one name less looks otherwise: how it looks is kept when the old pages are gone.
        drop(old);
        let now = nanoseconds(SystemTime::now()).unwrap_or_default();
        for (path, (_, look)) in &mut kept.files {
            // Somebody may have edited it or put another there since.
            let seen = look.and_then(|was| Look::at(&folder.join(path)).filter(|is| is.still(was)));
            *look = seen.filter(|is| is.settled(now));
        }
        if let Ok(body) = serde_json::to_vec(&kept) {
            write(&folder, PAGES, &body);
        }
        // Megabytes, of which a few more change little.
        let known = uncertain::known();
        if known > kept.intervals + kept.intervals / MANY_MORE {
            write(&folder, INTERVALS, &uncertain::learnt());
            kept.intervals = known;
        }
        kept
    }
}
