//! Damage nobody wrote down beforehand: logs of random style with random damage, from seeds.
//!
//! Each seed gives a clean log in one of thousands of styles (separator, decimal mark, time, order and language of the
//! columns, step, load), then one kind of damage at a random place. Damage that loses nothing must give the clean sums; any
//! other must give them too, or say something: a doubt, a gap, or no sum at all. The truth is added up here from the figures
//! as printed. Other seeds: `TRUEPLATE_SEEDS=1000..3000 cargo test -p trueplate-meters --test all heldout`.
use crate::support::{codes, loaded};
use std::io::{Cursor, Write};
use trueplate_core::finding::Weight;
use trueplate_meters::logs::Log;

/// Numbers from a seed (Knuth's constants for a 64-bit linear congruential generator, upper bits used).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n
    }
    fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }
    fn place(&mut self, rows: usize) -> usize {
        rows / 4 + self.below(rows / 2)
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Time {
    Iso(char),
    Dots,
    American,
    Epoch,
    Elapsed,
}

/// How a log is written.
struct Style {
    mark: char,
    decimal: char,
    time: Time,
    /// Columns behind the time: 0 volts, 1 amperes, 2 watts, 3 the counter in kWh.
    columns: Vec<usize>,
    language: usize,
    end: &'static str,
}

const NAMES: [[&str; 5]; 3] = [
    ["time", "Voltage (V)", "Current (A)", "Power (W)", "Total energy (kWh)"],
    ["Zeit", "Spannung (V)", "Strom (A)", "Leistung (W)", "Zählerstand (kWh)"],
    ["Heure", "Tension (V)", "Courant (A)", "Puissance (W)", "Compteur (kWh)"],
];

#[derive(Clone, Copy)]
struct Row {
    /// Seconds since 2026-05-23T10:00:00, a day that no order of day and month can mistake.
    second: i64,
    values: [f64; 4],
}

fn style(dice: &mut Dice) -> Style {
    let decimal = dice.of(&['.', '.', ',']);
    let marks: &[char] = if decimal == ',' { &[';', '\t', '|'] } else { &[',', ';', '\t', '|'] };
    let mark = dice.of(marks);
    let mut columns =
        dice.of(&[&[2][..], &[2, 3], &[0, 1, 2], &[0, 1, 2, 3], &[3, 2, 1, 0], &[1, 2, 0, 3]]).to_vec();
    let turn = dice.below(columns.len());
    columns.rotate_left(turn);
    let time = dice.of(&[
        Time::Iso('T'),
        Time::Iso(' '),
        Time::Iso('T'),
        Time::Dots,
        Time::American,
        Time::Epoch,
        Time::Elapsed,
    ]);
    Style { mark, decimal, time, columns, language: dice.below(3), end: dice.of(&["\n", "\r\n"]) }
}

fn rows(dice: &mut Dice) -> Vec<Row> {
    let step = dice.of(&[1, 1, 2, 5, 10]);
    let steady = dice.below(2) == 0;
    let mut level = 300 + dice.below(9000);
    let mut energy = 0.0;
    let volts = dice.of(&[119.5, 229.8]);
    let mut since = 0;
    (0..400 + dice.below(400))
        .map(|k| {
            since += 1;
            // A load stays for some rows: one reading that stands alone is asked about.
            if !steady && dice.below(60) == 0 && since > 3 {
                since = 0;
                level = 300 + dice.below(9000);
            }
            let watts = (level + dice.below(40)) as f64 / 10.0;
            energy += watts * step as f64 / 3.6e6;
            let amps = (watts / volts * 1000.0).round() / 1000.0;
            Row { second: k as i64 * step, values: [volts, amps, watts, (energy * 1000.0).floor() / 1000.0] }
        })
        .collect()
}

fn time(second: i64, how: Time) -> String {
    let s = second + 36_000;
    let (day, s) = (23 + s.div_euclid(86_400), s.rem_euclid(86_400));
    let (h, m, s) = (s / 3600, s / 60 % 60, s % 60);
    match how {
        Time::Iso(between) => format!("2026-05-{day:02}{between}{h:02}:{m:02}:{s:02}"),
        Time::Dots => format!("{day:02}.05.2026 {h:02}:{m:02}:{s:02}"),
        Time::American => {
            let half = if h < 12 { "AM" } else { "PM" };
            format!("5/{day}/2026 {}:{m:02}:{s:02} {half}", (h + 11) % 12 + 1)
        }
        // 2026-05-23T10:00:00Z: 20596 days and 36000 s.
        Time::Epoch => format!("{}", 1_779_530_400 + second),
        Time::Elapsed => format!("{second}"),
    }
}

fn line(style: &Style, row: &Row) -> String {
    let digits = [1, 3, 1, 3];
    let values = style.columns.iter().map(|c| format!("{:.*}", digits[*c], row.values[*c]));
    let values = values.map(|v| v.replace('.', &style.decimal.to_string()));
    std::iter::once(time(row.second, style.time))
        .chain(values)
        .collect::<Vec<_>>()
        .join(&style.mark.to_string())
}

fn header(style: &Style) -> String {
    let names = NAMES[style.language];
    let first = if style.time == Time::Elapsed { "elapsed (s)" } else { names[0] };
    let rest = style.columns.iter().map(|c| names[c + 1]);
    std::iter::once(first).chain(rest).collect::<Vec<_>>().join(&style.mark.to_string())
}

fn text(style: &Style, lines: &[String]) -> String {
    let all = std::iter::once(header(style)).chain(lines.iter().cloned());
    all.map(|l| l + style.end).collect()
}

/// Trapezoid over all rows, W·h; the rise of the counter, W·h.
fn truth(rows: &[Row]) -> (f64, f64) {
    let area = |w: &[Row]| (w[0].values[2] + w[1].values[2]) / 2.0 * (w[1].second - w[0].second) as f64;
    let rise = rows[rows.len() - 1].values[3] - rows[0].values[3];
    (rows.windows(2).map(area).sum::<f64>() / 3600.0, rise * 1000.0)
}

fn gzip(text: &[u8]) -> Vec<u8> {
    let mut gz = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    gz.write_all(text).expect("memory");
    gz.finish().expect("memory")
}

fn zipped(text: &[u8]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file("log.csv", zip::write::SimpleFileOptions::default()).expect("memory");
    zip.write_all(text).expect("memory");
    zip.finish().expect("memory").into_inner()
}

const BENIGN: usize = 16;

/// Damage that loses nothing.
fn benign(kind: usize, style: &Style, lines: &[String], dice: &mut Dice) -> Vec<u8> {
    let clean = text(style, lines);
    let each = |f: &dyn Fn(&str) -> String| clean.lines().map(|l| f(l) + style.end).collect::<String>();
    let at = dice.place(lines.len());
    let with = |extra: &[String]| {
        let mut all = lines.to_vec();
        all.splice(at..at, extra.iter().cloned());
        text(style, &all).into_bytes()
    };
    match kind {
        0 => [b"\xef\xbb\xbf", clean.as_bytes()].concat(),
        1 => with(&[String::new(), String::new()]),
        2 => each(&|l| format!("{l}{}", style.mark)).into_bytes(),
        3 => each(&|l| {
            l.split(style.mark).map(|f| format!("\"{f}\"")).collect::<Vec<_>>().join(&style.mark.to_string())
        })
        .into_bytes(),
        4 => each(&|l| l.replace(style.mark, &format!(" {} ", style.mark))).into_bytes(),
        5 => format!("# logger 7{0}# firmware 1.2{0}{clean}", style.end).into_bytes(),
        6 => gzip(clean.as_bytes()),
        7 => zipped(clean.as_bytes()),
        8 => {
            [&b"\xff\xfe"[..], &clean.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>()].concat()
        }
        9 => clean.encode_utf16().flat_map(u16::to_be_bytes).collect(),
        10 => with(&[lines[at - 1].clone()]),
        11 => with(&[header(style)]),
        12 => with(&[format!("\u{feff}{}", header(style))]),
        13 => clean.trim_end().as_bytes().to_vec(),
        14 => [clean.as_bytes(), &[0; 40]].concat(),
        _ => format!("{clean}Total{0}{0}{1}", style.mark, style.end).into_bytes(),
    }
}

const HARMFUL: usize = 22;

/// Damage that loses or falsifies something; `None` where this style has nothing to damage so.
fn harmful(kind: usize, style: &Style, rows: &[Row], dice: &mut Dice) -> Option<Vec<u8>> {
    let n = rows.len();
    let (at, long) = (dice.place(n), 20 + dice.below(40));
    let has = |c: usize| style.columns.contains(&c);
    // Whether a false figure of power can be seen at all: by volts times amperes.
    let checked = has(0) && has(1);
    let wall = matches!(style.time, Time::Iso(_) | Time::Dots | Time::American);
    let write =
        |rows: &[Row]| text(style, &rows.iter().map(|r| line(style, r)).collect::<Vec<_>>()).into_bytes();
    let changed = |from: usize, to: usize, f: &dyn Fn(Row) -> Row| {
        let mut all = rows.to_vec();
        all[from..to.min(n)].iter_mut().for_each(|r| *r = f(*r));
        write(&all)
    };
    let edited = |f: &dyn Fn(&mut Vec<String>)| {
        let mut all: Vec<String> = rows.iter().map(|r| line(style, r)).collect();
        f(&mut all);
        text(style, &all).into_bytes()
    };
    let watts = style.columns.iter().position(|c| *c == 2)? + 1;
    let field = |with: &str| {
        edited(&|l| {
            let mut cut: Vec<&str> = l[at].split(style.mark).collect();
            cut[watts] = with;
            l[at] = cut.join(&style.mark.to_string());
        })
    };
    let power =
        |r: Row, f: f64| Row { values: [r.values[0], r.values[1], r.values[2] * f, r.values[3]], ..r };
    Some(match kind {
        0 => edited(&|l| l[at..at + long].reverse()),
        1 => edited(&|l| {
            let block = l[at - long..at].to_vec();
            l.splice(at..at, block);
        }),
        2 => changed(at, n, &|r| Row { second: r.second + 3600, ..r }),
        3 if wall => changed(at, n, &|r| Row { second: r.second - 3600, ..r }),
        4 if has(3) => changed(at, n, &|r| Row {
            values: [r.values[0], r.values[1], r.values[2], r.values[3] - rows[at - 1].values[3]],
            ..r
        }),
        5 => field("1e308"),
        6 => field("nan"),
        7 => edited(&|l| {
            let cut = l[at].len() * 2 / 3;
            l[at].truncate(cut);
        }),
        8 => edited(&|l| {
            let next = l.remove(at);
            l[at - 1].push_str(&next);
        }),
        9 => edited(&|l| {
            let mark = style.mark.to_string();
            l[at] = l[at].replacen(style.mark, &format!("{mark}\""), 1);
        }),
        10 if checked => changed(at, n, &|r| power(r, 0.001)),
        11 if checked => changed(at, at + 1, &|r| power(r, 10.0)),
        12 if checked => {
            changed(at, n, &|r| Row { values: [r.values[2], r.values[1], r.values[0], r.values[3]], ..r })
        }
        13 => changed(at, at + long, &|r| power(r, -1.0)),
        14 => {
            let whole = gzip(&write(rows));
            whole[..whole.len() * 2 / 3].to_vec()
        }
        15 => edited(&|l| drop(l.drain(at..at + long))),
        16 if style.decimal == '.' && style.mark != ',' => {
            edited(&|l| l[at..].iter_mut().for_each(|l| *l = l.replace('.', ",")))
        }
        17 => edited(&|l| l.insert(at, "<html><body>502 Bad Gateway</body></html>".into())),
        18 => {
            let whole = write(rows);
            whole[..whole.len() - style.end.len() - 3].to_vec()
        }
        19 => edited(&|l| l[at] = l[at].replace('5', "\0")),
        20 => changed(at, at + 1, &|r| Row { second: r.second + 86_400 * 3, ..r }),
        21 => edited(&|l| {
            let mut turned: Vec<&str> = l[at].split(style.mark).collect();
            turned.reverse();
            l[at] = turned.join(&style.mark.to_string());
        }),
        _ => return None,
    })
}

/// Something was said that a person would look into, or there is no sum to be wrong.
fn told(log: &Log) -> bool {
    log.energy_wh.is_none() || log.gap_count > 0 || log.findings.iter().any(|f| f.weight != Weight::Note)
}

fn near(a: Option<f64>, b: f64) -> bool {
    a.is_some_and(|a| (a - b).abs() <= 1e-6 * b.abs().max(1e-3))
}

#[expect(clippy::disallowed_methods, reason = "other seeds are named by the environment")]
fn seeds() -> std::ops::Range<u64> {
    let asked = std::env::var("TRUEPLATE_SEEDS").ok();
    let range = asked
        .as_deref()
        .and_then(|s| s.split_once(".."))
        .and_then(|(a, b)| Some(a.parse().ok()?..b.parse().ok()?));
    range.unwrap_or(0..110)
}

#[test]
fn clean_logs_of_any_style_are_read() {
    for seed in seeds() {
        let mut dice = Dice(seed);
        let (style, rows) = (style(&mut dice), rows(&mut dice));
        let bytes = text(&style, &rows.iter().map(|r| line(&style, r)).collect::<Vec<_>>()).into_bytes();
        let log = loaded("log.csv", &bytes).log;
        let (wh, counter) = truth(&rows);
        let head = String::from_utf8_lossy(&bytes[..200]).into_owned();
        assert!(
            near(log.energy_wh, wh),
            "seed {seed}: {:?} is not {wh}, {:?}\n{head}",
            log.energy_wh,
            codes(&log)
        );
        let counted = !style.columns.contains(&3) || near(log.energy_counter_wh, counter);
        assert!(
            counted,
            "seed {seed}: {:?} is not {counter}, {:?}\n{head}",
            log.energy_counter_wh,
            codes(&log)
        );
        assert!(
            log.findings.iter().all(|f| f.weight == Weight::Note),
            "seed {seed}: {:?}\n{head}",
            log.findings
        );
    }
}

#[test]
fn harmless_damage_anywhere_changes_nothing() {
    for seed in seeds() {
        let mut dice = Dice(seed);
        let (style, rows) = (style(&mut dice), rows(&mut dice));
        let lines: Vec<String> = rows.iter().map(|r| line(&style, r)).collect();
        let kind = (seed as usize) % BENIGN;
        let bytes = benign(kind, &style, &lines, &mut dice);
        let log = loaded("log.csv", &bytes).log;
        let (wh, counter) = truth(&rows);
        let head = String::from_utf8_lossy(&bytes[..200.min(bytes.len())]).into_owned();
        assert!(
            near(log.energy_wh, wh),
            "seed {seed}, kind {kind}: {:?} is not {wh}, {:?}\n{head}",
            log.energy_wh,
            codes(&log)
        );
        let counted = !style.columns.contains(&3) || near(log.energy_counter_wh, counter);
        assert!(counted, "seed {seed}, kind {kind}: {:?} is not {counter}\n{head}", log.energy_counter_wh);
    }
}

#[test]
fn harm_anywhere_is_undone_or_said() {
    let mut tried = [0; HARMFUL];
    for seed in seeds() {
        let mut dice = Dice(seed);
        let (style, rows) = (style(&mut dice), rows(&mut dice));
        let kind = (seed as usize) % HARMFUL;
        let Some(bytes) = harmful(kind, &style, &rows, &mut dice) else { continue };
        tried[kind] += 1;
        let log = loaded("log.csv", &bytes).log;
        let right = near(log.energy_wh, truth(&rows).0);
        let head = String::from_utf8_lossy(&bytes[..200.min(bytes.len())]).into_owned();
        assert!(
            right || told(&log),
            "seed {seed}, kind {kind}: {:?} is not {}, and nothing was said: {:?}\n{head}",
            log.energy_wh,
            truth(&rows).0,
            codes(&log)
        );
    }
    assert!(tried.iter().filter(|n| **n == 0).count() <= 2, "kinds hardly tried: {tried:?}");
}
