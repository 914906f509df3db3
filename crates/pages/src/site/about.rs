//! Who tests, by which rule, with which instruments, and how every station came to the bench.
use super::context::Context;
use super::frame::{self, Page};
use super::put;
use super::words;
use crate::piece::{self, escape};
use trueplate_core::disclosure;
use trueplate_core::instrument::{Accuracy, Instrument};
use trueplate_core::judge::Verdict;

/// The page about the bench.
pub fn page(context: &Context) -> String {
    let settings = &context.notebook.settings;
    let mut body = String::from("<h1>About these pages</h1>\n");
    let tester = match settings.tester.as_str() {
        "" => "Measured on one bench".to_string(),
        name => format!("Measured by <bdi>{}</bdi> on one bench", escape(name)),
    };
    put!(
        body,
        "<p class=\"answer\">{tester}, computed as of {}. Every number leads to the readings it comes from.</p>\n",
        escape(&words::day(&context.report.as_of))
    );
    rule(&mut body, context);
    disclosure(&mut body, context);
    instruments(&mut body, context);
    prices(&mut body, context);
    data(&mut body, context);
    let page = Page {
        title: "About",
        about: "The decision rule, the disclosure of every station, and the instruments.",
        root: "",
        current: "about.html",
        data: String::new(),
        scripts: &[],
        body,
    };
    frame::document(context, page)
}

fn rule(out: &mut String, context: &Context) {
    let settings = &context.notebook.settings;
    let (met, probably) = (settings.met_from, settings.probably_from);
    let percent = |p: f64| format!("{} %", piece::plain((p * 1000.0).round() / 10.0, context.style));
    out.push_str(
        "<section id=\"rule\"><h2>How verdicts are given</h2><p class=\"text\">A claim is compared with the measured \
         value and its interval. The word follows from the probability that the claim is kept. Where more is better a \
         bare figure is taken as a minimum, where less is better as a maximum. The rule was set before measuring.</p>\
         <table class=\"rule\"><thead><tr><th scope=\"col\">word</th><th scope=\"col\">given when</th></tr></thead><tbody>",
    );
    let given = [
        (Verdict::Met, format!("kept with a probability of {} or more", percent(met))),
        (Verdict::ProbablyMet, format!("kept with {} or more", percent(probably))),
        (Verdict::CannotTell, "neither is likely enough: the interval holds both answers".into()),
        (Verdict::ProbablyNotMet, format!("missed with {} or more", percent(probably))),
        (Verdict::NotMet, format!("missed with {} or more", percent(met))),
        (Verdict::ClaimUnclear, "the claim does not say enough to be judged".into()),
        (Verdict::ConditionsDiffer, "measured under another condition than claimed; both are printed".into()),
        (Verdict::Superseded, "measured only on firmware that has been replaced".into()),
        (Verdict::NotTested, "nothing was measured".into()),
    ];
    for (verdict, text) in given {
        put!(out, "<tr><th scope=\"row\">{}</th><td>{}</td></tr>", piece::verdict(verdict), text);
    }
    out.push_str(
        "</tbody></table><p class=\"text\">What must hold every time (switching over, starting a pump) is counted, not \
         averaged: trials beyond the claim of all trials, and the failure rate that is excluded with 95 % confidence. \
         One trial beyond the claim by more than its own uncertainty: not met. None in twenty: met; none in five: \
         probably met. Stored energy is never judged by what the outlet gives.</p></section>\n",
    );
}

fn disclosure(out: &mut String, context: &Context) {
    out.push_str("<section id=\"disclosure\"><h2>Who got what from whom</h2>");
    if context.models.is_empty() {
        out.push_str("<p class=\"none\">No station is published yet.</p></section>\n");
        return;
    }
    out.push_str("<ul class=\"plain\">\n");
    for model in context.as_written() {
        let each: Vec<String> = model.specimens.iter().map(|s| escape(&disclosure::of_specimen(s))).collect();
        put!(
            out,
            "<li><a href=\"m/{}.html\"><bdi>{}</bdi></a><br><bdi>{}</bdi></li>\n",
            model.slug,
            escape(&model.report.name),
            each.join("</bdi><br><bdi>")
        );
    }
    out.push_str("</ul></section>\n");
}

fn instruments(out: &mut String, context: &Context) {
    let all = &context.notebook.instruments;
    if all.is_empty() {
        return;
    }
    out.push_str(
        "<section id=\"instruments\"><h2>Instruments</h2><div class=\"scroll\"><table><thead><tr><th scope=\"col\">instrument</th>\
         <th scope=\"col\">stated accuracy</th><th scope=\"col\">compared with something better</th></tr></thead><tbody>\n",
    );
    for instrument in all {
        put!(out, "<tr><th scope=\"row\"><bdi>{}</bdi>", escape(&instrument.name));
        if !instrument.about.is_empty() {
            put!(out, "<small>{}</small>", escape(&instrument.about));
        }
        let stated: Vec<String> = instrument.accuracy.iter().map(|a| accuracy(context, a)).collect();
        let stated = if stated.is_empty() { "not stated".into() } else { stated.join("<br>") };
        put!(out, "</th><td>{stated}</td><td>{}</td></tr>\n", calibrations(context, instrument));
    }
    out.push_str("</tbody></table></div></section>\n");
}

fn accuracy(context: &Context, stated: &Accuracy) -> String {
    let unit = stated.dim.kept_in();
    let (plain, percent) =
        (|x: f64| piece::plain(x, context.style), |x: f64| piece::plain(x * 100.0, context.style));
    let mut parts = Vec::new();
    if stated.of_reading > 0.0 {
        parts.push(format!("± {} % of reading", percent(stated.of_reading)));
    }
    if stated.of_range > 0.0 {
        parts.push(format!("± {} % of {} {}", percent(stated.of_range), plain(stated.range), unit.symbol));
    }
    if stated.digits > 0.0 {
        parts.push(format!("± {} digits", plain(stated.digits)));
    }
    if stated.step > 0.0 {
        parts.push(format!("step {}", step(context, stated)));
    }
    let what = words::capital(stated.dim.words().split_once(' ').map_or("", |(_, w)| w));
    escape(&format!("{what}: {}", if parts.is_empty() { "not stated".into() } else { parts.join(", ") }))
}

/// In the largest unit of its dimension in which it is at least 0.1, so that a step of 0.1 ms is not written in hours.
fn step(context: &Context, stated: &Accuracy) -> String {
    let readable = |u: &&trueplate_core::quantity::Unit| u.shown_step(stated.step) >= 0.0999;
    let units = stated.dim.units().filter(|u| u.offset == 0.0 && !["lb", "oz", "in"].contains(&u.symbol));
    let fits = units.filter(readable).max_by(|a, b| a.factor.total_cmp(&b.factor));
    let unit = fits.filter(|u| u.factor < 1.0).unwrap_or(stated.dim.kept_in());
    format!("{} {}", piece::plain(unit.shown_step(stated.step), context.style), unit.symbol)
}

fn calibrations(context: &Context, instrument: &Instrument) -> String {
    let one = |c: &trueplate_core::instrument::Calibration| {
        let shows = if c.gain_error < 0.0 { "too little" } else { "too much" };
        let error = piece::plain((c.gain_error.abs() * 1e6).round() / 1e4, context.style);
        let against = if c.against.is_empty() { String::new() } else { format!(", against {}", c.against) };
        escape(&format!("{}: shows {error} % {shows}{against}", words::day(&c.on)))
    };
    let all: Vec<String> = instrument.calibrations.iter().map(one).collect();
    if all.is_empty() { "<span class=\"none\">not yet</span>".into() } else { all.join("<br>") }
}

fn prices(out: &mut String, context: &Context) {
    let settings = &context.notebook.settings;
    put!(
        out,
        "<section id=\"prices\"><h2>Prices</h2><p class=\"text\">A price is printed with the day it was seen, or not at all. \
         The newest list price in {} counts; other currencies, sales and bundles are never mixed into it. After {} days a \
         price is called old. Price per Wh is over the energy measured at half load, not over the maker's figure.</p></section>\n",
        escape(&settings.currency),
        settings.price_days
    );
}

fn data(out: &mut String, context: &Context) {
    let licence = crate::package::LICENCES.iter().find(|(id, ..)| *id == context.notebook.settings.licence);
    let terms = licence.map_or("No licence is given: ask before you pass it on.".into(), |(_, words, _)| {
        format!("It may be used {words}.")
    });
    put!(
        out,
        "<section id=\"data\"><h2>The data</h2><p class=\"text\">Every reading, result, claim and price is here in open formats: \
         <a href=\"{}\">the description of the tables</a> (a Frictionless Data Package), \
         <a href=\"{}\">the main tables as a spreadsheet</a>, <a href=\"{}\">every number that may be said</a>. {}</p>\
         <p class=\"text\">",
        crate::package::DESCRIPTOR,
        crate::package::WORKBOOK,
        crate::package::FACTS,
        escape(&terms)
    );
    for (i, name) in crate::package::TABLES.iter().enumerate() {
        put!(out, "{}<a href=\"data/{name}.csv\">{name}.csv</a>", if i > 0 { " · " } else { "" });
    }
    out.push_str("</p></section>\n");
}
