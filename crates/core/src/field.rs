//! What can be asked on an entry form. Plain data: the form, the reader and the handbook all use it.
use crate::notebook::{Entry, Test};
use crate::quantity::Dim;

/// One of a closed list of answers.
#[derive(Debug, PartialEq, Eq)]
pub struct Choice {
    /// Stored; never changes.
    pub key: &'static str,
    /// Shown.
    pub label: &'static str,
}

/// The sort of answer a field takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A number with a unit of this dimension; the symbol is the unit taken when none is typed.
    Quantity(Dim, &'static str),
    /// Several of them, separated by spaces, semicolons or new lines.
    List(Dim, &'static str),
    /// A moment on the clock.
    Stamp,
    /// One of a closed list.
    Choice(&'static [Choice]),
    /// One of the bench's loads, by id.
    Load,
    /// A whole number.
    Count,
    /// Words.
    Text,
    /// A meter's file.
    Log,
    /// An oscilloscope's files, each of which should hold this.
    Captures(Holds),
}

/// What a capture has to hold to be of use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// The moment at which the voltage goes and comes back.
    Interruption,
    /// A wave that runs on.
    Wave,
}

impl Shape {
    /// Answered by what an instrument wrote, not by typing.
    pub fn takes_files(&self) -> bool {
        matches!(self, Shape::Log | Shape::Captures(_))
    }
}

/// One question of a form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FieldSpec {
    /// Stored; never changes.
    pub key: &'static str,
    /// Name in tables: "counter at the end".
    pub label: &'static str,
    /// The question on the phone; empty: the label serves.
    pub ask: &'static str,
    /// What to look at, or why it is asked.
    pub hint: &'static str,
    /// Sort of answer.
    pub shape: Shape,
    /// Without it there is no result.
    pub required: bool,
    /// The moment is stamped when the answer is kept; the field is asked at the end of the test.
    pub at_end: bool,
    /// Key of the field whose answer makes this one needless; empty when none does.
    pub spared_by: &'static str,
}

impl FieldSpec {
    /// The question as asked on the phone.
    pub fn question(&self) -> &'static str {
        if self.ask.is_empty() { self.label } else { self.ask }
    }
    /// Whether the result still waits for it: needed, not answered, and no other answer spares it.
    pub fn is_missing(&self, test: &Test) -> bool {
        let answered = |key: &str| test.entries.get(key).is_some_and(Entry::is_answer);
        self.required && !answered(self.key) && !answered(self.spared_by)
    }
    /// Dimension and unit symbol of a quantity or a list.
    pub fn measured(&self) -> Option<(Dim, &'static str)> {
        match self.shape {
            Shape::Quantity(dim, unit) | Shape::List(dim, unit) => Some((dim, unit)),
            _ => None,
        }
    }
}
