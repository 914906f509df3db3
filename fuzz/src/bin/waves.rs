//! Any bytes as an oscilloscope's file: no panic.
#![no_main]
use libfuzzer_sys::fuzz_target;
use std::io::Cursor;
use trueplate_meters::waves::{Options, json, load};

fuzz_target!(|bytes: &[u8]| {
    let capture = load(|| Ok(Cursor::new(bytes)), &Options::default()).expect("memory");
    assert!(json(&capture)["findings"].is_array());
});
