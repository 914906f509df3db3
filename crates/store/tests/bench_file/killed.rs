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
use trueplate_core::record::Record;
use trueplate_store::Bench;

const PLACE: &str = "TRUEPLATE_KILLED_BENCH";
const BYTES: &str = "TRUEPLATE_KILLED_BYTES";
/// 50 kills in all, on benches that stay small enough to be checked in full after each.
const BENCHES: u64 = 5;
const KILLS: usize = 10;
const TESTS: i64 = 20;
const MEDIA: &str = "text/log";

/// The program that gets killed: saves forever and says so after each saving.
#[test]
#[ignore = "run by `nothing_acknowledged_is_lost`, which kills it"]
fn child() {
    let Some(path) = std::env::var_os(PLACE).map(PathBuf::from) else { return };
    let bytes: usize = std::env::var(BYTES).unwrap().parse().unwrap();
    let mut b = Bench::open(&path).unwrap();
    let mut out = std::io::stdout().lock();
    for n in next(&b).. {
        let t = test(&format!("t{}", n % TESTS), &format!("{n} Wh"));
        b.save(&[Record::Test(t)], &stroke("").once(format!("k{n}"))).unwrap();
        writeln!(out, "\nsaved {n}").unwrap();
        if n % 3 == 0 {
            let file = b.put_file(noise(n as u64, bytes).as_slice(), "a.csv", "text/csv", AT).unwrap();
            writeln!(out, "\nkept {}", file.sha256).unwrap();
        }
        let line = log_line(&mut b);
        writeln!(out, "\nline {line}").unwrap();
        out.flush().unwrap();
    }
}

/// Adds a line with the next number to the running log; every 40 lines the log is finished and another begun.
fn log_line(b: &mut Bench) -> usize {
    let next = lines(b).len();
    let log = match b.running_logs().unwrap().first() {
        Some(log) => log.number,
        None => b.begin_log(&next.to_string(), MEDIA, AT).unwrap(),
    };
    b.extend_log(log, format!("{next}\n").as_bytes()).unwrap();
    if next % 40 == 39 {
        b.finish_log(log, AT).unwrap();
    }
    next
}

/// The lines of all logs, finished or running; each is named after its first line.
fn lines(b: &Bench) -> Vec<usize> {
    let finished = b.files().unwrap().into_iter().map(|k| k.file).filter(|f| f.media == MEDIA);
    let mut logs: Vec<(usize, Vec<u8>)> =
        finished.map(|f| (f.name.parse().unwrap(), b.file(&f.sha256).unwrap())).collect();
    for log in b.running_logs().unwrap() {
        logs.push((log.name.parse().unwrap(), b.running_log(log.number).unwrap()));
    }
    logs.sort();
    let text: String = logs.into_iter().map(|(_, bytes)| String::from_utf8(bytes).unwrap()).collect();
    text.lines().map(|l| l.parse().unwrap()).collect()
}

/// The first number that is not saved.
fn next(b: &Bench) -> i64 {
    (0..).find(|n| b.once(&format!("k{n}")).unwrap().is_none()).unwrap()
}

/// What the child acknowledged.
#[derive(Default)]
struct Told {
    saved: Vec<i64>,
    kept: Vec<String>,
    lines: Vec<usize>,
}

/// Starts the child, kills it `after` its first acknowledgement, and gives all it acknowledged.
fn run_and_kill(path: &Path, bytes: usize, after: Duration) -> Told {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "killed::child", "--ignored", "--nocapture", "--test-threads=1"])
        .env(PLACE, path)
        .env(BYTES, bytes.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let (send, first) = std::sync::mpsc::channel();
    let reading = std::thread::spawn(move || {
        let mut told = Told::default();
        for line in lines.map_while(Result::ok) {
            let _ = send.send(());
            match line.split_once(' ') {
                Some(("saved", n)) => told.saved.extend(n.parse::<i64>()),
                Some(("line", n)) => told.lines.extend(n.parse::<usize>()),
                Some(("kept", sha256)) => told.kept.push(sha256.to_string()),
                _ => {}
            }
        }
        told
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
    let total: usize = (0..BENCHES).map(kill_and_look).sum();
    println!("{total} acknowledged savings, none lost");
    assert!(total > 50, "{total}");
}

/// Kills the child again and again on one bench; gives how many savings it acknowledged.
fn kill_and_look(seed: u64) -> usize {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    drop(Bench::create(&path, AT).unwrap());
    let mut random = Pcg64::seed_from_u64(seed);
    // On one bench files so large that SQLite writes its log back (at 1000 pages of 4 kB) after every third:
    // kills fall in there too.
    let bytes = if seed == 0 { 1_500_000 } else { 20_000 };
    let (mut total, mut files) = (0, Vec::new());
    for kill in 0..KILLS {
        let told = run_and_kill(&path, bytes, Duration::from_micros(random.random_range(500..250_000)));
        total += told.saved.len();
        files.extend(told.kept);
        let b = Bench::open(&path).unwrap();
        let here = next(&b);
        if let Some(last) = told.saved.last() {
            // At most the one saving that was under way is there beyond what was acknowledged.
            assert!(here == last + 1 || here == last + 2, "kill {kill}: {here} after {last}");
        }
        assert_eq!(b.verify().unwrap(), [], "kill {kill}");
        let want: BTreeMap<String, String> =
            (0..here).map(|n| (format!("t{}", n % TESTS), format!("{n} Wh"))).collect();
        let notebook = b.notebook().unwrap();
        let have = notebook.tests.iter().map(|t| (t.id.clone(), t.entries["energy"].text.clone())).collect();
        assert_eq!(want, have, "kill {kill}");
        let lines = lines(&b);
        assert_eq!(lines, (0..lines.len()).collect::<Vec<_>>(), "kill {kill}");
        if let Some(last) = told.lines.last() {
            assert!(
                lines.len() == last + 1 || lines.len() == last + 2,
                "kill {kill}: {} after {last}",
                lines.len()
            );
        }
        for sha256 in &files {
            assert!(b.kept_file(sha256).unwrap().is_some(), "kill {kill}");
        }
    }
    total
}
