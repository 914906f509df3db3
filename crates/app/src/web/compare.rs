//! Side by side: one column of the comparison per line, one station per column of the page, like only with like.
use super::page::{Answer, Ask, Top, html};
use super::words;
use askama::Template;
use trueplate_core::kind::Column;
use trueplate_core::report::ModelReport;
use trueplate_core::shown::shown;
use trueplate_pages::piece::Lane;

#[derive(Template)]
#[template(path = "compare.html")]
struct Page {
    top: Top,
    columns: Vec<ColumnTable>,
    /// Summaries of earlier tests: station, its page, and what was found.
    earlier: Vec<(String, String, Vec<(String, String, String)>)>,
}

/// One result under one condition: the stations that have it, the best first.
struct ColumnTable {
    title: &'static str,
    condition: String,
    rows: Vec<Row>,
}

struct Row {
    /// "3" or "3–5"; empty where there is nothing to rank.
    rank: String,
    /// Whom it cannot be told from.
    ties: String,
    name: String,
    value: String,
    link: String,
}

/// All columns that some station has a value in.
pub async fn show(ask: Ask) -> Answer {
    let columns = ask.report.columns.iter().enumerate().map(|(i, c)| table(&ask, i, c)).collect();
    let with = ask.notebook().models.iter().filter(|m| !m.earlier.is_empty());
    let earlier =
        with.map(|m| (m.name.clone(), super::at::model(&m.id), super::tables::earlier(m))).collect();
    Ok(html(&Page { top: ask.top(), columns, earlier }))
}

fn table(ask: &Ask, index: usize, column: &Column) -> ColumnTable {
    let unit = column.result.shown_in();
    let value = |m: &'_ ModelReport| m.at(column);
    let mut found: Vec<_> = ask.report.models.iter().filter_map(|m| Some((m, value(m)?))).collect();
    found.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
    if column.result.better == trueplate_core::measurand::Better::More {
        found.reverse();
    }
    let all: Vec<_> = found.iter().map(|(_, v)| shown(v, unit, ask.style())).collect();
    let lane = Lane::of(&all);
    let many = found.len() > 1;
    let place = |m: &'_ ModelReport| m.place(index).filter(|_| many).cloned();
    let row = |((m, _), s): (&(&ModelReport, _), &_)| Row {
        rank: place(m).map_or(String::new(), |p| p.range()),
        ties: place(m).map_or(String::new(), |p| ask.report.names(&p.ties).collect::<Vec<_>>().join(", ")),
        name: m.name.clone(),
        value: lane.cell(s),
        link: address(m, column),
    };
    ColumnTable {
        title: column.result.title,
        condition: words::condition(&column.condition),
        rows: found.iter().zip(&all).map(row).collect(),
    }
}

fn address(model: &ModelReport, column: &Column) -> String {
    let row = model.current(column.result.key).find(|r| r.condition == column.condition);
    row.map_or_else(|| super::at::model(&model.id), |r| super::trail::address(&model.id, r))
}
