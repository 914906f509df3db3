//! The notebook from how it stood before: whatever was written meanwhile, by whichever program, it is the whole notebook.
use crate::ground::{AT, fresh, model, stroke, test};
use trueplate_core::notebook::{Notebook, Settings, Specimen};
use trueplate_core::record::Record;
use trueplate_store::{Bench, Error};

/// Reads on from what is known and holds it against the whole.
fn follows(bench: &Bench, known: &mut (Notebook, i64), what: &str) {
    *known = bench.notebook_since(&known.0, known.1).unwrap();
    assert_eq!(*known, bench.notebook_at().unwrap(), "{what}");
    assert_eq!(known.1, bench.last_stroke().unwrap(), "{what}");
}

#[test]
fn every_way_of_writing_is_followed() {
    let (_folder, mut bench) = fresh();
    let mut known = bench.notebook_at().unwrap();
    let specimen = Specimen { id: "s1".into(), model: "m1".into(), ..Specimen::default() };
    bench.save(&[Record::Model(model("m1")), Record::Specimen(specimen)], &stroke("begun")).unwrap();
    follows(&bench, &mut known, "first written");
    for i in 1..4 {
        bench.save(&[Record::Test(test(&format!("t{i}"), "900 Wh"))], &stroke("a test")).unwrap();
    }
    follows(&bench, &mut known, "several strokes");
    let typed = bench.save(&[Record::Test(test("t2", "910 Wh"))], &stroke("typed wrong")).unwrap();
    follows(&bench, &mut known, "a reading changed");
    bench.undo(typed.stroke.unwrap(), AT).unwrap();
    follows(&bench, &mut known, "taken back");
    let gone = bench.remove("test", "t1", &stroke("not mine")).unwrap();
    follows(&bench, &mut known, "taken out");
    // It comes back where it stood, before the others.
    bench.undo(gone.stroke.unwrap(), AT).unwrap();
    follows(&bench, &mut known, "come back");
    assert_eq!(known.0.tests[0].id, "t1");
    bench.save(&[Record::Test(test("t4", "1 Wh"))], &stroke("new")).unwrap();
    bench.save(&[Record::Test(test("t4", "2 Wh"))], &stroke("and changed")).unwrap();
    bench
        .save(&[Record::Settings(Settings { tester: "Ada".into(), ..Settings::default() })], &stroke(""))
        .unwrap();
    follows(&bench, &mut known, "new and changed at once");
    bench.save(&[], &stroke("").once("a key")).unwrap();
    bench.put_file(&b"1,2,3"[..], "a.csv", "text/csv", AT).unwrap();
    follows(&bench, &mut known, "a key and a file");
}

#[test]
fn damage_in_what_was_written_is_named() {
    let (folder, mut bench) = fresh();
    bench.save(&[Record::Test(test("t1", "900 Wh"))], &stroke("a test")).unwrap();
    let (before, last) = bench.notebook_at().unwrap();
    bench.save(&[Record::Test(test("t1", "910 Wh"))], &stroke("typed wrong")).unwrap();
    let raw = rusqlite::Connection::open(folder.path().join("a.trueplate")).unwrap();
    raw.execute("UPDATE record SET body = replace(body, '910', '990')", []).unwrap();
    assert!(matches!(bench.notebook_since(&before, last), Err(Error::Damaged { .. })));
}
