//! What other people's instruments write: bytes in, channels and findings out.
//!
//! In two lines: `logs::load(open, hints, options)` understands a meter's log and sums it up;
//! `logs::json(&log)` is the document a program reads; `waves` does the same for an oscilloscope's file;
//! `sheet::sheet(bytes, part)` reads any table as text. Nothing here knows specimens, claims or storage.
pub mod logs;
mod packed;
mod relay;
pub mod sheet;
pub mod waves;
