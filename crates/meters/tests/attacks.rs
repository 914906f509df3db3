//! The targets of `fuzz/` as ordinary functions: they compile with the rest, and none breaks on the inputs kept for it.
#![allow(unused_attributes, reason = "the targets are programs of their own there, without a main function")]
use std::fs;
use std::path::{Path, PathBuf};

// What a target takes from the fuzzer, it finds here.
extern crate self as libfuzzer_sys;

/// A target as a function: any bytes, or any text.
macro_rules! function {
    (|$bytes:ident: &[u8]| $body:block) => {
        pub fn attack($bytes: &[u8]) $body
    };
    (|$text:ident: &str| $body:block) => {
        pub fn attack(bytes: &[u8]) {
            if let Ok($text) = std::str::from_utf8(bytes) $body
        }
    };
}
pub(crate) use function as fuzz_target;

macro_rules! targets {
    ($($name:ident $file:literal),*) => {
        $(#[path = $file] mod $name;)*
        const TARGETS: &[(&str, fn(&[u8]))] = &[$((stringify!($name), $name::attack)),*];
    };
}

targets!(
    answered "../../../fuzz/src/bin/answered.rs",
    device "../../../fuzz/src/bin/device.rs",
    json "../../../fuzz/src/bin/json.rs",
    logs "../../../fuzz/src/bin/logs.rs",
    script "../../../fuzz/src/bin/script.rs",
    sheet "../../../fuzz/src/bin/sheet.rs",
    typed "../../../fuzz/src/bin/typed.rs",
    waves "../../../fuzz/src/bin/waves.rs"
);

fn fuzz() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fuzz")
}

fn kept(target: &str) -> Vec<PathBuf> {
    let folder = fs::read_dir(fuzz().join("corpus").join(target)).expect("inputs kept for it");
    folder.map(|f| f.expect("a file").path()).collect()
}

#[test]
fn every_target_bears_what_is_kept_for_it_and_for_the_others() {
    for (name, attack) in TARGETS {
        assert!(!kept(name).is_empty(), "{name} has no inputs in fuzz/corpus");
        attack(b"");
        for (of, _) in TARGETS {
            for file in kept(of) {
                println!("{name} on {}", file.display());
                attack(&fs::read(file).expect("its bytes"));
            }
        }
    }
}

#[test]
fn no_target_is_left_out() {
    let manifest = fs::read_to_string(fuzz().join("Cargo.toml")).expect("the manifest");
    let names = manifest.lines().filter_map(|l| l.strip_prefix("path = \"src/bin/")?.strip_suffix(".rs\""));
    let mut names: Vec<&str> = names.collect();
    names.sort_unstable();
    let here: Vec<&str> = TARGETS.iter().map(|t| t.0).collect();
    assert_eq!(names, here, "fuzz/Cargo.toml against this file");
    let files = fs::read_dir(fuzz().join("src/bin")).expect("the targets").count();
    assert_eq!(files, here.len(), "each file is in fuzz/Cargo.toml");
}
