//! Who tests, where, and the rules that stand before a measurement.
use super::Site;
use super::form::{Reader, Sent, Troubles, stand, unchanged};
use super::page::{Answer, Ask, Top, html, kept, refused};
use crate::desk::Deed;
use askama::Template;
use axum::extract::State;
use jiff::tz::TimeZone;
use trueplate_core::notebook::Settings;
use trueplate_core::record::Record;
use trueplate_core::shown::{Style, four_digits};
use trueplate_pages::package;

#[derive(Template)]
#[template(path = "settings.html")]
struct Page {
    top: Top,
    settings: Settings,
    zones: Vec<String>,
    met_from: String,
    probably_from: String,
    repeatability: String,
    licences: Vec<(&'static str, &'static str, bool)>,
    refuse_from: String,
    stand: String,
    troubles: Troubles,
}

fn page(ask: &Ask, settings: Settings, troubles: Vec<(String, String)>) -> Page {
    let style = Style { decimal: if settings.decimal_comma { ',' } else { '.' }, group: '\0' };
    let share = |x: f64| format!("{} %", four_digits(x * 100.0, style));
    Page {
        top: ask.top(),
        zones: jiff::tz::db().available().map(|z| z.to_string()).collect(),
        met_from: share(settings.met_from),
        probably_from: share(settings.probably_from),
        repeatability: share(settings.repeatability),
        licences: package::LICENCES
            .iter()
            .map(|(id, words, _)| (*id, *words, *id == settings.licence))
            .collect(),
        refuse_from: share(settings.refuse_from),
        stand: stand(&ask.notebook().settings),
        settings,
        troubles: Troubles(troubles),
    }
}

/// The form.
pub async fn edit(ask: Ask) -> Answer {
    Ok(html(&page(&ask, ask.notebook().settings.clone(), Vec::new())))
}

fn read(sent: &Sent, old: &Settings) -> (Settings, Vec<(String, String)>) {
    let mut r = Reader::new(sent, old);
    let mut s = Settings {
        tester: sent.text("tester"),
        site: sent.text("site"),
        zone: sent.text("zone"),
        currency: sent.text("currency").to_uppercase(),
        decimal_comma: sent.get("decimal") == "comma",
        as_of: r.day("as_of"),
        met_from: r.share("met_from"),
        probably_from: r.share("probably_from"),
        repeatability: r.share("repeatability"),
        licence: sent.text("licence"),
        refuse_from: r.share("refuse_from"),
        ..old.clone()
    };
    match sent.get("price_days").parse() {
        Ok(days) => s.price_days = days,
        Err(_) => r.trouble("price_days", "Type a whole number of days"),
    }
    if TimeZone::get(&s.zone).is_err() {
        r.trouble("zone", "Choose a zone from the list, for example Europe/Berlin");
    }
    if !s.licence.is_empty() && !package::LICENCES.iter().any(|(id, ..)| *id == s.licence) {
        r.trouble("licence", "Choose one of the list, or none");
    }
    if s.currency.len() != 3 || !s.currency.bytes().all(|b| b.is_ascii_uppercase()) {
        r.trouble("currency", "Three letters, for example USD");
    }
    if !(0.5 < s.probably_from && s.probably_from <= s.met_from && s.met_from < 1.0) {
        r.trouble("met_from", "`Met` from a higher share than `probably met`, both between 50 and 100 %");
    }
    if !(s.repeatability > 0.0 && s.repeatability <= 0.2) {
        r.trouble("repeatability", "Between 0 and 20 %; 0.5 % is common practice");
    }
    if !(s.refuse_from > 0.0 && s.refuse_from <= 1.0) {
        r.trouble("refuse_from", "Between 0 and 100 %; 20 % is common practice");
    }
    (s, r.troubles)
}

/// Keeps the settings.
pub async fn save(ask: Ask, State(site): State<Site>, sent: Sent) -> Answer {
    let (settings, troubles) = read(&sent, &ask.notebook().settings);
    if !troubles.is_empty() {
        return Ok(refused(&page(&ask, settings, troubles)));
    }
    let done = site.act(move |notebook| {
        unchanged(&notebook.settings, &sent)?;
        let (settings, _) = read(&sent, &notebook.settings);
        Ok(Deed { records: vec![Record::Settings(settings)], why: sent.text("why"), then: () })
    });
    Ok(kept("/settings", done.await?.stroke))
}
