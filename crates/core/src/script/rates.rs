//! Rates that are told first: "per kilogram the Fell offers 68 Wh", "for every dollar you get one and a quarter
//! watt-hours", "per watt-hour it is 77 cents".
use super::amount::Amount;
use super::token::Token;
use super::unit::{What, unit_at};
use crate::quantity::Dim;

/// What the amounts behind it are for one of.
enum Each {
    /// A kilogram, a dollar: its name and how many of the kept unit it is.
    Of(&'static str, f64),
    /// A watt-hour: how many of the kept unit.
    Energy(f64),
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// The rate that begins at token `i`, and the token behind it.
fn each(tokens: &[Token], i: usize) -> Option<(Each, usize)> {
    let at = match (word(tokens, i), word(tokens, i + 1)) {
        ("for", "every" | "each") => i + 2,
        ("per", _) => i + 1,
        _ => return None,
    };
    let at = at + usize::from(matches!(word(tokens, at), "usable" | "single" | "one"));
    match word(tokens, at) {
        "kg" | "kilo" | "kilogram" => return Some((Each::Of("kg", 1.0), at + 1)),
        "lb" | "pound" => return Some((Each::Of("kg", 0.453_592_37), at + 1)),
        "dollar" | "buck" => return Some((Each::Of("USD", 1.0), at + 1)),
        _ => {}
    }
    match unit_at(tokens, at)? {
        (What::Dim(Dim::Energy), factor, end) => Some((Each::Energy(factor), end)),
        _ => None,
    }
}

/// Makes rates of the amounts behind a rate that is told first.
pub fn told_first(tokens: &[Token], amounts: &mut [Amount]) {
    let inside = |i: usize| amounts.iter().any(|a| a.from <= i && i < a.to);
    // What belongs to a number before it is none: "77 cents per watt-hour".
    let number = |i: usize| amounts.iter().any(|a| a.to == i);
    let topic = |i: usize| {
        i.checked_sub(1)
            .is_some_and(|k| matches!(word(tokens, k), "price" | "cost" | "money" | "dollars" | "cents"))
    };
    let found = (0..tokens.len()).filter(|i| !inside(*i) && !number(*i) && !topic(*i));
    let Some((rate, end)) = found.filter_map(|i| each(tokens, i)).next() else { return };
    for a in amounts.iter_mut().filter(|a| a.from >= end) {
        let per = match (&rate, &a.what) {
            (Each::Of(name, of), What::Dim(Dim::Energy)) if a.x < 300.0 => Some((What::EnergyPer(name), *of)),
            (Each::Energy(of), What::Money(currency)) if a.x < 3.0 => Some((What::MoneyPerWh(currency), *of)),
            _ => None,
        };
        if let Some((what, of)) = per {
            (a.x, a.step, a.factor, a.what) = (a.x / of, a.step / of, a.factor / of, what);
        }
    }
}
