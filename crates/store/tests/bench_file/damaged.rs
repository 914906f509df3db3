//! Flipped bits, cut ends, zeroed pages, lost and foreign logs: noticed, named, never a panic, never an empty bench.
use crate::ground::{AT, dump, file_ref, filled, noise, snatch, stroke, test};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::fs;
use std::path::Path;
use tempfile::TempDir;
use trueplate_core::notebook::Notebook;
use trueplate_core::record::Record;
use trueplate_store::{Bench, Error};

/// What opening and checking say; empty when they see nothing wrong. `salvage` is tried as well.
fn said(path: &Path) -> String {
    let bench = match Bench::open_read_only(path) {
        Ok(b) => b,
        Err(e) => return e.to_string(),
    };
    let _ = bench.salvage();
    match bench.verify() {
        Ok(findings) => findings.iter().map(|f| format!("{}: {}\n", f.place, f.text)).collect(),
        Err(e) => e.to_string(),
    }
}

fn records(mut n: Notebook) -> Notebook {
    n.changes.clear();
    n
}

/// 500 single flipped bits. SQLite's own check alone misses most of those in the data (70 % in a trial with another
/// schema), which is why there are checksums: none that changes anything may pass.
#[test]
fn every_flipped_bit_that_changes_anything_is_noticed() {
    let folder = TempDir::new().unwrap();
    let (path, hurt) = (folder.path().join("a.trueplate"), folder.path().join("b.trueplate"));
    filled(&path);
    let (good, want) = (fs::read(&path).unwrap(), dump(&path).unwrap());
    let notebook = records(Bench::open(&path).unwrap().notebook().unwrap());
    let mut random = Pcg64::seed_from_u64(3);
    let (mut changed, mut missed_by_sqlite) = (0, 0);
    for _ in 0..500 {
        let (at, bit) = (random.random_range(0..good.len()), random.random_range(0..8));
        let mut bytes = good.clone();
        bytes[at] ^= 1 << bit;
        fs::write(&hurt, &bytes).unwrap();
        let noticed = !said(&hurt).is_empty();
        // A record read as if nothing were wrong is right, without the full check.
        if let Ok(read) = Bench::open_read_only(&hurt).and_then(|b| b.notebook()) {
            assert_eq!(records(read), notebook, "byte {at} bit {bit}");
        }
        if dump(&hurt).as_ref() != Some(&want) {
            changed += 1;
            missed_by_sqlite += usize::from(integrity_ok(&hurt));
            assert!(noticed, "byte {at} bit {bit} changed the data and nobody noticed");
        }
        for ending in ["", "-wal", "-shm"] {
            let _ = fs::remove_file(format!("{}{ending}", hurt.display()));
        }
    }
    println!("{changed} of 500 flips changed the data; SQLite's own check missed {missed_by_sqlite} of them");
    // Else this test would show nothing.
    assert!(changed >= 200 && missed_by_sqlite >= 50, "{changed} {missed_by_sqlite}");
}

fn integrity_ok(path: &Path) -> bool {
    let ask = || {
        let conn = rusqlite::Connection::open(path)?;
        conn.pragma_query_value(None, "integrity_check", |r| r.get::<_, String>(0))
    };
    ask().is_ok_and(|text| text == "ok")
}

/// Values changed behind the checksums' back, column by column.
#[test]
fn each_column_is_covered() {
    let folder = TempDir::new().unwrap();
    let (path, hurt) = (folder.path().join("a.trueplate"), folder.path().join("b.trueplate"));
    filled(&path);
    let triggers = "DROP TRIGGER stroke_stays; DROP TRIGGER change_stays; DROP TRIGGER file_stays; DROP TRIGGER chunk_stays;
        DROP TRIGGER stroke_kept; DROP TRIGGER change_kept; DROP TRIGGER file_kept; DROP TRIGGER chunk_kept;
        DROP TRIGGER record_kept; DROP TRIGGER piece_stays;";
    let texts: String = {
        let conn = rusqlite::Connection::open(&path).unwrap();
        let mut ask = conn.prepare("SELECT sql FROM sqlite_schema WHERE type = 'trigger'").unwrap();
        let all = ask.query_map([], |r| r.get::<_, String>(0)).unwrap();
        all.map(|t| t.unwrap() + ";").collect()
    };
    for (wrong, names) in [
        ("UPDATE record SET place = 900 WHERE id = 't3'", "test t3"),
        ("UPDATE record SET id = 't900' WHERE id = 't3'", "t3"),
        ("UPDATE record SET revision = revision + 1 WHERE id = 't3'", "test t3"),
        ("UPDATE record SET body = replace(body, '0,93', '0,39') WHERE id = 't3'", "test t3"),
        ("UPDATE record SET body = NULL WHERE id = 't3'", "test t3"),
        ("DELETE FROM record WHERE id = 't3'", "test t3"),
        ("UPDATE stroke SET at = '2026' WHERE stroke = 9", "stroke 9"),
        ("UPDATE stroke SET why = 'other' WHERE stroke = 9", "stroke 9"),
        ("UPDATE stroke SET key = NULL WHERE stroke = 9", "stroke 9"),
        ("DELETE FROM change WHERE stroke = 9; DELETE FROM stroke WHERE stroke = 9", "stroke 9"),
        ("DELETE FROM change WHERE seq = 9", "change 10"),
        ("UPDATE change SET old = '\"x\"' WHERE field <> '' AND seq > 90", "change"),
        ("UPDATE change SET field = '/note' WHERE field <> ''", "change"),
        ("UPDATE change SET seq = seq + 1000 WHERE seq > 20", "change"),
        ("UPDATE head SET stroke = 9, sum = (SELECT sum FROM stroke WHERE stroke = 9)", "history"),
        ("UPDATE file SET name = 'other.csv' WHERE file = 2", "other.csv"),
        ("UPDATE file SET media = 'text/html' WHERE file = 2", "log.csv"),
        ("UPDATE file SET size = 2 WHERE file = 2", "log.csv"),
        ("UPDATE chunk SET bytes = zeroblob(30000) WHERE file = 2", "log.csv"),
        ("UPDATE chunk SET part = 1 WHERE file = 2", "log.csv"),
        ("UPDATE running SET name = 'other.csv'", "other.csv"),
        ("UPDATE running SET media = 'text/html'", "run.csv"),
        ("UPDATE running SET size = 80", "run.csv"),
        ("UPDATE running SET parts = 61", "run.csv"),
        ("UPDATE piece SET bytes = zeroblob(80) WHERE part = 3", "run.csv"),
        ("UPDATE piece SET part = 99 WHERE part = 59", "run.csv"),
        ("DELETE FROM piece WHERE part = 59", "run.csv"),
        ("DELETE FROM piece; DELETE FROM running", "running 1"),
        ("DELETE FROM chunk WHERE file = 2; DELETE FROM file WHERE file = 2", "file"),
    ] {
        fs::copy(&path, &hurt).unwrap();
        let conn = rusqlite::Connection::open(&hurt).unwrap();
        conn.execute_batch(&format!("{triggers} {wrong}; {texts}")).unwrap();
        assert_ne!(dump(&hurt), dump(&path), "{wrong}");
        drop(conn);
        let said = said(&hurt);
        assert!(said.contains(names), "{wrong}: {said}");
        fs::remove_file(&hurt).unwrap();
    }
}

/// A damaged record is named; the others are still there, and nothing is saved on top of it.
#[test]
fn the_undamaged_rest_can_still_be_read() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    let whole = Bench::open(&path).unwrap().notebook().unwrap();
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute("UPDATE record SET body = replace(body, '0,93', '0,39') WHERE id = 't3'", []).unwrap();
    drop(conn);
    let mut b = Bench::open(&path).unwrap();
    let e = b.notebook().unwrap_err();
    assert!(matches!(&e, Error::Damaged { what, .. } if what.contains("test t3")), "{e}");
    let (rest, findings) = b.salvage().unwrap();
    assert_eq!((findings.len(), findings[0].place.as_str()), (1, "test t3"));
    assert_eq!(rest.tests.len(), whole.tests.len() - 1);
    let e = b.save(&[Record::Test(test("t3", "9 kWh"))], &stroke("")).unwrap_err();
    assert!(matches!(e, Error::Damaged { .. }), "{e}");
    // Its backup is a copy, and says what is wrong with it; it cannot be put in place as if it were sound.
    let copy = folder.path().join("copy.trueplate");
    assert_eq!(b.backup_to(&copy).unwrap().len(), 1);
    let e = trueplate_store::restore(&copy, &folder.path().join("new.trueplate")).unwrap_err();
    assert!(matches!(e, Error::Damaged { .. }), "{e}");
}

#[test]
fn a_record_of_a_newer_program_is_told_apart_from_damage() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    let mut b = Bench::create(&path, AT).unwrap();
    b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    drop(b);
    // A field this version does not know, under a checksum that fits: place 1, test t, revision 1.
    let conn = rusqlite::Connection::open(&path).unwrap();
    let body = "{\"id\":\"t\",\"kind\":\"usable-energy\",\"colour\":\"red\"}";
    let mut fields = 1_i64.to_le_bytes().to_vec();
    let text = |t: &str| [&(t.len() as u64).to_le_bytes()[..], t.as_bytes()].concat();
    fields.extend(
        [text("test"), text("t"), 1_i64.to_le_bytes().to_vec(), 1_i64.to_le_bytes().to_vec()].concat(),
    );
    fields.extend(text(body));
    let sum = {
        use sha2::Digest;
        let digest = sha2::Sha256::digest(&fields);
        digest.iter().map(|b| format!("{b:02x}")).collect::<String>()
    };
    conn.execute("UPDATE record SET body = ?1, sum = ?2", (body, &sum)).unwrap();
    drop(conn);
    let e = Bench::open(&path).unwrap().notebook().unwrap_err();
    assert!(matches!(&e, Error::Unknown { what, .. } if what.contains("colour")), "{e}");
}

#[test]
fn a_cut_end_is_noticed_at_any_length() {
    let folder = TempDir::new().unwrap();
    let (path, hurt) = (folder.path().join("a.trueplate"), folder.path().join("b.trueplate"));
    filled(&path);
    let good = fs::read(&path).unwrap();
    let mut random = Pcg64::seed_from_u64(4);
    for i in 0..120 {
        let any = random.random_range(0..good.len());
        // Every other one at the end of a page, where the rest still has the right shape.
        let length = if i % 2 == 0 { any } else { any / 4096 * 4096 };
        fs::write(&hurt, &good[..length]).unwrap();
        assert!(!said(&hurt).is_empty(), "cut at {length} of {}", good.len());
        assert!(!matches!(Bench::open(&hurt), Err(Error::NotFound { .. })));
    }
}

#[test]
fn a_zeroed_page_is_noticed() {
    let folder = TempDir::new().unwrap();
    let (path, hurt) = (folder.path().join("a.trueplate"), folder.path().join("b.trueplate"));
    filled(&path);
    let good = fs::read(&path).unwrap();
    for page in 0..good.len() / 4096 {
        let mut bytes = good.clone();
        bytes[page * 4096..(page + 1) * 4096].fill(0);
        fs::write(&hurt, &bytes).unwrap();
        if dump(&hurt) != dump(&path) {
            assert!(!said(&hurt).is_empty(), "page {page}");
        }
    }
}

/// Random bytes after a sound beginning, and whole pages of another bench in the middle of this one.
#[test]
fn rubbish_inside_never_panics() {
    let folder = TempDir::new().unwrap();
    let (path, hurt) = (folder.path().join("a.trueplate"), folder.path().join("b.trueplate"));
    filled(&path);
    let good = fs::read(&path).unwrap();
    let mut random = Pcg64::seed_from_u64(5);
    for seed in 0..60 {
        let mut bytes = good.clone();
        let (at, length) = (random.random_range(100..good.len()), random.random_range(1..9000));
        let end = (at + length).min(good.len());
        bytes[at..end].copy_from_slice(&noise(seed, end - at));
        fs::write(&hurt, &bytes).unwrap();
        let said = said(&hurt);
        assert!(dump(&hurt) == dump(&path) || !said.is_empty(), "{at}..{end}");
    }
}

/// A bench with saved strokes still in the log, as a kill leaves it.
fn with_log(folder: &Path, name: &str, tests: usize) -> std::path::PathBuf {
    let (path, copy) = (folder.join(format!("{name}-live.trueplate")), folder.join(name));
    let mut b = Bench::create(&path, AT).unwrap();
    let photo = b.put_file(noise(7, 5000).as_slice(), "a.jpg", "image/jpeg", AT).unwrap();
    for i in 0..tests {
        let mut t = test(&format!("{name}{i}"), "1 kWh");
        t.entries.get_mut("energy").unwrap().files = vec![file_ref(&photo.sha256, "a.jpg")];
        b.save(&[Record::Test(t)], &stroke("")).unwrap();
    }
    snatch(&path, &copy);
    copy
}

#[test]
fn with_its_log_nothing_is_lost_and_without_it_the_rest_is_whole() {
    let folder = TempDir::new().unwrap();
    let copy = with_log(folder.path(), "a", 9);
    assert_eq!(said(&copy), "");
    assert_eq!(Bench::open(&copy).unwrap().notebook().unwrap().tests.len(), 9);
    let bare = with_log(folder.path(), "b", 9);
    fs::remove_file(folder.path().join("b-wal")).unwrap();
    // What was only in the log is gone and cannot be known; what is there is one earlier saved state, unharmed.
    assert_eq!(said(&bare), "");
    let n = Bench::open(&bare).unwrap().notebook().unwrap();
    assert!(n.tests.iter().enumerate().all(|(i, t)| t.id == format!("b{i}")));
}

#[test]
fn the_log_of_another_bench_is_noticed_or_harmless() {
    let folder = TempDir::new().unwrap();
    let a = with_log(folder.path(), "a", 30);
    with_log(folder.path(), "b", 12);
    // Everything of this one is in the file itself; the log tells of the other.
    drop(Bench::open(&a).unwrap());
    let own = Bench::open_read_only(&a).unwrap().notebook().unwrap();
    fs::copy(folder.path().join("b-wal"), folder.path().join("a-wal")).unwrap();
    let what = said(&a);
    let read = Bench::open_read_only(&a).and_then(|b| b.notebook());
    let unharmed = read.is_ok_and(|n| n == own || n.tests.iter().all(|t| t.id.starts_with('b')));
    assert!(!what.is_empty() || unharmed);
}

#[test]
fn a_torn_log_gives_the_last_whole_stroke() {
    let folder = TempDir::new().unwrap();
    let copy = with_log(folder.path(), "a", 9);
    let (log, main) = (fs::read(folder.path().join("a-wal")).unwrap(), fs::read(&copy).unwrap());
    let mut random = Pcg64::seed_from_u64(6);
    let mut seen = Vec::new();
    for _ in 0..60 {
        fs::write(&copy, &main).unwrap();
        let length = random.random_range(0..log.len());
        fs::write(folder.path().join("a-wal"), &log[..length]).unwrap();
        assert_eq!(said(&copy), "", "cut at {length}");
        let tests = Bench::open_read_only(&copy).unwrap().notebook().unwrap().tests;
        assert!(tests.iter().enumerate().all(|(i, t)| t.id == format!("a{i}")));
        seen.push(tests.len());
    }
    assert!(seen.contains(&1) || seen.contains(&2), "{seen:?}");
    assert!(seen.iter().any(|n| *n >= 7), "{seen:?}");
}

/// A row as it was before the last saving, its checksum fitting: what a disk gives that lost one write. Only the history
/// tells that it is old.
#[test]
fn a_row_from_before_is_noticed() {
    let folder = TempDir::new().unwrap();
    let (path, before) = (folder.path().join("a.trueplate"), folder.path().join("before.trueplate"));
    let mut b = Bench::create(&path, AT).unwrap();
    b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    b.backup_to(&before).unwrap();
    b.save(&[Record::Test(test("t", "2 kWh"))], &stroke("")).unwrap();
    drop(b);
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute("ATTACH ?1 AS old", [before.to_str().unwrap()]).unwrap();
    conn.execute_batch(
        "UPDATE record SET (revision, body, sum) = (SELECT revision, body, sum FROM old.record)",
    )
    .unwrap();
    drop(conn);
    assert!(Bench::open(&path).unwrap().notebook().is_ok());
    let said = said(&path);
    assert!(said.contains("test t: is not what its history leads to"), "{said}");
}
