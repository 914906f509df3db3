//! What a kind of bench test is. One `Spec` drives the plan, the entry form, the cautions, the analysis, the
//! verdicts, the comparison columns, the published page and the handbook.
use crate::field::FieldSpec;
use crate::finding::Finding;
use crate::measurand::{Measurand, ResultSpec};
use crate::notebook::{Condition, Entry, Model, Notebook, Specimen, Test};
use crate::number;
use crate::quantity::{Dim, Dimension, Energy, Time};
use crate::reading::{self, Desk, Field, Input, Logged, Reading};
use crate::recording::{Recording, Recordings};
use crate::uncertain::{Uncertain, Value};
use crate::wave::batch::Batch;
use std::collections::BTreeMap;
use std::sync::Arc;

/// One kind of bench test.
pub trait Kind: Sync {
    /// Everything that can be said before a test is made.
    fn spec(&self) -> &'static Spec;
    /// Takes what it needs from `run`, puts what it found in `out`. Returning early with `?` when an input is
    /// missing is fine: the missing field has been reported already.
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()>;
    /// A complete test on an example bench: documentation, form preview and self-test in one.
    fn example(&self) -> Example;
}

/// An axis on which only like is compared with like.
#[derive(Debug, PartialEq, Eq)]
pub struct Axis {
    /// Stored; never changes.
    pub key: &'static str,
    /// Shown.
    pub label: &'static str,
    /// The values that make a comparison column, in order.
    pub values: &'static [&'static str],
}

/// What a kind says of itself.
pub struct Spec {
    /// Stored and in addresses; never changes.
    pub id: &'static str,
    /// Raised when the same notebook would give other numbers than before.
    pub revision: u32,
    /// "Usable energy".
    pub title: &'static str,
    /// The buyer's question it answers.
    pub question: &'static str,
    /// How it is done, a step a line: the handbook.
    pub method: &'static [&'static str],
    /// Where the interval comes from, in a sentence.
    pub uncertainty: &'static str,
    /// What must not be read out of it.
    pub does_not_tell: &'static str,
    /// Shown and ticked before the start; empty when it is harmless.
    pub cautions: &'static [&'static str],
    /// Somebody stays with it.
    pub attended: bool,
    /// Usual time it takes, in minutes.
    pub minutes: u32,
    /// Questions in the order they are asked.
    pub fields: &'static [&'static FieldSpec],
    /// Axes of its results.
    pub axes: &'static [&'static Axis],
    /// What it can find out.
    pub results: &'static [&'static ResultSpec],
}

/// Result × condition: one column of the comparison, known before any test is made.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// What.
    pub result: &'static ResultSpec,
    /// Under which condition.
    pub condition: Condition,
}

impl Column {
    /// Stable name for programs and addresses: "usable-energy load=50 %".
    pub fn name(&self) -> String {
        let axes = self.condition.iter().map(|(axis, value)| format!(" {axis}={value}"));
        axes.fold(self.result.key.to_string(), |name, axis| name + &axis)
    }
}

impl Spec {
    /// Every result under every combination of axis values.
    pub fn columns(&self) -> Vec<Column> {
        let mut conditions = vec![Condition::new()];
        for axis in self.axes {
            conditions = conditions
                .into_iter()
                .flat_map(|c| {
                    axis.values.iter().map(move |v| {
                        let mut c = c.clone();
                        c.insert(axis.key.into(), (*v).into());
                        c
                    })
                })
                .collect();
        }
        self.results
            .iter()
            .flat_map(|r| conditions.iter().map(move |c| Column { result: r, condition: c.clone() }))
            .collect()
    }
    /// The field with this key.
    pub fn field(&self, key: &str) -> Option<&'static FieldSpec> {
        self.fields.iter().copied().find(|f| f.key == key)
    }
}

/// One test with every entry read.
pub struct Run<'a> {
    /// Its kind.
    pub spec: &'static Spec,
    /// Answers by field key.
    pub readings: BTreeMap<&'static str, Reading>,
    /// What the readings mean besides: bench, test, zone.
    pub desk: Desk<'a>,
}

impl Run<'_> {
    /// The answer to a field of this kind's spec.
    pub fn get<T: Input>(&self, field: &Field<T>) -> Option<T> {
        let declared = self.spec.fields.iter().any(|f| f.key == field.spec.key);
        assert!(declared, "{}: field {} is not in its spec", self.spec.id, field.spec.key);
        T::from_reading(self.readings.get(field.spec.key)?)
    }
    /// The answer to a question that this kind may not ask, for checks that several kinds share.
    pub fn if_asked<T: Input>(&self, field: &Field<T>) -> Option<T> {
        T::from_reading(self.readings.get(field.spec.key)?)
    }
    /// The log in a field, as read; `None` without one.
    pub fn log(&self, field: &Field<Logged>) -> Option<Arc<Recording>> {
        self.if_asked(field)?.recording
    }
    /// The answer as it was written.
    pub fn entry<T>(&self, field: &Field<T>) -> Option<&Entry> {
        self.desk.test.entries.get(field.spec.key)
    }
    /// The specimen under test.
    pub fn specimen(&self) -> Option<&Specimen> {
        self.desk.notebook.specimen(&self.desk.test.specimen)
    }
    /// Its model.
    pub fn model(&self) -> Option<&Model> {
        self.desk.notebook.model_of(&self.desk.test.specimen)
    }
    /// Claimed continuous power in W, the base of "half load".
    pub fn rated_w(&self) -> Option<f64> {
        claimed(self.desk.notebook, self.model()?, "sustained-output", Dim::Power)
    }
    /// Id of the test.
    pub fn id(&self) -> &str {
        &self.desk.test.id
    }
}

/// A model's claimed figure for a result, in the unit its dimension is kept in.
pub fn claimed(notebook: &Notebook, model: &Model, key: &str, dim: Dim) -> Option<f64> {
    let claim = model.claims.iter().find(|c| c.key == key)?;
    let marks = reading::marks_of(&notebook.settings);
    number::quantity(&claim.text, dim, dim.kept_in(), marks).ok().map(|t| t.kept)
}

/// One row of the drain law, from one test.
#[derive(Clone, Debug)]
pub struct DrainRow {
    /// Hours with the outlet on.
    pub hours: Uncertain<Time>,
    /// Energy delivered, the meter's own draw included.
    pub energy: Uncertain<Energy>,
    /// ∫P² dt in W²·h.
    pub w2h: f64,
    /// Ended by low-battery cut-off from a full start; otherwise only a bound.
    pub complete: bool,
    /// Mean power while a load was on, in W.
    pub mean_w: f64,
}

/// Trials of something that must hold every time.
#[derive(Clone, Debug)]
pub struct Trials {
    /// What was tried.
    pub result: &'static ResultSpec,
    /// Under which condition.
    pub condition: Condition,
    /// Each measured trial; empty when only survival was seen.
    pub values: Vec<Value>,
    /// Trials without a measurement: how many, and how many failed.
    pub seen: Option<(u64, u64)>,
}

/// One line of the trail: a symbol of the formula with its value.
#[derive(Clone, Debug)]
pub struct Step {
    /// As in the formula.
    pub symbol: &'static str,
    /// What it is.
    pub words: String,
    /// Its value.
    pub value: Value,
    /// Symbol of the unit it is shown in.
    pub unit: &'static str,
    /// Key of the entry it was read from; empty when computed.
    pub field: &'static str,
}

/// A result of one test.
#[derive(Clone, Debug)]
pub struct Found {
    /// What.
    pub result: &'static ResultSpec,
    /// Under which condition.
    pub condition: Condition,
    /// How much.
    pub value: Value,
}

/// Something the station does, in words: "switches its outlet off below 15 W after 60 min".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Behaviour {
    /// Stable kebab-case key, e.g. `switch-off`.
    pub key: &'static str,
    /// What it is about: "low-load switch-off".
    pub label: &'static str,
    /// What was seen.
    pub text: String,
    /// The same as data, for those who reckon with it: (`delivered`, `on`).
    pub as_data: Vec<(&'static str, &'static str)>,
}

impl Behaviour {
    /// One of its data.
    pub fn datum(&self, key: &str) -> Option<&'static str> {
        self.as_data.iter().find(|(k, _)| *k == key).map(|(_, v)| *v)
    }
}

/// Everything one test yields.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// Condition that holds for all its results.
    pub condition: Condition,
    /// Results.
    pub results: Vec<Found>,
    /// What was tried and not held, with how it ended.
    pub failed: Vec<(Found, String)>,
    /// Trials to be counted.
    pub trials: Vec<Trials>,
    /// What was seen that is no number.
    pub behaviours: Vec<Behaviour>,
    /// Its row of the drain law.
    pub row: Option<DrainRow>,
    /// The formula's symbols with their values.
    pub steps: Vec<Step>,
    /// What was noticed.
    pub findings: Vec<Finding>,
    /// Times of all trials, held against what equipment is said to bear and against the claim.
    pub batch: Option<Batch>,
    /// Files as read that it rests on.
    pub recordings: Recordings,
}

impl Outcome {
    /// A result under the outcome's condition so far.
    pub fn put<D: Dimension>(&mut self, what: &'static Measurand<D>, x: Uncertain<D>) {
        self.results.push(Found { result: &what.spec, condition: self.condition.clone(), value: x.value() });
    }
    /// A value that was tried and not held, with how it ended ("it tripped after 17 min").
    pub fn fail<D: Dimension>(&mut self, what: &'static Measurand<D>, x: Uncertain<D>, how: String) {
        let condition = self.condition.clone();
        self.failed.push((Found { result: &what.spec, condition, value: x.value() }, how));
    }
    /// Sets an axis for all results that follow.
    pub fn on(&mut self, axis: &'static Axis, value: impl Into<String>) {
        self.condition.insert(axis.key.into(), value.into());
    }
    /// Something seen that is no number.
    pub fn say(&mut self, key: &'static str, label: &'static str, text: impl Into<String>) {
        self.say_with(key, label, text, Vec::new());
    }
    /// Something seen that is no number, with what others reckon with.
    pub fn say_with(
        &mut self,
        key: &'static str,
        label: &'static str,
        text: impl Into<String>,
        as_data: Vec<(&'static str, &'static str)>,
    ) {
        self.behaviours.push(Behaviour { key, label, text: text.into(), as_data });
    }
    /// A line of the trail, read from `field`.
    pub fn read<D: Dimension>(&mut self, symbol: &'static str, field: &FieldSpec, x: &Uncertain<D>) {
        let unit = field.measured().map_or("", |(_, u)| u);
        let (words, value) = (field.label.to_string(), x.clone().value());
        self.steps.push(Step { symbol, words, value, unit, field: field.key });
    }
    /// A line of the trail, computed.
    pub fn step<D: Dimension>(
        &mut self,
        symbol: &'static str,
        words: &str,
        unit: &'static str,
        x: &Uncertain<D>,
    ) {
        self.steps.push(Step { symbol, words: words.into(), value: x.clone().value(), unit, field: "" });
    }
}

/// A test on a bench of its own, built in a few lines.
#[derive(Clone, Debug)]
pub struct Example {
    /// A bench with a model of 1000 W, a specimen, an instrument `meter`, a scale `scale` and a heater.
    pub notebook: Notebook,
    /// The test.
    pub test: Test,
}

impl Example {
    /// An empty test of a kind.
    pub fn of(spec: &Spec) -> Example {
        let test = Test {
            id: "example".into(),
            kind: spec.id.into(),
            specimen: "s1".into(),
            day: "2026-05-03".into(),
            ..Test::default()
        };
        Example { notebook: crate::example_bench::notebook(), test }
    }
    /// An answer without an instrument.
    pub fn says(self, field: &FieldSpec, text: &str) -> Example {
        self.reads(field, text, "")
    }
    /// An answer read on an instrument.
    pub fn reads(mut self, field: &FieldSpec, text: &str, instrument: &str) -> Example {
        let entry = Entry { text: text.into(), instrument: instrument.into(), ..Entry::default() };
        self.test.entries.insert(field.key.into(), entry);
        self
    }
}
