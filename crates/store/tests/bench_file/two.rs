//! Two programs on one bench.
use crate::ground::{fresh, stroke, test};
use std::path::Path;
use std::time::{Duration, Instant};
use trueplate_core::record::Record;
use trueplate_store::{Bench, Error};

const EDITS: usize = 150;

/// Adds one to a number, reading it first: an edit that overwrote another would lose one.
fn count_up(path: &Path) -> Vec<Duration> {
    let mut b = Bench::open(path).unwrap();
    let mut times = Vec::new();
    for _ in 0..EDITS {
        let begun = Instant::now();
        loop {
            let revision = b.revision("test", "t").unwrap();
            let n: usize = b.notebook().unwrap().test("t").unwrap().entries["energy"].text.parse().unwrap();
            let edit = Record::Test(test("t", &(n + 1).to_string()));
            match b.save(&[edit], &stroke("").expecting("test", "t", revision)) {
                Ok(_) => break,
                Err(Error::Stale(_)) => {}
                Err(e) => panic!("{e}"),
            }
        }
        times.push(begun.elapsed());
    }
    times
}

#[test]
fn no_update_is_lost_between_two_writers() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Test(test("t", "0"))], &stroke("")).unwrap();
    let path = b.path().to_path_buf();
    let mut times = std::thread::scope(|s| {
        let both = [s.spawn(|| count_up(&path)), s.spawn(|| count_up(&path))];
        both.into_iter().flat_map(|t| t.join().unwrap()).collect::<Vec<_>>()
    });
    times.sort();
    println!("edit with its retries: median {:?}, 99 % {:?}", times[EDITS], times[2 * EDITS * 99 / 100]);
    let n = b.notebook().unwrap();
    assert_eq!(n.test("t").unwrap().entries["energy"].text, (2 * EDITS).to_string());
    assert_eq!(n.changes.len(), 2 * EDITS);
    assert_eq!(b.verify().unwrap(), []);
}

/// A program that keeps the bench locked is named after a wait of two seconds, not for ever.
#[test]
fn a_stuck_writer_is_reported() {
    let (_folder, mut b) = fresh();
    let stuck = rusqlite::Connection::open(b.path()).unwrap();
    stuck.execute_batch("BEGIN IMMEDIATE").unwrap();
    let begun = Instant::now();
    let e = b.save(&[Record::Test(test("t", "0"))], &stroke("")).unwrap_err();
    assert!(matches!(e, Error::Busy { .. }), "{e}");
    assert!(begun.elapsed() < Duration::from_secs(4));
    // Reading goes on meanwhile.
    b.notebook().unwrap();
    stuck.execute_batch("ROLLBACK").unwrap();
    b.save(&[Record::Test(test("t", "0"))], &stroke("")).unwrap();
}
