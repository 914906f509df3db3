//! What was corrected after it was first written: only tests, only what bears on a result, nothing private.
use serde_json::Value as Json;
use std::collections::BTreeMap;
use trueplate_core::kind::Spec;
use trueplate_core::notebook::Change;

/// One thing that was changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// Order of writing.
    pub seq: i64,
    /// When, RFC 3339.
    pub at: String,
    /// The test.
    pub test: String,
    /// Its specimen, where the test itself was withdrawn; else empty.
    pub specimen: String,
    /// What: "counter at the end", "left out".
    pub what: String,
    /// Before, as text.
    pub old: String,
    /// After, as text.
    pub new: String,
    /// Reason given; empty when none was.
    pub why: String,
}

/// Corrections by id of the test, oldest first. `kind_of` tells the kind of a test, for the names of its fields.
pub fn by_test<'a>(
    changes: &[Change],
    kind_of: impl Fn(&str) -> Option<&'a Spec>,
) -> BTreeMap<String, Vec<Correction>> {
    let mut all: BTreeMap<String, Vec<Correction>> = BTreeMap::new();
    for change in changes.iter().filter(|c| c.record == "test") {
        if let Some(withdrawn) = withdrawn(change) {
            all.entry(change.id.clone()).or_default().push(withdrawn);
            continue;
        }
        let kind = kind_of(&change.id);
        for (pointer, old, new) in leaves(change) {
            let Some(what) = name_of(&pointer, kind) else { continue };
            if old.is_empty() || old == new {
                continue; // Written for the first time, or not changed at all.
            }
            all.entry(change.id.clone()).or_default().push(Correction {
                seq: change.seq,
                at: change.at.clone(),
                test: change.id.clone(),
                specimen: String::new(),
                what,
                old,
                new,
                why: change.why.trim().to_string(),
            });
        }
    }
    all
}

/// A whole test taken out of the notebook after it had been written down.
fn withdrawn(change: &Change) -> Option<Correction> {
    let read = |text: &str| serde_json::from_str::<Json>(text).unwrap_or(Json::Null);
    let old = read(&change.old);
    if !change.field.is_empty() || !old.is_object() || !read(&change.new).is_null() {
        return None;
    }
    let text = |key: &str| old.get(key).and_then(Json::as_str).unwrap_or_default().to_string();
    Some(Correction {
        seq: change.seq,
        at: change.at.clone(),
        test: change.id.clone(),
        specimen: text("specimen"),
        what: "a test".into(),
        old: format!("{} {}", text("kind").replace('-', " "), text("day")).trim().to_string(),
        new: "withdrawn".into(),
        why: change.why.trim().to_string(),
    })
}

/// The single values that differ between old and new: pointer, old text, new text; empty for nothing.
fn leaves(change: &Change) -> Vec<(String, String, String)> {
    let read = |text: &str| serde_json::from_str::<Json>(text).unwrap_or(Json::Null);
    let (mut old, mut new) = (BTreeMap::new(), BTreeMap::new());
    flatten(&change.field, &read(&change.old), &mut old);
    flatten(&change.field, &read(&change.new), &mut new);
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

#[cfg(test)]
mod tests {
    use super::*;

    fn of(field: &str, old: &str, new: &str) -> Vec<Correction> {
        let change = Change {
            seq: 7,
            at: "2026-05-09T18:00:00Z".into(),
            record: "test".into(),
            id: "t1".into(),
            field: field.into(),
            old: old.into(),
            new: new.into(),
            why: "digits transposed".into(),
            ..Change::default()
        };
        by_test(&[change], |_| None).into_values().flatten().collect()
    }

    #[test]
    fn a_changed_reading_is_a_correction() {
        let found = of("/entries/counter_end/text", "\"0.98 kWh\"", "\"0.89 kWh\"");
        assert_eq!((found[0].old.as_str(), found[0].new.as_str()), ("0.98 kWh", "0.89 kWh"));
        assert_eq!(found[0].why, "digits transposed");
    }

    #[test]
    fn the_first_writing_is_none() {
        assert!(of("/entries/counter_end/text", "null", "\"0.89 kWh\"").is_empty());
        assert!(of("", "null", "{\"kind\":\"mass\",\"entries\":{\"mass\":{\"text\":\"13 kg\"}}}").is_empty());
        assert!(of("/conditioning", "false", "false").is_empty());
    }

    #[test]
    fn whole_records_are_taken_apart() {
        let old = "{\"day\":\"2026-05-03\",\"note\":\"private\",\"entries\":{\"mass\":{\"text\":\"13 kg\",\"note\":\"p\"}}}";
        let new = "{\"day\":\"2026-05-03\",\"note\":\"other\",\"entries\":{\"mass\":{\"text\":\"14 kg\",\"note\":\"q\"}}}";
        let found = of("", old, new);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].new, "14 kg");
        // One entry, replaced as a whole.
        assert_eq!(of("/entries/mass", "{\"text\":\"13 kg\"}", "{\"text\":\"14 kg\"}")[0].old, "13 kg");
    }

    #[test]
    fn leaving_out_later_and_withdrawing_are_corrections() {
        assert_eq!(of("/excluded", "\"\"", "\"meter not reset\"")[0].old, "counts");
        let gone =
            &of("", "{\"kind\":\"usable-energy\",\"day\":\"2026-05-03\",\"specimen\":\"s\"}", "null")[0];
        assert_eq!((gone.old.as_str(), gone.new.as_str()), ("usable energy 2026-05-03", "withdrawn"));
        assert_eq!(gone.specimen, "s");
    }

    #[test]
    fn remarks_and_files_stay_private() {
        assert!(of("/note", "\"a\"", "\"b\"").is_empty());
        assert!(of("/entries/mass/files/0/name", "\"a\"", "\"b\"").is_empty());
        assert!(of("/entries/mass/at", "\"a\"", "\"b\"").is_empty());
    }
}
