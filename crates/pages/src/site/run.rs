//! Will it run yours: a table of runtimes for everybody, and above it, where scripts run, the question answered on the page
//! by the same core as on the bench.
use super::context::{Context, Shown};
use super::frame::{self, Page};
use super::pieces::Station;
use super::put;
use crate::json::Stretch;
use crate::piece::{Lane, data, escape, unbroken};
use serde_json::json;
use std::collections::BTreeMap;
use trueplate_core::answer::{Device, Ground, Grounds, MEASURED, ModelAnswer, Question, ask_on, known};
use trueplate_core::quantity::{Dim, Unit};
use trueplate_core::shown::{self, Shown as Written};

/// Steady loads of the table, W: a router, a lamp and its like, a television, a small heater, a kettle.
const LOADS: [f64; 5] = [10.0, 50.0, 200.0, 500.0, 1000.0];
/// Devices offered at first sight.
const OFFERED: usize = 12;

/// What the page says of one station.
pub struct Runs {
    /// At each load of the table.
    at: Vec<Run>,
    /// What answers about it rest on, as data; empty where nothing is known of it.
    ground: String,
}

/// How long it runs at a load.
enum Run {
    /// Until it is empty.
    For(Written),
    /// The same, at a power it was not tried at.
    Untried(Written),
    /// Something else, in words.
    Not(String),
}

/// A runtime as it is kept: its sort, the hours or the words, and half the interval.
pub type KeptRun = (u8, String, Option<String>);

impl Runs {
    /// The runtimes, to be kept.
    pub fn kept(&self) -> Vec<KeptRun> {
        let one = |run: &Run| match run {
            Run::For(w) => (0, w.number.clone(), w.pm.clone()),
            Run::Untried(w) => (1, w.number.clone(), w.pm.clone()),
            Run::Not(words) => (2, words.clone(), None),
        };
        self.at.iter().map(one).collect()
    }

    /// Those that were kept, with what they rest on out of the page of before; `None` where that does not stand there.
    pub fn taken(files: &BTreeMap<String, Vec<u8>>, (runs, at): &(Vec<KeptRun>, Stretch)) -> Option<Runs> {
        let ground = std::str::from_utf8(files.get(PAGE)?.get(at.clone())?).ok()?.to_string();
        let hours = |number: &String, pm: &Option<String>| {
            Some(Written { number: number.clone(), pm: pm.clone(), unit: hour()?.symbol })
        };
        let one = |(sort, text, pm): &KeptRun| match sort {
            0 => hours(text, pm).map(Run::For),
            1 => hours(text, pm).map(Run::Untried),
            _ => Some(Run::Not(text.clone())),
        };
        let at: Vec<Run> = runs.iter().map(one).collect::<Option<_>>()?;
        (at.len() == LOADS.len()).then_some(Runs { at, ground })
    }
}

/// Of one station.
pub fn runs(context: &Context, shown: &Shown) -> Runs {
    let tests = context.tests_in_order(shown);
    let ground = Ground::of(context.report, shown.report, &shown.specimens, &tests);
    let ground_text = ground.as_ref().and_then(|g| serde_json::to_string(g).ok()).unwrap_or_default();
    let grounds = Grounds { models: ground.into_iter().collect(), decimal_comma: comma(context) };
    let at = |watts: &f64| {
        let question = Question { devices: vec![Device::steady("load", *watts)], ..Question::default() };
        ask_on(&grounds, &question).models.first().map_or(Run::Not(String::new()), |a| run(context, a))
    };
    Runs { at: LOADS.iter().map(at).collect(), ground: data::inert(&ground_text) }
}

fn comma(context: &Context) -> bool {
    context.notebook.settings.decimal_comma
}

/// Where the page stands.
pub const PAGE: &str = "run.html";

/// The page, and where in it stands what answers about each station rest on, in the order they were written down.
pub fn page(context: &Context, stations: &[Station]) -> (String, Vec<Stretch>) {
    let mut at = Vec::new();
    let devices = known(context.notebook);
    let mut body = String::from(
        "<h1>Will it run yours?</h1>\n<p class=\"answer\">How long each station lasts from full, by what hangs on it.</p>\n",
    );
    if context.models.is_empty() {
        body.push_str("<p class=\"none\">No station is published yet.</p>\n");
    } else {
        form(&mut body, context, &devices);
        body.push_str("<div id=\"said\" class=\"said\"></div>\n");
        table(&mut body, context, stations);
        at = grounds(&mut body, context, stations, &devices);
    }
    let page = Page {
        title: "Will it run yours?",
        about: "Runtimes of portable power stations at your own devices, from measurements.",
        root: "",
        current: PAGE,
        data: String::new(),
        scripts: &["run/run.js"],
        body,
    };
    let text = frame::document(context, page);
    // Nobody's words could write an element.
    let begin = text.find(GROUNDS).unwrap_or_default();
    at.iter_mut().for_each(|at| *at = at.start + begin..at.end + begin);
    (text, at)
}

/// What the script answers from begins so.
const GROUNDS: &str = "<script type=\"application/json\" id=\"grounds\">";

/// Hidden until the script that answers it runs.
fn form(out: &mut String, context: &Context, devices: &[Device]) {
    out.push_str(
        "<form id=\"ask\" class=\"question\" hidden>\n<fieldset><legend>What is to run, all of it together</legend>\n\
         <ul id=\"lines\" class=\"plain\"></ul>\n\
         <p class=\"acts\"><button type=\"button\" id=\"own\">Add a device of your own</button> \
         <button type=\"button\" id=\"back\" hidden></button></p>\n",
    );
    let (own, usual): (Vec<&Device>, Vec<&Device>) = devices.iter().partition(|d| d.origin == MEASURED);
    let (first, more) = usual.split_at(usual.len().min(OFFERED));
    chips(out, context, "Common devices", first);
    out.push_str("<details><summary>More devices, and those measured on this bench</summary>");
    chips(out, context, "More devices", more);
    chips(out, context, "Measured on this bench", &own);
    out.push_str("</details>\n");
    out.push_str(
        "<p class=\"facts\">Each line can be changed: name and watts, commas between. Besides: start 900 W, avg 38 W, \
         9 h/day, needs 10 ms, needs sine, 120 V, medical.</p></fieldset>\n\
         <div class=\"grid\"><div class=\"field\"><label for=\"time\">For how long</label>\
         <input id=\"time\" placeholder=\"1 day\" autocomplete=\"off\"><small>Days, or with a unit: 36 h.</small></div>\n\
         <div class=\"field\"><label for=\"solar\">Solar panels, watts on their labels</label>\
         <input id=\"solar\" placeholder=\"none\" autocomplete=\"off\"><small>Reckoned with four hours of full sun a day.</small></div></div>\n\
         <p class=\"ticks\"><label><input type=\"checkbox\" id=\"disabled\"> I disable the low-load switch-off where that is possible</label>\n\
         <label><input type=\"checkbox\" id=\"off\"> I switch the outlet off by hand between uses</label></p>\n\
         <p id=\"status\" class=\"facts\" role=\"status\"></p></form>\n",
    );
}

fn chips(out: &mut String, context: &Context, label: &str, devices: &[&Device]) {
    put!(out, "<div class=\"chips\" role=\"group\" aria-label=\"{label}\">");
    for device in devices {
        put!(
            out,
            "<button type=\"button\" class=\"chip\" data-line=\"{}\" title=\"{}\"><bdi>{}</bdi></button>",
            escape(&device.line(context.style)),
            escape(&device.origin),
            escape(&device.name)
        );
    }
    out.push_str("</div>\n");
}

fn table(out: &mut String, context: &Context, stations: &[Station]) {
    out.push_str(
        "<section id=\"runtimes\"><h2>Runtimes at steady loads</h2>\n<table class=\"compare stacked runtimes\"><thead><tr><th scope=\"col\">station</th>",
    );
    for watts in LOADS {
        put!(out, "<th scope=\"col\" class=\"r\">at {}</th>", load(watts, context));
    }
    out.push_str("</tr></thead><tbody>\n");
    let written = |i: usize| stations.iter().filter_map(move |s| s.alone.runs.at.get(i)?.written());
    let lanes: Vec<Lane> = (0..LOADS.len()).map(|i| Lane::of(written(i))).collect();
    let all = lanes.iter().fold(Lane::default(), |lane, l| lane.with(l));
    for (model, station) in context.models.iter().zip(stations) {
        put!(
            out,
            "<tr><th scope=\"row\"><a href=\"m/{}.html\"><bdi>{}</bdi></a></th>",
            model.slug,
            escape(&unbroken(&model.report.name))
        );
        for ((watts, lane), run) in LOADS.iter().zip(&lanes).zip(&station.alone.runs.at) {
            let text = cell(model, run, lane.within(&all));
            put!(out, "<td class=\"r\" data-label=\"at {}\">{text}</td>", load(*watts, context));
        }
        out.push_str("</tr>\n");
    }
    out.push_str(
        "</tbody></table>\n<p class=\"facts\">From full to the cut-off with the outlet on all the time, at room temperature, as delivered. \
         ± holds the true value with 95 % confidence. A load in between lies between.</p></section>\n",
    );
}

fn load(watts: f64, context: &Context) -> String {
    format!("{} W", shown::four_digits(watts, context.style))
}

impl Run {
    fn written(&self) -> Option<&Written> {
        match self {
            Run::For(written) | Run::Untried(written) => Some(written),
            Run::Not(_) => None,
        }
    }
}

/// Hours until it is empty; `None` where something else ends it, or nobody knows.
fn hours(context: &Context, answer: &ModelAnswer) -> Option<Written> {
    let ends = |key: &str| answer.limits.iter().any(|l| l.key == key && l.p.is_some_and(|p| p <= 0.20));
    let other = ["mains", "outlet", "sustained-output", "switch-off"].into_iter().any(ends);
    let runtime = answer.runtime_h.as_ref().filter(|_| !other)?;
    // All in hours: in a column of figures minutes among them would look like more.
    Some(shown::shown(runtime, hour()?, context.style))
}

fn hour() -> Option<&'static Unit> {
    Unit::of("h", Dim::Time)
}

fn run(context: &Context, answer: &ModelAnswer) -> Run {
    let none = |text: &str| format!("<span class=\"none\">{text}</span>");
    let limit = |key: &str| answer.limits.iter().find(|l| l.key == key);
    let not = |key: &str| limit(key).is_some_and(|l| l.p.is_some_and(|p| p <= 0.20));
    if not("outlet") || not("sustained-output") {
        return Run::Not(none("not held"));
    }
    if not("switch-off") {
        let after = answer.runtime_h.as_ref().map_or(String::new(), |h| shown::duration_words(h.x));
        return Run::Not(format!("{}<small>after {after}</small>", none("switches off")));
    }
    let Some(written) = hours(context, answer) else { return Run::Not(none("not known")) };
    let untried = limit("sustained-output").is_some_and(|l| l.p.is_none());
    if untried { Run::Untried(written) } else { Run::For(written) }
}

fn cell(model: &Shown, run: &Run, lane: Lane) -> String {
    let link =
        |w: &Written| format!("<a class=\"to\" href=\"m/{}.html#runtime\">{}</a>", model.slug, lane.cell(w));
    match run {
        Run::For(written) => link(written),
        Run::Untried(written) => link(written) + "<small>power not tried</small>",
        Run::Not(words) => words.clone(),
    }
}

/// What the script answers from: [`trueplate_core::answer::Published`] as data, put together from what is kept of each station;
/// where each stands, from the beginning of the element.
fn grounds(out: &mut String, context: &Context, stations: &[Station], devices: &[Device]) -> Vec<Stretch> {
    let begin = out.len();
    let pages: serde_json::Map<String, serde_json::Value> =
        context.models.iter().map(|m| (m.report.id.clone(), json!(format!("m/{}.html", m.slug)))).collect();
    put!(
        out,
        "{GROUNDS}{{\"pages\":{},\"published\":{{\"devices\":{},\"grounds\":{{\"decimal_comma\":{},\"models\":[",
        data::inert(&json!(pages).to_string()),
        data::inert(&json!(devices).to_string()),
        comma(context)
    );
    // In the order they were written down: it stays when a result changes.
    let mut first = true;
    let of = context.as_written_at().filter_map(|i| stations.get(i)).map(|station| {
        let ground = &station.alone.runs.ground;
        if !ground.is_empty() && !std::mem::take(&mut first) {
            out.push(',');
        }
        let at = out.len() - begin;
        out.push_str(ground);
        at..at + ground.len()
    });
    let found = of.collect();
    out.push_str("]}}}</script>\n");
    found
}
