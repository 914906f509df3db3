//! Answers as they are read: every number already in words. The bench's screen and the published page show it alike.
use super::words::{hours, money};
use super::{Answers, Choice, Grounds, Limit, ModelAnswer};
use crate::shown::{Style, duration_words};
use serde::Serialize;

/// Everything said to a question.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// Said first where somebody's health hangs on it; empty otherwise.
    pub caution: String,
    /// The cheapest that suffices and the next one.
    pub choices: Vec<Chosen>,
    /// Every station, those that suffice first.
    pub rows: Vec<Row>,
    /// Ready to be pasted under a viewer's question.
    pub paragraph: String,
    /// What is taken for granted.
    pub assumed: Vec<String>,
    /// What was noticed, and what to do about it.
    pub noticed: Vec<(String, String)>,
}

/// A station with its price and why it stands here.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chosen {
    /// "Cheapest that suffices".
    pub label: &'static str,
    /// Id of the model.
    pub id: String,
    /// Its name.
    pub name: String,
    /// "649 USD, 2026-05-04".
    pub price: String,
    /// In a sentence, without full stop.
    pub why: String,
}

/// One station.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// Id of the model.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Stable word for programs: yes, probably, no, unknown.
    pub answer: &'static str,
    /// The word as printed.
    pub word: &'static str,
    /// Enough for whoever asks.
    pub suffices: bool,
    /// "55.8 ± 1.1 h"; empty where it is not known.
    pub hours: String,
    /// In a sentence, without full stop.
    pub why: String,
    /// Every limit held against the question, the one that decides first.
    pub limits: Vec<Held>,
    /// What it was on older firmware, how long it is dark, and the panels that would run it for ever.
    pub more: Vec<String>,
}

/// A limit in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Held {
    /// "kept", "probably kept", "not kept", "not known".
    pub word: &'static str,
    /// In a sentence, without full stop.
    pub text: String,
}

impl Sheet {
    /// Answers in words, numbers written as the grounds have it.
    pub fn of(answers: &Answers, grounds: &Grounds) -> Sheet {
        let style = grounds.style();
        let mut rows: Vec<Row> = answers.models.iter().map(|m| row(m, style)).collect();
        rows.sort_by_key(|r| (!r.suffices, r.answer == "no"));
        let choices = [("Cheapest that suffices", &answers.cheapest), ("Next", &answers.runner_up)];
        let choices = choices.into_iter().filter_map(|(label, c)| Some(chosen(label, c.as_ref()?, style)));
        Sheet {
            caution: answers.caution.clone(),
            choices: choices.collect(),
            rows,
            paragraph: answers.paragraph.clone(),
            assumed: answers.assumed.clone(),
            noticed: answers.findings.iter().map(|f| (f.text.clone(), f.hint.clone())).collect(),
        }
    }
}

fn chosen(label: &'static str, choice: &Choice, style: Style) -> Chosen {
    let old = if choice.old { ", an old price" } else { "" };
    Chosen {
        label,
        id: choice.id.clone(),
        name: choice.name.clone(),
        price: format!("{}, {}{old}", money(&choice.price, style), choice.price.on),
        why: choice.why.clone(),
    }
}

fn row(m: &ModelAnswer, style: Style) -> Row {
    Row {
        id: m.id.clone(),
        name: m.name.clone(),
        answer: m.answer.key(),
        word: m.answer.words(),
        suffices: m.answer.suffices(),
        hours: m.runtime_h.as_ref().map_or(String::new(), |v| hours(v, style)),
        why: m.why.clone(),
        limits: m.limits.iter().map(held).collect(),
        more: more(m, style),
    }
}

fn more(m: &ModelAnswer, style: Style) -> Vec<String> {
    let older =
        |o: &super::Older| format!("{} on firmware {}: superseded", hours(&o.runtime_h, style), o.firmware);
    let mut said: Vec<String> = m.superseded.iter().map(older).collect();
    said.extend(m.dark_h.map(|h| format!("without power for {} of the time asked", duration_words(h))));
    said.extend(m.panels.as_ref().map(|p| {
        let fits = match p.fits {
            Some(true) => "",
            Some(false) => "; more than its input takes",
            None => "; what its input takes is not known",
        };
        format!("{:.0} W of panels would run it for ever{fits}", p.watts)
    }));
    said
}

fn held(limit: &Limit) -> Held {
    let word = match limit.p {
        None => "not known",
        Some(p) if p >= 0.95 => "kept",
        Some(p) if p >= 0.80 => "probably kept",
        Some(p) if p <= 0.20 => "not kept",
        Some(_) => "cannot tell",
    };
    Held { word, text: super::words::of_limit(limit) }
}
