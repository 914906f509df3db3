//! What was corrected after it was first written: readings of tests, claims, prices. Only what bears on something
//! published, nothing private. The order of writing is kept, and nothing is ever taken out of it.
pub mod effect;
mod past;
pub mod spread;
pub mod worked;

use crate::kind::Spec;
use crate::kinds;
use crate::notebook::{Bound, Change, Claim, Model, Notebook, Price};
use crate::report::condition_words;
use crate::shown::{Style, four_digits};
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// What a correction is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Of {
    /// A test, by its id.
    Test(String),
    /// A claim, by its id within the model.
    Claim(String),
    /// A price.
    Price,
}

/// One thing that was changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// Order of writing.
    pub seq: i64,
    /// Changes saved at one stroke share it.
    pub stroke: i64,
    /// When, RFC 3339.
    pub at: String,
    /// Id of the model it bears on.
    pub model: String,
    /// Test, claim or price.
    pub of: Of,
    /// What: "counter at the end", "claim: usable energy", "list price of 2026-05-03".
    pub what: String,
    /// Before, as text.
    pub old: String,
    /// After, as text; "withdrawn" for a whole thing taken out.
    pub new: String,
    /// Reason given; empty when none was.
    pub why: String,
}

impl Correction {
    /// Id of the test; empty where it is about none.
    pub fn test(&self) -> &str {
        match &self.of {
            Of::Test(id) => id,
            Of::Claim(_) | Of::Price => "",
        }
    }
}

/// Every correction of a bench, oldest first.
pub fn all(notebook: &Notebook) -> Vec<Correction> {
    let mut out = Vec::new();
    for change in notebook.changes.iter().filter(|c| c.record == "test") {
        of_test(notebook, change, &mut out);
    }
    let mut strokes: Vec<(&str, i64)> =
        notebook.changes.iter().filter(|c| c.record == "model").map(|c| (c.id.as_str(), c.stroke)).collect();
    strokes.dedup();
    for (model, stroke) in strokes {
        of_model(notebook, model, stroke, &mut out);
    }
    out.sort_by_key(|c| c.seq);
    out
}

fn of_test(notebook: &Notebook, change: &Change, out: &mut Vec<Correction>) {
    let base = |specimen: &str| Correction {
        seq: change.seq,
        stroke: change.stroke,
        at: change.at.clone(),
        model: notebook.model_of(specimen).map_or_else(String::new, |m| m.id.clone()),
        of: Of::Test(change.id.clone()),
        what: String::new(),
        old: String::new(),
        new: String::new(),
        why: change.why.trim().to_string(),
    };
    let read = |text: &str| serde_json::from_str::<Json>(text).unwrap_or(Json::Null);
    let old = read(&change.old);
    if old.is_null() {
        // Written for the first time.
        return;
    }
    let new = read(&change.new);
    if change.field.is_empty() && old.is_object() && new.is_null() {
        let text = |key: &str| old.get(key).and_then(Json::as_str).unwrap_or_default().to_string();
        let was = format!("{} {}", text("kind").replace('-', " "), text("day")).trim().to_string();
        let whole = Correction { what: "a test".into(), old: was, ..base(&text("specimen")) };
        out.push(Correction { new: "withdrawn".into(), ..whole });
        return;
    }
    let Some(test) = notebook.test(&change.id) else { return };
    let kind = kinds::find(&test.kind).map(|k| k.spec());
    for (pointer, old, new) in leaves(&change.field, &old, &new) {
        let Some(what) = name_of(&pointer, kind) else { continue };
        // Written for the first time, or not changed at all.
        if !old.is_empty() && old != new {
            out.push(Correction { what, old, new, ..base(&test.specimen) });
        }
    }
}

/// The single values that differ between old and new: pointer, old text, new text; empty for nothing.
fn leaves(field: &str, before: &Json, after: &Json) -> Vec<(String, String, String)> {
    let (mut old, mut new) = (BTreeMap::new(), BTreeMap::new());
    flatten(field, before, &mut old);
    flatten(field, after, &mut new);
    let mut keys: Vec<&String> = old.keys().chain(new.keys().filter(|k| !old.contains_key(*k))).collect();
    keys.sort();
    let text = |map: &BTreeMap<String, String>, key: &String| map.get(key).cloned().unwrap_or_default();
    keys.into_iter().map(|k| (k.clone(), text(&old, k), text(&new, k))).collect()
}

fn flatten(at: &str, value: &Json, out: &mut BTreeMap<String, String>) {
    match value {
        Json::Object(map) => map.iter().for_each(|(key, v)| {
            let key = key.replace('~', "~0").replace('/', "~1");
            flatten(&format!("{at}/{key}"), v, out);
        }),
        Json::Null | Json::Array(_) => (),
        // An empty reason for leaving it out means that it counts.
        Json::String(text) if text.is_empty() && at == "/excluded" => {
            drop(out.insert(at.to_string(), "counts".into()));
        }
        Json::String(text) => drop(out.insert(at.to_string(), text.clone())),
        Json::Bool(yes) => drop(out.insert(at.to_string(), if *yes { "yes" } else { "no" }.to_string())),
        Json::Number(n) => drop(out.insert(at.to_string(), n.to_string())),
    }
}

/// What a pointer into a test speaks of; `None` for what is private or bears on no result.
fn name_of(pointer: &str, kind: Option<&Spec>) -> Option<String> {
    let parts: Vec<String> =
        pointer.split('/').skip(1).map(|p| p.replace("~1", "/").replace("~0", "~")).collect();
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    let field = |key: &str| kind.and_then(|k| k.field(key)).map_or(key.to_string(), |f| f.label.to_string());
    Some(match parts.as_slice() {
        ["entries", key, "text"] => field(key),
        ["entries", key, "instrument"] => format!("{}: instrument", field(key)),
        ["excluded"] => "left out of the results".into(),
        ["conditioning"] => "first cycle out of the box".into(),
        ["held_out"] => "kept out of the runtime curve".into(),
        ["firmware"] => "firmware".into(),
        ["day"] => "day".into(),
        ["kind"] => "kind of test".into(),
        ["specimen"] => "specimen".into(),
        _ => return None,
    })
}

/// What one stroke changed in the claims and prices of a model.
fn of_model(notebook: &Notebook, id: &str, stroke: i64, out: &mut Vec<Correction>) {
    let Some((before, after)) = past::around::<Model>(notebook, "model", id, stroke) else { return };
    let mut mine =
        notebook.changes.iter().filter(|c| c.record == "model" && c.id == id && c.stroke == stroke);
    let Some(first) = mine.next() else { return };
    let (before, after) = (before.unwrap_or_default(), after.unwrap_or_default());
    let mut add = |of: Of, what: String, old: String, new: String| {
        out.push(Correction {
            seq: first.seq,
            stroke,
            at: first.at.clone(),
            model: id.into(),
            of,
            what,
            old,
            new,
            why: first.why.trim().to_string(),
        });
    };
    for old in &before.claims {
        let new = after.claims.iter().find(|c| c.id == old.id);
        let (was, is) = (claim_words(old), new.map_or("withdrawn".into(), claim_words));
        if was != is {
            let title = crate::claims::spec_of(&old.key).map_or(old.key.as_str(), |r| r.title);
            add(Of::Claim(old.id.clone()), format!("claim: {}", title.to_lowercase()), was, is);
        }
    }
    for (old, new) in moved_prices(&before.prices, &after.prices) {
        // A price without a day was never printed.
        if !old.on.is_empty() {
            let what = format!("{} price of {}", old.kind, old.on);
            add(Of::Price, what, price_words(old), new.map_or("withdrawn".into(), price_words));
        }
    }
}

fn claim_words(claim: &Claim) -> String {
    let bound = match claim.bound {
        Bound::AsUsual => "",
        Bound::Minimum => "at least ",
        Bound::Maximum => "at most ",
        Bound::Unclear => "unclear: ",
    };
    match claim.condition.is_empty() {
        true => format!("{bound}{}", claim.text),
        false => format!("{bound}{} ({})", claim.text, condition_words(&claim.condition)),
    }
}

fn price_words(price: &Price) -> String {
    let tax = if price.with_tax { ", tax inside" } else { "" };
    let bundle = if price.bundle.is_empty() { String::new() } else { format!(", with {}", price.bundle) };
    format!("{} {}{tax}{bundle}", four_digits(price.amount, Style::POINT), price.currency)
}

/// Prices that were printed and changed. One seen on another day is another price, not a correction.
fn moved_prices<'a>(before: &'a [Price], after: &'a [Price]) -> Vec<(&'a Price, Option<&'a Price>)> {
    let gone: Vec<&Price> = before.iter().filter(|p| !after.contains(p)).collect();
    let mut come: Vec<&Price> = after.iter().filter(|p| !before.contains(p)).collect();
    let mut out = Vec::new();
    for old in gone {
        let same = |p: &&Price| p.kind == old.kind && p.on == old.on;
        match come.iter().position(same) {
            Some(i) => out.push((old, Some(come.remove(i)))),
            // Seen anew in its place: the old one is past, not wrong.
            None if come.iter().any(|p| p.kind == old.kind && p.on > old.on) => (),
            None => out.push((old, None)),
        }
    }
    out.retain(|(old, new)| new.is_none_or(|n| price_words(old) != price_words(n)));
    out
}

#[cfg(test)]
#[path = "corrections_test.rs"]
mod tests;
