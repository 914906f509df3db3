//! Will it run mine: devices typed a line each, held against every station.
use super::page::{Answer, Ask, Top, html};
use super::words::unbroken;
use askama::Template;
use trueplate_core::answer::{Answers, ModelAnswer, Question, Solar, ask, device, known};
use trueplate_core::reading::marks_of;
use trueplate_core::shown::{duration_unit, shown};

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
    for line in typed.lines().map(str::trim).filter(|l| !l.is_empty()) {
        match device(line, &library, marks) {
            Ok(found) => question.devices.push(found),
            Err(f) => troubles.push((line.into(), format!("{}; {}", f.text, f.hint))),
        }
    }
    if !days.is_empty() {
        match days.parse::<f64>().ok().filter(|d| *d > 0.0 && *d <= 366.0) {
            Some(d) => question.days = d,
            None => troubles.push((days.into(), "days are a number above 0, at most 366".into())),
        }
    }
    if !solar.is_empty() {
        let watts =
            solar.trim_end_matches(['W', 'w', ' ']).parse::<f64>().ok().filter(|w| *w > 0.0 && w.is_finite());
        match watts {
            Some(w) => question.solar = Some(Solar::panels(w)),
            None => troubles.push((solar.into(), "panels are a power in W, above 0".into())),
        }
    }
    question
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
