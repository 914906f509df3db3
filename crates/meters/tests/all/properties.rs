//! What must hold for any input: no panic, and sums that do not depend on how a log is cut or written.
use crate::support::loaded;
use proptest::prelude::*;
use std::io::Cursor;
use trueplate_meters::logs::{Hints, Options, json, read, understand};

fn row(second: u32, watts: f64) -> String {
    let s = second % 86_400;
    format!(
        "2026-05-{:02}T{:02}:{:02}:{:02},{watts:.1}\n",
        1 + second / 86_400,
        s / 3600,
        s / 60 % 60,
        s % 60
    )
}

fn text(rows: &[(u32, f64)]) -> String {
    let lines: String = rows.iter().map(|(s, w)| row(*s, *w)).collect();
    format!("time,W\n{lines}")
}

/// Times that rise by 1 to 4 s, powers of 1 to 2000 W.
fn rising() -> impl Strategy<Value = Vec<(u32, f64)>> {
    prop::collection::vec((1u32..5, 10u32..20_000), 3..200).prop_map(|steps| {
        let mut second = 0;
        steps
            .into_iter()
            .map(|(step, deci)| {
                second += step;
                (second, f64::from(deci) / 10.0)
            })
            .collect()
    })
}

/// Pieces that logs are made of, in any disorder.
fn soup() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop::sample::select(vec![
        "time",
        "W",
        "kWh",
        "V",
        "A",
        ",",
        ";",
        "\t",
        "|",
        "\n",
        "\r\n",
        "\r",
        "\"",
        "-",
        ".",
        "1",
        "23",
        "0.5",
        "1e308",
        "1e999",
        "nan",
        "∞",
        "2026-05-02",
        "T10:00:00",
        "04/05/2026 10:00",
        "12:00:00 AM",
        "99999999999",
        "-1",
        "+02:00",
        "\0",
        "\u{feff}",
        "°C",
        "time,W\n",
        "2026-05-02T10:00:00,575\n",
        "2026-05-02T10:00:01,576\n",
        "0:00,1\n",
        "46144.5,2\n",
        "1777766290,3\n",
        "device",
        " ",
        "'",
        "9223372036854775807",
        "9999-12-31T24:00:00,1\n",
        "0001-01-01T00:00:00,1\n",
    ]);
    prop::collection::vec(piece, 0..80).prop_map(|p| p.concat().into_bytes())
}

fn survives(bytes: &[u8]) {
    let log = loaded("log_20260502_235810.csv", bytes).log;
    let document = json(&log);
    assert!(document["findings"].is_array());
    for e in [log.energy_wh, log.energy_bridged_wh, log.energy_counter_wh, log.span_s].into_iter().flatten() {
        assert!(e.is_finite());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_are_survived(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        survives(&bytes);
    }

    #[test]
    fn any_soup_of_log_pieces_is_survived(bytes in soup()) {
        survives(&bytes);
    }

    /// Any mapping that fits one log is survived by any other bytes.
    #[test]
    fn any_bytes_under_a_mapping(bytes in soup(), like in soup()) {
        let mapping = understand(&like, &like, &Hints::default()).mapping;
        prop_assert!(read(Cursor::new(&bytes[..]), &mapping, &Options::default()).is_ok());
    }

    /// Cut at any row (which then ends one part and begins the other), a log has the energy of its parts.
    #[test]
    fn parts_add_up(rows in rising(), at in 1usize..198) {
        let at = at.min(rows.len() - 2);
        let whole = loaded("a", text(&rows).as_bytes()).log;
        let first = loaded("a", text(&rows[..=at]).as_bytes()).log;
        let second = loaded("a", text(&rows[at..]).as_bytes()).log;
        let sum = first.energy_wh.unwrap_or(0.0) + second.energy_wh.unwrap_or(0.0);
        prop_assert!((whole.energy_wh.unwrap_or(f64::NAN) - sum).abs() < 1e-9);
    }

    /// The order of the rows does not change what they add up to; it is only said.
    #[test]
    fn newest_first_is_the_same(rows in rising()) {
        let mut turned = rows.clone();
        turned.reverse();
        let (a, b) = (loaded("a", text(&rows).as_bytes()).log, loaded("a", text(&turned).as_bytes()).log);
        prop_assert!((a.energy_wh.unwrap_or(f64::NAN) - b.energy_wh.unwrap_or(f64::NAN)).abs() < 1e-9);
        prop_assert!(b.findings.iter().any(|f| f.code == "rows-sorted"));
    }

    /// Marks and separators are only spelling.
    #[test]
    fn spelling_does_not_matter(rows in rising()) {
        let plain = text(&rows);
        let comma = plain.replace(',', ";").replace('.', ",");
        let (a, b) = (loaded("a", plain.as_bytes()).log, loaded("a", comma.as_bytes()).log);
        prop_assert_eq!(a.energy_wh, b.energy_wh);
        prop_assert_eq!(a.power, b.power);
    }

    /// The mean lies between least and most, and energy is mean times time.
    #[test]
    fn sums_hold_together(rows in rising()) {
        let log = loaded("a", text(&rows).as_bytes()).log;
        let power = log.power.expect("rows with power");
        prop_assert!(power.min <= power.mean && power.mean <= power.max);
        let hours = log.covered_s.unwrap_or(0.0) / 3600.0;
        prop_assert!((power.mean * hours - log.energy_wh.unwrap_or(0.0)).abs() < 1e-9);
    }
}

/// A day of the calendar's count so far off that no clock holds it: found by the test above, kept as it was found.
#[test]
fn a_day_beyond_all_clocks() {
    let like = b"46144.5,2\ntime,W\n";
    let mapping = understand(like, like, &Hints::default()).mapping;
    let log = read(Cursor::new(&b"-1777766290,3\n"[..]), &mapping, &Options::default()).expect("memory");
    assert!(log.energy_wh.is_none_or(f64::is_finite));
}
