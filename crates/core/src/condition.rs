//! A condition in words, each axis by its label: the one home for what stands beside a result's title.
use crate::kinds::KINDS;
use crate::measurand::ResultSpec;
use crate::notebook::Condition;
use crate::shown;

/// A condition as axis labels with their values as people read them: `load`, `50 %`; `at`, `−5 °C`.
pub fn labelled(condition: &Condition) -> impl Iterator<Item = (&str, String)> {
    let axes = || KINDS.iter().flat_map(|k| k.spec().axes.iter().copied());
    condition.iter().map(move |(key, value)| {
        // Two kinds may use one key on axes of their own; the value tells them apart.
        let of_value = axes().find(|a| a.key == key && a.values.contains(&value.as_str()));
        let axis = of_value.or_else(|| axes().find(|a| a.key == key));
        (axis.map_or(key.as_str(), |a| a.label), shown::minus(value))
    })
}

/// A condition in words, each axis by its label: "load 50 %, weighed alone".
pub fn condition_words(condition: &Condition) -> String {
    labelled(condition).map(|(label, value)| format!("{label} {value}")).collect::<Vec<_>>().join(", ")
}

/// The title of a result under its condition: "Usable energy, load 50 %".
pub fn titled(result: &ResultSpec, condition: &Condition) -> String {
    match condition.is_empty() {
        true => result.title.to_string(),
        false => format!("{}, {}", result.title, condition_words(condition)),
    }
}
