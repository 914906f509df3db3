//! Data for programs inside a page: the model and its measurements in the words of schema.org, as JSON-LD.
use super::context::{Context, Shown};
use super::words;
use crate::package::{DESCRIPTOR, FACTS, LICENCES, TABLES};
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

/// The whole bench as a data set: what was measured, in which units, under which licence, and the tables to load.
pub fn dataset(context: &Context) -> String {
    let settings = &context.notebook.settings;
    let site = if settings.site.is_empty() { "Test bench" } else { &settings.site };
    let measured: Vec<Json> = context
        .report
        .columns
        .iter()
        .map(|c| {
            json!({ "@type": "PropertyValue", "name": context.title(c), "propertyID": c.result.key,
                    "unitText": c.result.shown_in().ucum })
        })
        .collect();
    let tables = TABLES.iter().map(|name| (format!("data/{name}.csv"), "text/csv"));
    let whole = [(DESCRIPTOR.to_string(), "application/json"), (FACTS.to_string(), "application/json")];
    let base = &context.options.base;
    let distribution: Vec<Json> = whole
        .into_iter()
        .chain(tables)
        .map(|(path, kind)| {
            json!({ "@type": "DataDownload", "contentUrl": format!("{base}{path}"), "encodingFormat": kind })
        })
        .collect();
    let mut days: Vec<&str> = context
        .models
        .iter()
        .flat_map(|m| &m.tests)
        .map(|t| t.day.as_str())
        .filter(|d| !d.is_empty())
        .collect();
    days.sort_unstable();
    let mut data = json!({
        "@context": "https://schema.org",
        "@type": "Dataset",
        "name": format!("{site}: portable power stations, measured"),
        "description": "Portable power stations measured on one bench: every result with its 95 % interval, every claim \
                        with its verdict, every reading they come from.",
        "creator": { "@type": "Person", "name": settings.tester },
        "dateModified": context.report.as_of,
        "measurementTechnique": format!("{base}how.html"),
        "variableMeasured": measured,
        "distribution": distribution,
    });
    if let Some(map) = data.as_object_mut() {
        if let Some((_, _, address)) = LICENCES.iter().find(|(id, ..)| *id == settings.licence) {
            map.insert("license".into(), json!(address));
        }
        if let (Some(first), Some(last)) = (days.first(), days.last()) {
            map.insert("temporalCoverage".into(), json!(format!("{first}/{last}")));
        }
    }
    inert(&data.to_string())
}
