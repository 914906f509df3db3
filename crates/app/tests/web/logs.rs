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

#[test]
fn what_is_no_log_or_empty_is_said_and_a_kept_file_is_found_before_it_is_attached() {
    let s = Served::example();
    let empty: [(&str, &str, &str, &[u8]); 1] = [("file", "run.csv", "text/csv", b"")];
    let a = multipart(s.port, "/log/new", &[("test", "t1")], &empty, false);
    assert!(a.status == 422 && a.body.contains("The file is empty"), "{}", a.body);
    let photo: [(&str, &str, &str, &[u8]); 1] =
        [("file", "photo.png", "image/png", b"\x89PNG\r\n\x1a\n0000")];
    let a = multipart(s.port, "/log/new", &[("test", "t1")], &photo, false);
    let page = get(s.port, a.header("location"));
    assert!(page.body.contains("It is kept, but it cannot be read as a log"), "{}", page.body);
    let on = ["href=\"/test/t1\"", "href=\"/log/new?test=t1\"", "no second copy"];
    assert!(on.iter().all(|words| page.body.contains(words)), "{}", page.body);
    let sha = a.header("location").split(['/', '?']).nth(2).unwrap_or_default().to_string();
    assert_eq!(get(s.port, &format!("/file/{sha}")).status, 200);
    assert_eq!(get(s.port, "/log/0000").status, 404);
}

#[test]
fn an_answer_stands_in_the_address_and_a_wrong_zone_is_refused_in_words() {
    let s = Served::example();
    let text = "time,W\n04/05/2026 10:00,575\n04/05/2026 10:01,575\n05/05/2026 10:00,574\n";
    let files: [(&str, &str, &str, &[u8]); 1] = [("file", "ask.csv", "text/csv", text.as_bytes())];
    let to = multipart(s.port, "/log/new", &[("test", "t1")], &files, false).header("location").to_string();
    let page = get(s.port, &to);
    assert!(page.body.contains("Nothing is summed up before this is answered"), "{}", page.body);
    let joint = if to.contains('?') { '&' } else { '?' };
    let answer = "%7B%22date_order%22%3A%22day-first%22%2C%22answered%22%3A%5B%22date-order%22%5D%7D";
    let next = get(s.port, &format!("{to}{joint}answer={answer}"));
    assert_eq!(next.status, 303);
    let page = get(s.port, next.header("location"));
    assert!(page.body.contains("2026-05-04 10:00:00"), "{}", page.body);
    let wrong = get(s.port, &format!("{to}{joint}set-zone=Moon%2FSea"));
    assert!(wrong.status == 422 && wrong.body.contains("is no time zone"), "{}", wrong.body);
}
