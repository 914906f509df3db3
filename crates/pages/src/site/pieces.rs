//! What was worked out for the pages of each station, kept for the next time: a changed reading then asks for one station and
//! for what its number moved, not for hundreds.
//!
//! Pieces live in memory, with whoever asks for the pages; nothing here remembers by itself. Each rests on what is named
//! beside it. What rests on the station alone is told by its report: the very same [`Own`] vouches for the same part of the
//! notebook, settings, instruments, loads, date and scatter.
use super::cell::Cells;
use super::context::{Context, Effects, Places, Shown};
use super::made::{self, Before, Stands};
use super::run::{self, Runs};
use super::said::Said;
use crate::json::Stretch;
use crate::package::{At, Tables};
use std::collections::BTreeMap;
use std::sync::Arc;
use trueplate_core::abreast;
use trueplate_core::kind::Column;
use trueplate_core::quantity::Dim;
use trueplate_core::report::{Cell, ModelReport, Own, Report};
use trueplate_core::shown::{self, Shown as Written, Style};

/// The pieces of every station, by id.
#[derive(Clone, Default)]
pub struct Pieces {
    /// How numbers are written in them, and the columns of the comparison.
    of: Option<(Style, Arc<[Column]>)>,
    /// Every station of the report.
    all: Arc<[Arc<Own>]>,
    stations: BTreeMap<String, Station>,
    pub(crate) effects: Effects,
}

/// The pieces of one station.
#[derive(Clone)]
pub(crate) struct Station {
    own: Arc<Own>,
    places: Arc<Places>,
    pub(crate) alone: Arc<Alone>,
    tables: (TablesFrom, Tables),
    /// Sums of what its lines in the tables and its runtimes were made from.
    from: Option<made::From>,
    pub(crate) facts: Option<Arc<Said>>,
    pub(crate) cells: Cells,
}

/// What rests on the station alone.
pub(crate) struct Alone {
    /// Sum of what is written down of it.
    pub(crate) sum: Option<String>,
    /// Its cells of the comparison as they are written, in their order.
    pub(crate) cells: Vec<Written>,
    /// Its price per usable Wh.
    pub(crate) price: Option<Written>,
    pub(crate) runs: Runs,
}

/// What its lines in the tables rest on besides: its address, and, of some, its places by column.
type TablesFrom = (String, Vec<(usize, usize, usize)>);

impl Alone {
    fn of(context: &Context, shown: &Shown, sum: Option<String>, runs: Option<Runs>) -> Alone {
        let report = shown.report;
        let cell = |c: &Cell| Some(shown::shown(&c.value, c.of()?.result.shown_in(), context.style));
        let price = report.price.per_wh.as_ref();
        Alone {
            sum,
            cells: report.cells.iter().filter_map(cell).collect(),
            price: price.map(|v| shown::shown(v, Dim::Count.kept_in(), context.style)),
            runs: runs.unwrap_or_else(|| run::runs(context, shown)),
        }
    }
}

/// The lines of a station that was not met yet: from files where they stand there, made from the same.
fn tables_of(
    context: &Context,
    shown: &Shown,
    stands: Option<(&Stands, bool)>,
    files: &BTreeMap<String, Vec<u8>>,
) -> Tables {
    let taken = stands.and_then(|(was, same_places)| {
        let tables = Tables::taken(files, &was.lines)?;
        Some(if same_places { tables } else { tables.placed(context, shown) })
    });
    taken.unwrap_or_else(|| Tables::of(context, shown))
}

impl Pieces {
    /// The pieces of the stations shown, in their order; those that hold are taken over.
    pub(crate) fn stations(&self, context: &Context, before: &Before) -> Vec<Station> {
        let of_all = made::of_all(context);
        let same_style = self.of.as_ref().is_some_and(|(style, _)| *style == context.style);
        let same_columns = self.same_columns(context.report);
        abreast::each(&context.models, |shown| {
            let was = self.stations.get(&shown.report.id).filter(|_| same_style);
            let was = was.filter(|was| Arc::ptr_eq(&was.own, &shown.report.own));
            let from: TablesFrom = (
                shown.slug.clone(),
                shown.report.ranks.iter().map(|(column, place)| (*column, place.low, place.high)).collect(),
            );
            let tables = was.filter(|was| same_columns && was.tables.0.0 == from.0);
            let alone = was.map_or_else(|| made::alone(context, shown), |was| was.alone.sum.clone());
            let sums: Option<made::From> = alone.as_ref().and_then(|alone| {
                Some((made::sum(&(of_all.as_ref()?, alone, &from.0))?, made::sum(&from.1)?))
            });
            let stands = before.made.get(&shown.report.id).and_then(|made| made.stands.as_ref());
            let stands = sums.as_ref().zip(stands).filter(|(now, was)| now.0 == was.from.0);
            let runs = || stands.and_then(|(_, was)| Runs::taken(&before.files, &was.runs));
            let alone = match was {
                Some(was) => was.alone.clone(),
                None => Arc::new(Alone::of(context, shown, alone, runs())),
            };
            let stands = stands.map(|(now, was)| (was, now.1 == was.from.1));
            Station {
                own: shown.report.own.clone(),
                places: shown.places.clone(),
                alone,
                tables: match tables.map(|was| &was.tables) {
                    Some(known) if known.0 == from => known.clone(),
                    Some((_, known)) => (from, known.placed(context, shown)),
                    None => (from, tables_of(context, shown, stands, &before.files)),
                },
                from: sums,
                facts: was.and_then(|was| was.facts.clone()),
                cells: Cells {
                    before: tables.and_then(|was| was.cells.now.get().cloned()),
                    ..Cells::default()
                },
            }
        })
    }

    /// Whether they were made with the columns of this report.
    pub(crate) fn same_columns(&self, report: &Report) -> bool {
        self.of.as_ref().is_some_and(|(_, columns)| **columns == *report.columns)
    }

    /// Whether all stations of the report are called as they were when they were made.
    pub(crate) fn same_names(&self, report: &Report) -> bool {
        let same =
            |(was, is): (&Arc<Own>, &ModelReport)| Arc::ptr_eq(was, &is.own) || was.name == is.own.name;
        self.all.len() == report.models.len() && self.all.iter().zip(&report.models).all(same)
    }

    /// Names of places on the page of a model that is as it was. They rest on the columns too.
    pub(crate) fn places(&self, model: &ModelReport) -> Option<Arc<Places>> {
        let was = self.stations.get(&model.id).filter(|was| Arc::ptr_eq(&was.own, &model.own));
        was.map(|was| was.places.clone())
    }

    /// Keeps the pieces of the stations shown.
    pub(crate) fn kept(context: &Context, mut stations: Vec<Station>) -> Pieces {
        stations.iter_mut().for_each(|s| s.cells.before = None);
        let ids = context.models.iter().map(|shown| shown.report.id.clone());
        Pieces {
            of: Some((context.style, context.report.columns.clone().into())),
            all: context.report.models.iter().map(|m| m.own.clone()).collect(),
            stations: ids.zip(stations).collect(),
            effects: context.effects.clone(),
        }
    }
}

impl Station {
    pub(crate) fn tables(&self) -> &Tables {
        &self.tables.1
    }

    /// What stands in files, when its lines and what its runtimes rest on stand as said.
    pub(crate) fn stands(&self, lines: Vec<At>, ground: Stretch) -> Option<Stands> {
        Some(Stands { from: self.from.clone()?, lines, runs: (self.alone.runs.kept(), ground) })
    }
}
