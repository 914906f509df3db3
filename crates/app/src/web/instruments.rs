//! Meters, clocks, scales: what is known of their errors, typed the way their papers say it.
use super::Site;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles, stand, typed, typed_kept, unchanged};
use super::page::{Answer, Ask, Top, html, kept, refused, style};
use crate::desk::{Deed, free_id};
use askama::Template;
use axum::extract::{Path, State};
use trueplate_core::instrument::{Accuracy, Calibration, Feeds, Instrument};
use trueplate_core::notebook::Settings;
use trueplate_core::quantity::Dim;
use trueplate_core::record::Record;
use trueplate_core::shown::four_digits;
use trueplate_core::steady;
use trueplate_pages::chart::control;

#[derive(Template)]
#[template(path = "instruments.html")]
struct ListPage {
    top: Top,
    instruments: Vec<Listed>,
}

struct Listed {
    id: String,
    name: String,
    about: String,
    accuracy: Vec<String>,
    calibrated: String,
    /// What its checks say against it.
    doubts: Vec<String>,
}

/// Dimensions an instrument may measure, as the trade names them, with the unit taken when none is typed.
const DIMS: [(Dim, &str, &str, &str); 11] = [
    (Dim::Energy, "energy", "Energy", "Wh"),
    (Dim::Power, "power", "Power", "W"),
    (Dim::Voltage, "voltage", "Voltage", "V"),
    (Dim::Current, "current", "Current", "A"),
    (Dim::Time, "time", "Time", "s"),
    (Dim::Temperature, "temperature", "Temperature", "°C"),
    (Dim::Mass, "mass", "Mass", "kg"),
    (Dim::Level, "level", "Sound level", "dB(A)"),
    (Dim::Frequency, "frequency", "Frequency", "Hz"),
    (Dim::Length, "length", "Length", "cm"),
    (Dim::Charge, "charge", "Electric charge", "Ah"),
];

fn dim_words(dim: Dim) -> (&'static str, &'static str) {
    DIMS.iter().find(|(d, ..)| *d == dim).map_or(("Other", ""), |(_, _, words, unit)| (words, unit))
}

/// "Energy: ± 1 % of reading, step 10 Wh, drops what is below a step".
fn in_words(a: &Accuracy, settings: &Settings) -> String {
    let style = style(settings);
    let (words, _) = dim_words(a.dim);
    let n = |x: f64| four_digits(x, style);
    let q = |x: f64| typed_kept(x, a.dim, settings);
    let mut limits = Vec::new();
    if a.of_reading > 0.0 {
        limits.push(format!("{} % of reading", n(a.of_reading * 100.0)));
    }
    if a.of_range > 0.0 {
        limits.push(format!("{} % of {}", n(a.of_range * 100.0), q(a.range)));
    }
    if a.digits > 0.0 {
        limits.push(format!("{} {}", n(a.digits), if a.digits == 1.0 { "digit" } else { "digits" }));
    }
    let mut said = Vec::new();
    said.push(if limits.is_empty() {
        "accuracy not stated".into()
    } else {
        format!("± {}", limits.join(" ± "))
    });
    if a.step > 0.0 {
        said.push(format!("step {}", q(a.step)));
    }
    if a.truncates {
        said.push("cuts off instead of rounding".into());
    }
    if a.floor > 0.0 {
        said.push(format!("nothing usable below {}", q(a.floor)));
    }
    if a.up_to > 0.0 {
        said.push(format!("up to {}", q(a.up_to)));
    }
    format!("{words}: {}", said.join(", "))
}

/// All instruments.
pub async fn list(ask: Ask) -> Answer {
    let settings = &ask.notebook().settings;
    let one = |i: &Instrument| Listed {
        id: i.id.clone(),
        name: i.name.clone(),
        about: i.about.clone(),
        accuracy: i.accuracy.iter().map(|a| in_words(a, settings)).collect(),
        doubts: steady::findings(i, &ask.report.as_of).into_iter().map(|f| f.text).collect(),
        calibrated: i.calibrations.last().map_or_else(String::new, |c| format!("calibrated {}", c.on)),
    };
    let instruments = ask.notebook().instruments.iter().map(one).collect();
    Ok(html(&ListPage { top: ask.top(), instruments }))
}

#[derive(Template)]
#[template(path = "instrument.html")]
struct Page {
    top: Top,
    id: String,
    instrument: Instrument,
    rows: Vec<AccuracyRow>,
    calibrations: Vec<CalibrationRow>,
    own_draw: String,
    mains_v: String,
    feeds: Vec<(&'static str, &'static str, bool)>,
    /// The chart of its checks; empty without any.
    chart: String,
    doubts: Vec<(String, String)>,
    stand: String,
    troubles: Troubles,
}

/// One accuracy statement as typed.
#[derive(Default)]
struct AccuracyRow {
    n: usize,
    dims: Vec<(&'static str, &'static str, bool)>,
    of_reading: String,
    of_range: String,
    range: String,
    digits: String,
    step: String,
    truncates: bool,
    floor: String,
    up_to: String,
}

impl AccuracyRow {
    /// A hint stands beside the first statement only.
    fn hint(&self, words: &'static str) -> &'static str {
        if self.n == 0 { words } else { "" }
    }
}

struct CalibrationRow {
    n: usize,
    on: String,
    gain_error: String,
    u: String,
    against: String,
    /// Where what it changed is listed; empty for one that is not kept yet.
    effect: String,
}

const FEEDS: [(Feeds, &str, &str); 3] = [
    (Feeds::Unseen, "unseen", "from the outlet it measures, and it does not show it"),
    (Feeds::Counted, "counted", "from the outlet it measures, and its reading includes it"),
    (Feeds::Elsewhere, "elsewhere", "from elsewhere"),
];

/// Rows of accuracy offered beyond those in use.
const SPARE: usize = 1;

fn accuracy_row(n: usize, a: Option<&Accuracy>, sent: &Sent, settings: &Settings) -> AccuracyRow {
    let name = |what: &str| format!("{what}-{n}");
    let key = match a {
        Some(a) => DIMS.iter().find(|(d, ..)| *d == a.dim).map_or("", |(_, k, ..)| k),
        None => sent.get(&name("dim")),
    };
    let value = |what: &str, kept: String| match sent.get(&name(what)) {
        "" if a.is_some() => kept,
        text => text.into(),
    };
    let per_cent = |x: f64| typed(x * 100.0, "%", settings);
    let stated = a.cloned().unwrap_or_default();
    let kept = |x: f64| typed_kept(x, stated.dim, settings);
    AccuracyRow {
        n,
        dims: DIMS.iter().map(|(_, k, words, _)| (*k, *words, *k == key)).collect(),
        of_reading: value("of_reading", per_cent(stated.of_reading)),
        of_range: value("of_range", per_cent(stated.of_range)),
        range: value("range", kept(stated.range)),
        digits: value("digits", typed(stated.digits, "", settings)),
        step: value("step", kept(stated.step)),
        truncates: stated.truncates || sent.ticked(&name("truncates")),
        floor: value("floor", kept(stated.floor)),
        up_to: value("up_to", kept(stated.up_to)),
    }
}

fn page(ask: &Ask, id: &str, instrument: Instrument, sent: &Sent, troubles: Vec<(String, String)>) -> Page {
    let settings = &ask.notebook().settings;
    let count = instrument.accuracy.len();
    let rows = (0..(count + SPARE).max(2))
        .map(|n| accuracy_row(n, instrument.accuracy.get(n), sent, settings))
        .collect();
    let calibration = |n: usize| {
        let c = instrument.calibrations.get(n).cloned().unwrap_or_default();
        CalibrationRow {
            n,
            on: c.on,
            gain_error: typed(c.gain_error * 100.0, "%", settings),
            u: typed(c.u * 100.0, "%", settings),
            against: c.against,
            effect: match n < instrument.calibrations.len() && id != "new" {
                true => super::at::effect(id, n),
                false => String::new(),
            },
        }
    };
    let doubts = steady::findings(&instrument, &ask.report.as_of);
    Page {
        chart: steady::chart(&instrument).map_or_else(String::new, |c| control::figure(&c, ask.style())),
        doubts: doubts.into_iter().map(|f| (f.text, f.hint)).collect(),
        top: ask.top(),
        id: id.into(),
        rows,
        calibrations: (0..=instrument.calibrations.len()).map(calibration).collect(),
        own_draw: typed(instrument.own_draw_w, "W", settings),
        mains_v: typed(instrument.mains_v, "V", settings),
        feeds: FEEDS.iter().map(|(f, k, w)| (*k, *w, *f == instrument.feeds)).collect(),
        stand: stand(&instrument),
        instrument,
        troubles: Troubles(troubles),
    }
}

fn known(ask: &Ask, id: &str) -> Result<Instrument, Fault> {
    if id == "new" {
        return Ok(Instrument { true_rms: true, ..Instrument::default() });
    }
    let found = ask.notebook().instrument(id).cloned();
    found.ok_or_else(|| Fault::Missing(format!("There is no instrument `{id}` on this bench.")))
}

/// The form of an instrument; `new` for an empty one.
pub async fn edit(ask: Ask, Path(id): Path<String>) -> Answer {
    let instrument = known(&ask, &id)?;
    Ok(html(&page(&ask, &id, instrument, &Sent::default(), Vec::new())))
}

fn read_accuracy(r: &mut Reader, sent: &Sent, n: usize) -> Option<Accuracy> {
    let name = |what: &str| format!("{what}-{n}");
    let (dim, _, _, unit) = DIMS.iter().find(|(_, k, ..)| *k == sent.get(&name("dim")))?;
    let a = Accuracy {
        dim: *dim,
        of_reading: r.share(&name("of_reading")).abs(),
        of_range: r.share(&name("of_range")).abs(),
        range: r.quantity(&name("range"), *dim, unit),
        digits: r.plain(&name("digits")),
        step: r.quantity(&name("step"), *dim, unit),
        truncates: sent.ticked(&name("truncates")),
        floor: r.quantity(&name("floor"), *dim, unit),
        up_to: r.quantity(&name("up_to"), *dim, unit),
    };
    if a.of_range > 0.0 && a.range == 0.0 {
        r.trouble(&name("range"), "A share of the range needs the range");
    }
    Some(a)
}

fn read(sent: &Sent, settings: &Settings, mut instrument: Instrument) -> (Instrument, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    instrument.name = r.needed("name", "Write what you call it, for example `plug meter M1`");
    instrument.about = sent.text("about");
    instrument.accuracy = (0..40).filter_map(|n| read_accuracy(&mut r, sent, n)).collect();
    instrument.own_draw_w = r.quantity("own_draw", Dim::Power, "W");
    instrument.feeds =
        FEEDS.iter().find(|(_, k, _)| *k == sent.get("feeds")).map_or(Feeds::Unseen, |(f, ..)| *f);
    instrument.mains_v = r.quantity("mains_v", Dim::Voltage, "V");
    instrument.true_rms = sent.ticked("true_rms");
    instrument.note = sent.text("note");
    instrument.calibrations = (0..40)
        .filter(|n| !sent.get(&format!("cal_on-{n}")).is_empty())
        .map(|n| Calibration {
            on: r.day(&format!("cal_on-{n}")),
            gain_error: r.share(&format!("cal_gain-{n}")),
            u: r.share(&format!("cal_u-{n}")).abs(),
            against: sent.text(&format!("cal_against-{n}")),
        })
        .collect();
    (instrument, r.troubles)
}

/// Keeps an instrument.
pub async fn save(ask: Ask, State(site): State<Site>, Path(id): Path<String>, sent: Sent) -> Answer {
    let base = known(&ask, &id)?;
    let (instrument, troubles) = read(&sent, &ask.notebook().settings, base);
    if !troubles.is_empty() {
        return Ok(refused(&page(&ask, &id, instrument, &sent, troubles)));
    }
    // A calibration that was added or changed: what it does to the results is looked at next.
    let before = known(&ask, &id)?.calibrations;
    let other = instrument.calibrations.iter().enumerate().rev().find(|(n, c)| before.get(*n) != Some(c));
    let next = other.filter(|_| id != "new").map(|(n, _)| super::at::effect(&id, n));
    let done = site.act(move |notebook| {
        let mut instrument = instrument;
        if id == "new" {
            instrument.id = free_id(notebook, "instrument", &instrument.name);
        } else if let Some(old) = notebook.instrument(&id) {
            unchanged(old, &sent)?;
        }
        Ok(Deed { records: vec![Record::Instrument(instrument)], why: sent.text("why"), then: () })
    });
    Ok(kept(next.as_deref().unwrap_or("/instruments"), done.await?.stroke))
}
