//! Ready answers to what a file cannot tell: each a change of the mapping that a person takes with one tap or pastes
//! into a command.
use super::mapping::{Mapping, Question, Role};
use serde_json::{Map, Value, json};
use trueplate_core::stamp::MONTHS;

/// A ready answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// In plain words.
    pub label: String,
    /// The change of the mapping (RFC 7386), and under `answered` the question it settles.
    pub patch: Value,
}

/// What tells a question apart from others that the same key of the mapping answers: its code and its column.
pub fn key_of(question: &Question, mapping: &Mapping) -> String {
    match column_of(question, mapping) {
        Some(c) => format!("{}:{}", question.code, c + 1),
        None => question.code.clone(),
    }
}

/// Whether a person's answers settle a question. Where they list what they answer (under `answered`: codes, or codes
/// with the number of a column), the list decides; else the presence of the key.
pub(crate) fn settles(patch: &Value, question: &Question, mapping: &Mapping) -> bool {
    let key = key_of(question, mapping);
    let listed = patch.get("answered").and_then(Value::as_array);
    let named = listed.is_some_and(|l| l.iter().any(|k| k == key.as_str() || k == question.code.as_str()));
    let present = patch.get(&question.answers).is_some();
    named || (present && (listed.is_none() || question.answers != "columns"))
}

/// Lays one answer over those given before: later keys win, the lists of what is answered grow together.
pub fn together(before: &Value, more: &Value) -> Value {
    let mut all = before.as_object().cloned().unwrap_or_default();
    for (key, value) in more.as_object().into_iter().flatten() {
        match (key.as_str(), all.get_mut(key)) {
            ("answered", Some(Value::Array(list))) => {
                let new = value.as_array().into_iter().flatten().filter(|k| !list.contains(k));
                let new: Vec<Value> = new.cloned().collect();
                list.extend(new);
            }
            _ => {
                all.insert(key.clone(), value.clone());
            }
        }
    }
    Value::Object(all)
}

/// The column whose name a question puts in quotation marks.
fn column_of(question: &Question, mapping: &Mapping) -> Option<usize> {
    let quoted = |name: &str| question.text.contains(&format!("\"{name}\""));
    (question.answers == "columns").then(|| mapping.columns.iter().position(|c| quoted(&c.name))).flatten()
}

/// The answers to offer, the one taken for now among them. Empty where only words of one's own will do.
pub fn choices(question: &Question, mapping: &Mapping) -> Vec<Choice> {
    let key = key_of(question, mapping);
    let c = column_of(question, mapping);
    let settled = |label: &str, mut patch: Map<String, Value>| {
        patch.insert("answered".into(), json!([key]));
        Choice { label: label.into(), patch: Value::Object(patch) }
    };
    let plain =
        |label: &str, name: &str, value: Value| settled(label, Map::from_iter([(name.to_string(), value)]));
    let unit = |label: &str, code: &str| {
        columns(mapping, c, |col| col["unit"] = json!(code)).map(|p| settled(label, p))
    };
    let role = |label: &str, role: Role, code: Option<&str>| {
        let change = |col: &mut Value| (col["role"], col["unit"]) = (json!(role), json!(code));
        columns(mapping, c, change).map(|p| settled(label, p))
    };
    let found: Vec<Option<Choice>> = match question.code.as_str() {
        "date-order" => dates(&question.text)
            .into_iter()
            .map(|(label, order)| Some(plain(&label, "date_order", json!(order))))
            .collect(),
        "decimal-or-thousands" => vec![
            Some(plain("a point is the decimal mark", "decimal", json!("."))),
            Some(plain("a comma is the decimal mark", "decimal", json!(","))),
        ],
        "zone" => vec![Some(plain("UTC", "zone", json!("UTC")))],
        "start-instant" => vec![Some(settled("leave the times relative", Map::new()))],
        "energy-unit" => vec![unit("Wh", "W.h"), unit("kWh", "kW.h")],
        "power-unit" if c.is_some() => vec![unit("W", "W"), unit("kW", "kW")],
        "current-unit" => vec![unit("A", "A"), unit("mA", "mA")],
        "elapsed-unit" => vec![unit("seconds", "s"), unit("minutes", "min"), unit("hours", "h")],
        "counter-or-interval" => {
            let code = c.and_then(|c| mapping.columns[c].unit.as_deref());
            vec![
                role("it counts on", Role::EnergyCounter, code),
                role("energy of each interval", Role::EnergyInterval, code),
            ]
        }
        "columns" if c.is_some() => vec![
            role("power in W", Role::Power, Some("W")),
            role("power in kW", Role::Power, Some("kW")),
            role("energy in Wh, counting on", Role::EnergyCounter, Some("W.h")),
            role("energy in kWh, counting on", Role::EnergyCounter, Some("kW.h")),
            role("volts", Role::Voltage, Some("V")),
            role("amperes", Role::Current, Some("A")),
            role("something else", Role::Other, None),
        ],
        "several-columns" => several(mapping).into_iter().map(|(l, p)| Some(settled(&l, p))).collect(),
        // The names of the files or sheets stand in quotation marks, the one taken for now again at the end.
        "which-part" => {
            let mut names: Vec<&str> = question.text.split('"').skip(1).step_by(2).collect();
            let mut seen = Vec::new();
            names.retain(|n| {
                !seen.contains(n) && {
                    seen.push(*n);
                    true
                }
            });
            names.into_iter().map(|name| Some(plain(name, "part", json!(name)))).collect()
        }
        "serial-or-seconds" => vec![
            Some(plain("a spreadsheet's day count", "time", json!("serial"))),
            seconds(mapping).map(|p| settled("seconds since the start", p)),
        ],
        _ => vec![question.assumed.as_ref().map(|a| settled(a, Map::new()))],
    };
    found.into_iter().flatten().collect()
}

/// All columns with one changed: an array is replaced whole (RFC 7386), so the whole of it is in the answer.
fn columns(
    mapping: &Mapping,
    c: Option<usize>,
    change: impl FnOnce(&mut Value),
) -> Option<Map<String, Value>> {
    let mut all = json!(mapping.columns);
    change(all.get_mut(c?)?);
    Some(Map::from_iter([("columns".to_string(), all)]))
}

/// One answer for each column of the quantity that comes more than once: that one counts, the others do not.
fn several(mapping: &Mapping) -> Vec<(String, Map<String, Value>)> {
    let twice = |role: Role| mapping.columns.iter().filter(|c| c.role == role).count() > 1;
    let Some(role) = mapping.columns.iter().map(|c| c.role).find(|r| *r != Role::Other && twice(*r)) else {
        return Vec::new();
    };
    let of = (0..mapping.columns.len()).filter(|k| mapping.columns[*k].role == role);
    of.map(|k| {
        let mut all = mapping.columns.clone();
        all.iter_mut()
            .enumerate()
            .filter(|(j, c)| *j != k && c.role == role)
            .for_each(|(_, c)| c.role = Role::Other);
        (format!("\"{}\" counts", all[k].name), Map::from_iter([("columns".to_string(), json!(all))]))
    })
    .collect()
}

fn seconds(mapping: &Mapping) -> Option<Map<String, Value>> {
    let change = |col: &mut Value| (col["role"], col["unit"]) = (json!(Role::Elapsed), json!("s"));
    let mut patch = columns(mapping, mapping.find(Role::Time), change)?;
    patch.insert("time".into(), json!("elapsed-number"));
    Some(patch)
}

/// What the date in the question would be, read either way.
fn dates(text: &str) -> Vec<(String, &'static str)> {
    let seen = text.split('"').nth(1).unwrap_or_default();
    let numbers: Vec<usize> = seen
        .split(|c: char| !c.is_ascii_digit())
        .filter(|n| !n.is_empty())
        .filter_map(|n| n.parse().ok())
        .collect();
    let name = |day: usize, month: usize| {
        let month = MONTHS.get(month.wrapping_sub(1))?;
        (1..=31).contains(&day).then(|| format!("{day} {month}"))
    };
    let (a, b, c) = (
        numbers.first().copied().unwrap_or(0),
        numbers.get(1).copied().unwrap_or(0),
        numbers.get(2).copied().unwrap_or(0),
    );
    let short = numbers.first().zip(numbers.get(2)).is_some_and(|(a, c)| *a < 100 && *c < 100);
    let year = short.then(|| name(c, b)).flatten().map(|d| (format!("year first: {d}"), "year-first"));
    let day = name(a, b).map(|d| (format!("day first: {d}"), "day-first"));
    let month = name(b, a).map(|d| (format!("month first: {d}"), "month-first"));
    [day, month, year].into_iter().flatten().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_shown_as_they_would_be_read() {
        let labels = |t: &str| dates(t).into_iter().map(|d| d.0).collect::<Vec<_>>();
        assert_eq!(labels("is \"04/05/2026\" day-first?"), ["day first: 4 May", "month first: 5 April"]);
        let short = ["day first: 4 May", "month first: 5 April", "year first: 6 May"];
        assert_eq!(labels("is \"04/05/06 12:00\" day-first?"), short);
    }

    #[test]
    fn answers_grow_together() {
        let a = json!({"zone": "UTC", "answered": ["zone"]});
        let b = json!({"columns": [1], "answered": ["energy-unit:2"]});
        let all = together(&together(&a, &b), &b);
        assert_eq!(all, json!({"zone": "UTC", "columns": [1], "answered": ["zone", "energy-unit:2"]}));
    }
}
