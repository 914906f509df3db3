//! Saving and reading back, exactly once, and the edit that comes too late.
use crate::ground::{AT, fresh, model, stroke, test};
use trueplate_core::example_bench;
use trueplate_core::notebook::{Notebook, Test};
use trueplate_core::record::Record;
use trueplate_store::{Bench, Error, Saved};

fn records(n: &Notebook) -> Vec<Record> {
    let mut all = vec![Record::Settings(n.settings.clone())];
    all.extend(n.models.iter().cloned().map(Record::Model));
    all.extend(n.specimens.iter().cloned().map(Record::Specimen));
    all.extend(n.instruments.iter().cloned().map(Record::Instrument));
    all.extend(n.loads.iter().cloned().map(Record::Load));
    all.extend(n.tests.iter().cloned().map(Record::Test));
    all
}

#[test]
fn a_notebook_comes_back_as_it_was() {
    let (_folder, mut b) = fresh();
    let mut want = example_bench::notebook();
    want.models.push(model("awkward"));
    // Not in the order of their ids: tests stay in the order they were begun.
    want.tests = vec![test("z", "1 kWh"), test("a", "2 kWh"), test("m", "3 kWh")];
    let saved = b.save(&records(&want), &stroke("first")).unwrap();
    // Stroke 1 is the beginning of the bench itself.
    assert_eq!(saved, Saved { stroke: Some(2), again: false });
    assert_eq!(b.notebook().unwrap(), want);
    let path = b.path().to_path_buf();
    drop(b);
    assert_eq!(Bench::open(&path).unwrap().notebook().unwrap(), want);
    assert_eq!(Bench::open_read_only(&path).unwrap().notebook().unwrap(), want);
    assert_eq!(Bench::open(&path).unwrap().verify().unwrap(), []);
}

#[test]
fn editing_keeps_the_place() {
    let (_folder, mut b) = fresh();
    let begun = |ids: [&str; 3]| ids.map(|id| Record::Test(test(id, "1 kWh")));
    b.save(&begun(["z", "a", "m"]), &stroke("")).unwrap();
    b.save(&[Record::Test(test("z", "2 kWh"))], &stroke("")).unwrap();
    let gone = b.remove("test", "a", &stroke("")).unwrap().stroke.unwrap();
    let ids = |b: &Bench| b.notebook().unwrap().tests.iter().map(|t| t.id.clone()).collect::<Vec<_>>();
    assert_eq!(ids(&b), ["z", "m"]);
    b.undo(gone, AT).unwrap();
    assert_eq!(ids(&b), ["z", "a", "m"]);
}

#[test]
fn nothing_is_written_when_nothing_changed() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    let before = b.last_stroke().unwrap();
    let saved = b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    assert_eq!(saved, Saved { stroke: None, again: false });
    assert_eq!((b.last_stroke().unwrap(), b.revision("test", "t").unwrap()), (before, 1));
    assert_eq!(b.revision("test", "never").unwrap(), 0);
}

#[test]
fn a_key_is_saved_exactly_once() {
    let (_folder, mut b) = fresh();
    let read = |b: &Bench| b.notebook().unwrap().test("t").unwrap().entries["energy"].text.clone();
    let mut save = |text: &str, key: &str| {
        let saved = b.save(&[Record::Test(test("t", text))], &stroke("").once(key)).unwrap();
        (saved, read(&b))
    };
    let (first, _) = save("1 kWh", "k1");
    // The same value again under another key writes no change, but the key counts.
    let (same, _) = save("1 kWh", "k2");
    assert_eq!(same, Saved { stroke: Some(3), again: false });
    save("2 kWh", "k3");
    // The phone did not hear the answers and sends both again: they must not undo the later entry.
    assert_eq!(save("1 kWh", "k1"), (Saved { stroke: first.stroke, again: true }, "2 kWh".into()));
    assert_eq!(save("1 kWh", "k2"), (Saved { stroke: Some(3), again: true }, "2 kWh".into()));
    assert_eq!(b.once("k2").unwrap(), Some(3));
    assert_eq!(b.once("k9").unwrap(), None);
    assert_eq!(b.verify().unwrap(), []);
}

#[test]
fn a_late_edit_is_told_what_changed() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    let seen = b.revision("test", "t").unwrap();
    b.save(&[Record::Test(test("t", "2 kWh"))], &stroke("read again")).unwrap();
    let late = stroke("mine").expecting("test", "t", seen);
    let both = [Record::Model(model("m")), Record::Test(test("t", "3 kWh"))];
    let Err(Error::Stale(stale)) = b.save(&both, &late) else { panic!("not refused") };
    assert_eq!((stale.expected, stale.found), (1, 2));
    let change = &stale.changes[0];
    assert_eq!(
        (change.field.as_str(), change.old.as_str(), change.new.as_str(), change.why.as_str()),
        ("/entries/energy/text", "\"1 kWh\"", "\"2 kWh\"", "read again")
    );
    assert!(stale.to_string().contains("read again"), "{stale}");
    // All or none: the model of the same stroke was not saved either.
    assert_eq!(b.revision("model", "m").unwrap(), 0);
    b.save(&both, &stroke("mine").expecting("test", "t", 2).expecting("model", "m", 0)).unwrap();
    assert_eq!(b.notebook().unwrap().tests[0].entries["energy"].text, "3 kWh");
}

#[test]
fn what_would_not_come_back_is_refused() {
    let (_folder, mut b) = fresh();
    let mut m = model("m");
    m.mains_hz = f64::NAN;
    let refused = b.save(&[Record::Model(m)], &stroke("")).unwrap_err();
    assert!(matches!(refused, Error::NotStorable { .. }), "{refused}");
    assert!(refused.to_string().starts_with("model m: "), "{refused}");
    let refused = b.save(&[Record::Test(Test::default())], &stroke("")).unwrap_err();
    assert!(matches!(refused, Error::NotStorable { .. }), "{refused}");
    let refused = b.remove("test", "t", &stroke("")).unwrap_err();
    assert!(matches!(refused, Error::NoSuch { .. }), "{refused}");
}

#[test]
fn only_the_owner_may_read_it() {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let (folder, mut b) = fresh();
        b.save(&[Record::Model(model("m"))], &stroke("")).unwrap();
        b.backup_to(&folder.path().join("copy.trueplate")).unwrap();
        let _hold = trueplate_store::Hold::take(b.path(), "me").unwrap();
        let mut seen = 0;
        for entry in folder.path().read_dir().unwrap() {
            let entry = entry.unwrap();
            assert_eq!(entry.metadata().unwrap().permissions().mode() & 0o777, 0o600, "{entry:?}");
            seen += 1;
        }
        // Bench, -wal, -shm, -lock and the copy.
        assert_eq!(seen, 5);
    }
}

#[test]
fn the_library_is_new_enough() {
    let parts: Vec<u32> = trueplate_store::sqlite_version().split('.').map(|p| p.parse().unwrap()).collect();
    assert!(parts >= vec![3, 51, 3], "{parts:?}");
}

/// A bench behind a lock can be handed to the threads of a server.
#[test]
fn a_bench_can_move_to_another_thread() {
    let (_folder, b) = fresh();
    assert_eq!(std::thread::spawn(move || b.last_stroke().unwrap()).join().unwrap(), 1);
}
