//! Appliances on the bench.
use super::Site;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles, stand, typed, unchanged};
use super::page::{Answer, Ask, Top, html, kept, refused, style};
use super::words::load_sort;
use crate::desk::{Deed, free_id};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::notebook::{Load, LoadSort, Settings};
use trueplate_core::number;
use trueplate_core::quantity::Dim;
use trueplate_core::reading::marks_of;
use trueplate_core::record::Record;
use trueplate_core::shown::four_digits;

#[derive(Template)]
#[template(path = "loads.html")]
struct ListPage {
    top: Top,
    loads: Vec<Listed>,
}

struct Listed {
    id: String,
    name: String,
    sort: &'static str,
    running: String,
    starting: String,
    average: String,
}

const SORTS: [(LoadSort, &str); 4] = [
    (LoadSort::Resistive, "resistive"),
    (LoadSort::Cycling, "cycling"),
    (LoadSort::Motor, "motor"),
    (LoadSort::Electronic, "electronic"),
];

/// All loads.
pub async fn list(ask: Ask) -> Answer {
    let style = style(&ask.notebook().settings);
    let watts = |w: f64| if w > 0.0 { format!("{} W", four_digits(w, style)) } else { String::new() };
    let one = |l: &Load| Listed {
        id: l.id.clone(),
        name: l.name.clone(),
        sort: load_sort(l.sort),
        running: watts(l.running_w),
        starting: watts(l.starting_w),
        average: watts(l.average_w),
    };
    Ok(html(&ListPage { top: ask.top(), loads: ask.notebook().loads.iter().map(one).collect() }))
}

#[derive(Template)]
#[template(path = "load.html")]
struct Page {
    top: Top,
    id: String,
    load: Load,
    sorts: Vec<(&'static str, &'static str, bool)>,
    ohm: String,
    running: String,
    average: String,
    starting: String,
    stand: String,
    troubles: Troubles,
}

fn page(ask: &Ask, id: &str, load: Load, troubles: Vec<(String, String)>) -> Page {
    let settings = &ask.notebook().settings;
    Page {
        top: ask.top(),
        id: id.into(),
        sorts: SORTS.iter().map(|(s, k)| (*k, load_sort(*s), *s == load.sort)).collect(),
        ohm: typed(load.ohm, "", settings),
        running: typed(load.running_w, "W", settings),
        average: typed(load.average_w, "W", settings),
        starting: typed(load.starting_w, "W", settings),
        stand: stand(&load),
        load,
        troubles: Troubles(troubles),
    }
}

fn known(ask: &Ask, id: &str) -> Result<Load, Fault> {
    if id == "new" {
        return Ok(Load::default());
    }
    let found = ask.notebook().load(id).cloned();
    found.ok_or_else(|| Fault::Missing(format!("There is no load `{id}` on this bench.")))
}

/// The form of a load; `new` for an empty one.
pub async fn edit(ask: Ask, Path(id): Path<String>) -> Answer {
    let load = known(&ask, &id)?;
    Ok(html(&page(&ask, &id, load, Vec::new())))
}

fn read(sent: &Sent, settings: &Settings, mut load: Load) -> (Load, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    load.name = r.needed("name", "Write what you call it, for example `fan heater, small step`");
    load.sort = SORTS.iter().find(|(_, k)| *k == sent.get("sort")).map_or(LoadSort::Resistive, |(s, _)| *s);
    let ohm = sent.get("ohm").trim_end_matches('Ω').trim();
    load.ohm = match number::number(ohm, marks_of(settings)) {
        _ if ohm.is_empty() => 0.0,
        Some((x, _)) if (0.0..=1e6).contains(&x) => x,
        _ => {
            r.trouble("ohm", &format!("`{ohm}` is not a resistance in Ω"));
            0.0
        }
    };
    load.running_w = r.quantity("running", Dim::Power, "W");
    load.average_w = r.quantity("average", Dim::Power, "W");
    load.starting_w = r.quantity("starting", Dim::Power, "W");
    load.note = sent.text("note");
    (load, r.troubles)
}

/// Keeps a load.
pub async fn save(ask: Ask, State(site): State<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    let base = known(&ask, &id)?;
    let (load, troubles) = read(&sent, &ask.notebook().settings, base);
    if !troubles.is_empty() {
        return Ok(refused(&page(&ask, &id, load, troubles)));
    }
    let done = site.act(move |notebook| {
        let mut load = load;
        if id == "new" {
            load.id = free_id(notebook, "load", &load.name);
        } else if let Some(old) = notebook.load(&id) {
            unchanged(old, &sent)?;
        }
        Ok(Deed { records: vec![Record::Load(load)], why: sent.text("why"), then: () })
    });
    Ok(kept("/loads", done.await?.stroke))
}
