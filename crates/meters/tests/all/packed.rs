//! Logs in archives and workbooks, tables as text, and archives that mean harm.
//! `workbook.xlsx` was written with openpyxl 3.1, `workbook.ods` with odfpy 1.4, both from invented figures.
use crate::support::{answered, codes, has, loaded, near};
use std::io::{Cursor, Write};
use trueplate_meters::logs::{Options, choices};
use trueplate_meters::sheet::sheet;
use zip::write::{SimpleFileOptions, ZipWriter};

fn file(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/logs/{name}", env!("CARGO_MANIFEST_DIR"))).expect("part of the tests")
}

fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default()).expect("memory");
        zip.write_all(bytes).expect("memory");
    }
    zip.finish().expect("memory").into_inner()
}

const LOG: &str = "time,W\n2026-05-02 10:00:00,360\n2026-05-02 10:00:05,360\n2026-05-02 10:00:10,360\n";

/// Thirteen rows 10 s apart, 1149.8 and 1151.2 W in turn: twelve trapezoids of 1150.5 W·10 s = 138060 W·s = 38.35 Wh.
/// The counter goes from 0.003 to 0.039 kWh.
#[test]
fn workbooks_are_read_like_text() {
    for name in ["workbook.xlsx", "workbook.ods"] {
        let l = loaded(name, &file(name)).log;
        assert_eq!(l.rows, 13, "{name}: {:?}", codes(&l));
        assert_eq!(l.first.as_deref(), Some("2026-05-02T23:58:10"), "{name}");
        assert_eq!(l.last.as_deref(), Some("2026-05-03T00:00:10"), "{name}");
        near(name, l.energy_wh, 38.35, 1e-9);
        near(name, l.energy_counter_wh, 36.0, 1e-9);
        near(name, l.columns[3].range.map(|r| r.1), 119.5, 1e-9);
    }
    // Two sheets: the longer is read, which is said, and the other can be asked for.
    let l = loaded("workbook.xlsx", &file("workbook.xlsx")).log;
    assert!(has(&l, "which-part"), "{:?}", codes(&l));
    let patch = serde_json::json!({ "part": "Info" });
    let other = answered("workbook.xlsx", &file("workbook.xlsx"), None, Options::default(), Some(patch));
    assert!(other.log.energy_wh.is_none() && !other.understanding.readable);
    let patch = serde_json::json!({ "part": "Nowhere" });
    let none = answered("workbook.xlsx", &file("workbook.xlsx"), None, Options::default(), Some(patch)).log;
    assert!(none.findings[0].text.contains("\"Info\", \"Data\""), "{:?}", none.findings);
}

#[test]
fn workbooks_are_tables_of_text() {
    let xlsx = sheet(&file("workbook.xlsx"), Some("Data")).expect("a table");
    assert_eq!(xlsx.names, ["Info", "Data"]);
    assert_eq!(xlsx.rows[0], ["Time", "Power (W)", "Energy (kWh)", "Voltage (V)"]);
    assert_eq!(xlsx.rows[1], ["2026-05-02T23:58:10", "1149.8", "0.003", "119.5"]);
    assert_eq!(xlsx.rows[14], ["Total", "", "0.039"]);
    let ods = sheet(&file("workbook.ods"), None).expect("a table");
    // The thirteenth row is midnight: a date alone where the workbook holds nothing but the day.
    assert_eq!(ods.rows[..12], xlsx.rows[..12]);
    assert_eq!((xlsx.rows[12][0].as_str(), ods.rows[12][0].as_str()), ("2026-05-03", "2026-05-03T00:00:00"));
    assert_eq!((ods.rows.len(), ods.name.as_str()), (14, "Data"));
}

#[test]
fn delimited_text_is_a_table_too() {
    let text = "Model;Note;Wh\r\n\"A; small\";\"two\nlines, \"\"so\"\"\";1.024,5\r\n;;\r\nB;;\r\n";
    for bytes in [text.as_bytes().to_vec(), archive(&[("old/table.csv", text.as_bytes())])] {
        let table = sheet(&bytes, None).expect("a table");
        assert_eq!(table.rows.len(), 4);
        assert_eq!(table.rows[1], ["A; small", "two\nlines, \"so\"", "1.024,5"]);
        assert!(table.rows[2].is_empty());
        assert_eq!(table.rows[3], ["B"]);
    }
    for bytes in [&b""[..], b"\x89PNG\r\n", b"\n\n"] {
        assert!(sheet(bytes, None).is_err());
    }
}

/// 360 W for 10 s is 1 Wh.
#[test]
fn archives() {
    let mac = [("__MACOSX/._log.csv", &b"x"[..]), ("log.csv", LOG.as_bytes())];
    near("one file", loaded("a.zip", &archive(&mac)).log.energy_wh, 1.0, 1e-9);
    let beside = [("readme.pdf", &b"%PDF-1.4"[..]), ("data/log.csv", LOG.as_bytes())];
    near("one log", loaded("a.zip", &archive(&beside)).log.energy_wh, 1.0, 1e-9);
    let two = archive(&[("a.csv", b"time,W\n2026-05-02 10:00:00,1\n"), ("b.csv", LOG.as_bytes())]);
    let l = loaded("a.zip", &two).log;
    assert!(has(&l, "which-part") && l.energy_wh.is_none());
    // It is a question with an answer for each file.
    let asked = answered("a.zip", &two, None, Options::default(), None).understanding;
    let offered = choices(&asked.questions[0], &asked.mapping);
    assert_eq!(offered.iter().map(|c| c.label.as_str()).collect::<Vec<_>>(), ["a.csv", "b.csv"]);
    near(
        "taken",
        answered("a.zip", &two, None, Options::default(), Some(offered[1].patch.clone())).log.energy_wh,
        1.0,
        1e-9,
    );
    let patch = serde_json::json!({ "part": "b.csv" });
    near("asked", answered("a.zip", &two, None, Options::default(), Some(patch)).log.energy_wh, 1.0, 1e-9);
    assert!(has(&loaded("a.zip", &archive(&[])).log, "empty-file"));
    assert!(has(&loaded("a.zip", b"PK\x03\x04 and then nothing").log, "packed-damaged"));
}

/// A flipped bit in a stored member shows in its checksum; a cut archive has no list of contents.
#[test]
fn damaged_archives_are_noticed() {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    zip.start_file("log.csv", stored).expect("memory");
    zip.write_all(LOG.as_bytes()).expect("memory");
    let whole = zip.finish().expect("memory").into_inner();
    near("whole", loaded("a.zip", &whole).log.energy_wh, 1.0, 1e-9);
    let at = whole.windows(4).position(|w| w == b",360").expect("there");
    let mut flipped = whole.clone();
    flipped[at + 1] = b'9';
    assert!(has(&loaded("a.zip", &flipped).log, "file-cut"), "{:?}", codes(&loaded("a.zip", &flipped).log));
    assert!(has(&loaded("a.zip", &whole[..whole.len() - 30]).log, "packed-damaged"));
}

fn xlsx(sheet: &str) -> Vec<u8> {
    let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let book = format!(
        "<workbook xmlns=\"{main}\" xmlns:r=\"{rel}\"><sheets><sheet name=\"S\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>"
    );
    let rels = format!(
        "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Id=\"r1\" Type=\"{rel}/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>"
    );
    let sheet = format!("<worksheet xmlns=\"{main}\">{sheet}</worksheet>");
    let top = format!(
        "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Id=\"r1\" Type=\"{rel}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
    );
    archive(&[
        ("_rels/.rels", top.as_bytes()),
        ("xl/workbook.xml", book.as_bytes()),
        ("xl/_rels/workbook.xml.rels", rels.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
    ])
}

fn ods(rows: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content><office:body><office:spreadsheet><table:table table:name=\"S\">{rows}</table:table></office:spreadsheet></office:body></office:document-content>"
    );
    archive(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("content.xml", content.as_bytes()),
    ])
}

/// Two cells at opposite corners of the largest sheet are two rows, not seventeen thousand million cells.
#[test]
fn corners_of_the_largest_sheet() {
    let far = xlsx(
        "<dimension ref=\"A1:XFD1048576\"/><sheetData><row r=\"1\"><c r=\"A1\"><v>1</v></c></row><row r=\"1048576\"><c r=\"A1048576\"><v>2</v></c><c r=\"XFD1048576\"><v>2</v></c></row></sheetData>",
    );
    let table = sheet(&far, None).expect("a table");
    assert_eq!((table.rows.len(), table.rows[0].as_slice()), (1_048_576, &["1".to_string()][..]));
    assert!(table.findings.iter().any(|f| f.code == "too-many-columns"));
}

#[test]
fn bombs_are_refused() {
    let cell = "<table:table-cell office:value-type=\"float\" office:value=\"1\" table:number-columns-repeated=\"16384\"/>";
    let row = format!("<table:table-row table:number-rows-repeated=\"1048576\">{cell}</table:table-row>");
    let refused = |bytes: &[u8]| sheet(bytes, None).expect_err("a bomb").code;
    assert_eq!(refused(&ods(&row)), "sheet-too-large");
    // One row ten million times over, said a thousand at a time.
    let many = format!("<table:table-row table:number-rows-repeated=\"1000\">{cell}</table:table-row>")
        .repeat(10_000);
    assert_eq!(refused(&ods(&many)), "sheet-too-large");
    // Seventy megabytes of blanks pack into a tenth of one.
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    zip.start_file("table.csv", SimpleFileOptions::default()).expect("memory");
    let blanks = vec![b' '; 1 << 20];
    (0..70).for_each(|_| zip.write_all(&blanks).expect("memory"));
    let bomb = zip.finish().expect("memory").into_inner();
    assert!(bomb.len() < 1 << 20);
    assert_eq!(refused(&bomb), "sheet-too-large");
    let log = loaded("bomb.zip", &bomb).log;
    assert!(has(&log, "not-a-table") || has(&log, "line-too-long"), "{:?}", codes(&log));
}

/// A workbook that breaks off, or whose cells stand where no cell can, is refused with a reason.
#[test]
fn broken_workbooks() {
    for bytes in [
        xlsx("<sheetData><row r=\"1\"><c r=\"A1\"><v>1</v>"),
        xlsx("<sheetData><row r=\"0\"><c r=\"A0\"><v>1</v></c></row></sheetData>"),
        xlsx(
            "<sheetData><row r=\"9\"><c r=\"A9\"><v>1</v></c></row><row r=\"2\"><c r=\"A2\"><v>1</v></c></row></sheetData>",
        ),
        // A column of 37 letters: 26^37 is beyond any number that counts columns.
        xlsx(&format!("<sheetData><row r=\"1\"><c r=\"{}1\"><v>1</v></c></row></sheetData>", "D".repeat(37))),
        ods("<table:table-row><table:table-cell><text:p>a"),
        archive(&[("xl/workbook.xml", b"no xml at all <<<")]),
    ] {
        let finding = sheet(&bytes, None).expect_err("broken");
        assert!(!finding.hint.is_empty() && finding.code == "packed-damaged", "{finding:?}");
        assert!(loaded("x.xlsx", &bytes).log.energy_wh.is_none());
    }
}
