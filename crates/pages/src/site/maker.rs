//! What the maker was asked and what came back: every letter that was sent, with its days and the answer.
use super::context::{Context, Shown};
use super::put;
use crate::piece::escape;
use trueplate_core::letter;

/// The letters of a model; nothing where none was sent.
pub fn section(out: &mut String, context: &Context, model: &Shown) {
    let mine = context.notebook.letters.iter().filter(|l| l.model == model.report.id && !l.sent.is_empty());
    let sent: Vec<_> = mine.collect();
    if sent.is_empty() {
        return;
    }
    out.push_str("<section id=\"maker\"><h2>What the maker says to it</h2>");
    for letter in sent {
        put!(out, "<p class=\"text\">{}", escape(&letter::standing(letter, &context.report.as_of)));
        if !letter.to.is_empty() {
            put!(out, " <small>Written to <bdi>{}</bdi>.</small>", escape(&letter.to));
        }
        out.push_str("</p>");
        if !letter.answer.trim().is_empty() {
            put!(out, "<blockquote><p><bdi>{}</bdi></p></blockquote>", escape(letter.answer.trim()));
        }
        let changed = letter::changed_since(context.report, letter);
        if !changed.is_empty() {
            let each: Vec<String> = changed
                .iter()
                .map(|(title, was, now)| {
                    format!("{title}: {was} → {}", if now.is_empty() { "no value" } else { now })
                })
                .collect();
            put!(
                out,
                "<p class=\"facts\">Figures in it that changed since: {}.</p>",
                escape(&each.join("; "))
            );
        }
        put!(
            out,
            "<details><summary>The letter as it was sent</summary><pre class=\"letter\">{}</pre></details>",
            escape(&letter.text)
        );
    }
    out.push_str("</section>\n");
}
