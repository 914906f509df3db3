//! How a station's samples came, in the texts that go out: page, description, card, spoken line.
use super::models::missing;
use super::page::{Answer, Ask, Top, html};
use askama::Template;
use axum::extract::Path;
use trueplate_core::disclosure::{ESSENTIALS, Texts, of_model};

#[derive(Template)]
#[template(path = "disclosure.html")]
struct Page {
    top: Top,
    model: String,
    name: String,
    texts: Texts,
    open: Vec<(String, String, String)>,
    essentials: &'static [(&'static str, &'static str, &'static str)],
}

/// The texts of one station.
pub async fn show(ask: Ask, Path(id): Path<String>) -> Answer {
    let model = ask.notebook().model(&id).ok_or_else(|| missing(&id))?;
    let texts = of_model(ask.notebook(), &id);
    let link = |code: &str, place: &str| match code {
        "no-specimen" => super::at::new_specimen(&id),
        _ => super::at::specimen(place),
    };
    let open = texts.open.iter().map(|f| (link(&f.code, &f.place), f.text.clone(), f.hint.clone())).collect();
    Ok(html(&Page {
        top: ask.top(),
        model: id.clone(),
        name: model.name.clone(),
        texts,
        open,
        essentials: &ESSENTIALS,
    }))
}
