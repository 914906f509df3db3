//! What the makers state, in their words, with the conditions they name and no others.
use crate::calendar::{instant, on_day, written};
use crate::day::START_DAYS;
use crate::truth::Truth;
use trueplate_core::notebook::{Bound, Claim, Condition};

/// Every claim of a model.
pub(super) fn claims(t: &Truth) -> Vec<Claim> {
    let (side, manual, web) = ("box, side panel", "manual, table of data", "product page");
    let mut all = vec![
        claim("stored", "stored-energy", &format!("{} Wh", t.claim_wh), &format!("{} Wh", t.claim_wh), side),
        claim(
            "continuous",
            "sustained-output",
            &format!("{} W", t.rated_w),
            &format!("{} W continuous", t.rated_w),
            side,
        ),
        claim(
            "surge",
            "starting-power",
            &format!("{} W", t.surge_claim_w),
            &format!("{} W surge", t.surge_claim_w),
            side,
        ),
        Claim {
            condition: Condition::from([("with".into(), "alone".into())]),
            ..claim("mass", "mass", &format!("{} kg", t.mass_kg.0), &format!("{} kg", t.mass_kg.0), manual)
        },
        charge(t, web),
    ];
    all.extend(switchover(t, web));
    let solar = t.solar.0.split(" W").next().unwrap_or_default();
    all.push(claim(
        "solar",
        "solar-input",
        &format!("{solar} W"),
        &format!("solar input {}", t.solar.0),
        manual,
    ));
    let (usb, amps) = ports(&t.id);
    let port = |name: &str| Condition::from([("port".into(), name.into())]);
    all.push(Claim {
        condition: port("USB-C"),
        ..claim("usb-c", "port-power", &format!("{usb} W"), &format!("USB-C {usb} W"), side)
    });
    all.push(Claim {
        condition: port("12 V"),
        ..claim("12v", "port-current", &format!("{amps} A"), &format!("12 V, {amps} A"), side)
    });
    let (number, words) = match t.id.as_str() {
        "U01" => ("800", "800 cycles to 80 %"),
        "U03" => ("500", "500 cycles"),
        _ => ("3500", "3,500 cycles to 80 %"),
    };
    all.push(claim("cycles", "cycles", number, words, web));
    all.extend(of_one(&t.id, web));
    let seen = day_before(&t.id);
    all.iter_mut().for_each(|c| c.seen.clone_from(&seen));
    all
}

fn claim(id: &str, key: &str, text: &str, words: &str, source: &str) -> Claim {
    Claim {
        id: id.into(),
        key: key.into(),
        text: text.into(),
        words: words.into(),
        source: source.into(),
        ..Claim::default()
    }
}

/// "80 % in 70 min" or "full 120 min". U05 says in which mode.
fn charge(t: &Truth, source: &str) -> Claim {
    let says = &t.charge_claim;
    let minutes = says.trim_end_matches(" min").rsplit(' ').next().unwrap_or_default();
    let (key, words) = match says.starts_with("80 %") {
        true => ("time-to-80", format!("0 to 80 % in {minutes} min")),
        false => ("time-to-full", format!("full in {minutes} min")),
    };
    let mut out = claim("charge", key, &format!("{minutes} min"), &words, source);
    if t.id == "U05" {
        out.condition.insert("mode".into(), "fast".into());
        out.words.push_str(" with fast charging");
    }
    out
}

fn switchover(t: &Truth, source: &str) -> Option<Claim> {
    match t.switchover_claim.as_str() {
        "-" | "" => None,
        words if words.starts_with('<') => {
            let text = words.trim_start_matches('<').trim();
            Some(claim("switchover", "switchover", text, &format!("switches over in {words}"), source))
        }
        // A word without a figure.
        _ => Some(Claim {
            bound: Bound::Unclear,
            ..claim("switchover", "switchover", "EPS", "with EPS function", source)
        }),
    }
}

/// USB-C in W and the 12 V port in A, as stated.
fn ports(id: &str) -> (u32, u32) {
    let usb = match id {
        "U01" | "U03" => 60,
        "U07" | "U10" | "U11" | "U14" => 140,
        _ => 100,
    };
    let amps = match id {
        "U01" => 8,
        "U09" => 25,
        "U10" | "U11" | "U13" | "U14" => 30,
        _ => 10,
    };
    (usb, amps)
}

/// Claims that only one maker makes.
fn of_one(id: &str, source: &str) -> Vec<Claim> {
    let noise = |text: &str| Claim {
        condition: Condition::from([("load".into(), "50 %".into())]),
        ..claim("noise", "noise", text, &format!("no louder than {text} at half load"), source)
    };
    match id {
        "U08" => vec![Claim {
            bound: Bound::Unclear,
            ..claim("boost", "sustained-output", "2200 W", "2,200 W boost", source)
        }],
        "U09" => vec![noise("35 dB(A)")],
        "U11" => vec![noise("30 dB(A)")],
        _ => Vec::new(),
    }
}

/// The day before the station came to the bench.
fn day_before(id: &str) -> String {
    let first = START_DAYS.iter().find(|(u, _)| *u == id).map_or("2025-11-08", |(_, day)| *day);
    let noon = on_day(instant(first, 12, 0), -1, 12, 0);
    written(noon).split('T').next().unwrap_or_default().into()
}
