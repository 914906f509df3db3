//! OpenDocument spreadsheets (OASIS ODF 1.3, part 3, chapter 9), cell by cell.
//!
//! Our own, because the library lays the table out as a rectangle: a repeated cell in a repeated row fills all memory.
use super::{CELLS, COLUMNS, Rows, Told, damaged, too_many_cells, which};
use crate::packed::{self, Member};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::io::{BufReader, Cursor, Read};
use trueplate_core::finding::Finding;

type Xml<'a> = Reader<BufReader<Box<dyn Read + 'a>>>;

/// Hands out the rows of one sheet.
pub(super) fn rows(
    bytes: &[u8],
    members: &[Member],
    part: Option<&str>,
    take: &mut dyn FnMut(&[String]),
) -> Result<Told, Finding> {
    let content =
        members.iter().find(|m| m.name == "content.xml").ok_or_else(|| damaged("it has no content"))?;
    let mut counted: Vec<(String, u32)> = Vec::new();
    tables(bytes, content, &mut |name, xml| {
        let mut count = 0;
        let answer = table(xml, &mut |_| count += 1).map(|_| ());
        counted.push((name.to_string(), count));
        answer
    })?;
    let mut findings = Vec::new();
    let at = which(&counted, part, &mut findings)?;
    let mut k = 0;
    tables(bytes, content, &mut |_, xml| {
        let mine = k == at;
        k += 1;
        let more = if mine { table(xml, take)? } else { table(xml, &mut |_| ())? };
        findings.extend(more);
        Ok(())
    })?;
    Ok(Told { name: counted[at].0.clone(), names: counted.into_iter().map(|c| c.0).collect(), findings })
}

/// Calls `each` at the start of every table of the document.
fn tables(
    bytes: &[u8],
    content: &Member,
    each: &mut dyn FnMut(&str, &mut Xml<'_>) -> Result<(), Finding>,
) -> Result<(), Finding> {
    let stream = packed::open(Cursor::new(bytes), content).map_err(|e| damaged(&e.to_string()))?;
    let mut xml = Reader::from_reader(BufReader::new(stream));
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(|e| damaged(&e.to_string()))? {
            Event::Start(e) if e.name().as_ref() == "table:table" => {
                let name = attribute(&e, "table:name")?.unwrap_or_default();
                each(&name, &mut xml)?;
            }
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

/// The value of an attribute. Names are compared with their usual prefixes, as all programs write them.
fn attribute(e: &BytesStart<'_>, name: &str) -> Result<Option<String>, Finding> {
    for a in e.attributes().with_checks(false) {
        let a = a.map_err(|e| damaged(&e.to_string()))?;
        if a.key.as_ref() == name {
            let value = a
                .normalized_value(quick_xml::XmlVersion::Explicit1_0)
                .map_err(|e| damaged(&e.to_string()))?;
            return Ok(Some(value.into_owned()));
        }
    }
    Ok(None)
}

fn repeats(e: &BytesStart<'_>, name: &str) -> Result<u64, Finding> {
    Ok(attribute(e, name)?.and_then(|n| n.parse().ok()).unwrap_or(1).clamp(1, u64::from(super::ROWS)))
}

/// The rows of a table, up to its end.
fn table(xml: &mut Xml<'_>, take: &mut dyn FnMut(&[String])) -> Result<Vec<Finding>, Finding> {
    let mut rows = Rows::new(take);
    let mut buffer = Vec::new();
    let (mut row, mut times) = (0u64, 1);
    let mut cells: Vec<(usize, String)> = Vec::new();
    let (mut column, mut total) = (0usize, 0u64);
    let mut findings = Vec::new();
    loop {
        buffer.clear();
        let event = xml.read_event_into(&mut buffer).map_err(|e| damaged(&e.to_string()))?;
        match event {
            Event::Start(e) if e.name().as_ref() == "table:table-row" => {
                times = repeats(&e, "table:number-rows-repeated")?;
                column = 0;
            }
            Event::Empty(e) if e.name().as_ref() == "table:table-row" => {
                row += repeats(&e, "table:number-rows-repeated")?;
            }
            Event::Start(e) if is_cell(&e) => {
                let (e, wide) = (e.to_owned(), repeats(&e, "table:number-columns-repeated")? as usize);
                let inside = inner_text(xml, &e)?;
                let text = value(&e)?.unwrap_or(inside);
                fill(&mut cells, column, wide, &text);
                column = column.saturating_add(wide);
            }
            Event::Empty(e) if is_cell(&e) => {
                let wide = repeats(&e, "table:number-columns-repeated")? as usize;
                fill(&mut cells, column, wide, &value(&e)?.unwrap_or_default());
                column = column.saturating_add(wide);
            }
            Event::End(e) if e.name().as_ref() == "table:table-row" => {
                if !cells.is_empty() {
                    total += times * cells.len() as u64;
                    if total > CELLS {
                        return Err(too_many_cells());
                    }
                    for k in row..row + times {
                        let k = u32::try_from(k).unwrap_or(u32::MAX);
                        for (column, text) in &cells {
                            rows.cell(k, *column, text.clone())?;
                        }
                    }
                }
                cells.clear();
                row += times;
            }
            Event::End(e) if e.name().as_ref() == "table:table" => break,
            Event::Eof => return Err(damaged("it ends inside a table")),
            _ => {}
        }
    }
    rows.end(&mut findings);
    Ok(findings)
}

fn is_cell(e: &BytesStart<'_>) -> bool {
    matches!(e.name().as_ref(), "table:table-cell" | "table:covered-table-cell")
}

/// The same text in so many columns; one beyond the last that is read is kept, to be noticed.
fn fill(cells: &mut Vec<(usize, String)>, column: usize, wide: usize, text: &str) {
    if !text.is_empty() {
        let end = column.saturating_add(wide).min(COLUMNS + 1);
        cells.extend((column.min(COLUMNS)..end.max(column.min(COLUMNS) + 1)).map(|c| (c, text.to_string())));
    }
}

/// The value of a cell where an attribute holds it: numbers, dates, durations, truth.
fn value(e: &BytesStart<'_>) -> Result<Option<String>, Finding> {
    for name in ["office:date-value", "office:boolean-value", "office:string-value"] {
        if let Some(text) = attribute(e, name)? {
            return Ok(Some(text.trim().to_string()));
        }
    }
    if let Some(text) = attribute(e, "office:time-value")? {
        return Ok(Some(clock(&text).unwrap_or(text)));
    }
    attribute(e, "office:value")
}

/// `PT23H58M10.5S` as `23:58:10.5` (the durations of XML Schema, part 2, 3.3.6).
fn clock(text: &str) -> Option<String> {
    let rest = text.strip_prefix("PT")?;
    let (h, rest) = rest.split_once('H')?;
    let (m, rest) = rest.split_once('M')?;
    let s = rest.strip_suffix('S')?;
    let digits =
        |t: &str| !t.is_empty() && t.len() < 20 && t.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    (digits(h) && digits(m) && digits(s)).then(|| format!("{h:0>2}:{m:0>2}:{s:0>2}"))
}

/// The paragraphs of a cell, up to its end; a remark pinned to it is no part of it.
fn inner_text(xml: &mut Xml<'_>, cell: &BytesStart<'_>) -> Result<String, Finding> {
    let (mut text, mut buffer, mut remark) = (String::new(), Vec::new(), 0u32);
    loop {
        buffer.clear();
        match xml.read_event_into(&mut buffer).map_err(|e| damaged(&e.to_string()))? {
            Event::Start(e) if e.name().as_ref() == "office:annotation" => remark += 1,
            Event::End(e) if e.name().as_ref() == "office:annotation" => remark = remark.saturating_sub(1),
            Event::End(e) if e.name() == cell.name() => return Ok(text.trim().to_string()),
            Event::End(e) if e.name().as_ref() == "text:p" && remark == 0 => text.push(' '),
            Event::Empty(e) if matches!(e.name().as_ref(), "text:s" | "text:tab" | "text:line-break") => {
                text.push(' ')
            }
            Event::Text(t) if remark == 0 && text.len() < super::LONGEST => text.push_str(&t.xml10_content()),
            Event::GeneralRef(r) if remark == 0 => match r.resolve_char_ref() {
                Ok(Some(c)) => text.push(c),
                _ => text.push_str(meant(&r)),
            },
            Event::Eof => return Err(damaged("it ends inside a cell")),
            _ => {}
        }
    }
}

/// The five entities of XML.
fn meant(name: &str) -> &'static str {
    match name {
        "amp" => "&",
        "lt" => "<",
        "gt" => ">",
        "quot" => "\"",
        "apos" => "'",
        _ => " ",
    }
}
