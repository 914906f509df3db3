//! What a kind of test is given of a log: sums to the load going on, to its going off, and to the end.
use crate::support::loaded;
use trueplate_meters::logs::{Confirmed, Options, load_confirmed, recording};

/// A minute of nothing, ten minutes at 500 W with a second's rows, of which three minutes are missing, two minutes of
/// nothing; the counter, in W·h, goes on meanwhile.
fn text() -> String {
    let mut t = "time,power [W],energy [Wh]\n".to_string();
    for s in (0..780).filter(|s| !(200..380).contains(s)) {
        let on = (60..660).contains(&s);
        let wh = (s.clamp(60, 660) - 60) * 500 / 3600;
        let (h, m) = (10 + s / 3600, s / 60 % 60);
        t.push_str(&format!(
            "2026-05-03 {h:02}:{m:02}:{:02},{},{wh}\n",
            s % 60,
            if on { "500.5" } else { "0.0" }
        ));
    }
    t
}

/// On at 10:01:00, off at 10:11:00. Covered: 600 s − 181 s between the rows around the hole = 419 s at 500.5 W, half a
/// second of it less at neither end: the trapezoid has half a step before the first row and half after the last.
/// 500.5 · 419 / 3600 = 58.2526 W·h; S = 500.5² · 419/3600 = 29 155.4 W²·h; over the hole 500.5 · 181/3600 = 25.1640 W·h,
/// by the counter (380 − 60)·500/3600 = 44 less (199 − 60)·500/3600 = 19, which is 25.
#[test]
fn sums_to_the_marks() {
    let text = text();
    let read = recording(&loaded("run.csv", text.as_bytes())).expect("a recording");
    let (on, off) = (read.on.as_ref().expect("on"), read.off.as_ref().expect("off"));
    assert_eq!((on.at.as_str(), off.at.as_str()), ("2026-05-03T10:01:00", "2026-05-03T10:11:00"));
    assert_eq!((on.elapsed_s, off.elapsed_s, read.last.elapsed_s), (60.0, 660.0, 779.0));
    let sum = read.between(on, off);
    assert!((sum.energy_wh - 58.2526).abs() < 5e-5, "{}", sum.energy_wh);
    // Squares by trapezoid too: the two half steps at the ends count half each, as the power's do.
    assert!((sum.w2h - 29_155.4).abs() < 0.1, "{}", sum.w2h);
    assert!((sum.bridged_wh - 25.1640).abs() < 5e-5 && sum.gaps == 1);
    assert!((sum.counted_wh - 25.0).abs() < 1e-9 && sum.counted_s == 181.0);
    assert_eq!((read.step_w, read.interval_s), (0.1, 1.0));
    assert_eq!(read.gaps, [(199.0, 380.0)]);
}

/// Read as confirmed, the same file gives the same numbers; with a longer gap allowed, the hole is bridged as covered.
#[test]
fn as_confirmed() {
    let text = text();
    let once = loaded("run.csv", text.as_bytes());
    let confirmed = Confirmed { mapping: once.understanding.mapping.clone(), gap_s: None };
    let kept = serde_json::to_string(&confirmed).expect("JSON");
    let again: Confirmed = serde_json::from_str(&kept).expect("the same");
    let open = || Ok(std::io::Cursor::new(text.as_bytes()));
    let second = load_confirmed(open, &again, &Options::default()).expect("reads");
    assert_eq!(recording(&second).expect("a recording").last, recording(&once).expect("a recording").last);
    assert!(second.understanding.questions.is_empty());
    let wide = load_confirmed(open, &Confirmed { gap_s: Some(300.0), ..confirmed }, &Options::default())
        .expect("reads");
    assert_eq!(wide.log.gap_count, 0);
}
