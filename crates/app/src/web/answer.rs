//! Will it run mine: devices typed a line each, held against every station.
use super::page::{Answer, Ask, Top, html};
use super::words::unbroken;
use askama::Template;
use trueplate_core::answer::{Answers, Limit, ModelAnswer, Question, Solar, Word, ask, device, known};
use trueplate_core::number;
use trueplate_core::quantity::Dim;
use trueplate_core::reading::marks_of;
use trueplate_core::shown::{duration_unit, duration_words, shown};
use trueplate_core::uncertain::Value;

/// What stands in the empty field.
const EXAMPLE: &str = "router, 12 W\nfridge, 85 W, start 900 W, avg 38 W";

#[derive(Template)]
#[template(path = "answer.html")]
struct Page {
    top: Top,
    typed: String,
    example: &'static str,
    days: String,
    solar: String,
    disabled: bool,
    troubles: Vec<(String, String)>,
    shown: Option<Shown>,
}

struct Shown {
    rows: Vec<Row>,
    choices: Vec<(&'static str, String, String, String)>,
    caution: String,
    paragraph: String,
    assumed: Vec<String>,
    noticed: Vec<(String, String)>,
}

struct Row {
    id: String,
    name: String,
    word: &'static str,
    suffices: bool,
    hours: String,
    why: String,
    /// Everything held against it: in a word whether it is kept, and what.
    limits: Vec<(&'static str, String)>,
    more: Vec<String>,
}

/// The question, and the answer where something was asked.
pub async fn show(page: Ask) -> Answer {
    let typed = page.query.get("devices").replace("\r\n", "\n");
    let (days, solar) = (page.query.text("days"), page.query.text("solar"));
    let disabled = page.query.ticked("disabled");
    let mut troubles = Vec::new();
    let question = question(&page, &typed, (&days, &solar), disabled, &mut troubles);
    let asked = !question.devices.is_empty() && troubles.is_empty();
    let shown = asked.then(|| answered(&page, &ask(&page.report, &question)));
    let days = if days.is_empty() { "1".into() } else { days };
    Ok(html(&Page { top: page.top(), typed, example: EXAMPLE, days, solar, disabled, troubles, shown }))
}

fn question(
    page: &Ask,
    typed: &str,
    (days, solar): (&str, &str),
    disabled: bool,
    troubles: &mut Vec<(String, String)>,
) -> Question {
    let library = known(page.notebook());
    let marks = marks_of(&page.notebook().settings);
    let mut question = Question { switch_off_disabled: disabled, ..Question::default() };
    let lines = typed.lines().map(str::trim).enumerate();
    for (n, line) in lines.filter(|(_, l)| !l.is_empty()) {
        match device(line, &library, marks) {
            Ok(found) => question.devices.push(found),
            Err(f) => {
                let says = format!("{}; {}", f.text, f.hint);
                troubles.push((format!("Line {}: {line}", n + 1), says));
            }
        }
    }
    if !days.is_empty() {
        let bare = days.trim_end_matches(|c: char| c.is_alphabetic() || c == ' ');
        match number::number(bare, marks).map(|(d, _)| d).filter(|d| *d > 0.0 && *d <= 366.0) {
            Some(d) => question.days = d,
            None => troubles.push((
                format!("Days: {days}"),
                "write a number above 0, at most 366; half a day is 0.5".into(),
            )),
        }
    }
    if !solar.is_empty() {
        match number::quantity(solar, Dim::Power, Dim::Power.kept_in(), marks) {
            Ok(w) if w.kept > 0.0 && w.kept.is_finite() => question.solar = Some(Solar::panels(w.kept)),
            Ok(_) => troubles.push((
                format!("Solar panels: {solar}"),
                "write the watts on their labels, above 0; left empty there are none".into(),
            )),
            Err(t) => troubles.push((format!("Solar panels: {solar}"), format!("{}; {}", t.text, t.hint))),
        }
    }
    question
}

/// Whether a limit is kept, in a word.
fn kept(limit: &Limit) -> &'static str {
    match limit.p.map(Word::of) {
        Some(Word::Yes) => "kept",
        Some(Word::Probably) => "probably kept",
        Some(Word::No) => "not kept",
        Some(Word::Unknown) => "cannot tell",
        None => "not known",
    }
}

/// What it was on older firmware, how long it is dark, and the panels that would run it for ever.
fn more(page: &Ask, m: &ModelAnswer) -> Vec<String> {
    let hours = |v: &Value| shown(v, duration_unit(v.x), page.style()).line();
    let mut said: Vec<String> = m
        .superseded
        .iter()
        .map(|old| format!("{} on firmware {}: superseded", hours(&old.runtime_h), old.firmware))
        .collect();
    said.extend(m.dark_h.map(|h| format!("without power for {} of the time asked", duration_words(h))));
    said.extend(m.panels.as_ref().map(|p| {
        let fits = match p.fits {
            Some(true) => "",
            Some(false) => "; more than its input takes",
            None => "; what its input takes is not known",
        };
        format!("{:.0} W of panels would run it for ever{fits}", p.watts)
    }));
    said.iter().map(|s| unbroken(s)).collect()
}

fn answered(page: &Ask, answers: &Answers) -> Shown {
    let row = |m: &ModelAnswer| Row {
        id: m.id.clone(),
        name: m.name.clone(),
        word: m.answer.words(),
        suffices: m.answer.suffices(),
        hours: m
            .runtime_h
            .as_ref()
            .map_or(String::new(), |v| shown(v, duration_unit(v.x), page.style()).line()),
        why: unbroken(&m.why),
        limits: m.limits.iter().map(|l| (kept(l), unbroken(&l.text))).collect(),
        more: more(page, m),
    };
    let mut rows: Vec<Row> = answers.models.iter().map(row).collect();
    rows.sort_by_key(|r| !r.suffices);
    let choices = [("Cheapest that suffices", &answers.cheapest), ("Next", &answers.runner_up)];
    let choices = choices.into_iter().filter_map(|(label, c)| {
        let c = c.as_ref()?;
        let old = if c.old { ", an old price" } else { "" };
        let price = format!("{} {}, {}{old}", c.price.amount, c.price.currency, c.price.on);
        Some((label, c.name.clone(), price, unbroken(&c.why)))
    });
    Shown {
        rows,
        choices: choices.collect(),
        caution: answers.caution.clone(),
        paragraph: unbroken(&answers.paragraph),
        assumed: answers.assumed.clone(),
        noticed: answers.findings.iter().map(|f| (f.text.clone(), f.hint.clone())).collect(),
    }
}
