//! A tester's old table, one row per station: what each column means, and the records it becomes.
//!
//! Results in it are summaries without readings: they are written down as such, never judged and never ranked, because
//! nobody can say how uncertain they are.
use crate::claims;
use crate::kinds::KINDS;
use crate::measurand::ResultSpec;
use crate::notebook::Condition;
use crate::quantity::Unit;

mod plan;
mod words;

pub use plan::{Plan, plan};

/// What a column holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Meaning {
    /// Nothing that is taken over.
    Skip,
    /// Name of the station, or of its maker: these are joined in the order of the columns.
    Name,
    /// A maker's figure.
    Claim(&'static ResultSpec, Condition),
    /// A result found earlier.
    Earlier(&'static ResultSpec, Condition),
    /// An amount of money.
    Price,
    /// Day of the price.
    PriceDate,
    /// Currency of the price, ISO 4217.
    Currency,
    /// Nominal outlet voltage.
    Mains,
    /// Cell chemistry.
    Chemistry,
    /// A remark.
    Note,
}

impl Meaning {
    /// As it is written in a form: `name`, `claim:mass`, `earlier:usable-energy:load=50 %`.
    pub fn key(&self) -> String {
        let of = |sort: &str, spec: &ResultSpec, condition: &Condition| {
            let axes: Vec<String> = condition.iter().map(|(k, v)| format!(":{k}={v}")).collect();
            format!("{sort}:{}{}", spec.key, axes.concat())
        };
        match self {
            Meaning::Skip => "skip".into(),
            Meaning::Name => "name".into(),
            Meaning::Claim(spec, condition) => of("claim", spec, condition),
            Meaning::Earlier(spec, condition) => of("earlier", spec, condition),
            Meaning::Price => "price".into(),
            Meaning::PriceDate => "price-date".into(),
            Meaning::Currency => "currency".into(),
            Meaning::Mains => "mains".into(),
            Meaning::Chemistry => "chemistry".into(),
            Meaning::Note => "note".into(),
        }
    }

    /// The reverse of [`Meaning::key`]; `None` for anything else.
    pub fn of_key(key: &str) -> Option<Meaning> {
        let plain = [
            Meaning::Skip,
            Meaning::Name,
            Meaning::Price,
            Meaning::PriceDate,
            Meaning::Currency,
            Meaning::Mains,
            Meaning::Chemistry,
            Meaning::Note,
        ];
        if let Some(found) = plain.into_iter().find(|m| m.key() == key) {
            return Some(found);
        }
        let mut parts = key.split(':');
        let (sort, spec) = (parts.next()?, claims::spec_of(parts.next()?)?);
        let condition = parts.filter_map(|p| p.split_once('=')).map(|(k, v)| (k.into(), v.into())).collect();
        match sort {
            "claim" => Some(Meaning::Claim(spec, condition)),
            "earlier" => Some(Meaning::Earlier(spec, condition)),
            _ => None,
        }
    }

    /// In words.
    pub fn words(&self) -> String {
        let titled = |sort: &str, spec: &'static ResultSpec, condition: &Condition| {
            format!("{sort}: {}", crate::report::titled(spec, condition).to_lowercase())
        };
        match self {
            Meaning::Skip => "not taken over".into(),
            Meaning::Name => "name of the station".into(),
            Meaning::Claim(spec, condition) => titled("stated", spec, condition),
            Meaning::Earlier(spec, condition) => titled("found earlier", spec, condition),
            Meaning::Price => "price".into(),
            Meaning::PriceDate => "day of the price".into(),
            Meaning::Currency => "currency".into(),
            Meaning::Mains => "outlet voltage".into(),
            Meaning::Chemistry => "cell chemistry".into(),
            Meaning::Note => "remark".into(),
        }
    }
}

/// A column as understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Header as written.
    pub name: String,
    /// What it holds.
    pub meaning: Meaning,
    /// Unit of numbers without one, from the header; `None` where the header has none.
    pub unit: Option<&'static Unit>,
}

/// A table as understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Columns in order.
    pub columns: Vec<Column>,
    /// Index of the header among the rows.
    pub header: usize,
}

/// Understands rows of text. `None` where no row looks like a header with a name of stations beside something else.
pub fn understand(rows: &[Vec<String>]) -> Option<Table> {
    // Titles may stand above the header; nobody puts ten of them.
    let header = (0..rows.len().min(10)).find(|r| {
        let all = words::meanings(&rows[*r]);
        all.contains(&Meaning::Name) && all.iter().any(|m| !matches!(m, Meaning::Name | Meaning::Skip))
    })?;
    let meanings = words::meanings(&rows[header]);
    let columns = rows[header].iter().zip(meanings).map(|(name, meaning)| column(name, meaning));
    Some(Table { columns: columns.collect(), header })
}

/// A column with the unit its header gives for what it holds.
pub fn column(name: &str, meaning: Meaning) -> Column {
    let dim = match &meaning {
        Meaning::Claim(spec, _) | Meaning::Earlier(spec, _) => Some(spec.dim),
        Meaning::Mains => Some(crate::quantity::Dim::Voltage),
        _ => None,
    };
    let symbols = || name.split(|c: char| !(c.is_alphanumeric() || "%°".contains(c)));
    let unit = dim.and_then(|d| symbols().filter(|s| !s.is_empty()).find_map(|s| Unit::of(s, d)));
    Column { name: name.trim().into(), meaning, unit }
}

/// Axis values of a result's kind that a header names: `50 %` under `load`.
pub(crate) fn condition_in(header: &str, spec: &ResultSpec) -> Condition {
    let tight = |s: &str| s.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_lowercase();
    let kind = KINDS.iter().map(|k| k.spec()).find(|s| s.results.iter().any(|r| r.key == spec.key));
    let axes = kind.into_iter().flat_map(|s| s.axes.iter());
    // The longest first, so that 100 % is not taken for 10 %.
    axes.filter_map(|axis| {
        let named = axis.values.iter().filter(|v| tight(header).contains(&tight(v)));
        named.max_by_key(|v| v.len()).map(|v| (axis.key.to_string(), (*v).to_string()))
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(header: &[&str]) -> Vec<String> {
        let row: Vec<String> = header.iter().map(|s| s.to_string()).collect();
        let table = understand(&[row]).expect("a table");
        table.columns.iter().map(|c| c.meaning.key()).collect()
    }

    #[test]
    fn headers_in_the_words_of_the_trade() {
        let header = [
            "Model",
            "Claimed capacity (Wh)",
            "Usable energy at 50 % (Wh)",
            "Weight kg",
            "Price",
            "seen on",
            "Notes",
        ];
        let wanted = [
            "name",
            "claim:stored-energy",
            "earlier:usable-energy:load=50 %",
            "earlier:mass",
            "price",
            "price-date",
            "note",
        ];
        assert_eq!(keys(&header), wanted);
        assert_eq!(
            keys(&["station", "rated W", "idle (W)"]),
            ["name", "claim:sustained-output", "earlier:idle-draw"]
        );
    }

    #[test]
    fn a_key_says_all_of_it() {
        for key in ["name", "skip", "claim:mass", "earlier:usable-energy:load=50 %"] {
            assert_eq!(Meaning::of_key(key).map(|m| m.key()).as_deref(), Some(key));
        }
        assert_eq!(Meaning::of_key("earlier:nonsense"), None);
    }

    #[test]
    fn a_log_is_no_table_of_stations() {
        let row = |cells: [&str; 3]| cells.map(String::from).to_vec();
        assert_eq!(understand(&[row(["time", "W", "kWh"]), row(["2026-05-02 10:00", "575", "1.2"])]), None);
    }
}
