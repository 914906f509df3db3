//! A finding: something noticed in the data. It never stops anything; it stands beside a smaller result.
use serde::{Deserialize, Serialize};

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// Worth knowing; the result stands.
    Note,
    /// The result may be wrong; look before publishing.
    Doubt,
    /// Something is missing, so a result is missing or smaller.
    Gap,
}

/// Something noticed: a stable code for programs, the rest for people.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// Stable kebab-case code, e.g. `counter-not-reset`. Tests and other programs rely on it.
    pub code: String,
    /// How much it matters.
    pub weight: Weight,
    /// Where: a field key, a column name, or `line 812`.
    #[serde(rename = "where")]
    pub place: String,
    /// What was seen, with the values. No full stop at the end.
    pub text: String,
    /// What to do about it.
    pub hint: String,
}

impl Finding {
    /// A finding of the given weight.
    pub fn new(
        weight: Weight,
        code: &str,
        place: impl Into<String>,
        text: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Finding { code: code.into(), weight, place: place.into(), text: text.into(), hint: hint.into() }
    }
    /// Something is missing, so a result is missing or smaller.
    pub fn gap(
        code: &str,
        place: impl Into<String>,
        text: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::new(Weight::Gap, code, place, text, hint)
    }
    /// The result may be wrong.
    pub fn doubt(
        code: &str,
        place: impl Into<String>,
        text: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::new(Weight::Doubt, code, place, text, hint)
    }
    /// Worth knowing.
    pub fn note(
        code: &str,
        place: impl Into<String>,
        text: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::new(Weight::Note, code, place, text, hint)
    }
}
