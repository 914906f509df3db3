//! A publishing killed at fifty points leaves the old site or the new one, never a mixture, and no file of somebody else gone.
use super::run::trueplate;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// The pages change with the date they speak of.
const DATES: [&str; 2] = ["2026-06-30", "2026-09-30"];
const KILLS: u32 = 50;

fn publishing(bench: &Path, site: &Path, as_of: &str) -> Child {
    Command::new(env!("CARGO_BIN_EXE_trueplate"))
        .args(["publish", "--as-of", as_of, "--to"])
        .arg(site)
        .arg(bench)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("it runs")
}

/// Every file with the digest of its bytes.
fn digests(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(next).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).expect("inside").display().to_string();
                found.insert(name, Sha256::digest(std::fs::read(&path).expect("a file")).to_vec());
            }
        }
    }
    found
}

#[test]
fn killed_at_fifty_points_a_site_is_the_old_or_the_new_one() {
    let folder = tempfile::tempdir().expect("a folder");
    assert_eq!(trueplate(folder.path(), &["demo", "--no-serve"]).code, 0);
    let bench = folder.path().join("demo.trueplate");
    let site = folder.path().join("site");
    let mut whole = Vec::new();
    let mut longest = Duration::ZERO;
    // Once from nothing, which takes longer, then as those that are killed: after another.
    for (n, date) in DATES.iter().chain(&DATES).enumerate() {
        if n == DATES.len() {
            (whole, longest) = (Vec::new(), Duration::ZERO);
        }
        let began = Instant::now();
        assert!(publishing(&bench, &site, date).wait().expect("it ends").success());
        longest = longest.max(began.elapsed());
        std::fs::write(site.join("notes.txt"), "not ours").expect("a foreign file");
        whole.push(digests(&site));
    }
    assert_ne!(whole[0], whole[1], "the two sites differ");
    let (mut killed, mut seen) = (0, [0u32; 2]);
    for k in 0..KILLS {
        let mut child = publishing(&bench, &site, DATES[k as usize % 2]);
        // Even steps over the whole run and a little beyond: before, while and after the files are written.
        std::thread::sleep(longest * (k + 1) / KILLS * 11 / 10);
        if child.try_wait().expect("a state").is_none() {
            child.kill().expect("it can be killed");
            killed += 1;
        }
        child.wait().expect("it ends");
        let found = digests(&site);
        let which = whole.iter().position(|w| *w == found);
        seen[which.unwrap_or_else(|| panic!("after kill {k}: neither the old site nor the new one"))] += 1;
    }
    assert!(killed >= KILLS / 2, "only {killed} were caught while they ran");
    // What the killed ones left half done is swept away by the next that ends.
    assert!(publishing(&bench, &site, DATES[0]).wait().expect("it ends").success());
    assert_eq!(digests(&site), whole[0]);
    let beside: Vec<_> =
        std::fs::read_dir(folder.path()).expect("a folder").flatten().map(|e| e.file_name()).collect();
    let unfinished = beside.iter().filter(|n| n.to_string_lossy().contains("publishing-")).count();
    assert_eq!(unfinished, 0, "{beside:?}");
    println!(
        "{killed} of {KILLS} killed while running; then the first site stood {} times, the second {}",
        seen[0], seen[1]
    );
}
