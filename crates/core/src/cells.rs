//! Comma-separated values (RFC 4180, UTF-8, lines ended by CR LF) in which no spreadsheet finds a formula.
//!
//! A text that would begin a formula gets one apostrophe in front; so does a text that begins with an apostrophe, so
//! that taking one leading apostrophe away gives every text back as it was. Numbers stay numbers, negative ones too.

use std::borrow::Cow;

/// Begins a formula in one spreadsheet or another: = + - @ tab, line ends (OWASP, CSV Injection), their full-width
/// forms, and the null sign that some skip (ASVS 5.0.0, 1.2.10).
const ARMED: [char; 12] =
    ['=', '+', '-', '@', '\t', '\r', '\n', '\0', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// A number as programs write it: it cannot be a formula.
fn is_number(text: &str) -> bool {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
    plain && text.parse::<f64>().is_ok()
}

/// The text with its apostrophe where it needs one.
pub fn disarmed(text: &str) -> Cow<'_, str> {
    let first = text.trim_start_matches([' ', '\u{a0}']).chars().next();
    match first {
        Some(c) if (c == '\'' || ARMED.contains(&c)) && !is_number(text) => Cow::Owned(format!("'{text}")),
        _ => Cow::Borrowed(text),
    }
}

/// One cell. Quoted when it holds any sign by which some program splits.
pub fn cell(out: &mut String, text: &str) {
    let text = disarmed(text);
    if text.contains([',', ';', '\t', '"', '\'', '\n', '\r']) {
        out.push('"');
        out.push_str(&text.replace('"', "\"\""));
        out.push('"');
    } else {
        out.push_str(&text);
    }
}

/// A line of cells, closed.
pub fn line<T: AsRef<str>>(out: &mut String, cells: &[T]) {
    for (i, text) in cells.iter().enumerate() {
        if i > 0 {
            out.push(',');
        }
        cell(out, text.as_ref());
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(cells: &[&str]) -> String {
        let mut out = String::new();
        line(&mut out, cells);
        out
    }

    #[test]
    fn formulas_are_disarmed_and_quotes_doubled() {
        assert_eq!(written(&["=HYPERLINK(\"x\")"]), "\"'=HYPERLINK(\"\"x\"\")\"\r\n");
        for armed in ["=1+1", "+1-cmd", "-1+2", "@cmd", "\tx", "\rx", " =1", "-inf", "\u{ff1d}1", "\0=1"] {
            assert!(disarmed(armed).starts_with('\''), "{armed:?}");
        }
    }

    #[test]
    fn numbers_stay_numbers() {
        for number in ["-0.5", "-1", "+3", "1e-7", "-2.5E+3", "911"] {
            assert_eq!(disarmed(number), number);
        }
    }

    #[test]
    fn taking_one_apostrophe_away_gives_the_text_back() {
        for text in ["=x", "'=x", "''", "'t Hof", "plain", "", "-", "don't"] {
            let kept = disarmed(text);
            assert_eq!(kept.strip_prefix('\'').unwrap_or(&kept), text, "{text:?}");
        }
    }

    #[test]
    fn cells_are_split_by_no_program() {
        assert_eq!(written(&["a, b", "c;=1", "d"]), "\"a, b\",\"c;=1\",d\r\n");
    }
}
