//! Addresses: names of pages and of places in them. Letters, digits and hyphens only, unique where they must be.
use std::collections::BTreeMap;
use trueplate_core::notebook::Condition;

/// Lower-case letters, digits and single hyphens; empty when the text has none.
pub fn slug(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    out.truncate(60);
    out.trim_end_matches('-').to_string()
}

/// The place of a result under a condition on the page of its model.
pub fn result(key: &str, condition: &Condition) -> String {
    condition.iter().fold(format!("r-{}", slug(key)), |mut at, (axis, value)| {
        at.push('-');
        at.push_str(&slug(axis));
        at.push('-');
        at.push_str(&slug(value));
        at
    })
}

/// Gives out names, each once.
#[derive(Default)]
pub struct Names(BTreeMap<String, usize>);

impl Names {
    /// The name itself the first time, then with -2, -3, …; `otherwise` when it is empty.
    pub fn give(&mut self, wanted: String, otherwise: &str) -> String {
        let wanted = if wanted.is_empty() { otherwise.to_string() } else { wanted };
        let mut name = wanted.clone();
        loop {
            let seen = self.0.entry(name.clone()).or_insert(0);
            *seen += 1;
            if *seen == 1 {
                return name;
            }
            // Counted at the wanted name, so that many of one name stay cheap.
            let next = self.0.entry(wanted.clone()).or_insert(1);
            *next = (*next).max(2);
            name = format!("{wanted}-{next}");
            *next += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slugs_are_plain() {
        assert_eq!(slug("Tarnhobble Fell 1010"), "tarnhobble-fell-1010");
        assert_eq!(slug("../<script>"), "script");
        assert_eq!(slug("…"), "");
    }

    #[test]
    fn names_are_given_once() {
        let mut names = Names::default();
        let given: Vec<_> =
            ["a", "a", "a-2", "a", "", ""].iter().map(|n| names.give((*n).into(), "model")).collect();
        let mut once = given.clone();
        once.sort();
        once.dedup();
        assert_eq!(once.len(), given.len(), "{given:?}");
        assert_eq!(given[0], "a");
    }
}
