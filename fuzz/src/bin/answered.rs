//! Any answers of a person laid over any log: the first line is the patch of the mapping, the rest the file.
#![no_main]
use libfuzzer_sys::fuzz_target;
use std::io::Cursor;
use trueplate_meters::logs::{Hints, Options, json, load};

fuzz_target!(|bytes: &[u8]| {
    let at = bytes.iter().position(|b| *b == b'\n').unwrap_or(bytes.len());
    let patch: Option<serde_json::Value> = serde_json::from_slice(&bytes[..at]).ok();
    let file = &bytes[(at + 1).min(bytes.len())..];
    for zone in [None, Some("Europe/Berlin".to_string())] {
        let hints = Hints { zone, ..Hints::default() };
        // Answers that make no mapping are refused; that is no fault.
        if let Ok(loaded) =
            load(|| Ok(Cursor::new(file)), &hints, &Options { gap_s: Some(60.0), ..Options::default() }, patch.as_ref())
        {
            assert!(json(&loaded.log)["findings"].is_array());
        }
    }
});
