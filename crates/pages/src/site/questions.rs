//! Readers' questions: those that a result answers, and those not tested yet with the kind of test that is missing.
use super::context::{Context, Shown};
use super::frame::{self, Page};
use super::put;
use super::words;
use crate::piece::{escape, unbroken};
use trueplate_core::inbox::Standing;
use trueplate_core::outgoing::ReaderQuestion;

/// A question and how it stands.
type Asked<'a> = (&'a ReaderQuestion, Standing);

fn shown<'c, 'a>(context: &'c Context<'a>, model: &str) -> Option<&'c Shown<'a>> {
    context.models.iter().find(|m| m.report.id == model)
}

/// The page of all questions.
pub fn page(context: &Context) -> String {
    let mut body = String::from(
        "<h1>Questions</h1>\n<p class=\"answer\">What readers asked, answered by what was measured, or not tested yet.</p>\n",
    );
    let all: Vec<&Asked> = context.questions.iter().collect();
    if all.is_empty() {
        body.push_str("<p class=\"none\">No question is written down yet. Each will stand here with its answer, or with the test that is missing.</p>\n");
    }
    let (open, answered): (Vec<_>, Vec<_>) =
        all.into_iter().partition(|(_, s)| matches!(s, Standing::NotTested { .. }));
    list(&mut body, context, "not-tested", "Not tested yet", &open, "m/");
    list(&mut body, context, "answered", "Answered", &answered, "m/");
    let page = Page {
        title: "Questions",
        about: "Readers' questions, answered by measurements or not tested yet.",
        root: "",
        current: "questions.html",
        data: String::new(),
        scripts: &[],
        body,
    };
    frame::document(context, page)
}

/// The questions about one model; nothing where there are none.
pub fn of_model(out: &mut String, context: &Context, model: &Shown) {
    let mine: Vec<&Asked> = context.questions.iter().filter(|(q, _)| q.model == model.report.id).collect();
    list(out, context, "questions", "Asked by readers", &mine, "");
}

fn list(out: &mut String, context: &Context, id: &str, title: &str, all: &[&Asked], folder: &str) {
    if all.is_empty() {
        return;
    }
    put!(out, "<section id=\"{id}\"><h2>{title}</h2><ul class=\"plain questions\">\n");
    for (question, standing) in all {
        put!(out, "<li><b><bdi>{}</bdi></b>", escape(question.text.trim()));
        asked(out, context, question, folder);
        reply(out, context, question, standing, folder);
        out.push_str("</li>\n");
    }
    out.push_str("</ul></section>\n");
}

/// Of which station, where, when, how often.
fn asked(out: &mut String, context: &Context, question: &ReaderQuestion, folder: &str) {
    let mut said = Vec::new();
    if let Some(model) = shown(context, &question.model).filter(|_| !folder.is_empty()) {
        said.push(format!(
            "<a href=\"{folder}{}.html\"><bdi>{}</bdi></a>",
            model.slug,
            escape(&model.report.name)
        ));
    }
    if !question.place.is_empty() {
        said.push(format!("<bdi>{}</bdi>", escape(&question.place)));
    }
    if !question.on.is_empty() {
        said.push(escape(&words::day(&question.on)));
    }
    if question.times > 1 {
        said.push(format!("asked {} times", question.times));
    }
    if !said.is_empty() {
        put!(out, "<small>{}</small>", said.join(" · "));
    }
}

fn reply(out: &mut String, context: &Context, question: &ReaderQuestion, standing: &Standing, folder: &str) {
    match standing {
        Standing::Unsorted => (),
        Standing::Answered { paragraph, tests, .. } => {
            for line in paragraph.lines().filter(|l| !l.trim().is_empty()) {
                put!(out, "<p class=\"text\"><bdi>{}</bdi></p>", escape(&unbroken(line)));
            }
            let model = shown(context, &question.model);
            let trail = model.and_then(|m| {
                let at = tests.iter().find_map(|t| m.test_at.get(t.as_str()))?;
                Some(format!(
                    "{}#{at}",
                    if folder.is_empty() { String::new() } else { format!("{folder}{}.html", m.slug) }
                ))
            });
            if let Some(address) = trail {
                put!(out, "<small><a href=\"{address}\">The readings behind it</a></small>");
            }
        }
        Standing::NotTested { kind, title, why } => {
            put!(out, "<p class=\"text\"><bdi>{}</bdi>.", escape(&words::capital(why)));
            if !kind.is_empty() {
                let root = if folder.is_empty() { "../" } else { "" };
                put!(
                    out,
                    " The missing test: <a href=\"{root}how.html#{}\">{}</a>.",
                    super::anchor::slug(kind),
                    escape(title)
                );
            }
            out.push_str("</p>");
        }
    }
}
