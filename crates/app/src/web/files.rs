//! Photos, logs and captures as they were attached, handed over piece by piece however large they are.
use super::Site;
use super::fault::Fault;
use super::page::Answer;
use axum::body::{Body, Bytes};
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::IntoResponse;
use http_body::{Frame, SizeHint};
use std::io::{self, Write};
use std::pin::Pin;
use std::task::{Context, Poll};
use tokio::sync::mpsc::{Receiver, Sender, channel};
use trueplate_store::Bench;

/// Pictures that a browser may show; all else is handed over as a file.
const PICTURES: &[&str] = &["image/jpeg", "image/png", "image/webp", "image/heic"];

/// Media type of what is handed over as a file.
pub const AS_A_FILE: &str = "application/octet-stream";

/// One file by its hash.
pub async fn show(State(site): State<Site>, Path(sha256): Path<String>) -> Answer {
    let missing = || Fault::Missing("No file with this mark is kept here.".into());
    let hash = sha256.clone();
    let kept = site.with(move |desk| desk.kept_file(&hash)?.ok_or_else(missing)).await?;
    let picture = PICTURES.iter().find(|p| **p == kept.file.media);
    let media = picture.copied().unwrap_or(AS_A_FILE);
    let how = if picture.is_some() { "inline" } else { "attachment" };
    // RFC 6266 with the extended value of RFC 8187, so that any name is safe.
    let disposition = format!("{how}; filename*=UTF-8''{}", super::page::escaped(&kept.file.name));
    let headers = [
        (header::CONTENT_TYPE, media.to_string()),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox".to_string()),
    ];
    let mut bytes = Stored::of(&site, sha256, kept.size);
    // Of a damaged file of one piece nothing has left yet, and the page can say so.
    bytes.next = match bytes.rest.recv().await {
        Some(Err(e)) => return Err(Fault::World(e.into())),
        first => first,
    };
    Ok((headers, Body::new(bytes)).into_response())
}

/// The bytes of a kept file on their way.
struct Stored {
    next: Option<io::Result<Bytes>>,
    rest: Receiver<io::Result<Bytes>>,
    /// Bytes still to come.
    left: u64,
}

impl Stored {
    /// Reads on a thread of its own, at most two pieces ahead, on a connection of its own: a slow reader keeps nobody
    /// from writing.
    fn of(site: &Site, sha256: String, size: u64) -> Stored {
        let (to, rest) = channel(2);
        let desk = site.desk.clone();
        tokio::task::spawn_blocking(move || {
            let mut out = Pieces { to: &to, held: Bytes::new() };
            let copied = Bench::open_read_only(desk.path()).and_then(|b| b.copy_file(&sha256, &mut out));
            // The last piece leaves only when the hash fits: a damaged file ends before its length and is noticed.
            let last = copied.map_err(io::Error::other).map(|_| std::mem::take(&mut out.held));
            let _gone_when_nobody_reads = to.blocking_send(last);
        });
        Stored { next: None, rest, left: size }
    }
}

/// Sends each piece when the next one comes.
struct Pieces<'a> {
    to: &'a Sender<io::Result<Bytes>>,
    held: Bytes,
}

impl Write for Pieces<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let before = std::mem::replace(&mut self.held, Bytes::copy_from_slice(bytes));
        if !before.is_empty() {
            self.to.blocking_send(Ok(before)).map_err(|_| io::Error::from(io::ErrorKind::BrokenPipe))?;
        }
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl http_body::Body for Stored {
    type Data = Bytes;
    type Error = io::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<io::Result<Frame<Bytes>>>> {
        let piece = match self.next.take() {
            Some(first) => Some(first),
            None => match self.rest.poll_recv(context) {
                Poll::Ready(piece) => piece,
                Poll::Pending => return Poll::Pending,
            },
        };
        if let Some(Ok(bytes)) = &piece {
            self.left = self.left.saturating_sub(bytes.len() as u64);
        }
        Poll::Ready(piece.map(|p| p.map(Frame::data)))
    }

    fn size_hint(&self) -> SizeHint {
        SizeHint::with_exact(self.left)
    }
}
