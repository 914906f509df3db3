//! The benches these tests stand on.
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64;
use rusqlite::types::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use trueplate_core::notebook::{Claim, Entry, FileRef, Model, Settings, Specimen, Test};
use trueplate_core::record::Record;
use trueplate_store::{Bench, Stroke};

/// A moment.
pub const AT: &str = "2026-06-30T10:00:00+02:00";

/// A new bench in a folder of its own.
pub fn fresh() -> (TempDir, Bench) {
    let folder = TempDir::new().unwrap();
    let bench = Bench::create(&folder.path().join("a.trueplate"), AT).unwrap();
    (folder, bench)
}

/// A stroke without anything special.
pub fn stroke(why: &str) -> Stroke {
    Stroke::at(AT).why(why)
}

/// A test with one entry.
pub fn test(id: &str, energy: &str) -> Test {
    let entry = Entry { text: energy.into(), instrument: "meter".into(), at: AT.into(), ..Entry::default() };
    Test {
        id: id.into(),
        kind: "usable-energy".into(),
        specimen: "s1".into(),
        day: "2026-06-30".into(),
        entries: [("energy".to_string(), entry)].into(),
        ..Test::default()
    }
}

/// A model with two claims.
pub fn model(id: &str) -> Model {
    let claim = |key: &str, text: &str| Claim {
        id: key.into(),
        key: key.into(),
        text: text.into(),
        words: "as printed on the box — “up to” included".into(),
        ..Claim::default()
    };
    Model {
        id: id.into(),
        name: format!("Station {id}"),
        mains_v: 120.0,
        // No binary fraction, to see that numbers come back to the last bit.
        per_outlet_w: 1e3 / 7.0,
        claims: vec![claim("usable-energy", "1000 Wh"), claim("mass", "11.3 kg")],
        ..Model::default()
    }
}

/// Bytes that repeat from run to run.
pub fn noise(seed: u64, length: usize) -> Vec<u8> {
    let mut bytes = vec![0; length];
    Pcg64::seed_from_u64(seed).fill_bytes(&mut bytes);
    bytes
}

/// A bench with records, edits, a removal, an undo, keys and files, closed. About 200 kB.
pub fn filled(path: &Path) {
    let mut b = Bench::create(path, AT).unwrap();
    let settings = Settings { tester: "Bench Nine".into(), decimal_comma: true, ..Settings::default() };
    let specimen = Specimen { id: "s1".into(), model: "m1".into(), ..Specimen::default() };
    let first = [Record::Settings(settings), Record::Model(model("m1")), Record::Specimen(specimen)];
    b.save(&first, &stroke("first")).unwrap();
    let photo = b.put_file(noise(1, 9000).as_slice(), "display.jpg", "image/jpeg", AT).unwrap();
    b.put_file(noise(2, 30_000).as_slice(), "log.csv", "text/csv", AT).unwrap();
    let log = b.begin_log("run.csv", "text/csv", AT).unwrap();
    for i in 0..60 {
        b.extend_log(log, &noise(i + 10, 80)).unwrap();
        let mut t = test(&format!("t{i}"), &format!("{},{} kWh", i % 3, i));
        t.entries.get_mut("energy").unwrap().files = vec![photo.clone()];
        b.save(&[Record::Test(t)], &stroke("").once(format!("phone-{i}"))).unwrap();
    }
    for i in (0..60).step_by(3) {
        let t = test(&format!("t{i}"), &format!("0,9{i} kWh"));
        b.save(&[Record::Test(t)], &stroke("digits swapped")).unwrap();
    }
    let gone = b.remove("test", "t7", &stroke("written twice")).unwrap();
    b.remove("test", "t8", &stroke("not ours")).unwrap();
    b.undo(gone.stroke.unwrap(), AT).unwrap();
}

/// Everything in the file, read by SQLite alone; none when it cannot be read.
pub fn dump(path: &Path) -> Option<Vec<Vec<Value>>> {
    let conn = rusqlite::Connection::open(path).ok()?;
    let mut all = Vec::new();
    for ask in [
        "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY name",
        "SELECT * FROM stroke ORDER BY 1",
        "SELECT * FROM change ORDER BY 1",
        "SELECT * FROM head",
        "SELECT * FROM record ORDER BY 1",
        "SELECT * FROM file ORDER BY 1",
        "SELECT * FROM chunk ORDER BY 1, 2",
        "SELECT * FROM running ORDER BY 1",
        "SELECT * FROM piece ORDER BY 1, 2",
    ] {
        let mut ask = conn.prepare(ask).ok()?;
        let width = ask.column_count();
        let mut rows = ask.query([]).ok()?;
        while let Some(row) = rows.next().ok()? {
            all.push((0..width).map(|i| row.get(i)).collect::<Result<_, _>>().ok()?);
        }
    }
    Some(all)
}

/// The file of a bench and what stands beside it, copied as they are: what a cut or a kill leaves.
pub fn snatch(from: &Path, to: &Path) {
    for ending in ["", "-wal"] {
        let with = |p: &Path| PathBuf::from(format!("{}{ending}", p.display()));
        if with(from).exists() {
            fs::copy(with(from), with(to)).unwrap();
        }
    }
}

/// A reference to a file that was kept.
pub fn file_ref(sha256: &str, name: &str) -> FileRef {
    FileRef { sha256: sha256.into(), name: name.into(), media: String::new() }
}
