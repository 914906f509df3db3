//! Running the built program in a folder of its own.
use std::path::Path;
use std::process::Command;

/// How a run ended.
pub struct Ended {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ended {
    /// Standard output as exactly one JSON document.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out)
            .unwrap_or_else(|e| panic!("not one JSON document ({e}): {}", self.out))
    }
    /// Asserts the exit code and that the message names each of these.
    pub fn stopped(&self, code: i32, named: &[&str]) {
        assert_eq!(self.code, code, "{}", self.err);
        assert!(self.out.is_empty(), "{}", self.out);
        for word in named {
            assert!(self.err.contains(word), "`{word}` is not in: {}", self.err);
        }
        assert!(!self.err.contains("panicked"), "{}", self.err);
    }
}

/// Runs `trueplate` with these words in `folder`.
pub fn trueplate(folder: &Path, words: &[&str]) -> Ended {
    let run = Command::new(env!("CARGO_BIN_EXE_trueplate")).current_dir(folder).args(words).output().unwrap();
    Ended {
        code: run.status.code().unwrap_or(-1),
        out: String::from_utf8(run.stdout).unwrap(),
        err: String::from_utf8(run.stderr).unwrap(),
    }
}
