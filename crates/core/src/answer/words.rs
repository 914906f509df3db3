//! Sentences: why, what is taken for granted, and the paragraph for the viewer.
use super::limit::Limit;
use super::one::{Asked, Older, Otherwise, Said};
use super::store::{SUN_KEPT, Sunlight};
use super::{Answers, Choice, Device, Question, Sky, Word};
use crate::notebook::Price;
use crate::shown::{self, Style, decimal, duration_unit, duration_words, shown};
use crate::uncertain::Value;

/// Stands before everything where somebody's health hangs on a device.
pub(super) const CAUTION: &str = "No station here is recommended for a medical device: none was tested for that, and \
    any of them can stop without warning. The hours are what was measured, with whatever else hung on it. Ask whoever \
    prescribes the device about a power cut, and have a second way.";

/// "55.8 ± 1.1 h".
pub(super) fn hours(v: &Value, style: Style) -> String {
    shown(v, duration_unit(v.x), style).line()
}

/// "USD 649" or "EUR 12.50".
pub(super) fn money(price: &Price, style: Style) -> String {
    let places = if price.amount.fract().abs() < 0.005 { 0 } else { 2 };
    format!("{} {}", price.currency, decimal(price.amount, places, style))
}

/// A limit as the reason, with the missing test.
pub(super) fn of_limit(limit: &Limit) -> String {
    match limit.missing.as_str() {
        "" => limit.text.clone(),
        missing => format!("{}; the missing test: {missing}", limit.text),
    }
}

/// How long it lasts against what is wanted.
pub(super) fn lasts(asked: &Asked, runtime: Option<&Value>, left: &Value) -> String {
    let demand = asked.demand;
    let wanted = duration_words(demand.wanted_h);
    let left = || shares(left, asked.style);
    match runtime {
        None if asked.sun.is_some() => {
            format!("with the sun it lasts the {wanted}; at the lowest {} of its store is left", left())
        }
        Some(r) if r.x < demand.wanted_h => {
            format!("empty after {}; {wanted} are wanted", hours(r, asked.style))
        }
        Some(r) if demand.steady() => format!("lasts {}; {wanted} are wanted", hours(r, asked.style)),
        _ => format!("lasts the {wanted} to the end of the last use; {} of its store is left then", left()),
    }
}

/// A share of the store: "45.2 ± 0.6 %".
pub(super) fn shares(v: &Value, style: Style) -> String {
    shown(v, shown::usual(v.dim), style).line()
}

/// Adds what older firmware gave.
pub(super) fn with_older(mut said: Said, older: &[Older], style: Style) -> Said {
    if let Some(old) = older.first()
        && said.limits.first().is_none_or(|l| l.key != "switch-off")
    {
        said.why += &format!(" ({} on firmware {}, superseded)", hours(&old.runtime_h, style), old.firmware);
    }
    said
}

/// Adds what disabling the switch-off gives.
pub(super) fn with_other(mut said: Said, other: &Otherwise) -> Said {
    said.why += &format!("; {}: {}", other.when, other.why);
    said
}

fn devices(question: &Question) -> String {
    let one = |d: &Device| {
        let mut text = format!("{} ({:.0} W", d.name, d.running_w);
        if let Some(start) = d.starting_w {
            text += &format!(", {start:.0} W to start");
        }
        if let Some(mean) = d.average_w {
            text += &format!(", {mean:.0} W on average");
        }
        if d.hours < 24.0 {
            text += &format!(", {} a day", duration_words(d.hours));
        }
        text + ")"
    };
    let all: Vec<String> = question.devices.iter().map(one).collect();
    listed(&all)
}

fn listed(all: &[String]) -> String {
    match all {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// What every answer takes for granted.
pub(super) fn assumed(question: &Question, sun: Option<&Sunlight>, style: Style) -> Vec<String> {
    let mut all = vec![
        "the station begins full; the figures are of the samples tested, at room temperature and when new"
            .to_string(),
        "all devices begin together each day".to_string(),
    ];
    all.push(match question.outlet_stays_on {
        true => "the outlet stays on all the time, and its own draw is counted".into(),
        false => {
            "the outlet is switched off by hand between uses; what the station takes then is not counted"
                .into()
        }
    });
    for d in question.devices.iter().filter(|d| !d.origin.is_empty()) {
        all.push(format!("{}: {:.0} W, from: {}", d.name, d.running_w, d.origin));
    }
    if let (Some(_), Some(solar)) = (sun, &question.solar) {
        all.push(format!(
            "of what the panels bring in, {:.0} % comes out of the outlet again; the sun is known to ± 20 %",
            100.0 * SUN_KEPT
        ));
        all.push(match &solar.sky {
            Sky::SunHours(h) => format!(
                "{} h of full sun a day, of which a panel gives 75 % of its label",
                shown::four_digits(*h, style)
            ),
            Sky::Clear { on, .. } => format!("a clear sky as on {on}, every day"),
            Sky::Given(_) => {
                "the irradiance given, every day, of which a panel gives 75 % of its label".into()
            }
        });
        all.push("the first day begins at six in the evening, with the sun still to come".into());
    }
    all
}

/// Ready to be pasted under a viewer's question.
pub(super) fn paragraph(question: &Question, answers: &Answers, style: Style) -> String {
    let time = if question.days == 1.0 {
        "for a day".into()
    } else {
        format!("for {} days", shown::four_digits(question.days, style))
    };
    let sun =
        question.solar.as_ref().map_or_else(String::new, |s| format!(", with {:.0} W of panels", s.panel_w));
    let mut text = format!("{} {time}{sun}: ", devices(question));
    if !answers.caution.is_empty() {
        let all: Vec<String> = answers.models.iter().filter_map(|m| hours_of(m, style)).collect();
        let measured = if all.is_empty() {
            "nothing was measured that would tell the hours".into()
        } else {
            listed(&all)
        };
        return format!("{text}{measured}. {}", answers.caution);
    }
    match &answers.cheapest {
        Some(first) => {
            text += &format!(
                "the cheapest tested here that suffices is the {}: {}.",
                named(first, style),
                after_first(first)
            );
        }
        None => {
            let finding = answers
                .findings
                .iter()
                .find(|f| ["none-suffices", "no-dated-price"].contains(&f.code.as_str()));
            text += &finding
                .map_or_else(|| "no station tested here is known to suffice".into(), |f| f.text.clone());
            text.push('.');
        }
    }
    if let Some(next) = &answers.runner_up {
        text += &format!(" Next comes the {}: it {}.", named(next, style), next.why);
    }
    if let Some(other) = answers.after_setting.first() {
        text += &format!(" The {} would do once its low-load switch-off is disabled.", named(other, style));
    }
    if let Some(short) = answers.cheaper.iter().find(|c| !answers.after_setting.iter().any(|a| a.id == c.id))
    {
        text += &format!(" The {} is cheaper and falls short: {}.", short.name, short.why);
    }
    text + " Reckoned from measurements on the samples tested, from full; your devices may take another power."
}

fn after_first(choice: &Choice) -> &str {
    choice.why.split_once("; ").map_or(choice.why.as_str(), |(_, rest)| rest)
}

fn named(choice: &Choice, style: Style) -> String {
    let age = if choice.old { ", an old price" } else { "" };
    format!(
        "{} ({}, {} of {}{age})",
        choice.name,
        money(&choice.price, style),
        choice.price.kind,
        choice.price.on
    )
}

fn hours_of(answer: &super::ModelAnswer, style: Style) -> Option<String> {
    let runtime = answer.runtime_h.as_ref()?;
    let stop = answer.limits.first().filter(|l| answer.answer == Word::No && l.key != "runtime");
    let but = stop.map_or_else(String::new, |l| format!(" ({})", l.text));
    Some(format!("{} {}{but}", answer.name, hours(runtime, style)))
}
