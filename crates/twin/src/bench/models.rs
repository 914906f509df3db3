//! The fourteen models as sold: claims, prices and what was found of their outlets.
use super::claims::claims;
use crate::behaviour::{Behaviour, Sustained};
use crate::truth::{Price as Seen, Truth, truths};
use trueplate_core::notebook::{Model, Price, SwitchOff};

/// All models.
pub(super) fn models() -> Vec<Model> {
    truths().iter().map(model).collect()
}

fn model(t: &Truth) -> Model {
    let (mains_v, mains_hz) = if t.id == "U12" { (230.0, 50.0) } else { (120.0, 60.0) };
    let behaviour = Behaviour::of(t);
    let per_outlet_w = match behaviour.sustained {
        Sustained::PerLeg { leg_w } => leg_w,
        _ => 0.0,
    };
    Model {
        id: t.id.clone(),
        name: t.name.clone(),
        chemistry: t.chemistry.clone(),
        mains_v,
        mains_hz,
        claims: claims(t),
        prices: t.price.iter().map(price).collect(),
        switch_off: switch_off(&behaviour),
        per_outlet_w,
        note: note(&t.id).into(),
        earlier: Vec::new(),
    }
}

fn switch_off(behaviour: &Behaviour) -> SwitchOff {
    behaviour.low_load.map_or_else(SwitchOff::default, |e| SwitchOff {
        below_w: e.below_w,
        after_h: e.after_min / 60.0,
        on_by_default: e.on_by_default,
        can_be_disabled: e.can_disable,
    })
}

fn price(seen: &Seen) -> Price {
    let kind = match seen.3.as_str() {
        "flash sale" => "flash sale",
        "sale" => "sale",
        _ => "list",
    };
    Price {
        amount: seen.1,
        currency: seen.0.clone(),
        on: seen.2.clone().unwrap_or_default(),
        kind: kind.into(),
        with_tax: seen.3.contains("VAT"),
        bundle: String::new(),
        seller: if kind == "list" { "the maker's own shop" } else { "a web shop" }.into(),
    }
}

fn note(id: &str) -> &'static str {
    match id {
        "U01" => "USB ports switch off after 2 h below 2 W.",
        "U03" => "Shows 110 V on its own display; the wave has steps.",
        "U12" => "The 230 V, 50 Hz version.",
        "U13" => "Two legs of 120 V; takes an expansion pack, stated as 3,450 Wh.",
        "U14" => "Two legs of 120 V.",
        _ => "",
    }
}
