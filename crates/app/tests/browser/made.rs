//! The demo bench, and the folder it publishes, made once for all browser tests.
use super::harness::Screen;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// Tall, so that a picture holds most of a page.
pub const DESK: Screen = Screen(1440, 1700, false);
pub const PHONE: Screen = Screen(360, 1700, true);

/// Runs the program, which must end well.
pub fn trueplate(folder: &Path, words: &[&str]) {
    let ran = Command::new(env!("CARGO_BIN_EXE_trueplate"))
        .current_dir(folder)
        .args(words)
        .output()
        .expect("it runs");
    assert!(ran.status.success(), "{words:?}: {}", String::from_utf8_lossy(&ran.stderr));
}

/// Made by the first who asks: `demo.trueplate` and what it publishes, under `site`.
fn made() -> &'static Path {
    static MADE: OnceLock<PathBuf> = OnceLock::new();
    MADE.get_or_init(|| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("browser-demo");
        if folder.exists() {
            std::fs::remove_dir_all(&folder).expect("what an earlier run left goes");
        }
        std::fs::create_dir_all(&folder).expect("a folder");
        trueplate(&folder, &["demo", "--no-serve"]);
        trueplate(&folder, &["publish", "demo.trueplate", "--to", "site"]);
        folder
    })
}

/// A demo bench of one's own in `folder`.
pub fn demo(folder: &Path) -> PathBuf {
    let own = folder.join("demo.trueplate");
    std::fs::copy(made().join("demo.trueplate"), &own).expect("a demo bench");
    own
}

/// The folder that the demo bench publishes, to be read only.
pub fn published() -> PathBuf {
    made().join("site")
}
