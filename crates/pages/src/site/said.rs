//! The file of facts, put together from the lines of each model; those that were made before from the same are taken over.
use super::context::{Context, Shown};
use super::made::{Before, sum};
use super::pieces::Station;
use crate::json::{self, Stretch};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;
use trueplate_core::abreast;
use trueplate_core::facts::{Apart, Fact};
use trueplate_core::notebook::Change;
use trueplate_core::report::Place;

/// Lines of a model in the file of facts.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lines {
    /// Sum of all they were made from.
    from: String,
    /// Where those stand that hold, and those that once held.
    at: (Stretch, Stretch),
}

/// The facts of one model as they were said.
pub(crate) struct Said {
    /// Sum of what its pages are made from.
    own: Option<String>,
    /// Its places.
    ranks: Vec<(usize, Arc<Place>)>,
    /// Sum of the changes they rest on besides.
    changes: Option<String>,
    /// None while their lines were taken from a file.
    apart: Option<Arc<Apart>>,
    /// Sum of all their lines rest on.
    from: Option<String>,
    lines: Printed,
}

/// The lines of a model: those that hold, those that once held, and where the former of them stand.
#[derive(Default)]
struct Printed {
    current: String,
    former: String,
    /// Of each measurement what others forbid to say of it, and its line.
    measured: Vec<(Option<String>, Stretch)>,
    /// What no place changes.
    rest: Stretch,
    /// Of each place its column, what it is, and its line.
    ranks: Vec<(usize, [usize; 3], Stretch)>,
}

/// What the facts of a model rest on besides its pages: its places, all of them, and whom it cannot be told from; and what
/// was changed of it or of nobody else.
#[derive(Serialize)]
struct OfFacts<'a> {
    own: &'a str,
    name: &'a str,
    places: Vec<OfPlace<'a>>,
    changes: &'a str,
}

/// Index of the column; place; how many it cannot be told from, and the first of them.
type OfPlace<'a> = (usize, [usize; 3], Vec<&'a str>, usize);

/// Changes by the model they bear on; those of no model that is here belong to all, under the empty id.
fn changes<'a>(context: &'a Context) -> BTreeMap<&'a str, Vec<&'a Change>> {
    let mut by_model: BTreeMap<&str, Vec<&Change>> = BTreeMap::new();
    let owner = |c: &'a Change| match c.record.as_str() {
        "model" => Some(c.id.as_str()),
        "test" => {
            context.test(&c.id).and_then(|t| context.notebook.model_of(&t.specimen)).map(|m| m.id.as_str())
        }
        _ => None,
    };
    for change in &context.notebook.changes {
        by_model.entry(owner(change).unwrap_or_default()).or_default().push(change);
    }
    by_model
}

/// The lines of a model, where the sums of its pages are given, and what is worth to be remembered.
type OfModel = (Option<Lines>, Arc<Said>);

/// The file of facts of all models shown; and for each, in the order they are shown, its lines in it, where the sums of
/// their pages are given, and what is worth to be remembered.
pub(crate) fn facts(
    context: &Context,
    (sums, stations): (&[Option<String>], &[Station]),
    before: &Before,
) -> (String, Vec<OfModel>) {
    let changes = changes(context);
    let of_all = changes.get("").map_or(Some(String::new()), sum);
    let same = (before.pieces.same_columns(context.report), before.pieces.same_names(context.report));
    let order: Vec<usize> = context.as_written_at().collect();
    let made: Vec<Arc<Said>> = abreast::each(&order, |&i| {
        let shown = &context.models[i];
        let own = sums.get(i).and_then(Option::as_ref);
        let changes = sum(&(&of_all, changes.get(shown.report.id.as_str())));
        let was = stations.get(i).and_then(|s| s.facts.as_ref());
        let new = Said { own: own.cloned(), changes, ranks: shown.report.ranks.clone(), ..Said::nothing() };
        said(context, shown, new, (was.filter(|_| same.0), same.1), before)
    });
    let pieces: Vec<(&str, &str)> =
        made.iter().map(|m| (m.lines.current.as_str(), m.lines.former.as_str())).collect();
    let (file, at) = json::join(&pieces);
    let mut found: Vec<(usize, OfModel)> = order
        .into_iter()
        .zip(made.into_iter().zip(at))
        .map(|(i, (said, at))| (i, (said.from.clone().map(|from| Lines { from, at }), said)))
        .collect();
    found.sort_unstable_by_key(|(i, _)| *i);
    (file, found.into_iter().map(|(_, of)| of).collect())
}

impl Said {
    fn nothing() -> Said {
        Said {
            own: None,
            ranks: Vec::new(),
            changes: None,
            apart: None,
            from: None,
            lines: Printed::default(),
        }
    }

    /// Whether the lines rest on the same, where all stations have the names they had.
    fn same(&self, other: &Said) -> bool {
        self.own.is_some()
            && self.changes.is_some()
            && (&self.own, &self.changes) == (&other.own, &other.changes)
            && self.ranks.len() == other.ranks.len()
            && self.ranks.iter().zip(&other.ranks).all(|(a, b)| a.0 == b.0 && Arc::ptr_eq(&a.1, &b.1))
    }
}

/// What is said of one model, with what was said of it before, under the same columns, and whether all names are as they
/// were.
fn said(
    context: &Context,
    shown: &Shown,
    new: Said,
    (was, same_names): (Option<&Arc<Said>>, bool),
    before: &Before,
) -> Arc<Said> {
    if let Some(was) = was.filter(|was| same_names && was.same(&new)) {
        return was.clone();
    }
    let from = new.own.as_ref().zip(new.changes.as_ref()).and_then(|(own, changes)| {
        let places =
            shown.report.ranks.iter().map(|(column, place)| of_place(context, *column, place)).collect();
        sum(&OfFacts { own, name: &shown.report.name, places, changes })
    });
    let apart = was.filter(|w| w.changes.is_some() && w.changes == new.changes).and_then(|w| w.apart.clone());
    let new = Said { apart, from, ..new };
    let known = before.made.get(&shown.report.id).and_then(|m| m.facts.as_ref());
    let known = known.filter(|k| new.apart.is_none() && new.from.as_ref() == Some(&k.from));
    let text = |at: &Stretch| before.facts.get(at.clone()).map(String::from);
    if let Some((current, former)) = known.and_then(|k| text(&k.at.0).zip(text(&k.at.1))) {
        return Arc::new(Said { lines: Printed { current, former, ..Printed::default() }, ..new });
    }
    let lines = was.filter(|_| new.apart.is_some()).map(|was| &was.lines);
    let apart = new.apart.clone().unwrap_or_else(|| Arc::new(Apart::of(context.report, shown.report)));
    let lines = printed(context, shown, &apart, lines);
    Arc::new(Said { apart: Some(apart), lines, ..new })
}

/// A fact names fewer of those its model cannot be told from.
const SOME: usize = 8;

fn of_place<'a>(context: &'a Context, column: usize, place: &'a Place) -> OfPlace<'a> {
    let others = context.report.tied(place).take(SOME).map(|m| m.name.as_str()).collect();
    (column, [place.low, place.high, place.of], others, place.ties.len())
}

/// Adds lines to others, and says where they stand.
fn add(out: &mut String, lines: &str) -> Stretch {
    if !(out.is_empty() || lines.is_empty()) {
        out.push_str(",\n");
    }
    let begin = out.len();
    out.push_str(lines);
    begin..out.len()
}

/// The lines of a model that may be printed. With those of before where nothing but places is otherwise.
fn printed(context: &Context, shown: &Shown, apart: &Apart, was: Option<&Printed>) -> Printed {
    let may = |facts: &[Fact]| json::lines(facts.iter().filter(|f| f.may_be_printed()));
    let known = |at: &Stretch| was.and_then(|was| was.current.get(at.clone()));
    let mut out = String::with_capacity(was.map_or(0, |was| was.current.len() + 256));
    let (measured, rest) = apart.current().split_at(apart.measured());
    let one = |(i, (fact, tied)): (usize, (&Fact, Option<String>))| {
        let same = was.and_then(|was| was.measured.get(i)).filter(|(was, _)| *was == tied);
        let at = match same.and_then(|(_, at)| known(at)) {
            Some(line) => add(&mut out, line),
            None => {
                let mut fact = fact.clone();
                fact.tie(tied.clone());
                add(&mut out, &may(&[fact]))
            }
        };
        (tied, at)
    };
    let ties = apart.ties(context.report, shown.report);
    let measured = measured.iter().zip(ties).enumerate().map(one).collect();
    let rest = match was.and_then(|was| known(&was.rest)) {
        Some(lines) => add(&mut out, lines),
        None => add(&mut out, &may(rest)),
    };
    let place = |of: &(usize, Arc<Place>)| {
        let (column, place) = (of.0, [of.1.low, of.1.high, of.1.of]);
        let same = was.and_then(|was| was.ranks.iter().find(|(c, p, _)| (*c, *p) == (column, place)));
        let at = match same.and_then(|(.., at)| known(at)) {
            Some(line) => add(&mut out, line),
            None => add(&mut out, &json::lines(&apart.rank(context.report, shown.report, of))),
        };
        (column, place, at)
    };
    let ranks = shown.report.ranks.iter().map(place).collect();
    let former = was.map_or_else(|| may(apart.former()), |was| was.former.clone());
    Printed { current: out, former, measured, rest, ranks }
}
