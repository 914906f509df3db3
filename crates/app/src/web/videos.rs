//! A video about a station: chapters, the kept script checked against the record, and the text under it.
use super::Site;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles, stand, unchanged};
use super::keep;
use super::models::missing;
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::upload::{self, Upload};
use crate::desk::{Deed, free_id};
use askama::Template;
use axum::extract::{Multipart, Path, State};
use trueplate_core::chapters;
use trueplate_core::corrections::spread::clock;
use trueplate_core::finding::Weight;
use trueplate_core::notebook::{FileRef, Settings};
use trueplate_core::outgoing::Video;
use trueplate_core::record::Record;
use trueplate_core::script::{Format, Judgement, check, said_at};

#[derive(Template)]
#[template(path = "video.html")]
struct Page {
    top: Top,
    id: String,
    model: String,
    name: String,
    video: Video,
    chapters: String,
    noticed: Vec<(&'static str, String, String, String)>,
    description: String,
    lines: Vec<Line>,
    checked: bool,
    stand: String,
    troubles: Troubles,
}

/// A statement of the kept script that is not as the record has it.
struct Line {
    place: String,
    word: String,
    says: String,
    record: String,
    hint: String,
}

fn page(ask: &Ask, id: &str, video: Video, script: Option<&String>, troubles: Vec<(String, String)>) -> Page {
    let name = ask.notebook().model(&video.model).map_or_else(String::new, |m| m.name.clone());
    let noticed = chapters::findings(&video).into_iter().map(|f| {
        (if f.weight == Weight::Note { "note" } else { "doubt" }, f.place.clone(), f.text.clone(), f.hint)
    });
    Page {
        top: ask.top(),
        id: id.into(),
        model: video.model.clone(),
        name,
        chapters: chapters::written(&video.chapters),
        noticed: noticed.collect(),
        description: chapters::description(&ask.report, &video),
        lines: script.map_or_else(Vec::new, |text| lines(ask, &video, text)),
        checked: script.is_some(),
        stand: stand(&video),
        video,
        troubles: Troubles(troubles),
    }
}

fn lines(ask: &Ask, video: &Video, text: &str) -> Vec<Line> {
    let format = Format::of_name(&video.script.name);
    let at = said_at(text, format);
    let found = check(&ask.report, text, format, Some(&video.model));
    let wrong = found.lines.into_iter().filter(|l| l.judgement != Judgement::Agrees);
    wrong
        .map(|l| Line {
            place: at.get(&l.line).map_or_else(|| format!("line {}", l.line), |ms| clock(*ms)),
            word: l.judgement.key().replace('-', " "),
            says: l.says,
            record: l.record.unwrap_or_default(),
            hint: l.hint,
        })
        .collect()
}

fn known(ask: &Ask, model: &str, id: &str) -> Result<Video, Fault> {
    let of = ask.notebook().model(model).ok_or_else(|| missing(model))?;
    if id == "new" {
        return Ok(Video { model: of.id.clone(), ..Video::default() });
    }
    let found = ask.notebook().video(id).filter(|v| v.model == model).cloned();
    found.ok_or_else(|| Fault::Missing(format!("There is no video `{id}` about this station.")))
}

async fn script_of(site: &Site, video: &Video) -> Result<Option<String>, Fault> {
    let hash = video.script.sha256.clone();
    site.with(move |desk| Ok(desk.scripts()?.remove(&hash))).await
}

/// The form of a video; `new` for an empty one.
pub async fn edit(ask: Ask, State(site): State<Site>, Path((model, id)): Path<(String, String)>) -> Answer {
    let video = known(&ask, &model, &id)?;
    let script = script_of(&site, &video).await?;
    Ok(html(&page(&ask, &id, video, script.as_ref(), Vec::new())))
}

fn read(sent: &Sent, settings: &Settings, old: &Video) -> (Video, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    let mut video = Video {
        title: r.needed("title", "Write the title, so that it can be told from others"),
        on: r.day("on"),
        length: sent.text("length"),
        chapters: chapters::read(&sent.text("chapters").replace('\r', "")),
        used: sent.text("used"),
        note: sent.text("note"),
        ..old.clone()
    };
    // A file sent with a form that could not be kept waits in the bench under its hash.
    let hash = sent.text("kept_sha");
    let none = sent.ticked("no_script") || hash.len() != 64 || !hash.bytes().all(|b| b.is_ascii_hexdigit());
    video.script = match none {
        true => FileRef::default(),
        false => FileRef { sha256: hash, name: sent.text("kept_name"), media: sent.text("kept_media") },
    };
    (video, r.troubles)
}

/// Keeps a video, or takes it out. Chapters that players would not show are kept, and what is wrong is said.
pub async fn save(
    ask: Ask,
    State(site): State<Site>,
    Path((model, id)): Path<(String, String)>,
    form: Multipart,
) -> Answer {
    let Upload { sent, files } = upload::read(&site, form, keep::LARGEST).await?;
    let old = known(&ask, &model, &id)?;
    if sent.ticked("delete") && id != "new" {
        unchanged(&old, &sent)?;
        let back = format!("{}#out", super::at::model(&model));
        let stroke = site.with(move |desk| Ok(desk.take_out("video", &id, &sent.text("why"))?)).await?;
        return Ok(kept(&back, stroke));
    }
    let (mut video, troubles) = read(&sent, &ask.notebook().settings, &old);
    if let Some(script) = files.into_iter().next() {
        video.script = site.with(move |desk| script.keep(desk)).await?;
    }
    if !troubles.is_empty() {
        let script = script_of(&site, &old).await?;
        let mut shown = page(&ask, &id, video, script.as_ref(), troubles);
        shown.stand = sent.get("stand").into();
        return Ok(refused(&shown));
    }
    let done = site.act(move |notebook| {
        let mut video = video;
        if id == "new" {
            video.id = free_id(notebook, "video", &video.title);
        } else if let Some(old) = notebook.video(&id) {
            unchanged(old, &sent)?;
        }
        let then = super::at::video(&video.model, &video.id);
        Ok(Deed { records: vec![Record::Video(video)], why: sent.text("why"), then })
    });
    let done = done.await?;
    Ok(kept(&done.then.unwrap_or_default(), done.stroke))
}
