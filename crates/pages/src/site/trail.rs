//! Where each number comes from: the formula, its budget, the tests behind it, and what was written down in them.
use super::context::{Context, Shown};
use super::put;
use super::words;
use crate::piece::{self, escape};
use trueplate_core::budget;
use trueplate_core::notebook::{Entry, Test};
use trueplate_core::quantity::Unit;
use trueplate_core::repeat::{self, ResultRow};

/// How each result was found, and every test with its entries.
pub fn section(context: &Context, model: &Shown) -> String {
    let mut out = String::from("<section id=\"how\"><h2>How tested</h2>");
    if model.tests.is_empty() {
        out.push_str("<p class=\"none\">No test is written down yet.</p></section>\n");
        return out;
    }
    for (row, at) in &model.rows {
        result(&mut out, context, model, row, at);
    }
    price(&mut out, context, model);
    out.push_str("<h3>The tests</h3>");
    for test in &model.tests {
        one_test(&mut out, context, model, test);
    }
    out.push_str("</section>\n");
    out
}

fn result(out: &mut String, context: &Context, model: &Shown, row: &ResultRow, at: &str) {
    let kind = context.kind_of(row.result.key);
    let condition = context.condition(&row.condition);
    put!(
        out,
        "<details class=\"trail\"><summary>{}{}: {}</summary><div id=\"trail-{at}\">",
        escape(row.result.title),
        if condition.is_empty() { String::new() } else { format!(", {condition}") },
        context.number(&row.value, row.result.shown_in())
    );
    if !row.result.formula.is_empty() {
        put!(out, "<p class=\"formula\">{}</p>", escape(row.result.formula));
    }
    if let Some(kind) = kind {
        put!(
            out,
            "<p><a href=\"../how.html#{}\">{}: how it is done</a></p>",
            super::anchor::slug(kind.id),
            escape(kind.title)
        );
    }
    doubts(out, context, row);
    let tests = row.tests.iter().filter_map(|id| Some((context.test(id)?, model.test_at.get(id.as_str())?)));
    out.push_str("<p>From ");
    for (i, (test, place)) in tests.enumerate() {
        let separator = if i > 0 { "; " } else { "" };
        let title = escape(&words::test(test, context.kind(&test.kind)));
        put!(out, "{separator}<a href=\"#{place}\">{title}</a>");
    }
    out.push_str(".</p></div></details>\n");
}

/// The budget in plain words, and as a table.
fn doubts(out: &mut String, context: &Context, row: &ResultRow) {
    let lines = budget::budget(&row.value, context.notebook);
    let Some(first) = budget::in_words(&lines) else {
        out.push_str("<p>No instrument is named, so the uncertainty is not known. It is not zero.</p>");
        return;
    };
    // The remedy is the tester's affair; the reader is told what the doubt is.
    let told = first.split(" To narrow it").next().unwrap_or(&first);
    put!(out, "<p>{}</p>", escape(told));
    let unit = row.result.shown_in();
    put!(
        out,
        "<table class=\"budget\"><thead><tr><th scope=\"col\">what is in doubt</th>\
         <th scope=\"col\" class=\"r\">standard uncertainty</th><th scope=\"col\" class=\"r\">share of the variance</th></tr></thead><tbody>"
    );
    for line in &lines {
        let shared =
            if line.shared { "<small>cancels between stations read on the same one</small>" } else { "" };
        put!(
            out,
            "<tr><th scope=\"row\">{}{shared}</th><td class=\"r\">{} {}</td><td class=\"r\">{}</td></tr>",
            escape(&line.words),
            piece::two_digits(unit.shown_step(line.u), context.style),
            escape(unit.symbol),
            if line.share < 0.005 { "&lt; 1 %".into() } else { format!("{:.0} %", line.share * 100.0) }
        );
    }
    out.push_str("</tbody></table>");
}

fn price(out: &mut String, context: &Context, model: &Shown) {
    let row = &model.report.price;
    let (Some(price), Some(per_wh)) = (&row.price, &row.per_wh) else { return };
    let half = trueplate_core::notebook::Condition::from([("load".into(), "50 %".into())]);
    let energy = model
        .place_of("usable-energy", &half)
        .map_or(String::new(), |at| format!("<a href=\"#trail-{at}\">the usable energy at half load</a>"));
    put!(
        out,
        "<details class=\"trail\"><summary>Price per usable Wh: {} {}</summary><div id=\"trail-price\">\
         <p>{}, {} price seen {}{}, over {energy}. The newest dated list price in {} counts; currencies are never mixed.</p></div></details>\n",
        context.number(per_wh, Unit::of("", per_wh.dim).unwrap_or(per_wh.dim.kept_in())),
        escape(&price.currency),
        escape(&words::amount(price, context.style)),
        escape(&price.kind),
        escape(&words::day(&price.on)),
        if price.with_tax { ", tax included" } else { "" },
        escape(&context.notebook.settings.currency)
    );
}

fn one_test(out: &mut String, context: &Context, model: &Shown, test: &Test) {
    let kind = context.kind(&test.kind);
    let Some(at) = model.test_at.get(test.id.as_str()) else { return };
    put!(out, "<details class=\"trail\"><summary>{}", escape(&words::test(test, kind)));
    for note in notes(context, model, test) {
        put!(out, " <small class=\"in\">· {note}</small>");
    }
    put!(out, "</summary><div id=\"{at}\">");
    if !test.excluded.is_empty() {
        put!(out, "<p>Does not count: <bdi>{}</bdi></p>", escape(&test.excluded));
    }
    if super::captures::of_test(context, test).is_some() {
        let path = super::captures::path(model);
        put!(out, "<p><a href=\"../{path}#{at}\">Each capture, and the worst one drawn</a></p>");
    }
    steps(out, context, test);
    entries(out, context, test);
    out.push_str("</div></details>\n");
}

/// What stands beside the title of a test.
fn notes(context: &Context, model: &Shown, test: &Test) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(outcome) = context.report.outcomes.get(&test.id) {
        notes.push(context.condition(&outcome.condition));
    }
    if model.specimens.len() > 1 {
        notes.push(escape(&model.specimen_name(&test.specimen)));
    }
    if !test.firmware.is_empty() {
        notes.push(format!("firmware {}", escape(&test.firmware)));
    }
    if test.held_out {
        notes.push("kept out of the curve as a check".into());
    }
    if test.conditioning {
        notes.push("first cycle, not counted".into());
    }
    if !repeat::counts(test) && !test.conditioning {
        notes.push("not counted".into());
    }
    notes.retain(|n| !n.is_empty());
    notes
}

/// Symbols of the formula with their values.
fn steps(out: &mut String, context: &Context, test: &Test) {
    let steps = context.report.outcomes.get(&test.id).map(|o| o.steps.as_slice()).unwrap_or_default();
    if steps.is_empty() {
        return;
    }
    out.push_str(
        "<table class=\"steps\"><caption>Computed with</caption><thead><tr><th scope=\"col\">symbol</th>\
         <th scope=\"col\">what it is</th><th scope=\"col\" class=\"r\">value</th></tr></thead><tbody>",
    );
    for step in steps {
        let unit = Unit::of(step.unit, step.value.dim).unwrap_or(step.value.dim.kept_in());
        put!(
            out,
            "<tr><td><i>{}</i></td><td>{}</td><td class=\"r\">{}</td></tr>",
            escape(step.symbol),
            escape(&step.words),
            context.number(&step.value, unit)
        );
    }
    out.push_str("</tbody></table>");
}

/// The entries as they were typed. Remarks and names of files stay in the notebook.
fn entries(out: &mut String, context: &Context, test: &Test) {
    if test.entries.is_empty() {
        return;
    }
    out.push_str(
        "<table class=\"entries\"><caption>As written down</caption><thead><tr><th scope=\"col\">what</th>\
         <th scope=\"col\">as typed</th><th scope=\"col\">read on</th><th scope=\"col\">kept</th></tr></thead><tbody>",
    );
    let kind = context.kind(&test.kind);
    let known = kind.iter().flat_map(|k| k.fields.iter().map(|f| f.key));
    let known: Vec<&str> = known.filter(|k| test.entries.contains_key(*k)).collect();
    let others = test.entries.keys().map(String::as_str).filter(|k| !known.contains(k));
    for key in known.iter().copied().chain(others) {
        let Some(entry) = test.entries.get(key) else { continue };
        let field = kind.and_then(|k| k.field(key));
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td class=\"raw\" data-label=\"as typed\"><bdi>{}</bdi>{}</td>\
             <td data-label=\"read on\">{}</td><td data-label=\"kept\">{}</td></tr>",
            escape(field.map_or(key, |f| f.label)),
            escape(&typed(context, field, entry)),
            kept_files(context, entry),
            escape(context.notebook.instrument(&entry.instrument).map_or("", |i| i.name.as_str())),
            escape(&context.moment(&entry.at))
        );
    }
    out.push_str("</tbody></table>");
}

/// An entry as typed; of a closed list the words of the choice, of a load its name.
fn typed(context: &Context, field: Option<&trueplate_core::field::FieldSpec>, entry: &Entry) -> String {
    use trueplate_core::field::Shape;
    let text = entry.text.trim();
    match field.map(|f| f.shape) {
        Some(Shape::Choice(choices)) => {
            choices.iter().find(|c| c.key == text).map_or(text, |c| c.label).to_string()
        }
        Some(Shape::Load) => context.notebook.load(text).map_or(text, |l| l.name.as_str()).to_string(),
        _ => text.to_string(),
    }
}

/// Files kept with an entry; one that goes along with the pages is a link.
fn kept_files(context: &Context, entry: &Entry) -> String {
    let mut out = String::new();
    for file in &entry.files {
        let sort = file.media.split('/').next().unwrap_or_default();
        let hash: String = file.sha256.chars().take(12).collect();
        let named = format!("{} kept, SHA-256 {}…", escape(sort), escape(&hash));
        match context.originals.iter().find(|o| o.sha256 == file.sha256) {
            Some(original) => {
                put!(out, "<small><a href=\"../{}\">{named}</a></small>", escape(&original.path))
            }
            None => put!(out, "<small>{named}</small>"),
        }
    }
    out
}
