//! What is measured, computed, judged and compared. No files, no clock, no SQL, no HTML.
//!
//! In two lines: `examine::run(kind, test, notebook) -> Outcome`, then `report(notebook, outcomes) -> Report`.
//! Modules stand in reading order: each may use only the ones above it (a test checks it).
pub mod finding;
pub mod stats;
pub mod law;
pub mod quantity;
pub mod number;
pub mod stamp;
pub mod uncertain;
pub mod shown;
pub mod instrument;
pub mod steady;
pub mod notebook;
pub mod record;
pub mod example_bench;
pub mod field;
pub mod measurand;
pub mod reading;
pub mod questions;
pub mod kind;
pub mod pairs;
pub mod discharge;
pub mod examine;
#[cfg(test)]
mod example_check;
pub mod outlet_voltage;
pub mod kinds;
pub mod judge;
pub mod budget;
pub mod repeat;
pub mod drain;
pub mod rank;
pub mod claims;
pub mod across;
pub mod price;
pub mod sun;
pub mod report;
pub mod moved;
pub mod weigh;
pub mod front;
pub mod property;
pub mod filter;
pub mod beside;
pub mod answer;
pub mod plan;
pub mod facts;
pub mod script;
