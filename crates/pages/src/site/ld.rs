//! Data for programs inside a page: the model and its measurements in the words of schema.org, as JSON-LD.
use super::context::{Context, Shown};
use super::words;
use crate::piece::data::inert;
use serde_json::{Map, Value as Json, json};
use trueplate_core::disclosure;

/// The model with its results and their bounds, its disclosure and its price; safe inside a script element.
pub fn product(context: &Context, model: &Shown) -> String {
    let disclosure: Vec<String> = model.specimens.iter().map(|s| disclosure::of_specimen(s)).collect();
    let rows = model.report.rows.iter().filter(|r| !r.superseded);
    let measured: Vec<Json> = rows
        .map(|row| {
            let unit = row.result.shown_in();
            let condition = words::condition(&row.condition);
            let name = if condition.is_empty() {
                row.result.title.to_string()
            } else {
                format!("{}, {condition}", row.result.title)
            };
            let mut value = Map::new();
            value.insert("@type".into(), json!("PropertyValue"));
            value.insert("name".into(), json!(name));
            value.insert("propertyID".into(), json!(row.result.key));
            value.insert("value".into(), json!(unit.shown(row.value.x)));
            if row.value.has_u() {
                let half = row.value.half95();
                value.insert("minValue".into(), json!(unit.shown(row.value.x - half)));
                value.insert("maxValue".into(), json!(unit.shown(row.value.x + half)));
            }
            value.insert("unitText".into(), json!(unit.ucum));
            Json::Object(value)
        })
        .collect();
    let mut data = json!({
        "@context": "https://schema.org",
        "@type": "Product",
        "name": model.report.name,
        "additionalProperty": measured,
        "review": {
            "@type": "Review",
            "author": { "@type": "Person", "name": context.notebook.settings.tester },
            "reviewAspect": "measured on a bench",
            "abstract": disclosure.join(" "),
        },
    });
    if let (Some(price), Some(map)) = (&model.report.price.price, data.as_object_mut()) {
        let offer = json!({
            "@type": "Offer",
            "price": price.amount,
            "priceCurrency": price.currency,
            "validFrom": price.on,
        });
        map.insert("offers".into(), offer);
    }
    inert(&data.to_string())
}
