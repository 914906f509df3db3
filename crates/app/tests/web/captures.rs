//! An oscilloscope's files sent to a test, many at once: understood, asked about, taken out, looked at.
use super::bench::Served;
use super::client::{get, multipart, post};
use std::f64::consts::{SQRT_2, TAU};
use trueplate_core::notebook::Entry;

/// 120 V at 60 Hz, 0.3 s at 20 kS/s, divided by `probe`, gone from 0.15 s on for so many samples of 0.05 ms.
fn capture(gone: usize, probe: f64) -> String {
    let mut text = String::from("Sample Interval,5E-05,s\nTIME,CH1\n");
    for i in 0..6000 {
        let t = i as f64 / 20e3;
        let live = !(3000..3000 + gone).contains(&i);
        let v = if live { 120.0 * SQRT_2 * (TAU * 60.0 * t + 0.3).sin() / probe } else { 0.0 };
        text += &format!("{t:.6},{v:.5}\n");
    }
    text
}

fn send(s: &Served, files: &[(&str, &str)]) -> super::client::Answer {
    let files: Vec<(&str, &str, &str, &[u8])> =
        files.iter().map(|(name, text)| ("files", *name, "text/csv", text.as_bytes())).collect();
    multipart(s.port, "/captures/t1", &[], &files, false)
}

fn entry(s: &Served) -> Option<Entry> {
    s.notebook().test("t1").expect("the test").entries.get("captures").cloned()
}

#[test]
fn many_files_at_once_make_a_batch_and_one_answer_scales_them_all() {
    let s = Served::begun("switchover", &["load"]);
    let empty = get(s.port, "/captures/t1");
    assert!(empty.body.contains("All files of the oscilloscope at once"), "{}", empty.body);
    // 12.0, 14.6 and 10.0 ms, through a probe of 200 that no file states; and a page of a broken download.
    let texts = [capture(240, 200.0), capture(292, 200.0), capture(200, 200.0), "<html>504</html>".into()];
    let names = ["a.csv", "b.csv", "c.csv", "broken.csv"];
    let files: Vec<(&str, &str)> = names.into_iter().zip(texts.iter().map(String::as_str)).collect();
    let sent = send(&s, &files);
    assert_eq!(sent.status, 303, "{}", sent.body);
    let page = get(s.port, sent.header("location")).body;
    for words in [
        "Dead for 12.0\u{a0}ms in the median of 3 cuts, 14.6\u{a0}ms at the longest.",
        "Which factor has the probe?",
        "a.csv and 2 more",
        "×200<small>120\u{a0}V",
        "6000\u{a0}samples · 20\u{a0}kS/s",
        "longer than 11\u{a0}ms",
        "2 of 3",
        "ITIC curve at no voltage",
        "no rows of numbers",
    ] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
    let kept = entry(&s).expect("kept");
    assert_eq!((kept.files.len(), kept.how.as_str()), (4, ""));
    assert!(get(s.port, &format!("/file/{}", kept.files[3].sha256)).body.contains("504"), "kept untouched");
    // The same again changes nothing.
    let strokes = || s.notebook().changes.last().map_or(0, |c| c.stroke);
    let before = (strokes(), entry(&s));
    let again = send(&s, &files);
    assert!(get(s.port, again.header("location")).body.contains("with the test already"));
    assert_eq!((strokes(), entry(&s)), before);
    // One tap answers for the three that ask.
    let mut answer: Vec<(&str, &str)> =
        kept.files[..3].iter().map(|f| ("sha256", f.sha256.as_str())).collect();
    answer.push(("probe", "200"));
    let said = post(s.port, "/captures/t1/say", &answer);
    let page = get(s.port, said.header("location")).body;
    assert!(!page.contains("Which factor") && page.contains("probe ×200, as you said"), "{page}");
    assert!(page.contains("120\u{a0}V before, 120\u{a0}V after"), "{page}");
    // A further file of the same probe is not asked about.
    let more = capture(220, 200.0);
    let sent = send(&s, &[("d.csv", &more)]);
    let page = get(s.port, sent.header("location")).body;
    assert!(!page.contains("Which factor") && page.contains("median of 4 cuts"), "{page}");
    // Taken back, it asks again.
    let undone = post(s.port, &format!("/undo/{}", strokes()), &[]);
    assert_eq!(undone.status, 303);
    assert!(get(s.port, "/captures/t1").body.contains("median of 3 cuts"));
    // Taken out, it is gone from the batch and kept on the bench.
    let out = kept.files[1].sha256.clone();
    let _ = post(s.port, "/captures/t1/say", &[("out", &out)]);
    let page = get(s.port, "/captures/t1").body;
    assert!(
        page.contains("median of 2 cuts, 12.0\u{a0}ms at the longest") && page.contains("belong to no test"),
        "{page}"
    );
    assert_eq!(get(s.port, &format!("/file/{out}")).status, 200);
    let back = multipart(s.port, "/captures/t1", &[("sha256", &out)], &[], false);
    assert!(get(s.port, back.header("location")).body.contains("median of 3 cuts"));
}

#[test]
fn one_capture_is_looked_at_closer() {
    let s = Served::begun("switchover", &["load"]);
    let _ = send(&s, &[("a.csv", &capture(292, 1.0))]);
    let sha = entry(&s).expect("kept").files[0].sha256.clone();
    let page = get(s.port, &format!("/captures/t1/{sha}")).body;
    for words in [
        "The outlet is dead for 14.6",
        "dead 14.6",
        "rms before",
        "ITIC curve",
        "phase jumps by",
        "class=\"rms\"",
    ] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
    // Between 0.1499 and 0.1501 s lie five samples, each by itself.
    let close = get(s.port, &format!("/captures/t1/{sha}?from=0.1499&to=0.15011")).body;
    let points = close.split("data-points=\"").nth(1).and_then(|p| p.split('"').next()).expect("points");
    assert_eq!(points.split(';').count(), 5, "{points}");
    assert!(points.ends_with("0.1501000,0.00,0.00"), "{points}");
    assert_eq!(get(s.port, "/captures/t1/00").status, 404);
    let wrong = post(s.port, "/captures/t1/say", &[("sha256", &sha), ("probe", "many")]);
    assert!(wrong.status == 422 && wrong.body.contains("Write it as 200"), "{}", wrong.body);
    let said = post(s.port, "/captures/t1/say", &[("sha256", &sha), ("probe", "×10"), ("back", &sha)]);
    assert!(said.header("location").starts_with(&format!("/captures/t1/{sha}")));
    assert!(get(s.port, said.header("location")).body.contains("1200\u{a0}V"), "said, it counts");
    let _ = post(s.port, "/captures/t1/say", &[("sha256", &sha), ("probe", "")]);
    assert_eq!(entry(&s).expect("kept").how, "", "and it can be taken back");
}

/// Two segments of 6000 samples, 120 V at 60 Hz and 20 kS/s, each from −150 ms of its own time on; in the second 12 ms are
/// missing from its 0 ms on, and the wave comes back a quarter of a cycle late.
fn segments() -> String {
    let mut text = String::from("Sample Interval,5E-05,s\n");
    for segment in 1..=2 {
        text += &format!("Segment {segment}\nTIME,CH1\n");
        for i in 0..6000 {
            let (t, gone) = (f64::from(i) / 20e3, segment == 2 && (3000..3240).contains(&i));
            let late = if segment == 2 && i >= 3240 { TAU / 4.0 } else { 0.0 };
            let v = if gone { 0.0 } else { 120.0 * SQRT_2 * (TAU * 60.0 * t + 0.3 - late).sin() };
            text += &format!("{:.6},{v:.5}\n", t - 0.15);
        }
    }
    text
}

#[test]
fn segments_and_a_jump_of_the_phase_stand_in_the_chart() {
    let s = Served::begun("switchover", &["load"]);
    let _ = send(&s, &[("two.csv", &segments())]);
    let sha = entry(&s).expect("kept").files[0].sha256.clone();
    let page = get(s.port, &format!("/captures/t1/{sha}")).body;
    for words in [
        ">segment 1<",
        ">segment 2<",
        "phase jumps by −90°<",
        "Segments laid end to end: 2.",
        "ms on in segment 2",
        "segments laid end to end</span>",
    ] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
    // A border in each of the two sizes, and a band.
    assert_eq!((page.matches("class=\"border\"").count(), page.matches("class=\"gap\"").count()), (2, 2));
    // The second segment begins at −150 + 300 = 150 ms of both laid end to end; there its own 0 ms is at 300 ms. A cycle and
    // a half before that is 275 ms, but for the sample of 0.05 ms in which the edge lies.
    let from =
        page.split("?from=").nth(1).and_then(|l| l.split('&').next()).and_then(|n| n.parse::<f64>().ok());
    assert!(from.is_some_and(|s| (0.274_94..=0.275_01).contains(&s)), "{from:?}");
    let closer = get(s.port, &format!("/captures/t1/{sha}?from=0.275&to=0.337")).body;
    assert!(closer.contains(">segment 2<") && !closer.contains(">segment 1<"), "{closer}");
}

#[test]
fn the_kind_of_the_wave_takes_captures_and_others_do_not() {
    let s = Served::begun("waveform", &["load", "stated"]);
    let asked = get(s.port, "/test/t1?q=captures").body;
    assert!(asked.contains("Have you a capture of it?") && asked.contains("/captures/t1"), "{asked}");
    let _ = send(&s, &[("wave.csv", &capture(0, 1.0))]);
    let page = get(s.port, "/captures/t1").body;
    assert!(page.contains("120\u{a0}V, 60.00\u{a0}Hz") && page.contains("a sine"), "{page}");
    let done = get(s.port, "/test/t1?q=done").body;
    assert!(done.contains("1 capture") && done.contains("60.0"), "{done}");
    let nothing = send(&s, &[("empty.csv", "")]);
    assert!(nothing.status == 422 && nothing.body.contains("none was chosen"), "{}", nothing.body);
    let other = Served::example();
    assert_eq!(get(other.port, "/captures/t1").status, 404);
    assert_eq!(get(other.port, "/captures/none").status, 404);
}
