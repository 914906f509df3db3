//! What goes out and what comes back, as written down: the letter to a maker and its answer, readers' questions,
//! videos with their chapters and scripts, and who gains by a sample.
use crate::file_ref::FileRef;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Who gains by a sample. What is `None` was not written down, and no text asserts it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Terms {
    /// Who lent, gave or paid, as published: "its maker".
    pub by: String,
    /// A lent sample goes back on this day, ISO 8601; empty when none is agreed.
    pub return_by: String,
    /// Money, travel, discounts or other things received besides the sample; empty when none is written down.
    pub received: String,
    /// Links on the pages or under the video bring money.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub paid_links: Option<bool>,
    /// The maker may see, or saw, pictures, words or verdicts before they were published.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub previewed: Option<bool>,
}

impl Terms {
    /// Nothing is written down.
    pub fn unwritten(&self) -> bool {
        *self == Terms::default()
    }
}

/// A fact as it was carried out of the bench: in a letter, a figure, a text.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Carried {
    /// Id of the fact.
    pub fact: String,
    /// Its version then.
    pub version: String,
    /// As it was printed then.
    pub rounded: String,
}

/// What a maker's answer came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reply {
    /// Not said yet, or no answer.
    #[default]
    Open,
    /// The maker has no objection to the figures.
    Accepted,
    /// The maker objects; nothing was tested again yet.
    Disputed,
    /// The maker objected; tested again, the figures stand.
    Stands,
    /// The maker objected, and something here was corrected.
    Corrected,
}

/// Facts sent to a maker before or after publishing, and what came back.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Letter {
    /// Stable id.
    pub id: String,
    /// Id of the model.
    pub model: String,
    /// Whom it is written to: "the maker's press office". Published.
    pub to: String,
    /// Day it was sent, ISO 8601; empty while it is a draft.
    pub sent: String,
    /// Day by which an answer is asked for, ISO 8601.
    pub answer_by: String,
    /// The letter as it was sent, whole; empty while it is a draft.
    pub text: String,
    /// The facts in it, as they stood.
    pub facts: Vec<Carried>,
    /// Day the answer came, ISO 8601; empty while there is none.
    pub answered: String,
    /// The answer in the maker's words. Published.
    pub answer: String,
    /// What it came to.
    pub reply: Reply,
    /// Anything else; never published.
    pub note: String,
}

/// What a reader wants.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Wants {
    /// To know something.
    #[default]
    Answer,
    /// To tell what happened to a station of the same model.
    Report,
}

/// A question or a report of a reader. Readers are not named.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ReaderQuestion {
    /// Stable id.
    pub id: String,
    /// In the reader's words.
    pub text: String,
    /// Where it was asked: "under the video", "by mail". Published.
    pub place: String,
    /// Day it was asked, ISO 8601.
    pub on: String,
    /// How many asked the same, the first included; 0 reads as 1.
    pub times: u32,
    /// Question or report.
    pub wants: Wants,
    /// Id of the model it speaks of; empty for none or all.
    pub model: String,
    /// Key of the result that answers it, `runtime` for hours at a load, `devices` for the devices below,
    /// `nothing` when no test here tells of it; empty while it is not sorted.
    pub about: String,
    /// Condition of that result; empty for the usual one.
    pub condition: BTreeMap<String, String>,
    /// Load for a runtime, in W; 0 for on with nothing plugged in.
    pub watts: f64,
    /// Devices, one a line, as "fridge, 85 W, start 900 W, avg 38 W".
    pub devices: String,
    /// The tester's own answer; empty: the one computed.
    pub answer: String,
    /// A report that was looked into and asks for nothing more.
    pub settled: bool,
    /// Kept out of the published pages.
    pub private: bool,
}

/// Where a part of a video begins.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Chapter {
    /// As typed: "4:12".
    pub at: String,
    /// Title.
    pub title: String,
}

/// A video about a model.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Video {
    /// Stable id.
    pub id: String,
    /// Id of the model.
    pub model: String,
    /// Title.
    pub title: String,
    /// Day it came out, ISO 8601; empty while it is not out.
    pub on: String,
    /// How long it is, as typed: "12:40"; empty when not noted.
    pub length: String,
    /// Chapters, in order.
    pub chapters: Vec<Chapter>,
    /// The script or the subtitles, kept in the bench; without a hash when there is none.
    pub script: FileRef,
    /// Loads and other things used, for the description.
    pub used: String,
    /// Anything else; never published.
    pub note: String,
}
