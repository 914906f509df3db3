//! The page of all corrections, and the list that the model pages share with it.
use super::context::{Context, Shown};
use super::corrections::Correction;
use super::frame::{self, Page};
use super::put;
use super::words;
use crate::piece::escape;

/// Every correction with its model, the newest first.
pub fn newest_first<'c, 'a>(context: &'c Context<'a>) -> Vec<(&'c Shown<'a>, &'c Correction)> {
    let mut all: Vec<_> =
        context.models.iter().flat_map(|m| m.corrections.iter().map(move |c| (m, c))).collect();
    all.sort_by_key(|(_, c)| std::cmp::Reverse(c.seq));
    all
}

/// The page of corrections.
pub fn corrections(context: &Context) -> String {
    let mut body = String::from(
        "<h1>Corrections</h1>\n<p class=\"answer\">What was changed after it was first written down: old, new, when and why. Nothing is changed silently.</p>\n<p class=\"facts\"><a href=\"corrections.atom\">As a feed</a> (Atom)</p>\n",
    );
    let all = newest_first(context);
    if all.is_empty() {
        body.push_str("<p class=\"none\">Nothing has been corrected yet. A change to a published reading will stand here.</p>\n");
    } else {
        list(&mut body, context, all.into_iter(), "m/");
    }
    let page = Page {
        title: "Corrections",
        about: "Every reading that was changed after it was first written down.",
        root: "",
        current: "corrections.html",
        data: String::new(),
        scripts: &[],
        body,
    };
    frame::document(context, page)
}

/// A list of corrections; `folder` leads to the model pages, empty on such a page.
pub fn list<'c>(
    out: &mut String,
    context: &Context,
    all: impl Iterator<Item = (&'c Shown<'c>, &'c Correction)>,
    folder: &str,
) {
    out.push_str("<ul class=\"plain corrections\">\n");
    for (model, correction) in all {
        put!(
            out,
            "<li><time datetime=\"{}\">{}</time> ",
            escape(&correction.at),
            escape(&words::day(&correction.at))
        );
        if !folder.is_empty() {
            put!(
                out,
                "<a href=\"{folder}{}.html#corrections\"><bdi>{}</bdi></a> · ",
                model.slug,
                escape(&model.report.name)
            );
        }
        let test = context.test(&correction.test);
        let title = test.map(|t| words::test(t, context.kind(&t.kind)));
        match (title, model.test_at.get(correction.test.as_str())) {
            (Some(title), Some(at)) => {
                let page =
                    if folder.is_empty() { String::new() } else { format!("{folder}{}.html", model.slug) };
                put!(out, "<a href=\"{page}#{at}\">{}</a>", escape(&title));
            }
            _ => out.push_str("A test that is no longer there"),
        }
        put!(
            out,
            "<br>{}: <del><bdi>{}</bdi></del> → <ins><bdi>{}</bdi></ins>. {}</li>\n",
            escape(&words::capital(&correction.what)),
            escape(&correction.old),
            if correction.new.is_empty() { "nothing".into() } else { escape(&correction.new) },
            why(correction)
        );
    }
    out.push_str("</ul>\n");
}

fn why(correction: &Correction) -> String {
    match correction.why.as_str() {
        "" => "<span class=\"none\">No reason was written down.</span>".into(),
        why => format!("<bdi>{}</bdi>.", escape(&words::capital(why.trim_end_matches('.')))),
    }
}
