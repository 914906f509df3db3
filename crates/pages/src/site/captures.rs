//! A page of its own for a station's captures: the worst one drawn, the batch against what equipment bears, each in a row.
//! The page of the station is read on phones and stays light; this one is a link away.
use super::context::{Context, Shown};
use super::frame::{self, Page};
use super::{put, words};
use crate::chart::capture as chart;
use crate::piece::escape;
use trueplate_core::field::{Holds, Shape};
use trueplate_core::notebook::Test;
use trueplate_core::recording::CaptureRecord;
use trueplate_core::repeat::counts;
use trueplate_core::shown::{Style, decimal, four_digits, places};
use trueplate_core::wave::batch::Batch;

/// Address of the page, from the top of the folder.
pub fn path(model: &Shown) -> String {
    format!("c/{}.html", model.slug)
}

/// What the captures of a test hold, and those that were understood; nothing where it has none or does not count.
pub fn of_test<'a>(context: &Context<'a>, test: &Test) -> Option<(Holds, Vec<&'a CaptureRecord>)> {
    let fields = context.kind(&test.kind)?.fields;
    let (key, holds) = fields.iter().find_map(|f| match f.shape {
        Shape::Captures(holds) => Some((f.key, holds)),
        _ => None,
    })?;
    if !counts(test) {
        return None;
    }
    let entry = test.entries.get(key)?;
    let recordings = &context.report.outcomes.get(&test.id)?.recordings;
    // In the order they came.
    let of = |sha: &str| recordings.iter().find(|(s, _)| s.sha256 == sha)?.1.capture();
    let all: Vec<_> =
        entry.files.iter().filter_map(|f| of(&f.sha256)).filter(|c| c.outlet().is_some()).collect();
    (!all.is_empty()).then_some((holds, all))
}

/// The page; `None` for a station without captures.
pub fn page(context: &Context, model: &Shown) -> Option<String> {
    let tests: Vec<_> = model.tests.iter().filter_map(|t| Some((*t, of_test(context, t)?))).collect();
    if tests.is_empty() {
        return None;
    }
    let name = &model.report.name;
    let mut body = format!(
        "<h1>Captures of <bdi>{}</bdi></h1>\n<p class=\"answer\">What the oscilloscope saw at its outlet.</p>\n\
         <p><a href=\"../m/{}.html\">Everything measured on it</a></p>\n",
        escape(name),
        model.slug
    );
    for (test, (holds, captures)) in tests {
        section(&mut body, context, model, test, holds, &captures);
    }
    let title = format!("Captures of {name}");
    let page = Page {
        title: &title,
        about: "What the oscilloscope saw at the outlet: dead times, waves, and their charts.",
        root: "../",
        current: "",
        data: String::new(),
        scripts: &[],
        body,
    };
    Some(frame::document(context, page))
}

fn section(
    out: &mut String,
    context: &Context,
    model: &Shown,
    test: &Test,
    holds: Holds,
    captures: &[&CaptureRecord],
) {
    let style = context.style;
    let at = model.test_at.get(test.id.as_str()).map_or("", |at| &**at);
    let title = escape(&words::test(test, context.kind(&test.kind)));
    let outcome = context.report.outcomes.get(&test.id);
    let condition = outcome.map_or(String::new(), |o| context.condition(&o.condition));
    put!(out, "<section id=\"{at}\"><h2>{title} <small class=\"in\">{condition}</small></h2>");
    let worst = captures.iter().enumerate().max_by(|(_, a), (_, b)| bad(a, holds).total_cmp(&bad(b, holds)));
    if let Some((n, worst)) = worst {
        let which = match (captures.len(), holds) {
            (1, _) => "The only capture".to_string(),
            (_, Holds::Interruption) => format!("Number {}, the longest of {}", n + 1, captures.len()),
            (_, Holds::Wave) => format!("Number {}, the most distorted of {}", n + 1, captures.len()),
        };
        put!(out, "<figure class=\"chart broad\">{}<figcaption>{which}.", figure(worst, style));
        if !worst.interruptions().is_empty() {
            out.push_str(" Shaded: dead. The thin line: rms of a cycle, a step each half cycle.");
        }
        out.push_str("</figcaption></figure>");
    }
    if let Some(batch) = outcome.and_then(|o| o.batch.as_ref()) {
        against(out, batch, style);
    }
    match holds {
        Holds::Interruption => interruptions(out, captures, style),
        Holds::Wave => waves(out, captures, style),
    }
    out.push_str("</section>\n");
}

/// How bad a capture is: the longest interruption, ms; the distortion.
fn bad(c: &CaptureRecord, holds: Holds) -> f64 {
    match holds {
        Holds::Interruption => c.longest().map_or(-1.0, |i| i.dead_ms.unwrap_or(f64::INFINITY)),
        Holds::Wave => c.outlet().and_then(|(_, c)| c.thd_percent).unwrap_or(-1.0),
    }
}

fn figure(c: &CaptureRecord, style: Style) -> String {
    let Some(window) = c.stretch() else { return String::new() };
    let points = c.curve.iter().map(|p| (p.0, f64::from(p.1), f64::from(p.2))).collect();
    let mut trace = chart::trace(c, points, window, style);
    trace.still = true;
    // A wave that runs on has an even rms: the line would only cross it.
    if trace.bands.is_empty() {
        trace.line.clear();
    }
    trace.figure()
}

fn against(out: &mut String, batch: &Batch, style: Style) {
    let ms = |x: f64| decimal(x, 1, style);
    let first = match batch.n {
        1 => format!("One cut: dead for {} ms.", ms(batch.longest_ms)),
        n => format!(
            "{n} cuts: dead for {} ms in the median, {} ms at the longest.",
            ms(batch.median_ms),
            ms(batch.longest_ms)
        ),
    };
    put!(out, "<p>{first}</p><h3>Held against what equipment bears</h3><table><thead><tr>");
    out.push_str("<th scope=\"col\">longer than</th><th scope=\"col\" class=\"r\">cuts</th><th scope=\"col\" class=\"r\">of all, with 95&#160;% confidence</th></tr></thead><tbody>");
    for o in &batch.over {
        put!(
            out,
            "<tr><th scope=\"row\">{}&#160;ms<small>{}: {}</small></th><td class=\"r\">{}&#160;of&#160;{}</td><td class=\"r\">at most {:.0}&#160;%</td></tr>",
            four_digits(o.limit_ms, style),
            escape(&o.with),
            escape(&o.source),
            o.k,
            batch.n,
            o.bound * 100.0
        );
    }
    out.push_str("</tbody></table>");
}

fn head(out: &mut String, columns: &[&str]) {
    out.push_str(
        "<h3>Each capture</h3><div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Each capture\"><table>\
         <thead><tr><th scope=\"col\">number</th>",
    );
    for column in columns {
        put!(out, "<th scope=\"col\" class=\"r\">{column}</th>");
    }
    out.push_str("</tr></thead><tbody>");
}

fn row(out: &mut String, n: usize, about: &str, cells: &[String]) {
    put!(out, "<tr><th scope=\"row\">{n}");
    if !about.is_empty() {
        put!(out, "<small>{about}</small>");
    }
    out.push_str("</th>");
    for cell in cells {
        put!(out, "<td class=\"r\">{cell}</td>");
    }
    out.push_str("</tr>");
}

fn interruptions(out: &mut String, captures: &[&CaptureRecord], style: Style) {
    head(out, &["dead, ms", "before, V", "after, V", "phase jumps by"]);
    let number = |x: Option<f64>, digits: i32| x.map_or(String::new(), |x| decimal(x, digits, style));
    for (n, capture) in captures.iter().enumerate() {
        if capture.interruptions().is_empty() {
            row(out, n + 1, "", &["none".into(), String::new(), String::new(), String::new()]);
        }
        for gap in capture.interruptions() {
            let dead = match gap.dead_ms.zip(gap.dead_u_ms) {
                Some((ms, u)) if u > 0.0 => {
                    // Two-sided 95 % of a normal distribution.
                    let p = places(1.96 * u);
                    format!("{} ± {}", decimal(ms, p, style), decimal(1.96 * u, p, style))
                }
                Some((ms, _)) => four_digits(ms, style),
                None => match capture.at_least_ms(gap) {
                    Some(ms) => format!("more than {}", four_digits(ms, style)),
                    None => "to the end".into(),
                },
            };
            let jump = gap.phase_jump_deg.map_or(String::new(), |d| chart::degrees(d, style));
            row(out, n + 1, "", &[dead, number(gap.rms_before_v, 1), number(gap.rms_after_v, 1), jump]);
        }
    }
    out.push_str("</tbody></table></div>");
}

fn waves(out: &mut String, captures: &[&CaptureRecord], style: Style) {
    head(out, &["rms, V", "frequency, Hz", "distortion, %", "crest factor"]);
    let number = |x: Option<f64>, digits: i32| x.map_or(String::new(), |x| decimal(x, digits, style));
    for (n, (_, c)) in captures.iter().filter_map(|c| c.outlet()).enumerate() {
        let figures = [(c.rms_v, 1), (c.frequency_hz, 2), (c.thd_percent, 1), (c.crest, 3)];
        let cells: Vec<String> = figures.iter().map(|(x, digits)| number(*x, *digits)).collect();
        row(out, n + 1, c.shape.words(), &cells);
    }
    out.push_str("</tbody></table></div>");
}
