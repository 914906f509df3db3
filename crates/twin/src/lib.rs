//! Invented stations, loads and meters, and what a tester would write down about them. Deterministic by seed.
//!
//! Known only to the `demo` command and to tests. Reading order: `truth`, `behaviour`, `station`, `loads`,
//! `discharge`, `charge`, `meter`, `day`, `planted`, `bench_draw`, `bench`.
pub mod truth;
pub mod behaviour;
pub mod station;
pub mod calendar;
pub mod chance;
pub mod loads;
pub mod discharge;
pub mod charge;
pub mod meter;
pub mod day;
pub mod planted;
pub mod bench_draw;
pub mod bench;
#[cfg(test)]
mod station_test;
