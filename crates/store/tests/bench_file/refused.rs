//! What is not a bench this program knows: refused, named, and left byte for byte as it is.
use crate::ground::{AT, filled};
use std::fs;
use std::path::Path;
use tempfile::TempDir;
use trueplate_store::{Bench, Error, Hold, restore};

/// Opens it in both ways; the file and its folder must not change.
fn refused(path: &Path) -> Error {
    let names = || {
        let folder = path.parent().unwrap().read_dir().unwrap();
        let mut names: Vec<_> = folder.map(|e| e.unwrap().file_name()).collect();
        names.sort();
        names
    };
    let (bytes, beside) = (fs::read(path).ok(), names());
    let error = Bench::open(path).unwrap_err();
    Bench::open_read_only(path).unwrap_err();
    restore(path, &path.with_extension("restored")).unwrap_err();
    assert_eq!((fs::read(path).ok(), names()), (bytes, beside), "{} was touched", path.display());
    error
}

#[test]
fn no_file() {
    let folder = TempDir::new().unwrap();
    let e = refused(&folder.path().join("a.trueplate"));
    assert!(matches!(e, Error::NotFound { .. }), "{e}");
}

#[test]
fn things_that_are_no_bench() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    let with = |bytes: &[u8]| {
        fs::write(&path, bytes).unwrap();
        refused(&path)
    };
    for bytes in [&b""[..], b"time;W\n10:00;812\n", &[0; 4096], &[0xff; 70]] {
        let e = with(bytes);
        assert!(matches!(e, Error::NotABench { .. }), "{e}");
    }
    let e = refused(folder.path());
    assert!(matches!(e, Error::NotABench { .. }) && e.to_string().contains("folder"), "{e}");
    let other = folder.path().join("other.db");
    let conn = rusqlite::Connection::open(&other).unwrap();
    conn.execute_batch("CREATE TABLE record (a); INSERT INTO record VALUES (1)").unwrap();
    drop(conn);
    let e = refused(&other);
    assert!(matches!(e, Error::NotABench { .. }) && e.to_string().contains("another program"), "{e}");
}

#[test]
fn a_bench_that_lost_its_beginning_or_end_is_damaged_not_missing() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    let good = fs::read(&path).unwrap();
    fs::write(&path, &good[..60]).unwrap();
    assert!(matches!(refused(&path), Error::Damaged { .. }));
    let mut bytes = good.clone();
    bytes[..16].fill(0);
    fs::write(&path, &bytes).unwrap();
    assert!(matches!(refused(&path), Error::Damaged { .. }));
}

#[test]
fn a_newer_schema() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute_batch("CREATE TABLE later (a); PRAGMA user_version = 7").unwrap();
    drop(conn);
    let e = refused(&path);
    assert!(matches!(e, Error::NewerSchema { found: 7, known: 1, .. }), "{e}");
}

/// A file made to look like a bench, with a trigger of its own, is not run.
#[test]
fn foreign_tables_and_triggers() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute_batch("CREATE TRIGGER sly AFTER INSERT ON record BEGIN SELECT 1; END").unwrap();
    drop(conn);
    let e = Bench::open(&path).unwrap_err();
    assert!(matches!(&e, Error::Damaged { what, .. } if what.contains("sly")), "{e}");
}

#[test]
fn nothing_is_overwritten() {
    let folder = TempDir::new().unwrap();
    let (path, text) = (folder.path().join("a.trueplate"), folder.path().join("notes.txt"));
    filled(&path);
    fs::write(&text, "mine").unwrap();
    let b = Bench::open(&path).unwrap();
    assert!(matches!(Bench::create(&text, AT), Err(Error::Exists { .. })));
    assert!(matches!(Bench::create(&path, AT), Err(Error::Exists { .. })));
    assert!(matches!(b.backup_to(&text), Err(Error::Exists { .. })));
    assert!(matches!(b.backup_to(&path), Err(Error::Exists { .. })));
    assert!(matches!(restore(&path, &text), Err(Error::Exists { .. })));
    assert_eq!(fs::read(&text).unwrap(), b"mine");
    // A log left by a bench of that name would be taken for part of the new one.
    fs::write(folder.path().join("new.trueplate-wal"), "left over").unwrap();
    let e = Bench::create(&folder.path().join("new.trueplate"), AT).unwrap_err();
    assert!(matches!(&e, Error::Exists { path } if path.ends_with("new.trueplate-wal")), "{e}");
    let e = Bench::create(&folder.path().join("no/such/folder.trueplate"), AT).unwrap_err();
    assert!(e.to_string().contains("folder that is not there"), "{e}");
}

#[test]
fn a_second_server_hears_who_holds_the_bench() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    assert_eq!(Hold::holder(&path), None);
    let mut hold = Hold::take(&path, "process 1").unwrap();
    hold.say("process 1 at http://127.0.0.1:8080").unwrap();
    let asked = std::time::Instant::now();
    let e = Hold::take(&path, "process 2").unwrap_err();
    assert!(asked.elapsed().as_secs_f64() < 2.0);
    assert!(matches!(&e, Error::Busy { who, .. } if who == "process 1 at http://127.0.0.1:8080"), "{e}");
    assert_eq!(Hold::holder(&path).as_deref(), Some("process 1 at http://127.0.0.1:8080"));
    // Reports still work beside it.
    Bench::open_read_only(&path).unwrap().notebook().unwrap();
    drop(hold);
    let hold = Hold::take(&path, "process 2").unwrap();
    drop(hold);
    // Nothing is left beside the bench.
    assert_eq!(folder.path().read_dir().unwrap().count(), 1);
}
