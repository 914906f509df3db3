//! Stations side by side: the first page with the main columns, and a page with every column.
use super::cell::{Cell, Values};
use super::column::{Bench, Cells, half};
use super::context::{Context, Shown};
use super::frame::{self, Page};
use super::pieces::Station;
use super::put;
use super::results::NAMED;
use super::{ld, words};
use crate::chart::bar;
use crate::piece::{Lane, escape, unbroken};
use std::sync::Arc;
use trueplate_core::disclosure;
use trueplate_core::kind::{Column, Found};
use trueplate_core::rank;
use trueplate_core::shown::Shown as Written;
use trueplate_core::uncertain::Value;

/// The first page.
pub fn first(context: &Context, stations: &[Station]) -> String {
    let site = &context.notebook.settings.site;
    let title = if site.is_empty() { "Portable power stations, measured" } else { "Stations" };
    let mut body = String::from("<h1>Portable power stations, measured</h1>\n");
    lead(&mut body, context);
    if !context.models.is_empty() {
        body.push_str("<div id=\"filter\"></div>\n");
        table(&mut body, (context, stations), &context.main, None);
    }
    let page = Page {
        title,
        about: "Portable power stations measured on one bench: usable energy, output, idle draw, price per usable watt-hour.",
        root: "",
        current: "index.html",
        data: String::new(),
        scripts: &["run/table.js"],
        body,
    };
    frame::document(context, page)
}

fn lead(out: &mut String, context: &Context) {
    let n = context.models.len();
    let measured = context.models.iter().filter(|m| !m.report.rows.is_empty()).count();
    let text = match (n, measured) {
        (0, _) => "No station is published yet.".to_string(),
        (n, m) if n == m => format!(
            "{}, by what they give at the outlet.",
            words::capital(&words::count(n, "station", "stations"))
        ),
        (n, m) => format!(
            "{}, {m} of them measured so far, by what they give at the outlet.",
            words::capital(&words::count(n, "station", "stations"))
        ),
    };
    put!(
        out,
        "<p class=\"answer\">{text}</p><p class=\"facts\">± holds the true value with 95 % confidence. \
         Two stations whose intervals overlap may be equal. Not tested is not zero.</p>\n"
    );
}

/// Every column there is.
pub fn all(context: &Context, stations: &[Station]) -> String {
    let named = match context.models.len() > NAMED {
        true => "in the order of a column, those that may be equal say so",
        false => "a station's page names them",
    };
    let mut body = format!(
        "<h1>Side by side</h1>\n<p class=\"facts\">Every result, grouped by kind of test. Only like is compared with like: load, mode and start are part of a column. A rank is a range where the meter cannot tell neighbours apart; {named}.</p>\n",
    );
    body.push_str("<div id=\"filter\"></div>\n");
    let mut made: Vec<Vec<Cell>> = stations.iter().map(|_| Vec::new()).collect();
    for kind in &context.report.kinds {
        let columns: Vec<Column> = context
            .report
            .columns
            .iter()
            .filter(|c| kind.results.iter().any(|r| r.key == c.result.key))
            .cloned()
            .collect();
        if columns.is_empty() || context.models.is_empty() {
            continue;
        }
        let at = super::anchor::slug(kind.id);
        put!(
            body,
            "<section id=\"{at}\"><h2>{} <small><a href=\"how.html#{at}\">how it is tested</a></small></h2>",
            escape(kind.title)
        );
        table(&mut body, (context, stations), &columns, Some((kind.title, &mut made)));
        body.push_str("</section>\n");
    }
    for (station, cells) in stations.iter().zip(made) {
        let _once = station.cells.now.set(Arc::new(cells));
    }
    let page = Page {
        title: "Side by side",
        about: "Every result of every station, side by side.",
        root: "",
        current: "all.html",
        data: ld::dataset(context),
        scripts: &["run/table.js"],
        body,
    };
    frame::document(context, page)
}

/// The table of one kind of test, or the first one of the site, which is read on a phone too.
fn table(out: &mut String, bench: Bench, columns: &[Column], kind: Option<(&str, &mut Vec<Vec<Cell>>)>) {
    let (context, stations) = bench;
    let (kind, mut made) = kind.unzip();
    let first = kind.is_none();
    let mut cells: Vec<Cells> = columns.iter().map(|c| Cells::of(bench, c)).collect();
    if first {
        cells.push(Cells::price(bench));
    }
    let all = cells.iter().fold(Lane::default(), |lane, c| lane.with(&c.lane));
    let class = if first { "compare stacked sorts" } else { "compare sorts" };
    out.push_str("<div class=\"scroll\"");
    if let Some(kind) = kind {
        put!(out, " tabindex=\"0\" role=\"region\" aria-label=\"{}, side by side\"", escape(kind));
    }
    put!(out, "><table class=\"{class}\"><thead><tr><th scope=\"col\">station</th>");
    for (i, column) in cells.iter().enumerate() {
        let span = if first && i == 0 { " class=\"r lead\" colspan=\"2\"" } else { " class=\"r\"" };
        put!(
            out,
            "<th scope=\"col\"{span} data-better=\"{}\" data-name=\"{}\">{}<small>{}</small></th>",
            column.better,
            column.name(),
            column.title,
            column.head
        );
    }
    out.push_str("</tr></thead><tbody>\n");
    let largest = cells.first().map_or(0.0, Cells::largest);
    let values: Vec<Arc<Values>> = match &made {
        Some(made) => (0..).zip(&cells).map(|(c, of)| values(bench, of, made, c)).collect(),
        None => Vec::new(),
    };
    for (i, model) in context.models.iter().enumerate() {
        put!(
            out,
            "<tr data-id=\"{}\"><th scope=\"row\"><a href=\"m/{}.html\"><bdi>{}</bdi></a><small>{}</small></th>",
            model.slug,
            model.slug,
            escape(&unbroken(&model.report.name)),
            samples(model)
        );
        for (c, column) in cells.iter().enumerate() {
            if first && c == 0 {
                let bar = column.values[i].map_or(String::new(), |v| bar::svg(v.x, half(v), largest));
                put!(out, "<td class=\"draw\">{bar}</td>");
            }
            if let (Some(made), Some(of)) = (&mut made, columns.get(c)) {
                let (cell, data) = cell(context, (i, &stations[i], made[i].len()), of, (column, &values[c]));
                put!(out, "<td class=\"r\"{data}>{}</td>", cell.text);
                made[i].push(cell);
                continue;
            }
            let lane = column.lane.within(&all);
            let text = match columns.get(c) {
                Some(of) => result_cell(context, model, of, column.written[i], lane),
                None => price_cell(context, model, column.written[i], lane),
            };
            let (name, (data, _)) = (column.name(), data(context, i, column));
            put!(out, "<td class=\"r\" data-label=\"{name}\"{data}>{text}</td>");
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table></div>\n");
}

/// The values of a column; the very same as before where they are.
fn values((context, stations): Bench, of: &Cells, made: &[Vec<Cell>], c: usize) -> Arc<Values> {
    let one = |(i, shown): (usize, usize)| Some((i, of.plain[shown]?.to_bits()));
    let now: Values = context.shown_in_report().filter_map(one).collect();
    let was = stations.iter().zip(made).find_map(|(s, made)| s.cells.before.as_ref()?.get(made.len() + c));
    was.map(|was| &was.values).filter(|was| ***was == now).cloned().unwrap_or_else(|| Arc::new(now))
}

/// A cell of a page that is compared as a whole: of which station, the how manieth of it; as it was, where it says the same. With all that the script reads.
fn cell(
    context: &Context,
    (i, station, nth): (usize, &Station, usize),
    column: &Column,
    (cells, values): (&Cells, &Arc<Values>),
) -> (Cell, Arc<str>) {
    let (model, lane) = (&context.models[i], cells.lane);
    let mut ranks = model.report.ranks.iter();
    let place = ranks.find(|(at, _)| Some(*at) == cells.column).map(|(_, place)| place);
    let was = station.cells.before.as_ref().and_then(|b| b.get(nth)).filter(|was| was.reads(lane, place));
    let text = was.map_or_else(
        || (result_cell(context, model, column, cells.written[i], lane) + &rank(model, cells)).into(),
        |was| was.text.clone(),
    );
    let known = was.and_then(|was| was.data(values)).map(|data| (data.clone(), false));
    let (data, named) = known.unwrap_or_else(|| {
        let (data, named) = data(context, i, cells);
        (data.into(), named)
    });
    let kept = (!named).then(|| data.clone());
    (Cell { lane, place: place.cloned(), values: values.clone(), text, data: kept }, data)
}

/// A cell's value for the order of rows, in the unit shown, and the stations it cannot be told from. None without one. With
/// whether it names some of them.
fn data(context: &Context, model: usize, cells: &Cells) -> (String, bool) {
    let Some(x) = cells.plain[model] else { return (String::new(), false) };
    let place = cells.column.and_then(|at| context.models[model].report.place(at));
    if let Some(place) = place.filter(|_| cells.column.is_some())
        && context.shown(place).nth(MANY).is_some()
    {
        let (least, most) = like(cells, model, context.shown(place));
        return (format!(" data-v=\"{x}\" data-like=\"{least} {most}\""), false);
    }
    let tied = match (cells.column, place) {
        (Some(_), Some(place)) => context.tied(place),
        (Some(_), None) => Vec::new(),
        (None, _) => near(&cells.values, model),
    };
    let slugs: Vec<&str> = tied.into_iter().map(|i| context.models[i].slug.as_str()).collect();
    let ties = if slugs.is_empty() { String::new() } else { format!(" data-ties=\"{}\"", slugs.join(" ")) };
    (format!(" data-v=\"{x}\"{ties}"), !slugs.is_empty())
}

/// Beyond so many the stations a value cannot be told from are not listed; from where to where they reach is said.
const MANY: usize = 24;

/// The least and the most of the values around one that cannot be told from it, up to the first that can, either way.
fn like(cells: &Cells, model: usize, tied: impl Iterator<Item = usize>) -> (f64, f64) {
    let own = cells.plain[model].unwrap_or_default();
    let (order, at) = (&cells.order, cells.at[model]);
    let mut is_tied = vec![false; cells.at.len()];
    tied.for_each(|i| is_tied[i] = true);
    let same = |i: &&usize| is_tied[**i];
    let ends = |last: Option<&usize>| last.and_then(|i| cells.plain[*i]).unwrap_or(own);
    let below = order[..at].iter().rev().take_while(same).last();
    let above = order[at + 1..].iter().take_while(same).last();
    (ends(below), ends(above))
}

/// In a column without ranks: those next to a value, on either side, that it cannot be told from.
fn near(values: &[Option<&Value>], of: usize) -> Vec<usize> {
    const NEXT: usize = 4;
    let Some(own) = values[of] else { return Vec::new() };
    let mut others: Vec<(f64, usize)> = values
        .iter()
        .enumerate()
        .filter_map(|(i, v)| Some((((*v)?.x - own.x).abs(), i)))
        .filter(|(_, i)| *i != of)
        .collect();
    if others.len() > 2 * NEXT {
        others.select_nth_unstable_by(2 * NEXT, |a, b| a.0.total_cmp(&b.0));
        others.truncate(2 * NEXT);
    }
    let tied = |i: &usize| values[*i].is_some_and(|v| rank::tied(own, v));
    let mut found: Vec<usize> = others.into_iter().map(|(_, i)| i).filter(tied).collect();
    found.sort_unstable();
    found
}

/// How they came, a word each; the same word once.
fn samples(model: &Shown) -> String {
    let mut came: Vec<&str> = model.specimens.iter().map(|s| disclosure::came(s.came)).collect();
    came.dedup();
    let came = came.join(" and ").to_lowercase();
    let more = model.specimens.len();
    if more > 1 { format!("{came}, {more} samples") } else { came }
}

/// A cell without a value: tried and not held, or not tested. Never zero.
fn without(context: &Context, model: &Shown, column: &Column) -> String {
    let fits = |f: &Found| f.result.key == column.result.key && f.condition == column.condition;
    let tried = context.not_held(model).into_iter().find(|(_, found, _)| fits(found));
    let at = tried.and_then(|(test, ..)| model.test_at.get(test.id.as_str()));
    match at {
        Some(at) => format!(
            "<a class=\"to\" href=\"m/{}.html#{at}\"><span class=\"none\">not held</span></a>",
            model.slug
        ),
        None => "<span class=\"none\">not tested</span>".into(),
    }
}

fn result_cell(
    context: &Context,
    model: &Shown,
    column: &Column,
    written: Option<&Written>,
    lane: Lane,
) -> String {
    let Some(written) = written else { return without(context, model, column) };
    let number = lane.cell(written);
    match model.place_of(column.result.key, &column.condition) {
        Some(at) => format!("<a class=\"to\" href=\"m/{}.html#{at}\">{number}</a>", model.slug),
        None => number,
    }
}

/// Its rank in a column that several models stand in.
fn rank(model: &Shown, cells: &Cells) -> String {
    let place = cells.column.and_then(|at| model.report.place(at)).filter(|p| p.of > 1);
    place.map_or(String::new(), |p| format!("<small>rank {}</small>", p.range()))
}

fn price_cell(context: &Context, model: &Shown, written: Option<&Written>, lane: Lane) -> String {
    let row = &model.report.price;
    let Some(price) = &row.price else {
        return format!("<span class=\"none\">{}</span>", escape(&row.why));
    };
    let amount = escape(&words::amount(price, context.style));
    let on = escape(&words::day(&price.on).replace(' ', "\u{a0}"));
    let small = if row.old {
        format!("<small>{amount}, {on},&#160;old</small>")
    } else {
        format!("<small>{amount}, {on}</small>")
    };
    let number = match written {
        Some(w) => format!("<a class=\"to\" href=\"m/{}.html#trail-price\">{}</a>", model.slug, lane.cell(w)),
        None => "<span class=\"none\">energy not tested</span>".into(),
    };
    let class = if row.old { " class=\"old\"" } else { "" };
    format!("<span{class}>{number}{small}</span>")
}
