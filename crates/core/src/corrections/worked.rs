//! What a correction did, as it was worked out: it holds for as long as nothing that it rests on changed. A bench keeps its
//! corrections for ever, and each is published each time.
use super::Correction;
use super::effect::{self, Effect, Stood};
use crate::kind::{Column, Outcome};
use crate::price::Basis;
use crate::repeat::Repeatability;
use crate::report::{Own, Report};
use std::sync::Arc;

/// The others, among which its places were found.
pub struct Among {
    columns: Vec<Column>,
    models: Vec<Arc<Own>>,
    as_of: String,
    basis: Basis,
    scatter: Repeatability,
}

impl Among {
    /// The models of a report.
    pub fn of(report: &Report) -> Among {
        Among {
            columns: report.columns.clone(),
            models: report.models.iter().map(|m| m.own.clone()).collect(),
            as_of: report.as_of.clone(),
            basis: report.basis.clone(),
            scatter: report.scatter,
        }
    }

    /// Whether all but one model is as it was.
    fn same_but(&self, model: &str, was: &Among) -> bool {
        let all = |a: &Among| (a.as_of.clone(), a.basis.clone(), a.models.len());
        let mut pairs = self.models.iter().zip(&was.models);
        all(self) == all(was)
            && self.scatter == was.scatter
            && self.columns == was.columns
            && pairs.all(|(now, then)| Arc::ptr_eq(now, then) || (now.id == model && then.id == model))
    }
}

/// What a correction did, with all it rests on.
pub struct Worked {
    stood: (Stood, Stood),
    /// Of the tests that were not computed again.
    outcomes: Vec<Option<Arc<Outcome>>>,
    among: Arc<Among>,
    /// Nothing where its past cannot be read.
    pub effect: Option<Effect>,
}

/// What the stroke of a correction did to its model, as [`effect::effect`] says; taken over from `was` where that holds.
/// `among` is of this report. Nothing when its past cannot be read.
pub fn worked(
    report: &Report,
    among: &Arc<Among>,
    correction: &Correction,
    was: Option<&Worked>,
) -> Option<Worked> {
    let stood = effect::stood(report, correction)?;
    let again = |id: &String| stood.0.1.contains(id) || stood.1.1.contains(id);
    let tests = [&stood.0.0, &stood.1.0].into_iter().flat_map(|n| &n.tests);
    let kept = tests.filter(|t| !again(&t.id)).map(|t| report.outcomes.get(&t.id).cloned());
    let outcomes: Vec<Option<Arc<Outcome>>> = kept.collect();
    let alike = |(a, b): (&Option<Arc<Outcome>>, &Option<Arc<Outcome>>)| match (a, b) {
        (Some(a), Some(b)) => Arc::ptr_eq(a, b),
        (a, b) => a.is_none() && b.is_none(),
    };
    let holds = |was: &&Worked| {
        was.stood == stood
            && was.outcomes.len() == outcomes.len()
            && was.outcomes.iter().zip(&outcomes).all(alike)
            && among.same_but(&correction.model, &was.among)
    };
    let effect = match was.filter(holds) {
        Some(was) => was.effect.clone(),
        None => {
            let sides =
                (effect::computed(report, stood.0.clone())?, effect::computed(report, stood.1.clone())?);
            effect::between(report, &sides)
        }
    };
    Some(Worked { stood, outcomes, among: among.clone(), effect })
}
