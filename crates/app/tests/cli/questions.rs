//! `demo`, `report`, `publish`, `plan`, `answer`, `script`, `log`: what is asked of a bench and of files.
use super::run::trueplate;
use std::fs;
use std::path::Path;
use trueplate_store::Bench;

fn demo() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    assert_eq!(trueplate(dir.path(), &["demo", "--no-serve"]).code, 0);
    dir
}

fn meter_log(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../meters/tests/logs").join(name).display().to_string()
}

#[test]
fn the_demo_is_written_once_kept_and_never_over_something_else() {
    let dir = demo();
    let before = fs::read(dir.path().join("demo.trueplate")).unwrap();
    assert_eq!(trueplate(dir.path(), &["demo", "--no-serve"]).code, 0);
    assert!(before == fs::read(dir.path().join("demo.trueplate")).unwrap(), "a demo bench is left as it is");
    trueplate(dir.path(), &["new", "mine.trueplate"]);
    trueplate(dir.path(), &["demo", "--no-serve", "--into", "mine.trueplate"])
        .stopped(2, &["mine.trueplate", "no demo bench"]);
    trueplate(dir.path(), &["demo", "--no-serve", "--replace", "--into", "mine.trueplate"])
        .stopped(2, &["mine.trueplate"]);
    let (a, b) = (trueplate(dir.path(), &["report", "demo.trueplate", "--json"]), {
        assert_eq!(trueplate(dir.path(), &["demo", "--no-serve", "--replace"]).code, 0);
        trueplate(dir.path(), &["report", "demo.trueplate", "--json"])
    });
    assert!(a.out == b.out, "the demo has the same content every time");
}

#[test]
fn the_report_holds_fourteen_models_with_the_promised_keys() {
    let dir = demo();
    let json = trueplate(dir.path(), &["report", "demo.trueplate", "--json"]).json();
    let models = json["models"].as_array().unwrap();
    assert_eq!(models.len(), 14);
    for model in models {
        for key in ["id", "name", "specimens", "results", "verdicts", "law", "ranks", "findings"] {
            assert!(model.get(key).is_some(), "{key} is not in {}", model["id"]);
        }
        for result in model["results"].as_array().unwrap() {
            for key in ["key", "condition", "specimen", "firmware", "value", "n", "tests", "superseded"] {
                assert!(result.get(key).is_some(), "{key}");
            }
            assert!(result["value"]["value"].is_number() && result["value"]["unit"].is_string());
        }
        for verdict in model["verdicts"].as_array().unwrap() {
            for key in ["claim", "condition", "claimed", "measured", "p", "n", "k", "bound", "verdict"] {
                assert!(verdict.get(key).is_some(), "{key}");
            }
        }
    }
    assert_eq!(json["bench"]["as_of"], "2026-06-30");
    let one = trueplate(dir.path(), &["report", "demo.trueplate", "--model", "Fell 1010", "--json"]).json();
    assert_eq!(one["models"].as_array().unwrap().len(), 1);
    // A quarter and half of 1750 W were run with its first sample, 80 % of them are 1400 W.
    let text = trueplate(dir.path(), &["report", "demo.trueplate", "--model", "U07"]).out;
    let curve = text.lines().find(|l| l.contains("look: curve of U07-A: ")).expect("what its curve lacks");
    assert!(curve.contains("Every full discharge was made between 4"), "{curve}");
    assert!(curve.ends_with("discharge at 1400 W to the cut-off."), "{curve}");
    trueplate(dir.path(), &["report", "demo.trueplate", "--model", "cairn"])
        .stopped(2, &["cairn", "Gorsefell Cairn 530"]);
    trueplate(dir.path(), &["report", "demo.trueplate", "--model", "zeppelin"]).stopped(2, &["zeppelin"]);
    trueplate(dir.path(), &["report", "demo.trueplate", "--as-of", "June"])
        .stopped(2, &["June", "2026-06-30"]);
}

#[test]
fn publishing_writes_once_and_checks_without_writing() {
    let dir = demo();
    let publish = |more: &[&str]| {
        trueplate(dir.path(), &[&["publish", "demo.trueplate", "--to", "site"], more].concat())
    };
    // Nothing stands in the way, and what was never published cannot be out of date.
    assert_eq!(publish(&["--check"]).code, 0);
    assert!(!dir.path().join("site").exists());
    assert_eq!(publish(&[]).code, 0);
    assert_eq!(publish(&["--check"]).code, 0);
    let again = publish(&["--json"]).json();
    assert_eq!(again["pages"]["written"], 0, "{again}");
    fs::write(dir.path().join("site/index.html"), "edited").unwrap();
    assert_eq!(publish(&["--check"]).code, 1, "a page edited by hand is not as the bench has it");
    assert_eq!(publish(&["--json"]).json()["pages"]["written"], 1);
    let earlier = trueplate(
        dir.path(),
        &["publish", "demo.trueplate", "--to", "site", "--check", "--as-of", "2026-01-31"],
    );
    assert_eq!(earlier.code, 1, "pages of another day are out of date: {}", earlier.out);
    fs::create_dir(dir.path().join("taxes")).unwrap();
    fs::write(dir.path().join("taxes/2025.txt"), "1").unwrap();
    trueplate(dir.path(), &["publish", "demo.trueplate", "--to", "taxes"])
        .stopped(2, &["taxes", "not published from here"]);
}

#[test]
fn a_plan_has_steps_and_a_calendar() {
    let dir = demo();
    let words = ["plan", "demo.trueplate", "Drabbleford", "--json", "--ics", "days.ics"];
    let json = trueplate(dir.path(), &words).json();
    for key in ["steps", "missing", "elapsed_h", "calendar_h"] {
        assert!(json.get(key).is_some(), "{key}");
    }
    let calendar = fs::read_to_string(dir.path().join("days.ics")).unwrap();
    assert!(calendar.starts_with("BEGIN:VCALENDAR\r\n") && calendar.ends_with("END:VCALENDAR\r\n"));
}

#[test]
fn the_answer_names_the_trap_of_small_loads() {
    let dir = demo();
    let ask =
        |device: &str| trueplate(dir.path(), &["answer", "demo.trueplate", "--json", "--device", device]);
    let json = ask("router, 12 W").json();
    let of = |name: &str| {
        json["models"]
            .as_array()
            .unwrap()
            .iter()
            .find(|m| m["name"].as_str().unwrap().contains(name))
            .unwrap()
            .clone()
    };
    // The Wayfarer switches off after 60 min below 15 W, and that cannot be disabled.
    assert_eq!(of("Wayfarer")["answer"], "no");
    assert!(of("Wayfarer")["why"].as_str().unwrap().contains("60 min"), "{}", of("Wayfarer"));
    assert!(json["cheapest"].is_object() && json["runner_up"].is_object());
    // One leg of the Colossus gives 1750 W.
    let leg = ask("heater, 2000 W, 1 h/day").json();
    let colossus = leg["models"]
        .as_array()
        .unwrap()
        .iter()
        .find(|m| m["name"].as_str().unwrap().contains("Colossus"))
        .unwrap();
    assert_eq!(colossus["answer"], "no", "{colossus}");
    let medical = ask("cpap, 58 W, 8 h/day, medical").json();
    assert!(medical["cheapest"].is_null() && !medical["caution"].as_str().unwrap().is_empty());
    ask("lamp, 60 Wh").stopped(2, &["60 Wh", "watts"]);
    ask("lamp, 60 W, 25 h/day").stopped(2, &["25 h"]);
    ask("fridge, 85 W, start 20 W").stopped(2, &["20 W"]);
    ask("lamp, 0 W").stopped(2, &["0 W"]);
}

#[test]
fn a_script_is_checked_line_by_line() {
    let dir = demo();
    let script = "The Fell 1010 gives about 906 watt-hours at half load.\nIt claims 1010 watts per hour.\n";
    fs::write(dir.path().join("draft.txt"), script).unwrap();
    let run = trueplate(dir.path(), &["script", "demo.trueplate", "draft.txt", "--json"]);
    assert_eq!(run.code, 1);
    let lines = run.json()["lines"].clone();
    assert_eq!((&lines[0]["line"], &lines[0]["judgement"]), (&1.into(), &"agrees".into()));
    assert_eq!((&lines[1]["line"], &lines[1]["judgement"]), (&2.into(), &"wrong-unit".into()));
    fs::write(dir.path().join("good.txt"), "The Fell 1010 gives about 906 watt-hours at half load.\n")
        .unwrap();
    assert_eq!(trueplate(dir.path(), &["script", "demo.trueplate", "good.txt"]).code, 0);
    // The same in the code page of an old editor: 0x96 is its dash, 0xB1 its ± (Windows code page 1252).
    let old = b"The Fell 1010 gives about 906 watt-hours \x96 906 \xb1 13 Wh \x96 at half load.\n";
    fs::write(dir.path().join("old.txt"), old).unwrap();
    let json = trueplate(dir.path(), &["script", "demo.trueplate", "old.txt", "--json"]).json();
    assert_eq!(
        (&json["findings"][0]["code"], &json["findings"][0]["weight"]),
        (&"encoding".into(), &"note".into())
    );
    assert!(json["findings"][0]["text"].as_str().unwrap().contains("windows-1252"), "{json}");
    trueplate(dir.path(), &["script", "demo.trueplate", "gone.txt"]).stopped(2, &["gone.txt"]);
}

#[test]
fn a_log_is_understood_or_asks() {
    let dir = tempfile::tempdir().unwrap();
    let gap = trueplate(dir.path(), &["log", &meter_log("F10_zero_filled_gap.csv"), "--json"]);
    let json = gap.json();
    for key in [
        "rows",
        "first",
        "last",
        "span_s",
        "covered_s",
        "energy",
        "energy_bridged",
        "energy_counter",
        "power",
        "gaps",
        "cutoff",
        "cycles",
        "columns",
        "findings",
    ] {
        assert!(json.get(key).is_some(), "{key}");
    }
    let findings = json["findings"].as_array().unwrap();
    assert!(findings.iter().any(|f| f["code"] == "zero-filled-gap"), "{findings:?}");
    let asks = trueplate(dir.path(), &["log", &meter_log("F03_ambiguous_date.csv")]);
    assert_eq!(asks.code, 1);
    assert!(asks.out.contains("day-first"), "{}", asks.out);
    let told = [
        "log",
        &meter_log("F03_ambiguous_date.csv"),
        "--map",
        "{\"date_order\":\"day-first\"}",
        "--zone",
        "UTC",
    ];
    assert_eq!(trueplate(dir.path(), &told).code, 0);
    trueplate(dir.path(), &["log", "gone.csv"]).stopped(2, &["gone.csv"]);
    trueplate(dir.path(), &["log", "."]).stopped(2, &["folder"]);
    trueplate(dir.path(), &["log", "x.csv", "--zone", "Mars/Base"]).stopped(2, &["Mars/Base"]);
}

#[test]
fn a_log_asks_with_answers_ready_to_type() {
    let dir = tempfile::tempdir().unwrap();
    let asked = trueplate(dir.path(), &["log", &meter_log("F03_ambiguous_date.csv")]);
    assert_eq!(asked.code, 1);
    let ready = asked
        .out
        .lines()
        .find(|l| l.contains("--map") && l.contains("day-first"))
        .expect("a ready answer")
        .trim();
    let map = ready.strip_prefix("--map '").and_then(|m| m.strip_suffix('\'')).expect("in quotes");
    let answered = trueplate(dir.path(), &["log", &meter_log("F03_ambiguous_date.csv"), "--map", map]);
    assert!(answered.code == 0 && answered.out.contains("2026-05-04T10:00:00"), "{}", answered.out);
}

#[test]
fn import_keeps_a_log_once_and_takes_a_table_over_once() {
    let dir = tempfile::tempdir().unwrap();
    trueplate(dir.path(), &["new", "b.trueplate"]);
    let log = meter_log("F10_zero_filled_gap.csv");
    let dry = trueplate(dir.path(), &["import", "b.trueplate", &log, "--dry-run", "--json"]).json();
    assert_eq!(
        (dry["as"].as_str(), dry["sha256"].is_null(), dry["dry_run"].as_bool()),
        (Some("log"), true, Some(true))
    );
    let first = trueplate(dir.path(), &["import", "b.trueplate", &log, "--json"]).json();
    assert_eq!((first["new"].as_bool(), first["log"]["rows"].as_u64()), (Some(true), Some(120)));
    let again = trueplate(dir.path(), &["import", "b.trueplate", &log, "--json"]).json();
    assert_eq!((again["new"].as_bool(), &again["sha256"]), (Some(false), &first["sha256"]));
    fs::write(dir.path().join("old.csv"), "Model;Capacity Wh;Weight\nTarnhobble Fell 1010;1010;12.9 kg\n")
        .unwrap();
    let table = trueplate(dir.path(), &["import", "b.trueplate", "old.csv", "--json"]).json();
    assert_eq!(
        (table["as"].as_str(), table["claims"].as_u64(), table["summaries"].as_u64()),
        (Some("table"), Some(1), Some(1))
    );
    let again = trueplate(dir.path(), &["import", "b.trueplate", "old.csv", "--json"]).json();
    assert_eq!((again["models"].as_array().map(Vec::len), again["unchanged"].as_u64()), (Some(0), Some(1)));
    let report = trueplate(dir.path(), &["report", "b.trueplate", "--json"]).json();
    assert_eq!(report["models"][0]["results"].as_array().map(Vec::len), Some(0), "a summary is no result");
    fs::write(dir.path().join("empty.csv"), "").unwrap();
    trueplate(dir.path(), &["import", "b.trueplate", "empty.csv"]).stopped(2, &["empty.csv", "empty"]);
    trueplate(dir.path(), &["import", "none.trueplate", "old.csv"]).stopped(2, &["none.trueplate"]);
}

#[test]
fn a_file_that_cannot_be_read_is_kept_once_and_its_answer_says_so_once() {
    let dir = tempfile::tempdir().unwrap();
    trueplate(dir.path(), &["new", "b.trueplate"]);
    fs::write(dir.path().join("note.txt"), "hello\nthis is no log\n").unwrap();
    let kept = || Bench::open_read_only(&dir.path().join("b.trueplate")).unwrap().files().unwrap().len();
    let dry = trueplate(dir.path(), &["import", "b.trueplate", "note.txt", "--dry-run"]);
    dry.stopped(2, &["note.txt", "would be kept"]);
    assert_eq!(kept(), 0);
    for (n, sort) in [[].as_slice(), &[], &["--as", "capture"], &["--as", "table"]].iter().enumerate() {
        let ended = trueplate(dir.path(), &[&["import", "b.trueplate", "note.txt"], *sort].concat());
        let as_it_is = if n == 0 { "is kept on the bench as it is" } else { "was kept already" };
        ended.stopped(2, &["note.txt", "could be read in it", as_it_is]);
        assert!(ended.out.is_empty(), "said twice: {}", ended.out);
        assert_eq!(ended.err.matches("kept").count(), 1, "{}", ended.err);
        assert_eq!(kept(), 1);
    }
    let log = trueplate(dir.path(), &["import", "b.trueplate", "note.txt", "--json"]);
    assert_eq!(
        (log.code, log.json()["readable"].as_bool(), log.json()["new"].as_bool()),
        (2, Some(false), Some(false))
    );
    trueplate(dir.path(), &["import", "b.trueplate", "note.txt"])
        .stopped(2, &["type the readings in by hand"]);
}

#[test]
fn a_file_that_is_not_there_is_said_without_the_systems_words() {
    let dir = tempfile::tempdir().unwrap();
    for words in [&["log", "gone.csv"][..], &["law", "gone.csv", "--at", "10"], &["wave", "gone.csv"]] {
        let ended = trueplate(dir.path(), words);
        ended.stopped(2, &["gone.csv: there is no such file; check the name"]);
        assert!(!ended.err.contains("os error"), "{}", ended.err);
    }
}
