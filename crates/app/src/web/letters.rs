//! The letter to a maker: written from the facts, kept as it was sent, with its deadline and the answer.
use super::Site;
use super::fault::Fault;
use super::form::{Pick, Reader, Sent, Troubles, stand, unchanged};
use super::models::missing;
use super::page::{Answer, Ask, Top, html, kept, refused};
use crate::desk::{Deed, free_id, today};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::letter::{self, DAYS_TO_ANSWER};
use trueplate_core::notebook::{Notebook, Settings};
use trueplate_core::outgoing::{Letter, Reply};
use trueplate_core::record::Record;
use trueplate_core::report::{ModelReport, Report};

#[derive(Template)]
#[template(path = "letter.html")]
struct Page {
    top: Top,
    id: String,
    model: String,
    name: String,
    letter: Letter,
    /// The text to be sent, or as it was sent.
    text: String,
    standing: String,
    overdue: bool,
    replies: Vec<Pick>,
    changed: Vec<(String, String)>,
    nothing: bool,
    stand: String,
    troubles: Troubles,
}

const REPLIES: [(Reply, &str, &str); 5] = [
    (Reply::Open, "open", "not said yet, or no answer"),
    (Reply::Accepted, "accepted", "no objection to the figures"),
    (Reply::Disputed, "disputed", "objects; not tested again yet"),
    (Reply::Stands, "stands", "objected; tested again, the figures stand"),
    (Reply::Corrected, "corrected", "objected; the figures were corrected"),
];

fn shown<'r>(report: &'r Report, model: &str) -> Result<&'r ModelReport, Fault> {
    report.models.iter().find(|m| m.id == model).ok_or_else(|| missing(model))
}

fn page(ask: &Ask, model: &ModelReport, id: &str, letter: Letter, troubles: Vec<(String, String)>) -> Page {
    let text = match letter.text.as_str() {
        "" => letter::draft(&ask.report, model, &letter.to, &letter.answer_by).text,
        kept => kept.into(),
    };
    let changed = letter::changed_since(&ask.report, &letter);
    let now = |now: String| if now.is_empty() { "no value".to_string() } else { now };
    Page {
        top: ask.top(),
        id: id.into(),
        model: model.id.clone(),
        name: model.name.clone(),
        standing: letter::standing(&letter, &ask.report.as_of),
        overdue: letter::overdue(&letter, &ask.report.as_of),
        replies: REPLIES.iter().map(|(r, k, label)| Pick::new(*k, *label, *r == letter.reply)).collect(),
        changed: changed
            .into_iter()
            .map(|(title, was, is)| (format!("{was} → {}", now(is)), title))
            .collect(),
        nothing: model.rows.is_empty(),
        stand: stand(&letter),
        text,
        letter,
        troubles: Troubles(troubles),
    }
}

fn known(ask: &Ask, model: &str, id: &str) -> Result<Letter, Fault> {
    if id == "new" {
        let answer_by = days_after(&ask.report.as_of, DAYS_TO_ANSWER);
        return Ok(Letter { model: model.into(), answer_by, ..Letter::default() });
    }
    let found = ask.notebook().letter(id).filter(|l| l.model == model).cloned();
    found.ok_or_else(|| Fault::Missing(format!("There is no letter `{id}` about this station.")))
}

/// A day so many days later, ISO 8601; empty for what is no day.
fn days_after(day: &str, days: i64) -> String {
    let later = day.parse::<jiff::civil::Date>().and_then(|d| d.checked_add(jiff::Span::new().days(days)));
    later.map_or_else(|_| String::new(), |d| d.to_string())
}

/// A letter, or a draft of one.
pub async fn edit(ask: Ask, Path((model, id)): Path<(String, String)>) -> Answer {
    let of = shown(&ask.report, &model)?;
    let letter = known(&ask, &model, &id)?;
    Ok(html(&page(&ask, of, &id, letter, Vec::new())))
}

/// What the form says. A sent letter's text stays as it was sent.
fn read(
    sent: &Sent,
    settings: &Settings,
    report: &Report,
    model: &ModelReport,
    old: &Letter,
) -> (Letter, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    let mut letter = Letter {
        to: sent.text("to"),
        answer_by: r.day("answer_by"),
        answered: r.day("answered"),
        answer: sent.text("answer"),
        reply: REPLIES.iter().find(|(_, k, _)| *k == sent.get("reply")).map_or(Reply::Open, |(r, ..)| *r),
        note: sent.text("note"),
        ..old.clone()
    };
    letter.sent = r.day("sent");
    let was_sent = !old.sent.is_empty();
    if was_sent && letter.sent.is_empty() {
        r.trouble("sent", "It was sent: a wrong day can be put right, the letter stays");
    }
    if letter.sent.is_empty() && !letter.answered.is_empty() {
        r.trouble("answered", "Nothing was sent yet: write the day it was sent first");
    }
    if !letter.sent.is_empty() && !letter.answered.is_empty() && letter.answered < letter.sent {
        r.trouble("answered", "The answer came before the letter was sent: look at both days");
    }
    if !letter.answered.is_empty() && letter.answer.is_empty() {
        r.trouble("answer", "Copy what the maker answered, word for word");
    }
    if letter.answered.is_empty() && !letter.answer.is_empty() {
        r.trouble("answered", "Write the day the answer came");
    }
    if !was_sent {
        let draft = letter::draft(report, model, &letter.to, &letter.answer_by);
        let typed = sent.text("text");
        let before = letter::draft(report, model, &old.to, &old.answer_by).text;
        let own = !typed.is_empty() && plain(&typed) != plain(&before) && plain(&typed) != plain(&draft.text);
        // A draft nobody changed follows the facts until it is sent.
        (letter.text, letter.facts) = match (own, letter.sent.is_empty()) {
            (true, _) => (typed, draft.facts),
            (false, false) => (draft.text, draft.facts),
            (false, true) => (String::new(), Vec::new()),
        };
    }
    (letter, r.troubles)
}

/// Without what a browser does to the ends of lines.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Keeps a letter, or takes a draft out.
pub async fn save(
    ask: Ask,
    State(site): State<Site>,
    Path((model, id)): Path<(String, String)>,
    sent: Sent,
) -> Answer {
    let of = shown(&ask.report, &model)?;
    let old = known(&ask, &model, &id)?;
    let back = format!("{}#out", super::at::model(&model));
    if sent.ticked("delete") && id != "new" {
        if !old.sent.is_empty() {
            return Err(Fault::Refused("A letter that was sent stays: it is part of the record.".into()));
        }
        unchanged(&old, &sent)?;
        let stroke = site.with(move |desk| Ok(desk.take_out("letter", &id, &sent.text("why"))?)).await?;
        return Ok(kept(&back, stroke));
    }
    let (letter, troubles) = read(&sent, &ask.notebook().settings, &ask.report, of, &old);
    if !troubles.is_empty() {
        let text = sent.text("text");
        let mut shown = page(&ask, of, &id, Letter { sent: old.sent.clone(), ..letter.clone() }, troubles);
        shown.letter = letter;
        if old.sent.is_empty() && !text.is_empty() {
            shown.text = text;
        }
        shown.stand = sent.get("stand").into();
        return Ok(refused(&shown));
    }
    let done = site.act(move |notebook: &Notebook| {
        let mut letter = letter;
        if id == "new" {
            letter.id = free_id(notebook, "letter", &format!("{} {}", letter.model, today(notebook)));
        } else if let Some(old) = notebook.letter(&id) {
            unchanged(old, &sent)?;
        }
        let then = super::at::letter(&letter.model, &letter.id);
        Ok(Deed { records: vec![Record::Letter(letter)], why: sent.text("why"), then })
    });
    let done = done.await?;
    Ok(kept(&done.then.unwrap_or(back), done.stroke))
}
