//! A table of the data package: its columns with unit and meaning, and its lines as comma-separated values.
use super::sheet;
use serde_json::{Value as Json, json};
use std::borrow::Cow;
use std::ops::Range;
use trueplate_core::cells;
use trueplate_core::quantity::Unit;
use trueplate_core::uncertain::Value;

/// Sort of a column, by the names of Frictionless Table Schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sort {
    Text,
    Number,
    Whole,
    Yes,
    Day,
    Moment,
}

/// A word that stands where there is no value, and why there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap(pub &'static str, pub &'static str);

/// There is nothing that could stand here.
pub const NONE: Gap = Gap("", "does not apply, or was not noted");
pub const NOT_TESTED: Gap = Gap("not tested", "no test was made that says it");
pub const NOT_HELD: Gap = Gap("not held", "it was tried and did not hold; see the tests");
pub const NO_INSTRUMENT: Gap =
    Gap("no instrument", "no instrument is named, so the uncertainty is not known; it is not zero");
pub const UNREADABLE: Gap = Gap("unreadable", "something is written there that could not be read as a value");

/// One column.
pub struct Column {
    pub name: &'static str,
    pub sort: Sort,
    /// What it holds.
    pub about: &'static str,
    /// UCUM code; empty: none. `@x`: the code stands in column `x` of the same line.
    pub unit: &'static str,
    /// Words that may stand instead of a value, besides the empty cell.
    pub gaps: &'static [Gap],
}

/// A column without unit and reasons.
pub const fn column(name: &'static str, sort: Sort, about: &'static str) -> Column {
    Column { name, sort, about, unit: "", gaps: &[] }
}

impl Column {
    /// Its numbers are in this unit.
    pub const fn unit(self, unit: &'static str) -> Column {
        Column { unit, ..self }
    }
    /// Reasons that may stand in it.
    pub const fn gaps(self, gaps: &'static [Gap]) -> Column {
        Column { gaps, ..self }
    }
    fn json(&self) -> Json {
        let sort = match self.sort {
            Sort::Text => "string",
            Sort::Number => "number",
            Sort::Whole => "integer",
            Sort::Yes => "boolean",
            Sort::Day => "date",
            Sort::Moment => "datetime",
        };
        let mut field = json!({ "name": self.name, "type": sort, "description": self.about });
        if self.sort == Sort::Moment {
            // RFC 3339 with an offset; the default of older programs allows UTC alone.
            field["format"] = json!("any");
        }
        match self.unit.strip_prefix('@') {
            Some(other) => field["unitField"] = json!(other),
            None if !self.unit.is_empty() => field["unit"] = json!(self.unit),
            None => {}
        }
        if !self.gaps.is_empty() {
            let all = std::iter::once(&NONE).chain(self.gaps);
            let gaps: Vec<Json> = all.map(|Gap(word, why)| json!({ "value": word, "label": why })).collect();
            field["missingValues"] = json!(gaps);
        }
        field
    }
}

/// What stands where a line crosses a column.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell<'a> {
    Text(Cow<'a, str>),
    Number(f64),
    Whole(u64),
    Yes(bool),
    Gap(Gap),
}

/// A text; an empty one is a gap.
pub fn text<'a>(text: impl Into<Cow<'a, str>>) -> Cell<'a> {
    let text = text.into();
    if text.is_empty() { Cell::Gap(NONE) } else { Cell::Text(text) }
}

/// A number where zero stands for "not noted".
pub fn noted<'a>(x: f64) -> Cell<'a> {
    if x == 0.0 { Cell::Gap(NONE) } else { Cell::Number(x) }
}

/// A number, or nothing.
pub fn maybe<'a>(x: Option<f64>) -> Cell<'a> {
    x.map_or(Cell::Gap(NONE), Cell::Number)
}

/// A day as ISO 8601 writes it.
pub fn day(text: &str) -> Cell<'_> {
    match text {
        "" => Cell::Gap(NONE),
        t if trueplate_core::stamp::is_day(t) => Cell::Text(t.into()),
        _ => Cell::Gap(UNREADABLE),
    }
}

/// A value in a unit: the number, its standard uncertainty, the unit's code.
pub fn value<'a>(value: &Value, unit: &'static Unit) -> [Cell<'a>; 3] {
    let u = if value.has_u() { Cell::Number(unit.shown_step(value.u())) } else { Cell::Gap(NO_INSTRUMENT) };
    [Cell::Number(unit.shown(value.x)), u, Cell::Text(unit.ucum.into())]
}

/// What a table is, before it has lines.
pub struct Plan {
    /// Name of the table, and of its file.
    pub name: &'static str,
    pub title: &'static str,
    pub about: &'static str,
    pub columns: &'static [Column],
    /// Columns that together name a line.
    pub key: &'static [&'static str],
    /// Column, other table, its column.
    pub refs: &'static [(&'static str, &'static str, &'static str)],
}

/// Some lines of a table: those of one station, or all.
pub struct Lines {
    pub plan: &'static Plan,
    /// As comma-separated values.
    pub csv: String,
    /// How many.
    pub count: u32,
    /// The same as rows of a sheet, for tables that also go into the workbook.
    pub sheet: Option<String>,
}

/// Lines of which some cells are still open.
pub struct Open {
    lines: Lines,
    /// Which cell is filled with what, as the caller counts; where it belongs in the lines, and in the rows.
    open: Vec<(Option<usize>, usize, usize)>,
}

impl Open {
    /// None yet; they go into the workbook too.
    pub fn of(plan: &'static Plan) -> Open {
        Open { lines: Lines::of(plan, true), open: Vec::new() }
    }

    /// Adds a line whose cells of `missing`, not the first, are open, to be filled with `what`; what stands in them is not
    /// looked at.
    pub fn row<const N: usize>(&mut self, row: [Cell; N], missing: Range<usize>, what: Option<usize>) {
        let lines = &mut self.lines;
        debug_assert_eq!(N, lines.plan.columns.len(), "{}", lines.plan.name);
        lines.begin();
        lines.cells(&row[..missing.start], true);
        self.open.push((what, lines.csv.len(), lines.sheet.as_ref().map_or(0, String::len)));
        lines.cells(&row[missing.end..], false);
        lines.end();
    }

    /// The lines with these cells filled.
    pub fn filled<const N: usize>(&self, with: impl Fn(Option<usize>) -> [Cell<'static>; N]) -> Lines {
        let mut out = Lines { count: self.lines.count, ..Lines::of(self.lines.plan, true) };
        let (csv, sheet) = (&self.lines.csv, self.lines.sheet.as_deref().unwrap_or_default());
        let mut done = (0, 0);
        let to = |out: &mut Lines, from: (usize, usize), to: (usize, usize)| {
            out.csv.push_str(&csv[from.0..to.0]);
            out.sheet.iter_mut().for_each(|s| s.push_str(&sheet[from.1..to.1]));
        };
        for (what, in_csv, in_sheet) in &self.open {
            to(&mut out, done, (*in_csv, *in_sheet));
            out.cells(&with(*what), false);
            done = (*in_csv, *in_sheet);
        }
        to(&mut out, done, (csv.len(), sheet.len()));
        out
    }
}

impl Lines {
    /// None yet.
    pub fn of(plan: &'static Plan, in_workbook: bool) -> Lines {
        Lines { plan, csv: String::new(), count: 0, sheet: in_workbook.then(String::new) }
    }

    /// Adds a line.
    pub fn row<const N: usize>(&mut self, row: [Cell; N]) {
        debug_assert_eq!(N, self.plan.columns.len(), "{}", self.plan.name);
        self.begin();
        self.cells(&row, true);
        self.end();
    }

    fn begin(&mut self) {
        self.sheet.iter_mut().for_each(|s| s.push_str(sheet::ROW.0));
    }

    /// Adds cells to a line, the first of it or others.
    fn cells(&mut self, cells: &[Cell], first: bool) {
        for (i, cell) in cells.iter().enumerate() {
            if i > 0 || !first {
                self.csv.push(',');
            }
            write(&mut self.csv, cell);
        }
        self.sheet.iter_mut().for_each(|s| sheet::cells(s, cells));
    }

    fn end(&mut self) {
        self.csv.push_str("\r\n");
        self.count += 1;
        self.sheet.iter_mut().for_each(|s| s.push_str(sheet::ROW.1));
    }
}

impl Plan {
    /// The first line of its file: the names of its columns.
    pub fn head(&self) -> String {
        let mut head = String::new();
        let names: Vec<&str> = self.columns.iter().map(|c| c.name).collect();
        cells::line(&mut head, &names);
        head
    }

    /// Path within the folder.
    pub fn path(&self) -> String {
        format!("data/{}.csv", self.name)
    }

    /// Its description for the package.
    pub fn json(&self) -> Json {
        let fields: Vec<Json> = self.columns.iter().map(Column::json).collect();
        let mut schema = json!({
            "fields": fields,
            "missingValues": [{ "value": NONE.0, "label": NONE.1 }],
        });
        if !self.key.is_empty() {
            schema["primaryKey"] = json!(self.key);
        }
        if !self.refs.is_empty() {
            let one = |(own, table, other): &(&str, &str, &str)| json!({ "fields": [own], "reference": { "resource": table, "fields": [other] } });
            schema["foreignKeys"] = json!(self.refs.iter().map(one).collect::<Vec<_>>());
        }
        json!({
            "name": self.name,
            "type": "table",
            "title": self.title,
            "description": self.about,
            "path": self.path(),
            "format": "csv",
            "mediatype": "text/csv",
            "encoding": "utf-8",
            "dialect": { "delimiter": ",", "lineTerminator": "\r\n", "quoteChar": "\"", "doubleQuote": true },
            "schema": schema,
        })
    }
}

/// A cell as it stands in the file.
fn write(out: &mut String, cell: &Cell) {
    use std::fmt::Write;
    let _ = match cell {
        Cell::Text(text) => return cells::cell(out, text),
        // The special words of Table Schema.
        Cell::Number(x) if x.is_infinite() => write!(out, "{}INF", if *x < 0.0 { "-" } else { "" }),
        Cell::Number(x) if x.is_nan() => write!(out, "NaN"),
        Cell::Number(x) => write!(out, "{x}"),
        Cell::Whole(n) => write!(out, "{n}"),
        Cell::Yes(yes) => write!(out, "{yes}"),
        Cell::Gap(gap) => write!(out, "{}", gap.0),
    };
}
