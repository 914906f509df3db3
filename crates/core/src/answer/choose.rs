//! The cheapest station that suffices, the next one and what it costs more, and why cheaper ones do not do.
use super::words::{money, shares};
use super::{Grounds, ModelAnswer, Word};
use crate::finding::Finding;
use crate::notebook::Price;
use crate::shown::{Style, duration_words};

/// A station with its price and the reason it stands here.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Id of the model.
    pub id: String,
    /// Its name.
    pub name: String,
    /// The dated price it was compared by.
    pub price: Price,
    /// That price is older than the bench allows.
    pub old: bool,
    /// In a sentence, without full stop.
    pub why: String,
}

/// Who was chosen.
#[derive(Default)]
pub(super) struct Chosen {
    pub cheapest: Option<Choice>,
    pub runner_up: Option<Choice>,
    pub cheaper: Vec<Choice>,
    pub after_setting: Vec<Choice>,
}

/// `steady`: the load never changes.
pub(super) fn choose(
    grounds: &Grounds,
    answers: &[ModelAnswer],
    steady: bool,
    findings: &mut Vec<Finding>,
) -> Chosen {
    let mut priced: Vec<(&ModelAnswer, &Price, bool)> = answers
        .iter()
        .filter_map(|a| {
            let of = grounds.models.iter().find(|m| m.id == a.id)?;
            Some((a, of.price.as_ref()?, of.price_old))
        })
        .collect();
    priced.sort_by(|x, y| x.1.amount.total_cmp(&y.1.amount).then(sureness(x.0).cmp(&sureness(y.0))));
    let choice = |(a, price, old): (&ModelAnswer, &Price, bool), why: String| Choice {
        id: a.id.clone(),
        name: a.name.clone(),
        price: price.clone(),
        old,
        why,
    };
    let enough: Vec<_> = priced.iter().filter(|(a, ..)| a.answer.suffices()).copied().collect();
    let Some(first) = enough.first().copied() else {
        findings.extend(none(grounds, answers));
        return Chosen::default();
    };
    let runner_up = enough.get(1).copied().map(|next| {
        let more =
            money(&Price { amount: next.1.amount - first.1.amount, ..next.1.clone() }, grounds.style());
        let mut why = if next.1.amount > first.1.amount {
            format!("costs {more} more")
        } else {
            "costs the same".into()
        };
        why += &compared(first.0, next.0, steady, grounds.style());
        choice(next, why)
    });
    let mut cheaper: Vec<Choice> =
        priced.iter().take_while(|(a, ..)| a.id != first.0.id).map(|&p| choice(p, p.0.why.clone())).collect();
    cheaper.reverse();
    let why = format!("the cheapest that suffices; {}", first.0.why);
    let limit = enough.get(1).map_or(f64::INFINITY, |next| next.1.amount);
    let other =
        |a: &ModelAnswer| a.otherwise.as_ref().is_some_and(|o| o.answer.suffices()) && !a.answer.suffices();
    let after_setting = priced
        .iter()
        .filter(|(a, price, _)| other(a) && price.amount < limit)
        .map(|&p| {
            choice(p, p.0.otherwise.as_ref().map_or_else(String::new, |o| format!("{}: {}", o.when, o.why)))
        })
        .collect();
    Chosen { cheapest: Some(choice(first, why)), runner_up, cheaper, after_setting }
}

/// What the next one gives more: hours where the load never changes, else the share of its store that is left.
fn compared(first: &ModelAnswer, next: &ModelAnswer, steady: bool, style: Style) -> String {
    match (&first.runtime_h, &next.runtime_h, &first.left, &next.left) {
        (Some(a), Some(b), ..) if steady => {
            let longer = if b.x >= a.x { "longer" } else { "less long" };
            format!(" and lasts {} {longer}", duration_words((b.x - a.x).abs()))
        }
        (_, _, Some(a), Some(b)) => {
            format!(" and has {} of its store left instead of {}", shares(b, style), shares(a, style))
        }
        _ => String::new(),
    }
}

fn sureness(a: &ModelAnswer) -> u8 {
    match a.answer {
        Word::Yes => 0,
        Word::Probably => 1,
        Word::Unknown => 2,
        Word::No => 3,
    }
}

/// Why nobody is recommended.
fn none(grounds: &Grounds, answers: &[ModelAnswer]) -> Option<Finding> {
    let enough: Vec<&str> = answers.iter().filter(|a| a.answer.suffices()).map(|a| a.name.as_str()).collect();
    if !enough.is_empty() {
        let why = grounds.models.iter().find(|m| m.name == enough[0]).map_or("", |m| m.price_why.as_str());
        let text = format!("{} would do, but no price can be compared: {why}", enough.join(", "));
        return Some(Finding::gap(
            "no-dated-price",
            "prices",
            text,
            "note a list price in the bench's currency with its day",
        ));
    }
    let nearest = answers.iter().max_by(|a, b| hope(a).total_cmp(&hope(b)))?;
    let text = format!(
        "no station tested here is known to suffice; the nearest is {}: {}",
        nearest.name, nearest.why
    );
    Some(Finding::note(
        "none-suffices",
        "bench",
        text,
        "ask for fewer devices, fewer hours or less power at once; or test what is missing",
    ))
}

/// How near it comes: the probability, what is unknown counting as half.
fn hope(a: &ModelAnswer) -> f64 {
    let share = a.left.as_ref().map_or(-1.0, |l| l.x.clamp(-1e6, 1.0));
    a.p.unwrap_or(0.5) + 1e-9 * share
}
