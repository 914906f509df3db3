//! The form of a station.
use super::Site;
use super::form::{Reader, Sent, Troubles, stand, typed, unchanged};
use super::models::missing;
use super::page::{Answer, Ask, Top, html, kept, refused};
use crate::desk::{Deed, free_id};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::notebook::{Model, Settings, SwitchOff};
use trueplate_core::quantity::Dim;
use trueplate_core::record::Record;

#[derive(Template)]
#[template(path = "model_form.html")]
struct FormPage {
    top: Top,
    model: Model,
    mains_v: String,
    mains_hz: String,
    per_outlet: String,
    off_below: String,
    off_after: String,
    stand: String,
    troubles: Troubles,
}

fn form(top: Top, model: Model, settings: &Settings, troubles: Vec<(String, String)>) -> FormPage {
    FormPage {
        top,
        mains_v: typed(model.mains_v, "V", settings),
        mains_hz: typed(model.mains_hz, "Hz", settings),
        per_outlet: typed(model.per_outlet_w, "W", settings),
        off_below: typed(model.switch_off.below_w, "W", settings),
        off_after: typed(model.switch_off.after_h, "h", settings),
        stand: stand(&model),
        model,
        troubles: Troubles(troubles),
    }
}

/// The empty form.
pub async fn new(ask: Ask) -> Answer {
    Ok(html(&form(ask.top(), Model::default(), &ask.notebook().settings, Vec::new())))
}

/// The form of a station.
pub async fn edit(ask: Ask, Path(id): Path<String>) -> Answer {
    let model = ask.notebook().model(&id).ok_or_else(|| missing(&id))?.clone();
    Ok(html(&form(ask.top(), model, &ask.notebook().settings, Vec::new())))
}

fn read(sent: &Sent, settings: &Settings, mut model: Model) -> (Model, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    model.name = r.needed("name", "Write the maker and the name as printed on the box");
    model.chemistry = sent.text("chemistry");
    model.mains_v = r.quantity("mains_v", Dim::Voltage, "V");
    model.mains_hz = r.quantity("mains_hz", Dim::Frequency, "Hz");
    model.per_outlet_w = r.quantity("per_outlet", Dim::Power, "W");
    model.switch_off = SwitchOff {
        below_w: r.quantity("off_below", Dim::Power, "W"),
        after_h: r.quantity("off_after", Dim::Time, "h"),
        on_by_default: sent.ticked("off_default"),
        can_be_disabled: sent.ticked("off_can"),
    };
    model.note = sent.text("note");
    (model, r.troubles)
}

/// Adds a station.
pub async fn create(ask: Ask, State(site): State<Site>, sent: Sent) -> Answer {
    let settings = &ask.notebook().settings;
    let (model, troubles) = read(&sent, settings, Model::default());
    if !troubles.is_empty() {
        return Ok(refused(&form(ask.top(), model, settings, troubles)));
    }
    let done = site.act(move |notebook| {
        let id = free_id(notebook, "model", &model.name);
        Ok(Deed {
            records: vec![Record::Model(Model { id: id.clone(), ..model })],
            why: String::new(),
            then: id,
        })
    });
    let done = done.await?;
    Ok(kept(&super::at::model(&done.then.unwrap_or_default()), done.stroke))
}

/// Changes a station.
pub async fn save(ask: Ask, State(site): State<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    let settings = &ask.notebook().settings;
    let old = ask.notebook().model(&id).ok_or_else(|| missing(&id))?.clone();
    let (model, troubles) = read(&sent, settings, old);
    if !troubles.is_empty() {
        return Ok(refused(&form(ask.top(), model, settings, troubles)));
    }
    let settings = settings.clone();
    let done = site.act(move |notebook| {
        let old = notebook.model(&id).ok_or_else(|| missing(&id))?;
        unchanged(old, &sent)?;
        let (model, _) = read(&sent, &settings, old.clone());
        Ok(Deed { records: vec![Record::Model(model)], why: sent.text("why"), then: id })
    });
    let done = done.await?;
    Ok(kept(&super::at::model(&done.then.unwrap_or_default()), done.stroke))
}
