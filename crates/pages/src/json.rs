//! The report as data for programs. Its keys are a promise: they are added to, never renamed.
mod facts;

pub use facts::{Stretch, fact, facts, join, lines};
use serde_json::{Map, Value as Json, json};
use trueplate_core::claims::ClaimRow;
use trueplate_core::drain::Drain;
use trueplate_core::finding::Finding;
use trueplate_core::law::Idle;
use trueplate_core::quantity::Unit;
use trueplate_core::repeat::ResultRow;
use trueplate_core::report::{ModelReport, Report};
use trueplate_core::uncertain::Value;

/// The whole report: `models` and `bench`.
pub fn report(report: &Report) -> Json {
    let models: Vec<Json> = report.models.iter().map(|m| model(report, m)).collect();
    json!({ "models": models, "bench": bench(report) })
}

fn bench(report: &Report) -> Json {
    let settings = &report.notebook.settings;
    let instruments: Vec<Json> = report
        .notebook
        .instruments
        .iter()
        .map(
            |i| json!({ "id": i.id, "name": i.name, "about": i.about, "calibrations": i.calibrations.len() }),
        )
        .collect();
    json!({
        "decision_rule": {
            "met_from": settings.met_from,
            "probably_from": settings.probably_from,
            "text": "met when kept with at least met_from, probably met with at least probably_from, mirrored for \
                     not met; between them cannot tell; trials are counted, not averaged",
        },
        "as_of": report.as_of,
        "instruments": instruments,
        "repeatability": { "s": report.scatter.s, "dof": report.scatter.dof },
    })
}

fn model(report: &Report, model: &ModelReport) -> Json {
    let specimens = report.notebook.specimens.iter().filter(|s| s.model == model.id);
    let specimens: Vec<Json> = specimens
        .map(|s| json!({ "id": s.id, "firmware": s.firmware_now(), "came": s.came, "label": s.label }))
        .collect();
    json!({
        "id": model.id,
        "name": model.name,
        "specimens": specimens,
        "results": model.rows.iter().map(result).collect::<Vec<_>>(),
        "verdicts": model.claims.iter().map(verdict).collect::<Vec<_>>(),
        "law": law(model),
        "ranks": ranks(report, model),
        "price": price(model),
        "transport": model.carried().iter().map(|c| json!({ "how": c.how, "text": c.text, "source": c.source })).collect::<Vec<_>>(),
        "findings": model.findings.iter().map(|(test, f)| finding(f, Some(test))).collect::<Vec<_>>(),
        "gate": model.gate.iter().map(|f| finding(f, None)).collect::<Vec<_>>(),
    })
}

/// A value in a unit: `{value, u, unit}`, u null where no instrument is known.
pub fn value(value: &Value, unit: &'static Unit) -> Json {
    let u = value.has_u().then(|| unit.shown_step(value.u()));
    json!({ "value": unit.shown(value.x), "u": u, "unit": unit.ucum })
}

/// A finding with the test it was made in.
pub fn finding(finding: &Finding, test: Option<&str>) -> Json {
    let mut json = json!(finding);
    if let (Some(test), Some(map)) = (test, json.as_object_mut()) {
        map.insert("test".into(), json!(test));
    }
    json
}

fn result(row: &ResultRow) -> Json {
    json!({
        "key": row.result.key,
        "condition": row.condition,
        "specimen": row.specimen,
        "firmware": row.firmware,
        "value": value(&row.value, row.result.shown_in()),
        "n": row.tests.len(),
        "tests": row.tests,
        "superseded": row.superseded,
    })
}

fn verdict(row: &ClaimRow) -> Json {
    let unit = row.result.map(|r| r.shown_in());
    let claimed = unit.zip(row.limit).map(|(unit, limit)| value(&Value::exact(unit.dim, limit), unit));
    let measured = unit.zip(row.measured.as_ref()).map(|(unit, v)| value(v, unit));
    json!({
        "claim": row.claim.key,
        "id": row.claim.id,
        "condition": row.claim.condition,
        "measured_under": row.condition,
        "claimed": claimed,
        "stated": row.claim.text,
        "measured": measured,
        "p": row.p,
        "n": row.counted.as_ref().map(|c| c.n),
        "k": row.counted.as_ref().map(|c| c.k),
        "bound": row.counted.as_ref().map(|c| c.bound),
        "verdict": row.verdict.key(),
        "tests": row.tests,
        "why": row.why,
    })
}

/// The current law of the model's first specimen that has one, with whose it is; null without.
fn law(model: &ModelReport) -> Json {
    let current = model.drains.iter().filter(|d| !d.superseded && d.law.is_some());
    current.into_iter().next().map_or(Json::Null, one_law)
}

fn one_law(drain: &Drain) -> Json {
    let Some(law) = &drain.law else { return Json::Null };
    let idle = match law.idle() {
        Some(Idle::Draw(v)) => json!({ "value": v.value, "u": v.u, "unit": "W" }),
        _ => Json::Null,
    };
    let below = match law.idle() {
        Some(Idle::Below(w)) => json!(w),
        _ => Json::Null,
    };
    json!({
        "specimen": drain.specimen,
        "firmware": drain.firmware,
        "a": law.a,
        "b": law.b,
        "c": law.c,
        "covariance": law.covariance,
        "chi2": law.chi2,
        "dof": law.dof,
        "idle_w": idle,
        "idle_below_w": below,
        "best_load_w": law.best_load().map(|v| json!({ "value": v.value, "u": v.u, "unit": "W" })),
        "tests": drain.rows.iter().map(|r| &r.test).collect::<Vec<_>>(),
        "held_out": drain.held_out.iter().map(|h| json!({
            "test": h.test,
            "ran_h": h.ran_h,
            "foretold_h": h.foretold.as_ref().ok().map(|v| json!({ "value": v.x, "u": v.u(), "unit": "h" })),
        })).collect::<Vec<_>>(),
        "findings": drain.findings.iter().map(|f| finding(f, None)).collect::<Vec<_>>(),
    })
}

/// `{column: {low, high, ties, confidence}}`; a column is its result and condition: "usable-energy load=50 %".
fn ranks(report: &Report, model: &ModelReport) -> Json {
    let mut map = Map::new();
    for (index, place) in &model.ranks {
        let Some(column) = report.columns.get(*index) else { continue };
        let json = json!({
            "low": place.low,
            "high": place.high,
            "ties": report.tied(place).map(|m| m.id.as_str()).collect::<Vec<_>>(),
            "confidence": trueplate_core::rank::CONFIDENCE,
        });
        map.insert(column.name(), json);
    }
    Json::Object(map)
}

fn price(model: &ModelReport) -> Json {
    let row = &model.price;
    let Some(price) = &row.price else { return json!({ "why": row.why }) };
    json!({
        "amount": price.amount,
        "currency": price.currency,
        "on": price.on,
        "kind": price.kind,
        "with_tax": price.with_tax,
        "old": row.old,
        "per_usable_wh": row.per_wh.as_ref().map(|v| per(v, "/(W.h)", &price.currency)),
        "per_lifetime_kwh": row.lifetime.as_ref().map(|l| per(&l.per_kwh, "/(kW.h)", &price.currency)),
        "lifetime": row.lifetime.as_ref().map(|l| json!({
            "cycles": l.cycles, "left": l.left, "left_stated": l.stated, "tested": false, "energy": value(&l.energy, l.energy.dim.kept_in()),
        })),
    })
}

/// An amount of money per energy: UCUM has no currencies, so the unit is one over the energy and the currency stands beside it.
fn per(v: &Value, unit: &str, currency: &str) -> Json {
    json!({ "value": v.x, "u": v.has_u().then(|| v.u()), "unit": unit, "currency": currency })
}
