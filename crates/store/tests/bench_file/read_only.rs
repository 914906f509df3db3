//! A bench that cannot be written: told so in one sentence, still readable, nothing created.
use crate::ground::{AT, filled, snatch, stroke, test};
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;
use trueplate_core::record::Record;
use trueplate_store::{Bench, Error, Hold};

/// A folder seen through a mount that takes no writing, since the modes of files do not bind root.
struct Sealed {
    folder: TempDir,
}

impl Sealed {
    fn over(folder: TempDir) -> Option<Sealed> {
        let at = folder.path();
        let run = Command::new("mount").args(["--bind", "-o", "ro"]).args([at, at]).output();
        let sealed = Sealed { folder };
        let works = run.is_ok_and(|o| o.status.success())
            && std::fs::write(sealed.folder.path().join("try"), "").is_err();
        if !works {
            eprintln!(
                "SKIPPED: a read-only mount cannot be made here (needs root); read-only folders were not tried"
            );
        }
        works.then_some(sealed)
    }
    fn bench(&self) -> PathBuf {
        self.folder.path().join("a.trueplate")
    }
}

impl Drop for Sealed {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.folder.path()).output();
    }
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> =
        folder.read_dir().unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_read_only_folder() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    let want = Bench::open(&path).unwrap().notebook().unwrap();
    let Some(sealed) = Sealed::over(folder) else { return };
    let e = Bench::open(&sealed.bench()).unwrap_err();
    assert!(matches!(e, Error::ReadOnly { .. }), "{e}");
    let mut b = Bench::open_read_only(&sealed.bench()).unwrap();
    assert_eq!(b.notebook().unwrap(), want);
    assert_eq!(b.verify().unwrap(), []);
    let e = b.save(&[Record::Test(test("t", "1"))], &stroke("")).unwrap_err();
    assert!(matches!(e, Error::ReadOnly { .. }), "{e}");
    let e = b.put_file(&b"a"[..], "a", "", AT).unwrap_err();
    assert!(matches!(e, Error::ReadOnly { .. }), "{e}");
    let e = Bench::create(&sealed.folder.path().join("new.trueplate"), AT).unwrap_err();
    assert!(matches!(e, Error::ReadOnly { .. }), "{e}");
    let e = b.backup_to(&sealed.folder.path().join("copy.trueplate")).unwrap_err();
    assert!(matches!(e, Error::ReadOnly { .. }), "{e}");
    let e = Hold::take(&sealed.bench(), "me").unwrap_err();
    assert!(matches!(e, Error::ReadOnly { .. }), "{e}");
    assert_eq!(names(sealed.folder.path()), ["a.trueplate"]);
}

/// Killed, then moved to a medium that takes no writing: the log is read, or the bench is refused; it is never shown
/// without what is in the log.
#[test]
fn a_read_only_folder_with_a_log() {
    let (live, folder) = (TempDir::new().unwrap(), TempDir::new().unwrap());
    let path = live.path().join("a.trueplate");
    let mut b = Bench::create(&path, AT).unwrap();
    b.save(&[Record::Test(test("t", "1"))], &stroke("")).unwrap();
    snatch(&path, &folder.path().join("a.trueplate"));
    let Some(sealed) = Sealed::over(folder) else { return };
    match Bench::open_read_only(&sealed.bench()) {
        Ok(b) => assert_eq!(b.notebook().unwrap().tests, [test("t", "1")]),
        Err(e) => assert!(matches!(e, Error::ReadOnly { .. }), "{e}"),
    }
}

/// Open for reading means reading, also where writing would be possible; and nothing stays beside the bench.
#[test]
fn reading_leaves_no_trace() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    let before = std::fs::read(&path).unwrap();
    let mut b = Bench::open_read_only(&path).unwrap();
    assert!(!b.is_writable());
    assert!(matches!(b.save(&[Record::Test(test("t", "1"))], &stroke("")), Err(Error::ReadOnly { .. })));
    assert!(matches!(b.undo(2, AT), Err(Error::ReadOnly { .. })));
    b.verify().unwrap();
    drop(b);
    assert_eq!(names(folder.path()), ["a.trueplate"]);
    assert_eq!(std::fs::read(&path).unwrap(), before);
}
