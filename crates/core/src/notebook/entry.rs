//! One answer of a test, exactly as it was written.
use super::FileRef;
use serde::{Deserialize, Serialize};

/// One answer as it was written.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Entry {
    /// As typed: "0,89 kWh".
    pub text: String,
    /// Id of the instrument it was read on; empty when none.
    pub instrument: String,
    /// When it was kept, RFC 3339.
    pub at: String,
    /// Photos of the display, logs, captures.
    pub files: Vec<FileRef>,
    /// How its file is to be read, as a person confirmed it; empty where nothing had to be said.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub how: String,
    /// A remark.
    pub note: String,
}

impl Entry {
    /// Something was typed or attached.
    pub fn is_answer(&self) -> bool {
        !self.text.trim().is_empty() || !self.files.is_empty()
    }
}
