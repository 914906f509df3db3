//! The notebook model by model, and what of a report can be taken over from the one before.
//!
//! What is computed of one model rests on its part of the notebook, on the outcomes of its tests, and on what is common to
//! all. Where each of these is what it was, so is what was computed of it: it is shared, not made again, and whoever meets
//! the same [`Own`] twice knows that nothing beneath it changed.
use super::{Own, Place, Report};
use crate::across;
use crate::kind::Column;
use crate::notebook::{Model, Notebook, Specimen, Test};
use crate::price::Basis;
use crate::repeat::{Outcomes, Repeatability};
use crate::uncertain::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What belongs to one model.
#[derive(PartialEq)]
pub(super) struct Part<'a> {
    pub model: &'a Model,
    pub specimens: Vec<&'a Specimen>,
    pub tests: Vec<&'a Test>,
}

/// The notebook model by model, in its order: what is asked about one model then need not look through the tests of hundreds.
pub(super) fn by_model(notebook: &Notebook) -> Vec<Part<'_>> {
    let part = |model| Part { model, specimens: Vec::new(), tests: Vec::new() };
    let mut parts: Vec<Part> = notebook.models.iter().map(part).collect();
    let place: BTreeMap<&str, usize> =
        notebook.models.iter().enumerate().map(|(i, m)| (m.id.as_str(), i)).collect();
    let mut of_specimen: BTreeMap<&str, usize> = BTreeMap::new();
    for specimen in &notebook.specimens {
        if let Some(&i) = place.get(specimen.model.as_str()) {
            of_specimen.insert(&specimen.id, i);
            parts[i].specimens.push(specimen);
        }
    }
    for test in &notebook.tests {
        if let Some(&i) = of_specimen.get(test.specimen.as_str()) {
            parts[i].tests.push(test);
        }
    }
    parts
}

impl Part<'_> {
    /// A notebook of its own, with what is common to all.
    pub fn notebook(&self, all: &Notebook) -> Notebook {
        Notebook {
            settings: all.settings.clone(),
            instruments: all.instruments.clone(),
            loads: all.loads.clone(),
            models: vec![self.model.clone()],
            specimens: self.specimens.iter().copied().cloned().collect(),
            tests: self.tests.iter().copied().cloned().collect(),
            ..Notebook::default()
        }
    }
}

/// What every model is computed with.
#[derive(Clone, Copy)]
pub(super) struct Common<'a> {
    pub notebook: &'a Notebook,
    pub outcomes: &'a Outcomes,
    pub as_of: &'a str,
    pub basis: &'a Basis,
    pub scatter: Repeatability,
}

impl<'a> Common<'a> {
    pub fn of(report: &'a Report) -> Common<'a> {
        Common {
            notebook: &report.notebook,
            outcomes: &report.outcomes,
            as_of: &report.as_of,
            basis: &report.basis,
            scatter: report.scatter,
        }
    }

    /// Whether a model whose part is the same is computed to the same.
    fn same(&self, other: &Common) -> bool {
        let bits = |r: Repeatability| [r.s, r.dof, r.own_dof].map(f64::to_bits);
        let (n, o) = (self.notebook, other.notebook);
        (&n.settings, &n.instruments, &n.loads) == (&o.settings, &o.instruments, &o.loads)
            && (self.as_of, self.basis) == (other.as_of, other.basis)
            && bits(self.scatter) == bits(other.scatter)
            && across::reset_counters(n) == across::reset_counters(o)
    }

    /// Whether each test of a part has the very outcome it had.
    fn same_outcomes(&self, other: &Common, part: &Part) -> bool {
        part.tests.iter().all(|t| match (self.outcomes.get(&t.id), other.outcomes.get(&t.id)) {
            (Some(now), Some(then)) => Arc::ptr_eq(now, then),
            (now, then) => now.is_none() && then.is_none(),
        })
    }
}

/// For each part, what was computed of it before, where that still holds.
pub(super) fn known(common: &Common, parts: &[Part], before: Option<&Report>) -> Vec<Option<Arc<Own>>> {
    let Some(before) = before.filter(|b| Common::of(b).same(common)) else { return vec![None; parts.len()] };
    let then = Common::of(before);
    let were = by_model(&before.notebook);
    let by_id: BTreeMap<&str, (&Part, &Arc<Own>)> =
        before.models.iter().zip(&were).map(|(m, part)| (m.id.as_str(), (part, &m.own))).collect();
    let of = |part: &Part| {
        let (was, own) = by_id.get(part.model.id.as_str())?;
        (*was == part && common.same_outcomes(&then, part)).then(|| Arc::clone(own))
    };
    parts.iter().map(of).collect()
}

/// The places in a column as they were in a report of the same models.
pub(super) struct Places<'a> {
    before: &'a Report,
    index: usize,
}

impl<'a> Places<'a> {
    pub fn of(column: &Column, before: Option<&'a Report>) -> Option<Places<'a>> {
        let before = before?;
        let index = before.columns.iter().position(|c| c == column)?;
        Some(Places { before, index })
    }

    /// That of one model.
    pub fn place(&self, model: usize) -> Option<&'a Arc<Place>> {
        let mut ranks = self.before.models.get(model)?.ranks.iter();
        ranks.find(|(i, _)| *i == self.index).map(|(_, place)| place)
    }

    /// All of them, where the same models have the same values.
    pub fn same(&self, column: &Column, values: &[(usize, &Value)]) -> Option<Vec<Arc<Place>>> {
        let mut were = self.before.values(column);
        let alike = |(now, value): &(usize, &Value)| {
            were.next()
                .is_some_and(|(then, was)| then == *now && (std::ptr::eq(was, *value) || was == *value))
        };
        let same = values.iter().all(alike) && were.next().is_none();
        same.then(|| values.iter().map(|(i, _)| self.place(*i).cloned()).collect())?
    }
}
