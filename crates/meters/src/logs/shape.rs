//! The shape of the file: lines, separator, where the header stands and where the rows begin.
use super::number::{Marks, Number, parse};

/// Rows looked at, at most, at either end.
const LOOKED_AT: usize = 400;

/// What a field looks like before anything is known of marks and orders.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Looks {
    Number,
    Time,
    Missing,
    Word,
}

/// Splits a line into fields. Quoted fields may hold the separator; a space separator stands for any run.
pub(crate) fn fields<'a>(line: &'a str, delimiter: char, out: &mut Vec<&'a str>) {
    out.clear();
    if delimiter == ' ' {
        out.extend(line.split_whitespace());
        return;
    }
    let mut rest = line;
    loop {
        let inner = rest.trim_start_matches(' ');
        let mut from = 0;
        if let Some(quoted) = inner.strip_prefix('"')
            && let Some(end) = closing_quote(quoted)
        {
            from = rest.len() - quoted.len() + end + 1;
        }
        match rest[from..].find(delimiter) {
            Some(at) => {
                out.push(bare(&rest[..from + at]));
                rest = &rest[from + at + delimiter.len_utf8()..];
            }
            None => {
                out.push(bare(rest));
                return;
            }
        }
    }
}

fn closing_quote(text: &str) -> Option<usize> {
    let mut from = 0;
    while let Some(at) = text[from..].find('"') {
        let at = from + at;
        if text[at + 1..].starts_with('"') {
            from = at + 2;
        } else {
            return Some(at);
        }
    }
    None
}

fn bare(field: &str) -> &str {
    let field = field.trim();
    field.strip_prefix('"').and_then(|f| f.strip_suffix('"')).unwrap_or(field).trim()
}

/// What a field looks like.
pub(crate) fn looks(field: &str) -> Looks {
    let digits = field.bytes().filter(u8::is_ascii_digit).count();
    let either =
        [Marks { decimal: b'.', thousands: Some(b',') }, Marks { decimal: b',', thousands: Some(b'.') }];
    for marks in either {
        match parse(field, marks) {
            Number::Value(..) => return Looks::Number,
            Number::Missing | Number::NotFinite => return Looks::Missing,
            Number::Bad => {}
        }
    }
    let marks = field.bytes().filter(|b| matches!(b, b':' | b'/' | b'-' | b'.' | b'_' | b'T')).count();
    let letters = field.chars().filter(|c| c.is_alphabetic()).count();
    if digits >= 3 && marks >= 1 && letters <= 8 && field.starts_with(|c: char| c.is_ascii_digit()) {
        Looks::Time
    } else {
        Looks::Word
    }
}

/// The rows and header found in the head and tail of a file.
#[derive(Debug, Default)]
pub(crate) struct Shape {
    pub(crate) delimiter: char,
    pub(crate) width: usize,
    /// Line number of the header and its fields.
    pub(crate) header: Option<(u32, Vec<String>)>,
    /// A row of units under the header.
    pub(crate) units: Option<Vec<String>>,
    /// Line number of the first row.
    pub(crate) first_row: u32,
    /// Rows of the head.
    pub(crate) head: Vec<Vec<String>>,
    /// Rows of the tail; those of the head again in a short file.
    pub(crate) tail: Vec<Vec<String>>,
}

/// Finds the separator: the first of tab, semicolon, bar, comma, space that cuts most lines into the same number
/// (two or more) of fields.
fn delimiter(lines: &[&str]) -> Option<(char, usize)> {
    let mut cut = Vec::new();
    for mark in ['\t', ';', '|', ',', ' '] {
        let mut counts: Vec<usize> = Vec::new();
        for line in lines.iter().filter(|l| !l.trim().is_empty()) {
            fields(line, mark, &mut cut);
            if cut.len() > counts.len() {
                counts.resize(cut.len() + 1, 0);
            }
            counts.resize(counts.len().max(cut.len() + 1), 0);
            counts[cut.len()] += 1;
        }
        let all: usize = counts.iter().sum();
        let best = counts.iter().enumerate().skip(2).max_by_key(|(_, n)| **n);
        if let Some((width, n)) = best
            && n * 2 > all
        {
            return Some((mark, width));
        }
    }
    None
}

/// Finds the shape; `None` where there is no table.
pub(crate) fn shape(head: &str, tail: &str, cr_only: bool) -> Option<Shape> {
    let end = if cr_only { '\r' } else { '\n' };
    let mut lines: Vec<&str> =
        head.split(end).map(|l| l.trim_end_matches(['\r', '\0'])).take(LOOKED_AT).collect();
    // The head may end inside a line.
    if lines.len() > 20 && lines.len() < LOOKED_AT {
        lines.pop();
    }
    let (mark, width) = delimiter(&lines)?;
    let cut = |line: &str| {
        let mut out = Vec::new();
        fields(line, mark, &mut out);
        out.into_iter().map(str::to_string).collect::<Vec<_>>()
    };
    let rows: Vec<(u32, Vec<String>)> = lines
        .iter()
        .enumerate()
        .filter(|(_, l)| !l.trim().is_empty())
        .map(|(n, l)| (n as u32 + 1, cut(l)))
        .collect();
    let first = rows.iter().position(|(_, r)| is_row(r, width))?;
    let mut found = Shape { delimiter: mark, width, first_row: rows[first].0, ..Shape::default() };
    let wordy = |r: &Vec<String>| {
        r.len().abs_diff(width) <= 1 && !is_row(r, width) && r.iter().any(|f| looks(f) == Looks::Word)
    };
    if first > 0 && wordy(&rows[first - 1].1) {
        let above = (first > 1 && wordy(&rows[first - 2].1)).then(|| &rows[first - 2]);
        let all_units = rows[first - 1]
            .1
            .iter()
            .all(|f| f.is_empty() || super::words::unit_of(f.trim_matches(['(', ')', '[', ']'])).is_some());
        match above {
            Some(names) if all_units => {
                found.header = Some(names.clone());
                found.units = Some(rows[first - 1].1.clone());
            }
            _ => found.header = Some(rows[first - 1].clone()),
        }
    }
    found.head = rows[first..].iter().map(|(_, r)| r.clone()).filter(|r| is_row(r, width)).collect();
    let ends: Vec<&str> = tail.split(end).skip(1).collect();
    let from = ends.len().saturating_sub(LOOKED_AT);
    found.tail = ends[from..]
        .iter()
        .map(|l| cut(l.trim_end_matches(['\r', '\0'])))
        .filter(|r| is_row(r, width))
        .collect();
    Some(found)
}

/// A row of data: the usual width, a time or number at the front (or a time somewhere), mostly no words.
fn is_row(row: &[String], width: usize) -> bool {
    if row.len() != width {
        return false;
    }
    let kinds: Vec<Looks> = row.iter().map(|f| looks(f)).collect();
    let count = |k: Looks| kinds.iter().filter(|x| **x == k).count();
    let good = count(Looks::Number) + count(Looks::Time) + count(Looks::Missing);
    let front = matches!(kinds[0], Looks::Number | Looks::Time);
    count(Looks::Number) + count(Looks::Time) > 0 && good * 2 >= width && (front || count(Looks::Time) > 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cutting() {
        let mut out = Vec::new();
        fields("\"5/2/2026\",\"1,149.8\", 3 ,\"a \"\"b\"\", c\"", ',', &mut out);
        assert_eq!(out, ["5/2/2026", "1,149.8", "3", "a \"\"b\"\", c"]);
        fields("a;;", ';', &mut out);
        assert_eq!(out, ["a", "", ""]);
        fields("\"open;1", ';', &mut out);
        assert_eq!(out, ["\"open", "1"]);
    }
}
