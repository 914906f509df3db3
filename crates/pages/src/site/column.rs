//! One column of the comparison, as it is written for each station.
use super::context::{Context, Shown};
use super::pieces::Station;
use crate::piece::{Lane, escape};
use trueplate_core::kind::Column;
use trueplate_core::measurand::Better;
use trueplate_core::quantity::Unit;
use trueplate_core::report;
use trueplate_core::shown::Shown as Written;
use trueplate_core::uncertain::Value;

/// The bench, and what is kept of each station shown.
pub(super) type Bench<'a> = (&'a Context<'a>, &'a [Station]);

/// One column, rounded: a number per model where there is one.
pub(super) struct Cells<'a> {
    /// Which of the report's columns it is; none is the price.
    pub column: Option<usize>,
    pub title: String,
    pub head: String,
    pub values: Vec<Option<&'a Value>>,
    pub written: Vec<Option<&'a Written>>,
    pub lane: Lane,
    /// Values in the unit shown, as data.
    pub plain: Vec<Option<f64>>,
    /// The models that have a value, by rising value; and where each of them stands there.
    pub order: Vec<usize>,
    pub at: Vec<usize>,
    pub better: &'static str,
}

/// A value and how it is written, where a model has one.
type Number<'a> = Option<(&'a Value, &'a Written)>;

impl<'a> Cells<'a> {
    pub fn of((context, stations): Bench<'a>, column: &Column) -> Cells<'a> {
        let unit = column.result.shown_in();
        let index = report::index_of(column);
        let cell = |(model, station): (&'a Shown, &'a Station)| -> Number<'a> {
            let at = model.report.cells.iter().position(|c| Some(c.column) == index)?;
            Some((&model.report.own.cells[at].value, station.alone.cells.get(at)?))
        };
        let cells = context.models.iter().zip(stations).map(cell);
        let at = context.report.columns.iter().position(|of| of == column);
        let title = escape(column.result.title);
        let head = context.condition(&column.condition);
        Cells { column: at, ..Cells::written(context, (title, head), cells, (unit, column.result.better)) }
    }
    pub fn price((context, stations): Bench<'a>) -> Cells<'a> {
        let cell = |(model, station): (&'a Shown, &'a Station)| -> Number<'a> {
            model.report.own.price.per_wh.as_ref().zip(station.alone.price.as_ref())
        };
        let cells = context.models.iter().zip(stations).map(cell);
        let unit = trueplate_core::quantity::Dim::Count.kept_in();
        let currency = escape(&context.notebook.settings.currency);
        let names = ("Price".into(), format!("{currency} per usable Wh"));
        Cells::written(context, names, cells, (unit, Better::Less))
    }
    fn written(
        context: &Context,
        (title, head): (String, String),
        cells: impl Iterator<Item = Number<'a>>,
        (unit, better): (&'static Unit, Better),
    ) -> Cells<'a> {
        let (values, written): (Vec<Option<&Value>>, Vec<Option<&Written>>) =
            cells.map(Option::unzip).unzip();
        let lane = Lane::of(written.iter().copied().flatten());
        let plain: Vec<Option<f64>> = values.iter().map(|v| v.map(|v| unit.shown(v.x))).collect();
        let order = order(context, &plain);
        let mut at = vec![0; plain.len()];
        order.iter().enumerate().for_each(|(place, i)| at[*i] = place);
        let better = match better {
            Better::More => "more",
            Better::Less => "less",
        };
        Cells { column: None, title, head, values, written, lane, plain, order, at, better }
    }
    /// In one line.
    pub fn name(&self) -> String {
        if self.head.is_empty() { self.title.clone() } else { format!("{}, {}", self.title, self.head) }
    }
    /// The far end of the longest interval, for bars.
    pub fn largest(&self) -> f64 {
        self.values.iter().flatten().map(|v| v.x + half(v)).fold(0.0, f64::max)
    }
}

/// Those that have a value, by rising value; equal ones in the order they were written down, however they are shown.
fn order(context: &Context, plain: &[Option<f64>]) -> Vec<usize> {
    let mut order: Vec<usize> = context.as_written_at().filter(|i| plain[*i].is_some()).collect();
    order.sort_by(|&a, &b| plain[a].unwrap_or(0.0).total_cmp(&plain[b].unwrap_or(0.0)));
    order
}

/// Half the interval; nothing where that is not known.
pub(super) fn half(value: &Value) -> f64 {
    if value.has_u() { value.half95() } else { 0.0 }
}
