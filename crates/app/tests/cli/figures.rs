//! `figures`: which pictures are drawn, kept and found out of date, and what stands in the way.
use super::run::{Ended, trueplate};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use trueplate::desk::{Deed, Desk};
use trueplate_core::kinds;
use trueplate_core::notebook::{Came, Claim, Notebook};
use trueplate_core::record::Record;
use trueplate_pages::figure::{keyword, raster};
use trueplate_store::Bench;

/// A bench with one weighed station: a strip, a claim and the disclosure.
fn weighed(folder: &Path, mass: &str, came: Came) {
    let example = kinds::find("mass").expect("the kind").example();
    let (mut model, mut specimen) =
        (example.notebook.models[0].clone(), example.notebook.specimens[0].clone());
    let claim = Claim { id: "m".into(), key: "mass".into(), text: "13.2 kg".into(), ..Claim::default() };
    (model.claims, model.name) = (vec![claim], "Gorsefell Cairn 530".into());
    (specimen.came, specimen.provenance) = (came, "bought online, paid in full".into());
    let mut test = example.test;
    test.id = "t1".into();
    test.entries.get_mut("mass").expect("the reading").text = mass.into();
    let mut records = vec![Record::Model(model), Record::Specimen(specimen), Record::Test(test)];
    records.extend(example.notebook.instruments.into_iter().map(Record::Instrument));
    let file = folder.join("bench.trueplate");
    if !file.exists() {
        drop(Bench::create(&file, "2026-05-03T08:00:00Z").expect("a new bench"));
    }
    let deed = |_: &Notebook| Ok::<_, anyhow::Error>(Deed { records, why: "read again".into(), then: () });
    Desk::open(&file).and_then(|d| d.act("", deed)).expect("the bench is kept");
}

fn figures(folder: &Path, more: &[&str]) -> Ended {
    let words = ["figures", "bench.trueplate", "--to", "pictures", "--as-of", "2026-06-30"];
    trueplate(folder, &[&words, more].concat())
}

fn strings(list: &serde_json::Value) -> Vec<String> {
    list.as_array().unwrap().iter().map(|p| p.as_str().unwrap().to_string()).collect()
}

#[test]
fn pictures_are_drawn_once_and_old_ones_are_found() {
    let dir = tempfile::tempdir().unwrap();
    weighed(dir.path(), "13.30 kg", Came::Bought);
    let first = figures(dir.path(), &["--size", "1080", "--json"]);
    assert_eq!(first.code, 0, "{}", first.err);
    let written = strings(&first.json()["written"]);
    let folder = dir.path().join("pictures");
    for path in &written {
        let bytes = fs::read(folder.join(path)).unwrap();
        let texts = raster::texts(&bytes);
        let of = |key: &str| texts.iter().find(|(k, _)| k == key).unwrap().1.clone();
        assert!(path.contains(&of(keyword::FACT).replace('/', ".")), "{path}");
        assert!(path.contains(&of(keyword::VERSION)[..8]) && path.contains("_1080_"), "{path}");
        // IHDR (PNG, third edition, 11.2.1): width and height at bytes 16 to 23.
        let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
        assert_eq!((number(16), number(20)), (1920, 1080));
    }
    let sorts = ["_strip_", "_claim_", "_disclosure_", "_clear_", "_plate_", "_clear-1_", "_plate-0_"];
    assert!(sorts.iter().all(|s| written.iter().any(|p| p.contains(s))), "{written:?}");

    // A second time nothing is touched; what is the owner's stays.
    fs::write(folder.join("notes.txt"), "mine").unwrap();
    fs::write(folder.join("photo.png"), "mine too").unwrap();
    let before: Vec<_> =
        written.iter().map(|p| fs::metadata(folder.join(p)).unwrap().modified().unwrap()).collect();
    let again = figures(dir.path(), &["--size", "1080", "--json"]).json();
    assert_eq!(strings(&again["written"]).len() + strings(&again["stale"]).len(), 0, "{again}");
    assert_eq!(strings(&again["unchanged"]), written);
    let after: Vec<_> =
        written.iter().map(|p| fs::metadata(folder.join(p)).unwrap().modified().unwrap()).collect();
    assert_eq!(before, after);

    // A picture somebody painted over is drawn anew.
    fs::write(folder.join(&written[0]), fs::read(folder.join(&written[1])).unwrap()).unwrap();
    assert_eq!(
        strings(&figures(dir.path(), &["--size", "1080", "--json"]).json()["written"]),
        [written[0].clone()]
    );

    // Another reading: the old pictures of the mass are out of date, also one that was renamed. None is deleted.
    let strip = written.iter().find(|p| p.contains("_strip_1080_clear_")).unwrap();
    fs::copy(folder.join(strip), folder.join("scene 3.png")).unwrap();
    weighed(dir.path(), "13.60 kg", Came::Bought);
    let newer = figures(dir.path(), &["--size", "1080", "--json"]).json();
    let stale: BTreeSet<String> =
        newer["stale"].as_array().unwrap().iter().map(|s| s["path"].as_str().unwrap().to_string()).collect();
    assert!(stale.contains(strip) && stale.contains("scene 3.png"), "{stale:?}");
    assert!(!stale.iter().any(|p| p.contains("_disclosure_")), "{stale:?}");
    assert!(newer["stale"][0]["now"].as_str().unwrap() != newer["stale"][0]["version"].as_str().unwrap());
    assert!(written.iter().all(|p| folder.join(p).exists()));
    assert!(figures(dir.path(), &["--size", "1080"]).out.contains("out of date"));
    assert_eq!(fs::read_to_string(folder.join("photo.png")).unwrap(), "mine too");
}

#[test]
fn letters_that_pictures_lack_are_said_before_they_are_drawn() {
    let dir = tempfile::tempdir().unwrap();
    weighed(dir.path(), "13.30 kg", Came::Bought);
    assert!(!figures(dir.path(), &["--size", "1080"]).err.contains("no letter"));
    let name = |n: &Notebook| {
        let mut model = n.models[0].clone();
        model.name = "شمس 530".into();
        Ok::<_, anyhow::Error>(Deed { records: vec![Record::Model(model)], why: String::new(), then: () })
    };
    Desk::open(&dir.path().join("bench.trueplate")).and_then(|d| d.act("", name)).unwrap();
    let said = figures(dir.path(), &["--size", "1080"]);
    assert!(said.code == 0 && said.err.contains("no letter for ش م س in the station"), "{}", said.err);
    assert!(said.err.contains("short name in Latin letters"), "{}", said.err);
    let json = figures(dir.path(), &["--size", "1080", "--json"]).json();
    assert_eq!(json["findings"][0]["code"].as_str(), Some("name-not-drawn"));
    let published = trueplate(dir.path(), &["publish", "bench.trueplate", "--to", "site", "--check"]);
    assert!(published.out.contains("no letter for"), "{}", published.out);
}

#[test]
fn what_stands_in_the_way_is_said() {
    let dir = tempfile::tempdir().unwrap();
    trueplate(dir.path(), &["new", "empty.trueplate"]);
    let at = |words: &[&str]| trueplate(dir.path(), &[&["figures"], words].concat());
    at(&["empty.trueplate", "--to", "p"]).stopped(1, &["empty.trueplate", "nothing to draw"]);
    assert!(!dir.path().join("p").exists());
    at(&["empty.trueplate", "--to", "p", "--size", "720"]).stopped(2, &["720", "1080", "2160", "vertical"]);
    at(&["empty.trueplate", "--to", "p", "--model", "zeppelin"]).stopped(2, &["zeppelin"]);
    at(&["empty.trueplate", "--to", "p", "--as-of", "June"]).stopped(2, &["June"]);
    at(&["missing.trueplate", "--to", "p"]).stopped(2, &["missing.trueplate"]);
    weighed(dir.path(), "13.30 kg", Came::Unknown);
    at(&["bench.trueplate", "--to", "p", "--model", "Cairn"])
        .stopped(1, &["Gorsefell Cairn 530", "how it came"]);
    weighed(dir.path(), "13.30 kg", Came::Bought);
    fs::write(dir.path().join("file"), "mine").unwrap();
    at(&["bench.trueplate", "--to", "file", "--size", "1080"]).stopped(2, &["file", "no folder"]);
    assert_eq!(fs::read_to_string(dir.path().join("file")).unwrap(), "mine");
}
