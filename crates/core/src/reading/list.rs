//! Several numbers in one answer: "9.4 10.1 8.7 ms".
use super::{Desk, Reading, quantity};
use crate::field::FieldSpec;
use crate::finding::Finding;
use crate::notebook::Entry;
use crate::number::Trouble;
use crate::quantity::Dim;
use crate::uncertain::{Owner, Value};

pub(super) fn list(
    field: &FieldSpec,
    text: &str,
    dim: Dim,
    unit: &str,
    entry: &Entry,
    desk: &Desk,
    findings: &mut Vec<Finding>,
) -> Result<Reading, Trouble> {
    // A decimal comma is kept, so a comma alone never separates: "9.4 10.1 8.7 ms", "9,4; 10,1 ms".
    let mut pieces: Vec<String> = Vec::new();
    for token in
        text.split([' ', ';', '\n', '\t', '\r']).map(|t| t.trim_end_matches(',')).filter(|t| !t.is_empty())
    {
        match pieces.last_mut() {
            // A unit after its number: "9.4 ms 10.1 ms".
            Some(last) if !token.contains(|c: char| c.is_ascii_digit()) => {
                last.push_str(&format!(" {token}"))
            }
            _ => pieces.push(token.into()),
        }
    }
    // A unit written once, at the end, holds for all.
    let unit_of = |p: &str| p.trim_start_matches(|c: char| !c.is_alphabetic() && c != '%').to_string();
    let units: Vec<String> = pieces.iter().map(|p| unit_of(p)).collect();
    let common = units
        .last()
        .filter(|_| units.iter().rev().skip(1).all(String::is_empty))
        .cloned()
        .unwrap_or_default();
    let mut values = Vec::new();
    for (i, piece) in pieces.iter().enumerate() {
        let written = if unit_of(piece).is_empty() { format!("{piece} {common}") } else { piece.clone() };
        let one = quantity(field, &written, dim, unit, entry, desk, findings)
            .map_err(|t| Trouble { text: format!("number {}: {}", i + 1, t.text), ..t })?;
        values.push(renamed(one, &format!("{}/{}/{}", desk.test.id, field.key, i + 1)));
    }
    if values.is_empty() {
        return Err(Trouble {
            code: "empty",
            text: "no number is typed".into(),
            hint: "type them with spaces between: 9.4 10.1 8.7".into(),
        });
    }
    Ok(Reading::List(values))
}

/// Gives the private doubts of one number in a list their own name, so that they do not cancel.
fn renamed(value: Value, name: &str) -> Value {
    let mut out = Value::exact(value.dim, value.x);
    for (mut influence, part) in value.parts {
        if let Owner::Test(owner) = &mut influence.owner {
            *owner = name.into();
        }
        out = out.with(influence, part.signed, part.shape, part.dof);
    }
    out
}
