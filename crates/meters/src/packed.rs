//! Zip archives: what is inside, which member is meant, and that member as a stream in constant memory.
//!
//! The members are listed by the library; the bytes of one are inflated here, from the place the library names, so that a
//! member of any length streams and its checksum is compared at its end.
use flate2::Crc;
use flate2::read::DeflateDecoder;
use std::io::{self, Read, Seek, SeekFrom};
use trueplate_core::finding::Finding;
use zip::{CompressionMethod, ZipArchive};

/// More members than this are not looked at.
const MEMBERS: usize = 4096;
/// What logs and tables are called.
const TABLES: [&str; 9] = ["csv", "txt", "tsv", "log", "dat", "asc", "json", "jsonl", "ndjson"];

/// One file in an archive.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Member {
    /// With its folders.
    pub(crate) name: String,
    start: u64,
    packed: u64,
    size: u64,
    crc: u32,
    deflated: bool,
}

/// What an archive turned out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Content {
    /// A workbook of the Office Open XML kind (ECMA-376).
    Xlsx,
    /// A spreadsheet of the OpenDocument kind (OASIS ODF 1.3).
    Ods,
    /// Files of any kind.
    Files,
}

/// Whether these are the first bytes of a zip archive.
pub(crate) fn is_zip(head: &[u8]) -> bool {
    head.starts_with(b"PK\x03\x04") || head.starts_with(b"PK\x05\x06")
}

fn refused(code: &str, text: String, hint: &str) -> Finding {
    Finding::gap(code, "file", text, hint)
}

/// The files in an archive.
pub(crate) fn members<R: Read + Seek>(source: R) -> Result<Vec<Member>, Finding> {
    let damaged = |e: zip::result::ZipError| {
        refused("packed-damaged", format!("the archive cannot be read: {e}"), "copy or export the file again")
    };
    let mut archive = ZipArchive::new(source).map_err(damaged)?;
    if archive.len() > MEMBERS {
        let text = format!("{} files in one archive; at most {MEMBERS} are looked at", archive.len());
        return Err(refused("packed-too-many", text, "unpack it and read the log alone"));
    }
    let mut found = Vec::new();
    for k in 0..archive.len() {
        let member = archive.by_index_raw(k).map_err(damaged)?;
        if !member.is_file() || member.size() == 0 {
            continue;
        }
        let name = member.name().map_err(damaged)?.into_owned();
        let deflated = match member.compression() {
            CompressionMethod::Stored => false,
            CompressionMethod::Deflated => true,
            other => {
                let text = format!("\"{name}\" is packed in a way that is not read ({other})");
                return Err(refused("packed-otherwise", text, "pack it as an ordinary zip, or unpack it"));
            }
        };
        if member.encrypted() {
            let text = format!("\"{name}\" is locked with a password");
            return Err(refused("packed-locked", text, "unpack it and read what comes out"));
        }
        let Some(start) = member.data_start() else { continue };
        let (packed, size, crc) = (member.compressed_size(), member.size(), member.crc32());
        found.push(Member { name, start, packed, size, crc, deflated });
    }
    Ok(found)
}

/// What kind of archive these are the files of.
pub(crate) fn content(members: &[Member]) -> Content {
    let has = |name: &str| members.iter().any(|m| m.name == name);
    if has("xl/workbook.xml") {
        Content::Xlsx
    } else if has("content.xml") && has("mimetype") {
        Content::Ods
    } else {
        Content::Files
    }
}

/// The file that is meant: the one asked for, or the only one that can be. `Err`: what to say or ask.
pub(crate) fn choose<'m>(members: &'m [Member], wanted: Option<&str>) -> Result<&'m Member, Finding> {
    let leaf = |m: &Member| m.name.rsplit('/').next().unwrap_or_default().to_string();
    let own: Vec<&Member> =
        members.iter().filter(|m| !leaf(m).starts_with('.') && !m.name.starts_with("__MACOSX/")).collect();
    if let Some(wanted) = wanted
        && let Some(found) = own.iter().find(|m| m.name == wanted || leaf(m) == wanted)
    {
        return Ok(found);
    }
    let ends =
        |m: &Member| leaf(m).rsplit('.').next().is_some_and(|e| TABLES.contains(&e.to_lowercase().as_str()));
    let tables: Vec<&Member> = own.iter().copied().filter(|m| ends(m)).collect();
    match (own.as_slice(), tables.as_slice(), wanted) {
        ([], _, _) => Err(refused("empty-file", "the archive holds no file".into(), "export the log again")),
        ([one], _, None) | (_, [one], None) => Ok(one),
        _ => {
            let names: Vec<String> = own.iter().take(12).map(|m| format!("\"{}\"", m.name)).collect();
            let text = format!("the archive holds {} files: {}", own.len(), names.join(", "));
            Err(refused("which-part", text, "say which to read: \"part\" in the mapping"))
        }
    }
}

/// The bytes of a member. A checksum or length that does not fit is an error of the kind `InvalidData` at the end.
pub(crate) fn open<'a, R: Read + Seek + 'a>(
    mut source: R,
    member: &Member,
) -> io::Result<Box<dyn Read + 'a>> {
    source.seek(SeekFrom::Start(member.start))?;
    let packed = source.take(member.packed);
    let bytes: Box<dyn Read + 'a> =
        if member.deflated { Box::new(DeflateDecoder::new(packed)) } else { Box::new(packed) };
    Ok(Box::new(Checked {
        bytes,
        crc: Crc::new(),
        size: member.size,
        seen: 0,
        wanted: member.crc,
        told: false,
    }))
}

/// Compares length and checksum when the end is reached, and stops a member that is longer than it says.
struct Checked<'a> {
    bytes: Box<dyn Read + 'a>,
    crc: Crc,
    size: u64,
    seen: u64,
    wanted: u32,
    told: bool,
}

impl Read for Checked<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        if out.is_empty() || self.told {
            return Ok(0);
        }
        let n = self.bytes.read(out)?;
        self.seen += n as u64;
        self.crc.update(&out[..n]);
        let short = n == 0 && (self.crc.sum() != self.wanted || self.seen != self.size);
        if short || self.seen > self.size {
            self.told = true;
            return Err(io::Error::new(
                io::ErrorKind::InvalidData,
                "its contents do not fit its length and checksum",
            ));
        }
        Ok(n)
    }
}
