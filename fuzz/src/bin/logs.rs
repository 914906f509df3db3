//! Any bytes as a meter's log, under any name: no panic, and no sum that is not a number.
#![no_main]
use libfuzzer_sys::fuzz_target;
use std::io::Cursor;
use trueplate_meters::logs::{Hints, Options, json, load};

fuzz_target!(|bytes: &[u8]| {
    let hints = Hints { file_name: Some("log_20260502_235810.csv".into()), ..Hints::default() };
    let loaded = load(|| Ok(Cursor::new(bytes)), &hints, &Options::default(), None).expect("memory");
    let log = &loaded.log;
    for e in [log.energy_wh, log.energy_bridged_wh, log.energy_counter_wh, log.span_s].into_iter().flatten() {
        assert!(e.is_finite());
    }
    assert!(json(log)["findings"].is_array());
});
