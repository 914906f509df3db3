//! Captures of an oscilloscope: text with or without a header block, understood by what stands in it.
//!
//! [`load`] looks at the head of a file, streams the rows once in constant memory through one analyser per channel
//! (`trueplate_core::wave`), and says what the channels come to; [`json`] is the document a program reads.
mod alike;
mod clock;
mod decimal;
mod document;
mod feed;
mod keys;
mod layout;
mod load;
mod record;
mod row;
mod rows;
mod table;
mod trace;

pub use document::{batch_json, json};
pub use load::{Capture, Follows, Options, load, one_channel, read};
pub use record::{options, recording};
pub use trace::{Point, trace};
