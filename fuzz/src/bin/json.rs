//! Any text as a log of JSON objects, one a line or in an array.
#![no_main]
use libfuzzer_sys::fuzz_target;
use std::io::Cursor;
use trueplate_meters::logs::{Hints, Options, json, load};

fuzz_target!(|bytes: &[u8]| {
    let patch = serde_json::json!({
        "form": "json-objects", "time": "elapsed-number",
        "columns": [{"name": "/t", "role": "elapsed", "unit": "s"}, {"name": "/a/0", "role": "power", "unit": "W"}],
    });
    for patch in [None, Some(&patch)] {
        if let Ok(loaded) = load(|| Ok(Cursor::new(bytes)), &Hints::default(), &Options::default(), patch) {
            assert!(json(&loaded.log)["findings"].is_array());
        }
    }
});
