//! The page of one model: the answer first, explanations below, in the order a buyer asks.
use super::context::{Context, Shown};
use super::frame::{self, Page};
use super::put;
use super::{answer, claims, ld, maker, questions, results, trail, words};
use crate::chart::runtime::{self, load_of};
use crate::piece::escape;
use trueplate_core::judge::Verdict;
use trueplate_core::repeat::counts;

/// The page of a model.
pub fn page(context: &Context, model: &Shown) -> String {
    let mut body = format!("<h1><bdi>{}</bdi></h1>\n", escape(&model.report.name));
    body.push_str(&answer::section(context, model));
    body.push_str(&claims::section(context, model));
    maker::section(&mut body, context, model);
    runtime(&mut body, context, model);
    body.push_str(&results::section(context, model));
    noticed(&mut body, context, model);
    body.push_str(&trail::section(context, model));
    corrected(&mut body, context, model);
    untested(&mut body, context, model);
    taking(&mut body, model);
    questions::of_model(&mut body, context, model);
    let about = format!("{}: what comes out of it, claim by claim, with intervals.", model.report.name);
    let page = Page {
        title: &model.report.name,
        about: &about,
        root: "../",
        current: "",
        data: ld::product(context, model),
        scripts: &[],
        body,
    };
    frame::with_head(context, page, &social(context, model))
}

/// What those who link to the page show of it (the Open Graph protocol); nothing without a card.
fn social(context: &Context, model: &Shown) -> String {
    let Some((path, card)) = &model.card else { return String::new() };
    let (base, slug, says) = (escape(&context.options.base), &model.slug, escape(&card.says()));
    format!(
        "<meta property=\"og:url\" content=\"{base}m/{slug}.html\">\n\
         <meta property=\"og:image\" content=\"{base}{path}\">\n\
         <meta property=\"og:image:width\" content=\"1200\">\n<meta property=\"og:image:height\" content=\"630\">\n\
         <meta property=\"og:image:alt\" content=\"{says}\">\n"
    )
}

fn runtime(out: &mut String, context: &Context, model: &Shown) {
    let current = model.report.drains.iter().filter(|d| !d.superseded);
    let label = |test: &str| load_of(context.notebook, test);
    let said = current.map(|d| (d, runtime::said(d, label))).filter(|(_, said)| !said.is_empty());
    for (i, (drain, said)) in said.enumerate() {
        let name = match model.specimens.len() {
            1 => String::new(),
            _ => format!(" <small>{}</small>", escape(&model.specimen_name(&drain.specimen))),
        };
        let id = if i == 0 { "runtime".to_string() } else { format!("runtime-{}", i + 1) };
        put!(out, "<section id=\"{id}\"><h2>How long it runs{name}</h2>{said}</section>\n");
    }
}

/// What was noticed in tests that count, where a reader should know it.
fn noticed(out: &mut String, context: &Context, model: &Shown) {
    // What belongs to no test is advice to the tester, but for a maker who says two things.
    let counted = |id: &str| context.test(id).is_some_and(counts);
    let told = |test: &str, code: &str| counted(test) || code == "claims-contradict";
    let findings: Vec<_> = model.report.findings.iter().filter(|(test, f)| told(test, &f.code)).collect();
    if findings.is_empty() {
        return;
    }
    out.push_str("<section id=\"noticed\"><h2>Noticed in the tests</h2><ul class=\"plain\">");
    for (test, finding) in findings {
        let weight = words::weight(finding.weight);
        let title = context.test(test).map_or(String::new(), |t| words::test(t, context.kind(&t.kind)));
        let link = model.test_at.get(test.as_str()).map_or(String::new(), |at| {
            format!(" <small class=\"in\"><a href=\"#{at}\">{}</a></small>", escape(&title))
        });
        put!(
            out,
            "<li>{weight}<bdi>{}</bdi>.{link}</li>",
            escape(&words::capital(&unnamed(context, test, &finding.text)))
        );
    }
    out.push_str("</ul></section>\n");
}

/// A finding without the names of files: those stay on the bench.
fn unnamed(context: &Context, test: &str, text: &str) -> String {
    let files = context.test(test).into_iter().flat_map(|t| t.entries.values()).flat_map(|e| &e.files);
    let named = files.filter(|f| !f.name.is_empty()).enumerate();
    named.fold(text.to_string(), |text, (n, f)| text.replace(&f.name, &format!("file {}", n + 1)))
}

/// What the rules say of taking it along.
fn taking(out: &mut String, model: &Shown) {
    out.push_str("<section id=\"taking\"><h2>Taking it along</h2><ul class=\"plain\">");
    for c in model.report.carried() {
        put!(out, "<li>{}: {}. <small class=\"in\">{}</small></li>", c.how, escape(c.text), escape(c.source));
    }
    out.push_str("</ul></section>\n");
}

fn corrected(out: &mut String, context: &Context, model: &Shown) {
    out.push_str("<section id=\"corrections\"><h2>Corrections</h2>");
    if model.corrections.is_empty() {
        out.push_str(
            "<p class=\"none\">Nothing was changed after it was first written down.</p></section>\n",
        );
        return;
    }
    super::pages::list(out, context, model.corrections.iter().map(|c| (model, c)), "");
    out.push_str("</section>\n");
}

/// Claims nobody tested here, and kinds of test not made.
fn untested(out: &mut String, context: &Context, model: &Shown) {
    let claims = model.report.claims.iter().filter(|c| c.verdict == Verdict::NotTested);
    let made = |id: &str| {
        model.report.rows.iter().any(|r| context.kind_of(r.result.key).is_some_and(|k| k.id == id))
    };
    let kinds: Vec<_> = context.report.kinds.iter().filter(|k| !made(k.id)).collect();
    let claims: Vec<_> = claims.collect();
    out.push_str("<section id=\"not-tested\"><h2>Not tested</h2>");
    if claims.is_empty() && kinds.is_empty() {
        out.push_str(
            "<p class=\"none\">Every kind of test was made, and every claim was looked at.</p></section>\n",
        );
        return;
    }
    out.push_str("<ul class=\"plain\">");
    for claim in claims {
        let title = claim.result.map_or(claim.claim.key.as_str(), |r| r.title);
        put!(out, "<li>The maker's claim: {}, <bdi>{}</bdi></li>", escape(title), escape(&claim.claim.text));
    }
    for kind in kinds {
        let at = super::anchor::slug(kind.id);
        put!(
            out,
            "<li>{} <small class=\"in\"><a href=\"../how.html#{at}\">{}</a></small></li>",
            escape(kind.question),
            escape(kind.title)
        );
    }
    out.push_str("</ul></section>\n");
}
