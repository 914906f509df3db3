//! From what was written to what it means: parsed once, at the door. The entry form and the report use the
//! same function, so what the form accepts the analysis can read.
mod list;

use crate::field::{Choice, FieldSpec, Holds, Shape};
use crate::finding::Finding;
use crate::notebook::{Entry, FileRef, Load, Notebook, Settings, Test};
use crate::number::{self, Marks, Trouble};
use crate::quantity::{Dim, Dimension, Phantom, Unit};
use crate::recording::{Recording, Recordings, Source};
use crate::stamp::{self, Stamp};
use crate::uncertain::{Uncertain, Value};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use std::borrow::Cow;
use std::marker::PhantomData;
use std::sync::Arc;

/// An answer as understood.
#[derive(Clone, Debug)]
pub enum Reading {
    /// A number with its doubts.
    Quantity(Value),
    /// Several.
    List(Vec<Value>),
    /// A moment.
    Stamp(Stamp),
    /// A key of the closed list.
    Choice(&'static str),
    /// An appliance.
    Load(Box<Load>),
    /// A whole number.
    Count(u64),
    /// Words.
    Text(String),
    /// A meter's file, and what was read from it.
    Log(Logged),
    /// An oscilloscope's files, and what was read from each.
    Captures(Captured),
}

/// An instrument's file, and what was read from it.
#[derive(Clone, Debug)]
pub struct FileRead {
    /// The file as it is kept.
    pub file: FileRef,
    /// Which file, read in which way.
    pub source: Source,
    /// What was read from it; `None` where nobody has read it.
    pub recording: Option<Arc<Recording>>,
}

/// Captures attached to a test, in the order they came.
#[derive(Clone, Debug)]
pub struct Captured {
    /// Each file.
    pub files: Vec<FileRead>,
    /// Id of the oscilloscope; empty when none was named.
    pub instrument: String,
}

/// A meter's file attached to a test.
#[derive(Clone, Debug)]
pub struct Logged {
    /// The file as it is kept.
    pub file: FileRef,
    /// What was read from it; `None` where nobody has read it.
    pub recording: Option<Arc<Recording>>,
    /// Id of the meter; empty when none was named.
    pub instrument: String,
}

/// What reading needs to know besides the entry.
pub struct Desk<'a> {
    /// The bench.
    pub notebook: &'a Notebook,
    /// The test the entry belongs to.
    pub test: &'a Test,
    /// The bench's zone.
    pub zone: TimeZone,
    /// Files as read.
    pub recordings: Cow<'a, Recordings>,
}

/// The bench's zone; UTC when its name is not known.
pub fn zone_of(settings: &Settings) -> TimeZone {
    TimeZone::get(&settings.zone).unwrap_or(TimeZone::UTC)
}

/// How a number alone is read on this bench.
pub fn marks_of(settings: &Settings) -> Marks {
    if settings.decimal_comma { Marks::Comma } else { Marks::Point }
}

impl<'a> Desk<'a> {
    /// The desk of one test.
    pub fn new(notebook: &'a Notebook, test: &'a Test) -> Self {
        let recordings = Cow::Owned(Recordings::new());
        Desk { notebook, test, zone: zone_of(&notebook.settings), recordings }
    }
    /// The same with files as read at hand.
    pub fn with(self, recordings: &'a Recordings) -> Self {
        Desk { recordings: Cow::Borrowed(recordings), ..self }
    }
    fn day(&self) -> Option<Date> {
        self.test.day.parse().ok()
    }
}

/// Reads one entry; what cannot be read is the trouble. Doubts that do not stop it go to `findings`.
pub fn read(
    field: &FieldSpec,
    entry: &Entry,
    desk: &Desk,
    findings: &mut Vec<Finding>,
) -> Result<Reading, Trouble> {
    let text = entry.text.trim();
    match field.shape {
        Shape::Quantity(dim, unit) => {
            Ok(Reading::Quantity(quantity(field, text, dim, unit, entry, desk, findings)?))
        }
        Shape::List(dim, unit) => list::list(field, text, dim, unit, entry, desk, findings),
        Shape::Stamp => Ok(Reading::Stamp(stamp::stamp(text, desk.day(), &desk.zone)?)),
        Shape::Choice(choices) => choices
            .iter()
            .find(|c| c.key == text)
            .map(|c| Reading::Choice(c.key))
            .ok_or_else(|| no_such_choice(text, choices)),
        Shape::Load => match desk.notebook.load(text) {
            Some(load) => Ok(Reading::Load(Box::new(load.clone()))),
            None => Err(Trouble {
                code: "no-such-load",
                text: format!("`{text}` is not one of the bench's loads"),
                hint: "choose a load, or add it under Loads".into(),
            }),
        },
        Shape::Count => text.parse::<u64>().map(Reading::Count).map_err(|_| Trouble {
            code: "not-a-count",
            text: format!("`{text}` is not a whole number"),
            hint: "type 0, 1, 2, …".into(),
        }),
        Shape::Text => Ok(Reading::Text(text.into())),
        Shape::Log => logged(entry, desk),
        Shape::Captures(_) => captured(entry, desk),
    }
}

fn no_file(what: &str) -> Trouble {
    Trouble { code: "no-file", text: "no file is attached".into(), hint: format!("attach the {what}") }
}

fn captured(entry: &Entry, desk: &Desk) -> Result<Reading, Trouble> {
    let mains = desk.notebook.model_of(&desk.test.specimen).map_or(0.0, |m| m.mains_v);
    let read = |(file, source): (&FileRef, Source)| FileRead {
        file: file.clone(),
        recording: desk.recordings.get(&source).cloned(),
        source,
    };
    let files: Vec<FileRead> = entry.files.iter().zip(Source::captures(entry, mains)).map(read).collect();
    match files.is_empty() {
        true => Err(no_file("oscilloscope's files")),
        false => Ok(Reading::Captures(Captured { files, instrument: entry.instrument.clone() })),
    }
}

fn logged(entry: &Entry, desk: &Desk) -> Result<Reading, Trouble> {
    let (Some(file), Some(source)) = (entry.files.last().cloned(), Source::of(entry)) else {
        return Err(no_file("meter's file"));
    };
    let recording = desk.recordings.get(&source).cloned();
    Ok(Reading::Log(Logged { file, recording, instrument: entry.instrument.clone() }))
}

fn no_such_choice(text: &str, choices: &[Choice]) -> Trouble {
    let labels: Vec<_> = choices.iter().map(|c| c.label).collect();
    Trouble {
        code: "no-such-choice",
        text: format!("`{text}` is none of the answers"),
        hint: format!("choose one of: {}", labels.join("; ")),
    }
}

fn quantity(
    field: &FieldSpec,
    text: &str,
    dim: Dim,
    unit: &str,
    entry: &Entry,
    desk: &Desk,
    findings: &mut Vec<Finding>,
) -> Result<Value, Trouble> {
    let default = Unit::of(unit, dim).unwrap_or(dim.kept_in());
    let typed = number::quantity(text, dim, default, marks_of(&desk.notebook.settings))?;
    // No bench of this trade reads a billion of anything; such a number is a slip.
    if typed.kept.abs() > 1e9 {
        return Err(Trouble {
            code: "out-of-range",
            text: format!("`{text}` is larger than anything on a bench"),
            hint: "look at the display again".into(),
        });
    }
    if matches!(dim, Dim::Energy | Dim::Time | Dim::Mass | Dim::Count) && typed.kept < 0.0 {
        return Err(Trouble {
            code: "negative",
            text: format!("`{text}` is below zero"),
            hint: "look at the display again; a counter, a time and a mass are never negative".into(),
        });
    }
    if dim == Dim::Ratio && typed.kept > 1.0 {
        return Err(Trouble {
            code: "over-100-percent",
            text: format!("`{text}` is more than 100 %"),
            hint: "look at the display again".into(),
        });
    }
    if entry.instrument.is_empty() {
        return Ok(Value::exact(dim, typed.kept));
    }
    let Some(instrument) = desk.notebook.instrument(&entry.instrument) else {
        findings.push(Finding::gap(
            "no-such-instrument",
            field.key,
            format!("{}: the instrument `{}` is not on the bench", field.label, entry.instrument),
            "choose the instrument it was read on",
        ));
        return Ok(Value::exact(dim, typed.kept));
    };
    if !instrument.measures(dim) {
        findings.push(Finding::doubt(
            "instrument-does-not-measure",
            field.key,
            format!("{}: {} has no accuracy statement for {}", field.label, instrument.name, dim.words()),
            "add it under Instruments, or choose another instrument",
        ));
    }
    if let Some(a) = instrument.accuracy_at(dim, typed.kept)
        && a.floor > 0.0
        && typed.kept.abs() < a.floor
        && typed.kept != 0.0
    {
        findings.push(Finding::doubt(
            "below-floor",
            field.key,
            format!("{}: {text} is below what {} can measure", field.label, instrument.name),
            "use a meter made for small loads",
        ));
    }
    let name = format!("{}/{}", desk.test.id, field.key);
    Ok(instrument.value(dim, typed.kept, typed.last_digit, &name, &desk.test.day))
}

/// What a `Field<T>` hands to the analysis.
pub trait Input: Sized {
    /// Takes it out of a reading; `None` when the reading is of another sort.
    fn from_reading(reading: &Reading) -> Option<Self>;
}

/// One of a closed list, by key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pick(pub &'static str);

/// Several quantities.
pub type Many<D> = Vec<Uncertain<D>>;

impl<D: Dimension> Input for Uncertain<D> {
    fn from_reading(reading: &Reading) -> Option<Self> {
        match reading {
            Reading::Quantity(value) => value.clone().typed(),
            _ => None,
        }
    }
}

impl<D: Dimension> Input for Many<D> {
    fn from_reading(reading: &Reading) -> Option<Self> {
        match reading {
            Reading::List(values) => values.iter().cloned().map(Value::typed).collect(),
            _ => None,
        }
    }
}

macro_rules! inputs { ($($variant:ident => $t:ty: $e:expr;)*) => { $(
    impl Input for $t {
        fn from_reading(reading: &Reading) -> Option<Self> {
            match reading {
                Reading::$variant(x) => Some($e(x)),
                _ => None,
            }
        }
    }
)* } }
inputs! {
    Stamp => Stamp: |x: &Stamp| *x;
    Choice => Pick: |x: &&'static str| Pick(x);
    Load => Load: |x: &Load| x.clone();
    Count => u64: |x: &u64| *x;
    Text => String: |x: &String| x.clone();
    Log => Logged: |x: &Logged| x.clone();
    Captures => Captured: |x: &Captured| x.clone();
}

/// A field with its Rust type: `run.get(&FIELD)` cannot be misread.
pub struct Field<T> {
    /// The question.
    pub spec: FieldSpec,
    t: Phantom<T>,
}

impl<T> Field<T> {
    const fn of(key: &'static str, label: &'static str, shape: Shape) -> Self {
        let spec =
            FieldSpec { key, label, ask: "", hint: "", shape, required: true, at_end: false, spared_by: "" };
        Field { spec, t: PhantomData }
    }
    const fn with(self, spec: FieldSpec) -> Self {
        Field { spec, t: PhantomData }
    }
    /// The result can do without it.
    pub const fn optional(self) -> Self {
        let spec = FieldSpec { required: false, ..self.spec };
        self.with(spec)
    }
    /// Asked when the test ends.
    pub const fn at_end(self) -> Self {
        let spec = FieldSpec { at_end: true, ..self.spec };
        self.with(spec)
    }
    /// Not needed where the field with this key is answered.
    pub const fn spared_by(self, key: &'static str) -> Self {
        let spec = FieldSpec { spared_by: key, ..self.spec };
        self.with(spec)
    }
    /// The question on the phone and what to look at.
    pub const fn ask(self, ask: &'static str, hint: &'static str) -> Self {
        let spec = FieldSpec { ask, hint, ..self.spec };
        self.with(spec)
    }
}

impl<D: Dimension> Field<Uncertain<D>> {
    /// A quantity, in `unit` when none is typed.
    pub const fn quantity(key: &'static str, label: &'static str, unit: &'static str) -> Self {
        Field::of(key, label, Shape::Quantity(D::DIM, unit))
    }
}
impl<D: Dimension> Field<Many<D>> {
    /// Several quantities, in `unit` when none is typed.
    pub const fn list(key: &'static str, label: &'static str, unit: &'static str) -> Self {
        Field::of(key, label, Shape::List(D::DIM, unit))
    }
}
impl Field<Stamp> {
    /// A moment.
    pub const fn stamp(key: &'static str, label: &'static str) -> Self {
        Field::of(key, label, Shape::Stamp)
    }
}
impl Field<Pick> {
    /// One of a closed list.
    pub const fn choice(key: &'static str, label: &'static str, choices: &'static [Choice]) -> Self {
        Field::of(key, label, Shape::Choice(choices))
    }
}
impl Field<Load> {
    /// One of the bench's loads.
    pub const fn load(key: &'static str, label: &'static str) -> Self {
        Field::of(key, label, Shape::Load)
    }
}
impl Field<u64> {
    /// A whole number.
    pub const fn count(key: &'static str, label: &'static str) -> Self {
        Field::of(key, label, Shape::Count)
    }
}
impl Field<String> {
    /// Words.
    pub const fn text(key: &'static str, label: &'static str) -> Self {
        Field::of(key, label, Shape::Text)
    }
}
impl Field<Logged> {
    /// A meter's file.
    pub const fn log(key: &'static str, label: &'static str) -> Self {
        Field::of(key, label, Shape::Log)
    }
}
impl Field<Captured> {
    /// An oscilloscope's files.
    pub const fn captures(key: &'static str, label: &'static str, holds: Holds) -> Self {
        Field::of(key, label, Shape::Captures(holds))
    }
}
