//! The same tables as one spreadsheet, for those who open spreadsheets. Texts are texts: nothing in it is a formula.
use super::table::{Cell, Sort, Table};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError};

/// Longest text a cell of this format holds (Microsoft, "Excel specifications and limits").
const LONGEST: usize = 32_767;

/// The workbook's bytes; equal tables give equal bytes. `as_of` is the day it holds for, ISO 8601.
pub fn workbook(title: &str, as_of: &str, tables: &[&Table]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // Without a date of its own the file would carry the moment of writing.
    let day = ExcelDateTime::parse_from_str(as_of).or_else(|_| ExcelDateTime::from_ymd(2000, 1, 1))?;
    book.set_properties(&DocProperties::new().set_title(shortened(title, 255)).set_creation_datetime(&day));
    for table in tables {
        sheet(book.add_worksheet(), table)?;
    }
    book.save_to_buffer()
}

/// A text cut to what fits, at a character.
fn shortened(text: &str, most: usize) -> String {
    text.chars().filter(|c| !c.is_control() || matches!(c, '\n' | '\t')).take(most).collect()
}

fn sheet(sheet: &mut Worksheet, table: &Table) -> Result<(), XlsxError> {
    let columns = table.plan.columns;
    sheet.set_name(table.plan.name)?;
    let head = Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top);
    let gap = Format::new().set_font_color("#7A7A7A").set_italic();
    for (i, column) in columns.iter().enumerate() {
        let i = i as u16;
        let title = match column.unit {
            "" | "1" => column.name.to_string(),
            own if own.starts_with('@') => column.name.to_string(),
            unit => format!("{} ({unit})", column.name),
        };
        sheet.write_string_with_format(0, i, title, &head)?;
        let wide = matches!(column.sort, Sort::Text | Sort::Moment);
        sheet.set_column_width(i, if wide { 18.0 } else { 11.0 })?;
    }
    let cells = table.cells.as_deref().unwrap_or_default();
    let mut last = 0;
    for (line, row) in cells.chunks(columns.len()).enumerate() {
        last = line as u32 + 1;
        for (i, cell) in row.iter().enumerate() {
            write(sheet, last, i as u16, cell, &gap)?;
        }
    }
    sheet.set_freeze_panes(1, 0)?;
    if last > 0 {
        sheet.autofilter(0, 0, last, columns.len() as u16 - 1)?;
    }
    Ok(())
}

fn write(sheet: &mut Worksheet, line: u32, column: u16, cell: &Cell, gap: &Format) -> Result<(), XlsxError> {
    match cell {
        Cell::Text(text) => sheet.write_string(line, column, shortened(text, LONGEST))?,
        Cell::Number(x) if x.is_finite() => sheet.write_number(line, column, *x)?,
        Cell::Number(x) => sheet.write_string(line, column, format!("{x}"))?,
        Cell::Whole(n) => sheet.write_number(line, column, *n as f64)?,
        Cell::Yes(yes) => sheet.write_boolean(line, column, *yes)?,
        Cell::Gap(reason) if reason.0.is_empty() => return Ok(()),
        Cell::Gap(reason) => sheet.write_string_with_format(line, column, reason.0, gap)?,
    };
    Ok(())
}
