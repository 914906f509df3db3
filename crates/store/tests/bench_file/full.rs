//! The disk is full while saving.
use crate::ground::{AT, noise, stroke, test};
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;
use trueplate_core::record::Record;
use trueplate_store::{Bench, Error};

/// A small disk of its own, taken away at the end.
struct Disk(TempDir);

impl Disk {
    fn mount(&self, options: &str) -> bool {
        let run =
            Command::new("mount").args(["-t", "tmpfs", "-o", options, "tmpfs"]).arg(self.0.path()).output();
        run.is_ok_and(|o| o.status.success())
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).output();
    }
}

fn save(b: &mut Bench, n: usize) -> Result<(), Error> {
    b.save(&[Record::Test(test(&format!("t{n}"), "1 kWh"))], &stroke("")).map(|_| ())
}

fn whole(b: &Bench, tests: usize) {
    assert_eq!(b.verify().unwrap(), []);
    assert_eq!(b.notebook().unwrap().tests.len(), tests);
}

#[test]
fn a_full_disk_loses_nothing_and_saving_goes_on_once_there_is_space() {
    let disk = Disk(TempDir::new().unwrap());
    if !disk.mount("size=1m") {
        eprintln!("SKIPPED: a small disk cannot be mounted here (needs root); the full disk was not tried");
        return;
    }
    let path = disk.0.path().join("a.trueplate");
    let mut b = Bench::create(&path, AT).unwrap();
    let mut saved = 0;
    let error = loop {
        match save(&mut b, saved) {
            Ok(()) => saved += 1,
            Err(e) => break e,
        }
    };
    assert!(matches!(error, Error::Full { .. }), "{error}");
    assert!(saved > 10, "{saved}");
    whole(&b, saved);
    let error = b.put_file(noise(1, 2 << 20).as_slice(), "log.csv", "", AT).unwrap_err();
    assert!(matches!(error, Error::Full { .. }), "{error}");
    let error = b.backup_to(&disk.0.path().join("copy.trueplate")).unwrap_err();
    assert!(matches!(error, Error::Full { .. }), "{error}");
    assert!(!left_over(disk.0.path(), "copy"));
    whole(&b, saved);
    assert!(disk.mount("remount,size=8m"));
    save(&mut b, saved).unwrap();
    whole(&b, saved + 1);
    drop(b);
    whole(&Bench::open(&path).unwrap(), saved + 1);
}

/// The program ends while the disk is full: the next one finds everything that was saved.
#[test]
fn opened_again_on_a_full_disk() {
    let disk = Disk(TempDir::new().unwrap());
    if !disk.mount("size=1m") {
        eprintln!("SKIPPED: a small disk cannot be mounted here (needs root); the full disk was not tried");
        return;
    }
    let path = disk.0.path().join("a.trueplate");
    let mut b = Bench::create(&path, AT).unwrap();
    let saved = (0..).take_while(|n| save(&mut b, *n).is_ok()).count();
    drop(b);
    let b = Bench::open_read_only(&path).unwrap();
    whole(&b, saved);
    let error = Bench::create(&disk.0.path().join("b.trueplate"), AT);
    if let Err(e) = error {
        assert!(matches!(e, Error::Full { .. }), "{e}");
        assert!(!left_over(disk.0.path(), "b.trueplate"));
    }
}

fn left_over(folder: &Path, start: &str) -> bool {
    folder.read_dir().unwrap().any(|e| e.unwrap().file_name().to_string_lossy().starts_with(start))
}
