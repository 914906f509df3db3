//! Shared by the tests of logs: reading bytes as the program reads a file.
use std::io::Cursor;
use trueplate_meters::logs::{Hints, Loaded, Log, Options, load};

/// Reads bytes under a file name.
pub fn loaded(name: &str, bytes: &[u8]) -> Loaded {
    answered(name, bytes, None, Options::default(), None)
}

/// The same with a zone, options and a person's answers.
pub fn answered(
    name: &str,
    bytes: &[u8],
    zone: Option<&str>,
    options: Options,
    patch: Option<serde_json::Value>,
) -> Loaded {
    let hints = Hints { file_name: Some(name.into()), zone: zone.map(String::from), known: None };
    load(|| Ok(Cursor::new(bytes)), &hints, &options, patch.as_ref()).expect("memory does not fail")
}

/// The log of some text.
pub fn log(text: &str) -> Log {
    loaded("log.csv", text.as_bytes()).log
}

/// Whether a finding with this code is there.
pub fn has(log: &Log, code: &str) -> bool {
    log.findings.iter().any(|f| f.code == code)
}

/// All codes, for messages.
pub fn codes(log: &Log) -> Vec<&str> {
    log.findings.iter().map(|f| f.code.as_str()).collect()
}

/// Asserts a number to a tolerance.
pub fn near(what: &str, got: Option<f64>, want: f64, room: f64) {
    let got = got.unwrap_or(f64::NAN);
    assert!((got - want).abs() <= room, "{what}: {got} is not {want} ± {room}");
}
