//! Facts as data for programs, one to a line, so that what changed between two publishings is a few lines.
use serde_json::{Value as Json, json};
use trueplate_core::facts::{Fact, Facts};

/// One fact. Money has a `currency` (ISO 4217) and the day it was `seen`; its `unit` is null, or what it is paid per.
pub fn fact(fact: &Fact) -> Json {
    let (value, u) = fact.number();
    let some = |text: &str| (!text.is_empty()).then(|| text.to_string());
    let mut amount = json!({ "value": value, "u": u, "unit": fact.ucum() });
    if let (Some(currency), Some(map)) = (some(&fact.currency), amount.as_object_mut()) {
        map.insert("currency".into(), json!(currency));
    }
    json!({
        "id": fact.id,
        "version": fact.version,
        "model": fact.model,
        "name": fact.name,
        "key": fact.key,
        "title": fact.title,
        "condition": fact.condition,
        "sort": fact.sort.key(),
        "value": amount,
        "seen": some(&fact.seen),
        "rounded": fact.rounded,
        "spoken": fact.spoken,
        "wording": fact.wording,
        "do_not_say": fact.do_not_say,
        "tests": fact.trail,
        "as_of": fact.as_of,
        "former": some(&fact.former),
    })
}

/// `{"facts": [..], "former": [..]}`: what holds, and what once held with the reason why it no longer does.
pub fn facts(facts: &Facts) -> String {
    let mut out = String::from("{\"facts\": [");
    lines(&mut out, &facts.current);
    out.push_str("],\n\"former\": [");
    lines(&mut out, &facts.former);
    out.push_str("]}\n");
    out
}

fn lines(out: &mut String, facts: &[Fact]) {
    for (i, one) in facts.iter().enumerate() {
        out.push_str(if i == 0 { "\n" } else { ",\n" });
        out.push_str(&fact(one).to_string());
    }
}
