//! What once held of a model and must no longer be said.
use super::gather::{USUAL_LOADS_W, With, fact, price_fact, prices, runtime_by};
use super::words::slug;
use super::{Fact, Sort};
use crate::examine;
use crate::kinds;
use crate::notebook::{Change, Price};
use crate::recording::Recordings;
use crate::report::{ModelReport, Report, titled};

/// What once held for one model.
pub fn former(report: &Report, model: &ModelReport, with: With) -> Vec<Fact> {
    let mut all = Vec::new();
    for row in model.rows.iter().filter(|r| r.superseded) {
        let mut f =
            fact(report, model, row.result.key, Sort::Measured, row.value.clone()).under(&row.condition);
        f.title = titled(row.result, &row.condition);
        f.trail = row.tests.clone();
        f.id.push_str(&format!("/firmware-{}", slug(&row.firmware)));
        f.former = format!("measured on firmware {}, since replaced", row.firmware);
        all.push(f.in_unit(row.result.shown_in(), with));
    }
    for law in model.drains.iter().filter(|d| d.superseded) {
        for mut f in USUAL_LOADS_W.iter().filter_map(|w| runtime_by(report, model, law, *w, with)) {
            f.former = format!("from firmware {}, since replaced", law.firmware);
            all.push(f);
        }
    }
    if let Some(noted) = report.notebook.model(&model.id) {
        let now: Vec<String> = prices(report, model).into_iter().map(|f| f.id).collect();
        for price in &noted.prices {
            let mut f = price_fact(report, model, price);
            if price.on.is_empty() {
                f.former = "noted without a date".into();
            } else if price.kind != "list" {
                f.former = format!("the {} price of {}, not the list price", price.kind, price.on);
            } else {
                f.former = format!("the {} price of {}", price.kind, price.on);
            }
            if !now.contains(&f.id) {
                all.push(f);
            }
        }
    }
    all.extend(report.notebook.changes.iter().flat_map(|c| corrected(report, model, c, with)));
    all.into_iter().map(Fact::sealed).collect()
}

/// The results a test gave before one of its entries was corrected; the figure of a claim or price before.
fn corrected(report: &Report, model: &ModelReport, change: &Change, with: With) -> Vec<Fact> {
    let notebook = &report.notebook;
    let day = change.at.get(..10).unwrap_or(&change.at);
    let why = format!("corrected on {day}");
    if change.record == "model" && change.id == model.id && change.field.starts_with("/prices/") {
        let at = change.field.strip_prefix("/prices/").and_then(|f| f.strip_suffix("/amount"));
        let amount = change.old.parse::<f64>().ok();
        // A price that was taken out since has nobody to carry the old amount.
        let price = at
            .and_then(|at| at.parse::<usize>().ok())
            .and_then(|at| notebook.model(&model.id)?.prices.get(at));
        return amount
            .zip(price)
            .map(|(amount, p)| {
                let old = Price { amount, ..p.clone() };
                Fact { former: why, ..price_fact(report, model, &old) }
            })
            .into_iter()
            .collect();
    }
    let entry = change.field.strip_prefix("/entries/").and_then(|f| f.strip_suffix("/text"));
    let test = notebook.test(&change.id).filter(|_| change.record == "test");
    let (Some(entry), Some(test), Some(text)) = (entry, test, json_text(&change.old)) else {
        return Vec::new();
    };
    let (Some(kind), true) =
        (kinds::find(&test.kind), notebook.model_of(&test.specimen).is_some_and(|m| m.id == model.id))
    else {
        return Vec::new();
    };
    let mut before = test.clone();
    let Some(slot) = before.entries.get_mut(entry) else { return Vec::new() };
    slot.text = text;
    let none = Recordings::new();
    let read = report.outcomes.get(&test.id).map_or(&none, |o| &o.recordings);
    let outcome = examine::run_with(kind, &before, notebook, read);
    let of = |found: crate::kind::Found| {
        let mut f =
            fact(report, model, found.result.key, Sort::Measured, found.value).under(&found.condition);
        f.title = titled(found.result, &found.condition);
        f.trail = vec![test.id.clone()];
        f.id.push_str(&format!("/before-{}", slug(day)));
        f.former = why.clone();
        f.in_unit(found.result.shown_in(), with)
    };
    let now = |f: &Fact| model.value(&f.key, &f.condition).is_some_and(|v| (v.x - f.value.x).abs() < 1e-9);
    outcome.results.into_iter().map(of).filter(|f| !now(f)).collect()
}

/// The text of a JSON string (RFC 8259 section 7, without \u escapes); `None` for anything else.
fn json_text(json: &str) -> Option<String> {
    let inner = json.trim().strip_prefix('"')?.strip_suffix('"')?;
    let mut out = String::new();
    let mut chars = inner.chars();
    while let Some(c) = chars.next() {
        match c {
            '\\' => match chars.next()? {
                'n' => out.push('\n'),
                't' => out.push('\t'),
                c @ ('"' | '\\' | '/') => out.push(c),
                _ => return None,
            },
            c => out.push(c),
        }
    }
    Some(out)
}
