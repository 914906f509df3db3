//! Delimited text as a table: encoding, separator and quotes found as for logs, but nothing understood of the columns.
use super::{COLUMNS, Rows, Sheet};
use crate::logs;
use std::io::Read;
use trueplate_core::finding::Finding;

/// The most bytes of text that are taken for a table.
pub(super) const LONGEST: u64 = 64 << 20;

/// Rows of a text file, gzip or not.
pub(super) fn plain(bytes: &[u8]) -> Result<Sheet, Finding> {
    let mut unpacked = Vec::new();
    let read = logs::unpack(bytes).and_then(|r| r.take(LONGEST + 1).read_to_end(&mut unpacked));
    if let Err(e) = read {
        return Err(super::damaged(&e.to_string()));
    }
    if unpacked.len() as u64 > LONGEST {
        let text = format!("the text is longer than {} MB", LONGEST >> 20);
        return Err(Finding::gap("sheet-too-large", "file", text, "is this a table of earlier results?"));
    }
    if let Some(what) = logs::not_text(&unpacked) {
        let hint = "save the table as .xlsx, .ods or CSV";
        return Err(Finding::gap("not-a-table", "file", format!("the file is {what}"), hint));
    }
    let text = logs::plain(&unpacked);
    let mut sheet = Sheet::default();
    let mut take = |row: &[String]| sheet.rows.push(row.to_vec());
    let mut rows = Rows::new(&mut take);
    for (k, record) in records(&text).into_iter().enumerate() {
        for (column, cell) in record.into_iter().enumerate().take(COLUMNS + 1) {
            rows.cell(k as u32, column, cell)?;
        }
    }
    rows.end(&mut sheet.findings);
    if sheet.rows.is_empty() {
        return Err(Finding::gap("empty-file", "file", "the file holds no table", "export it again"));
    }
    Ok(sheet)
}

/// The mark that stands in most lines equally often: tab, semicolon, bar or comma.
fn separator(text: &str) -> char {
    let lines: Vec<&str> = text.lines().filter(|l| !l.trim().is_empty()).take(50).collect();
    let score = |mark: char| {
        let counts: Vec<usize> = lines.iter().map(|l| l.matches(mark).count()).collect();
        let usual = counts.iter().copied().max_by_key(|n| (counts.iter().filter(|m| *m == n).count(), *n));
        let usual = usual.filter(|n| *n > 0)?;
        Some(counts.iter().filter(|n| **n == usual).count())
    };
    // Where two serve equally well the earlier wins: a comma may be a decimal mark.
    let marks = ['\t', ';', '|', ','];
    marks.into_iter().rev().filter_map(|m| Some((score(m)?, m))).max_by_key(|s| s.0).map_or(',', |s| s.1)
}

/// Records as RFC 4180 has them: a quoted field may hold separators, line ends and doubled quotes.
fn records(text: &str) -> Vec<Vec<String>> {
    let mark = separator(text);
    let (mut all, mut record, mut field) = (Vec::new(), Vec::new(), String::new());
    let (mut quoted, mut was_quoted) = (false, false);
    let mut chars = text.chars().filter(|c| *c != '\0').peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                field.push('"');
            }
            '"' if quoted => quoted = false,
            '"' if field.trim().is_empty() && !was_quoted => {
                field.clear();
                (quoted, was_quoted) = (true, true);
            }
            c if quoted => field.push(c),
            c if c == mark => {
                record.push(std::mem::take(&mut field).trim().to_string());
                was_quoted = false;
            }
            '\r' | '\n' => {
                if c == '\r' && chars.peek() == Some(&'\n') {
                    chars.next();
                }
                record.push(std::mem::take(&mut field).trim().to_string());
                all.push(std::mem::take(&mut record));
                was_quoted = false;
            }
            c => field.push(c),
        }
    }
    if !field.is_empty() || !record.is_empty() {
        record.push(field.trim().to_string());
        all.push(record);
    }
    all
}
