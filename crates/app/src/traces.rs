//! Power over time of tests that a meter's log is attached to, for the pictures that draw it.
use std::collections::BTreeMap;
use std::io::Cursor;
use trueplate_core::notebook::{FileRef, Test};
use trueplate_core::report::Report;
use trueplate_meters::logs::{Hints, Log, Options, load};

/// Hours from the start of the discharge, lowest and highest W there.
pub type Trace = Vec<(f64, f64, f64)>;

/// The traces of all full discharges, by test. `file` gives the bytes of a kept file.
pub fn of_report(report: &Report, file: impl Fn(&str) -> Option<Vec<u8>>) -> BTreeMap<String, Trace> {
    let notebook = &report.notebook;
    let whole = |t: &&Test| {
        let row = report.outcomes.get(&t.id).and_then(|o| o.row.as_ref());
        row.is_some_and(|r| r.complete)
    };
    let one = |test: &Test| {
        let files = test.entries.values().flat_map(|e| &e.files).filter(|f| is_log(f));
        let hours = report.outcomes.get(&test.id)?.row.as_ref()?.hours.x();
        let trace = files.into_iter().find_map(|f| trace(&log(&file(&f.sha256)?, &f.name)?, hours))?;
        Some((test.id.clone(), trace))
    };
    notebook.tests.iter().filter(whole).filter_map(one).collect()
}

fn is_log(file: &FileRef) -> bool {
    !file.media.starts_with("image/")
}

fn log(bytes: &[u8], name: &str) -> Option<Log> {
    let hints = Hints { file_name: Some(name.into()), ..Hints::default() };
    Some(load(|| Ok(Cursor::new(bytes)), &hints, &Options::default(), None).ok()?.log)
}

/// From the first power of a load to the end of the discharge.
fn trace(log: &Log, hours: f64) -> Option<Trace> {
    let most = log.trace.iter().map(|p| p.max).fold(0.0, f64::max);
    // As for the cut-off: below the larger of 5 W and 2 % no load is on.
    let on = log.trace.iter().find(|p| p.max > (0.02 * most).max(5.0))?.at_us;
    let hour = |at_us: i64| (at_us - on) as f64 / 3.6e9;
    let points = log.trace.iter().map(|p| (hour(p.at_us), p.min, p.max));
    let trace: Trace = points.filter(|p| p.0 >= 0.0 && p.0 <= hours * 1.001).collect();
    (trace.len() > 2).then_some(trace)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_begins_where_the_load_does() {
        // Ten minutes of nothing, an hour at 500 W, then off: one row a minute.
        let mut text = String::from("time,power_W\n");
        for minute in 0..90 {
            let power = if (10..70).contains(&minute) { 500 } else { 0 };
            text.push_str(&format!("2026-05-03 {:02}:{:02}:00,{power}\n", 9 + minute / 60, minute % 60));
        }
        let trace = trace(&log(text.as_bytes(), "run.csv").unwrap(), 1.0).unwrap();
        assert_eq!(trace[0], (0.0, 500.0, 500.0));
        assert!(trace.last().unwrap().0 <= 1.001);
    }

    #[test]
    fn what_is_no_log_gives_no_trace() {
        assert!(log(b"\x89PNG\r\n", "photo.png").and_then(|l| trace(&l, 1.0)).is_none());
    }
}
