//! A file kept in the bench, by its hash.
use serde::{Deserialize, Serialize};

/// A file kept in the bench: photo, log, capture, script.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct FileRef {
    /// SHA-256 of its bytes, lower-case hexadecimal.
    pub sha256: String,
    /// Name it came with.
    pub name: String,
    /// Media type.
    pub media: String,
}
