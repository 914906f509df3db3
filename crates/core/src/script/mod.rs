//! The script check: every number said in a draft script or in subtitles, held against the record.
//!
//! ```text
//! text ─ read ─▶ pieces ─ token ─▶ sentences ─ scene ─▶ amounts, times, names, topics ─ relate, trials, rank ─▶ lines
//!                                                              └─ judge ─ choose ─ assign ─ verdict ─▶ lines
//! ```
//! Numbers that follow from others said beside them are worked out again; the others of a sentence are paired with
//! records all together. English first. The rule for agreeing stands in [`compare`]. What is not a statement about a
//! station of the bench (years, chapters, other people's appliances) gives no line. What is sure to be a slip whatever it
//! speaks of (watts per hour, a wrong time between two clock times, a wrong quotient) is said even where no model is named.
mod alone;
mod amount;
mod apart;
mod aside;
mod assign;
mod bare;
mod book;
mod bound;
mod choose;
mod clock;
pub mod compare;
mod delta;
mod diary;
mod discourse;
mod doubt;
mod foil;
mod frame;
mod hedge;
mod judge;
mod kept;
mod lemma;
mod lexicon;
mod load;
mod meaning;
mod number;
mod order;
mod pair;
mod pairs;
mod place;
mod promised;
mod rank;
mod ranking;
mod rates;
mod read;
mod relate;
mod reply;
mod scene;
mod sequence;
mod side;
mod signs;
mod slips;
mod state;
mod subject;
mod tariff;
mod ties;
mod times;
mod token;
mod told;
mod trials;
mod unit;
mod verdict;
mod versus;
mod vocabulary;
mod who;
mod whose;

pub use read::{Format, said_at};

use crate::finding::Finding;
use crate::report::Report;
use std::collections::BTreeMap;

/// What is said of a line of a script.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Judgement {
    /// As the record has it.
    Agrees,
    /// The record has another value.
    Differs,
    /// Watts for watt-hours, a thousandfold, "watts per hour".
    WrongUnit,
    /// Rounded so far that it says something else.
    OverRounded,
    /// Not the time between the two clock times said.
    WrongElapsed,
    /// The bench knows nothing of it.
    NoRecord,
    /// It was so once.
    Stale,
    /// A superlative or comparison that the ranks do not bear.
    Unsupported,
}

impl Judgement {
    /// Stable word for programs.
    pub fn key(self) -> &'static str {
        match self {
            Judgement::Agrees => "agrees",
            Judgement::Differs => "differs",
            Judgement::WrongUnit => "wrong-unit",
            Judgement::OverRounded => "over-rounded",
            Judgement::WrongElapsed => "wrong-elapsed",
            Judgement::NoRecord => "no-record",
            Judgement::Stale => "stale",
            Judgement::Unsupported => "unsupported",
        }
    }
    /// All of them, in the order they are counted.
    pub const ALL: [Judgement; 8] = [
        Judgement::Agrees,
        Judgement::Differs,
        Judgement::WrongUnit,
        Judgement::OverRounded,
        Judgement::WrongElapsed,
        Judgement::NoRecord,
        Judgement::Stale,
        Judgement::Unsupported,
    ];
}

/// One statement of a script.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Line in the file, 1 is first.
    pub line: usize,
    /// What it says: "just under 90 percent".
    pub says: String,
    /// Id of the fact it was held against.
    pub fact: Option<String>,
    /// What the bench says: "911 ± 13 Wh".
    pub record: Option<String>,
    /// What is said of it.
    pub judgement: Judgement,
    /// Why, and what to say instead; where it agrees empty, or what to say with it (the date of a price).
    pub hint: String,
}

/// A checked script.
#[derive(Clone, Debug, Default)]
pub struct Checked {
    /// Statements in the order they are said.
    pub lines: Vec<Line>,
    /// How many of each judgement, by its key; all eight are there.
    pub counts: BTreeMap<&'static str, usize>,
    /// What was noticed of the script as a whole.
    pub findings: Vec<Finding>,
}

/// What a text speaks of, as far as its words tell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Topics {
    /// Models named, as indices into the report's models, each once.
    pub models: Vec<usize>,
    /// Keys of results, those spoken of most firmly first.
    pub keys: Vec<&'static str>,
    /// The first power named, in W.
    pub watts: Option<f64>,
}

/// So many mentions back a description may reach.
const RECENT: usize = 4;

/// Reads what a text speaks of, without judging anything.
pub fn topics(report: &Report, text: &str) -> Topics {
    let pieces = read::pieces(text, Format::Text, &mut Vec::new());
    let (names, lexicon) = (who::Names::of(report), lexicon::Lexicon::new());
    let mut out = Topics::default();
    let mut weak = Vec::new();
    for sentence in token::sentences(&pieces) {
        let scene = scene::Scene::of(sentence, &lexicon, &names, None, &[]);
        for model in scene.mentions.iter().flat_map(|m| m.models.iter().copied()) {
            if !out.models.contains(&model) {
                out.models.push(model);
            }
        }
        for cue in &scene.cues {
            let lexicon::Sense::Topic(keys, firm) = cue.sense else { continue };
            let list = if firm == lexicon::Firm::Strong { &mut out.keys } else { &mut weak };
            list.extend(keys.iter().filter(|k| !list.contains(k)).copied().collect::<Vec<_>>());
        }
        let watts = scene.amounts.iter().find_map(amount::Amount::watts);
        out.watts = out.watts.or(watts);
    }
    out.keys.extend(weak.into_iter().filter(|k| !out.keys.contains(k)).collect::<Vec<_>>());
    out
}

/// Adds the models of a sentence to those spoken of. What something was held against is spoken of less than what it was
/// said of.
fn spoken_of(scene: &scene::Scene, recent: &mut Vec<usize>) {
    let topic = recent.last().copied();
    let of = |foil: bool| scene.mentions.iter().filter(move |m| !m.maker && m.foil == foil);
    let foils: Vec<usize> = of(true).flat_map(|m| m.models.iter().copied()).collect();
    let topics: Vec<usize> = of(false).flat_map(|m| m.models.iter().copied()).collect();
    let again = topic.filter(|_| topics.is_empty() && !foils.is_empty());
    recent.extend(foils.into_iter().chain(again).chain(topics));
}

/// Checks a script against a report. `model` (an id or a part of a name) is meant wherever the script names none.
pub fn check(report: &Report, text: &str, format: Format, model: Option<&str>) -> Checked {
    let mut findings = Vec::new();
    let asked = model.and_then(|m| match who::find(report, m) {
        Ok(i) => Some(i),
        Err(fits) => {
            let text = match fits.is_empty() {
                true => format!("no model of the bench is called `{m}`"),
                false => format!("`{m}` fits {}", fits.join(", ")),
            };
            findings.push(Finding::gap(
                "which-model",
                "model",
                text,
                "name one model by its id or a part of its name",
            ));
            None
        }
    });
    if report.models.is_empty() {
        let hint = "write down a model and its tests first";
        findings.push(Finding::gap(
            "empty-bench",
            "bench",
            "there is nothing to check a script against",
            hint,
        ));
    }
    let pieces = read::pieces(text, format, &mut findings);
    let names = who::Names::of(report);
    let lexicon = lexicon::Lexicon::new();
    let mut scenes: Vec<scene::Scene> = Vec::new();
    let mut recent: Vec<usize> = Vec::new();
    for sentence in token::sentences(&pieces) {
        let heard = scenes.last().map(|s| &s.units);
        let scene = scene::Scene::of(sentence, &lexicon, &names, heard, &recent);
        spoken_of(&scene, &mut recent);
        recent.drain(..recent.len().saturating_sub(RECENT));
        scenes.push(scene);
    }
    let only = (report.models.len() == 1).then_some(0);
    // How often each model is named: the one a script is about is named more often than any other.
    let mut times = vec![0usize; report.models.len()];
    scenes.iter().flat_map(|s| &s.mentions).flat_map(|m| &m.models).for_each(|m| times[*m] += 1);
    let most = times.iter().copied().max().unwrap_or(0);
    let mut mains = (0..times.len()).filter(|m| most > 0 && times[*m] == most);
    let about = 2 * most >= times.iter().sum();
    let lone = mains.next().filter(|_| mains.next().is_none() && about);
    if asked.is_none() && most == 0 && report.models.len() > 1 && scenes.iter().any(|s| !s.amounts.is_empty())
    {
        findings.push(Finding::doubt(
            "no-model-named",
            "script",
            "the script names no model of the bench",
            "name it in the script, or say which one is meant",
        ));
    }
    let book = book::Book::of(report);
    let mut desk = judge::Desk::new(&book, asked.or(only).or(lone));
    for (i, scene) in scenes.iter().enumerate() {
        desk.read(scene, scenes.get(i + 1));
    }
    let mut counts: BTreeMap<&'static str, usize> = Judgement::ALL.iter().map(|j| (j.key(), 0)).collect();
    desk.lines.iter().for_each(|l| *counts.entry(l.judgement.key()).or_default() += 1);
    Checked { lines: desk.lines, counts, findings }
}
