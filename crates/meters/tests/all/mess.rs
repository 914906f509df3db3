//! The messy files: each gives the stated outcome or a question, none a silent wrong answer.
//! Expected numbers are arithmetic on the figures in the files, in the comment of each test.

use crate::support::{answered, codes, has, loaded, log, near};
use trueplate_meters::logs::{Hints, Log, Options, Role, TimeKind, load, understand};

fn file(name: &str) -> Log {
    let path = format!("{}/tests/logs/{name}", env!("CARGO_MANIFEST_DIR"));
    let bytes = std::fs::read(path).expect("the file is part of the tests");
    loaded(name, &bytes).log
}

fn role(log: &Log, column: usize) -> (Role, Option<&str>) {
    (log.columns[column].role, log.columns[column].unit.as_deref())
}

/// 60 s at the mean of 1149.8 and 1150.4, 60 s at that of 1150.4 and 1151.2: (1150.1 + 1150.8)/60 = 38.348333 Wh.
#[test]
fn f01_semicolon_decimal_comma_bom() {
    let l = file("F01_semicolon_decimal_comma_bom.csv");
    assert_eq!(l.first.as_deref(), Some("2026-05-02T23:58:10"));
    assert_eq!(l.last.as_deref(), Some("2026-05-03T00:00:10"));
    near("energy", l.energy_wh, 38.348_333_333, 1e-6);
    near("counter", l.energy_counter_wh, 38.0, 1e-9);
    near("least", l.power.map(|p| p.min), 1149.8, 1e-9);
}

/// 12:00:00 AM is midnight, ten seconds after 11:59:50 PM: month first. (574.75 + 575.0)·10/3600 = 3.19375 Wh.
#[test]
fn f02_us_date_am_pm() {
    let l = file("F02_us_ampm_quoted.csv");
    assert_eq!(l.last.as_deref(), Some("2026-05-03T00:00:10"));
    near("energy", l.energy_wh, 3.19375, 1e-9);
    near("counter", l.energy_counter_wh, 3.0, 1e-9);
}

#[test]
fn f03_ambiguous_date_is_asked_never_guessed() {
    let name = "F03_ambiguous_date.csv";
    let l = file(name);
    assert!(has(&l, "date-order") && l.energy_wh.is_none() && l.first.is_none(), "{:?}", codes(&l));
    let text = "time,W\n04/05/2026 10:00,575\n04/05/2026 10:01,575\n05/05/2026 10:00,574\n";
    let patch = serde_json::json!({ "date_order": "day-first" });
    let l = answered(name, text.as_bytes(), None, Options::default(), Some(patch)).log;
    assert_eq!(l.first.as_deref(), Some("2026-05-04T10:00:00"));
    assert!(!has(&l, "date-order"));
}

/// Remembered per instrument: the answer comes from the mapping confirmed earlier.
#[test]
fn f03_order_is_remembered() {
    let bytes = b"time,W\n04/05/2026 10:00,575\n04/05/2026 10:01,575\n";
    let known = answered(
        "a",
        bytes,
        None,
        Options::default(),
        Some(serde_json::json!({ "date_order": "month-first" })),
    );
    let hints = Hints { known: Some(known.understanding.mapping), ..Hints::default() };
    let l =
        load(|| Ok(std::io::Cursor::new(&bytes[..])), &hints, &Options::default(), None).expect("memory").log;
    assert_eq!(l.first.as_deref(), Some("2026-04-05T10:00:00"));
}

#[test]
fn f04_month_rows_beside_quarter_hours_are_refused() {
    let l = file("F04_swiss_mixed_intervals.csv");
    assert!(has(&l, "mixed-intervals") && l.energy_wh.is_none() && l.power.is_none(), "{:?}", codes(&l));
}

/// 0.575 and 575 under one name: the small one is in kW. 575 W for 20 s = 3.194444 Wh.
#[test]
fn f05_same_name_two_units() {
    let l = log(
        "time,Power,Power\n2026-05-02 10:00:00,0.575,575\n2026-05-02 10:00:10,0.575,575\n2026-05-02 10:00:20,0.575,575\n",
    );
    assert_eq!(l.columns[1].unit.as_deref(), Some("kW"));
    assert_eq!(role(&l, 2), (Role::Power, Some("W")));
    near("energy", l.energy_wh, 575.0 * 20.0 / 3600.0, 1e-9);
    assert!(has(&l, "power-unit"));
    // One column in kW without a unit: 119.5 V × 4.81 A = 574.8 W says so.
    let l = log(
        "time,Power,Volt,Amp\n2026-05-02 10:00:00,0.575,119.5,4.81\n2026-05-02 10:00:10,0.575,119.5,4.81\n",
    );
    assert_eq!(role(&l, 1), (Role::Power, Some("kW")));
    near("energy", l.energy_wh, 575.0 * 10.0 / 3600.0, 1e-9);
}

/// 9.6 + 9.5 + 9.6 = 28.7 Wh either way; both are asked.
#[test]
fn f06_interval_or_counter() {
    let rows = |v: [&str; 3]| {
        format!(
            "time,Energy (Wh)\n2026-05-02 10:01,{}\n2026-05-02 10:02,{}\n2026-05-02 10:03,{}\n",
            v[0], v[1], v[2]
        )
    };
    let l = log(&rows(["9.6", "9.5", "9.6"]));
    assert_eq!(role(&l, 1).0, Role::EnergyInterval);
    assert!(has(&l, "counter-or-interval"));
    near("sum", l.energy_wh, 28.7, 1e-9);
    let l = log(&rows(["9.6", "19.1", "28.7"]));
    assert_eq!(role(&l, 1).0, Role::EnergyCounter);
    assert!(has(&l, "counter-or-interval"));
    near("rise", l.energy_counter_wh, 19.1, 1e-9);
}

/// (1.212 − 1.204) + (0.008 − 0.000) kWh = 16 Wh, with the event.
#[test]
fn f07_counter_reset() {
    let l = file("F07_counter_reset.csv");
    near("counter", l.energy_counter_wh, 16.0, 1e-9);
    assert!(l.findings.iter().any(|f| f.code == "counter-reset" && f.place == "line 4"));
    assert_eq!(l.first.as_deref(), Some("2026-05-02T10:00:00+02:00"));
}

/// Not a wrap: flagged, kept raw; 5.61 − 5.61 = 0.
#[test]
fn f08_counter_falls_slightly() {
    let l = log(
        "time,total kWh\n2026-05-02 10:00,5.61\n2026-05-02 10:01,5.62\n2026-05-02 10:02,5.60\n2026-05-02 10:03,5.61\n",
    );
    assert!(has(&l, "counter-fell") && !has(&l, "counter-wrap"));
    near("counter", l.energy_counter_wh, 0.0, 1e-9);
}

/// 100.00 − 99.99 + 0.01 = 0.02 kWh.
#[test]
fn f09_counter_wraps() {
    let l = log("time,total kWh\n2026-05-02 10:00,99.98\n2026-05-02 10:01,99.99\n2026-05-02 10:02,0.01\n");
    assert!(has(&l, "counter-wrap"));
    near("counter", l.energy_counter_wh, 30.0, 1e-9);
}

/// 120 rows 5 s apart; the 24 zeros lie between 75 s and 200 s while the counter rises: a gap of 125 s.
/// 575 W × (595 − 125) s = 75.069444 Wh covered, 575 W × 595 s = 95.034722 Wh bridged, counter 12.096 − 12.001 kWh.
#[test]
fn f10_zeros_are_a_gap() {
    let l = file("F10_zero_filled_gap.csv");
    assert!(has(&l, "zero-filled-gap"));
    assert_eq!((l.gap_count, l.gaps[0].s), (1, 125.0));
    near("energy", l.energy_wh, 75.069_444_444, 1e-6);
    near("bridged", l.energy_bridged_wh, 95.034_722_222, 1e-6);
    near("counter", l.energy_counter_wh, 95.0, 1e-6);
    near("least", l.power.map(|p| p.min), 575.0, 0.0);
}

/// 12:00:05, 12:00:10, 12:02:41: a gap of 151 s; 5 s and then 5 s at 600 W = 1.666667 Wh.
#[test]
fn f11_missing_rows() {
    let l = log(
        "time,W,kWh\n2026-05-02 12:00:05,600,1.000\n2026-05-02 12:00:10,600,1.001\n2026-05-02 12:02:41,600,1.026\n2026-05-02 12:02:46,600,1.027\n",
    );
    assert_eq!((l.gap_count, l.gaps[0].s), (1, 151.0));
    near("energy", l.energy_wh, 600.0 * 10.0 / 3600.0, 1e-9);
    near("counter", l.energy_counter_wh, 27.0, 1e-9);
}

/// Without a zone: asked, and the time goes on. With the zone: resolved by order, 02:58 first of two, 03:00 the last.
#[test]
fn f12_autumn() {
    let l = file("F12_dst_autumn.csv");
    assert!(has(&l, "clock-back-an-hour") && has(&l, "zone"));
    near("elapsed", l.span_s, 3720.0, 0.0);
    let path = format!("{}/tests/logs/F12_dst_autumn.csv", env!("CARGO_MANIFEST_DIR"));
    let bytes = std::fs::read(path).expect("the file is part of the tests");
    let l = answered("x", &bytes, Some("Europe/Berlin"), Options::default(), None).log;
    assert_eq!(l.first.as_deref(), Some("2026-10-25T02:58:00+02:00"));
    assert_eq!(l.gaps[0].from, "2026-10-25T02:01:00+01:00");
    assert_eq!(l.last.as_deref(), Some("2026-10-25T03:00:00+01:00"));
    near("elapsed", l.span_s, 3720.0, 0.0);
    assert!(!has(&l, "clock-back-an-hour"));
}

#[test]
fn f13_unsorted_duplicates_devices() {
    // 100, 200, 300 W at 0, 60, 120 s: 60 s at 150 W and at 250 W = 6.666667 Wh.
    let l = log("time,W\n2026-05-02 10:00,100\n2026-05-02 10:02,300\n2026-05-02 10:01,200\n");
    assert!(has(&l, "rows-sorted"));
    near("sorted", l.energy_wh, 400.0 / 60.0, 1e-9);
    let l = log("time,W\n2026-05-02 10:00,100\n2026-05-02 10:00,100\n2026-05-02 10:01,200\n");
    near("duplicate", l.energy_wh, 150.0 / 60.0, 1e-9);
    let both = "time,device,W\n2026-05-02 10:00,a,100\n2026-05-02 10:00,b,900\n2026-05-02 10:01,a,100\n2026-05-02 10:01,b,900\n";
    let l = log(both);
    assert!(has(&l, "several-devices"));
    near("first device", l.energy_wh, 100.0 / 60.0, 1e-9);
    let patch = Some(serde_json::json!({ "device": "b" }));
    near("b", answered("x", both.as_bytes(), None, Options::default(), patch).log.energy_wh, 15.0, 1e-9);
}

/// One reading of power and four signs for none: no energy by power; 6.4 − 0 Wh by the counter; the footer named.
#[test]
fn f14_footer_and_placeholders() {
    let l = file("F14_footer_placeholders.csv");
    assert!(has(&l, "footer") && has(&l, "placeholder"));
    assert_eq!(l.rows, 5);
    assert_eq!(l.energy_wh, None);
    near("counter", l.energy_counter_wh, 6.4, 1e-9);
    assert_eq!(l.last.as_deref(), Some("10:00:40"));
}

#[test]
fn f15_placeholders_are_missing_not_zero() {
    for sign in ["-", "n/a", "NULL", "", "OL", "9.91E+37", "NaN", "1.#INF"] {
        let l = log(&format!(
            "time,W,V\n2026-05-02 10:00:00,60,1\n2026-05-02 10:00:01,{sign},1\n2026-05-02 10:00:02,60,1\n"
        ));
        near(sign, l.energy_wh, 120.0 / 3600.0, 1e-12);
        assert!(has(&l, "placeholder") || has(&l, "not-finite"), "{sign}: {:?}", codes(&l));
        near(sign, l.power.map(|p| p.min), 60.0, 0.0);
    }
}

/// 1149.8, 1149.8, 1149.8, 0.5, −3.0 W a second apart: (1149.8·2 + 575.15 − 1.25)/3600 Wh.
#[test]
fn f16_number_forms() {
    let l = file("F16_number_forms.csv");
    near("energy", l.energy_wh, (1149.8 * 2.0 + 575.15 - 1.25) / 3600.0, 1e-9);
    assert!(has(&l, "elapsed-unit"));
}

#[test]
fn f17_encodings() {
    for (name, unit, watts) in [("F17_cp1252.csv", "W", 575.0), ("F17_utf16le.csv", "kW", 570.0)] {
        let l = file(name);
        assert_eq!(l.columns[1].name, "Température (°C)");
        assert_eq!(role(&l, 1), (Role::Temperature, Some("Cel")));
        assert_eq!(role(&l, 2), (Role::Power, Some(unit)));
        near(name, l.columns[2].range.map(|r| r.1), watts, 10.0);
        near("temperature", l.columns[1].range.map(|r| r.1), 23.4, 1e-9);
    }
}

/// One instant in five spellings. Day 46144.9987 is 2026-05-02 (46144 − 25569 = 20575 days) 23:58:07.68.
#[test]
fn f18_epochs_serials_offsets() {
    let l = file("F18_excel_serial.csv");
    assert_eq!(l.first.as_deref(), Some("2026-05-02T23:58:07.680"));
    assert!(has(&l, "serial-or-seconds"));
    for (a, b, first) in [
        ("1777766290", "1777766300", "2026-05-02T23:58:10+00:00"),
        ("1777766290120", "1777766300120", "2026-05-02T23:58:10.120+00:00"),
        ("2026-05-02T23:58:10+02:00", "2026-05-02T23:58:20+02:00", "2026-05-02T23:58:10+02:00"),
        ("\"2026-05-02 23:58:10,120\"", "\"2026-05-02 23:58:20,120\"", "2026-05-02T23:58:10.120"),
    ] {
        let l = log(&format!("time,W\n{a},360\n{b},360\n"));
        assert_eq!(l.first.as_deref(), Some(first));
        near(a, l.energy_wh, 1.0, 1e-9);
    }
}

/// 0:00, 59:59, 1:00:02, 62:03 = 0, 3599, 3602, 3723 s from 2026-05-02 23:58:10.
#[test]
fn f19_elapsed_with_start_in_the_name() {
    let l = file("F19_elapsed_log_20260502_235810.csv");
    assert_eq!(l.first.as_deref(), Some("2026-05-02T23:58:10"));
    assert_eq!(l.last.as_deref(), Some("2026-05-03T01:00:13"));
    near("span", l.span_s, 3723.0, 0.0);
    let l = log("elapsed,W\n3723 s,100\n3724 s,100\n");
    near("unit behind", l.span_s, 1.0, 0.0);
    assert!(has(&l, "start-instant") && l.first.is_none());
}

/// Oscilloscope and register dumps are no logs: never an energy.
#[test]
fn f20_to_f27_are_refused() {
    for text in [
        "Model,XX-0000\nRecord Length,2000,Points\nProbe Atten,200\nTIME,CH1,CH2\n-1.0E-01,0.0,5\n-9.9E-02,3.1E-02,5\n",
        "Horizontal Interval;0,0001\nVolts/Div;50\n12\n15\n18\n",
        "addr,hex\n0x0000,42EF\n0x0001,999A\n",
        "{\"at\":\"2026-05-02T23:58:10\",\"meter\":{\"power\":574}}\n",
        "2026-05-02T23:58:10.120Z +1.19842E+02,+4.79681E+00,+5.74871E+02\n",
    ] {
        let l = log(text);
        assert!(l.energy_wh.is_none() && !l.findings.is_empty(), "{text}: {l:?}");
        assert!(
            l.findings.iter().any(|f| f.weight == trueplate_core::finding::Weight::Gap),
            "{text}: {:?}",
            codes(&l)
        );
    }
}

/// What an instrument answered, behind the stamp: 119.842 V × 4.79681 A = 574.86 W is the third figure, so the three are
/// volts, amperes and watts, which is asked all the same; 9.91E37 is a sign for no value. 574.871 W for 2 s.
#[test]
fn f27_polled_answers() {
    let row = |s: u32| {
        format!("2026-05-02T23:58:{s:02}.120Z +1.19842E+02,+4.79681E+00,+5.74871E+02,+9.91000E+37\n")
    };
    let l = log(&(10..13).map(row).collect::<String>());
    assert_eq!((role(&l, 1).0, role(&l, 2).0, role(&l, 3).0), (Role::Voltage, Role::Current, Role::Power));
    near("energy", l.energy_wh, 574.871 * 2.0 / 3600.0, 1e-9);
    assert!(has(&l, "volts-amps-watts"));
    assert_eq!(l.first.as_deref(), Some("2026-05-02T23:58:10.120+00:00"));
}

/// 987.2 mA and 1.013 A: 0.9872 to 1.013 A; OL is missing; amperes alone give no energy.
#[test]
fn f28_unit_changes_with_the_range() {
    let l = file("F28_autorange.csv");
    let range = l.columns[1].range.expect("two readings");
    near("least", Some(range.0), 0.9872, 1e-9);
    near("most", Some(range.2), 1.013, 1e-9);
    assert!(has(&l, "unit-changes") && has(&l, "current-only") && l.energy_wh.is_none());
}

#[test]
fn f29_hand_notes_are_asked_for() {
    let l = file("F29_hand_notes.txt");
    assert!(has(&l, "hand-notes") && l.energy_wh.is_none() && l.rows == 0);
}

/// A spreadsheet holds 1,048,576 rows; the next row is lost without a word.
#[test]
fn f30_cut_by_a_spreadsheet() {
    let mut text = String::from("t_s,W\n");
    for k in 0..1_048_575 {
        text.push_str(&format!("{k},5\n"));
    }
    assert!(has(&log(&text), "cut-by-spreadsheet"));
    text.truncate(text.len() - "1048574,5\n".len());
    assert!(!has(&log(&text), "cut-by-spreadsheet"));
}

/// The header is in another language and the columns have changed places: each is still what it says.
#[test]
fn f31_columns_swapped_language_changed() {
    let a = log("Time;Power (W);Voltage (V)\n2026-05-02 10:00:00;360;120\n2026-05-02 10:00:10;360;120\n");
    let b =
        log("Heure;Tension (V);Puissance (W)\n2026-05-02 10:00:00;120;360\n2026-05-02 10:00:10;120;360\n");
    assert_eq!((role(&a, 1).0, role(&b, 2).0), (Role::Power, Role::Power));
    near("a", a.energy_wh, 1.0, 1e-9);
    near("b", b.energy_wh, 1.0, 1e-9);
    // A mapping kept for the instrument is matched by name, and says when it does not fit.
    let text = b"Time;Power (W);Voltage (V)\n2026-05-02 10:00:00;360;120\n2026-05-02 10:00:10;360;120\n";
    let known = understand(text, text, &Hints::default()).mapping;
    let hints = Hints { known: Some(known), ..Hints::default() };
    let swapped = b"Voltage (V);Time;Power (W)\n120;2026-05-02 10:00:00;360\n120;2026-05-02 10:00:10;360\n";
    let u = understand(swapped, swapped, &hints);
    assert_eq!(u.mapping.columns[2].role, Role::Power);
    assert!(!u.findings.iter().any(|f| f.code == "header-changed"));
    let other = b"Heure;Puissance (W)\n2026-05-02 10:00:00;360\n2026-05-02 10:00:10;360\n";
    assert!(understand(other, other, &hints).findings.iter().any(|f| f.code == "header-changed"));
}

#[test]
fn f32_negative_power_is_asked() {
    let l = log("time,W\n2026-05-02 10:00:00,-575\n2026-05-02 10:00:10,-574\n2026-05-02 10:00:20,-575\n");
    assert!(has(&l, "negative-power"));
}

/// Two whole rows, 5 s at the mean of 575 and 574 W; the cut line is named and left out.
#[test]
fn f33_partial_last_line() {
    let l = file("F33_partial_last_line_nul.csv");
    assert_eq!(l.rows, 2);
    near("energy", l.energy_wh, 574.5 * 5.0 / 3600.0, 1e-9);
    assert!(l.findings.iter().any(|f| f.code == "last-line-cut" && f.place == "line 4"));
}

#[test]
fn mapping_survives_being_kept() {
    let text = b"Zeit;Leistung (W)\n02.05.2026 23:58:10;1.149,8\n02.05.2026 23:58:20;1.149,8\n";
    let u = understand(text, text, &Hints::default());
    let kept = serde_json::to_string(&u.mapping).expect("a mapping is plain data");
    assert_eq!(serde_json::from_str::<trueplate_meters::logs::Mapping>(&kept).expect("and back"), u.mapping);
    assert_eq!((u.mapping.decimal, u.mapping.thousands, u.mapping.time), (',', Some('.'), TimeKind::Stamp));
}

/// A decimal comma between commas: 574,6 would be read as 574. Refused, and asked.
#[test]
fn separator_as_decimal_mark_is_refused() {
    let l = log("time,W\n2026-05-02 10:00:00,574,6\n2026-05-02 10:00:10,574,9\n2026-05-02 10:00:20,575,1\n");
    assert!(has(&l, "header-width") && l.energy_wh.is_none(), "{:?}", codes(&l));
}

/// 26-05-02 may be 26 May 2002 or 2 May 2026; a midnight between two rows proves it.
#[test]
fn two_digit_years_are_asked_or_proven() {
    let l = log("time,W\n26-05-02 10:00:00,574\n26-05-02 10:00:10,575\n");
    assert!(has(&l, "date-order") && l.energy_wh.is_none(), "{:?}", codes(&l));
    let l = log("time,W\n26-05-30 23:59:55,574\n26-05-31 00:00:05,575\n");
    assert_eq!(l.first.as_deref(), Some("2026-05-30T23:59:55"), "{:?}", codes(&l));
}

/// Two columns of watts: only one is summed up, and that is said.
#[test]
fn several_power_columns_are_named() {
    let l = log(
        "time,Input power (W),Output power (W)\n2026-05-02 10:00:00,360,90\n2026-05-02 10:00:10,360,90\n",
    );
    assert!(has(&l, "several-columns"));
    near("first", l.energy_wh, 1.0, 1e-9);
}

/// Zeros between equal powers without a counter: counted as they stand, and doubted.
#[test]
fn zeros_without_a_counter_are_doubted() {
    let rows: String = (0..60)
        .map(|s| format!("2026-05-02 10:00:{s:02},{}\n", if (20..40).contains(&s) { 0 } else { 575 }))
        .collect();
    let l = log(&format!("time,W\n{rows}"));
    assert!(l.findings.iter().any(|f| f.code == "zero-spell" && f.place == "line 22"), "{:?}", codes(&l));
}

/// A clock that shows minutes only: six rows share each time.
#[test]
fn rows_that_share_a_time_are_doubted() {
    let rows: String = (0..60).map(|k| format!("2026-05-02 10:{:02},575\n", k / 6)).collect();
    let l = log(&format!("time,W\n{rows}"));
    assert!(has(&l, "same-time"));
    near("energy", l.energy_wh, 575.0 * 9.0 / 60.0, 1e-9);
}

/// Energy without a unit may be W·h or kW·h: asked. Lower-case "mw" is milliwatts; "UTC" in a header is the zone.
#[test]
fn units_and_zones_in_headers() {
    let l = log("time,Energy,power_mw\n2026-05-02 10:00:00,0.5,5000\n2026-05-02 10:00:10,0.6,5000\n");
    assert!(has(&l, "energy-unit"));
    assert_eq!(role(&l, 2), (Role::Power, Some("mW")));
    near("energy", l.energy_wh, 5.0 * 10.0 / 3600.0, 1e-12);
    let l = log("Time (UTC),Power\n2026-05-02 10:00:00,360\n2026-05-02 10:00:10,360\n");
    assert_eq!(l.first.as_deref(), Some("2026-05-02T10:00:00+00:00"));
    assert!(has(&l, "unit-assumed") && !has(&l, "zone"));
}
