//! Backup while saving goes on, and restore.
use crate::ground::{AT, dump, filled, fresh, stroke, test};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use tempfile::TempDir;
use trueplate_core::record::Record;
use trueplate_store::{Bench, restore};

#[test]
fn a_restored_bench_is_the_same() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    filled(&path);
    let b = Bench::open(&path).unwrap();
    let (copy, back) = (folder.path().join("copy.trueplate"), folder.path().join("back.trueplate"));
    assert_eq!(b.backup_to(&copy).unwrap(), []);
    let restored = restore(&copy, &back).unwrap();
    assert_eq!(restored.notebook().unwrap(), b.notebook().unwrap());
    drop(restored);
    drop(b);
    assert_eq!(dump(&back), dump(&path));
    let mut names: Vec<_> = folder.path().read_dir().unwrap().map(|e| e.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["a.trueplate", "back.trueplate", "copy.trueplate"]);
}

/// Ten backups while another connection saves: each is one moment, none holds the saving up.
#[test]
fn a_backup_is_one_moment() {
    let (folder, b) = fresh();
    let done = AtomicBool::new(false);
    let path = b.path().to_path_buf();
    let longest = std::thread::scope(|s| {
        let saving = s.spawn(|| {
            let mut b = Bench::open(&path).unwrap();
            let mut longest = Duration::ZERO;
            for n in 0.. {
                if done.load(Ordering::Relaxed) {
                    break;
                }
                let begun = Instant::now();
                // Two records at one stroke: a backup has both or neither.
                let both = [format!("a{n}"), format!("b{n}")].map(|id| Record::Test(test(&id, "1 kWh")));
                b.save(&both, &stroke("")).unwrap();
                longest = longest.max(begun.elapsed());
            }
            longest
        });
        for i in 0..10 {
            let copy = folder.path().join(format!("copy{i}.trueplate"));
            assert_eq!(b.backup_to(&copy).unwrap(), []);
            let tests = Bench::open(&copy).unwrap().notebook().unwrap().tests;
            assert_eq!(tests.len() % 2, 0);
        }
        done.store(true, Ordering::Relaxed);
        saving.join().unwrap()
    });
    println!("longest saving during ten backups: {longest:?}");
    assert!(Bench::open(&path).unwrap().notebook().unwrap().tests.len() > 2);
    assert!(Bench::create(&path, AT).is_err());
}
