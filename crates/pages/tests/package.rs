//! The data package against the rules of its standards, read back with nothing of our own writing.
mod bench;

use serde_json::Value as Json;
use std::collections::{BTreeMap, BTreeSet};
use trueplate_core::notebook::{Entry, FileRef, Notebook, Test};
use trueplate_pages::site::{Site, SiteOptions, site};

fn built(change: impl Fn(&mut Notebook)) -> Site {
    let mut notebook = bench::notebook();
    change(&mut notebook);
    site(&bench::computed(notebook), &SiteOptions::default())
}

fn package(site: &Site) -> Json {
    serde_json::from_slice(&site.files["datapackage.json"]).expect("a JSON document")
}

fn resources(package: &Json) -> &Vec<Json> {
    package["resources"].as_array().expect("resources")
}

/// Lines of a table by the names of its columns, read by the rules of RFC 4180.
fn table(site: &Site, name: &str) -> Vec<BTreeMap<String, String>> {
    let text = std::str::from_utf8(&site.files[&format!("data/{name}.csv")]).expect("UTF-8");
    let mut lines = split(text).into_iter();
    let head = lines.next().expect("names of columns");
    lines
        .map(|line| {
            assert_eq!(line.len(), head.len(), "{name}: {line:?}");
            head.iter().cloned().zip(line).collect()
        })
        .collect()
}

fn split(text: &str) -> Vec<Vec<String>> {
    let (mut lines, mut line, mut cell, mut quoted) = (Vec::new(), Vec::new(), String::new(), false);
    let mut signs = text.chars().peekable();
    while let Some(c) = signs.next() {
        match c {
            '"' if quoted && signs.peek() == Some(&'"') => cell.push(signs.next().expect("the second quote")),
            '"' => quoted = !quoted,
            ',' if !quoted => line.push(std::mem::take(&mut cell)),
            '\r' if !quoted && signs.peek() == Some(&'\n') => {
                signs.next();
                line.push(std::mem::take(&mut cell));
                lines.push(std::mem::take(&mut line));
            }
            c => cell.push(c),
        }
    }
    assert!(line.is_empty() && cell.is_empty() && !quoted, "the last line is closed");
    lines
}

#[test]
fn the_description_keeps_the_rules_of_the_standard() {
    let site = built(|_| ());
    let package = package(&site);
    // Data Package 2.0: `resources` is required; `name` of package and resource: lower case, "-", "_", ".", "/".
    let name = |j: &Json| {
        let name = j["name"].as_str().expect("a name");
        assert!(
            name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b"-_./".contains(&b)),
            "{name}"
        );
        name.to_string()
    };
    name(&package);
    assert_eq!(package["$schema"], "https://datapackage.org/profiles/2.0/datapackage.json");
    assert_eq!(package["licenses"][0]["name"], "notspecified", "this bench chose none");
    let names: BTreeSet<String> = resources(&package).iter().map(name).collect();
    assert_eq!(names.len(), resources(&package).len(), "names are used once");
    for resource in resources(&package) {
        let path = resource["path"].as_str().expect("one path");
        // Data Resource 2.0, "path": no absolute path, no step upwards.
        assert!(!path.starts_with('/') && !path.contains("..") && !path.contains(':'), "{path}");
        assert!(site.files.contains_key(path), "{path}");
        // Both are optional; with them every changed reading would change the description too.
        assert!(resource.get("bytes").is_none() && resource.get("hash").is_none(), "{path}");
    }
    for table in trueplate_pages::package::TABLES {
        assert!(names.contains(table), "{table}");
    }
}

/// Whether a cell is a value of its column's type (Table Schema 2.0, "Field Types").
fn fits(sort: &str, cell: &str) -> bool {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    match sort {
        "string" => true,
        "number" => cell == "INF" || cell.parse::<f64>().is_ok_and(f64::is_finite),
        "integer" => digits(cell),
        "boolean" => cell == "true" || cell == "false",
        "date" => cell.len() == 10 && digits(&cell.replace('-', "")),
        "datetime" => cell.len() >= 20 && cell.as_bytes()[10] == b'T',
        other => panic!("no field type {other}"),
    }
}

#[test]
fn every_cell_is_of_its_type_or_a_labelled_gap_and_every_key_holds() {
    let site = built(|_| ());
    let package = package(&site);
    let schemas = resources(&package).iter().filter(|r| r["type"] == "table");
    let mut gaps = BTreeSet::new();
    for resource in schemas.clone() {
        let name = resource["name"].as_str().expect("a name");
        let lines = table(&site, name);
        assert!(!lines.is_empty(), "{name} has no line");
        for field in resource["schema"]["fields"].as_array().expect("fields") {
            let own = field.get("missingValues").unwrap_or(&resource["schema"]["missingValues"]);
            let missing: Vec<&str> = own
                .as_array()
                .expect("a list")
                .iter()
                .map(|m| m["value"].as_str().expect("a word"))
                .collect();
            assert!(
                own.as_array()
                    .expect("a list")
                    .iter()
                    .all(|m| m["label"].as_str().is_some_and(|l| l.len() > 3))
            );
            let column = field["name"].as_str().expect("a name");
            assert!(field["description"].as_str().is_some_and(|d| d.len() > 3), "{name}.{column}");
            for line in &lines {
                let cell = line[column].as_str();
                if missing.contains(&cell) {
                    gaps.insert(cell.to_string());
                } else {
                    assert!(fits(field["type"].as_str().expect("a type"), cell), "{name}.{column}: {cell:?}");
                }
            }
            if let Some(other) = field["unitField"].as_str() {
                let of =
                    |l: &BTreeMap<String, String>| !l[other].is_empty() || l[column].parse::<f64>().is_err();
                assert!(lines.iter().all(of), "{name}.{column}: a number without a unit");
            }
        }
        let key: Vec<&str> = resource["schema"]["primaryKey"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(Json::as_str)
            .collect();
        let keys: BTreeSet<Vec<&String>> =
            lines.iter().map(|l| key.iter().map(|k| &l[*k]).collect()).collect();
        assert!(key.is_empty() || keys.len() == lines.len(), "{name}: {key:?} names no line alone");
        for foreign in resource["schema"]["foreignKeys"].as_array().into_iter().flatten() {
            let (own, there) = (foreign["fields"][0].as_str().expect("a field"), &foreign["reference"]);
            let other = table(&site, there["resource"].as_str().expect("a table"));
            let ids: BTreeSet<&str> =
                other.iter().map(|l| l[there["fields"][0].as_str().expect("a field")].as_str()).collect();
            assert!(lines.iter().all(|l| ids.contains(l[own].as_str())), "{name}.{own}");
        }
    }
    for word in ["", "not tested", "no instrument"] {
        assert!(gaps.contains(word), "no gap says {word:?}: {gaps:?}");
    }
}

#[test]
fn a_result_carries_its_unit_its_doubt_and_its_verdict() {
    let site = built(|_| ());
    let results = table(&site, "results");
    let line = |key: &str, scope: &str| {
        let mut of =
            results.iter().filter(|l| l["result"] == key && l["scope"] == scope && l["model"] == "u06");
        of.next().unwrap_or_else(|| panic!("no {key} of scope {scope}"))
    };
    let mass = line("mass", "specimen");
    // Read as 13.30 kg in steps of 0.05 kg: u = 0.05 / √12 = 0.014434 kg.
    let number = |text: &str| text.parse::<f64>().expect("a number");
    assert!((number(&mass["value"]) - 13.30).abs() < 1e-9 && (number(&mass["u"]) - 0.014_434).abs() < 1e-6);
    assert_eq!(mass["unit"], "kg");
    let switch = line("switchover", "model");
    // Seven of the twenty times typed are above 10 ms (tests/json.rs lists them).
    assert_eq!((switch["trials"].as_str(), switch["beyond"].as_str()), ("20", "7"));
    assert_eq!((switch["verdict"].as_str(), switch["unit"].as_str()), ("not-met", "ms"));
    let untested = results.iter().find(|l| l["value"] == "not tested").expect("something was not tested");
    assert!(untested["u"].is_empty() && untested["scope"] == "model");
    let readings = table(&site, "readings");
    let counter =
        readings.iter().find(|l| l["test"] == "t01" && l["field"] == "counter_end").expect("a reading");
    // The question is asked in kWh.
    assert_eq!(counter["unit"], "kW.h");
    assert!(!counter["typed"].is_empty() && number(&counter["value"]) > 0.0);
}

#[test]
fn formulas_are_texts_in_tables_and_workbook_and_numbers_stay_numbers() {
    let armed = "=HYPERLINK(\"x\",\"y\")";
    let site = built(|n| {
        n.models.iter_mut().for_each(|m| m.name = armed.into());
        n.loads.iter_mut().for_each(|l| l.name = "@SUM(A1)".into());
        n.specimens.iter_mut().for_each(|s| s.label = "\tcmd".into());
        n.instruments[0].calibrations[0].gain_error = -0.009;
        n.instruments[0].calibrations[0].against = "-1+2".into();
    });
    for (path, bytes) in site.files.iter().filter(|(p, _)| p.ends_with(".csv")) {
        let first = |cell: &String| {
            cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err()
        };
        let bad: Vec<String> =
            split(std::str::from_utf8(bytes).expect("UTF-8")).into_iter().flatten().filter(first).collect();
        assert!(bad.is_empty(), "{path}: {bad:?}");
    }
    assert_eq!(table(&site, "models")[0]["name"], format!("'{armed}"));
    let calibration = &table(&site, "calibrations")[0];
    assert_eq!((calibration["gain_error"].as_str(), calibration["against"].as_str()), ("-0.009", "'-1+2"));
    // A workbook is a ZIP file; its parts are packed, so that its own text is looked at by a reader of the format
    // (`tests/derive/package.py`). Here: it is one, and equal benches give equal bytes.
    assert!(site.files["data/bench.xlsx"].starts_with(b"PK\x03\x04"));
}

#[test]
fn a_changed_reading_changes_few_files_and_nothing_else() {
    let before = built(|_| ());
    assert!(before.files == built(|_| ()).files, "equal benches give equal bytes");
    let after = built(|n| {
        let test = n.tests.iter_mut().find(|t| t.id == "t01").expect("a discharge");
        test.entries.get_mut("counter_end").expect("its counter").text = "918 Wh".into();
    });
    let changed: Vec<&String> = before.files.keys().filter(|p| before.files[*p] != after.files[*p]).collect();
    assert!(changed.len() <= 10, "{changed:?}");
    assert!(
        changed.iter().any(|p| *p == "data/readings.csv") && !changed.iter().any(|p| *p == "data/claims.csv")
    );
}

#[test]
fn files_that_tests_were_computed_from_go_along_and_photos_stay() {
    let file = |letter: &str, name: &str, media: &str| FileRef {
        sha256: letter.repeat(64),
        name: name.into(),
        media: media.into(),
    };
    let mut notebook = bench::notebook();
    let test = notebook.tests.iter_mut().find(|t| t.specimen == "u06a").expect("a test");
    let entry = test.entries.values_mut().next().expect("an entry");
    entry.files = vec![file("a", "../my home.CSV", "text/csv"), file("b", "kitchen.csv", "image/jpeg")];
    // Of a station that is not shown nothing goes along.
    let hidden = Test { id: "h".into(), specimen: "u14a".into(), ..Test::default() };
    let entry = Entry { files: vec![file("c", "log.csv", "text/csv")], ..Entry::default() };
    notebook.tests.push(Test { entries: BTreeMap::from([("log".into(), entry)]), ..hidden });
    let kept = BTreeMap::from([("a".repeat(64), 1234), ("b".repeat(64), 5), ("c".repeat(64), 6)]);
    let built = site(&bench::computed(notebook), &SiteOptions { kept, ..SiteOptions::default() });
    let [original] = built.originals.as_slice() else { panic!("{:?}", built.originals) };
    assert_eq!(original.path, format!("data/files/{}.csv", "a".repeat(16)));
    let package = package(&built);
    let resource =
        resources(&package).iter().find(|r| r["path"] == original.path.as_str()).expect("it is listed");
    assert_eq!((&resource["bytes"], &resource["mediatype"]), (&1234.into(), &"text/csv".into()));
    assert_eq!(resource["hash"], format!("sha256:{}", "a".repeat(64)));
    let page = String::from_utf8_lossy(&built.files["m/tarnhobble-fell-1010.html"]).into_owned();
    assert!(page.contains(&format!("href=\"../{}\"", original.path)), "the reading leads to its file");
    assert!(!package.to_string().contains("my home"));
}

#[test]
fn facts_are_published_with_id_and_version_and_no_undated_price() {
    let site = built(|n| {
        let fell = n.models.iter_mut().find(|m| m.id == "u06").expect("the Fell");
        let undated =
            trueplate_core::notebook::Price { on: String::new(), amount: 55_512.0, ..fell.prices[0].clone() };
        fell.prices.push(undated);
    });
    let facts: Json = serde_json::from_slice(&site.files["facts.json"]).expect("a JSON document");
    let all = facts["facts"].as_array().expect("facts");
    assert!(all.len() > 20 && all.iter().all(|f| f["version"].as_str().is_some_and(|v| v.len() == 16)));
    for (path, bytes) in &site.files {
        let text = String::from_utf8_lossy(bytes);
        assert!(!text.contains("55512") && !text.contains("55\u{202f}512"), "{path}: an undated price");
    }
    assert!(
        all.iter().all(|f| f["name"] != "Trundlemere Barge 4230"),
        "a model that is not shown has no facts"
    );
}
