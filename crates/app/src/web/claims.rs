//! A maker's claim: the form, and what its figure is understood as while it is typed.
use super::Site;
use super::at;
use super::fault::Fault;
use super::form::{Reader, Sent, Troubles, stand, unchanged};
use super::models::missing;
use super::page::{Answer, Ask, Top, html, kept, refused, style};
use crate::desk::Deed;
use askama::Template;
use axum::Json;
use axum::extract::{Path, State};
use axum::response::IntoResponse;
use serde_json::json;
use trueplate_core::claims::{claimable, spec_of};
use trueplate_core::judge::is_minimum;
use trueplate_core::kind::{Axis, Spec};
use trueplate_core::notebook::{Bound, Claim, Condition, Model, Settings};
use trueplate_core::number;
use trueplate_core::reading::marks_of;
use trueplate_core::record::Record;
use trueplate_core::shown::{four_digits, minus};

#[derive(Template)]
#[template(path = "claim.html")]
struct Page {
    top: Top,
    model: String,
    name: String,
    id: String,
    claim: Claim,
    about: Vec<Option_>,
    bounds: Vec<Option_>,
    axes: Vec<AxisField>,
    understood: String,
    stand: String,
    troubles: Troubles,
}

/// One choice of a list.
pub struct Option_ {
    /// Sent.
    pub key: String,
    /// Shown.
    pub label: String,
    /// Chosen now.
    pub on: bool,
}

struct AxisField {
    key: &'static str,
    label: &'static str,
    /// Keys of the results it belongs to, separated by spaces.
    of: String,
    values: Vec<Option_>,
}

const BOUNDS: [(Bound, &str, &str); 4] = [
    (Bound::AsUsual, "as-usual", "as the trade reads it: more is better, at least; less is better, at most"),
    (Bound::Minimum, "minimum", "at least"),
    (Bound::Maximum, "maximum", "at most"),
    (Bound::Unclear, "unclear", "it does not say enough to be judged"),
];

/// Axes under which a kind gives results.
fn axes(kinds: &[&'static Spec]) -> Vec<(&'static Axis, Vec<&'static str>)> {
    let mut all: Vec<(&'static Axis, Vec<&'static str>)> = Vec::new();
    for kind in kinds {
        for axis in kind.axes {
            let keys = kind.results.iter().map(|r| r.key);
            match all.iter_mut().find(|(a, _)| a.key == axis.key) {
                Some((_, known)) => known.extend(keys),
                None => all.push((axis, keys.collect())),
            }
        }
    }
    all
}

fn page(ask: &Ask, model: &Model, id: &str, claim: Claim, troubles: Vec<(String, String)>) -> Page {
    let choice = |key: &str, label: &str, on: bool| Option_ { key: key.into(), label: label.into(), on };
    let axis = |(axis, keys): (&'static Axis, Vec<&'static str>)| {
        let now = claim.condition.get(axis.key).map_or("", String::as_str);
        let values = std::iter::once(("", "not said")).chain(axis.values.iter().map(|v| (*v, *v)));
        AxisField {
            key: axis.key,
            label: axis.label,
            of: keys.join(" "),
            values: values.map(|(v, label)| choice(v, &minus(label), v == now)).collect(),
        }
    };
    let (understood, _) = understand_text(&claim.key, &claim.text, &ask.notebook().settings);
    Page {
        top: ask.top(),
        model: model.id.clone(),
        name: model.name.clone(),
        id: id.into(),
        about: claimable().iter().map(|r| choice(r.key, r.title, r.key == claim.key)).collect(),
        bounds: BOUNDS.iter().map(|(b, k, label)| choice(k, label, *b == claim.bound)).collect(),
        axes: axes(&ask.report.kinds).into_iter().map(axis).collect(),
        understood,
        stand: stand(model),
        claim,
        troubles: Troubles(troubles),
    }
}

/// The form of a claim; `new` for an empty one.
pub async fn edit(ask: Ask, Path((model, id)): Path<(String, String)>) -> Answer {
    let model = ask.notebook().model(&model).ok_or_else(|| missing(&model))?;
    let claim = match id.as_str() {
        "new" => Claim { seen: crate::desk::today(ask.notebook()), ..Claim::default() },
        id => model.claims.iter().find(|c| c.id == id).cloned().ok_or_else(|| no_claim(id))?,
    };
    Ok(html(&page(&ask, model, &id, claim, Vec::new())))
}

fn no_claim(id: &str) -> Fault {
    Fault::Missing(format!("This station has no claim `{id}`."))
}

/// A figure as understood, and whether it can be judged.
fn understand_text(key: &str, text: &str, settings: &Settings) -> (String, bool) {
    let Some(result) = spec_of(key) else { return ("Choose what it speaks of".into(), false) };
    if text.is_empty() {
        return (String::new(), false);
    }
    match number::quantity(text, result.dim, result.shown_in(), marks_of(settings)) {
        // A bare number could be watts or watt-hours: a maker's figure is kept only with its unit.
        Ok(t) if t.unit_assumed && !result.unit.is_empty() => {
            (format!("`{text}` has no unit; write it as `{text} {}`", result.unit), false)
        }
        Ok(t) => {
            let unit = result.shown_in();
            let most = if is_minimum(result, Bound::AsUsual) { "at least" } else { "at most" };
            let x = four_digits(unit.shown(t.kept), style(settings));
            (format!("{}: {most} {x} {}", result.title, unit.symbol).trim_end().into(), true)
        }
        Err(t) => (format!("{}; {}", t.text, t.hint), false),
    }
}

/// The same while it is typed.
pub async fn understand(ask: Ask) -> Answer {
    let (words, ok) = understand_text(ask.query.get("key"), ask.query.get("text"), &ask.notebook().settings);
    Ok(Json(json!({"ok": ok, "words": words})).into_response())
}

fn read(
    sent: &Sent,
    settings: &Settings,
    kinds: &[&'static Spec],
    id: &str,
) -> (Claim, Vec<(String, String)>) {
    let mut r = Reader::new(sent, settings);
    let key = sent.text("key");
    let bound = BOUNDS.iter().find(|(_, k, _)| *k == sent.get("bound")).map(|(b, _, _)| *b);
    let mut claim = Claim {
        id: id.into(),
        text: r.needed("text", "Write the figure with its unit, as the maker does"),
        bound: bound.unwrap_or_default(),
        condition: Condition::new(),
        words: sent.text("words"),
        source: sent.text("source"),
        seen: r.day("seen"),
        key,
    };
    if spec_of(&claim.key).is_none() {
        r.trouble("key", "Choose what the claim speaks of");
    } else if !claim.text.is_empty() && claim.bound != Bound::Unclear {
        let (words, ok) = understand_text(&claim.key, &claim.text, settings);
        if !ok {
            r.trouble("text", &words);
        }
    }
    for (axis, keys) in axes(kinds) {
        let value = sent.get(&format!("axis-{}", axis.key));
        if keys.contains(&claim.key.as_str()) && axis.values.contains(&value) {
            claim.condition.insert(axis.key.into(), value.into());
        }
    }
    (claim, r.troubles)
}

/// Keeps a claim, or takes it out.
pub async fn save(
    ask: Ask,
    State(site): State<Site>,
    Path((model, id)): Path<(String, String)>,
    sent: Sent,
) -> Answer {
    let known = ask.notebook().model(&model).ok_or_else(|| missing(&model))?;
    let (claim, troubles) = read(&sent, &ask.notebook().settings, &ask.report.kinds, &id);
    let delete = sent.ticked("delete");
    if !troubles.is_empty() && !delete {
        return Ok(refused(&page(&ask, known, &id, claim, troubles)));
    }
    let back = format!("{}#claims", at::model(&model));
    let done = site.act(move |notebook| {
        let mut model = notebook.model(&model).ok_or_else(|| missing(&model))?.clone();
        unchanged(&model, &sent)?;
        if id == "new" {
            let id = free_claim(&model, &claim.key);
            model.claims.push(Claim { id, ..claim });
        } else if delete {
            model.claims.retain(|c| c.id != id);
        } else {
            let old = model.claims.iter_mut().find(|c| c.id == id).ok_or_else(|| no_claim(&id))?;
            *old = claim;
        }
        Ok(Deed { records: vec![Record::Model(model)], why: sent.text("why"), then: () })
    });
    Ok(kept(&back, done.await?.stroke))
}

fn free_claim(model: &Model, key: &str) -> String {
    let taken = |id: &str| model.claims.iter().any(|c| c.id == id);
    if !taken(key) {
        return key.into();
    }
    (2..).map(|n| format!("{key}-{n}")).find(|id| !taken(id)).unwrap_or_default()
}
