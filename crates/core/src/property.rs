//! What stations can be compared by: a result under one condition, a price of one basis, and what follows from both.
use crate::kind::{Column, Found};
use crate::measurand::Better;
use crate::notebook::Test;
use crate::price::{self, Basis, PriceRow};
use crate::quantity::{Dim, Unit};
use crate::repeat::{self, ResultRow};
use crate::report::{ModelReport, Report, condition_words};
use crate::shown::{Style, shown};
use crate::uncertain::Value;
use std::collections::BTreeSet;

/// A column of the comparison.
#[derive(Clone, Debug)]
pub struct Property {
    /// Stable name for programs and addresses: "usable-energy load=50 %", "price list USD without tax".
    pub key: String,
    /// "Usable energy".
    pub title: String,
    /// Under which condition, in words; empty when there is none: "load 50 %".
    pub condition: String,
    /// The unit it is shown in.
    pub unit: &'static Unit,
    /// Currency of an amount; empty for a measurement.
    pub currency: String,
    /// Which way is better.
    pub better: Better,
    of: Of,
}

#[derive(Clone, Debug)]
enum Of {
    Result(usize),
    Price(Basis),
    PerWh(Basis),
    PerLifetimeKwh(Basis),
}

/// What one station has in a column.
#[derive(Clone, Debug, Default)]
pub struct Cell {
    /// How much; `None` when it is not known.
    pub value: Option<Value>,
    /// Why it is not known; empty when it is.
    pub why: String,
    /// What makes it unlike its neighbours, or must be said beside it.
    pub notes: Vec<String>,
    /// It rests on a price older than the bench allows.
    pub old: bool,
}

/// Every column some station has a value in: results first, then prices of the usual basis, then of the others.
pub fn properties(report: &Report) -> Vec<Property> {
    let result = |(index, column): (usize, &Column)| Property {
        key: column.name(),
        title: column.result.title.into(),
        condition: condition_words(&column.condition),
        unit: column.result.shown_in(),
        currency: String::new(),
        better: column.result.better,
        of: Of::Result(index),
    };
    let mut all: Vec<Property> = report.columns.iter().enumerate().map(result).collect();
    for basis in Basis::all(&report.notebook, &report.as_of) {
        all.extend(of_basis(&basis, basis == report.basis));
    }
    all
}

fn of_basis(basis: &Basis, usual: bool) -> [Property; 3] {
    let one = |key: &str, title: &str, of: Of| Property {
        key: format!("{key} {} {} {}", basis.kind, basis.currency, basis.tax()),
        title: title.into(),
        // The usual basis goes without saying which, except for the tax.
        condition: if usual { basis.tax().into() } else { basis.words() },
        unit: Dim::Count.kept_in(),
        currency: basis.currency.clone(),
        better: Better::Less,
        of,
    };
    [
        one("price", "Price", Of::Price(basis.clone())),
        one("price-per-wh", "Price per usable Wh", Of::PerWh(basis.clone())),
        one("price-per-lifetime-kwh", "Price per lifetime kWh", Of::PerLifetimeKwh(basis.clone())),
    ]
}

impl Property {
    /// "Usable energy, load 50 %".
    pub fn name(&self) -> String {
        match self.condition.is_empty() {
            true => self.title.clone(),
            false => format!("{}, {}", self.title, self.condition),
        }
    }
    /// Unit or currency: "Wh", "USD".
    pub fn unit_words(&self) -> &str {
        if self.currency.is_empty() { self.unit.symbol } else { &self.currency }
    }
    /// One value of it as text: "911 ± 13 Wh", "0.767 ± 0.011 USD".
    pub fn line(&self, value: &Value, style: Style) -> String {
        let text = shown(value, self.unit, style).line();
        if self.currency.is_empty() { text } else { format!("{text} {}", self.currency) }
    }
    /// Its place among the report's columns; `None` for prices.
    pub fn column(&self) -> Option<usize> {
        match self.of {
            Of::Result(index) => Some(index),
            _ => None,
        }
    }
    /// What a model has in it.
    pub fn cell(&self, report: &Report, model: &ModelReport) -> Cell {
        match &self.of {
            Of::Result(index) => match report.columns.get(*index) {
                Some(column) => measured(report, model, column),
                None => Cell::default(),
            },
            Of::Price(basis) => priced(report, model, basis, |row| {
                let price = row.price.as_ref()?;
                Some((Value::exact(Dim::Count, price.amount), String::new()))
            }),
            Of::PerWh(basis) => {
                priced(report, model, basis, |row| Some((row.per_wh.clone()?, String::new())))
            }
            Of::PerLifetimeKwh(basis) => priced(report, model, basis, |row| {
                let life = row.lifetime.as_ref()?;
                Some((life.per_kwh.clone(), life.words()))
            }),
        }
    }
}

fn measured(report: &Report, model: &ModelReport, column: &Column) -> Cell {
    let Some(value) = model.at(column) else {
        return Cell { why: not_known(report, model, column).into(), ..Cell::default() };
    };
    let rows: Vec<&ResultRow> =
        model.current(column.result.key).filter(|r| r.condition == column.condition).collect();
    let mut notes = Vec::new();
    if rows.len() > 1 {
        notes.push(format!("{} samples", rows.len()));
    }
    let firmware: BTreeSet<&str> = rows.iter().map(|r| r.firmware.as_str()).collect();
    if firmware.len() > 1 {
        let all: Vec<&str> = firmware.iter().map(|f| if f.is_empty() { "not noted" } else { f }).collect();
        notes.push(format!("different firmware: {}", all.join(" and ")));
    }
    let by = revisions(report, &rows);
    if by.len() > 1 {
        let all: Vec<String> = by.iter().map(u32::to_string).collect();
        notes.push(format!("revisions {} of the method together", all.join(" and ")));
    }
    Cell { value: Some(value), notes, ..Cell::default() }
}

/// Revisions of the method the tests behind these results were made by, where noted.
fn revisions(report: &Report, rows: &[&ResultRow]) -> BTreeSet<u32> {
    let tests = rows.iter().flat_map(|r| &r.tests).filter_map(|id| report.notebook.test(id));
    tests.map(|t| t.revision).filter(|r| *r > 0).collect()
}

/// Revisions of the method over a whole column, for a word above it; one or none says nothing.
pub fn revisions_of(report: &Report, column: &Column) -> BTreeSet<u32> {
    let rows: Vec<&ResultRow> = report
        .models
        .iter()
        .flat_map(|m| m.current(column.result.key))
        .filter(|r| r.condition == column.condition)
        .collect();
    revisions(report, &rows)
}

/// Why a cell is empty: tried and not held, tested otherwise, or not tested.
fn not_known(report: &Report, model: &ModelReport, column: &Column) -> &'static str {
    let fits = |f: &Found| f.result.key == column.result.key && f.condition == column.condition;
    let own = |t: &&Test| report.notebook.specimen(&t.specimen).is_some_and(|s| s.model == model.id);
    let mut tests = report.notebook.tests.iter().filter(|t| repeat::counts(t)).filter(own);
    if tests.any(|t| report.outcomes.get(&t.id).is_some_and(|o| o.failed.iter().any(|(f, _)| fits(f)))) {
        return "not held";
    }
    match model.current(column.result.key).next() {
        Some(_) => "not tested under this condition",
        None => "not tested",
    }
}

fn priced(
    report: &Report,
    model: &ModelReport,
    basis: &Basis,
    pick: impl Fn(&PriceRow) -> Option<(Value, String)>,
) -> Cell {
    let row = if *basis == report.basis {
        model.price.clone()
    } else {
        let Some(of) = report.notebook.model(&model.id) else { return Cell::default() };
        price::row(&report.notebook, of, model.at_half_load().as_ref(), basis, &report.as_of)
    };
    let Some(price) = &row.price else { return Cell { why: row.why, ..Cell::default() } };
    let Some((value, note)) = pick(&row) else {
        let why = if row.per_wh.is_none() { "energy at half load not tested" } else { "no cycles stated" };
        return Cell { why: why.into(), ..Cell::default() };
    };
    let age = if row.old { format!("{} days old", row.days) } else { String::new() };
    let notes = [format!("price of {}", price.on), age, note];
    let notes = notes.into_iter().filter(|n| !n.is_empty()).collect();
    Cell { value: Some(value), notes, old: row.old, ..Cell::default() }
}
