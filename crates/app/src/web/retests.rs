//! What is to be tested again, and why.
use super::at;
use super::page::{Answer, Ask, Top, html};
use super::words;
use askama::Template;
use trueplate_core::finding::Weight;
use trueplate_core::report::Report;
use trueplate_core::retest::{Reason, Retest, queue};

#[derive(Template)]
#[template(path = "retests.html")]
struct Page {
    top: Top,
    groups: Vec<Group>,
}

struct Group {
    title: &'static str,
    lines: Vec<Line>,
}

/// One thing to be done again.
pub struct Line {
    /// Name of the station.
    pub name: String,
    /// Its page.
    pub link: String,
    /// What was seen.
    pub text: String,
    /// What to do.
    pub hint: String,
    /// What can be done now: words and address.
    pub acts: Vec<(String, String)>,
    /// It does not press.
    pub quiet: bool,
}

/// A line with the ways that lead on.
pub fn line(report: &Report, r: &Retest) -> Line {
    let mut acts = Vec::new();
    match r.reason {
        Reason::Disputed => acts.push(("The letter".to_string(), at::letter(&r.model, &r.from))),
        Reason::Reported => acts.push(("The report".to_string(), at::question(&r.from))),
        Reason::Price => acts.push(("Add a price".to_string(), format!("{}/price/new", at::model(&r.model)))),
        Reason::OneSample => acts.push(("Add a sample".to_string(), at::new_specimen(&r.model))),
        Reason::Firmware | Reason::Recalibrated => (),
    }
    if !r.specimen.is_empty() {
        for kind in &r.kinds {
            let title = report.kinds.iter().find(|k| k.id == *kind).map_or(*kind, |k| k.title);
            let address = format!("{}&kind={}", at::new_test(&r.specimen), super::page::escaped(kind));
            acts.push((format!("Begin: {}", title.to_lowercase()), address));
        }
    }
    Line {
        name: r.name.clone(),
        link: at::model(&r.model),
        text: words::unbroken(&r.text),
        hint: r.hint.clone(),
        acts,
        quiet: r.weight == Weight::Note,
    }
}

/// The queue by reason.
pub async fn show(ask: Ask) -> Answer {
    let mut groups: Vec<Group> = Vec::new();
    for r in queue(&ask.report) {
        let mut line = line(&ask.report, &r);
        // The same advice is given once, with the first line it belongs to.
        let last = groups.iter().flat_map(|g| &g.lines).rfind(|l| !l.hint.is_empty());
        if last.is_some_and(|l| l.hint == line.hint) {
            line.hint.clear();
        }
        match groups.iter_mut().find(|g| g.title == r.reason.words()) {
            Some(group) => group.lines.push(line),
            None => groups.push(Group { title: r.reason.words(), lines: vec![line] }),
        }
    }
    Ok(html(&Page { top: ask.top(), groups }))
}
