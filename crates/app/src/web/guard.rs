//! What stands before every route: own host only, changes from own pages only, strict headers, panics caught.
use super::Site;
use super::fault::{Fault, oops};
use axum::Router;
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderName, HeaderValue};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use std::any::Any;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::csrf::CsrfLayer;

/// Nothing from elsewhere, nothing inline.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
    font-src 'self'; connect-src 'self'; form-action 'self'; object-src 'none'; base-uri 'none'; \
    frame-ancestors 'none'";

const HEADERS: [(HeaderName, &str); 6] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    // `no-referrer` would make browsers send `Origin: null` with own forms.
    (header::REFERRER_POLICY, "same-origin"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// The routes behind every guard.
pub fn guarded(routes: Router<Site>, site: Site) -> Router<Site> {
    routes
        .layer(CatchPanicLayer::custom(caught))
        .layer(CsrfLayer::new())
        .layer(middleware::from_fn(own_origin))
        .layer(middleware::from_fn_with_state(site.clone(), let_in))
        .layer(middleware::from_fn_with_state(site, own_host))
        .layer(middleware::from_fn(headed))
}

/// A foreign name that was made to point here must not read the bench.
async fn own_host(State(site): State<Site>, request: Request, next: Next) -> Response {
    let ours = |name: &str| site.hosts.iter().any(|h| h.eq_ignore_ascii_case(name));
    let mut named = request.headers().get_all(header::HOST).iter();
    let one = (named.next(), named.next());
    let host = matches!(one, (Some(h), None) if h.to_str().is_ok_and(ours));
    let uri = request.uri().authority().is_none_or(|a| ours(a.as_str()));
    if host && uri {
        return next.run(request).await;
    }
    let why = "This bench is served under its own address only; open the one that the program printed.";
    (StatusCode::MISDIRECTED_REQUEST, why).into_response()
}

/// Other devices are served only after they were let in, and do not write on the computer's disk beside the bench.
async fn let_in(State(site): State<Site>, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    // What a refusal looks like is no secret, and the link has to be brought somewhere.
    let open = path == "/pair" || path.starts_with("/assets/");
    if !site.outside || open {
        return next.run(request).await;
    }
    if !site.lan.knows(request.headers()) {
        return Fault::Stranger.into_response();
    }
    if path == "/publish" && !matches!(*request.method(), Method::GET | Method::HEAD) {
        let why = "Publishing writes a folder on the computer; it is done there.";
        return Fault::Refused(why.into()).into_response();
    }
    next.run(request).await
}

/// A change must come from one of our own pages. Programs that send neither header are let through.
async fn own_origin(request: Request, next: Next) -> Response {
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    if reads || from_here(request.headers()) {
        return next.run(request).await;
    }
    Fault::Refused("The change did not come from a page of this bench, so it was not made.".into())
        .into_response()
}

fn from_here(headers: &HeaderMap) -> bool {
    let text = |name: HeaderName| headers.get(name).map(|v| v.to_str().unwrap_or("?"));
    let host = text(header::HOST).unwrap_or_default();
    text(header::ORIGIN)
        .is_none_or(|o| o.strip_prefix("http://").is_some_and(|o| o.eq_ignore_ascii_case(host)))
}

async fn headed(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Answers a request whose handling panicked; what happened goes to the terminal under the same number.
fn caught(panic: Box<dyn Any + Send>) -> Response {
    let words = panic.downcast_ref::<String>().map(String::as_str);
    let words = words.or_else(|| panic.downcast_ref::<&str>().copied()).unwrap_or("no words");
    oops(&format!("panic: {words}"))
}
