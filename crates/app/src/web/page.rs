//! What every page has in common: the report it shows, its head, and the word about what was just kept.
use super::Site;
use super::fault::Fault;
use super::form::Sent;
use crate::desk::{Deed, Desk, Done};
use askama::Template;
use axum::extract::{FromRequestParts, Query};
use axum::http::StatusCode;
use axum::http::request::Parts;
use axum::response::{Html, IntoResponse, Redirect, Response};
use std::sync::Arc;
use trueplate_core::notebook::{Notebook, Settings};
use trueplate_core::report::Report;
use trueplate_core::shown::Style;

/// What a handler answers.
pub type Answer = Result<Response, Fault>;

/// The head of a page.
#[derive(Clone, Default)]
pub struct Top {
    /// Title of the bench.
    pub site: String,
    /// Path of the page, to mark it in the head.
    pub path: String,
    /// Stroke that was just kept; 0 for none.
    pub kept: i64,
    /// A stroke was just taken back.
    pub undone: bool,
    /// The fictional demonstration.
    pub demo: bool,
}

impl Top {
    /// A head for pages that know no bench.
    pub fn bare() -> Top {
        Top { site: "The bench".into(), ..Top::default() }
    }
    /// Marks the part of the bench this page belongs to.
    pub fn at(&self, part: &str) -> &'static str {
        if self.path.starts_with(part) { " aria-current=\"page\"" } else { "" }
    }
    /// The head of a bench's pages.
    pub fn of(settings: &Settings) -> Top {
        let site = if settings.site.is_empty() { "The bench".into() } else { settings.site.clone() };
        Top { site, demo: settings.demo, ..Top::default() }
    }
}

/// A request for a page: the bench as computed, and what the address asks besides.
pub struct Ask {
    /// The bench.
    pub report: Arc<Report>,
    /// After the `?` of the address.
    pub query: Sent,
    path: String,
}

impl FromRequestParts<Site> for Ask {
    type Rejection = Fault;
    async fn from_request_parts(parts: &mut Parts, site: &Site) -> Result<Self, Fault> {
        let report = site.report().await?;
        let query = Query::<Vec<(String, String)>>::try_from_uri(&parts.uri)
            .map_err(|_| Fault::Unreadable("The address could not be read.".into()))?;
        Ok(Ask { report, query: Sent(query.0), path: parts.uri.path().to_string() })
    }
}

impl Ask {
    /// A page shown in answer to a form.
    pub fn of(report: Arc<Report>, query: Sent) -> Ask {
        Ask { report, query, path: String::new() }
    }
    /// What was written down.
    pub fn notebook(&self) -> &Notebook {
        &self.report.notebook
    }
    /// The head for this page.
    pub fn top(&self) -> Top {
        let kept = self.query.get("kept").parse().unwrap_or(0);
        let (path, undone) = (self.path.clone(), self.query.ticked("undone"));
        Top { kept, undone, path, ..Top::of(&self.notebook().settings) }
    }
    /// How numbers are written.
    pub fn style(&self) -> Style {
        style(&self.notebook().settings)
    }
}

/// How numbers are written on this bench.
pub fn style(settings: &Settings) -> Style {
    Style::of(settings.decimal_comma)
}

impl Site {
    /// Does something that may wait for the disk.
    pub async fn with<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Desk) -> Result<T, Fault> + Send + 'static,
    ) -> Result<T, Fault> {
        let desk = self.desk.clone();
        match tokio::task::spawn_blocking(move || work(&desk)).await {
            Ok(answer) => answer,
            Err(e) if e.is_panic() => std::panic::resume_unwind(e.into_panic()),
            Err(e) => Err(Fault::World(e.into())),
        }
    }
    /// The bench as computed.
    pub async fn report(&self) -> Result<Arc<Report>, Fault> {
        self.with(|desk| Ok(desk.report()?)).await
    }
    /// Keeps something.
    pub async fn act<T: Send + 'static>(
        &self,
        deed: impl FnOnce(&Notebook) -> Result<Deed<T>, Fault> + Send + 'static,
    ) -> Result<Done<T>, Fault> {
        self.with(|desk| desk.act("", deed)).await
    }
}

/// A page as an answer.
pub fn html(page: &impl Template) -> Response {
    match page.render() {
        Ok(text) => Html(text).into_response(),
        Err(e) => super::fault::oops(&format!("a page could not be written: {e}")),
    }
}

/// A form that could not be kept, with what is wrong beside its fields.
pub fn refused(page: &impl Template) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, html(page)).into_response()
}

/// Goes to a page that says what was just kept.
pub fn kept(address: &str, stroke: i64) -> Response {
    let joint = if address.contains('?') { '&' } else { '?' };
    let (address, anchor) = address.split_once('#').unwrap_or((address, ""));
    let anchor = if anchor.is_empty() { String::new() } else { format!("#{anchor}") };
    Redirect::to(&format!("{address}{joint}kept={stroke}{anchor}")).into_response()
}

/// A text as part of an address (RFC 3986: all but unreserved characters are escaped).
pub fn escaped(text: &str) -> String {
    let mut out = String::new();
    for b in text.bytes() {
        if b.is_ascii_alphanumeric() || b"-._~".contains(&b) {
            out.push(char::from(b));
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out
}
