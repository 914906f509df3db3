//! Styles, scripts and the typeface, carried inside the program.
use super::fault::Fault;
use axum::extract::Path;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use include_dir::{Dir, include_dir};

static OWN: Dir = include_dir!("$CARGO_MANIFEST_DIR/assets");

/// One of them by name.
pub async fn show(Path(name): Path<String>) -> Result<Response, Fault> {
    let missing = || Fault::Missing("No such part of the page.".into());
    let shared =
        trueplate_pages::assets::files().iter().find(|(path, _)| path.rsplit('/').next() == Some(&name));
    let own = OWN.get_file(&name).map(|f| f.contents());
    let bytes = own.or_else(|| shared.map(|(_, bytes)| *bytes)).ok_or_else(missing)?;
    let media = match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("woff2") => "font/woff2",
        _ => "application/octet-stream",
    };
    // Fonts never change under their name; the rest is asked for anew after an upgrade.
    let keep = if name.ends_with(".woff2") { "max-age=31536000, immutable" } else { "no-cache" };
    Ok(([(header::CONTENT_TYPE, media), (header::CACHE_CONTROL, keep)], bytes).into_response())
}
