//! Everything written down at the bench, and nothing else: ground state. No number in here was computed.
//! Each record is a document with a stable id. Missing fields read as empty, so older benches open; unknown ones are refused.
mod earlier;
mod entry;

pub use crate::file_ref::FileRef;
use crate::instrument::Instrument;
use crate::outgoing::{Letter, ReaderQuestion, Terms, Video};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub use earlier::Earlier;
pub use entry::Entry;

/// A result's condition: axis → value, e.g. `load` → `50 %`.
pub type Condition = BTreeMap<String, String>;

/// The whole bench as it was written down.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Notebook {
    /// Who, where, and the rules set before measuring.
    pub settings: Settings,
    /// Products as sold.
    pub models: Vec<Model>,
    /// Physical samples.
    pub specimens: Vec<Specimen>,
    /// Meters, clocks, scales.
    pub instruments: Vec<Instrument>,
    /// Appliances on the bench.
    pub loads: Vec<Load>,
    /// Tests, in the order they were begun.
    pub tests: Vec<Test>,
    /// Facts sent to makers, and their answers.
    pub letters: Vec<Letter>,
    /// What readers asked or reported.
    pub questions: Vec<ReaderQuestion>,
    /// Videos about the models.
    pub videos: Vec<Video>,
    /// What was changed after it was first written, oldest first.
    pub changes: Vec<Change>,
}

/// Who tests, and the rules that stand before a measurement.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Settings {
    /// Name under which results are published.
    pub tester: String,
    /// Title of the published pages.
    pub site: String,
    /// IANA time zone of the bench.
    pub zone: String,
    /// Currency prices are compared in, ISO 4217.
    pub currency: String,
    /// Numbers are typed and shown with a decimal comma.
    pub decimal_comma: bool,
    /// Date everything that ages is computed for (ISO 8601); empty: today.
    pub as_of: String,
    /// Probability of conformity from which a claim is `met` (and, mirrored, `not met`).
    pub met_from: f64,
    /// Probability of conformity from which a claim is `probably met` (and mirrored).
    pub probably_from: f64,
    /// Relative standard deviation from run to run before the bench has repeats of its own (common practice).
    pub repeatability: f64,
    /// A runtime whose 95 % half-width exceeds this share of it is refused.
    pub refuse_from: f64,
    /// Days after which a price is old.
    pub price_days: u32,
    /// Licence of the published data, an identifier of SPDX such as `CC-BY-4.0`; empty: none is given.
    pub licence: String,
    /// Where the published pages stand, with its closing slash: `https://bench.example/`; empty when not known.
    pub address: String,
    /// The bench is the fictional demonstration.
    pub demo: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            tester: String::new(),
            site: String::new(),
            zone: "UTC".into(),
            currency: "USD".into(),
            decimal_comma: false,
            as_of: String::new(),
            met_from: 0.95,
            probably_from: 0.80,
            repeatability: 0.005,
            refuse_from: 0.20,
            price_days: 30,
            licence: String::new(),
            address: String::new(),
            demo: false,
        }
    }
}

/// A product as sold, its market included.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Model {
    /// Stable id.
    pub id: String,
    /// Maker and name as printed on the box.
    pub name: String,
    /// Cell chemistry as stated.
    pub chemistry: String,
    /// Nominal outlet voltage in V; 0 when not noted.
    pub mains_v: f64,
    /// Nominal frequency in Hz; 0 when not noted.
    pub mains_hz: f64,
    /// What the maker states.
    pub claims: Vec<Claim>,
    /// What it cost, when and where.
    pub prices: Vec<Price>,
    /// How it switches its outlet off by itself, as found or stated.
    pub switch_off: SwitchOff,
    /// Power one outlet or leg gives at most, in W; 0 when the whole power is at one outlet.
    pub per_outlet_w: f64,
    /// Anything else.
    pub note: String,
    /// Results of earlier tests of which only the summary is left.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<Earlier>,
}

/// Low-load switch-off of the AC outlet.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SwitchOff {
    /// Switches off below this power, in W; 0 when it never does.
    pub below_w: f64,
    /// After this time, in h.
    pub after_h: f64,
    /// As delivered it is on.
    pub on_by_default: bool,
    /// The owner can turn it off.
    pub can_be_disabled: bool,
}

/// How a claim binds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bound {
    /// As the figure is read in the trade: a minimum when more is better, a maximum when less is.
    #[default]
    AsUsual,
    /// At least.
    Minimum,
    /// At most.
    Maximum,
    /// It does not say enough to be judged.
    Unclear,
}

/// A maker's figure with its condition, source and date.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Claim {
    /// Stable id within the model.
    pub id: String,
    /// Which result it speaks of, e.g. `usable-energy`.
    pub key: String,
    /// The figure with its unit: "1150 W".
    pub text: String,
    /// How it binds.
    pub bound: Bound,
    /// Condition it holds under.
    pub condition: Condition,
    /// The maker's own words.
    pub words: String,
    /// Where it stands: box, manual page, web page.
    pub source: String,
    /// Day it was seen, ISO 8601.
    pub seen: String,
}

/// An amount asked for a model.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Price {
    /// Amount as a number.
    pub amount: f64,
    /// ISO 4217.
    pub currency: String,
    /// Day it was seen, ISO 8601; empty when not noted: then it is never printed.
    pub on: String,
    /// list, sale, flash sale, used.
    pub kind: String,
    /// Value-added or sales tax is inside.
    pub with_tax: bool,
    /// What came with it.
    pub bundle: String,
    /// Where.
    pub seller: String,
}

/// How a specimen came to the bench.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Came {
    /// Not written down yet; publishing is refused.
    #[default]
    Unknown,
    /// Bought by the tester at an ordinary seller.
    Bought,
    /// Lent by the maker or a dealer.
    Lent,
    /// Given.
    Given,
    /// The tester was paid for it, whoever owns the sample.
    Paid,
}

/// One physical sample.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Specimen {
    /// Stable id.
    pub id: String,
    /// Id of its model.
    pub model: String,
    /// What tells it from another: "sample A". Empty when there is one.
    pub label: String,
    /// Serial number; never published.
    pub serial: String,
    /// How it came.
    pub came: Came,
    /// From whom, when, on which terms: published with the results.
    pub provenance: String,
    /// Who gains by it, as far as written down.
    #[serde(skip_serializing_if = "Terms::unwritten")]
    pub terms: Terms,
    /// Day it went back, ISO 8601; empty while it is here.
    pub returned: String,
    /// Firmware versions it had, oldest first.
    pub firmware: Vec<Firmware>,
    /// Anything else; never published.
    pub note: String,
}

/// A firmware version and the day it was put on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Firmware {
    /// As the station shows it.
    pub version: String,
    /// From this day on, ISO 8601; empty: as received.
    pub from: String,
}

impl Specimen {
    /// The version it carries now; empty when none was noted.
    pub fn firmware_now(&self) -> &str {
        self.firmware.last().map_or("", |f| &f.version)
    }
    /// What it is called: its label, or its id without one.
    pub fn named(&self) -> &str {
        if self.label.is_empty() { &self.id } else { &self.label }
    }
}

/// How a load behaves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LoadSort {
    /// Steady heat without thermostat: heater, halogen lamps.
    #[default]
    Resistive,
    /// Switches itself on and off: fridge, oil heater, blanket.
    Cycling,
    /// Motor.
    Motor,
    /// Electronics.
    Electronic,
}

/// An appliance on the bench.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Load {
    /// Stable id.
    pub id: String,
    /// What the tester calls it.
    pub name: String,
    /// How it behaves.
    pub sort: LoadSort,
    /// Resistance in ohm when warm; 0 when not known.
    pub ohm: f64,
    /// Power while on, in W; 0 when not known.
    pub running_w: f64,
    /// Mean power over a day, in W; 0 when not known.
    pub average_w: f64,
    /// Power at the moment of starting, in W; 0 when not known.
    pub starting_w: f64,
    /// Anything else.
    pub note: String,
}

/// One execution of a kind on a specimen.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Test {
    /// Stable id.
    pub id: String,
    /// Id of the kind.
    pub kind: String,
    /// Id of the specimen.
    pub specimen: String,
    /// Firmware at the time; empty when none.
    pub firmware: String,
    /// Revision of the kind's recipe it was made by; 0 when not noted.
    #[serde(skip_serializing_if = "crate::number::not_noted")]
    pub revision: u32,
    /// Day it began, ISO 8601; times of day without a date belong to it.
    pub day: String,
    /// Answers by field key.
    pub entries: BTreeMap<String, Entry>,
    /// Why it does not count; empty when it counts.
    pub excluded: String,
    /// First cycle out of the box: kept, not counted.
    pub conditioning: bool,
    /// Kept out of the runtime curve as a check of it.
    pub held_out: bool,
    /// A remark.
    pub note: String,
}

/// Something changed after it was first written. Old and new are JSON texts; `null` for nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Change {
    /// Order of writing.
    pub seq: i64,
    /// Changes saved at one stroke share it.
    pub stroke: i64,
    /// When, RFC 3339.
    pub at: String,
    /// Sort of record: `test`.
    pub record: String,
    /// Its id.
    pub id: String,
    /// JSON pointer (RFC 6901) into it; empty for the whole record.
    pub field: String,
    /// Before.
    pub old: String,
    /// After.
    pub new: String,
    /// Reason given.
    pub why: String,
}
