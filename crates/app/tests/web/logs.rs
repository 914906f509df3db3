//! A meter's file attached to a test, and what comes of it.
use super::bench::Served;
use super::client::{get, multipart};

/// Two minutes of nothing, an hour at 430.5 W, two minutes of nothing, a row every five seconds.
fn log() -> String {
    let mut text = "time,power [W]\n".to_string();
    for s in (0..=3840).step_by(5) {
        let w = if (120..3720).contains(&s) { "430.5" } else { "0.0" };
        text.push_str(&format!("2026-05-03 {:02}:{:02}:{:02},{w}\n", 9 + s / 3600, s / 60 % 60, s % 60));
    }
    text
}

#[test]
fn a_log_takes_the_place_of_clock_and_counter() {
    let s = Served::example();
    let text = log();
    let files: [(&str, &str, &str, &[u8]); 1] = [("file", "run.csv", "text/csv", text.as_bytes())];
    let fields = [("field", "log"), ("instrument", "meter"), ("was", "")];
    let a = multipart(s.port, "/test/t1/keep", &fields, &files, false);
    assert_eq!(a.status, 303, "{}", a.body);
    // 430.5 W · 1 h = 430.5 Wh and the meter's own 0.5 W: 431 Wh; of ± 1 % rectangular 95 % lie within 0.95 · 4.3 = 4.1 Wh.
    let done = get(s.port, "/test/t1?q=done");
    assert!(done.body.contains("431") && done.body.contains("4 "), "{}", done.body);
    // The example's counter, 882 Wh in 106 min, is of another run: that is said.
    assert!(done.body.contains("counter read by hand"), "{}", done.body);
    let entry = s.notebook().test("t1").expect("the test").entries["log"].clone();
    let file = get(s.port, &format!("/file/{}", entry.files[0].sha256));
    assert!(file.status == 200 && file.body.contains("430.5"), "the untouched file is there");
    // The same again changes nothing.
    let strokes = || s.notebook().changes.last().map_or(0, |c| c.stroke);
    let before = s.notebook().test("t1").expect("the test").entries["log"].files.clone();
    let _ = multipart(s.port, "/test/t1/keep", &fields, &files, false);
    assert_eq!(s.notebook().test("t1").expect("the test").entries["log"].files, before);
    assert!(strokes() > 0);
}
