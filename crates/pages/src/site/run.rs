//! Will it run yours: a table of runtimes for everybody, and above it, where scripts run, the question answered on the page
//! by the same core as on the bench.
use super::context::{Context, Shown};
use super::frame::{self, Page};
use super::put;
use crate::piece::{Lane, data, escape, unbroken};
use serde_json::json;
use trueplate_core::answer::{Device, Grounds, MEASURED, ModelAnswer, Published, Question, ask_on};
use trueplate_core::quantity::{Dim, Unit};
use trueplate_core::shown::{self, Shown as Written};

/// Steady loads of the table, W: a router, a lamp and its like, a television, a small heater, a kettle.
const LOADS: [f64; 5] = [10.0, 50.0, 200.0, 500.0, 1000.0];
/// Devices offered at first sight.
const OFFERED: usize = 12;

/// The page.
pub fn page(context: &Context) -> String {
    let shown = |id: &str| context.models.iter().any(|m| m.report.id == id);
    let published = Published::of(context.report, shown);
    let mut body = String::from(
        "<h1>Will it run yours?</h1>\n<p class=\"answer\">How long each station lasts from full, by what hangs on it.</p>\n",
    );
    if context.models.is_empty() {
        body.push_str("<p class=\"none\">No station is published yet.</p>\n");
    } else {
        form(&mut body, context, &published);
        body.push_str("<div id=\"said\" class=\"said\"></div>\n");
        table(&mut body, context, &published.grounds);
        grounds(&mut body, context, &published);
    }
    let page = Page {
        title: "Will it run yours?",
        about: "Runtimes of portable power stations at your own devices, from measurements.",
        root: "",
        current: "run.html",
        data: String::new(),
        scripts: &["run/run.js"],
        body,
    };
    frame::document(context, page)
}

/// Hidden until the script that answers it runs.
fn form(out: &mut String, context: &Context, published: &Published) {
    out.push_str(
        "<form id=\"ask\" class=\"question\" hidden>\n<fieldset><legend>What is to run, all of it together</legend>\n\
         <ul id=\"lines\" class=\"plain\"></ul>\n\
         <p class=\"acts\"><button type=\"button\" id=\"own\">Add a device of your own</button> \
         <button type=\"button\" id=\"back\" hidden></button></p>\n",
    );
    let (own, usual): (Vec<&Device>, Vec<&Device>) =
        published.devices.iter().partition(|d| d.origin == MEASURED);
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

fn table(out: &mut String, context: &Context, grounds: &Grounds) {
    out.push_str(
        "<section id=\"runtimes\"><h2>Runtimes at steady loads</h2>\n<table class=\"compare stacked runtimes\"><thead><tr><th scope=\"col\">station</th>",
    );
    for watts in LOADS {
        put!(out, "<th scope=\"col\" class=\"r\">at {}</th>", load(watts, context));
    }
    out.push_str("</tr></thead><tbody>\n");
    let columns: Vec<(Vec<ModelAnswer>, Lane)> = LOADS.iter().map(|w| column(context, grounds, *w)).collect();
    let all = columns.iter().fold(Lane::default(), |lane, (_, l)| lane.with(l));
    for model in &context.models {
        put!(
            out,
            "<tr><th scope=\"row\"><a href=\"m/{}.html\"><bdi>{}</bdi></a></th>",
            model.slug,
            escape(&unbroken(&model.report.name))
        );
        for (watts, (answers, lane)) in LOADS.iter().zip(&columns) {
            let answer = answers.iter().find(|a| a.id == model.report.id);
            let text = answer.map_or(String::new(), |a| cell(context, model, a, lane.within(&all)));
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

/// Every model at one steady load.
fn column(context: &Context, grounds: &Grounds, watts: f64) -> (Vec<ModelAnswer>, Lane) {
    let question = Question { devices: vec![Device::steady("load", watts)], ..Question::default() };
    let answers = ask_on(grounds, &question).models;
    let written: Vec<Written> = answers.iter().filter_map(|a| hours(context, a)).collect();
    (answers, Lane::of(&written))
}

/// Hours until it is empty; `None` where something else ends it, or nobody knows.
fn hours(context: &Context, answer: &ModelAnswer) -> Option<Written> {
    let ends = |key: &str| answer.limits.iter().any(|l| l.key == key && l.p.is_some_and(|p| p <= 0.20));
    let other = ["mains", "outlet", "sustained-output", "switch-off"].into_iter().any(ends);
    let runtime = answer.runtime_h.as_ref().filter(|_| !other)?;
    // All in hours: in a column of figures minutes among them would look like more.
    Some(shown::shown(runtime, Unit::of("h", Dim::Time)?, context.style))
}

fn cell(context: &Context, model: &Shown, answer: &ModelAnswer, lane: Lane) -> String {
    let none = |text: &str| format!("<span class=\"none\">{text}</span>");
    let limit = |key: &str| answer.limits.iter().find(|l| l.key == key);
    let not = |key: &str| limit(key).is_some_and(|l| l.p.is_some_and(|p| p <= 0.20));
    if not("outlet") || not("sustained-output") {
        return none("not held");
    }
    if not("switch-off") {
        let after = answer.runtime_h.as_ref().map_or(String::new(), |h| shown::duration_words(h.x));
        return format!("{}<small>after {after}</small>", none("switches off"));
    }
    let Some(written) = hours(context, answer) else { return none("not known") };
    let untried = limit("sustained-output").is_some_and(|l| l.p.is_none());
    let small = if untried { "<small>power not tried</small>" } else { "" };
    format!("<a class=\"to\" href=\"m/{}.html#runtime\">{}</a>{small}", model.slug, lane.cell(&written))
}

/// What the script answers from.
fn grounds(out: &mut String, context: &Context, published: &Published) {
    let pages: serde_json::Map<String, serde_json::Value> =
        context.models.iter().map(|m| (m.report.id.clone(), json!(format!("m/{}.html", m.slug)))).collect();
    let json = json!({ "published": published, "pages": pages });
    put!(
        out,
        "<script type=\"application/json\" id=\"grounds\">{}</script>\n",
        data::inert(&json.to_string())
    );
}
