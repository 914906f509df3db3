//! What stands around every page: head, the way to the other pages, foot.
use super::context::Context;
use super::put;
use crate::piece::escape;

/// One page before it is framed.
pub struct Page<'a> {
    /// Plain text.
    pub title: &'a str,
    /// Plain text, a sentence or two for those who list pages.
    pub about: &'a str,
    /// Way back to the top of the folder: "" or "../".
    pub root: &'a str,
    /// Address of the page in the way, from the top; empty when it is none of them.
    pub current: &'a str,
    /// Data for programs, safe for a script element; empty when there is none.
    pub data: String,
    /// Scripts, from the top of the folder. Everything can be read without them.
    pub scripts: &'a [&'static str],
    /// Safe for a page.
    pub body: String,
}

const POLICY: &str = "default-src 'none'; img-src 'self' data:; style-src 'self'; font-src 'self'; \
     script-src 'self' 'wasm-unsafe-eval'; base-uri 'none'; form-action 'none'";

/// Pages that every page leads to: address from the top, and name.
pub const WAY: &[(&str, &str)] = &[
    ("index.html", "Stations"),
    ("all.html", "Side by side"),
    ("run.html", "Will it run?"),
    ("how.html", "How I test"),
    ("corrections.html", "Corrections"),
    ("questions.html", "Questions"),
    ("about.html", "About"),
];

/// The whole document.
pub fn document(context: &Context, page: Page) -> String {
    let settings = &context.notebook.settings;
    let site = if settings.site.is_empty() { "Test bench" } else { &settings.site };
    let root = page.root;
    let mut out = String::with_capacity(page.body.len() + 3000);
    put!(
        out,
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{} · {}</title>\n<meta name=\"description\" content=\"{}\">\n",
        escape(page.title),
        escape(site),
        escape(page.about)
    );
    for sheet in ["fonts/fonts.css", "style/base.css", "style/pages.css"] {
        put!(out, "<link rel=\"stylesheet\" href=\"{root}{sheet}\">\n");
    }
    put!(
        out,
        "<link rel=\"alternate\" type=\"application/atom+xml\" title=\"Corrections\" href=\"{root}corrections.atom\">\n"
    );
    if !page.data.is_empty() {
        put!(out, "<script type=\"application/ld+json\">{}</script>\n", page.data);
    }
    for script in page.scripts {
        put!(out, "<script src=\"{root}{script}\" defer></script>\n");
    }
    out.push_str("</head>\n<body>\n<a class=\"skip\" href=\"#content\">To the content</a>\n");
    top(&mut out, context, site, &page);
    put!(out, "<main id=\"content\">\n{}</main>\n", page.body);
    foot(&mut out, context, root);
    out.push_str("</body>\n</html>\n");
    out
}

fn top(out: &mut String, context: &Context, site: &str, page: &Page) {
    let tester = &context.notebook.settings.tester;
    put!(out, "<header class=\"top\"><b><bdi>{}</bdi></b>", escape(site));
    if !tester.is_empty() {
        put!(out, "<span>tested by <bdi>{}</bdi></span>", escape(tester));
    }
    out.push_str("<nav aria-label=\"Pages\">");
    for (address, name) in WAY {
        let here = if *address == page.current { " aria-current=\"page\"" } else { "" };
        put!(out, "<a href=\"{}{address}\"{here}>{name}</a>", page.root);
    }
    out.push_str("</nav></header>\n");
    if context.notebook.settings.demo {
        out.push_str(
            "<aside class=\"banner\" aria-label=\"A demonstration\"><b>A demonstration.</b> Makers, stations, tester and numbers are invented.</aside>\n",
        );
    }
}

fn foot(out: &mut String, context: &Context, root: &str) {
    put!(
        out,
        "<footer class=\"foot\"><p>As of {}. ± gives the interval that holds the true value with 95 % confidence. \
         <a href=\"{root}about.html#rule\">How verdicts are given</a> · \
         <a href=\"{root}about.html#disclosure\">Who got what from whom</a> · \
         <a href=\"{root}corrections.html\">Corrections</a> · <a href=\"{root}about.html#data\">The data</a></p>\
         <p>Nothing here is advice for equipment that keeps somebody alive. Local codes and licensed work come first.</p></footer>\n",
        escape(&super::words::day(&context.report.as_of))
    );
}
