//! A form with files as it is sent: its texts, its files on the disk, and the words for what is too large, broke off or
//! finds no room.
//!
//! A file passes through memory piece by piece only, and what is refused is read to its end: a browser reads no answer
//! while it is still sending, it would show a broken connection instead of the reason.
use super::Site;
use super::fault::Fault;
use super::form::Sent;
use crate::desk::Desk;
use crate::spool::Spooled;
use axum::extract::Multipart;
use axum::extract::multipart::{Field, MultipartError};
use std::io;
use trueplate_core::notebook::FileRef;

/// Most bytes of all texts of a form.
const TEXTS: u64 = 1 << 20;

/// A file that arrived.
pub struct Arrived {
    /// As the sender calls it.
    pub name: String,
    /// Media type as the sender says; empty where it says none.
    pub media: String,
    bytes: Spooled,
}

impl Arrived {
    /// Keeps it in the bench.
    pub fn keep(&self, desk: &Desk) -> Result<FileRef, Fault> {
        let bytes = self.bytes.open().map_err(anyhow::Error::from)?;
        Ok(desk.put_file(&self.name, &self.media, bytes)?)
    }
}

/// A form with files.
#[derive(Default)]
pub struct Upload {
    /// Names and texts.
    pub sent: Sent,
    /// Files with something in them, in their order.
    pub files: Vec<Arrived>,
}

/// Reads a form whose files may come to `most` bytes together.
pub async fn read(site: &Site, mut form: Multipart, most: u64) -> Result<Upload, Fault> {
    let mut upload = Upload::default();
    // What is left of each; a refusal keeps its words until everything was read.
    let (mut texts, mut files) = (TEXTS, most);
    let mut refusal = None;
    while let Some(part) = form.next_field().await.map_err(|e| broken(&e))? {
        let taken = match part.file_name().map(str::to_string) {
            Some(name) => file(site, part, name, &mut files, most).await.map(|f| upload.files.extend(f)),
            None => text(part, &mut texts).await.map(|t| upload.sent.0.push(t)),
        };
        match taken {
            Ok(()) => {}
            Err(Stop::Refused(fault)) => {
                // Nothing of it will be kept, so its bytes need not lie on the disk any longer.
                upload.files.clear();
                refusal.get_or_insert(fault);
            }
            Err(Stop::Broken(fault)) => return Err(fault),
        }
    }
    refusal.map_or(Ok(upload), Err)
}

/// Why a part is not taken.
enum Stop {
    /// It came to its end, but it cannot be kept.
    Refused(Fault),
    /// Nothing more comes.
    Broken(Fault),
}

async fn file(
    site: &Site,
    mut part: Field<'_>,
    name: String,
    left: &mut u64,
    most: u64,
) -> Result<Option<Arrived>, Stop> {
    let media = part.content_type().unwrap_or_default().to_string();
    let mut spool = Spooled::beside(site.desk.path()).map_err(|e| no_room(&e, &name));
    while let Some(bytes) = part.chunk().await.map_err(|e| Stop::Broken(broken(&e)))? {
        spool = spool.and_then(|mut spool| {
            *left = left.checked_sub(bytes.len() as u64).ok_or_else(|| too_large(&name, most))?;
            spool.take(&bytes).map_err(|e| no_room(&e, &name))?;
            Ok(spool)
        });
    }
    let bytes = spool.map_err(Stop::Refused)?;
    Ok((bytes.size > 0).then_some(Arrived { name, media, bytes }))
}

async fn text(mut part: Field<'_>, left: &mut u64) -> Result<(String, String), Stop> {
    let name = part.name().unwrap_or_default().to_string();
    // A name counts too: many empty texts are no way around.
    let mut text = left.checked_sub(64 + name.len() as u64).map(|rest| {
        *left = rest;
        Vec::new()
    });
    while let Some(bytes) = part.chunk().await.map_err(|e| Stop::Broken(broken(&e)))? {
        text = text.zip(left.checked_sub(bytes.len() as u64)).map(|(mut text, rest)| {
            *left = rest;
            text.extend_from_slice(&bytes);
            text
        });
    }
    let text = text.ok_or_else(|| {
        Stop::Refused(Fault::TooLarge(format!(
            "The text of `{name}` is longer than 1 MiB. Nothing was kept; shorten it, or attach it as a file."
        )))
    })?;
    Ok((name, String::from_utf8_lossy(&text).into_owned()))
}

/// "4 GiB", "64 MiB".
fn binary(bytes: u64) -> String {
    if bytes >= 1 << 30 { format!("{} GiB", bytes >> 30) } else { format!("{} MiB", bytes >> 20) }
}

fn too_large(name: &str, most: u64) -> Fault {
    Fault::TooLarge(format!(
        "With `{name}` more than {} were sent, the most that is taken at once. Nothing of it was kept, and what was kept \
         before stands. Send fewer files at a time, or pack them with gzip; `trueplate log` and `trueplate wave` read a \
         file of any length where it lies.",
        binary(most)
    ))
}

fn no_room(e: &io::Error, name: &str) -> Fault {
    match e.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded | io::ErrorKind::FileTooLarge => {
            Fault::Full(format!(
                "`{name}` has no room on the disk where the bench lies. Nothing of it was kept, and what was kept before \
                 stands. Free about three times its size – it is put down, entered and checked – and send it again."
            ))
        }
        _ => Fault::World(anyhow::anyhow!("`{name}` could not be put on the disk beside the bench: {e}")),
    }
}

fn broken(e: &MultipartError) -> Fault {
    Fault::Unreadable(format!(
        "What was sent broke off before its end ({}). Nothing of it was kept; send it again.",
        e.body_text()
    ))
}
