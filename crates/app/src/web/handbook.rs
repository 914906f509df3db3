//! How each kind of test is made, straight from what the kind says of itself.
use super::fault::Fault;
use super::page::{Answer, Ask, Top, html};
use super::words;
use askama::Template;
use axum::extract::Path;
use trueplate_core::kind::Spec;

#[derive(Template)]
#[template(path = "handbook.html")]
struct ListPage {
    top: Top,
    kinds: Vec<(&'static Spec, String)>,
}

#[derive(Template)]
#[template(path = "handbook_kind.html")]
struct Page {
    top: Top,
    spec: &'static Spec,
    takes: String,
}

/// All kinds.
pub async fn list(ask: Ask) -> Answer {
    let kinds = ask.report.kinds.iter().map(|s| (*s, words::about(s.minutes))).collect();
    Ok(html(&ListPage { top: ask.top(), kinds }))
}

/// One kind.
pub async fn show(ask: Ask, Path(kind): Path<String>) -> Answer {
    let spec = ask.report.kinds.iter().copied().find(|s| s.id == kind);
    let spec = spec.ok_or_else(|| Fault::Missing(format!("There is no kind of test `{kind}`.")))?;
    Ok(html(&Page { top: ask.top(), spec, takes: words::about(spec.minutes) }))
}
