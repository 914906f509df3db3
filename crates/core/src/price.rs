//! What a station costs, and what a usable or a lifetime watt-hour costs: by one dated price of one basis.
//!
//! Currency, kind of price and tax make up the basis; prices of different bases never enter one comparison.
use crate::kind::claimed;
use crate::notebook::{Model, Notebook, Price};
use crate::quantity::Dim;
use crate::uncertain::Value;
use jiff::civil::Date;

/// What two prices must share to be compared.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Basis {
    /// ISO 4217.
    pub currency: String,
    /// list, sale, flash sale, used.
    pub kind: String,
    /// Value-added or sales tax is inside.
    pub with_tax: bool,
}

impl Basis {
    fn of(price: &Price) -> Basis {
        Basis { currency: price.currency.clone(), kind: price.kind.clone(), with_tax: price.with_tax }
    }
    /// "list price in USD, without tax".
    pub fn words(&self) -> String {
        format!("{} price in {}, {}", self.kind, self.currency, self.tax())
    }
    /// "tax inside" or "without tax".
    pub fn tax(&self) -> &'static str {
        if self.with_tax { "tax inside" } else { "without tax" }
    }
    /// The basis the bench compares by when nothing else is asked: list prices in its currency, with or without tax as
    /// most of them are; with tax where they are even, since that is what a buyer pays.
    pub fn usual(notebook: &Notebook, as_of: &str) -> Basis {
        let currency = &notebook.settings.currency;
        let list = |tax: bool| Basis { currency: currency.clone(), kind: "list".into(), with_tax: tax };
        let count =
            |basis: Basis| notebook.models.iter().filter(|m| newest(m, &basis, as_of).is_some()).count();
        let (with, without) = (count(list(true)), count(list(false)));
        list(with > 0 && with >= without)
    }
    /// Every basis some station has a dated price of, the usual one first.
    pub fn all(notebook: &Notebook, as_of: &str) -> Vec<Basis> {
        let usual = Basis::usual(notebook, as_of);
        let mut found: Vec<Basis> =
            notebook.models.iter().flat_map(|m| usable(m, as_of)).map(Basis::of).collect();
        found.sort();
        found.dedup();
        found.sort_by_key(|b| *b != usual);
        found
    }
}

/// Prices with a day that has come, of the station alone.
fn usable<'a>(model: &'a Model, as_of: &'a str) -> impl Iterator<Item = &'a Price> {
    let dated = model.prices.iter().filter(move |p| p.on.parse::<Date>().is_ok() && p.on.as_str() <= as_of);
    dated.filter(|p| p.bundle.is_empty())
}

/// The newest dated price of a basis.
pub fn newest<'a>(model: &'a Model, basis: &Basis, as_of: &'a str) -> Option<&'a Price> {
    usable(model, as_of).filter(|p| Basis::of(p) == *basis).max_by(|a, b| a.on.cmp(&b.on))
}

/// What a usable watt-hour costs, by a dated price of one basis.
#[derive(Clone, Debug, Default)]
pub struct PriceRow {
    /// The price that counts: the newest dated one of the basis.
    pub price: Option<Price>,
    /// Per usable Wh at half load, in that currency.
    pub per_wh: Option<Value>,
    /// Per kWh over the life the maker states.
    pub lifetime: Option<Lifetime>,
    /// Older than the settings allow.
    pub old: bool,
    /// Days from the price to the date of the report; 0 without a price.
    pub days: i32,
    /// Why there is none: "no dated price".
    pub why: String,
}

/// Energy over the life the maker states, and its price. The cycles are a claim that nobody tested.
#[derive(Clone, Debug, PartialEq)]
pub struct Lifetime {
    /// Full cycles as stated.
    pub cycles: f64,
    /// Share of the first energy that is left after them.
    pub left: f64,
    /// The maker states that share; otherwise 80 % is taken (common practice).
    pub stated: bool,
    /// Outlet energy over that life, Wh.
    pub energy: Value,
    /// Price per kWh of it.
    pub per_kwh: Value,
}

impl Lifetime {
    /// "3500 cycles to 80 %, as the maker states, untested".
    pub fn words(&self) -> String {
        let to = if self.stated { "as the maker states" } else { "80 % taken, the maker states no share" };
        format!("{:.0} cycles to {:.0} %, {to}, untested", self.cycles, 100.0 * self.left)
    }
}

/// The share left at the end of a cycle claim where the maker states none (common practice).
const LEFT: f64 = 0.80;

/// Everything a price of this basis tells of a model. `energy` is what it gives at half load, Wh.
pub fn row(
    notebook: &Notebook,
    model: &Model,
    energy: Option<&Value>,
    basis: &Basis,
    as_of: &str,
) -> PriceRow {
    let Some(price) = newest(model, basis, as_of).cloned() else {
        return PriceRow { why: why_none(model, basis), ..PriceRow::default() };
    };
    let days = match (as_of.parse::<Date>(), price.on.parse::<Date>()) {
        (Ok(now), Ok(then)) => now.since(then).map_or(0, |s| s.get_days()),
        _ => 0,
    };
    let energy = energy.filter(|e| e.x > 0.0);
    PriceRow {
        per_wh: energy.map(|e| per(price.amount, e)),
        lifetime: energy.and_then(|e| lifetime(notebook, model, e, price.amount)),
        old: days > notebook.settings.price_days as i32,
        days,
        price: Some(price),
        why: String::new(),
    }
}

fn why_none(model: &Model, basis: &Basis) -> String {
    let any = |fits: &dyn Fn(&Price) -> bool| model.prices.iter().any(fits);
    if model.prices.is_empty() {
        "no price noted".into()
    } else if !any(&|p| !p.on.is_empty()) {
        "no dated price".into()
    } else if !any(&|p| p.currency == basis.currency) {
        format!("no price in {}", basis.currency)
    } else if any(&|p| p.currency == basis.currency && p.kind == basis.kind && p.with_tax != basis.with_tax) {
        format!("no price {}", basis.tax())
    } else {
        format!("no dated {} price", basis.kind)
    }
}

/// E = N·E₀·(1 + s)/2: the energy fades in a line from E₀ to s·E₀ over N cycles. Exponential fade gives 0.4 % less at
/// s = 0.8, far inside what a stated number of cycles is worth.
fn lifetime(notebook: &Notebook, model: &Model, first: &Value, amount: f64) -> Option<Lifetime> {
    let cycles = claimed(notebook, model, "cycles", Dim::Count).filter(|n| *n > 0.0)?;
    let claim = model.claims.iter().find(|c| c.key == "cycles")?;
    let found = share_left(&claim.words).or_else(|| share_left(&claim.text));
    let left = found.unwrap_or(LEFT);
    let energy = first.scaled(cycles * (1.0 + left) / 2.0);
    let per_kwh = per(1000.0 * amount, &energy);
    Some(Lifetime { cycles, left, stated: found.is_some(), energy, per_kwh })
}

/// The share in "3,500 cycles to 80 %".
fn share_left(words: &str) -> Option<f64> {
    let before = words.split('%').next().filter(|b| b.len() < words.len())?;
    let digits = before.trim_end().rsplit(|c: char| !c.is_ascii_digit()).next()?;
    digits.parse::<f64>().ok().map(|p| p / 100.0).filter(|s| (0.1..1.0).contains(s))
}

/// amount / energy, the doubts of the energy carried over.
fn per(amount: f64, energy: &Value) -> Value {
    let scaled = energy.scaled(-amount / (energy.x * energy.x));
    Value { dim: Dim::Count, x: amount / energy.x, parts: scaled.parts }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notebook::Claim;
    fn price(amount: f64, currency: &str, kind: &str, with_tax: bool, on: &str) -> Price {
        Price {
            amount,
            currency: currency.into(),
            kind: kind.into(),
            with_tax,
            on: on.into(),
            ..Price::default()
        }
    }
    fn model(words: &str, prices: Vec<Price>) -> Model {
        let cycles =
            Claim { key: "cycles".into(), text: "3000".into(), words: words.into(), ..Claim::default() };
        Model { id: "m".into(), claims: vec![cycles], prices, ..Model::default() }
    }
    fn usd() -> Basis {
        Basis { currency: "USD".into(), kind: "list".into(), with_tax: false }
    }
    #[test]
    fn three_thousand_cycles_of_a_kilowatt_hour() {
        // Linear fade to 80 %: 3000 · 1 kWh · 0.9 = 2700 kWh; 540/2700 = 0.20 a kWh. To 70 %: 2550 kWh.
        let e = Value::exact(Dim::Energy, 1000.0);
        let prices = vec![price(540.0, "USD", "list", false, "2026-06-01")];
        let got = |words: &str| {
            row(&Notebook::default(), &model(words, prices.clone()), Some(&e), &usd(), "2026-06-30")
                .lifetime
                .unwrap()
        };
        let to_80 = got("3,000 cycles to 80 %");
        assert!((to_80.energy.x - 2.7e6).abs() < 1e-6 && (to_80.per_kwh.x - 0.20).abs() < 1e-12);
        assert!(to_80.stated && to_80.words().contains("untested"));
        assert!((got("3000 cycles to 70%").energy.x - 2.55e6).abs() < 1e-6);
        let silent = got("3000 cycles");
        assert!(!silent.stated && silent.energy.x == to_80.energy.x);
    }
    #[test]
    fn bases_are_never_mixed() {
        let m = model(
            "",
            vec![
                price(100.0, "EUR", "list", true, "2026-06-20"),
                price(90.0, "USD", "sale", false, "2026-06-25"),
                price(120.0, "USD", "list", true, "2026-06-26"),
                price(110.0, "USD", "list", false, "2026-05-30"),
                price(105.0, "USD", "list", false, "2027-01-01"),
            ],
        );
        let of = |basis: &Basis| row(&Notebook::default(), &m, None, basis, "2026-06-30");
        let without = of(&usd());
        assert_eq!(without.price.unwrap().amount, 110.0);
        // 30 May to 30 June is 31 days: older than 30.
        assert_eq!((without.days, without.old), (31, true));
        let with = of(&Basis { with_tax: true, ..usd() });
        assert_eq!((with.price.unwrap().amount, with.old), (120.0, false));
        assert_eq!(of(&Basis { currency: "GBP".into(), ..usd() }).why, "no price in GBP");
        let notebook = Notebook { models: vec![m], ..Notebook::default() };
        assert!(Basis::usual(&notebook, "2026-06-30").with_tax);
        assert_eq!(Basis::all(&notebook, "2026-06-30").len(), 4);
        assert_eq!(Basis::all(&notebook, "2026-06-30")[0], Basis::usual(&notebook, "2026-06-30"));
    }
    #[test]
    fn only_taxed_prices_are_said_to_be_so() {
        let m = model("", vec![price(120.0, "USD", "list", true, "2026-06-26")]);
        assert_eq!(row(&Notebook::default(), &m, None, &usd(), "2026-06-30").why, "no price without tax");
    }
}
