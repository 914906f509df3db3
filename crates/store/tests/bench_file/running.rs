//! Logs that are still being taken.
use crate::ground::{AT, fresh};
use trueplate_store::{Bench, Error};

#[test]
fn a_log_grows_and_becomes_a_file() {
    let (_folder, mut b) = fresh();
    let n = b.begin_log("run.csv", "text/csv", AT).unwrap();
    let other = b.begin_log("other.csv", "text/csv", AT).unwrap();
    b.extend_log(n, b"a").unwrap();
    b.extend_log(other, b"xyz").unwrap();
    b.extend_log(n, b"").unwrap();
    b.extend_log(n, b"bc").unwrap();
    assert_eq!(b.running_log(n).unwrap(), b"abc");
    // A program that ended in between goes on where it was.
    let path = b.path().to_path_buf();
    drop(b);
    let mut b = Bench::open(&path).unwrap();
    let logs = b.running_logs().unwrap();
    assert_eq!((logs.len(), logs[0].number, logs[0].size, logs[0].name.as_str()), (2, n, 3, "run.csv"));
    assert_eq!(b.verify().unwrap(), []);
    let file = b.finish_log(n, AT).unwrap();
    // SHA-256 of "abc": NIST example values for FIPS 180-4.
    assert_eq!(file.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_eq!(b.file(&file.sha256).unwrap(), b"abc");
    assert_eq!(b.kept_file(&file.sha256).unwrap().unwrap().file.name, "run.csv");
    assert!(matches!(b.extend_log(n, b"d"), Err(Error::NoSuch { .. })));
    assert_eq!(b.running_log(other).unwrap(), b"xyz");
    assert_eq!(b.verify().unwrap(), []);
    // Nothing of this is a change of something written down.
    assert_eq!(b.notebook().unwrap().changes, []);
}

#[test]
fn numbers_are_not_used_twice_and_equal_logs_are_one_file() {
    let (_folder, mut b) = fresh();
    let mut log = || {
        let n = b.begin_log("run.csv", "text/csv", AT).unwrap();
        b.extend_log(n, b"abc").unwrap();
        (n, b.finish_log(n, AT).unwrap())
    };
    let (first, second) = (log(), log());
    assert_ne!(first.0, second.0);
    assert_eq!(first.1, second.1);
    assert_eq!(b.files().unwrap().len(), 1);
    assert_eq!(b.verify().unwrap(), []);
    let begun = b.last_stroke().unwrap() - 1;
    assert!(matches!(b.undo(begun, AT), Err(Error::UndoRefused { .. })));
}
