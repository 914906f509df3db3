//! Drawings: inline SVG whose text does not shrink, each with its numbers as a table below it.
pub mod axis;
pub mod bar;
pub mod capture;
pub mod control;
pub mod labels;
mod marks;
mod rings;
pub mod runtime;
mod told;
pub mod trace;
