//! What is left of tests made before this bench was kept.
use super::Condition;
use serde::{Deserialize, Serialize};

/// A result found before this bench was kept: a summary without readings. Shown as such; never judged, never ranked.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Earlier {
    /// Which result, e.g. `usable-energy`.
    pub key: String,
    /// Condition it was found under, as far as it was written.
    pub condition: Condition,
    /// The figure with its unit: "871 Wh".
    pub text: String,
    /// Day, ISO 8601; empty when not noted.
    pub on: String,
    /// Where it stood: file and row.
    pub source: String,
}
