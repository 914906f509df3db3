//! The phone at the bench: letting it in, and what it is told.
use super::Site;
use super::fault::Fault;
use super::form::Sent;
use super::page::{Answer, Ask, Top, html};
use askama::Template;
use axum::extract::{Query, State};
use axum::http::header::SET_COOKIE;
use axum::response::{IntoResponse, Redirect};
use qrcode::QrCode;
use qrcode::render::svg;

#[derive(Template)]
#[template(path = "phone.html")]
struct Page {
    top: Top,
    /// The device that asks is not the computer itself.
    outside: bool,
    open: bool,
    link: String,
    square: String,
    let_in: usize,
    trouble: String,
}

fn page(ask: &Ask, site: &Site, trouble: String) -> Page {
    let door = site.lan.shown();
    let (link, let_in) = door.as_ref().map_or((String::new(), 0), |d| (d.link.clone(), d.let_in));
    let square = if site.outside { String::new() } else { square(&link) };
    Page { top: ask.top(), outside: site.outside, open: door.is_some(), link, square, let_in, trouble }
}

/// A text as a square a camera reads (ISO/IEC 18004); dark on light in both themes, as cameras expect it.
fn square(text: &str) -> String {
    let Ok(code) = QrCode::new(text) else { return String::new() };
    let drawn = code.render::<svg::Color>().min_dimensions(232, 232).build();
    // What stands before the drawing belongs to a file of its own.
    drawn.find("<svg").map_or(String::new(), |at| drawn[at..].to_string())
}

/// How a phone is let in.
pub async fn show(State(site): State<Site>, ask: Ask) -> Answer {
    Ok(html(&page(&ask, &site, String::new())))
}

/// Lets devices in, or out again; said on the computer itself only.
pub async fn change(State(site): State<Site>, ask: Ask, sent: Sent) -> Answer {
    if site.outside {
        return Err(Fault::Refused("Devices are let in, and out, on the computer itself only.".into()));
    }
    let done = match sent.get("door") {
        "open" => site.lan.open(&site),
        "forget" => site.lan.forget(),
        "close" => {
            site.lan.close();
            Ok(())
        }
        other => return Err(Fault::Unreadable(format!("There is no door that can be told “{other}”."))),
    };
    match done {
        Ok(()) => Ok(Redirect::to("/phone").into_response()),
        Err(e) => Ok(html(&page(&ask, &site, format!("{e:#}")))),
    }
}

#[derive(Template)]
#[template(path = "paired.html")]
struct Paired {
    top: Top,
}

/// A device that brings the link.
pub async fn pair(State(site): State<Site>, Query(query): Query<Vec<(String, String)>>) -> Answer {
    if !site.outside {
        return Ok(Redirect::to("/phone").into_response());
    }
    let Some(cookie) = site.lan.pair(Sent(query).get("k")) else { return Err(Fault::Stranger) };
    // Not sent on to the bench at once: a browser that was opened by a camera keeps strict cookies from the page it is sent to.
    Ok(([(SET_COOKIE, cookie)], html(&Paired { top: Top::bare() })).into_response())
}
