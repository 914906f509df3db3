//! Names the build: work kept by one build of the program is never taken over by another.
use std::collections::BTreeSet;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Where something stands that what is published may depend on.
const CRATES: [&str; 4] = ["core", "meters", "pages", "app"];
const PARTS: [&str; 4] = ["Cargo.toml", "src", "assets", "templates"];

fn files(at: &Path, found: &mut BTreeSet<PathBuf>) -> io::Result<()> {
    if !at.is_dir() {
        found.insert(at.to_path_buf());
        return Ok(());
    }
    for entry in std::fs::read_dir(at)? {
        files(&entry?.path(), found)?;
    }
    Ok(())
}

fn main() -> io::Result<()> {
    let root = Path::new("../..");
    let parts = CRATES.iter().flat_map(|c| PARTS.iter().map(move |p| root.join("crates").join(c).join(p)));
    let mut found = BTreeSet::new();
    for part in parts.chain(["Cargo.toml", "Cargo.lock"].map(|name| root.join(name))) {
        if part.exists() {
            println!("cargo::rerun-if-changed={}", part.display());
            files(&part, &mut found)?;
        }
    }
    let mut hasher = DefaultHasher::new();
    for file in found {
        (file.display().to_string(), std::fs::read(&file)?).hash(&mut hasher);
    }
    for name in ["TARGET", "PROFILE", "OPT_LEVEL", "CARGO_ENCODED_RUSTFLAGS"] {
        (name, std::env::var(name).ok()).hash(&mut hasher);
    }
    let compiler = std::env::var("RUSTC").unwrap_or_else(|_| "rustc".into());
    Command::new(compiler).arg("-vV").output().map(|said| said.stdout).ok().hash(&mut hasher);
    println!("cargo::rustc-env=TRUEPLATE_BUILD={:016x}", hasher.finish());
    Ok(())
}
