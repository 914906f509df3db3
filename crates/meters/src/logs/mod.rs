//! Meter logs: understood by what stands in them, not by who made the meter.
//!
//! [`understand`] looks at the head and tail of a file and says what each column is, how numbers and times are
//! written, and which questions the file cannot answer. A person may confirm or correct the [`Mapping`].
//! [`read`] then streams the rows once, in constant memory, into a [`Log`]. [`load`] does both.
mod alike;
mod batch;
mod choices;
mod columns;
mod counter;
pub(crate) mod cut;
mod cycles;
mod cutoff;
mod digest;
mod distinct;
mod doubts;
mod document;
mod ending;
mod energy;
pub(crate) mod fast;
mod feed;
pub(crate) mod field;
mod form;
mod frozen;
pub(crate) mod grid;
mod guess;
pub(crate) mod header;
mod iso;
pub(crate) mod lines;
mod load;
mod log;
mod mapping;
pub(crate) mod notes;
pub(crate) mod number;
pub(crate) mod numbers;
mod oneway;
mod read;
mod record;
mod rows;
pub(crate) mod shape;
mod source;
mod spacing;
mod spikes;
mod stretch;
pub(crate) mod text;
mod times;
mod trace;
mod volts;
mod when;
pub(crate) mod words;
mod zone;

pub use choices::{Choice, choices, key_of, together};
pub use document::json;
pub use guess::understand;
pub use load::{Loaded, load, load_confirmed};
pub use log::{ColumnSummary, Cutoff, Cycles, Gap, Log, PowerSummary, TracePoint};
pub use mapping::{
    Column, Confirmed, DateOrder, Direction, Form, Hints, Mapping, Options, Question, Role, RowOrder,
    TimeKind, Understanding,
};
pub use read::read;
pub use record::recording;
pub use spacing::IntervalShare;
pub use text::{encoding_name, plain};
pub(crate) use text::{not_text, unpack};
