//! The history: what it says, that it only grows, and undo.
use crate::ground::{AT, fresh, model, stroke, test};
use trueplate_core::notebook::Claim;
use trueplate_core::record::Record;
use trueplate_store::{Error, Stroke};

#[test]
fn every_change_stands_with_old_when_and_why() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Model(model("m"))], &stroke("first")).unwrap();
    let mut m = model("m");
    m.name = "Station m/2".into();
    m.claims[1].text = "12.3 kg".into();
    m.claims.push(Claim { id: "noise".into(), ..Claim::default() });
    let later = "2026-07-01T09:00:00+02:00";
    b.save(&[Record::Model(m)], &Stroke::at(later).why("box read again")).unwrap();
    let n = b.notebook().unwrap();
    let told: Vec<_> = n.changes.iter().map(|c| (c.field.as_str(), c.old.as_str(), c.new.as_str())).collect();
    assert_eq!(told[0], ("/claims/1/text", "\"11.3 kg\"", "\"12.3 kg\""));
    assert_eq!((told[1].0, told[1].1), ("/claims/2", "null"));
    assert_eq!(told[2], ("/name", "\"Station m\"", "\"Station m/2\""));
    assert_eq!(told.len(), 3);
    for c in &n.changes {
        assert_eq!((c.stroke, c.at.as_str(), c.why.as_str()), (3, later, "box read again"));
        assert_eq!((c.record.as_str(), c.id.as_str()), ("model", "m"));
    }
    // The first writing stands in the record's own history.
    let all = b.history("model", "m").unwrap();
    assert_eq!((all.len(), all[0].field.as_str(), all[0].old.as_str()), (4, "", "null"));
    assert_eq!(b.stroke(3).unwrap(), n.changes);
}

#[test]
fn history_only_grows() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    b.put_file(&b"a"[..], "a", "", AT).unwrap();
    let raw = rusqlite::Connection::open(b.path()).unwrap();
    for table in ["stroke", "change", "file", "chunk", "record"] {
        let refused = raw.execute(&format!("DELETE FROM {table}"), []).unwrap_err().to_string();
        assert!(
            refused.contains("append-only") || refused.contains("kept") || refused.contains("never"),
            "{refused}"
        );
    }
    for set in ["stroke SET why = ''", "change SET old = ''", "file SET name = ''", "chunk SET part = 2"] {
        raw.execute(&format!("UPDATE {set}"), []).unwrap_err();
    }
}

#[test]
fn undo_puts_back_and_can_be_undone() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Model(model("m")), Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    let before = b.notebook().unwrap();
    let mut m = model("m");
    m.claims.truncate(1);
    m.note = "one claim less".into();
    let mut t = test("t", "2 kWh");
    t.entries.insert("end".into(), Default::default());
    let edit = b.save(&[Record::Model(m), Record::Test(t)], &stroke("tidied")).unwrap().stroke.unwrap();
    let after = b.notebook().unwrap();
    let undone = b.undo(edit, AT).unwrap().stroke.unwrap();
    let back = b.notebook().unwrap();
    assert_eq!((&back.models, &back.tests), (&before.models, &before.tests));
    assert_eq!(back.changes.last().unwrap().why, format!("undo of stroke {edit}: tidied"));
    b.undo(undone, AT).unwrap();
    let again = b.notebook().unwrap();
    assert_eq!((&again.models, &again.tests), (&after.models, &after.tests));
    assert_eq!(b.verify().unwrap(), []);
}

#[test]
fn a_first_writing_and_a_removal_can_be_undone() {
    let (_folder, mut b) = fresh();
    let written = b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap().stroke.unwrap();
    b.undo(written, AT).unwrap();
    assert_eq!(b.notebook().unwrap().tests, []);
    assert_eq!(b.revision("test", "t").unwrap(), 2);
    b.save(&[Record::Test(test("t", "2 kWh"))], &stroke("")).unwrap();
    let gone = b.remove("test", "t", &stroke("wrong specimen")).unwrap().stroke.unwrap();
    assert_eq!(b.notebook().unwrap().tests, []);
    b.undo(gone, AT).unwrap();
    assert_eq!(b.notebook().unwrap().tests, [test("t", "2 kWh")]);
    assert_eq!(b.verify().unwrap(), []);
}

#[test]
fn undo_is_refused_when_something_was_built_on_it() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    let edit = b.save(&[Record::Test(test("t", "2 kWh"))], &stroke("")).unwrap().stroke.unwrap();
    let later = b.save(&[Record::Test(test("t", "3 kWh"))], &stroke("")).unwrap().stroke.unwrap();
    let refused = b.undo(edit, AT).unwrap_err();
    assert!(matches!(refused, Error::UndoRefused { .. }));
    assert!(refused.to_string().contains(&format!("stroke {later}")), "{refused}");
    b.undo(later, AT).unwrap();
    // The value is what the first edit made it again, so now it can be undone.
    b.undo(edit, AT).unwrap();
    assert_eq!(b.notebook().unwrap().tests, [test("t", "1 kWh")]);
    for nothing in [1, 99, -5] {
        assert!(matches!(b.undo(nothing, AT), Err(Error::UndoRefused { .. })));
    }
}

#[test]
fn another_field_of_the_same_record_does_not_stand_in_the_way() {
    let (_folder, mut b) = fresh();
    b.save(&[Record::Test(test("t", "1 kWh"))], &stroke("")).unwrap();
    let edit = b.save(&[Record::Test(test("t", "2 kWh"))], &stroke("")).unwrap().stroke.unwrap();
    let mut noted = test("t", "2 kWh");
    noted.note = "fan loud".into();
    b.save(&[Record::Test(noted)], &stroke("")).unwrap();
    b.undo(edit, AT).unwrap();
    let t = &b.notebook().unwrap().tests[0];
    assert_eq!((t.entries["energy"].text.as_str(), t.note.as_str()), ("1 kWh", "fan loud"));
}
