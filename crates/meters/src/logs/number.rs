//! Numbers as meters and spreadsheets write them: marks, signs, placeholders, a unit behind.
use super::words::{Unit, unit_of};

/// Decimal and thousands marks of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Marks {
    pub(crate) decimal: u8,
    /// `.` or `,` only; spaces and apostrophes between groups of three are always understood.
    pub(crate) thousands: Option<u8>,
}

/// What a field turned out to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Number {
    /// A finite number, and the unit written behind it.
    Value(f64, Option<Unit>),
    /// A sign for "no value": `-`, `n/a`, `OL`, an empty field, the 9.91E37 of SCPI-99 (from memory).
    Missing,
    /// `nan`, `inf` and the like.
    NotFinite,
    /// Something else.
    Bad,
}

const MISSING: &[&str] = &[
    "",
    "-",
    "--",
    "---",
    "–",
    "—",
    "n/a",
    "na",
    "n.a.",
    "null",
    "none",
    "ol",
    "o.l",
    "overload",
    "overrange",
    "?",
    "#n/a",
    "err",
    "error",
    "unavailable",
    "unknown",
    "x",
    "*",
    "----",
];
const NOT_FINITE: &[&str] = &[
    "nan",
    "-nan",
    "+nan",
    "inf",
    "-inf",
    "+inf",
    "infinity",
    "-infinity",
    "∞",
    "-∞",
    "1.#inf",
    "-1.#inf",
    "1.#qnan",
    "1.#ind",
    "-1.#ind",
    "1.#nan",
    "1,#inf",
    "1,#ind",
];

/// Reads one field.
pub(crate) fn parse(field: &str, marks: Marks) -> Number {
    let text = field.trim_matches(|c: char| c.is_whitespace() || c == '"' || c == '\u{feff}');
    if let Some(value) = finite(text, marks) {
        return value;
    }
    let low = text.to_lowercase();
    if MISSING.contains(&low.as_str()) {
        Number::Missing
    } else if NOT_FINITE.contains(&low.as_str()) {
        Number::NotFinite
    } else {
        Number::Bad
    }
}

/// A finite number, perhaps with its unit; `None` when it is none.
///
/// SCPI-99 volume 2, 7.2.1: 9.91E37 is "not a number", 9.9E37 infinity (from memory).
fn finite(text: &str, marks: Marks) -> Option<Number> {
    let mut plain = [0u8; 48];
    let mut n = 0;
    let mut digits = 0;
    // Digits since the last thousands mark; `None` before the first mark.
    let mut group: Option<u32> = None;
    let (mut fraction, mut exponent) = (false, false);
    let mut rest = "";
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next_digit = chars.peek().is_some_and(|(_, d)| d.is_ascii_digit());
        let push = match c {
            '0'..='9' => {
                digits += 1;
                if let (Some(g), false, false) = (&mut group, fraction, exponent) {
                    *g += 1;
                }
                c as u8
            }
            '+' | '-' | '\u{2212}' if n == 0 || matches!(plain[n - 1], b'e') => {
                if c == '+' {
                    continue;
                }
                b'-'
            }
            _ if c as u32 == u32::from(marks.decimal) && !fraction && !exponent => {
                if group.is_some_and(|g| g != 3) {
                    return None;
                }
                fraction = true;
                b'.'
            }
            'e' | 'E' if digits > 0 && !exponent && exponent_follows(&text[at + 1..]) => {
                exponent = true;
                b'e'
            }
            _ if is_thousands(c, marks) && digits > 0 && !fraction && !exponent && next_digit => {
                if group.map_or(digits > 3, |g| g != 3) {
                    return None;
                }
                group = Some(0);
                continue;
            }
            _ => {
                rest = &text[at..];
                break;
            }
        };
        if n == plain.len() {
            return None;
        }
        plain[n] = push;
        n += 1;
    }
    if digits == 0 || (!fraction && group.is_some_and(|g| g != 3)) {
        return None;
    }
    let value: f64 = fast_float2::parse(&plain[..n]).ok()?;
    if !value.is_finite() {
        return Some(Number::NotFinite);
    }
    if (9.9e37..=9.92e37).contains(&value.abs()) {
        return Some(Number::Missing);
    }
    let behind = rest.trim();
    if behind.is_empty() {
        return Some(Number::Value(value, None));
    }
    unit_of(behind).map(|unit| Number::Value(value, Some(unit)))
}

fn exponent_follows(after: &str) -> bool {
    let digits = after.strip_prefix(['+', '-', '\u{2212}']).unwrap_or(after);
    digits.starts_with(|c: char| c.is_ascii_digit())
}

fn is_thousands(c: char, marks: Marks) -> bool {
    matches!(c, ' ' | '\'' | '\u{2019}' | '\u{a0}' | '\u{2009}' | '\u{202f}')
        || marks.thousands.is_some_and(|t| c as u32 == u32::from(t))
}

#[cfg(test)]
mod tests {
    use super::*;
    const DOT: Marks = Marks { decimal: b'.', thousands: Some(b',') };
    const COMMA: Marks = Marks { decimal: b',', thousands: Some(b'.') };

    /// Forms and values by reading them: 1 149,8 is one thousand one hundred forty-nine and eight tenths.
    #[test]
    fn forms() {
        for (text, marks, value) in [
            ("1\u{a0}149,8", COMMA, 1149.8),
            ("1\u{202f}149,8", COMMA, 1149.8),
            ("1.149,8", COMMA, 1149.8),
            ("+1,1498e+03", COMMA, 1149.8),
            ("+1.1498e+03", DOT, 1149.8),
            ("1,149.8", DOT, 1149.8),
            ("5,614,179.47", DOT, 5_614_179.47),
            (",5", COMMA, 0.5),
            ("\u{2212}3", DOT, -3.0),
            ("1'458", DOT, 1458.0),
            ("-0", DOT, 0.0),
        ] {
            assert_eq!(parse(text, marks), Number::Value(value, None), "{text}");
        }
    }

    #[test]
    fn no_numbers() {
        for text in ["-", "n/a", "NULL", "", "OL", "9.91E+37"] {
            assert_eq!(parse(text, DOT), Number::Missing, "{text}");
        }
        for text in ["NaN", "1.#INF", "inf", "1e999"] {
            assert_eq!(parse(text, DOT), Number::NotFinite, "{text}");
        }
        for text in ["1,14", "12,3456", "1.2.3", "--5", "5-", "12:30", "abc", "1 2"] {
            assert_eq!(parse(text, DOT), Number::Bad, "{text}");
        }
    }

    #[test]
    fn unit_behind() {
        let Number::Value(v, Some(unit)) = parse("0.575 kW", DOT) else { panic!("no unit seen") };
        assert_eq!((v * unit.factor, unit.ucum), (575.0, "kW"));
    }
}
