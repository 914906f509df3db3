//! Amounts as spoken: a number, its unit, how it was hedged; ranges and lists; durations put together from parts.
use super::bare::Unit;
use super::hedge::{Hedge, hedge_before, hedge_behind};
use super::number::{self, Number};
use super::token::Token;
use super::unit::{What, unit_at};
use crate::quantity::Dim;

/// An amount in a sentence.
#[derive(Clone, Debug, PartialEq)]
pub struct Amount {
    /// First token, the hedge included.
    pub from: usize,
    /// Token of the number.
    pub at: usize,
    /// Token after it.
    pub to: usize,
    /// What it is an amount of.
    pub what: What,
    /// Its value, in the unit its dimension is kept in.
    pub x: f64,
    /// Upper end of a range.
    pub hi: Option<f64>,
    /// Value of the last place said, same unit.
    pub step: f64,
    /// How it was hedged.
    pub hedge: Hedge,
    /// "a 575-watt load": it describes the next word.
    pub describes: bool,
    /// Multiply to come from the unit spoken to the kept one.
    pub factor: f64,
    /// "from 17 to 11 watts": it was so before.
    pub was: bool,
    /// Whether its unit was said.
    pub unit: Unit,
    /// "not 15.8": it is said not to be so much.
    pub denied: bool,
    /// A verb makes a bound of it: "never reached 900".
    pub bounded: bool,
}

impl Amount {
    /// Its value where it is a power, in W.
    pub fn watts(&self) -> Option<f64> {
        (self.what == What::Dim(Dim::Power)).then_some(self.x)
    }
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// All amounts of a sentence, in order. `taken` marks tokens that belong to a name.
pub fn amounts(tokens: &[Token], taken: &[bool]) -> Vec<Amount> {
    let mut out = Vec::new();
    let mut i = 0;
    while i < tokens.len() {
        let found = if taken[i] { None } else { one(tokens, i, taken) };
        match found {
            Some(list) => {
                i = list.iter().map(|a| a.to).max().unwrap_or(i + 1).max(i + 1);
                out.extend(list);
            }
            None => i += 1,
        }
    }
    out
}

/// A number with currency sign or unit, bare when it has none.
fn measured(tokens: &[Token], i: usize) -> Option<(Number, What, f64, usize)> {
    if let Some(currency) = super::unit::sign(word(tokens, i)) {
        let n = number::number(tokens, i + 1)?;
        let (what, factor, next) = super::unit::per(tokens, n.next, currency);
        return Some((n, what, factor, next));
    }
    if let Some(n) = number::share_of(tokens, i).or_else(|| number::share_alone(tokens, i)) {
        return Some((n, What::Dim(Dim::Ratio), 1.0, n.next));
    }
    // "an hour", "a day", "a kilowatt-hour" are one of it.
    let whole = usize::from(matches!(word(tokens, i + 1), "full" | "whole" | "solid" | "single"));
    let one = matches!(word(tokens, i), "a" | "an").then(|| unit_at(tokens, i + 1 + whole)).flatten();
    // "a kilowatt-hour costs 15 cents" speaks of none; "about a kilowatt-hour" does.
    let time = one.as_ref().is_some_and(|(what, ..)| *what == What::Dim(Dim::Time));
    // "245 watt-hours a day" is a rate.
    let rate = i > 0 && unit_at(tokens, i - 1).is_some() && tokens.get(i).is_some_and(|t| t.after.is_none());
    let one = one
        .filter(|_| (time && !rate) || hedge_before(tokens, i).0 != Hedge::Plain || amount_of_one(tokens, i))
        .map(|_| Number { x: 1.0, step: 1.0, next: i + 1 });
    let n = number::number(tokens, i).or(one)?;
    // "911 usable watt-hours"
    let said = matches!(
        word(tokens, n.next),
        "usable" | "real" | "actual" | "measured" | "whole" | "honest" | "solid" | "full"
    );
    let at = n.next + usize::from(said);
    // "thirty-seven and a bit pounds", "980 odd watt-hours"
    let at = match hedge_behind(tokens, at) {
        Some((_, to)) if unit_at(tokens, at).is_none() && unit_at(tokens, to).is_some() => to,
        _ => at,
    };
    match unit_at(tokens, at) {
        Some((what, factor, next)) => Some((n, what, factor, next)),
        None => Some((n, What::Bare, 1.0, n.next)),
    }
}

/// "Call it a kilowatt-hour", "hands you a full kilowatt-hour"; not "15 cents a kilowatt-hour", nor "a kilowatt-hour
/// costs 15 cents", nor a tenth of one.
fn amount_of_one(tokens: &[Token], i: usize) -> bool {
    let before = i.checked_sub(1).map_or("", |k| word(tokens, k));
    let rate = i.checked_sub(1).is_some_and(|k| unit_at(tokens, k).is_some());
    let part = matches!(before, "of" | "per" | "for" | "in" | "than") || rate;
    let behind = |words: &[&str]| (i + 2..i + 5).any(|k| words.contains(&word(tokens, k)));
    let first = before.is_empty() || tokens.get(i).is_some_and(|t| t.after.is_some());
    // "A kilo and a half", "a kilo more"
    let half = word(tokens, i + 2) == "and" && word(tokens, i + 3) == "a" && word(tokens, i + 4) == "half";
    let more = super::delta::BEHIND.contains(&word(tokens, i + 2));
    if !part && (half || more) {
        return true;
    }
    !part
        && !behind(&["costs", "cost"])
        && (!first || behind(&["comes", "came", "goes", "went", "from", "out"]))
}

/// "500 dollars, no, it is 699": what is corrected in the same breath was not meant.
pub fn retract(tokens: &[Token], amounts: &mut [Amount]) {
    let corrects = |from: usize, to: usize| {
        to - from <= 7
            && (from..to).any(|i| match word(tokens, i) {
                "sorry" | "correction" | "oops" => true,
                "no" => tokens.get(i + 1).is_some_and(|t| t.after.is_some()) && tokens[i].after.is_some(),
                "i" => word(tokens, i + 1) == "mean",
                "make" | "scratch" => word(tokens, i + 1) == "that",
                _ => false,
            })
    };
    for i in 1..amounts.len() {
        let (a, b) = (&amounts[i - 1], &amounts[i]);
        if (a.what == b.what || a.unit != Unit::Said) && b.from >= a.to && corrects(a.to, b.from) {
            amounts[i - 1].denied = true;
        }
    }
}

/// Words directly before a number that deny it.
const DENIES: &[&str] = &["not", "isn't", "wasn't", "aren't", "weren't", "never", "isnt", "wasnt"];

fn one(tokens: &[Token], i: usize, taken: &[bool]) -> Option<Vec<Amount>> {
    let (n, what, factor, next) = measured(tokens, i)?;
    if taken.get(i..next).is_some_and(|t| t.iter().any(|t| *t)) {
        return None;
    }
    let make = |n: Number, what: &What, factor: f64, at: usize, next: usize| {
        let (hedge, from) = hedge_before(tokens, at);
        let glued = tokens.get(n.next).is_some_and(|t| t.glued) && n.next < next;
        Amount {
            from,
            at,
            to: next,
            what: what.clone(),
            x: n.x * factor,
            hi: None,
            step: n.step * factor,
            hedge,
            describes: glued
                || matches!(word(tokens, at.saturating_sub(1)), "a" | "an" | "my" | "our" | "your" | "the"),
            factor,
            was: false,
            unit: Unit::Said,
            denied: from > 0 && DENIES.contains(&word(tokens, from - 1)),
            bounded: false,
        }
    };
    if let Some((end, what, factor)) = with_interval(tokens, next, &what) {
        return Some(vec![make(n, &what, factor, i, end)]);
    }
    if let Some(pair) = pair(tokens, i, n, &what, factor, next, taken) {
        let (second, what2, factor2, end, range, at2) = pair;
        let mut a = make(n, &what2, factor2, i, end);
        if range {
            a.hi = Some(second.x * factor2);
            a.step = n.step.min(second.step) * factor2;
            (a.hedge, a.from) = hedge_before(tokens, a.from.min(i));
            return Some(vec![finish(tokens, a)]);
        }
        a.to = n.next;
        let b = make(second, &what2, factor2, at2, end);
        return Some(vec![a, finish(tokens, b)]);
    }
    let a = make(n, &what, factor, i, next);
    let a =
        if what == What::Dim(Dim::Time) || what == What::Dim(Dim::Mass) { composed(tokens, a) } else { a };
    Some(vec![finish(tokens, a)])
}

fn finish(tokens: &[Token], mut a: Amount) -> Amount {
    // The hedge between number and unit.
    let inside = (a.at + 1..a.to).find_map(|i| hedge_behind(tokens, i).filter(|(_, to)| *to < a.to));
    if let (Hedge::Plain, Some((hedge, _))) = (a.hedge, inside) {
        a.hedge = hedge;
    }
    if a.hedge == Hedge::Plain
        && let Some((hedge, to)) = hedge_behind(tokens, a.to)
    {
        (a.hedge, a.to) = (hedge, to);
    }
    a
}

/// "911 ± 14 Wh": the interval's end, and the unit where only it has one.
fn with_interval(tokens: &[Token], next: usize, what: &What) -> Option<(usize, What, f64)> {
    let at = match (word(tokens, next), word(tokens, next + 1), word(tokens, next + 2)) {
        ("±", _, _) => next + 1,
        ("plus", "or", "minus") => next + 3,
        _ => return None,
    };
    let (_, unit, factor, end) = measured(tokens, at)?;
    (*what == What::Bare || *what == unit).then_some((end, unit, factor))
}

type Pair = (Number, What, f64, usize, bool, usize);

/// "900 to 920 watt-hours", "between 12 and 14 hours", "911 and 484 watt-hours".
fn pair(
    tokens: &[Token],
    i: usize,
    first: Number,
    what: &What,
    factor: f64,
    next: usize,
    taken: &[bool],
) -> Option<Pair> {
    let link = word(tokens, next);
    let between = i > 0 && word(tokens, i - 1) == "between";
    let dash = tokens.get(next).is_some_and(|t| t.is_figure() && (t.glued || t.after == Some('–')))
        && *what == What::Bare
        && tokens[i].is_figure();
    let (at2, range) = match link {
        "to" | "through" => (next + 1, true),
        "and" => (next + 1, between),
        "or" => (next + 1, false),
        _ if dash => (next, true),
        _ => return None,
    };
    if taken.get(at2).copied().unwrap_or(true) {
        return None;
    }
    let (second, what2, factor2, end) = measured(tokens, at2)?;
    // "4,000 to 80 %" is no range.
    if matches!(link, "to" | "through") && first.x > 20.0 * second.x {
        return None;
    }
    // "917, or 79 percent" says it in other words.
    if link == "or" && tokens[next].after.is_some() {
        return None;
    }
    let same = *what == What::Bare || (*what == what2 && factor == factor2 && range);
    if what2 == What::Bare || !same {
        return None;
    }
    let moved =
        ["dropped", "fell", "went", "rose", "improved", "down", "up", "cut", "drops", "goes", "going"];
    let changes = (i.saturating_sub(4)..i).any(|k| !taken[k] && moved.contains(&word(tokens, k)));
    let range = range && !changes && second.x * factor2 > first.x * factor2;
    Some((second, what2, factor2, end, range, at2))
}

/// "2 hours and 10 minutes", "1 h 35", "an hour and a half", "29 pounds 5 ounces".
fn composed(tokens: &[Token], mut a: Amount) -> Amount {
    loop {
        let at = if word(tokens, a.to) == "and" { a.to + 1 } else { a.to };
        // "Within an hour, 57 minutes" is said twice; "one hour, 57 minutes" is one time.
        let comma = tokens.get(a.to).is_some_and(|t| t.after == Some(',')) && a.hedge != Hedge::Plain;
        if comma || tokens.get(a.to).is_some_and(|t| matches!(t.after, Some(';' | ':' | '(' | '—'))) {
            return a;
        }
        if at > a.to && word(tokens, at) == "a" && matches!(word(tokens, at + 1), "half" | "quarter") {
            let part = if word(tokens, at + 1) == "half" { 0.5 } else { 0.25 };
            (a.x, a.step, a.to) = (a.x + part * a.factor, part * a.factor, at + 2);
            return a;
        }
        if at > a.to && word(tokens, at) == "three" && word(tokens, at + 1) == "quarters" {
            (a.x, a.step, a.to) = (a.x + 0.75 * a.factor, 0.25 * a.factor, at + 2);
            return a;
        }
        let Some((n, what, factor, next)) = measured(tokens, at) else { return a };
        let minutes = a.what == What::Dim(Dim::Time) && (a.factor - 1.0).abs() < 1e-9;
        let bare = what == What::Bare
            && minutes
            && n.x < 60.0
            && n.x >= 1.0
            && (at == a.to || n.x >= 5.0)
            && ends_here(tokens, n.next);
        let (factor, what) = if bare { (1.0 / 60.0, a.what.clone()) } else { (factor, what) };
        // "three and a half days, 83 hours" says one thing twice.
        let units = a.x / a.factor;
        let part = n.x * factor < a.factor * (1.0 - 1e-9) && (units - units.round()).abs() < 1e-6;
        if what != a.what || factor >= a.factor || !part {
            return a;
        }
        let step = if n.x % 5.0 == 0.0 && what == What::Dim(Dim::Time) { 5.0 } else { n.step.min(1.0) };
        a = Amount { x: a.x + n.x * factor, step: step * factor, to: next, factor, ..a };
    }
}

fn ends_here(tokens: &[Token], i: usize) -> bool {
    let small = [
        "after", "all", "when", "which", "before", "that", "thats", "so", "on", "at", "with", "later", "to",
        "until", "flat", "from", "for", "and", "but", "in", "exactly",
    ];
    tokens.get(i).is_none_or(|t| t.after.is_some() || small.contains(&t.text.as_str()))
}
