//! The source tree as the rules see it: paths relative to the project's root, and texts.
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// One file: its path from the root with `/`, and its text.
pub struct Source {
    pub path: String,
    pub text: String,
}

impl Source {
    /// A made-up file, to try a rule on.
    pub fn new(path: &str, text: &str) -> Source {
        Source { path: path.into(), text: text.into() }
    }

    /// The path's last part without its ending.
    pub fn stem(&self) -> &str {
        let name = self.path.rsplit('/').next().unwrap_or_default();
        name.split('.').next().unwrap_or_default()
    }

    /// The code without comments, and without the tests at its end.
    pub fn code(&self) -> String {
        let tests = self.text.find("#[cfg(test)]").unwrap_or(self.text.len());
        let lines = self.text[..tests].lines().filter(|l| !l.trim_start().starts_with("//"));
        lines.map(|l| format!("{l}\n")).collect()
    }
}

/// The project's root.
pub fn root() -> PathBuf {
    let app = Path::new(env!("CARGO_MANIFEST_DIR"));
    app.parent().and_then(Path::parent).expect("crates/app stands two folders below the root").to_path_buf()
}

/// All Rust files under `crates`, in order of path.
pub fn rust() -> Vec<Source> {
    let mut found = walk(&root().join("crates"));
    found.retain(|path| path.ends_with(".rs"));
    found.sort();
    assert!(found.len() >= 6, "only {} Rust files found: the rules would check nothing", found.len());
    found.iter().map(|path| Source::new(path, &read(path))).collect()
}

/// All manifests, as (crate's folder name, text).
pub fn manifests() -> Vec<(String, String)> {
    let folders = fs::read_dir(root().join("crates")).expect("the folder `crates`").flatten();
    let names = folders.map(|f| f.file_name().to_string_lossy().into_owned());
    names.map(|name| (name.clone(), read(&format!("crates/{name}/Cargo.toml")))).collect()
}

/// Every text file the project ships. Asked from git, so that a user's own files beside the project are not judged;
/// without git, what stands under `crates` and beside it.
pub fn shipped() -> Vec<Source> {
    let git = Command::new("git").arg("-C").arg(root()).args(["ls-files", "-z"]).output();
    let paths: Vec<String> = match git {
        Ok(out) if out.status.success() && !out.stdout.is_empty() => {
            String::from_utf8_lossy(&out.stdout).split_terminator('\0').map(String::from).collect()
        }
        _ => walk(&root().join("crates")),
    };
    let texts = paths.into_iter().filter(|p| p != "Cargo.lock");
    texts
        .filter_map(|path| Some(Source { text: fs::read_to_string(root().join(&path)).ok()?, path }))
        .collect()
}

/// A file's text, by its path from the root.
pub fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn walk(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(walk(&path));
        } else {
            let inside = path.strip_prefix(root()).expect("a path below the root");
            found.push(inside.to_string_lossy().replace('\\', "/"));
        }
    }
    found
}
