//! How a file is to be read: a mapping a person can confirm, correct and keep per instrument.
use serde::{Deserialize, Serialize};
use trueplate_core::finding::Finding;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// The instant of the row, date and clock together, or seconds since an epoch.
    Time,
    /// Time since the start of the log.
    Elapsed,
    /// The date alone; the clock stands in another column.
    Date,
    /// The time of day.
    Clock,
    /// Active power.
    Power,
    /// Energy since some start: the counter of the meter.
    EnergyCounter,
    /// Energy of the interval that ends with the row.
    EnergyInterval,
    /// Voltage.
    Voltage,
    /// Current.
    Current,
    /// Power factor.
    PowerFactor,
    /// Temperature.
    Temperature,
    /// Which device the row is from.
    Device,
    /// The unit of the number in the column before it, row by row.
    UnitOfPrevious,
    /// Anything else; kept out of every sum.
    Other,
}

/// A column as understood.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Column {
    /// The header as written (decoded), or `column 3` where there is none.
    pub name: String,
    /// What it holds.
    pub role: Role,
    /// Unit of the numbers as written, UCUM (`kW.h`, `W`, `Cel`); `None` where there is none.
    pub unit: Option<String>,
}

/// How the time of a row is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TimeKind {
    /// Date and clock in one field, in any of the usual forms.
    Stamp,
    /// Date and clock in two columns.
    DateAndClock,
    /// Time of day only.
    Clock,
    /// Seconds since 1970-01-01T00:00:00Z.
    EpochSeconds,
    /// Milliseconds since 1970-01-01T00:00:00Z.
    EpochMillis,
    /// Days since 1899-12-30, as spreadsheets count.
    Serial,
    /// A number of seconds, minutes or hours since the start; the column's unit says which.
    ElapsedNumber,
    /// `1:02:03`, `62:03` or `0d 01:02:03` since the start.
    ElapsedClock,
    /// No time column found.
    Missing,
}

/// Order of day and month in a date with slashes or hyphens.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DateOrder {
    /// 31/12/2026.
    DayFirst,
    /// 12/31/2026.
    MonthFirst,
    /// 2026/12/31.
    YearFirst,
}

/// Order of the rows in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum RowOrder {
    /// As time goes; a row that goes back is set aside with a finding.
    #[default]
    AsTimeGoes,
    /// Rows are sorted by time first; only up to 400,000 rows.
    Sort,
}

/// Which way a positive current goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// Positive charges.
    In,
    /// Positive discharges.
    Out,
}

/// Everything needed to read the rows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mapping {
    /// Encoding label as in the WHATWG Encoding Standard, lower case: `utf-8`, `utf-16le`, `windows-1252`.
    pub encoding: String,
    /// Field separator; a space stands for any run of spaces.
    pub delimiter: char,
    /// Decimal mark, `.` or `,`.
    pub decimal: char,
    /// Thousands mark, if one is used; a space stands for every kind of space.
    pub thousands: Option<char>,
    /// `true` where lines end with a carriage return alone.
    pub cr_only: bool,
    /// Line number (from 1) of the header; 0 where there is none.
    pub header_line: u32,
    /// Line number (from 1) of the first row.
    pub first_row: u32,
    /// The columns in file order.
    pub columns: Vec<Column>,
    /// How time is written.
    pub time: TimeKind,
    /// Order of day and month; `None` where the file cannot tell.
    pub date_order: Option<DateOrder>,
    /// IANA time zone of the meter's clock, if known.
    pub zone: Option<String>,
    /// Local date and time of the first row, for elapsed times (`2026-05-02T23:58:10`) or a clock without date.
    pub start: Option<String>,
    /// Order of the rows.
    #[serde(default)]
    pub order: RowOrder,
    /// Which way a positive current goes; `None`: decided by the voltage.
    #[serde(default)]
    pub positive: Option<Direction>,
    /// Which device to read, where several write into one file.
    #[serde(default)]
    pub device: Option<String>,
}

impl Mapping {
    /// Index of the first column with this role.
    pub fn find(&self, role: Role) -> Option<usize> {
        self.columns.iter().position(|c| c.role == role)
    }

    /// This mapping with the keys of a JSON object laid over it (RFC 7386), as a person's answers are given.
    ///
    /// # Errors
    /// When the result is no mapping: the message names the key.
    pub fn with(&self, patch: &serde_json::Value) -> Result<Mapping, String> {
        let mut whole = serde_json::to_value(self).map_err(|e| e.to_string())?;
        merge(&mut whole, patch);
        serde_json::from_value(whole).map_err(|e| format!("the mapping does not hold together: {e}"))
    }
}

/// JSON Merge Patch, RFC 7386 section 2.
fn merge(target: &mut serde_json::Value, patch: &serde_json::Value) {
    let (Some(into), Some(from)) = (target.as_object_mut(), patch.as_object()) else {
        *target = patch.clone();
        return;
    };
    for (key, value) in from {
        if value.is_null() {
            into.insert(key.clone(), serde_json::Value::Null);
        } else {
            merge(into.entry(key.clone()).or_insert(serde_json::Value::Null), value);
        }
    }
}

/// Something the file cannot tell; the answer is a change of the mapping.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// Stable code, e.g. `date-order`.
    pub code: String,
    /// The question in plain words, with what was seen.
    pub text: String,
    /// The key of the mapping that answers it.
    pub answers: String,
    /// What was assumed for now; `None` where nothing may be assumed and the reading is refused.
    pub assumed: Option<String>,
}

/// What is known beside the bytes.
#[derive(Clone, Debug, Default)]
pub struct Hints {
    /// Name of the file; a start instant may stand in it.
    pub file_name: Option<String>,
    /// Time zone of the meter's clock.
    pub zone: Option<String>,
    /// The mapping confirmed earlier for this instrument.
    pub known: Option<Mapping>,
}

/// How to sum up.
#[derive(Clone, Copy, Debug, Default)]
pub struct Options {
    /// Steps longer than this are gaps, s; `None`: the larger of 5 s and 3.5 × the median step.
    pub gap_s: Option<f64>,
    /// Only this part of the trace is kept, and that the finer: µs on the log's own axis. Sums are of the whole.
    pub window: Option<(i64, i64)>,
}

/// How a file is read, as a person confirmed it: kept beside the file as JSON.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Confirmed {
    /// How to read the rows.
    pub mapping: Mapping,
    /// Steps longer than this are gaps, s; absent: by the usual rule.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gap_s: Option<f64>,
}

/// What was understood, and what was not.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Understanding {
    /// How to read the rows.
    pub mapping: Mapping,
    /// What the file cannot tell.
    pub questions: Vec<Question>,
    /// What was noticed.
    pub findings: Vec<Finding>,
    /// The first rows, as fields, for a preview.
    pub preview: Vec<Vec<String>>,
    /// `false` where there is nothing to read: the findings say why.
    pub readable: bool,
}
