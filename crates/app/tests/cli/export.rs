//! `export`: everything in a bench comes out in open formats, and nothing foreign is touched.
use super::run::trueplate;
use serde_json::Value as Json;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use trueplate_core::notebook::{Entry, Notebook, Test};
use trueplate_core::record::Record;
use trueplate_store::{Bench, Stroke};

const AT: &str = "2026-07-01T10:00:00Z";

/// The demo bench with what is awkward besides: files of equal names, formulas, a record that was taken out.
fn awkward(folder: &Path) -> Notebook {
    assert_eq!(trueplate(folder, &["demo", "--no-serve"]).code, 0);
    let mut bench = Bench::open(&folder.join("demo.trueplate")).expect("the demo bench");
    let log = bench.put_file(&b"time,W\r\n0,500\r\n"[..], "log.csv", "text/csv", AT).expect("kept");
    let other = bench.put_file(&b"time,W\r\n0,501\r\n"[..], "../LOG.csv", "text/csv", AT).expect("kept");
    let entry = Entry {
        text: "=HYPERLINK(\"x\")".into(),
        files: vec![log, other],
        note: "'tis".into(),
        ..Entry::default()
    };
    let test = Test {
        id: "extra".into(),
        kind: "usable-energy".into(),
        specimen: "U06-A".into(),
        entries: BTreeMap::from([("power".to_string(), entry)]),
        note: "a line\nand another, with \"quotes\"".into(),
        ..Test::default()
    };
    let gone = Test { id: "gone".into(), note: "taken out again".into(), ..test.clone() };
    bench.save(&[Record::Test(test), Record::Test(gone)], &Stroke::at(AT).why("extra")).expect("saved");
    bench.remove("test", "gone", &Stroke::at(AT).why("a slip")).expect("removed");
    bench.notebook().expect("the notebook")
}

/// Lines of a table, by the rules of RFC 4180, one leading apostrophe taken away.
fn table(text: &str) -> Vec<Vec<String>> {
    let (mut lines, mut line, mut cell, mut quoted) = (Vec::new(), Vec::new(), String::new(), false);
    let mut signs = text.chars().peekable();
    let done = |cell: &mut String| {
        let text = std::mem::take(cell);
        text.strip_prefix('\'').map_or(text.clone(), String::from)
    };
    while let Some(c) = signs.next() {
        match c {
            '"' if quoted && signs.peek() == Some(&'"') => cell.push(signs.next().expect("a quote")),
            '"' => quoted = !quoted,
            ',' if !quoted => line.push(done(&mut cell)),
            '\r' if !quoted && signs.peek() == Some(&'\n') => {
                signs.next();
                line.push(done(&mut cell));
                lines.push(std::mem::take(&mut line));
            }
            c => cell.push(c),
        }
    }
    lines
}

fn json(folder: &Path, name: &str) -> Json {
    serde_json::from_slice(&fs::read(folder.join(name)).expect(name)).expect("one document")
}

/// The notebook put together again from `bench.json` and `history.json` alone.
fn back(folder: &Path) -> Notebook {
    let mut n = Notebook::default();
    for record in json(folder, "bench.json")["records"].as_array().expect("records") {
        let document = record["document"].clone();
        let read = "every record is read back";
        match record["sort"].as_str().expect("a sort") {
            "settings" => n.settings = serde_json::from_value(document).expect(read),
            "model" => n.models.push(serde_json::from_value(document).expect(read)),
            "specimen" => n.specimens.push(serde_json::from_value(document).expect(read)),
            "instrument" => n.instruments.push(serde_json::from_value(document).expect(read)),
            "load" => n.loads.push(serde_json::from_value(document).expect(read)),
            "letter" => n.letters.push(serde_json::from_value(document).expect(read)),
            "question" => n.questions.push(serde_json::from_value(document).expect(read)),
            "video" => n.videos.push(serde_json::from_value(document).expect(read)),
            "test" => n.tests.push(serde_json::from_value(document).expect(read)),
            other => panic!("a record of the sort {other}"),
        }
    }
    n
}

#[test]
fn everything_in_the_notebook_comes_out_and_can_be_read_back() {
    let dir = tempfile::tempdir().unwrap();
    let notebook = awkward(dir.path());
    let ran = trueplate(dir.path(), &["export", "demo.trueplate", "out"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let out = dir.path().join("out");
    let read = back(&out);
    assert_eq!(Notebook { changes: Vec::new(), ..notebook.clone() }, read);
    // The history: each change of the notebook, and the first writing and removal of what is no longer in it.
    let history = json(&out, "history.json");
    let changes = history["changes"].as_array().unwrap();
    for c in &notebook.changes {
        let found = changes.iter().find(|x| x["seq"] == c.seq).unwrap_or_else(|| panic!("change {}", c.seq));
        let old: Json = serde_json::from_str(&c.old).unwrap();
        assert_eq!(
            (&found["old"], &found["field"], &found["id"]),
            (&old, &c.field.clone().into(), &c.id.clone().into())
        );
    }
    let gone: Vec<&Json> = changes.iter().filter(|c| c["id"] == "gone").collect();
    assert_eq!(gone.len(), 2, "written and taken out");
    assert_eq!(gone[0]["new"]["note"], "taken out again");
    let strokes = history["strokes"].as_array().unwrap();
    assert!(strokes.iter().any(|s| s["why"] == "a slip") && strokes[0]["why"] == "bench begun");
    // Tables: every value of every record, texts exactly as they were.
    let records = table(&fs::read_to_string(out.join("records.csv")).unwrap());
    let cells: BTreeSet<(&str, &str, &str)> =
        records.iter().map(|r| (r[1].as_str(), r[2].as_str(), r[4].as_str())).collect();
    assert!(cells.contains(&("extra", "/entries/power/text", "=HYPERLINK(\"x\")")));
    assert!(cells.contains(&("extra", "/entries/power/note", "'tis")));
    for test in &notebook.tests {
        for (key, entry) in &test.entries {
            let at = format!("/entries/{key}/text");
            assert!(
                cells.contains(&(test.id.as_str(), at.as_str(), entry.text.as_str())),
                "{} {key}",
                test.id
            );
        }
    }
    assert!(cells.contains(&("extra", "/note", "a line\nand another, with \"quotes\"")));
    let rows = table(&fs::read_to_string(out.join("history.csv")).unwrap());
    assert_eq!(rows.len(), changes.len() + 1);
}

#[test]
fn files_come_out_under_their_names_and_the_rest_beside_them() {
    let dir = tempfile::tempdir().unwrap();
    awkward(dir.path());
    assert_eq!(trueplate(dir.path(), &["export", "demo.trueplate", "out"]).code, 0);
    let out = dir.path().join("out");
    // Equal names, one of them with a way out of the folder: both stay inside, told apart.
    assert_eq!(fs::read(out.join("files/log.csv")).unwrap(), b"time,W\r\n0,500\r\n");
    assert_eq!(fs::read(out.join("files/LOG (2).csv")).unwrap(), b"time,W\r\n0,501\r\n");
    let files = table(&fs::read_to_string(out.join("files.csv")).unwrap());
    assert!(files.iter().any(|f| f[..2] == ["files/LOG (2).csv", "../LOG.csv"]), "{files:?}");
    let kept = Bench::open_read_only(&dir.path().join("demo.trueplate")).unwrap().files().unwrap();
    for k in &kept {
        let row = files.iter().find(|f| f[4] == k.file.sha256).unwrap_or_else(|| panic!("{}", k.file.name));
        assert_eq!(fs::metadata(out.join(&row[0])).unwrap().len(), k.size);
    }
    assert_eq!(files.len(), kept.len() + 1);
    let package = json(&out, "package/datapackage.json");
    for resource in package["resources"].as_array().unwrap() {
        let path = out.join("package").join(resource["path"].as_str().unwrap());
        let length = fs::metadata(&path).unwrap().len();
        assert!(length > 0 && resource["bytes"].as_u64().is_none_or(|n| n == length), "{}", path.display());
    }
    // All fourteen stations are in it, whether they may be published or not.
    let models = table(&fs::read_to_string(out.join("package/data/models.csv")).unwrap());
    assert_eq!(models.len(), 15);
    let report = trueplate(dir.path(), &["report", "demo.trueplate", "--json"]).json();
    assert_eq!(json(&out, "report.json"), report);
    let facts = json(&out, "facts.json")["facts"].as_array().unwrap().len();
    assert!(facts > 200 && out.join("facts.md").is_file(), "{facts}");
    assert!(fs::read_to_string(out.join("README.txt")).unwrap().contains("bench.json"));
}

#[test]
fn a_foreign_folder_is_refused_and_foreign_files_stay() {
    let dir = tempfile::tempdir().unwrap();
    assert_eq!(trueplate(dir.path(), &["demo", "--no-serve"]).code, 0);
    trueplate(dir.path(), &["export", "demo.trueplate", "."]).stopped(2, &["not exported from here"]);
    trueplate(dir.path(), &["export", "gone.trueplate", "out"]).stopped(2, &["gone.trueplate"]);
    let out = dir.path().join("out");
    assert_eq!(trueplate(dir.path(), &["export", "demo.trueplate", "out"]).code, 0);
    fs::write(out.join("mine.txt"), "mine").unwrap();
    let again = trueplate(dir.path(), &["export", "demo.trueplate", "out"]);
    assert!(again.code == 0 && again.out.contains("1 file of your own"), "{} {}", again.out, again.err);
    assert_eq!(fs::read_to_string(out.join("mine.txt")).unwrap(), "mine");
    // The two purposes never share a folder.
    trueplate(dir.path(), &["publish", "demo.trueplate", "--to", "out"])
        .stopped(2, &["not published from here"]);
    assert_eq!(trueplate(dir.path(), &["publish", "demo.trueplate", "--to", "site"]).code, 0);
    trueplate(dir.path(), &["export", "demo.trueplate", "site"]).stopped(2, &["not exported from here"]);
}

#[test]
fn the_published_folder_carries_the_logs_of_tests_once() {
    let dir = tempfile::tempdir().unwrap();
    let notebook = awkward(dir.path());
    let publish = |more: &[&str]| {
        trueplate(dir.path(), &[&["publish", "demo.trueplate", "--to", "site", "--json"], more].concat())
            .json()
    };
    let first = publish(&[]);
    assert!(first["pages"]["written"].as_u64() > Some(20));
    let test = notebook.tests.iter().find(|t| t.id == "extra").unwrap();
    let log = &test.entries["power"].files[0];
    let published = dir.path().join(format!("site/data/files/{}.csv", &log.sha256[..16]));
    assert_eq!(fs::read(&published).unwrap(), b"time,W\r\n0,500\r\n");
    assert_eq!(publish(&[])["pages"]["written"], 0);
    fs::remove_file(&published).unwrap();
    assert_eq!(trueplate(dir.path(), &["publish", "demo.trueplate", "--to", "site", "--check"]).code, 1);
    assert_eq!(publish(&[])["pages"]["written"], 1, "a lost log comes back from the bench");
}
