//! Any draft script or subtitle file against a bench; also what the program does to read its bytes.
#![no_main]
use libfuzzer_sys::fuzz_target;
use std::sync::{Arc, LazyLock};
use trueplate_core::report::{Report, report};
use trueplate_core::script::{Format, Judgement, check};
use trueplate_core::{example_bench, repeat};
use trueplate_meters::logs::plain;

static REPORT: LazyLock<Report> = LazyLock::new(|| {
    let notebook = example_bench::notebook();
    let outcomes = repeat::outcomes(&notebook);
    report(Arc::new(notebook), Arc::new(outcomes), "2026-06-30")
});

fuzz_target!(|bytes: &[u8]| {
    let text = plain(bytes);
    for name in ["draft.txt", "draft.md", "talk.srt", "talk.vtt"] {
        let checked = check(&REPORT, &text, Format::of_name(name), None);
        let counted: usize = checked.counts.values().sum();
        assert_eq!((counted, checked.counts.len()), (checked.lines.len(), Judgement::ALL.len()));
    }
});
