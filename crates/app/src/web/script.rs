//! A draft script checked against the record, with marks in the margin. Nothing of it is kept.
use super::Site;
use super::form::Sent;
use super::page::{Answer, Ask, Top, html};
use askama::Template;
use axum::extract::State;
use trueplate_core::facts::{self, Facts};
use trueplate_core::script::{Format, Judgement, check};

#[derive(Template)]
#[template(path = "script.html")]
struct Page {
    top: Top,
    typed: String,
    formats: Vec<(&'static str, &'static str, bool)>,
    models: Vec<(String, String, bool)>,
    lines: Vec<Line>,
    noticed: Vec<(String, String)>,
    counts: Vec<(usize, String)>,
    asked: bool,
}

/// A line of the script with the statements found in it.
struct Line {
    number: usize,
    text: String,
    marks: Vec<Mark>,
}

struct Mark {
    word: String,
    agrees: bool,
    says: String,
    record: String,
    hint: String,
    link: String,
}

const FORMATS: [(&str, &str); 4] =
    [("txt", "plain text"), ("md", "Markdown"), ("srt", "subtitles, srt"), ("vtt", "subtitles, vtt")];

/// An empty sheet.
pub async fn show(ask: Ask) -> Answer {
    Ok(html(&page(&ask, String::new(), "txt", "")))
}

/// The script with its marks.
pub async fn checked(State(site): State<Site>, sent: Sent) -> Answer {
    let report = site.report().await?;
    let ask = Ask::of(report, Sent(Vec::new()));
    Ok(html(&page(&ask, sent.get("script").replace("\r\n", "\n"), sent.get("format"), sent.get("model"))))
}

fn page(ask: &Ask, typed: String, format: &str, model: &str) -> Page {
    let report = &ask.report;
    let asked = !typed.trim().is_empty();
    let known = report.models.iter().find(|m| m.id == model).map(|m| m.id.as_str());
    let found = check(report, &typed, Format::of_name(&format!("script.{format}")), known);
    let facts = if asked { facts::all(report) } else { Facts::default() };
    let mark = |l: &trueplate_core::script::Line| Mark {
        word: l.judgement.key().replace('-', " "),
        agrees: l.judgement == Judgement::Agrees,
        says: l.says.clone(),
        record: l.record.clone().unwrap_or_default(),
        hint: l.hint.clone(),
        link: l.fact.as_ref().map_or(String::new(), |f| link(ask, &facts, f)),
    };
    let lines = typed.lines().enumerate().map(|(i, text)| Line {
        number: i + 1,
        text: text.into(),
        marks: found.lines.iter().filter(|l| l.line == i + 1).map(mark).collect(),
    });
    Page {
        top: Top { path: "/script".into(), ..ask.top() },
        formats: FORMATS.iter().map(|(key, label)| (*key, *label, *key == format)).collect(),
        models: report.models.iter().map(|m| (m.id.clone(), m.name.clone(), m.id == model)).collect(),
        lines: if asked { lines.collect() } else { Vec::new() },
        noticed: found.findings.iter().filter(|_| asked).map(|f| (f.text.clone(), f.hint.clone())).collect(),
        counts: found
            .counts
            .iter()
            .filter(|(_, n)| **n > 0)
            .map(|(k, n)| (*n, k.replace('-', " ")))
            .collect(),
        asked,
        typed,
    }
}

/// To the readings behind a fact, whether it holds or once held.
fn link(ask: &Ask, facts: &Facts, fact: &str) -> String {
    let found = facts.current.iter().chain(&facts.former).find(|f| f.id == fact);
    found.map_or(String::new(), |f| super::at::fact(&ask.report, f))
}
