//! The table in a capture: its separator, which columns hold numbers, where the rows begin, what stands above them.
use crate::logs::number::{Marks, Number, parse};
use crate::logs::numbers::marks;
use crate::logs::shape::fields;

/// Lines from the end of the head that the table is known by.
const LOOKED_AT: usize = 60;

/// The table, as far as the head shows it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Table {
    /// `None`: one column.
    pub(crate) delimiter: Option<char>,
    pub(crate) decimal: u8,
    /// Columns that hold numbers.
    pub(crate) numeric: Vec<usize>,
    /// Line of the first row, from 0.
    pub(crate) first: usize,
    /// The names above, by column, and the units.
    pub(crate) names: Vec<String>,
    pub(crate) units: Vec<String>,
    /// Numbers of the rows in the head, by row, in the order of `numeric`.
    pub(crate) rows: Vec<Vec<f64>>,
}

/// Cuts a line; without a delimiter it is one field.
pub(crate) fn cut<'a>(line: &'a str, delimiter: Option<char>, out: &mut Vec<&'a str>) {
    match delimiter {
        Some(mark) => fields(line, mark, out),
        None => {
            out.clear();
            out.push(line.trim());
        }
    }
}

/// A plain number, nothing behind it.
pub(crate) fn plain(field: &str, decimal: u8) -> Option<f64> {
    match parse(field, Marks { decimal, thousands: None }) {
        Number::Value(v, None) => Some(v),
        _ => None,
    }
}

/// Columns in which nearly all of these lines have a number.
fn numeric(lines: &[&str], delimiter: Option<char>, decimal: u8) -> Vec<usize> {
    let mut counts: Vec<usize> = Vec::new();
    let mut out = Vec::new();
    for line in lines {
        cut(line, delimiter, &mut out);
        counts.resize(counts.len().max(out.len()).min(64), 0);
        for (count, field) in counts.iter_mut().zip(&out) {
            *count += usize::from(plain(field, decimal).is_some());
        }
    }
    // A tenth of the lines may be damaged, or belong to the header of the next segment.
    (0..counts.len()).filter(|c| counts[*c] * 10 >= lines.len() * 9).collect()
}

/// How the numbers are separated and marked. Tried from the rarest separator to the commonest; a comma may be either.
fn spelling(all: &[&str], rows: &[&str]) -> Option<(Option<char>, u8)> {
    let has = |mark: char| rows.iter().filter(|l| l.contains(mark)).count() * 10 >= rows.len() * 9;
    let above_semicolons = all.iter().take(40).filter(|l| l.contains(';')).count() >= 2;
    let spaced = || rows.iter().filter(|l| l.split_whitespace().count() > 1).count() * 10 >= rows.len() * 9;
    let delimiter = match () {
        () if has('\t') => Some('\t'),
        () if has(';') => Some(';'),
        // Semicolons in the header and none in the rows: one column, its commas are decimal.
        () if has(',') && !above_semicolons => Some(','),
        () if spaced() => Some(' '),
        () => None,
    };
    let mut out = Vec::new();
    let mut found: Vec<&str> = Vec::new();
    for line in rows.iter().chain(all.iter().take(40)) {
        cut(line, delimiter.or(Some(';')), &mut out);
        found
            .extend(out.iter().filter(|f| f.starts_with(|c: char| c.is_ascii_digit() || "+-.,".contains(c))));
    }
    let decimal = match delimiter {
        Some(',') => b'.',
        // A lone mark before three digits is a decimal mark here: nobody groups the digits of samples.
        _ => marks(found.into_iter(), delimiter.unwrap_or(';')).decimal as u8,
    };
    (!numeric(rows, delimiter, decimal).is_empty()).then_some((delimiter, decimal))
}

impl Table {
    /// Finds the table; `None` where there is none of three rows or more.
    pub(crate) fn of(lines: &[&str]) -> Option<Table> {
        let filled: Vec<&str> =
            lines.iter().copied().filter(|l| !l.trim_matches('\0').trim().is_empty()).collect();
        let rows: Vec<&str> =
            filled.iter().rev().take(LOOKED_AT.min(filled.len().div_ceil(2))).copied().collect();
        let (delimiter, decimal) = spelling(&filled, &rows)?;
        let numeric = numeric(&rows, delimiter, decimal);
        let numbers = |line: &&str| {
            let mut out = Vec::new();
            cut(line, delimiter, &mut out);
            numeric.iter().map(|c| out.get(*c).and_then(|f| plain(f, decimal))).collect::<Option<Vec<f64>>>()
        };
        let read: Vec<Option<Vec<f64>>> = lines.iter().map(numbers).collect();
        // A row of the header may be a number alone; three in a row are rows.
        let run = |i: usize| (i..i + 3).all(|k| read.get(k).is_some_and(Option::is_some));
        let first = (0..lines.len()).find(|i| run(*i))?;
        let (names, units) = above(lines, first, delimiter);
        let rows = read[first..].iter().flatten().cloned().collect();
        Some(Table { delimiter, decimal, numeric, first, names, units, rows })
    }
}

/// Names, and units under them, in the lines right above the rows.
fn above(lines: &[&str], first: usize, delimiter: Option<char>) -> (Vec<String>, Vec<String>) {
    let wordy = |i: usize| {
        let mut out = Vec::new();
        cut(lines[i], delimiter, &mut out);
        let letters = out.iter().any(|f| f.chars().any(char::is_alphabetic));
        letters.then(|| out.into_iter().map(String::from).collect::<Vec<String>>())
    };
    let Some(last) = first.checked_sub(1).and_then(wordy) else { return Default::default() };
    let all_units = last.iter().all(|f| f.is_empty() || unit(f).is_some());
    match first.checked_sub(2).and_then(wordy) {
        Some(names) if all_units && names.len() == last.len() && last.len() > 1 => (names, last),
        _ => (last, Vec::new()),
    }
}

/// A unit of a capture's column: its factor to s, V or A, and which of them.
pub(crate) fn unit(text: &str) -> Option<(char, f64)> {
    let text = text.trim().trim_matches(['(', ')', '[', ']']).trim();
    Some(match text {
        "s" | "S" | "sec" | "Second" | "second" | "seconds" => ('s', 1.0),
        "ms" | "mS" => ('s', 1e-3),
        "us" | "µs" | "μs" | "uS" => ('s', 1e-6),
        "ns" | "nS" => ('s', 1e-9),
        "V" | "v" | "Volt" | "volt" | "Volts" | "volts" => ('V', 1.0),
        "mV" => ('V', 1e-3),
        "kV" => ('V', 1e3),
        "A" | "Amp" | "Ampere" | "amps" => ('A', 1.0),
        "mA" => ('A', 1e-3),
        _ => return None,
    })
}

/// The unit inside a name: `CH1 (V)`, `C1 in V`, `Time [ms]`, `CH1/V`.
pub(crate) fn unit_in(name: &str) -> Option<(char, f64)> {
    unit(name).or_else(|| {
        let at = name.rfind(['(', '[', ' ', '/', '_', ','])?;
        unit(name.get(at + 1..)?)
    })
}
