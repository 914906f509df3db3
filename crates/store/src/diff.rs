//! What changed between two JSON documents, as steps a person can read and a program can take either way.
//!
//! `null` stands for absence: a document holds none elsewhere (`rows` sees to that).
//! Fields are JSON pointers (RFC 6901).
use serde_json::Value;

/// One changed field, before and after.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Step {
    /// JSON pointer; empty for the whole document.
    pub field: String,
    /// Before; null when it was not there.
    pub old: Value,
    /// After; null when it is gone.
    pub new: Value,
}

/// The steps from `old` to `new`, in the order in which they must be taken.
///
/// Objects are compared member by member, lists item by item as long as the items are the same ones, with a step for
/// each item added or taken away at the end; any other list changes as a whole, since items with other numbers tell nothing.
pub(crate) fn between(old: &Value, new: &Value) -> Vec<Step> {
    let mut steps = Vec::new();
    walk(&mut String::new(), old, new, &mut steps);
    steps
}

fn walk(field: &mut String, old: &Value, new: &Value, steps: &mut Vec<Step>) {
    match (old, new) {
        _ if old == new => {}
        (Value::Object(a), Value::Object(b)) => {
            let mut keys: Vec<&String> = a.keys().chain(b.keys()).collect();
            keys.sort();
            keys.dedup();
            for key in keys {
                let (old, new) = (a.get(key).unwrap_or(&Value::Null), b.get(key).unwrap_or(&Value::Null));
                deeper(field, &escaped(key), old, new, steps);
            }
        }
        (Value::Array(a), Value::Array(b)) if lined_up(a, b) => {
            for (i, (old, new)) in a.iter().zip(b).enumerate() {
                deeper(field, &i.to_string(), old, new, steps);
            }
            for (i, new) in b.iter().enumerate().skip(a.len()) {
                deeper(field, &i.to_string(), &Value::Null, new, steps);
            }
            for (i, old) in a.iter().enumerate().skip(b.len()).rev() {
                deeper(field, &i.to_string(), old, &Value::Null, steps);
            }
        }
        _ => steps.push(Step { field: field.clone(), old: old.clone(), new: new.clone() }),
    }
}

/// Whether the items of two lists are the same ones, up to the end of the shorter: nothing was put in, taken out or
/// moved before that. Items with an `id` tell; others do when the lists are equally long or the items are unchanged.
fn lined_up(a: &[Value], b: &[Value]) -> bool {
    a.iter().zip(b).all(|(old, new)| match (old.get("id"), new.get("id")) {
        (Some(old), Some(new)) => old == new,
        _ => a.len() == b.len() || old == new,
    })
}

fn deeper(field: &mut String, key: &str, old: &Value, new: &Value, steps: &mut Vec<Step>) {
    let length = field.len();
    field.push('/');
    field.push_str(key);
    walk(field, old, new, steps);
    field.truncate(length);
}

fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// Takes one step on a document (null: none): `from` must stand at `field`, and becomes `to`.
///
/// Gives back what stands there instead, or nothing when the place itself is gone; the document is then untouched.
pub(crate) fn take(doc: &mut Value, field: &str, from: &Value, to: &Value) -> Result<(), Option<Value>> {
    let Some((parent, key)) = field.rsplit_once('/') else {
        return swap(doc, from, to);
    };
    let key = key.replace("~1", "/").replace("~0", "~");
    match doc.pointer_mut(parent) {
        Some(Value::Object(members)) => {
            let mut now = members.get(&key).cloned().unwrap_or(Value::Null);
            swap(&mut now, from, to)?;
            match now {
                Value::Null => members.remove(&key),
                value => members.insert(key, value),
            };
            Ok(())
        }
        Some(Value::Array(items)) => {
            let at: usize = key.parse().map_err(|_| None)?;
            if at == items.len() && from.is_null() {
                items.push(to.clone());
                return Ok(());
            }
            let last = at + 1 == items.len();
            let now = items.get_mut(at).ok_or(None)?;
            if !to.is_null() {
                return swap(now, from, to);
            }
            if !last || now != from {
                return Err(Some(now.clone()));
            }
            items.pop();
            Ok(())
        }
        _ => Err(None),
    }
}

fn swap(now: &mut Value, from: &Value, to: &Value) -> Result<(), Option<Value>> {
    if now != from {
        return Err(Some(now.clone()));
    }
    *now = to.clone();
    Ok(())
}

/// Removes members that are null, which read the same as absent ones.
///
/// Gives back the field of a null inside a list, which has no such reading.
pub(crate) fn without_nulls(value: &mut Value, field: &str) -> Result<(), String> {
    match value {
        Value::Object(members) => {
            members.retain(|_, v| !v.is_null());
            members.iter_mut().try_for_each(|(k, v)| without_nulls(v, &format!("{field}/{}", escaped(k))))
        }
        Value::Array(items) => items.iter_mut().enumerate().try_for_each(|(i, v)| {
            let field = format!("{field}/{i}");
            if v.is_null() { Err(field) } else { without_nulls(v, &field) }
        }),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn fields(old: &Value, new: &Value) -> Vec<String> {
        between(old, new).iter().map(|s| format!("{} {} -> {}", s.field, s.old, s.new)).collect()
    }

    /// Pointers after RFC 6901 section 3: `~` is written `~0`, `/` is written `~1`.
    #[test]
    fn names_each_changed_field() {
        let old = json!({"a": 1, "b": {"m/n": "x", "t~": 2}, "gone": true});
        let new = json!({"a": 1, "b": {"m/n": "y", "t~": 3}, "here": []});
        assert_eq!(
            fields(&old, &new),
            ["/b/m~1n \"x\" -> \"y\"", "/b/t~0 2 -> 3", "/gone true -> null", "/here null -> []"]
        );
    }

    #[test]
    fn lists_by_item_where_that_is_readable() {
        let of = |old, new| fields(&json!({"l": old}), &json!({"l": new}));
        assert_eq!(of(json!([1, 2, 3]), json!([1, 5, 3])), ["/l/1 2 -> 5"]);
        assert_eq!(of(json!([1]), json!([1, 2, 3])), ["/l/1 null -> 2", "/l/2 null -> 3"]);
        assert_eq!(of(json!([1, 2, 3]), json!([1])), ["/l/2 3 -> null", "/l/1 2 -> null"]);
        assert_eq!(of(json!([1, 2, 3]), json!([1, 3])), ["/l [1,2,3] -> [1,3]"]);
        let (a, b) = (json!({"id": "a", "x": 1}), json!({"id": "b", "x": 1}));
        let a2 = json!({"id": "a", "x": 2});
        assert_eq!(of(json!([a]), json!([a2, b])), ["/l/0/x 1 -> 2", &format!("/l/1 null -> {b}")]);
        assert_eq!(of(json!([a, b]), json!([a2])), ["/l/0/x 1 -> 2", &format!("/l/1 {b} -> null")]);
        assert_eq!(of(json!([a, b]), json!([b, a])), [format!("/l [{a},{b}] -> [{b},{a}]")]);
        assert_eq!(of(json!([a, b]), json!([b])), [format!("/l [{a},{b}] -> [{b}]")]);
    }

    #[test]
    fn steps_lead_there_and_back() {
        let cases = [
            (json!(null), json!({"a": [1]})),
            (json!({"a": [{"x": 1}, 2], "b": {}}), json!({"a": [{"x": 2}, 2, 3], "c": {"d~/": 1.5}})),
            (json!({"a": [1, 2, 3, 4]}), json!({"a": []})),
            (
                json!({"a": [{"id": 1, "x": [1, 2]}, {"id": 2}, {"id": 3}]}),
                json!({"a": [{"id": 1, "x": [1]}]}),
            ),
            (json!({"a": [1, 2, 3, 4]}), json!({"a": [4, 1]})),
            (json!({"a": 1}), json!(null)),
        ];
        for (old, new) in cases {
            let steps = between(&old, &new);
            let mut doc = old.clone();
            for s in &steps {
                take(&mut doc, &s.field, &s.old, &s.new).unwrap();
            }
            assert_eq!(doc, new);
            for s in steps.iter().rev() {
                take(&mut doc, &s.field, &s.new, &s.old).unwrap();
            }
            assert_eq!(doc, old);
        }
    }

    #[test]
    fn a_step_is_refused_where_something_else_stands() {
        let mut doc = json!({"a": [1, 2], "b": 3});
        assert_eq!(take(&mut doc, "/b", &json!(4), &json!(5)), Err(Some(json!(3))));
        assert_eq!(take(&mut doc, "/a/0", &json!(1), &Value::Null), Err(Some(json!(1))));
        assert_eq!(take(&mut doc, "/x/y", &json!(1), &json!(2)), Err(None));
        assert_eq!(take(&mut doc, "/a/7", &json!(1), &json!(2)), Err(None));
        assert_eq!(doc, json!({"a": [1, 2], "b": 3}));
    }
}
