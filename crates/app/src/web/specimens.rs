//! Physical samples: how each came, its serial number, its firmware.
use super::Site;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles, stand, unchanged};
use super::models::missing;
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::words;
use crate::desk::{Deed, free_id};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::notebook::{Came, Firmware, Settings, Specimen};
use trueplate_core::outgoing::Terms;
use trueplate_core::record::Record;

#[derive(Template)]
#[template(path = "specimen.html")]
struct Page {
    top: Top,
    id: String,
    name: String,
    specimen: Specimen,
    came: Vec<(&'static str, &'static str, bool)>,
    firmware: Vec<(String, String)>,
    paid_links: Vec<Said>,
    previewed: Vec<Said>,
    stand: String,
    troubles: Troubles,
}

/// A choice of a list: its key, its label, whether it is on.
type Said = (&'static str, &'static str, bool);

/// Something that is only said when it is written down.
fn said(now: Option<bool>) -> Vec<Said> {
    [("", "not written down", None), ("no", "no", Some(false)), ("yes", "yes", Some(true))]
        .map(|(key, label, value)| (key, label, value == now))
        .to_vec()
}

fn yes_or_no(text: &str) -> Option<bool> {
    match text {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

const CAME: [(Came, &str, &str); 5] = [
    (Came::Unknown, "unknown", "not written down yet"),
    (Came::Bought, "bought", "bought at an ordinary seller"),
    (Came::Lent, "lent", "lent by the maker or a dealer"),
    (Came::Given, "given", "given"),
    (Came::Paid, "paid", "I was paid to test it"),
];

/// Rows of firmware offered beyond those in use.
const SPARE: usize = 2;

fn page(ask: &Ask, id: &str, specimen: Specimen, troubles: Vec<(String, String)>) -> Page {
    let name = ask.notebook().model(&specimen.model).map_or_else(String::new, |m| m.name.clone());
    let mut firmware: Vec<_> =
        specimen.firmware.iter().map(|f| (f.version.clone(), f.from.clone())).collect();
    firmware.extend(std::iter::repeat_n((String::new(), String::new()), SPARE));
    Page {
        top: ask.top(),
        id: id.into(),
        name,
        came: CAME.iter().map(|(c, k, label)| (*k, *label, *c == specimen.came)).collect(),
        firmware,
        paid_links: said(specimen.terms.paid_links),
        previewed: said(specimen.terms.previewed),
        stand: stand(&specimen),
        specimen,
        troubles: Troubles(troubles),
    }
}

/// The form of a sample; `new?model=…` for an empty one.
pub async fn edit(ask: Ask, Path(id): Path<String>) -> Answer {
    let specimen = known(&ask, &id, ask.query.get("model"))?;
    Ok(html(&page(&ask, &id, specimen, Vec::new())))
}

fn known(ask: &Ask, id: &str, model: &str) -> Result<Specimen, Fault> {
    if id == "new" {
        let model = ask.notebook().model(model).ok_or_else(|| missing(model))?;
        return Ok(Specimen { model: model.id.clone(), ..Specimen::default() });
    }
    let found = ask.notebook().specimen(id).cloned();
    found.ok_or_else(|| Fault::Missing(format!("There is no sample `{id}` on this bench.")))
}

fn read(sent: &Sent, settings: &Settings, mut specimen: Specimen) -> (Specimen, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    specimen.label = sent.text("label");
    specimen.serial = sent.text("serial");
    specimen.came =
        CAME.iter().find(|(_, k, _)| *k == sent.get("came")).map_or(Came::Unknown, |(c, _, _)| *c);
    specimen.provenance = sent.text("provenance");
    specimen.returned = r.day("returned");
    specimen.terms = Terms {
        by: sent.text("by"),
        return_by: r.day("return_by"),
        received: sent.text("received"),
        paid_links: yes_or_no(sent.get("paid_links")),
        previewed: yes_or_no(sent.get("previewed")),
    };
    specimen.note = sent.text("note");
    let days = sent.all("firmware_from").map(str::to_string);
    specimen.firmware = sent
        .all("firmware_version")
        .zip(days)
        .filter(|(version, _)| !version.is_empty())
        .map(|(version, from)| Firmware { version: version.into(), from })
        .collect();
    if specimen.firmware.iter().any(|f| !f.from.is_empty() && f.from.parse::<jiff::civil::Date>().is_err()) {
        r.trouble(
            "firmware",
            "The day of a firmware is written as 2026-05-03, or left empty for `as received`",
        );
    }
    (specimen, r.troubles)
}

/// Keeps a sample.
pub async fn save(ask: Ask, State(site): State<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    let settings = ask.notebook().settings.clone();
    let base = known(&ask, &id, sent.get("model"))?;
    let (specimen, mut troubles) = read(&sent, &settings, base);
    if let Some(other) = ask.notebook().same_serial(&specimen) {
        let words = format!(
            "This serial number already stands at {} of this station. One sample has one page: add its tests there, or look at the label again",
            words::label(other)
        );
        troubles.push(("serial".into(), words));
    }
    if !troubles.is_empty() {
        return Ok(refused(&page(&ask, &id, specimen, troubles)));
    }
    let back = format!("{}#samples", super::at::model(&specimen.model));
    let done = site.act(move |notebook| {
        let mut specimen = specimen;
        if id == "new" {
            let name = words::label(&specimen).to_string();
            let wanted = format!("{} {name}", specimen.model).replace("the sample", "");
            specimen.id = free_id(notebook, "specimen", &wanted);
        } else if let Some(old) = notebook.specimen(&id) {
            unchanged(old, &sent)?;
        }
        Ok(Deed { records: vec![Record::Specimen(specimen)], why: sent.text("why"), then: () })
    });
    Ok(kept(&back, done.await?.stroke))
}
