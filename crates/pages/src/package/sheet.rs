//! The same tables as one spreadsheet, for those who open spreadsheets. Texts are texts: nothing in it is a formula.
//!
//! A library writes the workbook with every sheet but its lines. The lines are rows of Office Open XML (ECMA-376 part 1,
//! 18.3.1.73 `row`, 18.3.1.4 `c`), packed station by station, so that those of a station that did not change need neither
//! be written nor packed again: packed pieces one after another are one packed stream (RFC 1951, blocks end at a byte).
use super::archive::{self, Packed};
use super::table::{Cell, Plan, Sort};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError};
use std::fmt::Write;

/// Longest text a cell of this format holds (Microsoft, "Excel specifications and limits").
const LONGEST: usize = 32_767;

/// The style of a gap: the second the library is told of, after that of the titles.
const GAP: &str = " s=\"2\"";

/// One table with its lines, packed.
pub struct Sheet<'a> {
    pub plan: &'static Plan,
    /// How many lines.
    pub count: u32,
    pub lines: Vec<&'a Packed>,
}

/// The workbook's bytes, and where the lines of each sheet begin in them; equal tables give equal bytes. `as_of` is the day
/// it holds for, ISO 8601. `None` beyond what the format holds.
pub fn workbook(title: &str, as_of: &str, sheets: &[Sheet]) -> Option<(Vec<u8>, Vec<usize>)> {
    let frame = frame(title, as_of, sheets).ok()?;
    let (mut parts, mut at) = (Vec::new(), vec![0; sheets.len()]);
    for (name, bytes) in archive::read(&frame)? {
        let number = name.strip_prefix("xl/worksheets/sheet").and_then(|n| n.strip_suffix(".xml"));
        let number = number.and_then(|n| n.parse::<usize>().ok()?.checked_sub(1));
        let Some((n, sheet)) = number.and_then(|n| Some((n, sheets.get(n)?))) else {
            parts.push((name, vec![archive::last(&bytes)], Vec::new()));
            continue;
        };
        at[n] = parts.len();
        let (before, after) = around(std::str::from_utf8(&bytes).ok()?, sheet.count)?;
        parts.push((
            name,
            vec![Packed::of(before.as_bytes()), archive::last(after.as_bytes())],
            sheet.lines.clone(),
        ));
    }
    let (bytes, begins) = archive::write(&parts)?;
    Some((bytes, at.into_iter().map(|part| begins[part]).collect()))
}

/// The workbook with its titles, and the last cell of each sheet, which tells how large that is.
fn frame(title: &str, as_of: &str, sheets: &[Sheet]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // Without a date of its own the file would carry the moment of writing.
    let day = ExcelDateTime::parse_from_str(as_of).or_else(|_| ExcelDateTime::from_ymd(2000, 1, 1))?;
    book.set_properties(&DocProperties::new().set_title(shortened(title, 255)).set_creation_datetime(&day));
    for sheet in sheets {
        empty(book.add_worksheet(), sheet.plan, sheet.count)?;
    }
    book.save_to_buffer()
}

fn empty(sheet: &mut Worksheet, plan: &Plan, last: u32) -> Result<(), XlsxError> {
    sheet.set_name(plan.name)?;
    let head = Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top);
    let gap = Format::new().set_font_color("#7A7A7A").set_italic();
    for (i, column) in plan.columns.iter().enumerate() {
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
    sheet.set_freeze_panes(1, 0)?;
    if last > 0 {
        let columns = plan.columns.len() as u16 - 1;
        sheet.write_blank(last, columns, &gap)?;
        sheet.autofilter(0, 0, last, columns)?;
    }
    Ok(())
}

/// A sheet before its lines and after them; the last cell stands in their place, in the style of a gap.
fn around(xml: &str, lines: u32) -> Option<(&str, &str)> {
    let (first, end) = (xml.find("</row>")? + "</row>".len(), xml.find("</sheetData>")?);
    let between = xml.get(first..end)?;
    (lines == 0 || between.contains(GAP)).then_some((&xml[..first], &xml[end..]))
}

/// Before the cells of a row, and after them. Rows and cells follow each other; none says where it stands.
pub const ROW: (&str, &str) = ("<row>", "</row>");

/// Adds cells of a row.
pub fn cells(out: &mut String, cells: &[Cell]) {
    for cell in cells {
        let _never_fails = match cell {
            Cell::Text(words) => {
                text(out, "", words);
                Ok(())
            }
            Cell::Number(x) if x.is_finite() => write!(out, "<c><v>{x}</v></c>"),
            Cell::Number(x) => write!(out, "<c t=\"inlineStr\"><is><t>{x}</t></is></c>"),
            Cell::Whole(n) => write!(out, "<c><v>{n}</v></c>"),
            Cell::Yes(yes) => write!(out, "<c t=\"b\"><v>{}</v></c>", u8::from(*yes)),
            Cell::Gap(reason) if reason.0.is_empty() => write!(out, "<c/>"),
            Cell::Gap(reason) => {
                text(out, GAP, reason.0);
                Ok(())
            }
        };
    }
}

fn text(out: &mut String, style: &str, words: &str) {
    let words = shortened(words, LONGEST);
    let edge = |c: char| c.is_whitespace();
    let keep = words.starts_with(edge) || words.ends_with(edge) || words.contains('\n');
    let space = if keep { " xml:space=\"preserve\"" } else { "" };
    let _never_fails = write!(out, "<c{style} t=\"inlineStr\"><is><t{space}>");
    for (at, c) in words.char_indices() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            // Not characters of XML 1.0 (2.2).
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            // Readers take _xHHHH_ for a character (ECMA-376 part 1, 22.9.2.19); written out it stays what it is.
            '_' if is_code(&words[at..]) => out.push_str("_x005F_"),
            c => out.push(c),
        }
    }
    out.push_str("</t></is></c>");
}

fn is_code(text: &str) -> bool {
    let code = text.strip_prefix("_x").and_then(|rest| rest.as_bytes().get(..5));
    code.is_some_and(|c| c[4] == b'_' && c[..4].iter().all(u8::is_ascii_hexdigit))
}

/// A text cut to what fits, at a character.
fn shortened(text: &str, most: usize) -> String {
    text.chars().filter(|c| !c.is_control() || matches!(c, '\n' | '\t')).take(most).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::package::table::NOT_TESTED;

    #[test]
    fn cells_say_what_they_are_and_texts_stay_texts() {
        let mut out = String::new();
        let cells = [
            Cell::Text("=1+1 <&> _x0041_ ".into()),
            Cell::Number(0.1),
            Cell::Yes(true),
            Cell::Gap(NOT_TESTED),
            Cell::Number(f64::INFINITY),
        ];
        super::cells(&mut out, &cells);
        // As ECMA-376 part 1, 18.3.1.4 and 18.18.11 have them: inlineStr, b, and without a sort a number.
        let want = "<c t=\"inlineStr\"><is><t xml:space=\"preserve\">=1+1 &lt;&amp;&gt; _x005F_x0041_ </t></is></c>\
                    <c><v>0.1</v></c><c t=\"b\"><v>1</v></c>\
                    <c s=\"2\" t=\"inlineStr\"><is><t>not tested</t></is></c>\
                    <c t=\"inlineStr\"><is><t>inf</t></is></c>";
        assert_eq!(out, want);
    }
}
