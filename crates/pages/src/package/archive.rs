//! A ZIP file put together from pieces that were packed before (PKWARE, APPNOTE.TXT 6.3.10, sections 4.3.7, 4.3.12, 4.3.16).
//! The libraries pack what they are given each time; here most is taken over as it is.
use crc32fast::Hasher;
use flate2::{Compress, Compression, FlushCompress};
use std::cell::RefCell;
use std::io::{Cursor, Read};

/// Every publishing waits for it: packed quickly rather than small.
const LEVEL: u32 = 1;

/// Some bytes, packed so that other pieces may follow.
#[derive(Debug, Default)]
pub struct Packed {
    pub bytes: Vec<u8>,
    /// Their check sum (CRC-32) and how many they were.
    pub of: (u32, u64),
}

impl Packed {
    /// Packs bytes.
    pub fn of(bytes: &[u8]) -> Packed {
        packed(bytes, FlushCompress::Sync)
    }
}

/// Packs bytes after which nothing follows.
pub fn last(bytes: &[u8]) -> Packed {
    packed(bytes, FlushCompress::Finish)
}

thread_local! {
    // A quarter of a megabyte, which for thousands of small pieces costs more than packing them.
    static PACKER: RefCell<Compress> = RefCell::new(Compress::new(Compression::new(LEVEL), false));
}

fn packed(bytes: &[u8], flush: FlushCompress) -> Packed {
    PACKER.with_borrow_mut(|with| {
        with.reset();
        packed_with(with, bytes, flush)
    })
}

fn packed_with(with: &mut Compress, bytes: &[u8], flush: FlushCompress) -> Packed {
    let of = (crc32fast::hash(bytes), bytes.len() as u64);
    let mut out = Vec::with_capacity(bytes.len() / 3 + 64);
    loop {
        let read = usize::try_from(with.total_in()).unwrap_or(usize::MAX);
        let rest = bytes.get(read..).unwrap_or_default();
        // Room that is left means that nothing waits. A wrong call alone could fail, and none is made.
        if with.compress_vec(rest, &mut out, flush).is_err() || out.len() < out.capacity() {
            out.shrink_to_fit();
            return Packed { bytes: out, of };
        }
        out.reserve(out.capacity());
    }
}

/// The parts of a ZIP file, unpacked, in their order.
pub fn read(bytes: &[u8]) -> Option<Vec<(String, Vec<u8>)>> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).ok()?;
    let mut parts = Vec::new();
    for i in 0..archive.len() {
        let mut part = archive.by_index(i).ok()?;
        let mut bytes = Vec::new();
        part.read_to_end(&mut bytes).ok()?;
        parts.push((part.name().ok()?.into_owned(), bytes));
    }
    Some(parts)
}

/// A part: its name, its own pieces, and others that stand before the last of them.
pub type Part<'a> = (String, Vec<Packed>, Vec<&'a Packed>);

/// A ZIP file of these parts, and where the other pieces of each begin in it; `None` where it would be too large for its
/// plain form.
pub fn write(parts: &[Part]) -> Option<(Vec<u8>, Vec<usize>)> {
    let (mut out, mut list, mut begins) = (Vec::new(), Vec::new(), Vec::new());
    for (name, own, others) in parts {
        let (last, first) = own.split_last()?;
        let pieces = || first.iter().chain(others.iter().copied()).chain([last]);
        let mut of = Hasher::new();
        pieces().for_each(|p| of.combine(&Hasher::new_with_initial_len(p.of.0, p.of.1)));
        let size = |n: usize| u32::try_from(n).ok();
        let long = pieces().map(|p| p.of.1).sum::<u64>();
        let sizes = [of.finalize(), size(pieces().map(|p| p.bytes.len()).sum())?, u32::try_from(long).ok()?];
        let begin = size(out.len())?;
        // Version 2.0, names in UTF-8, deflate, midnight of 1980-01-01.
        let mut head = Vec::new();
        for word in [20, 1 << 11, 8, 0, 0x21_u16] {
            head.extend(word.to_le_bytes());
        }
        sizes.iter().for_each(|n| head.extend(n.to_le_bytes()));
        head.extend(u16::try_from(name.len()).ok()?.to_le_bytes());
        out.extend(b"PK\x03\x04");
        out.extend(&head);
        out.extend([0; 2]);
        out.extend(name.as_bytes());
        begins.push(out.len() + first.iter().map(|p| p.bytes.len()).sum::<usize>());
        pieces().for_each(|p| out.extend(&p.bytes));
        list.extend(b"PK\x01\x02\x14\0");
        list.extend(&head);
        list.extend([0; 12]);
        list.extend(begin.to_le_bytes());
        list.extend(name.as_bytes());
    }
    let count = u16::try_from(parts.len()).ok()?.to_le_bytes();
    let (long, begin) = (u32::try_from(list.len()).ok()?, u32::try_from(out.len()).ok()?);
    out.extend(list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend([count, count].concat());
    out.extend(long.to_le_bytes());
    out.extend(begin.to_le_bytes());
    out.extend([0; 2]);
    Some((out, begins))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_packed_in_pieces_is_read_as_one() {
        let long: Vec<u8> = (0..60_000_u32).flat_map(|n| (n * n).to_le_bytes()).collect();
        let (a, b) = (Packed::of(b"begin "), Packed::of(&long));
        let parts = vec![
            ("a.txt".to_string(), vec![last(b"all of it")], Vec::new()),
            ("b/b.bin".to_string(), vec![Packed::of(b""), last(b" end")], vec![&a, &b, &a]),
            ("empty".to_string(), vec![last(b"")], Vec::new()),
        ];
        let (file, begins) = write(&parts).expect("it is small");
        assert_eq!(file[begins[1]..][..a.bytes.len()], a.bytes);
        // The reader compares the check sums.
        let read = read(&file).expect("a ZIP file");
        let whole = [b"begin ".as_slice(), &long, b"begin ", b" end"].concat();
        let want = [("a.txt", b"all of it".to_vec()), ("b/b.bin", whole), ("empty", Vec::new())];
        assert_eq!(read, want.map(|(name, bytes)| (name.to_string(), bytes)));
    }
}
