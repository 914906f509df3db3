//! Publishing from the running app, which remembers: the folder is that of a program which remembers nothing.
use super::bench::Served;
use super::client::{multipart, post};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;
use trueplate_core::notebook::Notebook;
use trueplate_meters::sheet::sheet;

/// Every file but the list of sums, with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let (mut found, mut folders) = (BTreeMap::new(), vec![folder.to_path_buf()]);
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).expect("inside").display().to_string();
                found.insert(name, fs::read(&path).expect("a file"));
            }
        }
    }
    found
}

fn publish(s: &Served, to: &Path) -> BTreeMap<String, Vec<u8>> {
    let done = post(s.port, "/publish", &[("folder", &to.display().to_string())]);
    assert_eq!(done.status, 200, "{}", done.body);
    files(to)
}

/// Another program, begun for it, publishes the same bench.
fn by_another(s: &Served, to: &Path) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_trueplate"));
    let done = command.arg("publish").arg(&s.file).arg("--to").arg(to).output();
    assert!(done.expect("the program").status.success());
}

/// What another program publishes of the same bench into a new folder.
fn from_nothing(s: &Served) -> BTreeMap<String, Vec<u8>> {
    let to = s.folder.path().join("fresh");
    by_another(s, &to);
    let found = files(&to);
    fs::remove_dir_all(&to).expect("the new folder");
    found
}

fn same(s: &Served, site: &BTreeMap<String, Vec<u8>>, step: &str) {
    let whole = from_nothing(s);
    let differ: Vec<&String> =
        site.keys().chain(whole.keys()).filter(|p| site.get(*p) != whole.get(*p)).collect();
    assert!(differ.is_empty(), "{step}: {differ:?}");
}

/// The first counter reading of the bench, typed anew.
fn retyped(s: &Served, to: &str) {
    let notebook: Notebook = s.notebook();
    let test = notebook.tests.iter().find(|t| t.entries.contains_key("counter_end")).expect("a discharge");
    let was = &test.entries["counter_end"];
    let fields = [
        ("field", "counter_end"),
        ("text", to),
        ("was", &was.text),
        ("instrument", &was.instrument),
        ("why", "typed wrong"),
    ];
    let path = format!("/test/{}/keep", super::client::encoded(&test.id));
    let kept = multipart(s.port, &path, &fields, &[], false);
    assert_eq!(kept.status, 303, "{}", kept.body);
}

#[test]
fn a_site_published_from_the_running_app_is_the_one_published_from_nothing() {
    let s = Served::demo();
    let to = s.folder.path().join("site");
    same(&s, &publish(&s, &to), "first");
    for (step, text) in ["901 Wh", "877 Wh", "901 Wh"].into_iter().enumerate() {
        retyped(&s, text);
        same(&s, &publish(&s, &to), &format!("reading {step}"));
    }
    // Somebody edits a page, and takes the list of sums away; another folder is published into meanwhile.
    fs::write(to.join("about.html"), "mine").expect("it is edited");
    publish(&s, &s.folder.path().join("other"));
    same(&s, &publish(&s, &to), "an edited page");
    // Another program publishes into the folder, and the app again.
    retyped(&s, "890 Wh");
    by_another(&s, &to);
    retyped(&s, "880 Wh");
    same(&s, &publish(&s, &to), "after another program");
}

/// The sheets are read by a reader of the format, and hold what the tables hold.
#[test]
fn the_workbook_says_what_the_tables_say() {
    let s = Served::demo();
    let site = publish(&s, &s.folder.path().join("site"));
    for name in ["models", "results", "claims", "prices", "instruments"] {
        let found = sheet(&site["data/bench.xlsx"], Some(name)).expect("a sheet");
        let csv = std::str::from_utf8(&site[&format!("data/{name}.csv")]).expect("text");
        let mut rows = csv.split_terminator("\r\n");
        let columns = rows.next().expect("names").split(',').count();
        // No text of the demo bench has a line in it, so a line is a row.
        assert_eq!(found.rows.len(), 1 + rows.clone().count(), "{name}");
        for (row, line) in found.rows[1..].iter().zip(rows) {
            assert!(row.len() <= columns, "{name}: {row:?}");
            // The first cell is a plain word: an id, or the scope.
            assert_eq!(Some(row[0].as_str()), line.split(',').next(), "{name}");
            for cell in row.iter().filter(|c| !c.is_empty() && !c.contains(['"', ','])) {
                let plain = line.to_lowercase().contains(&cell.trim_start_matches('\'').to_lowercase());
                assert!(plain, "{name}: {cell:?} is not in {line}");
            }
        }
    }
}
