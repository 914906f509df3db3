//! Cause and effect of a correction: which facts, verdicts and places it moved. The model is computed twice, as it
//! stood before the stroke and after it, with everything else of the bench as it is now.
use super::{Correction, Of, past};
use crate::abreast;
use crate::examine;
use crate::facts::{self, Fact};
use crate::judge::Verdict;
use crate::kinds;
use crate::notebook::{Notebook, Test};
use crate::outgoing::Carried;
use crate::rank;
use crate::repeat::Outcomes;
use crate::report::{Report, range, titled};
use crate::uncertain::Value;
use std::sync::Arc;

/// A fact that reads otherwise since.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// As it was, without version and text where there was none; its id and version stand in the names of figures made
    /// from it.
    pub old: Carried,
    /// What it speaks of.
    pub title: String,
    /// As it reads after the correction; empty when there is no such fact any more.
    pub new: String,
    /// Its version after the correction.
    pub version: String,
}

/// What a correction did.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effect {
    /// Facts that read otherwise.
    pub facts: Vec<Moved>,
    /// Claims whose verdict turned: what the claim speaks of, before, after.
    pub verdicts: Vec<(String, Verdict, Verdict)>,
    /// Columns in which the place changed: title, before, after.
    pub ranks: Vec<(String, String, String)>,
}

impl Moved {
    /// "829 ± 13 Wh → 883 ± 14 Wh".
    pub fn change(&self) -> String {
        let text = |t: &str| if t.is_empty() { "no value".to_string() } else { t.to_string() };
        format!("{} → {}", text(&self.old.rounded), text(&self.new))
    }
}

impl Effect {
    /// "Verdict on usable energy: met → not met. Place in mass: 3 → 4–5." or that neither changed.
    pub fn words(&self) -> String {
        let turned = self.verdicts.iter().map(|(what, old, new)| {
            format!("Verdict on {}: {} → {}.", lower(what), old.words(), new.words())
        });
        let placed =
            self.ranks.iter().map(|(what, old, new)| format!("Place in {}: {old} → {new}.", lower(what)));
        let all: Vec<String> = turned.chain(placed).collect();
        match (all.is_empty(), self.facts.is_empty()) {
            (true, true) => "No published number changed.".into(),
            (true, false) => "No verdict and no place changed.".into(),
            (false, _) => all.join(" "),
        }
    }
}

/// With a small letter at the start, for the middle of a sentence.
pub(super) fn lower(title: &str) -> String {
    let mut chars = title.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().collect::<String>() + chars.as_str())
}

/// Reports of the one model of a correction, as it stood before the stroke and after it; nothing when its past cannot be
/// read.
pub fn sides(report: &Report, correction: &Correction) -> Option<(Report, Report)> {
    let (before, after) = stood(report, correction)?;
    Some((computed(report, before)?, computed(report, after)?))
}

/// A model of a report by itself, as it is now.
pub fn alone(report: &Report, model: &str) -> Option<Report> {
    let mut shown = report.models.iter().find(|m| m.id == model)?.clone();
    // By itself it has no place, and nobody beside it.
    shown.ranks.clear();
    let notebook = part(&report.notebook, model)?;
    let mut alone = report.again(Notebook::default(), Outcomes::new());
    (alone.models, alone.notebook, alone.outcomes) =
        (vec![shown], Arc::new(notebook), report.outcomes.clone());
    Some(alone)
}

/// What the stroke of a correction did to its model; nothing when its past cannot be read.
pub fn effect(report: &Report, correction: &Correction) -> Option<Effect> {
    between(report, &sides(report, correction)?)
}

/// What turned from one side of a stroke to the other. Places are those among the models of `report`.
pub fn between(report: &Report, (before, after): &(Report, Report)) -> Option<Effect> {
    let (was, is) = (before.models.first()?, after.models.first()?);
    let (old, new) = (facts::of_model(before, was), facts::of_model(after, is));
    let mut effect = Effect { facts: moved(&old, &new), ..Effect::default() };
    for row in &was.claims {
        let Some(now) = is.claims.iter().find(|c| c.claim.id == row.claim.id) else { continue };
        if now.verdict != row.verdict {
            let title = row.result.map_or(row.claim.key.clone(), |r| titled(r, &row.claim.condition));
            effect.verdicts.push((title, row.verdict, now.verdict));
        }
    }
    let mut moved = Vec::new();
    for (index, column) in report.columns.iter().enumerate() {
        let (old, new) = (was.at(column), is.at(column));
        if old.as_ref().map(|v| (v.x, v.u())) != new.as_ref().map(|v| (v.x, v.u())) {
            moved.extend([(index, old), (index, new)]);
        }
    }
    let places = abreast::each(&moved, |(index, value)| place(report, *index, &was.id, value.as_ref()));
    for (of, places) in moved.chunks_exact(2).zip(places.chunks_exact(2)) {
        let ([(index, _), _], [old, new]) = (of, places) else { continue };
        if old != new {
            let column = &report.columns[*index];
            effect.ranks.push((titled(column.result, &column.condition), old.clone(), new.clone()));
        }
    }
    Some(effect)
}

fn moved(old: &[Fact], new: &[Fact]) -> Vec<Moved> {
    let of = |f: &Fact| {
        let now = new.iter().find(|n| n.id == f.id);
        let same = now.is_some_and(|n| n.rounded == f.rounded);
        (!same).then(|| Moved {
            old: Carried { fact: f.id.clone(), version: f.version.clone(), rounded: f.rounded.clone() },
            title: f.title.clone(),
            new: now.map_or_else(String::new, |n| n.rounded.clone()),
            version: now.map_or_else(String::new, |n| n.version.clone()),
        })
    };
    let fresh = new.iter().filter(|n| !old.iter().any(|f| f.id == n.id)).map(|n| Moved {
        old: Carried { fact: n.id.clone(), ..Carried::default() },
        title: n.title.clone(),
        new: n.rounded.clone(),
        version: n.version.clone(),
    });
    old.iter().filter_map(of).chain(fresh).collect()
}

/// Place of a model in a column if it had this value: "3", "3–5", "none".
fn place(report: &Report, index: usize, model: &str, value: Option<&Value>) -> String {
    let (Some(value), Some(column)) = (value, report.columns.get(index)) else { return "none".into() };
    let own = report.models.iter().position(|m| m.id == model);
    let others = report.values(column).filter(|(i, _)| Some(*i) != own).map(|(_, v)| v);
    let values: Vec<&Value> = std::iter::once(value).chain(others).collect();
    let found = rank::range_of(&values, 0, column.result.better);
    found.map_or_else(|| "none".into(), |(low, high)| range(low, high))
}

/// What belongs to one model, with what is common to all.
fn part(all: &Notebook, model: &str) -> Option<Notebook> {
    let mut notebook = Notebook {
        settings: all.settings.clone(),
        models: vec![all.model(model)?.clone()],
        specimens: all.specimens.iter().filter(|s| s.model == model).cloned().collect(),
        instruments: all.instruments.clone(),
        loads: all.loads.clone(),
        ..Notebook::default()
    };
    let mine = |t: &&Test| notebook.specimens.iter().any(|s| s.id == t.specimen);
    notebook.tests = all.tests.iter().filter(mine).cloned().collect();
    Some(notebook)
}

/// The part of one model as it stood on one side of a stroke, and the tests of it that are to be computed again.
pub(super) type Stood = (Notebook, Vec<String>);

/// The one model before the stroke and after it.
pub(super) fn stood(report: &Report, correction: &Correction) -> Option<(Stood, Stood)> {
    let all = &report.notebook;
    let mut before = part(all, &correction.model)?;
    let mut after = before.clone();
    let again = [set(all, correction, true, &mut before)?, set(all, correction, false, &mut after)?];
    let [again_before, again_after] = again;
    Some(((before, again_before), (after, again_after)))
}

/// A report of the one model.
pub(super) fn computed(report: &Report, (notebook, outcomes): Stood) -> Option<Report> {
    let known = |t: &Test| {
        let kept = report.outcomes.get(&t.id).filter(|_| !outcomes.contains(&t.id)).cloned();
        Some((
            t.id.clone(),
            kept.or_else(|| Some(Arc::new(examine::run(kinds::find(&t.kind)?, t, &notebook))))?,
        ))
    };
    let outcomes: Outcomes = notebook.tests.iter().filter_map(known).collect();
    Some(report.again(notebook, outcomes))
}

/// Puts the record of a correction as it stood, and names the tests to be computed again.
fn set(all: &Notebook, correction: &Correction, before: bool, to: &mut Notebook) -> Option<Vec<String>> {
    let pick = |(old, new)| if before { old } else { new };
    if let Of::Test(id) = &correction.of {
        let test = past::test_around(all, id, correction.stroke).map(pick)?;
        match (to.tests.iter().position(|t| t.id == *id), test) {
            (Some(i), Some(test)) => to.tests[i] = test,
            (None, Some(test)) => to.tests.push(test),
            (Some(i), None) => drop(to.tests.remove(i)),
            (None, None) => (),
        }
        return Some(vec![id.clone()]);
    }
    let model: crate::notebook::Model = past::model_around(all, &correction.model, correction.stroke)
        .map(|(old, new)| if before { old } else { new })??;
    to.models = vec![model];
    // A stated power or energy is the measure of loads and shares, so every test of the model may read otherwise.
    Some(to.tests.iter().map(|t| t.id.clone()).collect())
}

/// The notebook of a report with the record of a correction as it stood before, and nothing of what came later in the
/// history.
pub fn notebook_before(report: &Report, correction: &Correction) -> Option<Arc<Notebook>> {
    let mut notebook: Notebook = (*report.notebook).clone();
    match &correction.of {
        Of::Test(id) => {
            let before = past::test_around(&report.notebook, id, correction.stroke)?.0?;
            notebook.put(crate::record::Record::Test(before));
        }
        Of::Claim(_) | Of::Price => {
            let before = past::model_around(&report.notebook, &correction.model, correction.stroke)?.0?;
            notebook.put(crate::record::Record::Model(before));
        }
    }
    notebook.changes.retain(|c| c.stroke < correction.stroke);
    Some(Arc::new(notebook))
}
