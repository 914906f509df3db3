//! Amounts as spoken: a number, its unit, how it was hedged; ranges and lists; durations put together from parts.
use super::number::{self, Number};
use super::token::Token;
use super::unit::{What, unit_at};
use crate::quantity::Dim;

/// How a number was hedged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hedge {
    /// Not at all.
    Plain,
    /// "about", "roughly".
    About,
    /// "just under", "nearly".
    JustUnder,
    /// "just over", "a bit more than".
    JustOver,
    /// "over", "at least".
    Over,
    /// "under", "less than", "up to".
    Under,
    /// "well over".
    WellOver,
    /// "well under".
    WellUnder,
}

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
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// Hedges that stand before a number, longest first.
const BEFORE: &[(&str, Hedge)] = &[
    ("somewhere in the region of", Hedge::About),
    ("in the neighborhood of", Hedge::About),
    ("in the ballpark of", Hedge::About),
    ("in the region of", Hedge::About),
    ("a little less than", Hedge::JustUnder),
    ("a little more than", Hedge::JustOver),
    ("slightly less than", Hedge::JustUnder),
    ("slightly more than", Hedge::JustOver),
    ("a bit less than", Hedge::JustUnder),
    ("a bit more than", Hedge::JustOver),
    ("a hair less than", Hedge::JustUnder),
    ("a touch less than", Hedge::JustUnder),
    ("something like", Hedge::About),
    ("no more than", Hedge::Under),
    ("no less than", Hedge::Over),
    ("not more than", Hedge::Under),
    ("a little under", Hedge::JustUnder),
    ("a little below", Hedge::JustUnder),
    ("a little over", Hedge::JustOver),
    ("a little above", Hedge::JustOver),
    ("slightly under", Hedge::JustUnder),
    ("slightly below", Hedge::JustUnder),
    ("slightly over", Hedge::JustOver),
    ("slightly above", Hedge::JustOver),
    ("a touch under", Hedge::JustUnder),
    ("a touch over", Hedge::JustOver),
    ("a hair under", Hedge::JustUnder),
    ("a hair below", Hedge::JustUnder),
    ("a hair over", Hedge::JustOver),
    ("a hair above", Hedge::JustOver),
    ("a shade under", Hedge::JustUnder),
    ("a shade over", Hedge::JustOver),
    ("a bit under", Hedge::JustUnder),
    ("a bit below", Hedge::JustUnder),
    ("a bit over", Hedge::JustOver),
    ("a bit above", Hedge::JustOver),
    ("just shy of", Hedge::JustUnder),
    ("just short of", Hedge::JustUnder),
    ("just north of", Hedge::JustOver),
    ("just under", Hedge::JustUnder),
    ("just below", Hedge::JustUnder),
    ("just over", Hedge::JustOver),
    ("just above", Hedge::JustOver),
    ("barely over", Hedge::JustOver),
    ("well over", Hedge::WellOver),
    ("well above", Hedge::WellOver),
    ("well under", Hedge::WellUnder),
    ("well below", Hedge::WellUnder),
    ("far less than", Hedge::WellUnder),
    ("far more than", Hedge::WellOver),
    ("more than", Hedge::Over),
    ("less than", Hedge::Under),
    ("fewer than", Hedge::Under),
    ("at least", Hedge::Over),
    ("at most", Hedge::Under),
    ("up to", Hedge::Under),
    ("as much as", Hedge::Under),
    ("north of", Hedge::Over),
    ("south of", Hedge::Under),
    ("upwards of", Hedge::Over),
    ("close to", Hedge::About),
    ("closer to", Hedge::About),
    ("near enough", Hedge::About),
    ("shy of", Hedge::JustUnder),
    ("not quite", Hedge::JustUnder),
    ("a good", Hedge::JustOver),
    ("in under", Hedge::Under),
    ("about", Hedge::About),
    ("around", Hedge::About),
    ("roughly", Hedge::About),
    ("approximately", Hedge::About),
    ("approx", Hedge::About),
    ("some", Hedge::About),
    ("circa", Hedge::About),
    ("ca", Hedge::About),
    ("maybe", Hedge::About),
    ("near", Hedge::About),
    ("say", Hedge::About),
    ("~", Hedge::About),
    ("≈", Hedge::About),
    ("nearly", Hedge::JustUnder),
    ("almost", Hedge::JustUnder),
    ("barely", Hedge::About),
    ("over", Hedge::Over),
    ("above", Hedge::Over),
    ("beyond", Hedge::Over),
    (">", Hedge::Over),
    ("≥", Hedge::Over),
    ("under", Hedge::Under),
    ("below", Hedge::Under),
    ("within", Hedge::Under),
    ("<", Hedge::Under),
    ("≤", Hedge::Under),
];

/// Hedges that stand behind an amount.
const BEHIND: &[(&str, Hedge)] = &[
    ("or so", Hedge::About),
    ("give or take", Hedge::About),
    ("more or less", Hedge::About),
    ("and change", Hedge::JustOver),
    ("and some", Hedge::JustOver),
    ("plus", Hedge::JustOver),
    ("or more", Hedge::Over),
    ("or better", Hedge::Over),
    ("or less", Hedge::Under),
    ("at most", Hedge::Under),
    ("tops", Hedge::Under),
    ("ish", Hedge::About),
];

fn phrase_ends(tokens: &[Token], end: usize, phrase: &str) -> Option<usize> {
    // Nearly every phrase is ruled out by its last word.
    if !phrase.ends_with(word(tokens, end.checked_sub(1)?)) {
        return None;
    }
    let n = phrase.split(' ').count();
    let from = end.checked_sub(n)?;
    phrase.split(' ').enumerate().all(|(k, w)| word(tokens, from + k) == w).then_some(from)
}

/// The hedge that ends before token `at`, and where it starts.
pub fn hedge_before(tokens: &[Token], at: usize) -> (Hedge, usize) {
    let skip =
        usize::from(at > 0 && matches!(word(tokens, at - 1), "a" | "an" | "the" | "$" | "€" | "£" | "only"));
    for end in [at, at - skip] {
        if let Some((h, from)) = BEFORE.iter().find_map(|(p, h)| phrase_ends(tokens, end, p).map(|f| (*h, f)))
        {
            // "5 hours over the weekend": a comma between parts them.
            if tokens.get(end).is_none_or(|t| t.after.is_none()) {
                return (h, from);
            }
        }
    }
    (Hedge::Plain, at)
}

fn hedge_behind(tokens: &[Token], to: usize) -> Option<(Hedge, usize)> {
    BEHIND.iter().find_map(|(p, h)| {
        let end = to + p.split(' ').count();
        (phrase_ends(tokens, end, p) == Some(to)).then_some((*h, end))
    })
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
    // "an hour", "a day", "a kilowatt-hour" are one of it.
    let one = matches!(word(tokens, i), "a" | "an").then(|| unit_at(tokens, i + 1)).flatten();
    // "a kilowatt-hour costs 15 cents" speaks of none; "about a kilowatt-hour" does.
    let time = one.as_ref().is_some_and(|(what, ..)| *what == What::Dim(Dim::Time));
    let hedged = time || hedge_before(tokens, i).0 != Hedge::Plain;
    let one = one.filter(|_| hedged).map(|_| Number { x: 1.0, step: 1.0, next: i + 1 });
    let n = number::number(tokens, i).or(one)?;
    // "911 usable watt-hours"
    let said = matches!(
        word(tokens, n.next),
        "usable" | "real" | "actual" | "measured" | "whole" | "honest" | "solid" | "full"
    );
    let at = n.next + usize::from(said);
    match unit_at(tokens, at) {
        Some((what, factor, next)) => Some((n, what, factor, next)),
        None => Some((n, What::Bare, 1.0, n.next)),
    }
}

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
        if tokens.get(a.to).is_some_and(|t| matches!(t.after, Some(';' | ':' | '(' | '—'))) {
            return a;
        }
        if at > a.to && word(tokens, at) == "a" && matches!(word(tokens, at + 1), "half" | "quarter") {
            let part = if word(tokens, at + 1) == "half" { 0.5 } else { 0.25 };
            (a.x, a.step, a.to) = (a.x + part * a.factor, part * a.factor, at + 2);
            return a;
        }
        let Some((n, what, factor, next)) = measured(tokens, at) else { return a };
        let minutes = a.what == What::Dim(Dim::Time) && (a.factor - 1.0).abs() < 1e-9;
        let bare = what == What::Bare
            && minutes
            && n.x < 60.0
            && n.x >= 1.0
            && at == a.to
            && ends_here(tokens, n.next);
        let (factor, what) = if bare { (1.0 / 60.0, a.what.clone()) } else { (factor, what) };
        if what != a.what || factor >= a.factor {
            return a;
        }
        let step = if n.x % 5.0 == 0.0 && what == What::Dim(Dim::Time) { 5.0 } else { n.step.min(1.0) };
        a = Amount { x: a.x + n.x * factor, step: step * factor, to: next, factor, ..a };
    }
}

fn ends_here(tokens: &[Token], i: usize) -> bool {
    let small =
        ["on", "at", "with", "later", "to", "until", "flat", "from", "for", "and", "but", "in", "exactly"];
    tokens.get(i).is_none_or(|t| t.after.is_some() || small.contains(&t.text.as_str()))
}
