//! JSON logs: one object a line, or objects in an array; columns are JSON pointers (RFC 6901).
use crate::support::{answered, codes, has, log, near};
use trueplate_meters::logs::{Form, Options, Role, TimeKind};

fn line(second: u32, power: f64) -> String {
    format!(
        "{{\"at\":\"2026-05-02T23:58:{second:02}\",\"meter\":{{\"total\":12.381,\"power\":{power},\"pf\":1.00,\"volts\":119,\"amps\":4.812}}}}\n"
    )
}

/// 574 and 576 W, 10 s apart, three rows: 2·575·10/3600 = 3.194444 Wh.
#[test]
fn f25_nested_keys() {
    let text = line(10, 574.0) + &line(20, 576.0) + &line(30, 574.0);
    let l = log(&text);
    near("energy", l.energy_wh, 575.0 * 20.0 / 3600.0, 1e-9);
    let names: Vec<&str> = l.columns.iter().map(|c| c.name.as_str()).collect();
    assert_eq!(names, ["/at", "/meter/amps", "/meter/pf", "/meter/power", "/meter/total", "/meter/volts"]);
    assert_eq!(l.columns[3].role, Role::Power);
    assert_eq!(l.columns[5].role, Role::Voltage);
    assert_eq!(l.first.as_deref(), Some("2026-05-02T23:58:10"));
    // After a restart the clock begins in 1970: said, and nothing is added.
    let day: String = (0..40).map(|s| line(s, 574.0)).collect();
    let restart = day + &line(40, 574.0).replace("2026-05-02T23:58:40", "1970-01-01T00:00:12");
    let l = log(&restart);
    assert!(has(&l, "time-backwards") && has(&l, "implausible-date"), "{:?}", codes(&l));
    near("energy", l.energy_wh, 574.0 * 39.0 / 3600.0, 1e-9);
}

/// The same rows as an array over many lines.
#[test]
fn objects_in_an_array() {
    let lines = [line(10, 574.0), line(20, 576.0), line(30, 574.0)];
    let array = format!("[\n{}]\n", lines.join(",\n").replace(",\"meter\"", ",\n  \"meter\""));
    for text in [array.clone(), array.replace('\n', "")] {
        let loaded = answered("log.json", text.as_bytes(), None, Options::default(), None);
        assert_eq!(loaded.understanding.mapping.form, Form::JsonObjects);
        near("energy", loaded.log.energy_wh, 575.0 * 20.0 / 3600.0, 1e-9);
        assert_eq!(loaded.log.rows, 3);
    }
}

/// A list of minutes and a counter without units: the instant is an epoch, and the unit is asked for.
#[test]
fn f26_lists_and_epochs() {
    let row = |k: u64| {
        format!(
            "{{\"w\":574.6,\"e\":{{\"sum\":412.118,\"last_minutes\":[9587.2,9581.0,9579.4],\"minute_epoch\":{}}}}}\n",
            1_777_766_280 + 60 * k
        )
    };
    let text: String = (0..4).map(row).collect();
    let loaded = answered("log.jsonl", text.as_bytes(), None, Options::default(), None);
    let l = &loaded.log;
    assert_eq!(
        loaded.understanding.mapping.time,
        TimeKind::EpochSeconds,
        "{:?}",
        loaded.understanding.mapping
    );
    assert!(l.columns.iter().any(|c| c.name == "/e/last_minutes/2"));
    // 574.6 W over three minutes, where the column is understood; else it is asked.
    match l.energy_wh {
        Some(_) => near("energy", l.energy_wh, 574.6 * 180.0 / 3600.0, 1e-9),
        None => assert!(l.findings.iter().any(|f| f.hint.contains("mapping")), "{:?}", codes(l)),
    }
}

/// A person names the columns by their pointers, escapes included.
#[test]
fn pointers_can_be_given() {
    let text = "{\"a/b\":{\"~\":360},\"t\":0,\"x\":[1]}\n{\"a/b\":{\"~\":360},\"t\":10,\"x\":[1]}\n";
    let patch = serde_json::json!({
        "form": "json-lines", "time": "elapsed-number",
        "columns": [{"name": "/t", "role": "elapsed", "unit": "s"}, {"name": "/a~1b/~0", "role": "power", "unit": "W"}],
    });
    let l = answered("log.jsonl", text.as_bytes(), None, Options::default(), Some(patch)).log;
    near("energy", l.energy_wh, 1.0, 1e-9);
}

/// Lines that are cut or no objects are named with their line, and left out.
#[test]
fn broken_lines() {
    let mut lines: Vec<String> = (0..30).map(|s| line(s, 574.0)).collect();
    lines[9] = "{\"at\":\"2026-05-02T23:58:09\",\"meter\":{\"po\n".into();
    lines[19] = "connection lost\n".into();
    let l = log(&lines.concat());
    let told = l.findings.iter().find(|f| f.code == "broken-line").map(|f| f.place.as_str());
    assert_eq!(told, Some("line 10, line 20"));
    assert_eq!(l.rows, 28);
    let whole = lines.concat();
    let cut = log(&whole[..whole.len() - 40]);
    assert!(has(&cut, "broken-line") || has(&cut, "last-line-cut"), "{:?}", codes(&cut));
    // Not a list of readings: refused, never an energy.
    for text in ["{\"name\":\"x\"}", "[1,2,3]", "{", "[", "{\"a\":{\"b\":1}}", "[[1,2],[3,4]]"] {
        let l = log(text);
        assert!(l.energy_wh.is_none() && !l.findings.is_empty(), "{text}");
    }
}
