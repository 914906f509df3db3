//! The method handbook: how every kind of test is done, what its interval holds, what it does not tell.
use super::anchor::slug;
use super::context::Context;
use super::frame::{self, Page};
use super::put;
use crate::piece::escape;
use trueplate_core::kind::Spec;
use trueplate_core::shown::{duration_words, minus};

/// The handbook, on one page, so that it prints as one.
pub fn page(context: &Context) -> String {
    let mut body = String::from(
        "<h1>How I test</h1>\n<p class=\"answer\">Each kind of test is done the same way on every station, so that \
         results can stand beside each other.</p>\n<ul class=\"toc\">",
    );
    for kind in &context.report.kinds {
        put!(body, "<li><a href=\"#{}\">{}</a></li>", slug(kind.id), escape(kind.title));
    }
    body.push_str("</ul>\n");
    for kind in &context.report.kinds {
        one(&mut body, kind);
    }
    let page = Page {
        title: "How I test",
        about: "How each kind of test is done, where its interval comes from, and what it does not tell.",
        root: "",
        current: "how.html",
        data: String::new(),
        scripts: &[],
        body,
    };
    frame::document(context, page)
}

fn one(out: &mut String, kind: &Spec) {
    let id = slug(kind.id);
    put!(out, "<section id=\"{id}\" class=\"method\"><h2>{}</h2>", escape(kind.title));
    let attended = if kind.attended { "somebody stays with it" } else { "it can be left alone" };
    put!(
        out,
        "<p class=\"question\">{}</p><p class=\"facts\">Takes about {}; {attended}. Revision {}.</p>",
        escape(kind.question),
        escape(&duration_words(f64::from(kind.minutes) / 60.0)),
        kind.revision
    );
    list(out, "ol", kind.method);
    if !kind.cautions.is_empty() {
        out.push_str("<h3>Before the start</h3>");
        list(out, "ul", kind.cautions);
    }
    results(out, kind);
    put!(
        out,
        "<h3>Where the interval comes from</h3><p class=\"text\">{}</p>\
         <h3>What it does not tell</h3><p class=\"text\">{}</p>",
        escape(kind.uncertainty),
        escape(kind.does_not_tell)
    );
    questions(out, kind);
    out.push_str("</section>\n");
}

fn list(out: &mut String, tag: &str, lines: &[&str]) {
    put!(out, "<{tag} class=\"text\">");
    for line in lines {
        put!(out, "<li>{}</li>", escape(line));
    }
    put!(out, "</{tag}>");
}

fn results(out: &mut String, kind: &Spec) {
    out.push_str(
        "<h3>What it yields</h3><table class=\"yields\"><thead><tr><th scope=\"col\">result</th>\
         <th scope=\"col\">unit</th><th scope=\"col\">formula</th></tr></thead><tbody>",
    );
    for result in kind.results {
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td><i>{}</i>{}</td></tr>",
            escape(result.title),
            escape(result.unit),
            escape(result.formula),
            if result.counted { "<small>every trial counts against a claim</small>" } else { "" }
        );
    }
    out.push_str("</tbody></table>");
    for axis in kind.axes {
        put!(
            out,
            "<p class=\"facts\">Compared only at equal {}: {}.</p>",
            escape(axis.label),
            escape(&axis.values.iter().map(|v| minus(v)).collect::<Vec<_>>().join(", "))
        );
    }
}

fn questions(out: &mut String, kind: &Spec) {
    out.push_str("<details><summary>What is written down</summary><ul class=\"text\">");
    for field in kind.fields {
        let need = if field.required { "" } else { " <span class=\"quiet\">if there is one</span>" };
        put!(out, "<li>{}{need}</li>", escape(field.label));
    }
    out.push_str("</ul></details>");
}
