//! Filters typed plainly: "idle draw < 12 W and switchover < 15 ms".
//!
//! A filter is a list of conditions that must all hold, joined by `and`, a comma, a semicolon or a new line. Each is a
//! property, a comparison and a quantity with its unit. What cannot be read says what, where and what to type.
use crate::finding::Finding;
use crate::number::{self, Marks};
use crate::property::{Cell, Property};
use crate::quantity::Dim;

/// Which side of the limit is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Below, or at most.
    Below,
    /// Above, or at least.
    Above,
}

/// One condition.
#[derive(Clone, Debug, PartialEq)]
pub struct Clause {
    /// Index into the properties it was read with.
    pub property: usize,
    /// Which side.
    pub side: Side,
    /// The limit, in the unit the property is kept in.
    pub limit: f64,
    /// As typed.
    pub text: String,
}

/// Whether a station keeps a condition.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// Surely: with 95 % or more.
    Yes,
    /// The limit lies inside the interval.
    Open,
    /// Not tested, no price.
    Unknown,
    /// Surely not.
    No,
}

impl Clause {
    /// Whether what a station has keeps it.
    pub fn held(&self, cell: &Cell) -> Held {
        let Some(value) = &cell.value else { return Held::Unknown };
        if !value.has_u() {
            let within = if self.side == Side::Below { value.x <= self.limit } else { value.x >= self.limit };
            return if within { Held::Yes } else { Held::No };
        }
        let below = value.p_below(self.limit);
        match if self.side == Side::Below { below } else { 1.0 - below } {
            p if p >= 0.95 => Held::Yes,
            p if p <= 0.05 => Held::No,
            _ => Held::Open,
        }
    }
}

/// Signs and words of comparison, longer ones before those they begin with. A property may have "below" in its own
/// name, so signs are looked for first, and words from the end.
const SIGNS: [(&str, Side); 6] = [
    ("<=", Side::Below),
    (">=", Side::Above),
    ("≤", Side::Below),
    ("≥", Side::Above),
    ("<", Side::Below),
    (">", Side::Above),
];
const WORDS: [(&str, Side); 10] = [
    (" no more than ", Side::Below),
    (" no less than ", Side::Above),
    (" less than ", Side::Below),
    (" more than ", Side::Above),
    (" at most ", Side::Below),
    (" at least ", Side::Above),
    (" below ", Side::Below),
    (" under ", Side::Below),
    (" above ", Side::Above),
    (" over ", Side::Above),
];
const HINT: &str = "write for example: idle draw < 12 W and switchover < 15 ms";

/// Reads a filter. An empty text is no condition.
pub fn filter(text: &str, properties: &[Property], marks: Marks) -> Result<Vec<Clause>, Vec<Finding>> {
    let read: Vec<_> = clauses(text).iter().map(|c| clause(c, properties, marks)).collect();
    let (good, bad): (Vec<_>, Vec<_>) = read.into_iter().partition(Result::is_ok);
    if bad.is_empty() {
        return Ok(good.into_iter().flatten().collect());
    }
    Err(bad.into_iter().filter_map(Result::err).collect())
}

/// Cut between conditions. A part without a comparison belongs to the one after it: names have commas of their own.
fn clauses(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut open = String::new();
    for line in text.split(['\n', ';']) {
        for part in number::parts(&line.replace(" AND ", " and ").replace(" & ", " and ")) {
            for piece in part.split(" and ").map(str::trim).filter(|p| !p.is_empty()) {
                open = if open.is_empty() { piece.to_string() } else { format!("{open}, {piece}") };
                if split(&open).is_some() {
                    found.push(std::mem::take(&mut open));
                }
            }
        }
        if !open.is_empty() {
            found.push(std::mem::take(&mut open));
        }
    }
    found
}

/// Name, side and quantity of one condition.
fn split(clause: &str) -> Option<(&str, Side, &str)> {
    let lower = clause.to_lowercase();
    let at = |at: usize, sign: &str| Some((clause.get(..at)?.trim(), clause.get(at + sign.len()..)?.trim()));
    let sign = SIGNS.iter().find_map(|(sign, side)| Some((clause.find(sign)?, sign, side)));
    let sign = sign.or_else(|| WORDS.iter().find_map(|(word, side)| Some((lower.rfind(word)?, word, side))));
    let (place, sign, side) = sign?;
    let (name, quantity) = at(place, sign)?;
    Some((name, *side, quantity))
}

fn fault(code: &str, clause: &str, text: String, hint: impl Into<String>) -> Finding {
    Finding::gap(code, format!("`{clause}`"), text, hint)
}

fn clause(text: &str, properties: &[Property], marks: Marks) -> Result<Clause, Finding> {
    let Some((name, side, quantity)) = split(text) else {
        return Err(fault("no-comparison", text, "there is no comparison in it".into(), HINT));
    };
    if [" or ", "|"].iter().any(|or| text.contains(or)) {
        let says = "all conditions must hold; `or` is not known".to_string();
        return Err(fault("or-unknown", text, says, "look at one after the other"));
    }
    if split(quantity).is_some() || SIGNS.iter().any(|(sign, _)| name.contains(sign)) {
        let text_ = "one condition has one comparison".to_string();
        return Err(fault(
            "two-comparisons",
            text,
            text_,
            "write both: idle draw > 5 W and idle draw < 12 W",
        ));
    }
    let property = find(name, quantity, text, properties)?;
    let limit = limit(quantity, &properties[property], text, marks)?;
    Ok(Clause { property, side, limit, text: text.to_string() })
}

/// Words of a name, without those that join.
fn words(text: &str) -> Vec<String> {
    let kept: String =
        text.to_lowercase().chars().map(|c| if c.is_alphanumeric() || c == '.' { c } else { ' ' }).collect();
    kept.split_whitespace()
        .filter(|w| !["at", "of", "with", "the", "a", "in"].contains(w))
        .map(Into::into)
        .collect()
}

/// The property meant by a name: its key or title in full, or any of its words, if only one has them all. Of prices
/// of several bases the one in the currency typed is meant, the bench's usual basis first.
fn find(name: &str, quantity: &str, clause: &str, properties: &[Property]) -> Result<usize, Finding> {
    let typed = words(name);
    if typed.is_empty() {
        return Err(fault("no-property", clause, "it does not say what is compared".into(), HINT));
    }
    let all: Vec<[Vec<String>; 3]> =
        properties.iter().map(|p| [&p.key, &p.title, &p.condition].map(|t| words(t))).collect();
    let key_of = |p: &Property| words(p.key.split(' ').next().unwrap_or_default());
    let whole: Vec<usize> =
        (0..all.len()).filter(|&i| typed == all[i][1] || typed == key_of(&properties[i])).collect();
    let has = |i: usize, word: &String| {
        let digits = word.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let same = |w: &String| w == word || (!digits && word.len() >= 3 && w.starts_with(word.as_str()));
        all[i].iter().flatten().any(same)
    };
    let partly = || (0..all.len()).filter(|&i| typed.iter().all(|w| has(i, w))).collect::<Vec<_>>();
    let found = if whole.is_empty() { partly() } else { whole };
    if let Some(&first) = found.first()
        && found
            .iter()
            .all(|&i| !properties[i].currency.is_empty() && properties[i].title == properties[first].title)
    {
        let typed = currency(quantity).1;
        return Ok(found.iter().copied().find(|&i| properties[i].currency == typed).unwrap_or(first));
    }
    match found.as_slice() {
        [one] => Ok(*one),
        [] => Err(fault(
            "unknown-property",
            clause,
            format!("no station has a value called `{name}`"),
            "choose a property from the list below, or test it first",
        )),
        several => {
            let names: Vec<String> =
                several.iter().take(4).map(|&i| format!("`{}`", properties[i].name())).collect();
            let more =
                if several.len() > 4 { format!(" and {} more", several.len() - 4) } else { String::new() };
            let says = format!("`{name}` may mean {} things: {}{more}", several.len(), names.join(", "));
            Err(fault("several-properties", clause, says, "say which one; they are never mixed"))
        }
    }
}

fn limit(quantity: &str, property: &Property, clause: &str, marks: Marks) -> Result<f64, Finding> {
    if !property.currency.is_empty() {
        return amount(quantity, property, clause, marks);
    }
    let typed = number::quantity(quantity, property.unit.dim, property.unit, marks)
        .map_err(|t| fault(t.code, clause, t.text, t.hint))?;
    if typed.unit_assumed && property.unit.dim != Dim::Count {
        let says = format!("`{quantity}` has no unit");
        return Err(fault("no-unit", clause, says, format!("write `{quantity} {}`", property.unit.symbol)));
    }
    Ok(typed.kept)
}

/// Digits and currency of an amount: "USD 700", "700 $".
fn currency(text: &str) -> (&str, String) {
    let digit = |c: char| c.is_ascii_digit();
    let (from, to) = (text.find(digit).unwrap_or(0), text.rfind(digit).map_or(0, |i| i + 1));
    let unit = format!("{}{}", &text[..from], &text[to..]);
    let unit = match unit.trim() {
        "$" => "USD".to_string(),
        "€" => "EUR".into(),
        "£" => "GBP".into(),
        other => other.to_uppercase(),
    };
    (&text[from..to], unit)
}

fn amount(text: &str, property: &Property, clause: &str, marks: Marks) -> Result<f64, Finding> {
    let (digits, unit) = currency(text);
    match number::number(digits, marks) {
        None => Err(fault("not-a-number", clause, format!("`{text}` is not an amount"), HINT)),
        Some(_) if unit.is_empty() => {
            let says = format!("`{text}` has no currency");
            Err(fault("no-unit", clause, says, format!("write `{text} {}`", property.currency)))
        }
        Some(_) if unit != property.currency => {
            let says = format!("`{}` is in {}, and {unit} is asked", property.name(), property.currency);
            Err(fault("other-currency", clause, says, "currencies are never mixed and nothing is converted"))
        }
        Some((x, _)) => Ok(x),
    }
}
