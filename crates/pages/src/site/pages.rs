//! The page of all corrections, and the list that the model pages share with it.
use super::context::{Context, Corrected, Shown};
use super::frame::{self, Page};
use super::put;
use super::words;
use crate::piece::{escape, unbroken};
use trueplate_core::corrections::{Correction, Of};

/// Every correction with its model, the newest first.
pub fn newest_first<'c, 'a>(context: &'c Context<'a>) -> Vec<(&'c Shown<'a>, &'c Corrected)> {
    let mut all: Vec<_> =
        context.models.iter().flat_map(|m| m.corrections.iter().map(move |c| (m, c))).collect();
    all.sort_by_key(|(_, c)| std::cmp::Reverse(c.correction.seq));
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
    all: impl Iterator<Item = (&'c Shown<'c>, &'c Corrected)>,
    folder: &str,
) {
    out.push_str("<ul class=\"plain corrections\">\n");
    for (model, corrected) in all {
        let correction = &corrected.correction;
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
        let page = if folder.is_empty() { String::new() } else { format!("{folder}{}.html", model.slug) };
        out.push_str(&subject(context, model, correction, &page));
        put!(
            out,
            "<br>{}: <del><bdi>{}</bdi></del> → <ins><bdi>{}</bdi></ins>. {}",
            escape(&words::capital(&what(correction))),
            escape(&unbroken(&correction.old)),
            if correction.new.is_empty() { "nothing".into() } else { escape(&unbroken(&correction.new)) },
            why(correction)
        );
        consequences(out, corrected);
        out.push_str("</li>\n");
    }
    out.push_str("</ul>\n");
}

/// What was corrected, with the day of a price as it is said: "list price of 20 May 2026".
pub(super) fn what(correction: &Correction) -> String {
    match correction.what.rsplit_once(' ') {
        Some((before, day)) if correction.of == Of::Price => format!("{before} {}", words::day(day)),
        _ => correction.what.clone(),
    }
}

/// What it is about, leading there.
fn subject(context: &Context, model: &Shown, correction: &Correction, page: &str) -> String {
    match &correction.of {
        Of::Claim(_) => format!("<a href=\"{page}#claims\">What the maker says</a>"),
        Of::Price => "Price".into(),
        Of::Test(id) => {
            let title = context.test(id).map(|t| words::test(t, context.kind(&t.kind)));
            match (title, model.test_at.get(id.as_str())) {
                (Some(title), Some(at)) => format!("<a href=\"{page}#{at}\">{}</a>", escape(&title)),
                _ => "A test that is no longer there".into(),
            }
        }
    }
}

/// Numbers it moved at most, in the list.
const MOVED: usize = 4;

/// What it did to numbers, verdicts and places, and where a video still says the old number.
fn consequences(out: &mut String, corrected: &Corrected) {
    let Some(effect) = &corrected.effect else { return };
    out.push_str("<small>");
    for moved in effect.facts.iter().filter(|m| !m.old.fact.contains("/verdict")).take(MOVED) {
        put!(out, "{}: {}. ", escape(&unbroken(&moved.title)), escape(&unbroken(&moved.change())));
    }
    put!(out, "{}", escape(&unbroken(&effect.words())));
    for line in &corrected.lines {
        put!(
            out,
            " In the video “<bdi>{}</bdi>” at {}: <bdi>{}</bdi>.",
            escape(&line.title),
            escape(&line.place()),
            escape(&line.says)
        );
    }
    out.push_str("</small>");
}

fn why(correction: &Correction) -> String {
    match correction.why.as_str() {
        "" => "<span class=\"none\">No reason was written down.</span>".into(),
        why => format!("<bdi>{}</bdi>.", escape(&words::capital(why.trim_end_matches('.')))),
    }
}
