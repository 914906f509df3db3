//! From an understood table to the records that it becomes. Nothing is written here.
use super::{Column, Meaning, Table};
use crate::finding::Finding;
use crate::measurand::ResultSpec;
use crate::notebook::{Bound, Claim, Condition, Earlier, Model, Notebook, Price};
use crate::number::{self, Marks};
use crate::quantity::{Dim, Unit};
use crate::reading::marks_of;

/// What would be written down.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    /// Models as they shall stand, only those that change; new ones have an empty id.
    pub models: Vec<Model>,
    /// Rows that say nothing new.
    pub unchanged: usize,
    /// How many claims, prices and earlier results are new.
    pub claims: usize,
    /// See `claims`.
    pub prices: usize,
    /// See `claims`.
    pub earlier: usize,
    /// What could not be read, and what was assumed.
    pub findings: Vec<Finding>,
}

/// Names of rows that sum up others.
const SUMS: [&str; 6] = ["average", "mean", "median", "total", "sum", "best"];

/// What the rows come to on this bench. `source` names the file; the same table again changes nothing.
pub fn plan(table: &Table, rows: &[Vec<String>], notebook: &Notebook, source: &str) -> Plan {
    let mut out = Plan::default();
    let marks = marks_of(&notebook.settings);
    for (n, row) in rows.iter().enumerate().skip(table.header + 1) {
        let filled = table.columns.iter().zip(row).filter(|(_, cell)| !cell.trim().is_empty());
        let cells: Vec<(&Column, &str)> = filled.map(|(c, cell)| (c, cell.trim())).collect();
        if cells.is_empty() {
            continue;
        }
        let names = cells.iter().filter(|(c, _)| c.meaning == Meaning::Name).map(|(_, t)| *t);
        let name = names.collect::<Vec<_>>().join(" ");
        let place = format!("row {}", n + 1);
        if name.is_empty() || SUMS.contains(&name.to_lowercase().as_str()) {
            let text = match name.is_empty() {
                true => "no station is named in this row".to_string(),
                false => format!("`{name}` sums up other rows"),
            };
            out.findings.push(Finding::note("row-left-out", place, text, "nothing of it is taken over"));
            continue;
        }
        let at = out.models.iter().position(|m| m.name.eq_ignore_ascii_case(&name));
        let known = || notebook.models.iter().find(|m| m.name.eq_ignore_ascii_case(&name)).cloned();
        let before = match at {
            Some(at) => out.models[at].clone(),
            None => known().unwrap_or(Model { name: name.clone(), ..Model::default() }),
        };
        let mut model = before.clone();
        let mut of_row =
            Row { model: &mut model, marks, source: format!("{source}, {place}"), place, out: &mut out };
        of_row.take(&cells, &notebook.settings.currency);
        match at {
            Some(at) => out.models[at] = model,
            None if model != before || model.id.is_empty() => out.models.push(model),
            None => out.unchanged += 1,
        }
    }
    out
}

/// One row on its way into a model.
struct Row<'a> {
    model: &'a mut Model,
    marks: Marks,
    source: String,
    place: String,
    out: &'a mut Plan,
}

impl Row<'_> {
    fn take(&mut self, cells: &[(&Column, &str)], usual: &str) {
        for (column, cell) in cells {
            match &column.meaning {
                Meaning::Claim(spec, condition) => self.claim(spec, condition, column, cell),
                Meaning::Earlier(spec, condition) => self.earlier(spec, condition, column, cell),
                Meaning::Mains => match self.number(column, cell, Dim::Voltage) {
                    Some(text) if self.model.mains_v == 0.0 => self.model.mains_v = text.1,
                    _ => {}
                },
                Meaning::Chemistry if self.model.chemistry.is_empty() => {
                    self.model.chemistry = (*cell).into()
                }
                Meaning::Note => self.note(cell),
                _ => {}
            }
        }
        self.price(cells, usual);
    }

    fn note(&mut self, text: &str) {
        if !self.model.note.contains(text) {
            let joint = if self.model.note.is_empty() { "" } else { "\n" };
            self.model.note.push_str(&format!("{joint}{text}"));
        }
    }

    /// The figure with its unit as text, and as a number in the unit its dimension is kept in.
    fn number(&mut self, column: &Column, cell: &str, dim: Dim) -> Option<(String, f64)> {
        let unit = column.unit.unwrap_or(dim.kept_in());
        match number::quantity(cell, dim, unit, self.marks) {
            Ok(typed) => {
                let bare = !cell.contains(|c: char| c.is_alphabetic() || "%°".contains(c));
                let text = if bare { with_unit(cell, unit) } else { cell.to_string() };
                Some((text, typed.kept))
            }
            Err(trouble) => {
                let text = format!("{}: {}", column.name, trouble.text);
                let hint = "kept among the remarks of the station as it is written";
                self.out.findings.push(Finding::doubt("cell-not-read", self.place.as_str(), text, hint));
                self.note(&format!("{}: {cell}", column.name));
                None
            }
        }
    }

    fn claim(&mut self, spec: &'static ResultSpec, condition: &Condition, column: &Column, cell: &str) {
        let Some((text, kept)) = self.number(column, cell, spec.dim) else { return };
        let marks = self.marks;
        let same = |c: &Claim| {
            let there = number::quantity(&c.text, spec.dim, spec.dim.kept_in(), marks);
            c.key == spec.key
                && c.condition == *condition
                && there.is_ok_and(|t| (t.kept - kept).abs() < 1e-9)
        };
        if self.model.claims.iter().any(same) {
            return;
        }
        let id = (1..)
            .map(|n| format!("{}-{n}", spec.key))
            .find(|id| self.model.claims.iter().all(|c| c.id != *id));
        self.model.claims.push(Claim {
            id: id.unwrap_or_default(),
            key: spec.key.into(),
            text,
            bound: Bound::AsUsual,
            condition: condition.clone(),
            words: String::new(),
            source: self.source.clone(),
            seen: String::new(),
        });
        self.out.claims += 1;
    }

    fn earlier(&mut self, spec: &'static ResultSpec, condition: &Condition, column: &Column, cell: &str) {
        let Some((text, _)) = self.number(column, cell, spec.dim) else { return };
        let found = Earlier {
            key: spec.key.into(),
            condition: condition.clone(),
            text,
            on: String::new(),
            source: self.source.clone(),
        };
        if !self.model.earlier.contains(&found) {
            self.model.earlier.push(found);
            self.out.earlier += 1;
        }
    }

    fn price(&mut self, cells: &[(&Column, &str)], usual: &str) {
        let of =
            |m: Meaning| cells.iter().find(|(c, _)| c.meaning == m).map(|(c, cell)| (c.name.as_str(), *cell));
        let Some((header, cell)) = of(Meaning::Price) else { return };
        let digits: String = cell.chars().filter(|c| c.is_ascii_digit() || ",. '".contains(*c)).collect();
        let amount = number::quantity(digits.trim(), Dim::Count, Dim::Count.kept_in(), self.marks);
        let Ok(amount) = amount.map(|t| t.kept) else {
            let hint = "kept among the remarks of the station as it is written";
            let text = format!("{header}: `{cell}` is no amount");
            self.out.findings.push(Finding::doubt("cell-not-read", self.place.as_str(), text, hint));
            self.note(&format!("{header}: {cell}"));
            return;
        };
        let said = of(Meaning::Currency).map(|(_, c)| c.to_uppercase());
        let currency = said.or_else(|| currency_in(cell)).or_else(|| currency_in(header));
        if currency.is_none() {
            let text = format!("{header}: no currency is written; taken for {usual}");
            self.out.findings.push(Finding::note(
                "currency-assumed",
                self.place.as_str(),
                text,
                "correct it at the station",
            ));
        }
        let on = of(Meaning::PriceDate).map(|(_, d)| d).filter(|d| d.parse::<jiff::civil::Date>().is_ok());
        let sale = ["sale", "street", "used"].into_iter().find(|w| header.to_lowercase().contains(w));
        let price = Price {
            amount,
            currency: currency.unwrap_or_else(|| usual.into()),
            on: on.unwrap_or_default().into(),
            kind: sale.unwrap_or("list").into(),
            seller: self.source.clone(),
            ..Price::default()
        };
        if !self.model.prices.contains(&price) {
            self.model.prices.push(price);
            self.out.prices += 1;
        }
    }
}

fn with_unit(cell: &str, unit: &'static Unit) -> String {
    if unit.symbol.is_empty() { cell.into() } else { format!("{cell} {}", unit.symbol) }
}

/// A sign or code of a currency; a dollar sign alone does not say whose dollars.
fn currency_in(text: &str) -> Option<String> {
    let signs = [("€", "EUR"), ("£", "GBP"), ("US$", "USD"), ("CA$", "CAD"), ("A$", "AUD")];
    let sign = signs.into_iter().find(|(s, _)| text.contains(s)).map(|(_, code)| code.to_string());
    let words = text.split(|c: char| !c.is_ascii_alphabetic());
    let code = |w: &&str| {
        ["USD", "EUR", "GBP", "CAD", "AUD", "CHF", "JPY", "SEK", "NOK", "DKK", "PLN", "CZK"].contains(w)
    };
    sign.or_else(|| words.into_iter().find(code).map(String::from))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notebook::Settings;

    fn rows(text: &str) -> Vec<Vec<String>> {
        text.lines().map(|l| l.split(';').map(String::from).collect()).collect()
    }

    const TABLE: &str = "My stations so far;;;;\n\
        Model;Capacity Wh;Usable energy at 50 % (Wh);Weight;Price EUR\n\
        Tarnhobble Fell 1010;1010;871;12.9 kg;899\n\
        Gorsefell Cairn 530;530 Wh;;about 7;\n\
        average;770;;;";

    fn read(notebook: &Notebook) -> Plan {
        let rows = rows(TABLE);
        let table = super::super::understand(&rows).expect("a table");
        plan(&table, &rows, notebook, "old.csv")
    }

    #[test]
    fn rows_become_stations_with_claims_prices_and_summaries() {
        let out = read(&Notebook::default());
        assert_eq!((out.models.len(), out.claims, out.prices, out.earlier), (2, 2, 1, 2));
        let fell = &out.models[0];
        assert_eq!((fell.claims[0].key.as_str(), fell.claims[0].text.as_str()), ("stored-energy", "1010 Wh"));
        assert_eq!(fell.earlier[0].text, "871 Wh");
        assert_eq!(fell.earlier[0].condition.get("load").map(String::as_str), Some("50 %"));
        assert_eq!(fell.earlier[1].text, "12.9 kg");
        assert_eq!((fell.prices[0].amount, fell.prices[0].currency.as_str()), (899.0, "EUR"));
        // Without a day it is kept and never printed.
        assert!(fell.prices[0].on.is_empty());
        let codes: Vec<&str> = out.findings.iter().map(|f| f.code.as_str()).collect();
        assert_eq!(codes, ["cell-not-read", "row-left-out"]);
        assert!(out.models[1].note.contains("about 7"), "nothing is lost: {:?}", out.models[1]);
    }

    #[test]
    fn the_same_table_again_changes_nothing() {
        let first = read(&Notebook::default());
        let with_ids = first.models.into_iter().enumerate().map(|(n, m)| Model { id: format!("m{n}"), ..m });
        let bench =
            Notebook { settings: Settings::default(), models: with_ids.collect(), ..Notebook::default() };
        let again = read(&bench);
        assert_eq!((again.models.len(), again.unchanged), (0, 2));
        assert_eq!((again.claims, again.prices, again.earlier), (0, 0, 0));
    }
}
