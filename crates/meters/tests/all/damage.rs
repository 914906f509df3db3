//! Damaged logs, made here from one clean log. Damage that loses nothing must give the clean answer; damage that does
//! must be named, with its line where it has one. None may pass without a word.
use crate::support::{codes, loaded, near};
use std::io::Write;
use trueplate_core::finding::Weight;
use trueplate_meters::logs::Log;

/// One row of the clean log.
#[derive(Clone, Copy)]
struct Row {
    second: u32,
    volts: f64,
    amps: f64,
    watts: f64,
    kwh: f64,
}

/// Twenty minutes at one row a second, about 575 W, by integer arithmetic from a fixed seed.
fn rows() -> Vec<Row> {
    let (mut seed, mut energy) = (12_345u64, 0u64);
    (0..1200)
        .map(|second| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let deciwatts = 5700 + (seed >> 33) % 100;
            energy += deciwatts;
            let volts = 119.5;
            Row {
                second,
                volts,
                amps: (deciwatts as f64 / 10.0 / volts * 1000.0).round() / 1000.0,
                watts: deciwatts as f64 / 10.0,
                kwh: (energy / 36_000) as f64 / 1000.0,
            }
        })
        .collect()
}

fn time(second: u32) -> String {
    let s = second.wrapping_add(10 * 3600);
    format!("2026-05-02T{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

fn line(r: &Row) -> String {
    format!("{},{:.1},{:.3},{:.1},{:.3}", time(r.second), r.volts, r.amps, r.watts, r.kwh)
}

const HEADER: &str = "time,volts,amps,watts,kwh";

fn text_of(lines: &[String]) -> String {
    format!("{HEADER}\n{}\n", lines.join("\n"))
}

fn lines() -> Vec<String> {
    rows().iter().map(line).collect()
}

/// The trapezoid over the rows, added up here: one second each.
fn truth() -> f64 {
    rows().windows(2).map(|w| (w[0].watts + w[1].watts) / 2.0).sum::<f64>() / 3600.0
}

fn packed(text: &str) -> Vec<u8> {
    let mut gz = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    gz.write_all(text.as_bytes()).expect("memory");
    gz.finish().expect("memory")
}

/// Damage that loses nothing: fourteen kinds and a few more.
fn benign() -> Vec<(&'static str, Vec<u8>)> {
    let clean = text_of(&lines());
    let each = |f: &dyn Fn(&str) -> String| clean.lines().map(f).collect::<Vec<_>>().join("\n") + "\n";
    let comma = |l: &str| l.replace(',', ";").replace('.', ",");
    let german = "Zeit;Spannung (V);Strom (A);Leistung (W);Zählerstand (kWh)\n".to_string();
    let utf16 = |mark: &[u8], f: fn(u16) -> [u8; 2]| {
        [mark.to_vec(), clean.encode_utf16().flat_map(f).collect()].concat()
    };
    vec![
        ("byte-order mark", [b"\xef\xbb\xbf", clean.as_bytes()].concat()),
        ("CRLF", clean.replace('\n', "\r\n").into_bytes()),
        ("CR alone", clean.replace('\n', "\r").into_bytes()),
        (
            "blank lines",
            (clean.clone() + "\n\n\n").replace("\n2026-05-02T10:03", "\n\n2026-05-02T10:03").into_bytes(),
        ),
        ("no last line end", clean.trim_end().as_bytes().to_vec()),
        ("quoted", each(&|l| format!("\"{}\"", l.replace(',', "\",\""))).into_bytes()),
        ("semicolon and decimal comma", each(&comma).into_bytes()),
        ("tabs", clean.replace(',', "\t").into_bytes()),
        ("UTF-16LE", utf16(b"\xff\xfe", u16::to_le_bytes)),
        ("UTF-16BE without mark", utf16(b"", u16::to_be_bytes)),
        ("comments above", format!("# logger 1\n# serial 2\n{clean}").into_bytes()),
        ("trailing separator", each(&|l| format!("{l},")).into_bytes()),
        ("padded", clean.replace(',', " , ").into_bytes()),
        ("footer", format!("{clean}Total,,,,0.191\nExported by a logger\n").into_bytes()),
        (
            "a row twice",
            clean
                .replace("\n2026-05-02T10:07:00", &format!("\n{}\n2026-05-02T10:07:00", line(&rows()[420])))
                .into_bytes(),
        ),
        ("gzip", packed(&clean)),
        ("German", each(&comma).replace(&(comma(HEADER) + "\n"), &german).into_bytes()),
        (
            "header again",
            clean.replace("\n2026-05-02T10:07:00", &format!("\n{HEADER}\n2026-05-02T10:07:00")).into_bytes(),
        ),
        ("blanks for T", clean.replace("T10", " 10").into_bytes()),
        (
            "a quote left open",
            clean.replacen("\n2026-05-02T10:07:00,", "\n2026-05-02T10:07:00,\"", 1).into_bytes(),
        ),
        ("NUL behind the end", [clean.as_bytes(), &[0; 64]].concat()),
    ]
}

#[test]
fn benign_damage_gives_the_clean_answer() {
    for (name, bytes) in benign() {
        let log = loaded("log.csv", &bytes).log;
        near(name, log.energy_wh, truth(), 1e-9);
        near(name, log.energy_counter_wh, rows()[1199].kwh * 1000.0 - rows()[0].kwh * 1000.0, 1e-6);
        assert_eq!((log.gap_count, log.cutoff.is_none()), (0, true), "{name}");
        let rows = if name == "a row twice" { 1201 } else { 1200 };
        assert_eq!(log.rows, rows, "{name}: {:?}", codes(&log));
    }
}

/// The lines with a change made to those of some rows.
fn changed(range: std::ops::Range<usize>, f: impl Fn(Row) -> Row) -> Vec<u8> {
    let mut all = rows();
    all[range].iter_mut().for_each(|r| *r = f(*r));
    text_of(&all.iter().map(line).collect::<Vec<_>>()).into_bytes()
}

fn edited(f: impl FnOnce(&mut Vec<String>)) -> Vec<u8> {
    let mut all = lines();
    f(&mut all);
    text_of(&all).into_bytes()
}

/// Damage that loses or falsifies something: at least twenty-two kinds, each with the code that must name it.
fn harmful() -> Vec<(&'static str, &'static str, Vec<u8>)> {
    let clean = text_of(&lines());
    let field = |l: &mut String, k: usize, with: &str| {
        let mut f: Vec<&str> = l.split(',').collect();
        f[k] = with;
        *l = f.join(",");
    };
    let shifted =
        |from: usize, by: i32| changed(from..1200, |r| Row { second: (r.second as i32 + by) as u32, ..r });
    let mut all = vec![
        ("time runs backwards", "time-backwards", edited(|l| l[600..640].reverse())),
        (
            "a block twice",
            "block-repeated",
            edited(|l| {
                let block = l[300..400].to_vec();
                l.splice(400..400, block);
            }),
        ),
        ("clock back by an hour", "clock-back-an-hour", shifted(600, -3600)),
        ("clock on by an hour", "hour-jump", shifted(600, 3600)),
        ("clock back by ten minutes", "time-backwards", shifted(800, -600)),
        ("counter reset", "counter-reset", changed(900..1200, |r| Row { kwh: r.kwh - rows()[899].kwh, ..r })),
        ("counter falls a little", "counter-fell", changed(900..1200, |r| Row { kwh: r.kwh - 0.02, ..r })),
        ("1e308 W", "implausible-value", edited(|l| field(&mut l[500], 3, "1e308"))),
        ("beyond 1e308", "not-finite", edited(|l| field(&mut l[500], 3, "1e309"))),
        ("nan", "not-finite", edited(|l| field(&mut l[500], 3, "nan"))),
        ("inf", "not-finite", edited(|l| field(&mut l[500], 3, "-inf"))),
        ("a line cut", "broken-line", edited(|l| l[500].truncate(30))),
        ("a line cut in its time", "broken-line", edited(|l| l[500].truncate(12))),
        ("the last line cut", "last-line-cut", clean.as_bytes()[..clean.len() - 16].to_vec()),
        ("NUL bytes", "nul-bytes", clean.replace("10:08:20,119.5", "10:08:20,\0\0\0\0\0").into_bytes()),
        (
            "two lines in one",
            "broken-line",
            clean.replace("\n2026-05-02T10:08:20", "2026-05-02T10:08:20").into_bytes(),
        ),
        (
            "fields lost",
            "broken-line",
            edited(|l| l[500..520].iter_mut().for_each(|l| *l = l.replace(",119.5", ""))),
        ),
        ("a comma for a point", "broken-line", edited(|l| l[500] = l[500].replace('.', ","))),
        ("a letter in a number", "bad-number", edited(|l| l[500] = l[500].replace("119.5", "1l9.5"))),
        ("bytes that are no text", "bad-number", {
            let mut b = clean.clone().into_bytes();
            let at = clean.find("10:08:20,").expect("there") + 9;
            b[at..at + 3].copy_from_slice(b"\xff\xfe\x80");
            b
        }),
        ("words between the rows", "not-a-row", edited(|l| l.insert(500, "connection lost".into()))),
        ("a garbled time", "bad-time", edited(|l| l[500] = l[500].replace("10:08:20", "10:68:20"))),
        (
            "kW from the middle on",
            "power-not-volts-amps",
            changed(600..1200, |r| Row { watts: r.watts / 1000.0, ..r }),
        ),
        (
            "columns changed places",
            "power-not-volts-amps",
            changed(600..1200, |r| Row { volts: r.watts, watts: r.volts, ..r }),
        ),
        (
            "one figure ten times too high",
            "power-not-volts-amps",
            changed(500..501, |r| Row { watts: r.watts * 10.0, ..r }),
        ),
        (
            "clock lost at a restart",
            "time-backwards",
            edited(|l| l[600..].iter_mut().for_each(|l| *l = l.replace("2026-05-02", "1970-01-01"))),
        ),
        ("one time far ahead", "time-spike", edited(|l| l[500] = l[500].replace("2026-05-02", "2062-05-02"))),
        ("sign lost", "negative-power", changed(600..700, |r| Row { watts: -r.watts, ..r })),
        ("zeros for a gap", "zero-filled-gap", changed(600..700, |r| Row { watts: 0.0, amps: 0.0, ..r })),
        (
            "header lost",
            "volts-amps-watts",
            clean.lines().skip(1).map(|l| format!("{l}\n")).collect::<String>().into_bytes(),
        ),
    ];
    let gz = packed(&clean);
    all.push(("gzip cut off", "file-cut", gz[..gz.len() * 2 / 3].to_vec()));
    all.extend(put_together());
    all
}

/// What comes of putting files together, of programs between the meter and the file, and of settings changed on the way.
fn put_together() -> Vec<(&'static str, &'static str, Vec<u8>)> {
    let clean = text_of(&lines());
    let turned = |l: &str| {
        let f: Vec<&str> = l.split(',').collect();
        [f[0], f[3], f[1], f[2], f[4]].join(",")
    };
    vec![
        ("a quote inside a number", "bad-number", edited(|l| l[500] = l[500].replacen(",11", ",1\"1", 1))),
        (
            "decimal commas from the middle on",
            "broken-line",
            edited(|l| l[600..].iter_mut().for_each(|l| *l = l.replace('.', ","))),
        ),
        (
            "another order of columns from the middle on",
            "power-not-volts-amps",
            edited(|l| {
                l[600..].iter_mut().for_each(|l| *l = turned(l));
                l.insert(600, turned(HEADER));
            }),
        ),
        ("an error page between the rows", "not-a-row", edited(|l| l.insert(500, "<html>502</html>".into()))),
        ("the number cut in the last line", "last-line-cut", clean.as_bytes()[..clean.len() - 3].to_vec()),
        (
            "milliampere for ampere from the middle on",
            "power-not-volts-amps",
            changed(600..1200, |r| Row { amps: r.amps * 1000.0, ..r }),
        ),
        (
            "the last values repeated for two minutes",
            "value-stands-still",
            changed(600..720, |r| Row { second: r.second, kwh: r.kwh, ..rows()[599] }),
        ),
        ("two files, the second of the day before", "time-backwards", {
            let second = clean.replace("2026-05-02", "2026-05-01");
            [clean.as_bytes(), second.as_bytes()].concat()
        }),
    ]
}

/// A clock that stands still for 400 rows and then shows the right time again: the rows count for nothing, and from 500 to
/// 900 s there is a gap.
#[test]
fn a_clock_that_stands_still() {
    let log = loaded("log.csv", &changed(500..900, |r| Row { second: 500, ..r })).log;
    assert!(codes(&log).contains(&"same-time"));
    assert_eq!((log.gap_count, log.gaps[0].s), (1, 400.0));
    near("covered", log.covered_s, 1199.0 - 400.0, 0.0);
}

/// Day and month change places in the middle. With a day past twelve the month cannot be meant: the rows are left out and
/// named. With both below, nothing in the file can tell: it is asked, and no sum is given.
#[test]
fn day_and_month_change_places() {
    let rows = |day: &str, from: u32| -> String {
        (from..from + 60).map(|s| format!("{day} 10:{:02}:{:02},575\n", s / 60, s % 60)).collect()
    };
    let log =
        loaded("log.csv", format!("time,W\n{}{}", rows("13/05/2026", 0), rows("05/13/2026", 60)).as_bytes())
            .log;
    assert!(severe(&log, "bad-time"), "{:?}", codes(&log));
    let log =
        loaded("log.csv", format!("time,W\n{}{}", rows("04/05/2026", 0), rows("05/04/2026", 60)).as_bytes())
            .log;
    assert!(log.energy_wh.is_none() && codes(&log).contains(&"date-order"), "{:?}", codes(&log));
}

fn severe(log: &Log, code: &str) -> bool {
    log.findings.iter().any(|f| f.code == code && (f.weight != Weight::Note || f.place.starts_with("line")))
}

#[test]
fn harmful_damage_is_never_silent() {
    let clean = loaded("log.csv", text_of(&lines()).as_bytes()).log;
    assert!(clean.findings.iter().all(|f| f.weight == Weight::Note), "{:?}", codes(&clean));
    let all = harmful();
    assert!(all.len() >= 22);
    let silent = all.iter().filter_map(|(name, code, bytes)| {
        let log = loaded("log.csv", bytes).log;
        (!severe(&log, code)).then(|| format!("{name}: {code} is not among {:?}", codes(&log)))
    });
    let silent: Vec<String> = silent.collect();
    assert!(silent.is_empty(), "{silent:#?}");
}

/// Where the damage can be undone, the answer is the clean one.
#[test]
fn some_harm_is_undone() {
    let undone = ["a block twice", "clock back by an hour", "counter reset", "words between the rows"];
    for (name, _, bytes) in harmful().into_iter().filter(|h| undone.contains(&h.0)) {
        let log = loaded("log.csv", &bytes).log;
        near(name, log.energy_wh, truth(), 1e-9);
    }
    // A row left out between two others is bridged by the straight line: within its own noise, 10 W·s.
    let bridged =
        ["1e308 W", "nan", "inf", "a line cut", "NUL bytes", "a garbled time", "one time far ahead"];
    for (name, _, bytes) in harmful().into_iter().filter(|h| bridged.contains(&h.0)) {
        let log = loaded("log.csv", &bytes).log;
        near(name, log.energy_wh, truth(), 10.0 / 3600.0);
    }
}

/// The line of the damage is named: row 500 of the log stands in line 502 of the file.
#[test]
fn damage_has_its_line() {
    let named = [
        "1e308 W",
        "nan",
        "a line cut",
        "NUL bytes",
        "a letter in a number",
        "words between the rows",
        "a garbled time",
    ];
    for (name, code, bytes) in harmful().into_iter().filter(|h| named.contains(&h.0)) {
        let log = loaded("log.csv", &bytes).log;
        let place = log.findings.iter().find(|f| f.code == code).map(|f| f.place.clone()).unwrap_or_default();
        assert!(place.starts_with("line 502"), "{name}: {place}");
    }
}
