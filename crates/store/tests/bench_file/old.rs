//! Every released version of the file opens for ever, and reads as it was written.
use crate::ground::{AT, model, stroke, test};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use trueplate_core::notebook::{Came, Settings, Specimen};
use trueplate_core::outgoing::{Chapter, Letter, ReaderQuestion, Video};
use trueplate_core::record::Record;
use trueplate_store::{Bench, SCHEMA};

fn old(version: i64) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/old/v{version}.trueplate"))
}

/// Writes the file of the present version: run once, when a version is released, and never again after.
/// `cargo test -p trueplate-store write_this_version -- --ignored`
#[test]
#[ignore = "writes tests/old; run once for each released version"]
fn write_this_version() {
    let mut b = Bench::create(&old(SCHEMA), AT).unwrap();
    let settings = Settings { tester: "Bench Nine".into(), met_from: 0.9, ..Settings::default() };
    let specimen = Specimen { id: "s1".into(), model: "m1".into(), came: Came::Lent, ..Specimen::default() };
    let first = [Record::Settings(settings), Record::Model(model("m1")), Record::Specimen(specimen)];
    b.save(&first, &stroke("first")).unwrap();
    let mut t = test("t1", "0,98 kWh");
    t.entries.get_mut("energy").unwrap().files =
        vec![b.put_file(&b"time;W\n10:00;812\n"[..], "log.csv", "text/csv", AT).unwrap()];
    b.save(&[Record::Test(t.clone())], &stroke("").once("phone-1")).unwrap();
    t.entries.get_mut("energy").unwrap().text = "0,89 kWh".into();
    b.save(&[Record::Test(t), Record::Test(test("t2", "1 kWh"))], &stroke("digits swapped")).unwrap();
    let log = b.begin_log("run.csv", "text/csv", AT).unwrap();
    b.extend_log(log, b"10:00;812\n").unwrap();
    b.remove("test", "t2", &stroke("written twice")).unwrap();
}

/// What stands in version 1, read off the writing above.
#[test]
fn version_1_opens() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    fs::copy(old(1), &path).unwrap();
    let mut b = Bench::open(&path).unwrap();
    assert_eq!(b.verify().unwrap(), []);
    let n = b.notebook().unwrap();
    assert_eq!((n.settings.tester.as_str(), n.settings.met_from), ("Bench Nine", 0.9));
    assert_eq!((n.models.len(), n.models[0].per_outlet_w), (1, 1e3 / 7.0));
    assert_eq!(n.models[0].claims[1].text, "11.3 kg");
    assert_eq!((n.specimens.len(), n.specimens[0].came), (1, Came::Lent));
    assert_eq!(n.tests.len(), 1);
    let entry = &n.tests[0].entries["energy"];
    assert_eq!((n.tests[0].id.as_str(), entry.text.as_str()), ("t1", "0,89 kWh"));
    assert_eq!(b.file(&entry.files[0].sha256).unwrap(), b"time;W\n10:00;812\n");
    assert_eq!(n.changes.len(), 2);
    let c = &n.changes[0];
    assert_eq!((c.field.as_str(), c.old.as_str()), ("/entries/energy/text", "\"0,98 kWh\""));
    assert_eq!((c.at.as_str(), c.why.as_str()), (AT, "digits swapped"));
    assert!(b.once("phone-1").unwrap().is_some());
    assert_eq!(b.running_log(1).unwrap(), b"10:00;812\n");
    b.undo(n.changes[1].stroke, AT).unwrap();
    assert_eq!(b.notebook().unwrap().tests.len(), 2);
}

/// What version 1 had no words for reads as not written down; a record saved again unchanged makes no history; and the
/// new sorts of record are kept, changed and taken back in an old file.
#[test]
fn version_1_takes_what_came_later() {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("a.trueplate");
    fs::copy(old(1), &path).unwrap();
    let mut b = Bench::open(&path).unwrap();
    let n = b.notebook().unwrap();
    assert!(n.letters.is_empty() && n.questions.is_empty() && n.videos.is_empty());
    let mut specimen = n.specimens[0].clone();
    assert!(specimen.terms.unwritten());
    let again = b.save(&[Record::Specimen(specimen.clone())], &stroke("looked at")).unwrap();
    assert_eq!(again.stroke, None, "an unchanged record makes no history");
    specimen.terms.paid_links = Some(false);
    let letter =
        Letter { id: "l1".into(), model: "m1".into(), sent: "2026-05-12".into(), ..Letter::default() };
    let question = ReaderQuestion { id: "q1".into(), text: "How loud?".into(), ..ReaderQuestion::default() };
    let chapters = vec![Chapter { at: "0:00".into(), title: "The answer".into() }];
    let script = b.put_file(&b"911 watt-hours"[..], "script.txt", "text/plain", AT).unwrap();
    let video = Video { id: "v1".into(), model: "m1".into(), chapters, script, ..Video::default() };
    let all = [
        Record::Specimen(specimen.clone()),
        Record::Letter(letter.clone()),
        Record::Question(question.clone()),
        Record::Video(video.clone()),
    ];
    b.save(&all, &stroke("")).unwrap();
    let answered = Letter { answered: "2026-05-20".into(), ..letter.clone() };
    let second = b.save(&[Record::Letter(answered.clone())], &stroke("answer came")).unwrap();
    let n = b.notebook().unwrap();
    assert_eq!((n.specimens[0].clone(), n.letters.clone()), (specimen, vec![answered]));
    assert_eq!((n.questions, n.videos), (vec![question], vec![video]));
    let change = n.changes.last().unwrap();
    assert_eq!((change.record.as_str(), change.field.as_str()), ("letter", "/answered"));
    b.undo(second.stroke.unwrap(), AT).unwrap();
    assert_eq!(b.notebook().unwrap().letters, [letter]);
    assert_eq!(b.verify().unwrap(), []);
}

/// Every version up to the present one has its file, and the newest step is the one it was written with.
#[test]
fn every_version_has_its_file_and_the_tables_are_as_released() {
    let tables = |path: &Path| {
        let conn =
            rusqlite::Connection::open_with_flags(path, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY).unwrap();
        let mut ask = conn.prepare("SELECT name, sql FROM sqlite_schema ORDER BY name").unwrap();
        let rows = ask.query_map([], |r| Ok((r.get(0)?, r.get(1)?))).unwrap();
        rows.map(Result::unwrap).collect::<Vec<(String, Option<String>)>>()
    };
    let folder = TempDir::new().unwrap();
    for version in 1..=SCHEMA {
        let (released, copy) = (old(version), folder.path().join(format!("v{version}")));
        fs::copy(&released, &copy).unwrap();
        drop(Bench::open(&copy).unwrap());
        let fresh = folder.path().join(format!("fresh{version}"));
        drop(Bench::create(&fresh, AT).unwrap());
        assert_eq!(
            tables(&copy),
            tables(&fresh),
            "version {version} brought up to date differs from a new bench"
        );
    }
}
