//! The engine of the published page is of these sources: it is built seldom, by hand, and must not fall behind.
use sha2::{Digest, Sha256};
use std::fs;

use super::tree::{read, root};

const STAMP: &str = "crates/pages/assets/run/engine.stamp";
const AGAIN: &str =
    "build it again with tools/build-page-engine.sh and keep both files in crates/pages/assets/run";

/// The sum of a file without comments, tests and what is form only, as tools/build-page-engine.sh takes it.
fn sum(text: &str) -> String {
    let lines = text.lines().take_while(|l| !l.starts_with("#[cfg(test)]"));
    let code = lines.filter(|l| !l.trim_start().starts_with("//")).flat_map(str::chars);
    let mut code: String = code.filter(|c| !c.is_ascii_whitespace()).collect();
    for (comma, bare) in [(",)", ")"), (",]", "]"), (",}", "}")] {
        code = code.replace(comma, bare);
    }
    Sha256::digest(code.as_bytes()).iter().map(|b| format!("{b:02x}")).collect()
}

/// What the stamp and the sources do not agree about.
fn behind(stamp: &str, text_of: impl Fn(&str) -> Option<String>, lock: &str) -> Vec<String> {
    let fits = |first: &str, second: &str| match second.ends_with(".rs") {
        true => text_of(second).is_some_and(|text| sum(&text) == first),
        false => lock.contains(&format!("name = \"{first}\"\nversion = \"{second}\"\n")),
    };
    let pairs = stamp.lines().filter_map(|line| line.split_once("  "));
    pairs.filter(|(first, second)| !fits(first, second)).map(|(a, b)| format!("{a} {b}")).collect()
}

#[test]
fn the_engine_of_the_page_is_of_these_sources() {
    let (stamp, lock) = (read(STAMP), read("Cargo.lock"));
    let changed = behind(&stamp, |path| fs::read_to_string(root().join(path)).ok(), &lock);
    assert!(changed.is_empty(), "changed since the page's engine was built; {AGAIN}: {changed:#?}");
    let folder = fs::read_dir(root().join("crates/core/src/answer")).expect("the rules of answering");
    for name in folder.flatten().map(|f| f.file_name().to_string_lossy().into_owned()) {
        let known = name == "seen.rs" || stamp.contains(&format!("crates/core/src/answer/{name}\n"));
        assert!(known, "answer/{name} is not in the engine's stamp; {AGAIN}");
    }
    assert!(stamp.lines().count() > 20, "{stamp}");
}

#[test]
fn a_stamp_can_fall_behind() {
    let code = "//! Head.\nfn a() {\n    // Why.\n    b();\n}\n#[cfg(test)]\nmod tests {}\n";
    let stamp = format!("{}  a.rs\njiff  0.2.1\n", sum(code));
    let lock = "[[package]]\nname = \"jiff\"\nversion = \"0.2.1\"\nsource = \"\"\n";
    let count = |text: &str, lock: &str| behind(&stamp, |_| Some(text.to_string()), lock).len();
    assert_eq!(count(code, lock), 0);
    assert_eq!(count(&code.replace("Why", "Because"), lock), 0);
    assert_eq!(count(&code.replace("b();", "\n        b(\n        );"), lock), 0);
    assert_eq!(count(&code.replace("b()", "c()"), lock), 1);
    assert_eq!(count(code, &lock.replace("0.2.1", "0.2.2")), 1);
    assert_eq!(behind(&stamp, |_| None, lock).len(), 1);
}
