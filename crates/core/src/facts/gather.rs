//! Where the facts of one model come from: results, claims, prices, the drain law, ranks; and what they replaced.
use super::words::{said_money, slug, spoken};
use super::{Fact, Sort, fnv1a};
use crate::claims::ClaimRow;
use crate::drain::Drain;
use crate::law::Load;
use crate::notebook::{Condition, Price};
use crate::quantity::Dim;
use crate::report::{ModelReport, Report, titled};
use crate::shown::{Style, probability, shown, usual};
use crate::uncertain::Value;

/// Loads whose runtime buyers ask for, in W; 0 is on with nothing plugged in.
pub const USUAL_LOADS_W: [f64; 6] = [0.0, 10.0, 60.0, 100.0, 300.0, 500.0];

pub(super) fn fact(report: &Report, model: &ModelReport, key: &str, sort: Sort, value: Value) -> Fact {
    Fact {
        id: format!("{}/{}", slug(&model.id), slug(key)),
        model: model.id.clone(),
        name: model.name.clone(),
        key: key.into(),
        title: String::new(),
        condition: Condition::new(),
        sort,
        value,
        unit: String::new(),
        currency: String::new(),
        seen: String::new(),
        rounded: String::new(),
        spoken: String::new(),
        wording: String::new(),
        do_not_say: Vec::new(),
        trail: Vec::new(),
        version: String::new(),
        as_of: report.as_of.clone(),
        former: String::new(),
    }
}

impl Fact {
    pub(super) fn under(mut self, condition: &Condition) -> Fact {
        for (axis, value) in condition {
            self.id.push_str(&format!("/{}-{}", slug(axis), slug(value)));
        }
        self.condition = condition.clone();
        self
    }
    pub(super) fn in_unit(mut self, unit: &'static crate::quantity::Unit, with: With) -> Fact {
        self.unit = unit.symbol.into();
        if with == With::Words {
            self.rounded = shown(&self.value, unit, Style::POINT).line();
            self.spoken = spoken(&self.value, unit);
        }
        self
    }
    pub(super) fn sealed(mut self) -> Fact {
        let text = format!("{}\n{}\n{}", self.id, self.rounded, self.wording);
        self.version = format!("{:016x}", fnv1a(&text));
        self
    }
}

/// Rounded and spoken forms cost an interval each; who only looks numbers up goes without.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum With {
    /// Rounded form, spoken form and a wording that holds them.
    Words,
    /// The numbers alone.
    Numbers,
}

/// Facts of one model that hold, without what its places say; and how many of them, at the front, are of measurements, which
/// a place adds to.
pub fn apart(report: &Report, model: &ModelReport, old: &[Fact], with: With) -> (Vec<Fact>, usize) {
    let mut all = measured(report, model, with);
    let count = all.len();
    all.extend(share(report, model, &all, with));
    all.extend(model.claims.iter().flat_map(|c| claimed(report, model, c, with)));
    all.extend(prices(report, model));
    all.extend(runtimes(report, model, with));
    (replacing(all, old), count)
}

/// Facts with what they replaced.
pub(super) fn replacing(mut all: Vec<Fact>, old: &[Fact]) -> Vec<Fact> {
    for f in &mut all {
        let replaced = old.iter().filter(|o| o.key == f.key && o.condition == f.condition);
        for o in replaced {
            let never = match o.may_be_printed() {
                true => format!("{}: {}", o.rounded, o.former),
                false => "a price that was noted without its day".into(),
            };
            if !f.do_not_say.contains(&never) {
                f.do_not_say.push(never);
            }
        }
    }
    all.into_iter().map(Fact::sealed).collect()
}

fn measured(report: &Report, model: &ModelReport, with: With) -> Vec<Fact> {
    let mut all: Vec<Fact> = Vec::new();
    for row in model.rows.iter().filter(|r| !r.superseded) {
        let same = |f: &&mut Fact| f.key == row.result.key && f.condition == row.condition;
        if let Some(known) = all.iter_mut().find(same) {
            known.trail.extend(row.tests.iter().cloned());
            continue;
        }
        let Some(value) = model.value(row.result.key, &row.condition) else { continue };
        let mut f = fact(report, model, row.result.key, Sort::Measured, value).under(&row.condition);
        f.title = titled(row.result, &row.condition);
        f.trail = row.tests.clone();
        let mut f = f.in_unit(row.result.shown_in(), with);
        f.wording = format!("{}: {} measured ({}).", model.name, f.rounded, lower(&f.title));
        all.push(f);
    }
    all
}

/// Stations named one by one in a phrase; the others are counted.
const NAMED: usize = 3;

/// "better or worse than X, Y or 12 others": where the difference may be zero.
pub(super) fn ties(report: &Report, model: &ModelReport, key: &str, condition: &Condition) -> Option<String> {
    let column = report.columns.iter().position(|c| c.result.key == key && c.condition == *condition);
    let place = model.place(column.unwrap_or(usize::MAX));
    let ties = place.map_or(&[][..], |p| &p.ties);
    let name = |i: &usize| report.models.get(*i).map(|m| m.name.clone());
    let mut names: Vec<String> = ties.iter().take(NAMED).filter_map(name).collect();
    match ties.len().saturating_sub(NAMED) {
        0 => {}
        1 => names.push("one other".into()),
        n => names.push(format!("{n} others")),
    }
    let last = names.pop()?;
    let list = if names.is_empty() { last } else { format!("{} or {last}", names.join(", ")) };
    Some(format!("better or worse than {list}: the difference is within the error"))
}

fn lower(title: &str) -> String {
    let mut chars = title.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().collect::<String>() + chars.as_str())
}

/// Usable energy as a share of the stated stored energy.
fn share(report: &Report, model: &ModelReport, measured: &[Fact], with: With) -> Vec<Fact> {
    let stated = model.claims.iter().find(|c| c.claim.key == "stored-energy").and_then(|c| c.limit);
    let Some(stated) = stated.filter(|s| *s > 0.0) else { return Vec::new() };
    let rows = measured.iter().filter(|f| f.key == "usable-energy");
    rows.map(|e| {
        let mut value = e.value.scaled(1.0 / stated);
        value.dim = Dim::Ratio;
        let mut f = fact(report, model, "usable-share", Sort::Measured, value).under(&e.condition);
        f.title = e.title.replacen("Usable energy", "Usable share of the stated energy", 1);
        f.trail = e.trail.clone();
        let mut f = f.in_unit(usual(Dim::Ratio), with);
        f.wording =
            format!("{}: {} of the stated {stated:.0} Wh came out of the outlet.", model.name, f.rounded);
        f.do_not_say = vec!["that the stored energy falls short: outlet energy does not judge it".into()];
        f
    })
    .collect()
}

fn claimed(report: &Report, model: &ModelReport, row: &ClaimRow, with: With) -> Vec<Fact> {
    let (Some(result), Some(limit)) = (row.result, row.limit) else { return Vec::new() };
    let key = row.claim.key.as_str();
    let at = |mut f: Fact, part: &str| {
        f.id = format!("{}/claim/{}", slug(&model.id), slug(key));
        f.key = key.into();
        f = f.under(&row.claim.condition);
        if !part.is_empty() {
            f.id.push_str(&format!("/{part}"));
        }
        let same = |c: &&ClaimRow| c.claim.key == key && c.claim.condition == row.claim.condition;
        if model.claims.iter().filter(same).count() > 1 {
            f.id.push_str(&format!("/{}", slug(&row.claim.text)));
        }
        f.title = format!("Claimed: {}", lower(&titled(result, &row.claim.condition)));
        f.trail = row.tests.clone();
        f
    };
    let claim = fact(report, model, key, Sort::Claimed, Value::exact(result.dim, limit));
    let mut claim = at(claim, "").in_unit(result.shown_in(), with);
    claim.spoken = claim.spoken.trim_start_matches("about ").to_string();
    let verdict = row.verdict.words();
    let stated = lower(&titled(result, &row.claim.condition));
    claim.wording = format!("The maker of {} states {stated}: {}; {verdict}.", model.name, row.claim.text);
    if row.verdict.against() {
        claim.do_not_say.push(format!("{} without \"claimed\": {verdict}", row.claim.text));
    } else if row.measured.is_none() && row.counted.is_none() {
        claim.do_not_say.push(format!("as a result: {} was not tested here", lower(result.title)));
    }
    let mut all = Vec::new();
    let why = if row.why.is_empty() { String::new() } else { format!("; {}", row.why) };
    if let Some(p) = row.p {
        let mut f = at(fact(report, model, key, Sort::Verdict, Value::exact(Dim::Ratio, p)), "verdict");
        f.rounded = format!("{verdict} ({})", probability(p));
        f.spoken = verdict.into();
        f.wording = format!("{}: claim of {} {verdict}{why}.", model.name, row.claim.text);
        all.push(f);
    }
    if let Some(c) = &row.counted {
        for (part, n) in [("trials", c.n), ("beyond", c.k)] {
            let mut f = at(fact(report, model, key, Sort::Count, Value::exact(Dim::Count, n as f64)), part);
            f.rounded = format!("{} of {} beyond {}", c.k, c.n, row.claim.text);
            f.spoken = format!("{} of {} trials", c.k, c.n);
            f.wording = format!(
                "{}: {} of {} trials beyond the claimed {}; claim {verdict}.",
                model.name, c.k, c.n, row.claim.text
            );
            all.push(f);
        }
    }
    all.insert(0, claim);
    all
}

pub(super) fn price_fact(report: &Report, model: &ModelReport, price: &Price) -> Fact {
    let mut f = fact(report, model, "price", Sort::Price, Value::exact(Dim::Count, price.amount));
    f.id.push_str(&format!("/{}-{}", slug(&price.kind), price.on));
    f.title = format!("Price, {}", price.kind);
    f.unit = price.currency.clone();
    (f.currency, f.seen) = (price.currency.clone(), price.on.clone());
    f.rounded = format!("{} {}", crate::shown::four_digits(price.amount, Style::POINT), price.currency);
    f.spoken = said_money(price.amount, &price.currency);
    f.wording = format!("{}: {} ({} price of {}).", model.name, f.rounded, price.kind, price.on);
    f
}

/// Every dated price that is not old; and per usable Wh by the price that counts.
pub(super) fn prices(report: &Report, model: &ModelReport) -> Vec<Fact> {
    let Some(noted) = report.notebook.model(&model.id) else { return Vec::new() };
    let Some(price) = &model.price.price else {
        // No price counts for the comparison; another currency's may still be said.
        let other =
            noted.prices.iter().filter(|p| !p.on.is_empty() && p.on <= report.as_of && p.bundle.is_empty());
        return other
            .max_by(|a, b| a.on.cmp(&b.on))
            .map(|p| price_fact(report, model, p))
            .into_iter()
            .collect();
    };
    let mut main = price_fact(report, model, price);
    let mut all = Vec::new();
    if let Some(per) = &model.price.per_wh {
        let mut f = fact(report, model, "price-per-wh", Sort::Price, per.clone());
        f.title = "Price per usable Wh, load 50 %".into();
        f.unit = format!("{}/Wh", price.currency);
        (f.currency, f.seen) = (price.currency.clone(), price.on.clone());
        f.rounded = format!("{} {}", shown(per, Dim::Count.kept_in(), Style::POINT).line(), f.unit);
        let cents = matches!(price.currency.as_str(), "USD" | "EUR");
        f.spoken = match cents {
            true => format!("about {:.0} cents a watt-hour", per.x * 100.0),
            false => format!("about {:.2} {} a watt-hour", per.x, price.currency),
        };
        f.wording = format!("{}: {} by the {} price of {}.", model.name, f.rounded, price.kind, price.on);
        all.push(f);
    }
    if model.price.old {
        for f in all.iter_mut().chain([&mut main]) {
            f.do_not_say.push(format!("without its date: the price is of {}", price.on));
        }
    }
    all.insert(0, main);
    all
}

/// Laws that hold.
fn laws(model: &ModelReport) -> impl Iterator<Item = &Drain> {
    model.drains.iter().filter(|d| !d.superseded)
}

/// The runtime of a model at a steady load by its first law that answers; `None` where it is refused.
pub fn runtime(report: &Report, model: &ModelReport, watts: f64, with: With) -> Option<Fact> {
    laws(model).find_map(|d| runtime_by(report, model, d, watts, with))
}

pub(super) fn runtime_by(
    report: &Report,
    model: &ModelReport,
    law: &Drain,
    watts: f64,
    with: With,
) -> Option<Fact> {
    let (hours, _) = law.answer(Load::steady(watts))?.ok()?;
    let condition = Condition::from([("load".to_string(), format!("{watts:.0} W"))]);
    let mut f = fact(report, model, "runtime", Sort::Runtime, hours).under(&condition);
    f.title = match watts {
        0.0 => "On with nothing plugged in".into(),
        w => format!("Runtime at {w:.0} W"),
    };
    f.trail = law.rows.iter().map(|r| r.test.clone()).collect();
    let mut f = f.in_unit(Dim::Time.kept_in(), with);
    f.wording = format!("{}: {} ({}), from the runtime curve.", model.name, f.rounded, lower(&f.title));
    let off = report.notebook.model(&model.id).map(|m| &m.switch_off);
    if let Some(off) = off.filter(|o| o.on_by_default && watts < o.below_w) {
        f.do_not_say.push(format!("without power saving off: it switches off below {:.0} W", off.below_w));
    }
    Some(f)
}

fn runtimes(report: &Report, model: &ModelReport, with: With) -> Vec<Fact> {
    USUAL_LOADS_W.iter().filter_map(|w| runtime(report, model, *w, with)).collect()
}

/// What a place says, in a column that several models stand in.
pub(super) fn rank(
    report: &Report,
    model: &ModelReport,
    (index, place): &(usize, std::sync::Arc<crate::report::Place>),
) -> Option<Fact> {
    let column = report.columns.get(*index)?;
    let n = place.of;
    if n < 2 {
        return None;
    }
    let value = Value::exact(Dim::Count, place.low as f64);
    let mut f = fact(report, model, column.result.key, Sort::Rank, value);
    f.id = format!("{}/rank/{}", slug(&model.id), column.result.key);
    let mut f = f.under(&column.condition);
    f.title = format!("Rank in {}", lower(&titled(column.result, &column.condition)));
    f.rounded = match place.low == place.high {
        true => format!("{} of {n}", place.low),
        false => format!("{} to {} of {n}", place.low, place.high),
    };
    f.spoken = format!("place {}", f.rounded);
    f.wording =
        format!("{}: {} in {}.", model.name, f.spoken, lower(&titled(column.result, &column.condition)));
    if place.low != place.high {
        f.do_not_say.push("\"best\" or any single place: the places cannot be told apart".into());
    }
    Some(f)
}
