//! Notebook and outcomes in, report out: the only path from what was written down to what is shown.
mod part;

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
use part::{Common, Part};
use std::collections::BTreeSet;
use std::ops::Deref;
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

/// One model, computed: what it is by itself, and its places among the others.
#[derive(Clone)]
pub struct ModelReport {
    /// What rests on itself alone. Shared with the report before where nothing beneath it changed, so that the very same
    /// `Arc` means the very same part of the notebook, settings, instruments, loads, date and scatter.
    pub own: Arc<Own>,
    /// Its place in each column it has a value in: index into the report's columns. Shared with the report before where it
    /// is the same among the same models.
    pub ranks: Vec<(usize, Arc<Place>)>,
}

/// What a report says of one model by itself.
#[derive(Clone)]
pub struct Own {
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
    /// What it and its energy cost, by prices of the report's basis.
    pub price: price::PriceRow,
    /// What was noticed: test id and finding; the id is empty for what belongs to no single test.
    pub findings: Vec<(String, Finding)>,
    /// What stands in the way of publishing it.
    pub gate: Vec<Finding>,
    /// Its cells of the comparison, in the order of all columns there are.
    pub cells: Vec<Cell>,
}

/// A cell of the comparison that has a value.
#[derive(Clone, PartialEq)]
pub struct Cell {
    /// Index into all columns there are, as [`index_of`] gives it.
    pub column: usize,
    /// Its specimens taken together.
    pub value: Value,
}

impl Cell {
    /// The column it stands in.
    pub fn of(&self) -> Option<&'static Column> {
        columns().get(self.column)
    }
}

/// Where a column stands among all there are.
pub fn index_of(column: &Column) -> Option<usize> {
    columns().iter().position(|c| c == column)
}

impl Deref for ModelReport {
    type Target = Own;
    fn deref(&self) -> &Own {
        &self.own
    }
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
    computed(notebook, outcomes, today, None)
}

/// [`report`] from the one `before`, which must be of the whole bench too: what rests on nothing that changed is shared with
/// it. Equal to the report from nothing; outcomes of tests that stand as they stood should be shared with it as well.
pub fn since(notebook: Arc<Notebook>, outcomes: Arc<Outcomes>, today: &str, before: &Report) -> Report {
    computed(notebook, outcomes, today, Some(before))
}

fn computed(
    notebook: Arc<Notebook>,
    outcomes: Arc<Outcomes>,
    today: &str,
    before: Option<&Report>,
) -> Report {
    let pinned = &notebook.settings.as_of;
    let as_of = if pinned.is_empty() { today.to_string() } else { pinned.clone() };
    let basis = Basis::usual(&notebook, &as_of);
    let scatter = repeat::repeatability(&notebook, &outcomes);
    let common = Common { notebook: &notebook, outcomes: &outcomes, as_of: &as_of, basis: &basis, scatter };
    let mut models = model_reports(&common, before);
    let columns = valued(&models);
    place(&columns, &mut models, before);
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

fn model_reports(common: &Common, before: Option<&Report>) -> Vec<ModelReport> {
    let reset = across::reset_counters(common.notebook);
    let parts = part::by_model(common.notebook);
    let known = part::known(common, &parts, before);
    let work: Vec<(&Part, Option<Arc<Own>>)> = parts.iter().zip(known).collect();
    abreast::each(&work, |(part, known)| {
        let own = known.clone().unwrap_or_else(|| {
            let mut own = own(common, &part.notebook(common.notebook));
            own.findings.extend(part.tests.iter().filter_map(|t| across::counter_not_reset(&reset, t)));
            Arc::new(own)
        });
        ModelReport { own, ranks: Vec::new() }
    })
}

/// What is said of the only model of this part of the notebook.
fn own(common: &Common, notebook: &Notebook) -> Own {
    let (outcomes, scatter) = (common.outcomes, common.scatter);
    let model = &notebook.models[0];
    let specimens: Vec<&Specimen> = notebook.specimens.iter().collect();
    let all = repeat::rows(notebook, outcomes, scatter);
    let of = |s: &&Specimen| all.iter().filter(|r| r.specimen == s.id).cloned().collect::<Vec<_>>();
    let mut rows: Vec<ResultRow> = specimens.iter().flat_map(of).collect();
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
    let mut own = Own {
        id: model.id.clone(),
        name: model.name.clone(),
        rows,
        claims,
        drains,
        price: price::PriceRow::default(),
        findings,
        gate: gate(model, &specimens),
        cells: Vec::new(),
    };
    own.price = price::row(notebook, model, own.at_half_load().as_ref(), common.basis, common.as_of);
    let cell = |(column, c): (usize, &Column)| Some(Cell { column, value: own.at(c)? });
    own.cells = columns().iter().enumerate().filter_map(cell).collect();
    own
}

impl Report {
    /// One model computed again from a notebook that holds what belongs to it: how it was, or how it would be. Takes the
    /// columns, the date and the scatter of this report; without places.
    pub fn again(&self, notebook: Notebook, outcomes: Outcomes) -> Report {
        let common = Common { notebook: &notebook, outcomes: &outcomes, ..Common::of(self) };
        let models = model_reports(&common, None);
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
    /// The values in a column, each with the index of its model.
    pub fn values<'a>(&'a self, column: &Column) -> impl Iterator<Item = (usize, &'a Value)> + use<'a> {
        values(&self.models, column)
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
    /// Its place in a column; `None` when it has no value there.
    pub fn place(&self, column: usize) -> Option<&Place> {
        self.ranks.iter().find(|(i, _)| *i == column).map(|(_, place)| &**place)
    }
}

impl Own {
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
    /// Current results of one key under any condition.
    pub fn current(&self, key: &str) -> impl Iterator<Item = &ResultRow> {
        self.rows.iter().filter(move |r| r.result.key == key && !r.superseded)
    }
}

/// The columns that some model has a value in, in their order.
fn valued(models: &[ModelReport]) -> Vec<Column> {
    let used: BTreeSet<usize> = models.iter().flat_map(|m| &m.cells).map(|c| c.column).collect();
    used.into_iter().filter_map(|i| columns().get(i)).cloned().collect()
}

/// The values of models in a column, each with the index of its model.
fn values<'a>(
    models: &'a [ModelReport],
    column: &Column,
) -> impl Iterator<Item = (usize, &'a Value)> + use<'a> {
    let at = index_of(column);
    let of = move |m: &'a ModelReport| m.own.cells.iter().find(|c| Some(c.column) == at).map(|c| &c.value);
    models.iter().enumerate().filter_map(move |(i, m)| Some((i, of(m)?)))
}

/// Ranks every model in every column; values of one column are of one method and condition.
fn place(columns: &[Column], models: &mut [ModelReport], before: Option<&Report>) {
    let ids: Vec<&str> = models.iter().map(|m| m.id.as_str()).collect();
    let same_models = before.filter(|b| b.models.iter().map(|m| m.id.as_str()).eq(ids.iter().copied()));
    let ranked: Vec<Vec<(usize, Arc<Place>)>> = abreast::each(columns, |column| {
        let valued: Vec<(usize, &Value)> = values(models, column).collect();
        let whose = valued.iter().map(|(i, _)| *i);
        let before = part::Places::of(column, same_models);
        if let Some(places) = before.as_ref().and_then(|b| b.same(column, &valued)) {
            return whose.zip(places).collect();
        }
        let values: Vec<&Value> = valued.iter().map(|(_, value)| *value).collect();
        let at = |(i, rank): (usize, rank::Rank)| {
            let ties = rank.ties.into_iter().map(|t| valued[t].0).collect();
            let place = Place { low: rank.low, high: rank.high, of: valued.len(), ties };
            let known = before.as_ref().and_then(|b| b.place(i)).filter(|known| ***known == place);
            (i, known.map_or_else(|| Arc::new(place), Arc::clone))
        };
        whose.zip(rank::ranks(&values, column.result.better)).map(at).collect()
    });
    for (index, places) in ranked.into_iter().enumerate() {
        places.into_iter().for_each(|(i, place)| models[i].ranks.push((index, place)));
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
