//! Any bytes as a workbook, an archive or delimited text; and any text as the two XML parts that hold the cells.
#![no_main]
use libfuzzer_sys::fuzz_target;
use std::io::{Cursor, Write};
use std::sync::Once;
use trueplate_meters::logs::{Hints, Options, load};
use trueplate_meters::sheet::sheet;
use zip::write::{SimpleFileOptions, ZipWriter};

const BOOK: &str = r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>"#;
const TOP: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const RELATIONS: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;

fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in files {
        zip.start_file(*name, stored).expect("memory");
        zip.write_all(bytes).expect("memory");
    }
    zip.finish().expect("memory").into_inner()
}

fn read(bytes: &[u8]) {
    match sheet(bytes, None) {
        Ok(table) => assert!(table.rows.iter().all(|r| r.len() <= trueplate_meters::sheet::COLUMNS)),
        Err(finding) => assert!(!finding.text.is_empty() && !finding.hint.is_empty()),
    }
    load(|| Ok(Cursor::new(bytes)), &Hints::default(), &Options::default(), None).expect("memory");
}

/// The library that reads workbooks may panic: its reader is caught and says that the file is damaged.
static CAUGHT: Once = Once::new();

fn catch() {
    let fuzzers = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if !info.location().is_some_and(|at| at.file().contains("calamine-")) {
            fuzzers(info);
        }
    }));
}

fuzz_target!(|bytes: &[u8]| {
    CAUGHT.call_once(catch);
    // The first byte says what the others are.
    let Some((kind, rest)) = bytes.split_first() else { return };
    match kind % 4 {
        0 => read(rest),
        1 => read(&archive(&[
            ("_rels/.rels", TOP.as_bytes()),
            ("xl/workbook.xml", BOOK.as_bytes()),
            ("xl/_rels/workbook.xml.rels", RELATIONS.as_bytes()),
            ("xl/worksheets/sheet1.xml", rest),
        ])),
        2 => read(&archive(&[
            ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
            ("content.xml", rest),
        ])),
        _ => read(&archive(&[("log.csv", rest)])),
    }
});
