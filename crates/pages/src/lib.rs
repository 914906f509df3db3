//! A report in; pages, pictures and data out. Pure: no file is read or written here.
pub mod assets;
pub mod chart;
pub mod figure;
pub mod json;
pub mod package;
pub mod piece;
pub mod site;
