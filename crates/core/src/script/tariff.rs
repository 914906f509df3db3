//! What a unit of energy costs, said the other way round: "one usable watt-hour costs 77 cents"; and tariffs of the grid.
use super::amount::Amount;
use super::scene::Scene;
use super::token::Token;
use super::unit::What;
use crate::quantity::Dim;

/// Words that join a unit with its price.
const COSTS: &[&str] = &[
    "cost", "costs", "costing", "pay", "paid", "pays", "price", "priced", "for", "sets", "worth", "comes",
    "works", "charge", "charges", "is", "at",
];

/// A dearer kilowatt-hour is none of the grid's.
const DEAREST: f64 = 3.0;

/// Is it one unit of it: "one kilowatt-hour", "each watt-hour"?
fn one_unit(a: &Amount) -> bool {
    a.what == What::Dim(Dim::Energy) && a.hi.is_none() && (a.x / a.factor - 1.0).abs() < 1e-9
}

/// Makes the price of one unit of energy a price per watt-hour, and takes the unit out of the amounts.
pub fn turn(tokens: &[Token], amounts: &mut Vec<Amount>) {
    let said = |from: usize, to: usize| {
        tokens.get(from..to).is_some_and(|t| t.iter().any(|t| COSTS.contains(&t.text.as_str())))
    };
    let Some(unit) = amounts.iter().position(one_unit) else { return };
    let (from, to, factor) = (amounts[unit].from, amounts[unit].to, amounts[unit].factor);
    let near = |a: &Amount| {
        let (left, right) = if a.at > to { (to, a.from) } else { (a.to, from) };
        // "77 cents, dear listeners, that is what one watt-hour costs you"
        right >= left && right - left <= 9 && (said(left, right) || said(to, (to + 2).min(tokens.len())))
    };
    let price = |a: &Amount| matches!(a.what, What::Money(_)) && near(a);
    let Some(p) = amounts.iter().position(price) else { return };
    let a = &mut amounts[p];
    let What::Money(currency) = a.what else { return };
    let per = a.x / factor;
    (a.step, a.factor) = (a.step / factor, a.factor / factor);
    (a.what, a.x) = (What::MoneyPerWh(currency), per);
    amounts.remove(unit);
}

impl Scene {
    /// A price per watt-hour is said with its unit.
    pub fn says_price_per_wh(&self) -> bool {
        self.amounts.iter().any(|a| matches!(a.what, What::MoneyPerWh(_)))
    }

    /// What the grid asks, or what a charge costs at that: no price of a station.
    pub fn is_tariff(&self, a: &Amount) -> bool {
        let grid =
            |b: &Amount| matches!(b.what, What::MoneyPerWh(_)) && b.x * 1e3 < DEAREST && b.factor < 0.1;
        let small = matches!(a.what, What::Money(_)) && a.x < 20.0 * DEAREST;
        grid(a) || (small && self.amounts.iter().any(grid))
    }
}
