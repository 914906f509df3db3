//! A tester's old table of stations: from the bytes of a file to rows of text, and from a plan to records kept.
use crate::desk::free_id;
use trueplate_core::notebook::{Model, Notebook};
use trueplate_core::record::Record;
use trueplate_core::table::{Plan, Table};
use trueplate_meters::logs::plain;
use trueplate_meters::sheet::sheet;

/// Rows read, at most: nobody tested more stations, and a log of a week is no table of stations.
const ROWS: usize = 5000;

/// The rows of a delimited text or of a workbook (its longest sheet): cells as written. Empty where it is neither.
pub fn rows(bytes: &[u8]) -> Vec<Vec<String>> {
    if bytes.starts_with(b"PK\x03\x04") {
        let mut rows = sheet(bytes, None).map(|s| s.rows).unwrap_or_default();
        rows.truncate(ROWS);
        return rows;
    }
    if bytes.iter().take(4096).filter(|b| **b == 0).count() > 16 && !bytes.starts_with(&[0xff, 0xfe]) {
        return Vec::new();
    }
    let text = plain(bytes);
    let text = text.trim_start_matches('\u{feff}');
    let cut = |mark: u8| -> Vec<Vec<String>> {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(mark)
            .flexible(true)
            .has_headers(false)
            .from_reader(text.as_bytes());
        let rows = reader.records().map_while(Result::ok).take(ROWS);
        rows.map(|r| r.iter().map(|c| c.trim().to_string()).collect()).collect()
    };
    // The mark that cuts the first rows into most cells; among equals the last of the list, since a comma may be a decimal one.
    let cells = |rows: &Vec<Vec<String>>| rows.iter().take(10).map(Vec::len).sum::<usize>();
    [b'|', b',', b';', b'\t'].into_iter().map(cut).max_by_key(cells).unwrap_or_default()
}

/// The records a plan becomes, new stations with ids of their own.
pub fn records(plan: &Plan, notebook: &Notebook) -> Vec<Record> {
    let mut taken: Vec<String> = Vec::new();
    let mut named = |model: &Model| {
        if !model.id.is_empty() {
            return model.id.clone();
        }
        let wanted = free_id(notebook, "model", &model.name);
        let tries = std::iter::once(wanted.clone()).chain((2..).map(|n| format!("{wanted}-{n}")));
        let id = tries
            .into_iter()
            .find(|id| !taken.contains(id) && notebook.model(id).is_none())
            .unwrap_or(wanted);
        taken.push(id.clone());
        id
    };
    plan.models.iter().map(|m| Record::Model(Model { id: named(m), ..m.clone() })).collect()
}

/// "3 stations, 5 claims, 2 prices, 9 results as summaries".
pub fn words(plan: &Plan) -> String {
    let one = |n: usize, one: &str, many: &str| match n {
        0 => None,
        1 => Some(format!("1 {one}")),
        n => Some(format!("{n} {many}")),
    };
    let fresh = plan.models.iter().filter(|m| m.id.is_empty()).count();
    let parts = [
        one(fresh, "new station", "new stations"),
        one(plan.models.len() - fresh, "station added to", "stations added to"),
        one(plan.claims, "claim", "claims"),
        one(plan.prices, "price", "prices"),
        one(plan.earlier, "result as a summary", "results as summaries"),
    ];
    let said: Vec<String> = parts.into_iter().flatten().collect();
    if said.is_empty() { "nothing new".into() } else { said.join(", ") }
}

/// Cells of the first rows under the header, for a look.
pub fn sample<'a>(table: &Table, rows: &'a [Vec<String>]) -> impl Iterator<Item = &'a Vec<String>> {
    rows.iter().skip(table.header + 1).filter(|r| r.iter().any(|c| !c.is_empty())).take(6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_of_any_delimiter_and_encoding() {
        let want = vec![vec!["Model".to_string(), "Größe, kg".into()], vec!["A 1".into(), "12,9".into()]];
        assert_eq!(rows("\u{feff}Model;Größe, kg\nA 1;12,9\n".as_bytes()), want);
        assert_eq!(rows(b"Model\tGr\xf6\xdfe, kg\nA 1\t12,9\n"), want);
        assert_eq!(rows("Model,\"Größe, kg\"\nA 1,\"12,9\"\n".as_bytes()), want);
        assert!(rows(&[0; 100]).is_empty());
        // The workbooks of the log readers' tests: the same rows, whatever they hold.
        let book = rows(include_bytes!("../../meters/tests/logs/workbook.xlsx"));
        assert!(
            book.len() > 1 && book == rows(include_bytes!("../../meters/tests/logs/workbook.ods")),
            "{book:?}"
        );
    }
}
