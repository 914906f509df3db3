//! Where the text of a log comes from: the file itself, a file in an archive, a sheet of a workbook.
use super::text::unpack;
use crate::packed::{self, Content, Member};
use crate::sheet;
use std::io::{self, Cursor, Read, Seek, SeekFrom};
use trueplate_core::finding::Finding;

/// Bytes of head and tail looked at.
const END: usize = 1 << 16;
/// The largest workbook that is taken into memory, packed.
const WORKBOOK: u64 = 256 << 20;

enum Place {
    File,
    Member(Member),
    /// A sheet, written out as text with tabs.
    Sheet(Vec<u8>),
}

/// The source of a log's text.
pub(crate) struct Source {
    place: Place,
    /// Which file or sheet, where there is a choice.
    pub(crate) part: Option<String>,
    pub(crate) findings: Vec<Finding>,
}

impl Source {
    /// Looks into the file. The inner error says why nothing in it can be read.
    pub(crate) fn find<R: Read + Seek>(
        open: &mut impl FnMut() -> io::Result<R>,
        part: Option<&str>,
    ) -> io::Result<Result<Source, Finding>> {
        let mut magic = Vec::new();
        open()?.take(4).read_to_end(&mut magic)?;
        if !packed::is_zip(&magic) {
            return Ok(Ok(Source { place: Place::File, part: None, findings: Vec::new() }));
        }
        let members = match packed::members(open()?) {
            Ok(members) => members,
            Err(finding) => return Ok(Err(finding)),
        };
        let kind = packed::content(&members);
        if kind != Content::Files {
            let mut bytes = Vec::new();
            open()?.take(WORKBOOK + 1).read_to_end(&mut bytes)?;
            if bytes.len() as u64 > WORKBOOK {
                let text = format!("the workbook is larger than {} MB", WORKBOOK >> 20);
                return Ok(Err(Finding::gap("sheet-too-large", "file", text, "save the sheet as CSV")));
            }
            return Ok(from_workbook(&bytes, &members, kind, part));
        }
        Ok(packed::choose(&members, part).map(|member| Source {
            place: Place::Member(member.clone()),
            part: (members.len() > 1).then(|| member.name.clone()),
            findings: Vec::new(),
        }))
    }

    /// The text from its first byte; gzip is not yet unpacked.
    pub(crate) fn open<'a, R: Read + Seek + 'a>(
        &'a self,
        open: &mut impl FnMut() -> io::Result<R>,
    ) -> io::Result<Box<dyn Read + 'a>> {
        Ok(match &self.place {
            Place::File => Box::new(open()?),
            Place::Member(member) => packed::open(open()?, member)?,
            Place::Sheet(text) => Box::new(Cursor::new(text)),
        })
    }

    /// The first and last bytes, unpacked, without holding what is between. Of a short file, the whole twice.
    pub(crate) fn both_ends<R: Read + Seek>(
        &self,
        open: &mut impl FnMut() -> io::Result<R>,
    ) -> io::Result<(Vec<u8>, Vec<u8>)> {
        let mut head = Vec::with_capacity(END);
        unpack(self.open(open)?)?.take(END as u64).read_to_end(&mut head).or_else(damaged)?;
        let tail = match &self.place {
            Place::Sheet(text) => text[text.len().saturating_sub(END)..].to_vec(),
            Place::Member(_) => last_of(unpack(self.open(open)?)?)?,
            Place::File => tail_of(open)?,
        };
        Ok((head, tail))
    }
}

/// The end of a file that can be wound on, or of what is packed in it.
fn tail_of<R: Read + Seek>(open: &mut impl FnMut() -> io::Result<R>) -> io::Result<Vec<u8>> {
    let mut source = open()?;
    let mut magic = [0; 2];
    if source.read(&mut magic)? == 2 && magic == [0x1f, 0x8b] {
        return last_of(unpack(open()?)?);
    }
    let length = source.seek(SeekFrom::End(0))?;
    // An even place, so that two-byte encodings stay in step.
    source.seek(SeekFrom::Start(length.saturating_sub(END as u64) & !1))?;
    let mut tail = Vec::with_capacity(END + 1);
    source.take(END as u64 + 1).read_to_end(&mut tail)?;
    Ok(tail)
}

/// The last bytes of a stream that cannot be wound on.
fn last_of(mut source: impl Read) -> io::Result<Vec<u8>> {
    let mut tail = Vec::new();
    let mut piece = vec![0; END];
    loop {
        match source.read(&mut piece) {
            Ok(0) => return Ok(tail),
            Ok(n) => {
                tail.extend_from_slice(&piece[..n]);
                tail.drain(..tail.len().saturating_sub(END));
            }
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => {
                damaged(e)?;
                return Ok(tail);
            }
        }
    }
}

/// A damaged packed file is read as far as it goes; any other failure is the world's.
fn damaged(e: io::Error) -> io::Result<usize> {
    match e.kind() {
        io::ErrorKind::UnexpectedEof | io::ErrorKind::InvalidData | io::ErrorKind::InvalidInput => Ok(0),
        _ => Err(e),
    }
}

/// A sheet written out: tabs between the cells, a line a row, so that lines and rows have the same numbers.
fn from_workbook(
    bytes: &[u8],
    members: &[Member],
    kind: Content,
    part: Option<&str>,
) -> Result<Source, Finding> {
    let mut text = Vec::new();
    let mut width = 0;
    let mut write = |row: &[String]| {
        // A row that ends in empty cells is as wide as those above it.
        width = if row.len() > 1 { width.max(row.len()) } else { width };
        let empty = if row.len() > 1 { width - row.len() } else { 0 };
        for (k, cell) in row.iter().enumerate() {
            if k > 0 {
                text.push(b'\t');
            }
            text.extend(cell.bytes().map(|b| if b < b' ' { b' ' } else { b }));
        }
        text.extend(std::iter::repeat_n(b'\t', empty));
        text.push(b'\n');
    };
    let told = sheet::workbook(bytes, members, kind, part, &mut write)?;
    let part = (told.names.len() > 1).then_some(told.name);
    Ok(Source { place: Place::Sheet(text), part, findings: told.findings })
}
