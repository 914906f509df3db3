//! The bench at a glance: what runs, what looks wrong, what is missing, what came out last.
use super::at;
use super::page::{Answer, Ask, Top, html};
use super::stage::{Stage, since, stage};
use super::words;
use askama::Template;
use trueplate_core::finding::Weight;
use trueplate_core::judge::Verdict;
use trueplate_core::letter;
use trueplate_core::notebook::{Notebook, Test};
use trueplate_core::report::Report;
use trueplate_core::retest;
use trueplate_core::stamp;
use trueplate_pages::piece;

#[derive(Template)]
#[template(path = "home.html")]
struct Page {
    top: Top,
    /// Sent here because a test needs a sample.
    need: bool,
    next: Option<Next>,
    running: Vec<Running>,
    wrong: Vec<Noticed>,
    wrong_more: usize,
    missing: Vec<Missing>,
    recent: Vec<Recent>,
    outside: Vec<Missing>,
    again: Vec<super::retests::Line>,
    again_more: usize,
}

/// The one next action of a bench that is not set up yet.
struct Next {
    why: &'static str,
    action: &'static str,
    link: String,
    stations: bool,
    nameless: bool,
    zone: String,
}

struct Running {
    id: String,
    title: String,
    specimen: String,
    state: &'static str,
    since: String,
    next: String,
}

struct Noticed {
    link: String,
    text: String,
    hint: String,
    of: String,
    day: String,
}

struct Missing {
    link: String,
    text: String,
    action: &'static str,
}

struct Recent {
    link: String,
    title: String,
    of: String,
    value: String,
    day: String,
}

/// How many lines each list of the first page has at most.
const LINES: usize = 6;

/// How many things to be tested again stand on it.
const AGAIN: usize = 4;

/// The first page.
pub async fn show(ask: Ask) -> Answer {
    let report = &*ask.report;
    let (wrong, wrong_more) = wrong(report);
    let (again, again_more) = again(report);
    Ok(html(&Page {
        top: ask.top(),
        need: ask.query.ticked("need"),
        next: next(&report.notebook),
        running: report.notebook.tests.iter().rev().filter_map(|t| running(t, &report.notebook)).collect(),
        wrong,
        wrong_more,
        missing: missing(report),
        recent: recent(&ask),
        outside: outside(report),
        again,
        again_more,
    }))
}

/// Link and words of what a bench without results should do first: what it still lacks, else a test.
pub fn toward_results(notebook: &Notebook) -> (String, &'static str) {
    next(notebook).map_or_else(|| ("/test/new".into(), "Begin a test"), |n| (n.link, n.action))
}

fn next(notebook: &Notebook) -> Option<Next> {
    let stations = !notebook.models.is_empty();
    let (nameless, zone) = (notebook.settings.tester.is_empty(), &notebook.settings.zone);
    let next =
        |why, action, link: String| Some(Next { why, action, link, stations, nameless, zone: zone.clone() });
    let Some(model) = notebook.models.last() else {
        return next(
            "Begin with one station: its name and what its maker says of it. Everything else follows from that.",
            "Add the first station",
            "/model/new".into(),
        );
    };
    if notebook.instruments.is_empty() {
        return next(
            "A reading is worth what is known of the instrument. Add the meter you read, with its stated accuracy and its step.",
            "Add the first instrument",
            "/instrument/new".into(),
        );
    }
    let Some(specimen) = notebook.specimens.last() else {
        return next(
            "Tests are made on one physical sample. Write down the one that stands on the bench, and how it came.",
            "Add the sample on the bench",
            at::new_specimen(&model.id),
        );
    };
    if notebook.tests.is_empty() {
        return next(
            "Station, instrument and sample are written down. Now the first test.",
            "Begin the first test",
            at::new_test(&specimen.id),
        );
    }
    None
}

fn running(test: &Test, notebook: &Notebook) -> Option<Running> {
    let spec = words::spec_of(test)?;
    let stage = stage(test, spec);
    if stage == Stage::Done || !test.excluded.is_empty() {
        return None;
    }
    let asked = super::stage::now_asked(test, spec);
    Some(Running {
        id: test.id.clone(),
        title: spec.title.into(),
        specimen: words::specimen_name(notebook, &test.specimen),
        state: stage.words(),
        since: if stage == Stage::Running {
            since(test, spec, notebook).unwrap_or_default()
        } else {
            String::new()
        },
        next: spec.field(asked).map_or_else(String::new, |f| f.question().into()),
    })
}

/// Doubts and gaps of finished tests, newest first; a running test is not scolded for what is still to come.
fn wrong(report: &Report) -> (Vec<Noticed>, usize) {
    let notebook = &report.notebook;
    let mut all = Vec::new();
    for test in notebook.tests.iter().rev().filter(|t| t.excluded.is_empty()) {
        let running = !super::stage::is_done(test);
        for f in report.outcomes.get(&test.id).into_iter().flat_map(|o| &o.findings) {
            if f.weight == Weight::Note || (running && f.code == "missing") {
                continue;
            }
            all.push(Noticed {
                link: at::answer(&test.id, &f.place),
                text: f.text.clone(),
                hint: f.hint.clone(),
                of: format!(
                    "{}, {}",
                    words::kind_title(test),
                    words::specimen_name(notebook, &test.specimen)
                ),
                day: test.day.clone(),
            });
        }
    }
    let more = all.len().saturating_sub(LINES);
    all.truncate(LINES);
    (all, more)
}

/// Some kind of test tells of it.
fn testable(report: &Report, key: &str) -> bool {
    report.kinds.iter().any(|k| k.results.iter().any(|r| r.key == key))
}

fn missing(report: &Report) -> Vec<Missing> {
    let mut all = Vec::new();
    for model in &report.models {
        for gate in &model.gate {
            let link = match gate.code.as_str() {
                "no-provenance" => at::specimen(&gate.place),
                _ => at::new_specimen(&model.id),
            };
            all.push(Missing {
                link,
                text: format!("{}; without it nothing is published", gate.text),
                action: "Write it down",
            });
        }
        let untested: Vec<String> = model
            .claims
            .iter()
            .filter(|c| c.verdict == Verdict::NotTested)
            .filter_map(|c| c.result.filter(|r| testable(report, r.key)).map(|r| r.title.to_string()))
            .collect();
        let specimen = report.notebook.specimens.iter().find(|s| s.model == model.id);
        if let (false, Some(specimen)) = (untested.is_empty(), specimen) {
            all.push(Missing {
                link: at::new_test(&specimen.id),
                text: words::unbroken(&format!(
                    "{}: claimed, not tested: {}",
                    model.name,
                    untested.join(", ")
                )),
                action: "Begin a test",
            });
        }
    }
    all.truncate(LINES);
    all
}

/// What presses among the things to be tested again, and how many more there are.
fn again(report: &Report) -> (Vec<super::retests::Line>, usize) {
    let all = retest::queue(report);
    let pressing: Vec<_> = all.iter().filter(|r| r.weight != Weight::Note).collect();
    let shown = pressing.iter().take(AGAIN).map(|r| super::retests::line(report, r));
    let shown: Vec<_> = shown.collect();
    let more = if pressing.is_empty() { 0 } else { all.len() - shown.len() };
    (shown, more)
}

/// What makers and readers wait for, or are waited for.
fn outside(report: &Report) -> Vec<Missing> {
    let notebook = &report.notebook;
    let late = notebook.letters.iter().filter(|l| letter::overdue(l, &report.as_of));
    let mut all: Vec<Missing> = late
        .map(|l| {
            let name = notebook.model(&l.model).map_or("", |m| &m.name);
            let since = stamp::day_words(&l.answer_by);
            Missing {
                link: at::letter(&l.model, &l.id),
                text: format!("{name}: the maker was to answer by {since}"),
                action: "The letter",
            }
        })
        .collect();
    let unsorted = notebook.questions.iter().filter(|q| q.about.is_empty()).count();
    if unsorted > 0 {
        let text =
            format!("{} to be sorted", words::plural(unsorted, "reader's question", "readers' questions"));
        all.push(Missing { link: "/questions".into(), text, action: "Sort them" });
    }
    all.truncate(LINES);
    all
}

fn recent(ask: &Ask) -> Vec<Recent> {
    let report = &*ask.report;
    let tests = report.notebook.tests.iter().rev();
    let with = tests.filter_map(|t| Some((t, report.outcomes.get(&t.id)?)));
    with.flat_map(|(test, outcome)| outcome.results.iter().map(move |found| (test, found)))
        .filter(|(test, _)| trueplate_core::repeat::counts(test))
        .take(LINES)
        .filter_map(|(test, found)| {
            let model = report.notebook.model_of(&test.specimen)?;
            let row = report.models.iter().find(|m| m.id == model.id)?.rows.iter().find(|r| {
                r.result.key == found.result.key
                    && r.condition == found.condition
                    && r.tests.contains(&test.id)
            })?;
            Some(Recent {
                link: super::trail::address(&model.id, row),
                title: words::unbroken(&trueplate_core::report::titled(found.result, &found.condition)),
                of: words::specimen_name(&report.notebook, &test.specimen),
                value: piece::number(&row.value, found.result.shown_in(), ask.style()),
                day: test.day.clone(),
            })
        })
        .collect()
}
