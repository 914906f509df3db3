//! Rows that do not stand as delimited lines: JSON objects, answers of an instrument behind a stamp. They are turned into
//! delimited lines as they stream by, so that everything else is understood and checked in one way.
use super::lines::LONGEST;
use super::mapping::{Form, Mapping};
use serde_json::Value;
use std::io::{self, BufRead, BufReader, Read};

/// The most values of an object that become columns.
const COLUMNS: usize = 64;
/// The most values of a list in it that do.
const LISTED: usize = 8;
/// Objects looked at to find the columns.
const LOOKED_AT: usize = 200;

/// A form other than delimited, and the pointers that are its columns.
pub(crate) struct Found {
    pub(crate) form: Form,
    pointers: Vec<String>,
}

/// What the head of a file is written in, where that is not delimited lines.
pub(crate) fn found(head: &str) -> Option<Found> {
    if is_polled(head) {
        return Some(Found { form: Form::Polled, pointers: Vec::new() });
    }
    let start = head.trim_start_matches(['\u{feff}', ' ', '\r', '\n', '\t']);
    if !start.starts_with(['{', '[']) {
        return None;
    }
    let first = start.lines().next().unwrap_or("");
    let by_line = matches!(serde_json::from_str(first), Ok(Value::Object(_)));
    let form = if by_line { Form::JsonLines } else { Form::JsonObjects };
    let mut elements = Elements::new(head.as_bytes(), form);
    let (mut pointers, mut numbers) = (Vec::new(), false);
    let mut text = Vec::new();
    for _ in 0..LOOKED_AT {
        text.clear();
        if !elements.next(&mut text).ok()? {
            break;
        }
        if let Ok(value @ Value::Object(_)) = serde_json::from_slice(&text) {
            leaves(&value, &mut String::new(), &mut pointers, &mut numbers);
        }
    }
    (numbers && pointers.len() > 1).then_some(Found { form, pointers })
}

/// Pointers to all plain values, in the order they are first seen.
fn leaves(value: &Value, at: &mut String, found: &mut Vec<String>, numbers: &mut bool) {
    let length = at.len();
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                at.push('/');
                at.push_str(&key.replace('~', "~0").replace('/', "~1"));
                leaves(inner, at, found, numbers);
                at.truncate(length);
            }
        }
        Value::Array(list) => {
            for (k, inner) in list.iter().enumerate().take(LISTED) {
                at.push_str(&format!("/{k}"));
                leaves(inner, at, found, numbers);
                at.truncate(length);
            }
        }
        plain => {
            *numbers |= plain.is_number();
            if found.len() < COLUMNS && !found.contains(at) {
                found.push(at.clone());
            }
        }
    }
}

impl Found {
    /// Delimited lines of a piece of the file, for understanding: names first, then the rows.
    pub(crate) fn rows(&self, text: &str) -> String {
        if self.form == Form::Polled {
            return text.split_inclusive('\n').map(unblanked).collect();
        }
        let mut out = self.pointers.join("\t").into_bytes();
        out.push(b'\n');
        let elements = Elements::new(text.as_bytes(), self.form);
        let mut rows = Rows { elements, pointers: self.pointers.clone(), ready: Vec::new(), from: 0 };
        // Memory does not fail.
        let _ = rows.read_to_end(&mut out);
        String::from_utf8_lossy(&out).into_owned()
    }
}

/// `2026-05-02T23:58:10.120Z +1.19842E+02,+4.79681E+00`: every line looked at is like this.
fn is_polled(head: &str) -> bool {
    let mut seen = 0;
    let lines = head.lines().map(str::trim).filter(|l| !l.is_empty()).take(20);
    for line in lines {
        let Some((stamp, rest)) = line.split_once(' ') else { return false };
        let iso = stamp.len() >= 16 && stamp.contains('T') && stamp.starts_with(|c: char| c.is_ascii_digit());
        let numbers =
            rest.contains(',') && rest.starts_with(|c: char| c.is_ascii_digit() || "+-".contains(c));
        if !iso || !numbers {
            return false;
        }
        seen += 1;
    }
    seen > 0
}

/// The blank behind the stamp becomes a comma.
fn unblanked(line: &str) -> String {
    line.replacen(' ', ",", 1)
}

/// The text of a log as delimited lines.
pub(crate) fn rows<'a, R: Read + 'a>(text: R, mapping: &Mapping) -> Box<dyn Read + 'a> {
    match mapping.form {
        Form::Delimited => Box::new(text),
        Form::Polled => Box::new(Rows {
            elements: Elements::new(text, Form::Polled),
            pointers: Vec::new(),
            ready: Vec::new(),
            from: 0,
        }),
        form => Box::new(Rows {
            elements: Elements::new(text, form),
            pointers: mapping.columns.iter().map(|c| c.name.clone()).collect(),
            ready: Vec::new(),
            from: 0,
        }),
    }
}

/// Cuts a text into its elements: lines, or JSON objects wherever they begin and end.
struct Elements<R> {
    source: BufReader<R>,
    form: Form,
}

impl<R: Read> Elements<R> {
    fn new(source: R, form: Form) -> Self {
        Elements { source: BufReader::with_capacity(1 << 16, source), form }
    }

    /// The next element, without its line end; `false` at the end. What is longer than a line may be is handed out in
    /// pieces, which are then no objects.
    fn next(&mut self, out: &mut Vec<u8>) -> io::Result<bool> {
        if self.form == Form::JsonObjects {
            return self.object(out);
        }
        let n = self.source.by_ref().take(LONGEST as u64).read_until(b'\n', out)?;
        while out.last().is_some_and(|b| matches!(b, b'\n' | b'\r')) {
            out.pop();
        }
        Ok(n > 0)
    }

    /// From a brace to the one that closes it; brackets and commas around are passed over.
    fn object(&mut self, out: &mut Vec<u8>) -> io::Result<bool> {
        let (mut depth, mut quoted, mut escaped) = (0u32, false, false);
        loop {
            let piece = self.source.fill_buf()?;
            if piece.is_empty() {
                return Ok(!out.is_empty());
            }
            let mut used = 0;
            let mut done = false;
            for &b in piece {
                used += 1;
                if depth == 0 && b != b'{' {
                    continue;
                }
                out.push(b);
                match b {
                    _ if escaped => escaped = false,
                    b'\\' if quoted => escaped = true,
                    b'"' => quoted = !quoted,
                    b'{' if !quoted => depth += 1,
                    b'}' if !quoted => depth -= 1,
                    _ => {}
                }
                if depth == 0 || out.len() >= LONGEST {
                    done = true;
                    break;
                }
            }
            self.source.consume(used);
            if done {
                return Ok(true);
            }
        }
    }
}

/// Elements as delimited lines: tabs between the values of JSON.
struct Rows<R> {
    elements: Elements<R>,
    pointers: Vec<String>,
    ready: Vec<u8>,
    from: usize,
}

impl<R: Read> Rows<R> {
    /// The next line into `ready`; `false` at the end.
    fn line(&mut self) -> io::Result<bool> {
        let mut text = Vec::new();
        if !self.elements.next(&mut text)? {
            return Ok(false);
        }
        if self.elements.form == Form::Polled {
            if let Some(blank) = memchr::memchr(b' ', &text) {
                text[blank] = b',';
            }
            self.ready.extend_from_slice(&text);
        } else {
            match serde_json::from_slice::<Value>(&text) {
                Ok(value @ Value::Object(_)) => self.values(&value),
                // No object: the line stands as it is, and will be named.
                _ => {
                    self.ready.extend(text.iter().map(|b| if *b == b'\t' || *b == b'\n' { b' ' } else { *b }))
                }
            }
        }
        self.ready.push(b'\n');
        Ok(true)
    }

    fn values(&mut self, object: &Value) {
        for (k, pointer) in self.pointers.iter().enumerate() {
            if k > 0 {
                self.ready.push(b'\t');
            }
            match object.pointer(pointer) {
                None | Some(Value::Null | Value::Object(_) | Value::Array(_)) => {}
                Some(Value::String(s)) => {
                    self.ready.extend(s.bytes().map(|b| if b < b' ' { b' ' } else { b }));
                }
                Some(plain) => self.ready.extend_from_slice(plain.to_string().as_bytes()),
            }
        }
    }
}

impl<R: Read> Read for Rows<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        while self.from == self.ready.len() {
            self.ready.clear();
            self.from = 0;
            if !self.line()? {
                return Ok(0);
            }
        }
        let n = out.len().min(self.ready.len() - self.from);
        out[..n].copy_from_slice(&self.ready[self.from..self.from + n]);
        self.from += n;
        Ok(n)
    }
}
