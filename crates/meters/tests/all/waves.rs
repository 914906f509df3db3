//! Captures as oscilloscopes export them: each form gives the same wave, and what is odd is said.
use proptest::prelude::*;
use std::f64::consts::{SQRT_2, TAU};
use trueplate_core::wave::Shape;
use trueplate_meters::waves::{Capture, Options, json, read};

fn capture(bytes: &[u8]) -> Capture {
    read(bytes, &Options::default())
}

fn fixture(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/waves/{name}", env!("CARGO_MANIFEST_DIR")))
        .expect("the file is in the project")
}

fn codes(capture: &Capture) -> Vec<&str> {
    let of_channels = capture.channels.iter().flat_map(|c| &c.findings);
    capture.findings.iter().chain(of_channels).map(|f| f.code.as_str()).collect()
}

fn near(what: &str, got: Option<f64>, want: f64, room: f64) {
    let got = got.unwrap_or(f64::NAN);
    assert!((got - want).abs() <= room, "{what}: {got} is not {want} ± {room}");
}

/// 120 V, 60 Hz, 0.3 s at 20 kS/s, gone from 0.1500 to 0.1646 s.
fn volts(i: usize) -> f64 {
    if (3000..3292).contains(&i) { 0.0 } else { 120.0 * SQRT_2 * (TAU * 60.0 * i as f64 / 20e3 + 0.3).sin() }
}

const ROWS: usize = 6000;

/// The same capture: 120 V, 60 Hz, one gap of 14.6 ms.
fn same(what: &str, capture: &Capture, start: f64) {
    assert!(capture.understood(), "{what}: {:?}", capture.findings);
    near(what, capture.rate_hz, 20e3, 0.02);
    let c = &capture.channels[0];
    near(what, c.rms_v, 120.0, 0.6);
    near(what, c.frequency_hz, 60.0, 0.005);
    let [gap] = &c.interruptions[..] else { panic!("{what}: {:?} {:?}", c.interruptions, codes(capture)) };
    near(what, gap.dead_ms, 14.6, 0.3);
    near(what, Some(gap.start_s), start + 0.15, 0.3e-3);
}

fn rows(row: impl Fn(usize) -> String) -> String {
    (0..ROWS).map(row).collect()
}

/// 5 V on the second channel until the mains go; 200 stands in the header and the samples need it: 169.7/200 = 0.8485 V.
#[test]
fn header_block_with_a_probe_that_is_not_applied() {
    let c = capture(&fixture("F20_scope_header_probe200.csv"));
    near("rate", c.rate_hz, 1e4, 1e-6);
    assert_eq!((c.samples, c.channels.len()), (2000, 2));
    near("rms", c.channels[0].rms_v, 120.0, 0.5);
    near("frequency", c.channels[0].frequency_hz, 60.0, 0.01);
    assert_eq!(c.channels[0].probe_factor, 200.0);
    assert_eq!(c.channels[0].shape, Shape::Sine);
    assert_eq!((c.channels[1].frequency_hz, c.channels[1].probe_factor), (None, 1.0));
    assert!(codes(&c).contains(&"probe-factor-applied"), "{:?}", codes(&c));
}

/// (12 + 85)/… : steps of 50 V over 25, 12 means nothing; peaks of ±170 V, 120 V rms.
#[test]
fn no_times_and_whole_numbers() {
    let c = capture(&fixture("F21_scope_notime_comma.csv"));
    near("rate", c.rate_hz, 1e4, 1e-6);
    assert_eq!(c.samples, 400);
    near("rms", c.channels[0].rms_v, 120.0, 1.0);
    assert!(codes(&c).contains(&"steps-scaled"), "{:?}", codes(&c));
}

/// Lowest and highest value ±4 V about 169.7·sin(2π·60·t): the middle is the wave, half the width belongs to the peak.
#[test]
fn pairs_of_lowest_and_highest() {
    let c = capture(&fixture("F22_scope_peak_pairs.csv"));
    near("rate", c.rate_hz, 2000.0, 1e-6);
    assert_eq!((c.samples, c.channels[0].name.as_str()), (100, "C1 in V"));
    near("rms", c.channels[0].rms_v, 120.0, 1.0);
    near("crest", c.channels[0].crest, (169.7 + 4.0) / 120.0, 0.02);
    assert!(codes(&c).contains(&"peak-pairs"));
}

#[test]
fn every_spelling_is_the_same_wave() {
    let t = |i: usize| (i as f64 - 2000.0) / 20e3;
    let comma = |x: f64| format!("{x:.6}").replace('.', ",");
    let plain = rows(|i| format!("{:.6},{:.3}\n", t(i), volts(i)));
    let spellings: Vec<(&str, String, f64)> = vec![
        ("no header", plain.clone(), -0.1),
        ("names", format!("time,CH1\n{plain}"), -0.1),
        ("names and units", format!("Time,Channel 1\n(s),(V)\n{plain}"), -0.1),
        (
            "milliseconds",
            format!(
                "Time (ms);CH1 (mV)\r\n{}",
                rows(|i| format!("{:.2};{:.0}\r\n", t(i) * 1e3, volts(i) * 1e3))
            ),
            -0.1,
        ),
        (
            "decimal comma",
            format!("Zeit;Kanal 1\n{}", rows(|i| format!("{};{}\n", comma(t(i)), comma(volts(i))))),
            -0.1,
        ),
        ("tabs", rows(|i| format!("{:.6}\t{:.3}\n", t(i), volts(i))), -0.1),
        ("spaces", rows(|i| format!("  {:.6}   {:.3}\n", t(i), volts(i))), -0.1),
        ("scientific", rows(|i| format!("{:+.6E},{:+.4E},\n", t(i), volts(i))), -0.1),
        ("CR only", rows(|i| format!("{:.6},{:.3}\r", t(i), volts(i))), -0.1),
        ("NULs at the end", format!("{plain}\0\0\0\0"), -0.1),
        ("cut off", format!("{plain}0.2"), -0.1),
        (
            "rate in the header",
            format!(
                "Sample Rate;20 kS/s\nTrigger Sample;2000\nKanal 1;V\n{}",
                rows(|i| format!("{}\n", comma(volts(i))))
            ),
            -0.1,
        ),
        (
            "header beside the rows",
            rows(|i| match i {
                0 => format!("Record Length,6000,,{:.6},{:.3},\n", t(i), volts(i)),
                1 => format!("Sample Interval,5.0e-05,,{:.6},{:.3},\n", t(i), volts(i)),
                _ => format!(",,,{:.6},{:.3},\n", t(i), volts(i)),
            }),
            -0.1,
        ),
        (
            "time before each channel",
            rows(|i| format!("{:.6},{:.3},{:.6},{:.3}\n", t(i), volts(i), t(i), -volts(i))),
            -0.1,
        ),
        (
            "coarse times and a stated interval",
            format!(
                "Sample Interval,5e-5,s\nTIME,CH1\n{}",
                rows(|i| format!("{:.3},{:.3}\n", t(i), volts(i)))
            ),
            -0.1,
        ),
        (
            "steps with a multiplier",
            format!(
                "XINCR,5.0E-5\nXZERO,-0.1\nYMULT,1.5\nYOFF,-4\nYUNIT,V\n{}",
                rows(|i| format!("{:.0}\n", volts(i) / 1.5 - 4.0))
            ),
            -0.1,
        ),
    ];
    for (what, text, start) in spellings {
        same(what, &capture(text.as_bytes()), start);
    }
    let utf16: Vec<u8> = format!("\u{feff}{plain}").encode_utf16().flat_map(u16::to_le_bytes).collect();
    same("UTF-16", &capture(&utf16), -0.1);
}

#[test]
fn a_gap_in_the_rows_is_not_a_gap_in_the_wave() {
    let row =
        |i: usize| format!("{:.6},{:.3}\n", i as f64 / 20e3, 170.0 * (TAU * 60.0 * i as f64 / 20e3).sin());
    let text: String = (0..3000).chain(3400..8000).map(row).collect();
    let c = capture(text.as_bytes());
    assert!(codes(&c).contains(&"time-jump"), "{:?}", codes(&c));
    assert_eq!((c.segments, c.channels[0].interruptions.len()), (2, 0));
    let text: String = (0..4000).chain(2000..8000).map(row).collect();
    assert!(codes(&capture(text.as_bytes())).contains(&"time-backwards"));
}

#[test]
fn segments_with_their_headers() {
    let mut text = String::new();
    for s in 0..3 {
        text += &format!("Segment {s}\nCaptured at {s}\nTIME,CH1\n");
        text += &rows(|i| format!("{:.6},{:.3}\n", 2.0 * s as f64 + i as f64 / 20e3, volts(i)));
    }
    let c = capture(text.as_bytes());
    assert_eq!((c.segments, c.channels[0].interruptions.len()), (3, 3), "{:?}", codes(&c));
    near("third", c.channels[0].interruptions.get(2).map(|i| i.start_s), 4.15, 0.3e-3);
    let batch = trueplate_core::wave::batch::batch(&c.dead_ms(), None).unwrap();
    assert!(batch.n == 3 && (batch.median_ms - 14.6).abs() < 0.3);
}

#[test]
fn damaged_rows_do_not_shift_the_rest() {
    let text = rows(|i| match i {
        700 => "0.0350,###\n".into(),
        800 => "garbage\n".into(),
        900 => "0.0450,OL\n".into(),
        1000 => "0.0500,1e308\n".into(),
        _ => format!("{:.6},{:.3}\n", i as f64 / 20e3, volts(i)),
    });
    let c = capture(text.as_bytes());
    near("frequency", c.channels[0].frequency_hz, 60.0, 0.01);
    assert_eq!(c.segments, 1, "{:?}", codes(&c));
    assert!(codes(&c).contains(&"bad-number") && codes(&c).contains(&"placeholder"), "{:?}", codes(&c));
}

#[test]
fn what_cannot_be_read_is_said() {
    for (bytes, code) in [
        (&b""[..], "no-rows"),
        (b"Dear bench,\nthe mains went away.\n", "no-rows"),
        (b"PK\x03\x04xxxx", "not-text"),
        (b"1\n2\n3\n4\n5\n6\n", "no-time-base"),
        (b"time\n0.1\n0.2\n0.3\n0.4\n", "no-channel"),
    ] {
        let c = capture(bytes);
        assert!(!c.understood() && codes(&c) == [code], "{code}: {:?}", codes(&c));
    }
}

fn soup() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop::sample::select(vec![
        "TIME,CH1\n",
        "Sample Interval,1e-5,s\n",
        "Probe,10X\n",
        "YMULT,0.5\n",
        "Counts/Div;0\n",
        "Volts/Div;1e308\n",
        "0.1,5\n",
        "0.2,-5\n",
        "0.3,5\n",
        "0.4,-5\n",
        "0.4,5\n",
        "1,2,3\n",
        "nan\n",
        "1e999,1\n",
        "-1E-308,9E307\n",
        ",",
        ";",
        "\t",
        "\n",
        "\r",
        "\0",
        "E",
        "-",
        ".",
        "7",
        "\u{feff}",
        "µs",
        "1:0",
        "Sample Rate;0\n",
        "XINCR,-1\n",
        "Segment 2\n",
        "0\n",
        "1\n",
        "-1\n",
        "  ",
    ]);
    prop::collection::vec(piece, 0..120).prop_map(|p| p.concat().into_bytes())
}

fn survives(bytes: &[u8]) {
    let c = capture(bytes);
    assert!(json(&c)["findings"].is_array());
    for channel in &c.channels {
        for x in
            [channel.rms_v, channel.mean_v, channel.frequency_hz, channel.thd_percent].into_iter().flatten()
        {
            assert!(x.is_finite());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        survives(&bytes);
    }

    #[test]
    fn any_soup_of_capture_pieces_is_survived(bytes in soup()) {
        survives(&bytes);
    }
}
