//! What the pages of a model were made from, as one sum. Equal sums give equal pages, which then need not be made again.
//!
//! Whatever a page of a model reads goes in: what is written down of it, what is common to all, and those few things that
//! come from other stations (its places where they are named, what corrections did to them, answers to readers). A sum
//! holds for one build of the program.
use super::context::{Context, Shown};
use super::pieces::Pieces;
use super::results::NAMED;
use super::run::KeptRun;
use super::said::Lines;
use crate::json::Stretch;
use crate::package::At;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use trueplate_core::abreast;
use trueplate_core::finding::Finding;
use trueplate_core::instrument::Instrument;
use trueplate_core::kind::Column;
use trueplate_core::letter;
use trueplate_core::notebook::{Condition, Load, Model, Settings, Specimen, Test};
use trueplate_core::outgoing::{Letter, ReaderQuestion};

/// The pages of a model as they were made.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Made {
    /// Sum of all they were made from.
    pub from: String,
    /// Paths of their files.
    pub files: Vec<String>,
    /// Its lines in the file of facts.
    pub facts: Option<Lines>,
    /// What else stands in files.
    pub stands: Option<Stands>,
}

/// What was worked out of a model and stands in files of all: its lines in the tables, its runtimes.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stands {
    /// Sums of what it was made from.
    pub(super) from: From,
    /// Where its lines stand.
    pub(super) lines: Vec<At>,
    /// Its runtimes, and where stands what they rest on.
    pub(super) runs: (Vec<KeptRun>, Stretch),
}

/// Sums of what the lines and runtimes of a model were made from: all but its places, and those.
pub type From = (String, String);

/// What was made before, and is at hand.
#[derive(Clone, Default)]
pub struct Before {
    /// What the pages of models were made from.
    pub made: Known,
    /// The file of facts, where it is at hand; its lines are taken from it.
    pub facts: String,
    /// Files of all ([`super::of_all`]), where they are at hand; what stands in them is taken from them.
    pub files: BTreeMap<String, Vec<u8>>,
    /// What was worked out of each model, when that is remembered.
    pub pieces: Pieces,
    /// Files at hand that are as this build of the program made them then, when that is remembered.
    pub stand: BTreeSet<String>,
}

/// By the id of the model.
pub type Known = BTreeMap<String, Made>;

/// What is common to all stations.
#[derive(Serialize)]
struct Common<'a> {
    settings: &'a Settings,
    instruments: &'a [Instrument],
    loads: &'a [Load],
    as_of: &'a str,
    basis: (&'a str, &'a str, bool),
    scatter: [u64; 3],
    columns: Vec<(&'a str, &'a Condition)>,
    main: Vec<(&'a str, &'a Condition)>,
    style: (char, char),
    base: &'a str,
}

/// A place as a page says it: best, worst, of how many, the others by name.
type Said<'a> = (usize, usize, usize, Vec<&'a str>);

/// A number of a letter that is another today: of what, then, now.
type Since = (String, String, String);

/// What is written down of one of them.
#[derive(Serialize)]
struct Written<'a> {
    model: Option<&'a Model>,
    specimens: &'a [&'a Specimen],
    tests: &'a [&'a Test],
    /// Their order among those of all samples, where there are several.
    order: Vec<&'a str>,
    findings: &'a [(String, Finding)],
    /// Files that could be read, of each test.
    recordings: Vec<Vec<(&'a str, &'a str)>>,
}

/// What belongs to one of them.
#[derive(Serialize)]
struct Own<'a> {
    common: &'a str,
    slug: &'a str,
    /// Sum of what is written down of it.
    alone: &'a str,
    /// By index of the column; those that its pages say.
    places: Vec<(usize, Option<Said<'a>>)>,
    /// Files its entries lead to: SHA-256 and path.
    originals: Vec<(&'a str, &'a str)>,
    letters: Vec<(&'a Letter, Vec<Since>)>,
    questions: Vec<(&'a ReaderQuestion, String)>,
    corrections: Vec<String>,
    card: Option<(&'a str, String)>,
}

/// Nothing for what cannot be written down: it then equals nothing.
pub(super) fn sum<T: Serialize>(what: &T) -> Option<String> {
    let text = serde_json::to_vec(what).ok()?;
    let digit = |n: u8| char::from(b"0123456789abcdef"[usize::from(n)]);
    Some(Sha256::digest(text).iter().flat_map(|b| [digit(b >> 4), digit(b & 15)]).collect())
}

/// The sum of what is written down of a model.
pub fn alone(context: &Context, shown: &Shown) -> Option<String> {
    let report = shown.report;
    let read = |test: &&Test| {
        let files = context.report.outcomes.get(&test.id).into_iter().flat_map(|o| o.recordings.keys());
        files.map(|source| (source.sha256.as_str(), source.how.as_str())).collect()
    };
    sum(&Written {
        model: context.notebook.model(&report.id),
        specimens: &shown.specimens,
        tests: &shown.tests,
        order: match shown.specimens.len() {
            0 | 1 => Vec::new(),
            _ => context.tests_in_order(shown).into_iter().map(|t| t.id.as_str()).collect(),
        },
        findings: &report.findings,
        recordings: shown.tests.iter().map(read).collect(),
    })
}

/// The sum of what is common to all.
pub fn of_all(context: &Context) -> Option<String> {
    sum(&common(context))
}

/// The sum of each model shown, in their order, from those of what is written down of them.
pub fn sums(context: &Context, alone: &[Option<String>]) -> Vec<Option<String>> {
    let Some(common) = of_all(context) else { return vec![None; context.models.len()] };
    let all: Vec<(&Shown, &Option<String>)> = context.models.iter().zip(alone).collect();
    abreast::each(&all, |(shown, alone)| sum(&own(context, shown, &common, alone.as_ref()?)))
}

fn named(column: &Column) -> (&str, &Condition) {
    (column.result.key, &column.condition)
}

fn common<'a>(context: &'a Context<'a>) -> Common<'a> {
    let report = context.report;
    let basis = &report.basis;
    Common {
        settings: &context.notebook.settings,
        instruments: &context.notebook.instruments,
        loads: &context.notebook.loads,
        as_of: &report.as_of,
        basis: (&basis.currency, &basis.kind, basis.with_tax),
        scatter: [report.scatter.s, report.scatter.dof, report.scatter.own_dof].map(f64::to_bits),
        columns: report.columns.iter().map(named).collect(),
        main: context.main.iter().map(named).collect(),
        style: (context.style.decimal, context.style.group),
        base: &context.options.base,
    }
}

fn own<'a>(context: &'a Context<'a>, shown: &'a Shown<'a>, common: &'a str, alone: &'a str) -> Own<'a> {
    let report = shown.report;
    let files = shown.tests.iter().flat_map(|t| t.entries.values()).flat_map(|e| &e.files);
    let original = |sha: &str| context.originals.iter().find(|o| o.sha256 == sha);
    let letters = context.notebook.letters.iter().filter(|l| l.model == report.id);
    let questions = context.questions.iter().filter(|(q, _)| q.model == report.id);
    Own {
        common,
        slug: &shown.slug,
        alone,
        places: places(context, shown),
        originals: files
            .filter_map(|f| original(&f.sha256))
            .map(|o| (o.sha256.as_str(), o.path.as_str()))
            .collect(),
        letters: letters.map(|l| (l, letter::changed_since(context.report, l))).collect(),
        questions: questions.map(|(q, standing)| (*q, format!("{standing:?}"))).collect(),
        corrections: shown
            .corrections
            .iter()
            .map(|c| format!("{:?} {:?} {:?}", c.correction, c.effect, c.lines))
            .collect(),
        card: shown.card.as_ref().map(|(path, card)| (path.as_str(), card.says())),
    }
}

/// Its places, as far as its pages say them.
fn places<'a>(context: &'a Context<'a>, shown: &'a Shown<'a>) -> Vec<(usize, Option<Said<'a>>)> {
    let said = |place: &'a trueplate_core::report::Place| {
        let others = || context.report.tied(place).map(|m| m.name.as_str()).collect();
        (place.of <= NAMED).then(|| (place.low, place.high, place.of, others()))
    };
    shown.report.ranks.iter().map(|(column, place)| (*column, said(place))).collect()
}
