//! kill -9 while saving: what was acknowledged is there, the state is whole, nothing needs repair.
use crate::ground::{AT, noise, stroke, test};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;
use tempfile::TempDir;
use trueplate_core::notebook::Record;
use trueplate_store::Bench;

const PLACE: &str = "TRUEPLATE_KILLED_BENCH";
const KILLS: usize = 50;
const TESTS: i64 = 20;

/// The program that gets killed: saves forever and says so after each saving.
#[test]
#[ignore = "run by `nothing_acknowledged_is_lost`, which kills it"]
fn child() {
    let Some(path) = std::env::var_os(PLACE).map(PathBuf::from) else { return };
    let mut b = Bench::open(&path).unwrap();
    let mut out = std::io::stdout().lock();
    for n in next(&b).. {
        let t = test(&format!("t{}", n % TESTS), &format!("{n} Wh"));
        b.save(&[Record::Test(t)], &stroke("").once(format!("k{n}"))).unwrap();
        writeln!(out, "\nsaved {n}").unwrap();
        // Large enough for the log to be written back into the file every few dozen savings: kills fall in there too.
        if n % 7 == 0 {
            let file = b.put_file(noise(n as u64, 120_000).as_slice(), "a.csv", "text/csv", AT).unwrap();
            writeln!(out, "\nkept {}", file.sha256).unwrap();
        }
        out.flush().unwrap();
    }
}

/// The first number that is not saved.
fn next(b: &Bench) -> i64 {
    (0..).find(|n| b.once(&format!("k{n}")).unwrap().is_none()).unwrap()
}

/// Starts the child, kills it `after` its first acknowledgement, and gives all it acknowledged.
fn run_and_kill(path: &Path, after: Duration) -> (Vec<i64>, Vec<String>) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "killed::child", "--ignored", "--nocapture", "--test-threads=1"])
        .env(PLACE, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let (send, first) = std::sync::mpsc::channel();
    let reading = std::thread::spawn(move || {
        let (mut saved, mut kept) = (Vec::new(), Vec::new());
        for line in lines.map_while(Result::ok) {
            let _ = send.send(());
            match line.split_once(' ') {
                Some(("saved", n)) => saved.extend(n.parse::<i64>()),
                Some(("kept", sha256)) => kept.push(sha256.to_string()),
                _ => {}
            }
        }
        (saved, kept)
    });
    first.recv_timeout(Duration::from_secs(30)).unwrap();
    std::thread::sleep(after);
    // SIGKILL on unix.
    child.kill().unwrap();
    child.wait().unwrap();
    reading.join().unwrap()
}

#[test]
fn nothing_acknowledged_is_lost() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    drop(Bench::create(&path, AT).unwrap());
    let mut random = Pcg64::seed_from_u64(8);
    let (mut total, mut files) = (0, Vec::new());
    for kill in 0..KILLS {
        let (saved, kept) = run_and_kill(&path, Duration::from_micros(random.random_range(500..250_000)));
        total += saved.len();
        files.extend(kept);
        let b = Bench::open(&path).unwrap();
        let here = next(&b);
        if let Some(last) = saved.last() {
            // At most the one saving that was under way is there beyond what was acknowledged.
            assert!(here == last + 1 || here == last + 2, "kill {kill}: {here} after {last}");
        }
        assert_eq!(b.verify().unwrap(), [], "kill {kill}");
        let mut want = BTreeMap::new();
        for n in 0..here {
            want.insert(format!("t{}", n % TESTS), format!("{n} Wh"));
        }
        let notebook = b.notebook().unwrap();
        let have = notebook.tests.iter().map(|t| (t.id.clone(), t.entries["energy"].text.clone())).collect();
        assert_eq!(want, have, "kill {kill}");
        for sha256 in &files {
            assert!(b.kept_file(sha256).unwrap().is_some(), "kill {kill}");
        }
    }
    println!("{KILLS} kills, {total} acknowledged savings and {} files, none lost", files.len());
    assert!(total > KILLS, "{total}");
}
