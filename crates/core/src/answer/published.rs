//! What a published page carries to answer by itself: the grounds, and the devices known by name.
use super::typed::Misread;
use super::{Device, Grounds, Sheet, Typed, ask_on, known};
use crate::number::Marks;
use crate::report::Report;
use serde::{Deserialize, Serialize};

/// Everything a page needs; as data it names no test and no reading.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Published {
    /// What answers rest on.
    pub grounds: Grounds,
    /// Devices known by name: the bench's own loads first.
    pub devices: Vec<Device>,
}

/// What a page is told.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reply {
    /// No device is typed yet.
    Nothing,
    /// Something typed is not understood.
    Misread(Vec<Misread>),
    /// The answers.
    Answers(Box<Sheet>),
}

impl Published {
    /// Of those models of a report that may be shown.
    pub fn of(report: &Report, shown: impl Fn(&str) -> bool) -> Published {
        Published { grounds: Grounds::of(report).only(shown), devices: known(&report.notebook) }
    }
    /// How a number alone is read.
    pub fn marks(&self) -> Marks {
        if self.grounds.decimal_comma { Marks::Comma } else { Marks::Point }
    }
    /// Answers what is typed. Total.
    pub fn ask(&self, typed: &Typed) -> Reply {
        let (question, misread) = typed.read(&self.devices, self.marks());
        if !misread.is_empty() {
            return Reply::Misread(misread);
        }
        if question.devices.is_empty() {
            return Reply::Nothing;
        }
        Reply::Answers(Box::new(Sheet::of(&ask_on(&self.grounds, &question), &self.grounds)))
    }
}
