//! The table of the comparison: numbers on their decimal mark, with rank, ties and what must be said beside them.
use super::super::page::Ask;
use super::super::words::unbroken;
use super::sorted_by;
use trueplate_core::beside::{Beside, Line, Order, Query};
use trueplate_core::front::Standing;
use trueplate_core::property::Property;
use trueplate_core::quantity::Dim;
use trueplate_core::report::{ModelReport, Place, range};
use trueplate_core::shown::{Shown, shown, usual};
use trueplate_pages::piece::Lane;

/// Ready to be written.
pub struct Table {
    pub heads: Vec<Head>,
    pub rows: Vec<Row>,
    /// Over all columns who is beaten by nobody; only with two columns and more.
    pub front: bool,
    pub weighed: bool,
    /// Who cannot be told from whom, by column.
    pub ties: Vec<(String, Vec<(String, String)>)>,
    /// What is said once for all columns.
    pub remark: String,
    pub left_out: Vec<(String, String)>,
}

pub struct Head {
    pub title: String,
    pub under: String,
    pub remark: String,
    /// `ascending`, `descending`, `none`.
    pub sorted: &'static str,
    pub link: String,
}

pub struct Row {
    pub link: String,
    pub name: String,
    pub open: Vec<String>,
    pub cells: Vec<Cell>,
    pub front: (&'static str, String),
    pub score: (String, String),
    pub share: String,
}

pub struct Cell {
    pub label: String,
    /// Empty where nothing is known.
    pub number: String,
    pub link: String,
    pub rank: String,
    pub notes: Vec<String>,
    pub why: String,
    pub old: bool,
}

/// Writes the table.
pub fn table(ask: &Ask, all: &[Property], query: &Query, found: &Beside) -> Table {
    let columns: Vec<&Property> = query.columns.iter().map(|&c| &all[c]).collect();
    let written: Vec<Vec<Option<Shown>>> = (0..columns.len())
        .map(|c| {
            let number = |l: &Line| l.cells[c].value.as_ref().map(|v| shown(v, columns[c].unit, ask.style()));
            found.lines.iter().map(number).collect()
        })
        .collect();
    let lanes: Vec<Lane> = written.iter().map(|w| Lane::of(w.iter().flatten())).collect();
    let widest = lanes.iter().fold(Lane::default(), |lane, l| lane.with(l));
    let row = |(i, line): (usize, &Line)| Row {
        link: super::super::at::model(&line.model.id),
        name: line.model.name.clone(),
        open: line.open.iter().map(|o| unbroken(o)).collect(),
        cells: (0..columns.len())
            .map(|c| {
                let lane = lanes[c].within(&widest);
                cell(ask, columns[c], line, c, written[c][i].as_ref().map(|s| lane.cell(s)))
            })
            .collect(),
        front: standing(ask, line),
        score: score(ask, line),
        share: line.weighed.as_ref().map_or(String::new(), |w| per_cent(ask, w.share)),
    };
    // What holds for every measured column is said once.
    let parts = |i: usize| found.remarks[i].split("; ").filter(|r| !r.is_empty()).collect::<Vec<_>>();
    let measured: Vec<usize> = (0..columns.len()).filter(|&i| columns[i].column().is_some()).collect();
    let everywhere = |r: &&str| measured.len() > 1 && measured.iter().all(|&i| parts(i).contains(r));
    let common: Vec<&str> =
        measured.first().map_or(Vec::new(), |&i| parts(i).into_iter().filter(everywhere).collect());
    let own = |i: usize| parts(i).into_iter().filter(|r| !common.contains(r)).collect::<Vec<_>>().join("; ");
    let heads =
        columns.iter().enumerate().map(|(i, p)| Head { remark: own(i), ..head(ask, all, query, (i, p)) });
    let left_out = found.left_out.iter().map(|(m, why)| (m.name.clone(), unbroken(why)));
    Table {
        heads: heads.collect(),
        rows: found.lines.iter().enumerate().map(row).collect(),
        front: columns.len() > 1 && found.lines.iter().any(|l| l.standing.is_some()),
        weighed: found.lines.iter().any(|l| l.weighed.is_some()),
        ties: ties(ask, &columns, found),
        remark: if common.is_empty() {
            String::new()
        } else {
            format!("In one column here: {}.", common.join("; "))
        },
        left_out: left_out.collect(),
    }
}

fn head(ask: &Ask, all: &[Property], query: &Query, (i, p): (usize, &&Property)) -> Head {
    let by = query.sort.filter(|(column, _)| *column == i).map(|(_, order)| order);
    // Pressed again, the other end comes first.
    let next = if by == Some(Order::Best) { "worst" } else { "best" };
    let rising =
        by.map(|order| (order == Order::Best) == (p.better == trueplate_core::measurand::Better::Less));
    let typed = query.filter.iter().map(|c| c.text.as_str()).collect::<Vec<_>>().join(" and ");
    let mut under: Vec<&str> = vec![&p.condition];
    if !p.currency.is_empty() && !p.condition.contains(&p.currency) {
        under.insert(0, &p.currency);
    }
    Head {
        title: p.title.clone(),
        under: unbroken(&under.into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ")),
        remark: String::new(),
        sorted: match rising {
            Some(true) => "ascending",
            Some(false) => "descending",
            None => "none",
        },
        link: sorted_by(ask, &typed, &all[query.columns[i]].key, next),
    }
}

fn cell(ask: &Ask, property: &Property, line: &Line, c: usize, number: Option<String>) -> Cell {
    let found = &line.cells[c];
    Cell {
        label: unbroken(&property.name()),
        link: address(ask, property, line.model),
        rank: line.places[c].as_ref().map_or(String::new(), rank),
        notes: found.notes.iter().map(|n| unbroken(n)).collect(),
        why: found.why.clone(),
        old: found.old,
        number: number.unwrap_or_default(),
    }
}

/// "rank 2", "rank 2–4, tied with 2".
fn rank(place: &Place) -> String {
    match place.ties.len() {
        0 => format!("rank {}", place.range()),
        n => format!("rank {}, tied with {n}", place.range()),
    }
}

fn address(ask: &Ask, property: &Property, model: &ModelReport) -> String {
    let Some(column) = property.column().and_then(|c| ask.report.columns.get(c)) else {
        return format!("{}#prices", super::super::at::model(&model.id));
    };
    let row = model.current(column.result.key).find(|r| r.condition == column.condition);
    row.map_or_else(|| super::super::at::model(&model.id), |r| super::super::trail::address(&model.id, r))
}

/// In a word where it stands over all columns, and who is better.
fn standing(ask: &Ask, line: &Line) -> (&'static str, String) {
    let (first, others) = ask.report.some_names(&line.beaten_by, 1);
    let first = first.first().copied().unwrap_or_default();
    let more = if others > 0 { format!(" and {others} more") } else { String::new() };
    match &line.standing {
        Some(Standing::Front) => ("beaten by nobody", String::new()),
        Some(Standing::Perhaps(_)) => (
            "by nobody within the interval",
            format!("figures of {first}{more} are better, not beyond doubt"),
        ),
        Some(Standing::Beaten(_)) => ("beaten", format!("by {first}{more}")),
        None => ("not known", "a column is missing".into()),
    }
}

fn score(ask: &Ask, line: &Line) -> (String, String) {
    line.weighed.as_ref().map_or((String::new(), String::new()), |w| {
        let first =
            if w.low == 1 { format!(", first with {}", per_cent(ask, w.first)) } else { String::new() };
        // To the digit that 10,000 draws can tell.
        let score = trueplate_core::shown::decimal(w.score, 2, ask.style());
        (score, format!("rank {}{first}", range(w.low, w.high)))
    })
}

/// A share in whole per cent: 10,000 draws tell no more.
fn per_cent(ask: &Ask, share: f64) -> String {
    let unit = usual(Dim::Ratio);
    let text = |x: f64| trueplate_core::shown::decimal(x, 0, ask.style());
    match unit.shown(share) {
        x if x > 0.0 && x < 0.5 => "below 1\u{a0}%".into(),
        x if x < 100.0 && x > 99.5 => "over 99\u{a0}%".into(),
        x => format!("{}\u{a0}%", text(x)),
    }
}

/// Stations named one by one beside another that they cannot be told from; the others are counted.
const NAMED: usize = 12;

fn ties(ask: &Ask, columns: &[&Property], found: &Beside) -> Vec<(String, Vec<(String, String)>)> {
    let of = |c: usize| -> Vec<(String, String)> {
        let tied = |l: &Line| {
            let place = l.places[c].as_ref().filter(|p| !p.ties.is_empty())?;
            let names: Vec<&str> = ask.report.tied(place).take(NAMED).map(|m| m.name.as_str()).collect();
            let more = place.ties.len() - names.len();
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            Some((l.model.name.clone(), format!("{}{more}", names.join(", "))))
        };
        found.lines.iter().filter_map(tied).collect()
    };
    let all = columns.iter().enumerate().map(|(c, p)| (p.name(), of(c)));
    all.filter(|(_, tied)| !tied.is_empty()).collect()
}
