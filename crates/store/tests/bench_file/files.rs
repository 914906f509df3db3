//! Original files inside the bench.
use crate::ground::{AT, file_ref, fresh, noise, stroke, test};
use std::io::{self, Read};
use trueplate_core::record::Record;
use trueplate_store::Error;

#[test]
fn bytes_come_back_under_their_hash() {
    let (_folder, mut b) = fresh();
    // SHA-256 of "abc" and of nothing: NIST example values for FIPS 180-4.
    let abc = b.put_file(&b"abc"[..], "a.txt", "text/plain", AT).unwrap();
    assert_eq!(abc.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    let none = b.put_file(&b""[..], "empty.csv", "text/csv", AT).unwrap();
    assert_eq!(none.sha256, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    // Three chunks and a bit.
    let big = noise(5, 3 * (1 << 20) + 17);
    let log = b.put_file(big.as_slice(), "log.csv", "text/csv", AT).unwrap();
    assert_eq!(b.file(&abc.sha256).unwrap(), b"abc");
    assert_eq!(b.file(&none.sha256).unwrap(), b"");
    assert!(b.file(&log.sha256).unwrap() == big);
    assert_eq!(b.kept_file(&log.sha256).unwrap().unwrap().size, 3_145_745); // 3 · 1 048 576 + 17
    assert_eq!(b.files().unwrap().len(), 3);
    assert!(matches!(b.file("00"), Err(Error::NoSuch { .. })));
    assert_eq!(b.verify().unwrap(), []);
}

#[test]
fn the_same_bytes_are_kept_once() {
    let (_folder, mut b) = fresh();
    let first = b.put_file(&b"abc"[..], "a.txt", "text/plain", AT).unwrap();
    let stroke = b.last_stroke().unwrap();
    let again = b.put_file(&b"abc"[..], "b.txt", "text/plain", AT).unwrap();
    assert_eq!((&again.sha256, again.name.as_str()), (&first.sha256, "b.txt"));
    assert_eq!((b.files().unwrap().len(), b.last_stroke().unwrap()), (1, stroke));
    // Keeping a file is not undone: taking it out of a record is.
    assert!(matches!(b.undo(stroke, AT), Err(Error::UndoRefused { .. })));
}

/// A source that fails after a while.
struct Torn(usize);

impl Read for Torn {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        if self.0 == 0 {
            return Err(io::Error::other("cable pulled"));
        }
        let n = to.len().min(self.0);
        self.0 -= n;
        Ok(n)
    }
}

#[test]
fn half_a_file_is_not_kept() {
    let (_folder, mut b) = fresh();
    let before = b.last_stroke().unwrap();
    let failed = b.put_file(Torn(3 << 20), "log.csv", "text/csv", AT).unwrap_err();
    assert!(failed.to_string().contains("cable pulled"), "{failed}");
    assert_eq!((b.files().unwrap().len(), b.last_stroke().unwrap()), (0, before));
    assert_eq!(b.verify().unwrap(), []);
}

#[test]
fn a_record_naming_a_file_that_is_not_here_is_found() {
    let (_folder, mut b) = fresh();
    let mut t = test("t", "1 kWh");
    t.entries.get_mut("energy").unwrap().files = vec![file_ref("00ff", "photo.jpg")];
    b.save(&[Record::Test(t)], &stroke("")).unwrap();
    let found = b.verify().unwrap();
    assert_eq!((found.len(), found[0].code.as_str(), found[0].place.as_str()), (1, "file-missing", "test t"));
}

/// A file of three chunks, read from any place: the bytes are those that were kept.
#[test]
fn a_kept_file_is_read_from_any_place() {
    use std::io::{Seek, SeekFrom};
    let (_folder, mut b) = fresh();
    let bytes: Vec<u8> =
        (0..(2 << 20) + 777).map(|n: u32| (n.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    let file = b.put_file(bytes.as_slice(), "log.csv", "text/csv", AT).unwrap();
    let mut reader = b.reader(&file.sha256).unwrap();
    let mut all = Vec::new();
    reader.read_to_end(&mut all).unwrap();
    assert!(all == bytes);
    for from in [0, 5, (1 << 20) - 3, 1 << 20, (2 << 20) + 770] {
        reader.seek(SeekFrom::Start(from)).unwrap();
        let mut some = Vec::new();
        reader.by_ref().take(9).read_to_end(&mut some).unwrap();
        let end = bytes.len().min(from as usize + 9);
        assert_eq!(some, &bytes[from as usize..end]);
    }
    assert_eq!(reader.seek(SeekFrom::End(-1)).unwrap(), bytes.len() as u64 - 1);
    assert_eq!(reader.seek(SeekFrom::End(10)).and_then(|_| reader.read(&mut [0; 4])).unwrap(), 0);
    assert!(b.reader("00").is_err());
}
