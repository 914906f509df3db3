//! What a station cost, when and where.
use super::Site;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles, stand, typed, unchanged};
use super::models::missing;
use super::page::{Answer, Ask, Top, html, kept, refused};
use crate::desk::Deed;
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::notebook::{Model, Price, Settings};
use trueplate_core::record::Record;

#[derive(Template)]
#[template(path = "price.html")]
struct Page {
    top: Top,
    model: String,
    name: String,
    at: String,
    price: Price,
    amount: String,
    kinds: Vec<(&'static str, bool)>,
    stand: String,
    troubles: Troubles,
}

const KINDS: [&str; 4] = ["list", "sale", "flash sale", "used"];

fn page(ask: &Ask, model: &Model, at: &str, price: Price, troubles: Vec<(String, String)>) -> Page {
    Page {
        top: ask.top(),
        model: model.id.clone(),
        name: model.name.clone(),
        at: at.into(),
        amount: typed(price.amount, "", &ask.notebook().settings),
        kinds: KINDS.iter().map(|k| (*k, *k == price.kind)).collect(),
        stand: stand(model),
        price,
        troubles: Troubles(troubles),
    }
}

/// The form of a price; `new` for an empty one.
pub async fn edit(ask: Ask, Path((model, at)): Path<(String, String)>) -> Answer {
    let model = ask.notebook().model(&model).ok_or_else(|| missing(&model))?;
    let price = match at.as_str() {
        "new" => Price {
            currency: ask.notebook().settings.currency.clone(),
            on: crate::desk::today(ask.notebook()),
            kind: "list".into(),
            ..Price::default()
        },
        at => at.parse().ok().and_then(|i: usize| model.prices.get(i)).cloned().ok_or_else(no_price)?,
    };
    Ok(html(&page(&ask, model, &at, price, Vec::new())))
}

fn no_price() -> Fault {
    Fault::Missing("This station has no such price.".into())
}

fn read(sent: &Sent, settings: &Settings) -> (Price, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    let price = Price {
        amount: r.plain("amount"),
        currency: sent.text("currency").to_uppercase(),
        on: r.day("on"),
        kind: KINDS.iter().find(|k| **k == sent.get("kind")).unwrap_or(&"list").to_string(),
        with_tax: sent.ticked("with_tax"),
        bundle: sent.text("bundle"),
        seller: sent.text("seller"),
    };
    if price.amount <= 0.0 && r.troubles.iter().all(|(n, _)| n != "amount") {
        r.trouble("amount", "Type the amount as a number");
    }
    if price.currency.len() != 3 || !price.currency.bytes().all(|b| b.is_ascii_uppercase()) {
        r.trouble("currency", "Three letters, for example USD");
    }
    (price, r.troubles)
}

/// Keeps a price, or takes it out.
pub async fn save(
    ask: Ask,
    State(site): State<Site>,
    Path((model, at)): Path<(String, String)>,
    sent: Sent,
) -> Answer {
    let known = ask.notebook().model(&model).ok_or_else(|| missing(&model))?;
    let (price, troubles) = read(&sent, &ask.notebook().settings);
    let delete = sent.ticked("delete");
    if !troubles.is_empty() && !delete {
        return Ok(refused(&page(&ask, known, &at, price, troubles)));
    }
    let back = format!("{}#prices", super::at::model(&model));
    let done = site.act(move |notebook| {
        let mut model = notebook.model(&model).ok_or_else(|| missing(&model))?.clone();
        unchanged(&model, &sent)?;
        match at.parse::<usize>().ok().filter(|i| *i < model.prices.len()) {
            None if at == "new" => model.prices.push(price),
            None => return Err(no_price()),
            Some(i) if delete => drop(model.prices.remove(i)),
            Some(i) => model.prices[i] = price,
        }
        Ok(Deed { records: vec![Record::Model(model)], why: sent.text("why"), then: () })
    });
    Ok(kept(&back, done.await?.stroke))
}
