//! Workbooks and other tables as rows of text cells: `.xlsx`, `.ods`, these or delimited text in a zip, gzip or plain.
//!
//! Dates come out as `2026-05-02` or `2026-05-02T23:58:10`, times of day as `23:58:10`, numbers with a decimal point and all
//! their digits. Cells are read one after another and never laid out as a rectangle: a workbook of a few bytes can claim
//! seventeen thousand million cells.
mod ods;
mod text;
mod xlsx;

use crate::packed::{self, Content, Member};
use std::io::{Cursor, Read};
use trueplate_core::finding::Finding;

/// The most columns that are read.
pub const COLUMNS: usize = 256;
/// The most rows; what a spreadsheet can hold.
pub const ROWS: u32 = 1_048_576;
/// The most filled cells that are read.
pub const CELLS: u64 = 16_000_000;
/// The longest text of a cell, in bytes; spreadsheets allow 32,767 characters.
pub(crate) const LONGEST: usize = 32_767;
/// The most bytes that are unpacked, of sheets and of everything kept beside them.
const UNPACKED: u64 = 512 << 20;
const BESIDE: u64 = 96 << 20;

/// A table as rows of text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// Name of the sheet, or of the file in an archive; empty for plain text.
    pub name: String,
    /// All sheets of the workbook, or files of the archive, in their order.
    pub names: Vec<String>,
    /// Rows from the first to the last that is not blank; each as long as its last filled cell.
    pub rows: Vec<Vec<String>>,
    /// What was noticed.
    pub findings: Vec<Finding>,
}

/// Reads a table. `part` names the sheet or file where there are several; without it the one with the most rows is taken,
/// which is said.
///
/// # Errors
/// What the file is instead of a table, or what is too much of it, as a finding.
pub fn sheet(bytes: &[u8], part: Option<&str>) -> Result<Sheet, Finding> {
    if !packed::is_zip(bytes) {
        return text::plain(bytes);
    }
    let members = packed::members(Cursor::new(bytes))?;
    match packed::content(&members) {
        Content::Files => {
            let member = packed::choose(&members, part)?;
            let mut inside = Vec::new();
            let unreadable = |e: std::io::Error| damaged(&e.to_string());
            let stream = packed::open(Cursor::new(bytes), member).map_err(unreadable)?;
            stream.take(text::LONGEST + 1).read_to_end(&mut inside).map_err(unreadable)?;
            let mut sheet =
                if packed::is_zip(&inside) { workbook_inside(&inside)? } else { text::plain(&inside)? };
            sheet.name = member.name.clone();
            sheet.names = members.into_iter().map(|m| m.name).collect();
            Ok(sheet)
        }
        kind => {
            let mut rows = Vec::new();
            let mut take = |row: &[String]| rows.push(row.to_vec());
            let told = workbook(bytes, &members, kind, part, &mut take)?;
            Ok(Sheet { name: told.name, names: told.names, rows, findings: told.findings })
        }
    }
}

/// One workbook in an archive is read; an archive in an archive in an archive is not.
fn workbook_inside(bytes: &[u8]) -> Result<Sheet, Finding> {
    match packed::content(&packed::members(Cursor::new(bytes))?) {
        Content::Files => Err(Finding::gap(
            "packed-twice",
            "file",
            "an archive in an archive",
            "unpack it and read what comes out",
        )),
        _ => sheet(bytes, None),
    }
}

/// What is known of a workbook beside its rows.
pub(crate) struct Told {
    pub(crate) name: String,
    pub(crate) names: Vec<String>,
    pub(crate) findings: Vec<Finding>,
}

/// Hands out the rows of a workbook from its first row on, blank rows as empty ones.
pub(crate) fn workbook(
    bytes: &[u8],
    members: &[Member],
    kind: Content,
    part: Option<&str>,
    take: &mut dyn FnMut(&[String]),
) -> Result<Told, Finding> {
    let mut beside = 0;
    for m in members.iter().filter(|m| m.name.ends_with(".xml") || m.name.ends_with(".rels")) {
        let sheet = m.name.starts_with("xl/worksheets/") || m.name == "content.xml";
        let length = length_of(bytes, m)?;
        beside += if sheet { 0 } else { length };
        if length > UNPACKED || beside > BESIDE {
            return Err(too_large());
        }
    }
    match kind {
        Content::Ods => ods::rows(bytes, members, part, take),
        _ => xlsx::rows(bytes, part, take),
    }
}

/// How long a member is when unpacked, by unpacking it: what it says of itself may be false.
fn length_of(bytes: &[u8], member: &Member) -> Result<u64, Finding> {
    let stream = packed::open(Cursor::new(bytes), member).map_err(|e| damaged(&e.to_string()))?;
    std::io::copy(&mut stream.take(UNPACKED + 1), &mut std::io::sink()).map_err(|e| damaged(&e.to_string()))
}

fn damaged(why: &str) -> Finding {
    let text = format!("the workbook or archive cannot be read: {why}");
    Finding::gap("packed-damaged", "file", text, "open it in a spreadsheet, save it again, or save it as CSV")
}

fn too_large() -> Finding {
    let text = format!("unpacked it is larger than {} MB", UNPACKED >> 20);
    Finding::gap("sheet-too-large", "file", text, "save the sheet as CSV, which is read at any length")
}

fn too_many_cells() -> Finding {
    let text = format!("the sheet has more than {CELLS} filled cells");
    Finding::gap("sheet-too-large", "file", text, "save the sheet as CSV, which is read at any length")
}

/// Puts cells into rows in the order they come, and keeps to the limits.
struct Rows<'t> {
    take: &'t mut dyn FnMut(&[String]),
    row: Vec<String>,
    /// Rows handed out.
    given: u32,
    cells: u64,
    wide: bool,
}

impl<'t> Rows<'t> {
    fn new(take: &'t mut dyn FnMut(&[String])) -> Self {
        Rows { take, row: Vec::new(), given: 0, cells: 0, wide: false }
    }

    /// A filled cell, row and column from 0. Rows come in their order; a cell of an earlier row is an error of the file.
    fn cell(&mut self, row: u32, column: usize, text: String) -> Result<(), Finding> {
        if row >= ROWS {
            return Err(damaged("it has more rows than a spreadsheet can hold"));
        }
        if row < self.given {
            return Err(damaged("its rows are not in order"));
        }
        self.cells += 1;
        if self.cells > CELLS {
            return Err(too_many_cells());
        }
        if text.is_empty() {
            return Ok(());
        }
        while self.given < row {
            self.close();
        }
        if column >= COLUMNS {
            self.wide = true;
            return Ok(());
        }
        if self.row.len() <= column {
            self.row.resize(column + 1, String::new());
        }
        self.row[column] = cut_to(text, LONGEST);
        Ok(())
    }

    fn close(&mut self) {
        (self.take)(&self.row);
        self.row.clear();
        self.given += 1;
    }

    /// The last row is complete.
    fn end(mut self, findings: &mut Vec<Finding>) {
        if !self.row.is_empty() {
            self.close();
        }
        if self.wide {
            let text = format!("the sheet has more than {COLUMNS} columns; those beyond are left out");
            findings.push(Finding::doubt(
                "too-many-columns",
                "file",
                text,
                "put the table into fewer columns",
            ));
        }
    }
}

fn cut_to(mut text: String, most: usize) -> String {
    if text.len() > most {
        let at = (0..=most).rev().find(|k| text.is_char_boundary(*k)).unwrap_or(0);
        text.truncate(at);
    }
    text
}

/// Which sheet: the one asked for, the only one, or the one with the most rows, which is said.
fn which(
    counted: &[(String, u32)],
    part: Option<&str>,
    findings: &mut Vec<Finding>,
) -> Result<usize, Finding> {
    let names = || counted.iter().take(12).map(|c| format!("\"{}\"", c.0)).collect::<Vec<_>>().join(", ");
    if let Some(part) = part {
        return counted.iter().position(|c| c.0 == part).ok_or_else(|| {
            let text = format!("no sheet is called \"{part}\"; there are {}", names());
            Finding::gap("which-part", "file", text, "say which to read: \"part\" in the mapping")
        });
    }
    let filled: Vec<usize> = (0..counted.len()).filter(|k| counted[*k].1 > 0).collect();
    let Some(most) = filled.iter().copied().max_by_key(|k| (counted[*k].1, std::cmp::Reverse(*k))) else {
        return Err(Finding::gap(
            "empty-file",
            "file",
            "the workbook holds no filled sheet",
            "export the table again",
        ));
    };
    if filled.len() > 1 {
        let text = format!(
            "the workbook has several sheets ({}); read is \"{}\", the longest",
            names(),
            counted[most].0
        );
        findings.push(Finding::doubt(
            "which-part",
            "file",
            text,
            "set \"part\" in the mapping if it is another",
        ));
    }
    Ok(most)
}
