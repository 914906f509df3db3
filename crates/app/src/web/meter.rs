//! A meter over time: its checks of a known load, and what a calibration did to the results that used it.
use super::Site;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles, stand, typed, unchanged};
use super::page::{Answer, Ask, Top, html, kept, refused};
use super::words;
use crate::desk::{Deed, today};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::instrument::{Check, Instrument};
use trueplate_core::moved::{self, Changes, Moved};
use trueplate_core::notebook::Settings;
use trueplate_core::quantity::Dim;
use trueplate_core::record::Record;
use trueplate_core::report::titled;
use trueplate_core::shown::{Shown, shown};
use trueplate_core::uncertain::Value;
use trueplate_pages::piece::{Lane, verdict};

#[derive(Template)]
#[template(path = "check.html")]
struct CheckPage {
    top: Top,
    id: String,
    name: String,
    on: String,
    reading: String,
    is: String,
    load: String,
    stand: String,
    troubles: Troubles,
}

fn known<'a>(ask: &'a Ask, id: &str) -> Result<&'a Instrument, Fault> {
    let found = ask.notebook().instrument(id);
    found.ok_or_else(|| Fault::Missing(format!("There is no instrument `{id}` on this bench.")))
}

fn page(ask: &Ask, meter: &Instrument, sent: &Sent, troubles: Vec<(String, String)>) -> CheckPage {
    let last = meter.checks.last();
    // The same lamp again: what it truly is and its name are proposed from the last time.
    let or = |name: &str, proposed: String| if troubles.is_empty() { proposed } else { sent.text(name) };
    CheckPage {
        top: ask.top(),
        id: meter.id.clone(),
        name: meter.name.clone(),
        on: or("on", today(ask.notebook())),
        reading: or("reading", String::new()),
        is: or("is", last.map_or_else(String::new, |c| typed(c.true_w, "W", &ask.notebook().settings))),
        load: or("load", last.map_or_else(String::new, |c| c.load.clone())),
        stand: stand(meter),
        troubles: Troubles(troubles),
    }
}

/// The form of a check.
pub async fn ask(ask: Ask, Path(id): Path<String>) -> Answer {
    Ok(html(&page(&ask, known(&ask, &id)?, &Sent::default(), Vec::new())))
}

/// Beyond this share off it is a slip, not a drift: kW for W, another lamp.
const SLIP: f64 = 0.5;

fn read(sent: &Sent, settings: &Settings, as_of: &str) -> Result<Check, Vec<(String, String)>> {
    let mut r = Reader::new(sent, settings);
    let check = Check {
        on: r.day("on"),
        reading_w: r.quantity("reading", Dim::Power, "W"),
        true_w: r.quantity("is", Dim::Power, "W"),
        load: sent.text("load"),
    };
    if check.on.is_empty() {
        r.trouble("on", "Write the day, for example 2026-05-03");
    } else if check.on.as_str() > as_of {
        r.trouble("on", "This day is still to come");
    }
    let asked = [
        ("reading", check.reading_w, "what it shows, for example 60.2 W"),
        ("is", check.true_w, "what the load truly takes, for example 60 W"),
    ];
    for (name, watts, words) in asked {
        if watts <= 0.0 && r.troubles.iter().all(|(n, _)| n != name) {
            r.trouble(name, &format!("A power above 0: {words}"));
        }
    }
    if r.troubles.is_empty() && (check.reading_w / check.true_w - 1.0).abs() > SLIP {
        r.trouble(
            "reading",
            "More than half away from what it is: look at the unit, and whether it was the same load",
        );
    }
    if r.troubles.is_empty() { Ok(check) } else { Err(r.troubles) }
}

/// Keeps a check.
pub async fn keep(ask: Ask, State(site): State<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    let meter = known(&ask, &id)?;
    let check = match read(&sent, &ask.notebook().settings, &today(ask.notebook())) {
        Ok(check) => check,
        Err(troubles) => return Ok(refused(&page(&ask, meter, &sent, troubles))),
    };
    let back = format!("/instrument/{}#checks", super::page::escaped(&id));
    let done = site.act(move |notebook| {
        let gone = || Fault::Missing(format!("There is no instrument `{id}` on this bench."));
        let mut meter = notebook.instrument(&id).ok_or_else(gone)?.clone();
        unchanged(&meter, &sent)?;
        meter.checks.push(check);
        Ok(Deed { records: vec![Record::Instrument(meter)], why: String::new(), then: () })
    });
    Ok(kept(&back, done.await?.stroke))
}

#[derive(Template)]
#[template(path = "effect.html")]
struct EffectPage {
    top: Top,
    id: String,
    name: String,
    on: String,
    says: String,
    verdicts: Vec<(String, String, String, String)>,
    figures: Vec<Figure>,
    unmoved: usize,
}

struct Figure {
    name: String,
    title: String,
    about: String,
    old: String,
    new: String,
}

/// What one calibration changed: the bench without it and with it.
pub async fn effect(
    ask: Ask,
    State(site): State<Site>,
    Path((id, calibration)): Path<(String, usize)>,
) -> Answer {
    let meter = known(&ask, &id)?.clone();
    let none = || Fault::Missing("This instrument has no such calibration.".into());
    let done = meter.calibrations.get(calibration).ok_or_else(none)?;
    let (report, of) = (ask.report.clone(), id.clone());
    let changes = site.with(move |_| Ok(moved::by_calibration(&report, &of, calibration))).await?;
    let changes = changes.ok_or_else(none)?;
    let settings = &ask.notebook().settings;
    let per_cent = |share: f64| if share == 0.0 { "0 %".into() } else { typed(share * 100.0, "%", settings) };
    let says = format!("shows too much by {}, known to ± {}", per_cent(done.gain_error), per_cent(done.u));
    let listed = figures(&ask, &changes);
    Ok(html(&EffectPage {
        unmoved: changes.unmoved + changes.figures.len() - listed.len(),
        figures: listed,
        top: ask.top(),
        id,
        name: meter.name.clone(),
        on: done.on.clone(),
        says,
        verdicts: changes
            .verdicts
            .iter()
            .map(|t| {
                (
                    t.name.clone(),
                    format!("{}, stated {}", t.title, t.stated),
                    verdict(t.verdict.0),
                    verdict(t.verdict.1),
                )
            })
            .collect(),
    }))
}

fn figures(ask: &Ask, changes: &Changes) -> Vec<Figure> {
    let written =
        |m: &Moved, v: &Option<Value>| v.as_ref().map(|v| shown(v, m.result.shown_in(), ask.style()));
    let all: Vec<(Option<Shown>, Option<Shown>)> =
        changes.figures.iter().map(|m| (written(m, &m.old), written(m, &m.new))).collect();
    let lane = Lane::of(all.iter().flat_map(|(a, b)| [a, b]).flatten());
    let cell = |s: &Option<Shown>| s.as_ref().map_or_else(|| "nothing".into(), |s| lane.cell(s));
    let about = |m: &Moved| {
        let label = ask.notebook().specimen(&m.specimen).map_or("", |s| s.label.as_str());
        let firmware = if m.firmware.is_empty() { String::new() } else { format!("firmware {}", m.firmware) };
        [label.to_string(), firmware].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ")
    };
    let one = |(m, (old, new)): (&Moved, &(Option<Shown>, Option<Shown>))| Figure {
        name: m.name.clone(),
        title: words::unbroken(&titled(m.result, &m.condition)),
        about: about(m),
        old: cell(old),
        new: cell(new),
    };
    // What moves by less than its digits show is counted, not listed.
    let seen = |(old, new): &(Option<Shown>, Option<Shown>)| old != new;
    changes.figures.iter().zip(&all).filter(|(_, pair)| seen(pair)).map(one).collect()
}
