//! Stations side by side: columns as chosen, those a filter keeps, sorted, with ranks, ties, front and weights.
use crate::filter::{Clause, Held};
use crate::finding::Finding;
use crate::front::{self, Standing};
use crate::measurand::Better;
use crate::property::{self, Cell, Property};
use crate::rank;
use crate::report::{ModelReport, Place, Report};
use crate::uncertain::Value;
use crate::weigh::{self, Criterion, Weighed};

/// What is to stand beside each other, and how. Columns are indices into the properties.
#[derive(Clone, Debug, Default)]
pub struct Query {
    /// Columns in order.
    pub columns: Vec<usize>,
    /// Conditions that all must hold.
    pub filter: Vec<Clause>,
    /// Sorted by this column, best first or last; by the order of the bench without.
    pub sort: Option<(usize, Order)>,
    /// Weight of each column, in the order of `columns`; empty when nothing is weighed.
    pub weights: Vec<f64>,
}

/// Which end comes first. What is not known stands last either way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// The best first.
    Best,
    /// The worst first.
    Worst,
}

/// The table.
pub struct Beside<'a> {
    /// Stations kept, sorted.
    pub lines: Vec<Line<'a>>,
    /// Stations the filter leaves out, with the first condition that does.
    pub left_out: Vec<(&'a ModelReport, String)>,
    /// What must be said above a column, by column: different mains, different revisions of the method.
    pub remarks: Vec<String>,
    /// Why nothing could be weighed, and what else was noticed.
    pub findings: Vec<Finding>,
}

/// One station.
pub struct Line<'a> {
    /// Who.
    pub model: &'a ModelReport,
    /// What it has, by column.
    pub cells: Vec<Cell>,
    /// Its place among all stations, by column; `None` where it has no value or is the only one.
    pub places: Vec<Option<Place>>,
    /// Conditions that nobody can say it keeps, and why.
    pub open: Vec<String>,
    /// Its standing over all columns; `None` when it lacks a value.
    pub standing: Option<Standing>,
    /// Ids of those that beat it, or perhaps do.
    pub beaten_by: Vec<String>,
    /// What the weights make of it; `None` when it lacks a value that counts.
    pub weighed: Option<Weighed>,
}

/// Puts stations beside each other.
pub fn beside<'a>(report: &'a Report, properties: &[Property], query: &Query) -> Beside<'a> {
    let columns: Vec<&Property> = query.columns.iter().filter_map(|&c| properties.get(c)).collect();
    let places: Vec<Vec<Option<Place>>> = columns.iter().map(|p| places(report, p)).collect();
    let (mut lines, mut left_out) = (Vec::new(), Vec::new());
    for (index, model) in report.models.iter().enumerate() {
        match kept(report, properties, query, model) {
            Err(why) => left_out.push((model, why)),
            Ok(open) => lines.push(Line {
                model,
                cells: columns.iter().map(|p| p.cell(report, model)).collect(),
                places: places.iter().map(|all| all[index].clone()).collect(),
                open,
                standing: None,
                beaten_by: Vec::new(),
                weighed: None,
            }),
        }
    }
    let mut findings = Vec::new();
    if lines.is_empty() && !query.filter.is_empty() {
        findings.push(never_met(&left_out));
    }
    stand(&columns, &mut lines);
    if !query.weights.is_empty() {
        findings.extend(scored(&columns, &query.weights, &mut lines).err());
    }
    sort(&mut lines, &columns, query);
    let remarks = columns.iter().map(|p| remark(report, p, &lines)).collect();
    Beside { lines, left_out, remarks, findings }
}

/// What remains open about the filter, or the condition that is not kept.
fn kept(
    report: &Report,
    properties: &[Property],
    query: &Query,
    model: &ModelReport,
) -> Result<Vec<String>, String> {
    let mut open = Vec::new();
    for clause in &query.filter {
        let Some(property) = properties.get(clause.property) else { continue };
        let cell = property.cell(report, model);
        match clause.held(&cell) {
            Held::Yes => (),
            Held::No => return Err(format!("not {}", clause.text)),
            Held::Open => open.push(format!("{}: inside the interval, cannot tell", clause.text)),
            Held::Unknown => return Err(format!("{}: {}", clause.text, cell.why)),
        }
    }
    Ok(open)
}

/// Conditions that no station meets: how many fail each, so that one can be let go.
fn never_met(left_out: &[(&ModelReport, String)]) -> Finding {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for (_, why) in left_out {
        match counts.iter_mut().find(|(w, _)| w == why) {
            Some((_, n)) => *n += 1,
            None => counts.push((why, 1)),
        }
    }
    counts.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    let said: Vec<String> = counts.iter().take(3).map(|(why, n)| format!("{n}: {why}")).collect();
    Finding::note(
        "filter-keeps-none",
        "filter",
        format!("no station keeps all of it ({})", said.join("; ")),
        "loosen or take out the condition that most fail",
    )
}

/// Places of all stations in a column, whatever the filter shows of them.
fn places(report: &Report, property: &Property) -> Vec<Option<Place>> {
    if let Some(column) = property.column() {
        let several = report.models.iter().filter(|m| m.place(column).is_some()).count() > 1;
        return report.models.iter().map(|m| m.place(column).filter(|_| several).cloned()).collect();
    }
    let valued: Vec<(usize, Value)> = report
        .models
        .iter()
        .enumerate()
        .filter_map(|(i, m)| Some((i, property.cell(report, m).value?)))
        .collect();
    let mut out = vec![None; report.models.len()];
    if valued.len() > 1 {
        let values: Vec<Value> = valued.iter().map(|(_, v)| v.clone()).collect();
        for (rank, (i, _)) in rank::ranks(&values, property.better).into_iter().zip(&valued) {
            let ties = rank.ties.iter().map(|&t| valued[t].0).collect();
            out[*i] = Some(Place { low: rank.low, high: rank.high, of: valued.len(), ties });
        }
    }
    out
}

/// Lines that have a value in all the columns asked, and those values.
fn complete<'l>(lines: &'l [Line], columns: &[usize]) -> (Vec<usize>, Vec<Vec<&'l Value>>) {
    let values =
        |line: &'l Line| columns.iter().map(|&c| line.cells[c].value.as_ref()).collect::<Option<Vec<_>>>();
    lines.iter().enumerate().filter_map(|(i, line)| Some((i, values(line)?))).unzip()
}

fn stand(columns: &[&Property], lines: &mut [Line]) {
    if columns.len() < 2 {
        return;
    }
    let all: Vec<usize> = (0..columns.len()).collect();
    let better: Vec<Better> = columns.iter().map(|p| p.better).collect();
    let (at, standings) = {
        let (at, values) = complete(lines, &all);
        (at, front::front(&values, &better))
    };
    for (place, standing) in standings.into_iter().enumerate() {
        let by = match &standing {
            Standing::Front => Vec::new(),
            Standing::Perhaps(by) | Standing::Beaten(by) => {
                by.iter().map(|&j| lines[at[j]].model.id.clone()).collect()
            }
        };
        let line = &mut lines[at[place]];
        (line.standing, line.beaten_by) = (Some(standing), by);
    }
}

fn scored(columns: &[&Property], weights: &[f64], lines: &mut [Line]) -> Result<(), Finding> {
    let criteria: Vec<Criterion> = columns
        .iter()
        .enumerate()
        .map(|(i, p)| Criterion { better: p.better, weight: weights.get(i).copied().unwrap_or(0.0) })
        .collect();
    let used: Vec<usize> = (0..criteria.len()).filter(|&c| criteria[c].weight != 0.0).collect();
    let counted: Vec<Criterion> = used.iter().map(|&c| criteria[c]).collect();
    let (at, weighed) = {
        let (at, values) = complete(lines, &used);
        (at, weigh::weigh(&values, &counted)?)
    };
    for (i, weighed) in at.into_iter().zip(weighed) {
        lines[i].weighed = Some(weighed);
    }
    Ok(())
}

fn sort(lines: &mut [Line], columns: &[&Property], query: &Query) {
    let better = |p: &Property, a: &Value, b: &Value| match p.better {
        Better::More => b.x.total_cmp(&a.x),
        Better::Less => a.x.total_cmp(&b.x),
    };
    match query.sort {
        Some((column, order)) if column < columns.len() => lines.sort_by(|a, b| {
            let (a, b) = (&a.cells[column].value, &b.cells[column].value);
            match (a, b) {
                (Some(a), Some(b)) if order == Order::Best => better(columns[column], a, b),
                (Some(a), Some(b)) => better(columns[column], b, a),
                _ => b.is_some().cmp(&a.is_some()),
            }
        }),
        _ if !query.weights.is_empty() => lines.sort_by(|a, b| {
            let score = |l: &Line| l.weighed.as_ref().map_or(f64::NEG_INFINITY, |w| w.score);
            score(b).total_cmp(&score(a))
        }),
        _ => (),
    }
}

/// What stands in one column and is not quite alike.
fn remark(report: &Report, property: &Property, lines: &[Line]) -> String {
    let Some(column) = property.column().and_then(|c| report.columns.get(c)) else { return String::new() };
    let mut said = Vec::new();
    if column.result.at_least {
        said.push("held; more was not asked".to_string());
    }
    let revisions = property::revisions_of(report, column);
    if revisions.len() > 1 {
        let all: Vec<String> = revisions.iter().map(u32::to_string).collect();
        said.push(format!("measured by revisions {} of the method", all.join(" and ")));
    }
    let mut mains: Vec<f64> = lines
        .iter()
        .filter(|l| l.model.at(column).is_some())
        .filter_map(|l| report.notebook.model(&l.model.id).map(|m| m.mains_v))
        .filter(|v| *v > 0.0)
        .collect();
    mains.sort_by(f64::total_cmp);
    mains.dedup();
    if let (Some(low), Some(high)) = (mains.first(), mains.last())
        && high > &(1.2 * low)
    {
        said.push(format!("stations for {low:.0} V and {high:.0} V together"));
    }
    said.join("; ")
}
