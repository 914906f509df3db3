//! Notebook and outcomes in, report out: the only path from what was written down to what is shown.
use crate::abreast;
use crate::across;
use crate::claims::{self, ClaimRow};
pub use crate::condition::{condition_words, labelled, titled};
use crate::drain::{self, Drain};
use crate::finding::Finding;
use crate::kind::{Column, Spec};
use crate::kinds::{KINDS, columns};
use crate::notebook::{Came, Condition, Model, Notebook, Specimen};
use crate::price::{self, Basis};
use crate::rank;
use crate::repeat::{self, Outcomes, Repeatability, ResultRow};
use crate::transport::{self, Carried};
use crate::uncertain::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The whole bench, computed. Carries its own kinds and columns, so that whoever shows it knows no list.
#[derive(Clone)]
pub struct Report {
    /// What it was computed from.
    pub notebook: Arc<Notebook>,
    /// By test.
    pub outcomes: Arc<Outcomes>,
    /// Date everything that ages is computed for, ISO 8601.
    pub as_of: String,
    /// Which prices are compared: currency, kind and tax.
    pub basis: Basis,
    /// The kinds of test, in order.
    pub kinds: Vec<&'static Spec>,
    /// Every comparison column that some model has a value in.
    pub columns: Vec<Column>,
    /// One per model, in the notebook's order.
    pub models: Vec<ModelReport>,
    /// Scatter from run to run.
    pub scatter: Repeatability,
}

/// One model, computed.
#[derive(Clone)]
pub struct ModelReport {
    /// Id of the model.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Results of its specimens.
    pub rows: Vec<ResultRow>,
    /// Its claims, judged.
    pub claims: Vec<ClaimRow>,
    /// The drain laws of its specimens, one per firmware, oldest first.
    pub drains: Vec<Drain>,
    /// Its place in each column it has a value in: index into the report's columns.
    pub ranks: Vec<(usize, Place)>,
    /// What it and its energy cost, by prices of the report's basis.
    pub price: price::PriceRow,
    /// What was noticed: test id and finding; the id is empty for what belongs to no single test.
    pub findings: Vec<(String, Finding)>,
    /// What stands in the way of publishing it.
    pub gate: Vec<Finding>,
}

/// A place in a column: ranks by confidence, and the models it cannot be told from.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Best rank.
    pub low: usize,
    /// Worst rank.
    pub high: usize,
    /// How many models have a place in the column.
    pub of: usize,
    /// Models whose difference may be zero: indices into those of the report, rising.
    pub ties: Vec<usize>,
}

impl Place {
    /// "3" or "3–5".
    pub fn range(&self) -> String {
        range(self.low, self.high)
    }
}

/// Places by confidence: "3" or "3–5".
pub fn range(low: usize, high: usize) -> String {
    if low == high { low.to_string() } else { format!("{low}–{high}") }
}

/// Computes the report. `today` is the date of the asking, ISO 8601; a date pinned in the settings wins.
pub fn report(notebook: Arc<Notebook>, outcomes: Arc<Outcomes>, today: &str) -> Report {
    let pinned = &notebook.settings.as_of;
    let as_of = if pinned.is_empty() { today.to_string() } else { pinned.clone() };
    let basis = Basis::usual(&notebook, &as_of);
    let scatter = repeat::repeatability(&notebook, &outcomes);
    let mut models = model_reports(&notebook, &outcomes, (&as_of, &basis), scatter);
    let valued = |c: &Column| models.iter().any(|m| m.at(c).is_some());
    let columns: Vec<Column> = columns().iter().filter(|c| valued(c)).cloned().collect();
    place(&columns, &mut models);
    Report {
        basis,
        as_of,
        kinds: KINDS.iter().map(|k| k.spec()).collect(),
        columns,
        models,
        scatter,
        notebook,
        outcomes,
    }
}

/// The notebook model by model, each part with what is common to all: what is asked about one model then need not look
/// through the tests of hundreds.
fn by_model(notebook: &Notebook) -> Vec<Notebook> {
    let common = Notebook {
        settings: notebook.settings.clone(),
        instruments: notebook.instruments.clone(),
        loads: notebook.loads.clone(),
        ..Notebook::default()
    };
    let part = |m: &Model| Notebook { models: vec![m.clone()], ..common.clone() };
    let mut parts: Vec<Notebook> = notebook.models.iter().map(part).collect();
    let place: BTreeMap<&str, usize> =
        notebook.models.iter().enumerate().map(|(i, m)| (m.id.as_str(), i)).collect();
    let mut of_specimen: BTreeMap<&str, usize> = BTreeMap::new();
    for specimen in &notebook.specimens {
        if let Some(&i) = place.get(specimen.model.as_str()) {
            of_specimen.insert(&specimen.id, i);
            parts[i].specimens.push(specimen.clone());
        }
    }
    for test in &notebook.tests {
        if let Some(&i) = of_specimen.get(test.specimen.as_str()) {
            parts[i].tests.push(test.clone());
        }
    }
    parts
}

fn model_reports(
    notebook: &Notebook,
    outcomes: &Outcomes,
    priced: (&str, &Basis),
    scatter: Repeatability,
) -> Vec<ModelReport> {
    let reset = across::reset_counters(notebook);
    let mut rows_of: BTreeMap<String, Vec<ResultRow>> = BTreeMap::new();
    for row in repeat::rows(notebook, outcomes, scatter) {
        rows_of.entry(row.specimen.clone()).or_default().push(row);
    }
    abreast::each(&by_model(notebook), |part| {
        let rows = part.specimens.iter().filter_map(|s| rows_of.get(&s.id)).flatten().cloned().collect();
        let mut model = model_report(part, outcomes, rows, priced, scatter);
        model.findings.extend(part.tests.iter().filter_map(|t| across::counter_not_reset(&reset, t)));
        model
    })
}

/// The report on the only model of this part of the notebook.
fn model_report(
    notebook: &Notebook,
    outcomes: &Outcomes,
    mut rows: Vec<ResultRow>,
    (as_of, basis): (&str, &Basis),
    scatter: Repeatability,
) -> ModelReport {
    let model = &notebook.models[0];
    let specimens: Vec<&Specimen> = notebook.specimens.iter().collect();
    let drains: Vec<Drain> =
        specimens.iter().flat_map(|s| drain::of_specimen(notebook, outcomes, s, scatter)).collect();
    rows.extend(drains.iter().filter_map(Drain::idle));
    repeat::mark_superseded(notebook, &mut rows);
    let claims = claims::judge_all(notebook, model, &rows, outcomes);
    let mut findings: Vec<(String, Finding)> = notebook
        .tests
        .iter()
        .flat_map(|t| {
            outcomes.get(&t.id).into_iter().flat_map(|o| &o.findings).map(|f| (t.id.clone(), f.clone()))
        })
        .collect();
    findings.extend(across::findings(notebook, outcomes, model, &rows));
    let mut report = ModelReport {
        id: model.id.clone(),
        name: model.name.clone(),
        rows,
        claims,
        drains,
        ranks: Vec::new(),
        price: price::PriceRow::default(),
        findings,
        gate: gate(model, &specimens),
    };
    report.price = price::row(notebook, model, report.at_half_load().as_ref(), basis, as_of);
    report
}

impl Report {
    /// One model computed again from a notebook that holds what belongs to it: how it was, or how it would be. Takes the
    /// columns, the date and the scatter of this report; without places.
    pub fn again(&self, notebook: Notebook, outcomes: Outcomes) -> Report {
        let models = model_reports(&notebook, &outcomes, (&self.as_of, &self.basis), self.scatter);
        Report {
            as_of: self.as_of.clone(),
            basis: self.basis.clone(),
            kinds: self.kinds.clone(),
            columns: self.columns.clone(),
            models,
            scatter: self.scatter,
            notebook: Arc::new(notebook),
            outcomes: Arc::new(outcomes),
        }
    }
    /// Names of the first `most` of these stations, by id, and how many more there are.
    pub fn some_names<'a>(&'a self, ids: &'a [String], most: usize) -> (Vec<&'a str>, usize) {
        let name = |id: &String| self.models.iter().find(|m| m.id == *id).map(|m| m.name.as_str());
        (ids.iter().take(most).filter_map(name).collect(), ids.len().saturating_sub(most))
    }
    /// The models of a place that cannot be told from it.
    pub fn tied<'a>(&'a self, place: &'a Place) -> impl Iterator<Item = &'a ModelReport> {
        place.ties.iter().filter_map(|i| self.models.get(*i))
    }
}

impl ModelReport {
    /// The value in one cell of the comparison, its specimens taken together.
    pub fn at(&self, column: &Column) -> Option<Value> {
        self.value(column.result.key, &column.condition)
    }
    /// The current value of a result under exactly this condition.
    pub fn value(&self, key: &str, condition: &Condition) -> Option<Value> {
        let fits = |r: &&ResultRow| r.result.key == key && r.condition == *condition && !r.superseded;
        let values: Vec<Value> = self.rows.iter().filter(fits).map(|r| r.value.clone()).collect();
        claims::of_model(&self.id, &values)
    }
    /// What the rules say of taking it along, by the energy the maker states.
    pub fn carried(&self) -> Vec<Carried> {
        let stated = self.claims.iter().find(|c| c.claim.key == "stored-energy").and_then(|c| c.limit);
        transport::carried(stated)
    }
    /// Usable energy at half load, by which prices per Wh are reckoned.
    pub fn at_half_load(&self) -> Option<Value> {
        self.value("usable-energy", &Condition::from([("load".into(), "50 %".into())]))
    }
    /// Its place in a column; `None` when it has no value there.
    pub fn place(&self, column: usize) -> Option<&Place> {
        self.ranks.iter().find(|(i, _)| *i == column).map(|(_, place)| place)
    }
    /// Current results of one key under any condition.
    pub fn current(&self, key: &str) -> impl Iterator<Item = &ResultRow> {
        self.rows.iter().filter(move |r| r.result.key == key && !r.superseded)
    }
}

/// Ranks every model in every column; values of one column are of one method and condition.
fn place(columns: &[Column], models: &mut [ModelReport]) {
    let ranked = abreast::each(columns, |column| {
        let valued = models.iter().enumerate().filter_map(|(i, m)| Some((i, m.at(column)?)));
        let (whose, values): (Vec<usize>, Vec<Value>) = valued.unzip();
        (rank::ranks(&values, column.result.better), whose)
    });
    for (index, (ranks, whose)) in ranked.into_iter().enumerate() {
        for (rank, &i) in ranks.into_iter().zip(&whose) {
            let ties = rank.ties.into_iter().map(|t| whose[t]).collect();
            models[i].ranks.push((index, Place { low: rank.low, high: rank.high, of: whose.len(), ties }));
        }
    }
}

/// What must be written down before a model may be published.
fn gate(model: &Model, specimens: &[&Specimen]) -> Vec<Finding> {
    if specimens.is_empty() {
        let text = format!("{}: no sample is written down", model.name);
        return vec![Finding::gap(
            "no-specimen",
            "specimens",
            text,
            "add the one on the bench, and how it came",
        )];
    }
    let missing = |s: &&&Specimen| s.came == Came::Unknown || s.provenance.trim().is_empty();
    specimens
        .iter()
        .filter(missing)
        .map(|s| {
            let label = if s.label.is_empty() { String::new() } else { format!(" ({})", s.label) };
            Finding::gap(
                "no-provenance",
                s.id.as_str(),
                format!("{}{label}: how it came to the bench is not written down", model.name),
                "write whether it was bought, lent or given, by whom and on which terms",
            )
        })
        .collect()
}
