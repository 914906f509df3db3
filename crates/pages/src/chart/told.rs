//! What is said under a runtime curve: what it lacks, what that means, what would settle it.
use crate::piece::{escape, unbroken};
use crate::site::words;
use std::fmt::Write;
use trueplate_core::drain::Drain;

/// What was noticed about a curve, one item each; empty when nothing was.
pub fn under(drain: &Drain) -> String {
    let told = drain.told();
    if told.is_empty() {
        return String::new();
    }
    let mut out = String::from("<ul class=\"plain told\">");
    for t in told {
        let _ = write!(out, "<li>{}<bdi>{}</bdi>", words::weight(t.weight), escape(&unbroken(&t.what)));
        if !t.means.is_empty() {
            let _ = write!(out, " {}", escape(&unbroken(&t.means)));
        }
        if !t.next.is_empty() {
            let _ = write!(out, " <small>What would settle it: {}</small>", escape(&unbroken(&t.next)));
        }
        out.push_str("</li>");
    }
    out.push_str("</ul>");
    out
}
