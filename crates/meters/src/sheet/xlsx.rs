//! Office Open XML workbooks (ECMA-376), cell by cell.
use super::{Rows, Told, damaged, which};
use calamine::{DataRef, ExcelDateTime, Reader, Xlsx};
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use trueplate_core::finding::Finding;

/// Hands out the rows of one sheet.
pub(super) fn rows(
    bytes: &[u8],
    part: Option<&str>,
    take: &mut dyn FnMut(&[String]),
) -> Result<Told, Finding> {
    // The library multiplies the letters of a cell's place unchecked; it is built with checks (profile in Cargo.toml), so
    // that an endless place is a fault of the file instead of a value in a wrong cell. Nothing it touched is used after.
    let read = AssertUnwindSafe(|| read(bytes, part, take));
    catch_unwind(read).unwrap_or_else(|_| Err(damaged("the place of a cell is beyond any sheet")))
}

fn read(bytes: &[u8], part: Option<&str>, take: &mut dyn FnMut(&[String])) -> Result<Told, Finding> {
    let mut book = Xlsx::new(Cursor::new(bytes)).map_err(|e| damaged(&e.to_string()))?;
    let names = book.sheet_names();
    let mut findings = Vec::new();
    let mut counted = Vec::new();
    for name in &names {
        let mut count = 0;
        // A chart sheet has no cells and is no fault.
        if names.len() > 1 && part.is_none() {
            let _ = cells(&mut book, name, &mut |_| count += 1);
        } else {
            count = 1;
        }
        counted.push((name.clone(), count));
    }
    let at = which(&counted, part, &mut findings)?;
    findings.extend(cells(&mut book, &names[at], take)?);
    Ok(Told { name: names[at].clone(), names, findings })
}

fn cells(
    book: &mut Xlsx<Cursor<&[u8]>>,
    name: &str,
    take: &mut dyn FnMut(&[String]),
) -> Result<Vec<Finding>, Finding> {
    let broken = |e: calamine::XlsxError| damaged(&e.to_string());
    let mut findings = Vec::new();
    let mut cells = book.worksheet_cells_reader(name).map_err(broken)?;
    let mut rows = Rows::new(take);
    while let Some(cell) = cells.next_cell().map_err(broken)? {
        let (row, column) = cell.get_position();
        rows.cell(row, column as usize, text_of(cell.get_value()))?;
    }
    rows.end(&mut findings);
    Ok(findings)
}

fn text_of(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(n) => n.to_string(),
        DataRef::Float(x) => x.to_string(),
        DataRef::String(s) => s.trim().to_string(),
        DataRef::SharedString(s) => s.trim().to_string(),
        DataRef::Bool(b) => b.to_string(),
        DataRef::DateTime(at) => date_text(*at),
        DataRef::DateTimeIso(s) | DataRef::DurationIso(s) => s.clone(),
        DataRef::Error(e) => e.to_string(),
        DataRef::Empty => String::new(),
    }
}

/// A date, a time of day (the first day of the count means none), both, or a duration in hours.
fn date_text(at: ExcelDateTime) -> String {
    let days = at.as_f64();
    let ms = (days * 86_400_000.0).round();
    if !(0.0..1e14).contains(&ms) {
        return days.to_string();
    }
    let ms = ms as u64;
    let (s, fraction) = (ms / 1000, ms % 1000);
    let fraction = if fraction == 0 { String::new() } else { format!(".{fraction:03}") };
    if at.is_duration() || days < 1.0 {
        return format!("{:02}:{:02}:{:02}{fraction}", s / 3600, s / 60 % 60, s % 60);
    }
    let (y, m, d, ..) = at.to_ymd_hms_milli();
    // A day rounded up to the next by less than a millisecond is rare enough to be written as the library has it.
    let clock = s % 86_400;
    if ms.is_multiple_of(86_400_000) {
        return format!("{y:04}-{m:02}-{d:02}");
    }
    format!("{y:04}-{m:02}-{d:02}T{:02}:{:02}:{:02}{fraction}", clock / 3600, clock / 60 % 60, clock % 60)
}
