//! Side by side: columns as chosen, filters typed or put together, sorted, with the front and one's own weights.
mod table;

use super::page::{Answer, Ask, Top, escaped, html};
use askama::Template;
use table::{Table, table};
use trueplate_core::beside::{Beside, Order, Query, beside};
use trueplate_core::filter::{Clause, filter};
use trueplate_core::number;
use trueplate_core::property::{Property, properties};
use trueplate_core::reading::marks_of;

/// A station of an earlier table: its name, its page, and each figure as title, words and source.
type Earlier = (String, String, Vec<(String, String, String)>);

#[derive(Template)]
#[template(path = "compare.html")]
struct Page {
    top: Top,
    empty: bool,
    /// Where to go from an empty screen: link and words.
    next: (String, &'static str),
    typed: String,
    choices: Vec<Choice>,
    side: String,
    limit: String,
    groups: Vec<Group>,
    chosen: usize,
    weights: Vec<WeightField>,
    weighing: bool,
    sort: String,
    order: String,
    troubles: Vec<(String, String)>,
    kept: String,
    table: Option<Table>,
    /// Summaries of earlier tests: station, its page, and what was found.
    earlier: Vec<Earlier>,
}

/// A property in the list that a condition is put together from.
struct Choice {
    key: String,
    name: String,
    on: bool,
}

/// Columns of one kind of test.
struct Group {
    title: String,
    columns: Vec<Choice>,
}

struct WeightField {
    key: String,
    name: String,
    value: String,
}

/// What was asked, as the address says it.
struct Asked {
    query: Query,
    typed: String,
    /// The filter could not be read.
    unread: bool,
    weights: Vec<String>,
    troubles: Vec<(String, String)>,
}

/// The comparison.
pub async fn show(ask: Ask) -> Answer {
    let all = properties(&ask.report);
    let asked = asked(&ask, &all);
    let found = beside(&ask.report, &all, &asked.query);
    let mut troubles = asked.troubles;
    troubles.extend(found.findings.iter().map(|f| (f.text.clone(), f.hint.clone())));
    let chosen = &asked.query.columns;
    let one = |i: usize| Choice { key: all[i].key.clone(), name: all[i].name(), on: chosen.contains(&i) };
    let weights = chosen.iter().zip(asked.weights).map(|(&i, value)| WeightField {
        key: all[i].key.clone(),
        name: all[i].name(),
        value,
    });
    let summed = ask.notebook().models.iter().filter(|m| !m.earlier.is_empty());
    let earlier = summed.map(|m| (m.name.clone(), super::at::model(&m.id), super::tables::earlier(m)));
    let page = Page {
        top: ask.top(),
        earlier: earlier.collect(),
        empty: ask.report.columns.is_empty(),
        next: super::home::toward_results(ask.notebook()),
        choices: (0..all.len())
            .map(|i| Choice { on: ask.query.get("property") == all[i].key, ..one(i) })
            .collect(),
        // A condition that was put together stands in the text now; only one that could not be read stays.
        side: if troubles.is_empty() { String::new() } else { ask.query.text("side") },
        limit: if troubles.is_empty() { String::new() } else { ask.query.text("limit") },
        groups: groups(&ask, &all, one),
        chosen: chosen.len(),
        weighing: !asked.query.weights.is_empty(),
        weights: weights.collect(),
        sort: ask.query.text("sort"),
        order: ask.query.text("order"),
        kept: if asked.unread { UNREAD.into() } else { kept(&found, &asked.query) },
        table: (!found.lines.is_empty()).then(|| table(&ask, &all, &asked.query, &found)),
        typed: asked.typed,
        troubles,
    };
    Ok(html(&page))
}

/// Said instead when the filter cannot be read.
const UNREAD: &str = "Nothing is left out until the condition above can be read.";

/// "5 of 14 stations".
fn kept(found: &Beside, query: &Query) -> String {
    let (n, all) = (found.lines.len(), found.lines.len() + found.left_out.len());
    if query.filter.is_empty() { String::new() } else { format!("{n} of {all} stations keep all of it.") }
}

fn asked(ask: &Ask, all: &[Property]) -> Asked {
    let sent = &ask.query;
    let mut troubles = Vec::new();
    let (typed, filter) = conditions(ask, all, &mut troubles);
    let unread = !troubles.is_empty();
    let named = |key: &str| all.iter().position(|p| p.key == key);
    let mut columns: Vec<usize> = sent.all("c").filter_map(named).collect();
    columns.sort_unstable();
    columns.dedup();
    if columns.is_empty() {
        columns = usual(ask, all);
    }
    let texts: Vec<String> = columns.iter().map(|&c| sent.text(&format!("weight {}", all[c].key))).collect();
    let mut weights = Vec::new();
    if texts.iter().any(|t| !t.is_empty()) {
        let marks = marks_of(&ask.notebook().settings);
        for (text, &column) in texts.iter().zip(&columns) {
            match number::number(text, marks) {
                Some((x, _)) if x >= 0.0 => weights.push(x),
                None if text.is_empty() => weights.push(0.0),
                _ => {
                    let says =
                        format!("`{text}` is no weight; write 0 for what does not count, more for what does");
                    troubles.push((all[column].name(), says));
                }
            }
        }
        if weights.len() < columns.len() {
            weights.clear();
        }
    }
    let place = |key: &str| columns.iter().position(|&c| all[c].key == key);
    let order = if sent.get("order") == "worst" { Order::Worst } else { Order::Best };
    let sort = place(sent.get("sort")).map(|place| (place, order));
    Asked { query: Query { columns, filter, sort, weights }, typed, unread, weights: texts, troubles }
}

/// The filter as typed, with the condition put together from its parts added.
fn conditions(ask: &Ask, all: &[Property], troubles: &mut Vec<(String, String)>) -> (String, Vec<Clause>) {
    let sent = &ask.query;
    let marks = marks_of(&ask.notebook().settings);
    let mut typed = sent.text("where");
    let (property, limit) = (sent.get("property"), sent.text("limit"));
    if !limit.is_empty() || !property.is_empty() {
        match all.iter().find(|p| p.key == property) {
            Some(_) if limit.is_empty() => {
                troubles.push(("A condition without a limit".into(), "write one, for example 12 W".into()));
            }
            Some(property) => {
                let sign = if sent.get("side") == "least" { ">" } else { "<" };
                let one = format!("{} {sign} {limit}", property.name());
                match filter(&one, all, marks) {
                    Ok(_) if typed.is_empty() => typed = one,
                    Ok(_) => typed = format!("{typed} and {one}"),
                    Err(found) => troubles
                        .extend(found.into_iter().map(|f| (one.clone(), format!("{}; {}", f.text, f.hint)))),
                }
            }
            None => troubles.push((limit, "choose what the limit is for".into())),
        }
    }
    let read = filter(&typed, all, marks).unwrap_or_else(|found| {
        troubles.extend(
            found
                .into_iter()
                .map(|f| (f.place.trim_matches('`').to_string(), format!("{}; {}", f.text, f.hint))),
        );
        Vec::new()
    });
    (typed, read)
}

/// How many columns stand there before anything is chosen.
const USUAL: usize = 3;

/// The first result of each kind, at half load where there are several, as far as most stations have it; and the price
/// of a usable watt-hour.
fn usual(ask: &Ask, all: &[Property]) -> Vec<usize> {
    let report = &ask.report;
    let measured = |i: usize| {
        all[i].column().map_or(0, |c| report.models.iter().filter(|m| m.place(c).is_some()).count())
    };
    let first = |keys: &mut dyn Iterator<Item = &'static str>| {
        let key = keys.next()?;
        let of_key = |i: &usize| all[*i].column().is_some_and(|c| report.columns[c].result.key == key);
        let half = |i: &usize| all[*i].condition.contains("50 %") || all[*i].condition.contains("half");
        let best =
            |a: &usize, b: &usize| measured(*a).cmp(&measured(*b)).then(half(a).cmp(&half(b))).then(b.cmp(a));
        (0..all.len()).filter(of_key).max_by(best)
    };
    let most = report.models.iter().filter(|m| !m.rows.is_empty()).count();
    let mut columns: Vec<usize> = report
        .kinds
        .iter()
        .filter_map(|kind| first(&mut kind.results.iter().map(|r| r.key)))
        .filter(|&i| 2 * measured(i) >= most)
        .take(USUAL)
        .collect();
    columns.extend(all.iter().position(|p| p.key.starts_with("price-per-wh ")));
    columns.sort_unstable();
    columns
}

fn groups(ask: &Ask, all: &[Property], one: impl Fn(usize) -> Choice) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (i, property) in all.iter().enumerate() {
        let key = property.column().map(|c| ask.report.columns[c].result.key);
        let kind =
            key.and_then(|key| ask.report.kinds.iter().find(|k| k.results.iter().any(|r| r.key == key)));
        let title = kind.map_or("Price", |k| k.title);
        match groups.iter_mut().find(|g| g.title == title) {
            Some(group) => group.columns.push(one(i)),
            None => groups.push(Group { title: title.into(), columns: vec![one(i)] }),
        }
    }
    groups
}

/// The address of this page sorted by a column, everything else as it is.
fn sorted_by(ask: &Ask, typed: &str, key: &str, order: &str) -> String {
    let other = |(name, _): &&(String, String)| {
        !["sort", "order", "where", "property", "side", "limit", "kept"].contains(&name.as_str())
    };
    let mut pairs: Vec<String> =
        ask.query.0.iter().filter(other).map(|(n, v)| format!("{}={}", escaped(n), escaped(v))).collect();
    pairs.push(format!("where={}", escaped(typed)));
    pairs.push(format!("sort={}", escaped(key)));
    pairs.push(format!("order={order}"));
    format!("/compare?{}#table", pairs.join("&"))
}
