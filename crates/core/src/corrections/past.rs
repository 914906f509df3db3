//! A record as it was: the present one with its later changes put back, newest first.
use crate::notebook::{Change, Model, Notebook, Test};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value as Json;

/// A record as it stood before a stroke and after it; `None` inside where it was not there. Nothing at all when the
/// history cannot be followed.
pub fn around<T: DeserializeOwned>(
    notebook: &Notebook,
    sort: &str,
    id: &str,
    stroke: i64,
) -> Option<(Option<T>, Option<T>)> {
    let mut doc = match sort {
        "model" => json(notebook.model(id)),
        _ => json(notebook.test(id)),
    };
    let mine = |c: &&Change| c.record == sort && c.id == id && c.stroke >= stroke;
    let changes: Vec<&Change> = notebook.changes.iter().filter(mine).collect();
    changes.iter().rev().filter(|c| c.stroke > stroke).for_each(|c| put_back(&mut doc, c));
    let after = read(&doc)?;
    changes.iter().rev().filter(|c| c.stroke == stroke).for_each(|c| put_back(&mut doc, c));
    Some((read(&doc)?, after))
}

/// The types whose past is asked for.
pub fn model_around(notebook: &Notebook, id: &str, stroke: i64) -> Option<(Option<Model>, Option<Model>)> {
    around(notebook, "model", id, stroke)
}

/// The same for a test.
pub fn test_around(notebook: &Notebook, id: &str, stroke: i64) -> Option<(Option<Test>, Option<Test>)> {
    around(notebook, "test", id, stroke)
}

fn json<T: Serialize>(record: Option<&T>) -> Json {
    record.and_then(|r| serde_json::to_value(r).ok()).unwrap_or(Json::Null)
}

fn read<T: DeserializeOwned>(doc: &Json) -> Option<Option<T>> {
    if doc.is_null() {
        return Some(None);
    }
    serde_json::from_value(doc.clone()).ok().map(Some)
}

/// Puts the old value back where the change stands. What is no longer there is left alone: an older past is then
/// shown with it.
fn put_back(doc: &mut Json, change: &Change) {
    let old = serde_json::from_str(&change.old).unwrap_or(Json::Null);
    let Some((parent, key)) = change.field.rsplit_once('/') else {
        *doc = old;
        return;
    };
    let key = key.replace("~1", "/").replace("~0", "~");
    match doc.pointer_mut(parent) {
        Some(Json::Object(members)) if old.is_null() => drop(members.remove(&key)),
        Some(Json::Object(members)) => drop(members.insert(key, old)),
        Some(Json::Array(items)) => match key.parse::<usize>() {
            Ok(at) if at < items.len() && old.is_null() => drop(items.remove(at)),
            Ok(at) if at < items.len() => items[at] = old,
            Ok(at) if at == items.len() && !old.is_null() => items.push(old),
            _ => (),
        },
        _ => (),
    }
}
