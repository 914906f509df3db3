//! Publishing again, with what the last publishing left to know, gives the folder that publishing from nothing gives.
use super::run::trueplate;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use trueplate_core::record::Record;
use trueplate_store::{Bench, Stroke};

/// Every file with the digest of its bytes.
fn digests(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).expect("inside").display().to_string();
                found.insert(name, Sha256::digest(fs::read(&path).expect("a file")).to_vec());
            }
        }
    }
    found
}

/// Publishes into the site and into a new folder, which must be alike; how many files the site had already.
fn alike(folder: &Path, step: &str) -> u64 {
    let fresh = folder.join("fresh");
    for to in ["site", "fresh"] {
        let done = trueplate(folder, &["publish", "demo.trueplate", "--to", to, "--as-of", "2026-06-30"]);
        assert_eq!(done.code, 0, "{step}: {}", done.err);
    }
    let (site, whole) = (digests(&folder.join("site")), digests(&fresh));
    let names = site.keys().chain(whole.keys()).filter(|p| site.get(*p) != whole.get(*p));
    let differ: Vec<&String> = names.collect();
    assert!(differ.is_empty(), "{step}: {differ:?}");
    fs::remove_dir_all(&fresh).expect("the new folder");
    let said = trueplate(
        folder,
        &["publish", "demo.trueplate", "--to", "site", "--as-of", "2026-06-30", "--check", "--json"],
    );
    assert_eq!(said.code, 0, "{step}: {}", said.err);
    let said: serde_json::Value = serde_json::from_str(&said.out).expect("JSON");
    assert_eq!(said["pages"]["written"], 0, "{step}");
    said["pages"]["kept"].as_u64().expect("a number")
}

fn change(folder: &Path, change: impl FnOnce(&mut trueplate_core::notebook::Notebook) -> Record) {
    let mut bench = Bench::open(&folder.join("demo.trueplate")).expect("the bench");
    let record = change(&mut bench.notebook().expect("its records"));
    let stroke = Stroke::at("2026-06-29T10:00:00Z").why("typed wrong");
    bench.save(&[record], &stroke).expect("it is saved");
}

#[test]
fn a_site_published_again_and_again_is_the_one_published_from_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    assert_eq!(trueplate(folder, &["demo", "--no-serve"]).code, 0);
    let all = alike(folder, "first");
    assert_eq!(alike(folder, "the same again"), all);
    change(folder, |n| {
        let with = |t: &trueplate_core::notebook::Test| t.kind == "mass" && t.excluded.is_empty();
        let mut test = n.tests.iter().find(|t| with(t)).expect("a mass").clone();
        test.entries.get_mut("mass").expect("its reading").text = "21.5 kg".into();
        Record::Test(test)
    });
    let stale = ["publish", "demo.trueplate", "--to", "site", "--as-of", "2026-06-30", "--check"];
    assert_ne!(trueplate(folder, &stale).code, 0, "the site is not as the bench has it");
    alike(folder, "a reading changed");
    change(folder, |n| {
        let mut model = n.models[0].clone();
        model.claims[0].words.push_str(" or so");
        Record::Model(model)
    });
    alike(folder, "a claim changed");
    // A page edited by somebody, and one taken away.
    let pages: Vec<_> =
        fs::read_dir(folder.join("site/m")).expect("pages").flatten().map(|e| e.path()).collect();
    let text = fs::read_to_string(&pages[0]).expect("a page");
    fs::write(&pages[0], text.replacen("<h1>", "<h2>", 1)).expect("it is edited");
    fs::remove_file(&pages[1]).expect("it is taken away");
    // Files that lines and runtimes are taken from.
    for (path, was, is) in [("data/readings.csv", "\r\n", "\r\nx"), ("run.html", "capacity", "xapacity")] {
        let path = folder.join("site").join(path);
        let text = fs::read_to_string(&path).expect("a file of all");
        fs::write(&path, text.replace(was, is)).expect("it is edited");
    }
    assert_ne!(trueplate(folder, &stale).code, 0, "pages are not as the bench has them");
    alike(folder, "pages and tables edited, a page gone");
    let kept = folder.join(".site.kept");
    let mut bytes = fs::read(&kept).expect("what was kept");
    let at = bytes.len() / 2;
    bytes[at] ^= 1;
    fs::write(&kept, bytes).expect("it is damaged");
    alike(folder, "what was kept is damaged");
    for ending in ["kept", "kept-intervals"] {
        fs::remove_file(folder.join(format!(".site.{ending}"))).expect("it was kept");
    }
    alike(folder, "what was kept is gone");
    change(folder, |n| {
        n.settings.tester.push_str(" and one more");
        Record::Settings(n.settings.clone())
    });
    alike(folder, "what all share changed");
}
