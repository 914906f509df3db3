//! What is measured, computed, judged and compared. No files, no clock, no SQL, no HTML.
//!
//! In two lines: `kind::run(test, …) -> Outcome`, then `report(notebook, outcomes) -> Report`.
//! Modules stand in reading order: each may use only the ones above it (a test checks it).
pub mod finding;
pub mod stats;
pub mod law;
