//! Which mark is the decimal one: from the numbers of the file alone.
use super::mapping::Question;

/// What the numbers say about the marks.
pub(crate) struct MarksFound {
    pub(crate) decimal: char,
    pub(crate) thousands: Option<char>,
    pub(crate) question: Option<Question>,
}

/// Evidence gathered from number-like fields.
#[derive(Default)]
struct Evidence {
    comma_decimal: u32,
    dot_decimal: u32,
    comma_groups: u32,
    dot_groups: u32,
    space_groups: u32,
    quote_groups: u32,
    /// A single mark with exactly three digits behind: could be either.
    comma_either: Option<String>,
    dot_either: Option<String>,
}

fn weigh(field: &str, e: &mut Evidence) {
    let text = field.trim().trim_start_matches(['+', '-', '\u{2212}']);
    // Digits and marks up to an exponent or a unit.
    let body: &str = text.split(|c: char| c.is_alphabetic() || c == '%').next().unwrap_or("").trim();
    if body.contains([' ', '\u{a0}', '\u{2009}', '\u{202f}']) {
        e.space_groups += 1;
    }
    if body.contains(['\'', '\u{2019}']) {
        e.quote_groups += 1;
    }
    let (commas, dots) = (body.matches(',').count(), body.matches('.').count());
    match (commas, dots) {
        (0, 0) => {}
        (c, d) if c > 0 && d > 0 => {
            if body.rfind(',') > body.rfind('.') {
                e.comma_decimal += 1;
                e.dot_groups += 1;
            } else {
                e.dot_decimal += 1;
                e.comma_groups += 1;
            }
        }
        (c, 0) if c > 1 => e.comma_groups += 1,
        (0, d) if d > 1 => e.dot_groups += 1,
        (1, 0) if either(body, ',') => {
            e.comma_either.get_or_insert_with(|| field.to_string());
        }
        (0, 1) if either(body, '.') => {
            e.dot_either.get_or_insert_with(|| field.to_string());
        }
        (1, 0) => e.comma_decimal += 1,
        _ => e.dot_decimal += 1,
    }
}

/// `1.204`, `12,381`: one to three digits, not a lone zero, then exactly three.
fn either(body: &str, mark: char) -> bool {
    let Some((before, after)) = body.split_once(mark) else { return false };
    after.len() == 3
        && (1..=3).contains(&before.len())
        && !before.starts_with('0')
        && before.bytes().chain(after.bytes()).all(|b| b.is_ascii_digit())
}

/// Weighs every number-like field. `delimiter` is the file's separator: a comma that separates unquoted fields is rarely a mark.
pub(crate) fn marks<'a>(numbers: impl Iterator<Item = &'a str>, delimiter: char) -> MarksFound {
    let mut e = Evidence::default();
    numbers.for_each(|n| weigh(n, &mut e));
    let comma = e.comma_decimal + e.dot_groups;
    let dot = e.dot_decimal + e.comma_groups;
    let mut question = None;
    let decimal = if comma > dot {
        ','
    } else if dot > 0 || comma > 0 {
        '.'
    } else if let (Some(seen), true) = (&e.comma_either, delimiter != ',') {
        question = Some(ask(seen, ','));
        ','
    } else if let (Some(seen), true) = (&e.dot_either, delimiter == ';') {
        question = Some(ask(seen, '.'));
        '.'
    } else {
        '.'
    };
    let grouped = if decimal == ',' {
        e.dot_groups > 0 || e.dot_either.is_some()
    } else {
        e.comma_groups > 0 || e.comma_either.is_some()
    };
    let thousands = match () {
        () if grouped => Some(if decimal == ',' { '.' } else { ',' }),
        () if e.quote_groups > 0 => Some('\''),
        () if e.space_groups > 0 => Some(' '),
        () => None,
    };
    MarksFound { decimal, thousands, question }
}

fn ask(seen: &str, assumed: char) -> Question {
    Question {
        code: "decimal-or-thousands".into(),
        text: format!(
            "is the mark in \"{seen}\" a decimal mark or a thousands mark? No number in the file tells"
        ),
        answers: "decimal".into(),
        assumed: Some(format!("decimal mark \"{assumed}\"")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn evidence() {
        let found = |list: &[&str], d| {
            let m = marks(list.iter().copied(), d);
            (m.decimal, m.thousands, m.question.is_some())
        };
        assert_eq!(found(&["1.149,8", "0,003", "119,4"], ';'), (',', Some('.'), false));
        assert_eq!(found(&["574.6", "12.381"], ','), ('.', None, false));
        assert_eq!(found(&["1,149.8"], ','), ('.', Some(','), false));
        assert_eq!(found(&["1'458", "0.15"], ';'), ('.', Some('\''), false));
        assert_eq!(found(&["1,149"], ';'), (',', None, true));
        assert_eq!(found(&["1\u{a0}149,8"], ';'), (',', Some(' '), false));
    }
}
