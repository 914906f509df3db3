//! Words of headers: which quantity, and whether a maker states it or somebody found it.
use super::{Meaning, condition_in};
use crate::claims;

/// Words a header must all hold, and the result they speak of; the first line that fits counts. Trade words.
const QUANTITIES: &[(&[&str], &str)] = &[
    (&["12 v", "energy"], "dc-energy"),
    (&["usable"], "usable-energy"),
    (&["delivered"], "usable-energy"),
    (&["round trip"], "round-trip"),
    (&["efficiency"], "round-trip"),
    (&["wall"], "wall-energy"),
    (&["idle"], "idle-draw"),
    (&["standby"], "idle-draw"),
    (&["surge"], "starting-power"),
    (&["peak"], "starting-power"),
    (&["starting"], "starting-power"),
    (&["switchover"], "switchover"),
    (&["ups"], "switchover"),
    (&["solar"], "solar-input"),
    (&["80 %"], "time-to-80"),
    (&["80%"], "time-to-80"),
    (&["charge"], "time-to-full"),
    (&["charging"], "time-to-full"),
    (&["recharge"], "time-to-full"),
    (&["fridge"], "cycling-runtime"),
    (&["noise"], "noise"),
    (&["db"], "noise"),
    (&["weight"], "mass"),
    (&["mass"], "mass"),
    (&["kg"], "mass"),
    (&["cycles"], "cycles"),
    (&["thd"], "thd"),
    (&["distortion"], "thd"),
    (&["frequency"], "frequency"),
    (&["continuous"], "sustained-output"),
    (&["output"], "sustained-output"),
    (&["rated"], "sustained-output"),
    (&["capacity"], "stored-energy"),
    (&["stored"], "stored-energy"),
    (&["energy"], "usable-energy"),
    (&["wh"], "usable-energy"),
];

const STATED: &[&str] =
    &["claim", "stated", "rated", "spec", "advertised", "maker", "nominal", "box", "label"];
const FOUND: &[&str] = &["measured", "tested", "actual", "real", "found", "usable", "our", "mine"];

/// What each cell of a header says its column holds.
pub(super) fn meanings(header: &[String]) -> Vec<Meaning> {
    header.iter().map(|cell| meaning(cell)).collect()
}

fn meaning(cell: &str) -> Meaning {
    let text = cell.to_lowercase();
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric() && c != '%').filter(|w| !w.is_empty()).collect();
    // A long word may stand inside another ("claimed"), a short one must stand alone ("db", "wh").
    let has = |w: &str| if w.len() > 4 || w.contains(' ') { text.contains(w) } else { words.contains(&w) };
    let any =
        |list: &[&str]| list.iter().any(|w| has(w) || words.iter().any(|x| x.starts_with(w) && w.len() > 3));
    // A cell of data, not of a header.
    if words.is_empty() || cell.len() > 60 || text.starts_with(|c: char| c.is_ascii_digit()) {
        return Meaning::Skip;
    }
    if any(&["price", "cost", "paid"]) {
        return Meaning::Price;
    }
    if any(&["currency"]) {
        return Meaning::Currency;
    }
    if any(&["date", "seen"]) || text == "day" || text == "as of" {
        return Meaning::PriceDate;
    }
    if any(&["note", "notes", "remark", "comment"]) {
        return Meaning::Note;
    }
    if any(&["chemistry", "cells"]) || has("cell") {
        return Meaning::Chemistry;
    }
    if has("voltage") || has("mains") {
        return Meaning::Mains;
    }
    let quantity = QUANTITIES.iter().find(|(all, _)| all.iter().all(|w| has(w)));
    if let Some(spec) = quantity.and_then(|(_, key)| claims::spec_of(key)) {
        // Only stated figures have no kind of test.
        let only_stated = matches!(spec.key, "stored-energy" | "cycles");
        let stated = (any(STATED) || only_stated) && !any(FOUND);
        if only_stated && any(FOUND) && spec.key == "stored-energy" {
            // "Measured capacity" is what came out.
            let usable = claims::spec_of("usable-energy").unwrap_or(spec);
            return Meaning::Earlier(usable, condition_in(cell, usable));
        }
        let condition = condition_in(cell, spec);
        return if stated { Meaning::Claim(spec, condition) } else { Meaning::Earlier(spec, condition) };
    }
    if any(&["model", "station", "name", "product", "unit", "maker", "brand", "device"]) {
        return Meaning::Name;
    }
    Meaning::Skip
}
