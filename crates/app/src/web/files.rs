//! Photos and logs as they were attached.
use super::Site;
use super::fault::Fault;
use super::page::Answer;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::IntoResponse;

/// Pictures that a browser may show; all else is handed over as a file.
const PICTURES: &[&str] = &["image/jpeg", "image/png", "image/webp", "image/heic"];

/// One file by its hash.
pub async fn show(State(site): State<Site>, Path(sha256): Path<String>) -> Answer {
    let missing = || Fault::Missing("No file with this mark is kept here.".into());
    let (file, bytes) = site
        .with(move |desk| {
            let file = desk.kept_file(&sha256)?.ok_or_else(missing)?.file;
            Ok((file, desk.file(&sha256)?))
        })
        .await?;
    let picture = PICTURES.iter().find(|p| **p == file.media);
    let media = picture.copied().unwrap_or("application/octet-stream");
    let how = if picture.is_some() { "inline" } else { "attachment" };
    // RFC 6266 with the extended value of RFC 8187, so that any name is safe.
    let disposition = format!("{how}; filename*=UTF-8''{}", super::page::escaped(&file.name));
    let headers = [
        (header::CONTENT_TYPE, media.to_string()),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox".to_string()),
    ];
    Ok((headers, bytes).into_response())
}
