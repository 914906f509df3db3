//! What can keep a page from being shown, in plain words.
use super::page::{Top, html};
use askama::Template;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;

/// Why a page is not what was asked for.
#[derive(Debug)]
pub enum Fault {
    /// There is no such thing: "no station `x`".
    Missing(String),
    /// Somebody else changed it meanwhile.
    Stale(String),
    /// What was sent cannot be used; in a sentence.
    Refused(String),
    /// What was sent cannot be read; in a sentence.
    Unreadable(String),
    /// More was sent than is taken; in a sentence.
    TooLarge(String),
    /// The disk is full; in a sentence.
    Full(String),
    /// A device that was not let in.
    Stranger,
    /// The world failed: disk, file.
    World(anyhow::Error),
}

const STRANGER: &str = "On the computer, open More, then Phone, and point this device's camera at the square there. The link is a new \
    one each time the program starts. Answers that wait on this device are kept until then.";

impl From<anyhow::Error> for Fault {
    fn from(error: anyhow::Error) -> Self {
        match error.downcast_ref::<trueplate_store::Error>() {
            Some(full @ trueplate_store::Error::Full { .. }) => Fault::Full(format!("{full}.")),
            _ => Fault::World(error),
        }
    }
}

#[derive(Template)]
#[template(path = "fault.html")]
struct Page {
    top: Top,
    title: String,
    text: String,
    id: String,
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let (status, title, text) = match self {
            Fault::Missing(text) => (StatusCode::NOT_FOUND, "There is nothing here", text),
            Fault::Stale(text) => (StatusCode::CONFLICT, "It was changed meanwhile", text),
            Fault::Refused(text) => (StatusCode::FORBIDDEN, "Not done", text),
            Fault::Stranger => (StatusCode::UNAUTHORIZED, "This device is not let in", STRANGER.to_string()),
            Fault::Unreadable(text) => (StatusCode::UNPROCESSABLE_ENTITY, "That cannot be kept so", text),
            Fault::TooLarge(text) => (StatusCode::PAYLOAD_TOO_LARGE, "That is too much at once", text),
            Fault::Full(text) => (StatusCode::INSUFFICIENT_STORAGE, "The disk is full", text),
            Fault::World(error) => return oops(&format!("{error:#}")),
        };
        page(status, title, text, String::new())
    }
}

/// The page for what nobody foresaw. `happened` goes to the terminal, not to the page.
pub fn oops(happened: &str) -> Response {
    let id = format!("{:x}", Timestamp::now().as_microsecond());
    eprintln!("{id}: {happened}");
    let text = "Something went wrong in the program. What was kept before is still kept; what you just sent may not be. \
        The terminal says more under this number.";
    page(StatusCode::INTERNAL_SERVER_ERROR, "That did not work", text.into(), id)
}

fn page(status: StatusCode, title: &str, text: String, id: String) -> Response {
    let page = Page { top: Top::bare(), title: title.into(), text, id };
    (status, html(&page)).into_response()
}

/// No route has this address.
pub async fn unknown_address() -> Fault {
    Fault::Missing(
        "No page has this address. It may have been mistyped, or what it showed was taken back.".into(),
    )
}
