//! The first sentence of a model's page, and what stands directly under it: how it came, how many, when, what it costs.
use super::context::{Context, Shown};
use super::put;
use super::words;
use crate::piece::{self, escape};
use trueplate_core::claims::ClaimRow;
use trueplate_core::disclosure;
use trueplate_core::judge::Verdict;
use trueplate_core::notebook::Condition;
use trueplate_core::quantity::Unit;
use trueplate_core::repeat::{ResultRow, counts};

/// The answer in a sentence, then disclosure and facts.
pub fn section(context: &Context, model: &Shown) -> String {
    let mut out = format!("<p class=\"answer\">{}</p>\n", sentence(context, model));
    disclosures(&mut out, context, model);
    facts(&mut out, context, model);
    figures(&mut out, context, model);
    out
}

/// "Gives 911 ± 13 Wh at the outlet at half load. Of 6 claims judged one is not met: mass (13.2 kg)."
fn sentence(context: &Context, model: &Shown) -> String {
    let energy = match energy(model) {
        Some((row, at)) => {
            // Of the model: several samples taken together.
            let value = model.report.value(row.result.key, &row.condition);
            let number = context.number(value.as_ref().unwrap_or(&row.value), row.result.shown_in());
            let load = match row.condition.get("load").map(String::as_str) {
                Some("50 %") => "at half load".to_string(),
                Some(load) => format!("at a load of {}", escape(load)),
                None => String::new(),
            };
            format!("Gives <a class=\"to\" href=\"#{at}\">{number}</a> at the outlet {load}")
        }
        None => "How much comes out of its outlet is not measured yet".to_string(),
    };
    format!("{energy}.{}", judged(model))
}

/// The usable energy: at half load, else the first there is; none from outside the usual temperatures before others.
fn energy<'m>(model: &'m Shown) -> Option<(&'m ResultRow, &'m str)> {
    let rows = || model.rows.iter().filter(|(r, _)| r.result.key == "usable-energy" && !r.superseded);
    let half = Condition::from([("load".to_string(), "50 %".to_string())]);
    let found = rows().find(|(r, _)| r.condition == half);
    let usual = || rows().find(|(r, _)| !r.condition.contains_key("temperature"));
    found.or_else(usual).or_else(|| rows().next()).map(|(r, at)| (*r, &**at))
}

/// What became of the claims, those that are missed by name and figure.
fn judged(model: &Shown) -> String {
    let claims = &model.report.claims;
    let is = |wanted: Verdict| claims.iter().filter(move |c| c.verdict == wanted);
    let named = |c: &ClaimRow| {
        let title = c.result.map_or(c.claim.key.as_str(), |r| r.title);
        format!("{} ({})", escape(&lower(title)), escape(&c.claim.text))
    };
    let missed: Vec<String> = is(Verdict::NotMet).map(named).collect();
    let open = [Verdict::ProbablyMet, Verdict::ProbablyNotMet, Verdict::CannotTell];
    let open: usize = open.into_iter().map(|v| is(v).count()).sum();
    let (kept, all) = (is(Verdict::Met).count(), is(Verdict::Met).count() + open + missed.len());
    match (missed.len(), kept, all) {
        (_, _, 0) => String::new(),
        (0, 1, 1) => " The one claim that could be judged is met.".into(),
        (0, kept, all) if kept == all => format!(" All {all} claims that could be judged are met."),
        (0, 0, all) => {
            format!(" Of {} judged none is surely met or missed.", words::count(all, "claim", "claims"))
        }
        (0, 1, all) => format!(" Of {all} claims judged one is met, none is surely missed."),
        (0, kept, all) => format!(" Of {all} claims judged {kept} are met, none is surely missed."),
        (1, _, 1) => format!(" The one claim that could be judged is not met: {}.", missed[0]),
        (1, ..) => format!(" Of {all} claims judged one is not met: {}.", missed[0]),
        (n, ..) => format!(" Of {all} claims judged {n} are not met: {}.", listed(&missed)),
    }
}

/// "a", "a and b", "a, b and c".
fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// With a small first letter, unless it begins with a short form in capitals.
fn lower(text: &str) -> String {
    let mut chars = text.chars();
    match (chars.next(), text.chars().nth(1)) {
        (Some(first), Some(second)) if !second.is_uppercase() => {
            first.to_lowercase().collect::<String>() + chars.as_str()
        }
        _ => text.to_string(),
    }
}

fn disclosures(out: &mut String, context: &Context, model: &Shown) {
    for (i, specimen) in model.specimens.iter().enumerate() {
        let name = match model.specimens.len() {
            1 => String::new(),
            _ => format!("{}: ", escape(&words::capital(&words::specimen(specimen, i)))),
        };
        let mut text = disclosure::of_specimen(specimen);
        if i + 1 == model.specimens.len() {
            text.push_str(&disclosure::asked(context.notebook, &model.report.id));
        }
        put!(out, "<p class=\"facts disclosure\">{name}<b><bdi>{}</bdi></b></p>\n", escape(&text));
    }
}

fn facts(out: &mut String, context: &Context, model: &Shown) {
    let counted: Vec<_> = model.tests.iter().filter(|t| counts(t)).collect();
    let days: Vec<&str> = counted.iter().map(|t| t.day.as_str()).collect();
    let mut parts = vec![words::capital(&words::count(model.specimens.len(), "sample", "samples"))];
    let mut versions: Vec<&str> =
        model.specimens.iter().map(|s| s.firmware_now()).filter(|f| !f.is_empty()).collect();
    versions.dedup();
    parts.push(match versions.as_slice() {
        [] => ", firmware not noted.".into(),
        all => format!(", firmware {}.", escape(&all.join(" and "))),
    });
    let span = words::span(&days);
    let when = if span.is_empty() { String::new() } else { format!(", {span}") };
    parts.push(format!(" {}{when}. ", words::capital(&words::count(counted.len(), "test", "tests"))));
    parts.push(price(context, model));
    put!(out, "<p class=\"facts\">{}</p>\n", parts.concat());
}

/// "Price seen 6 May 2026: 699 USD, 0.77 USD per usable Wh."
fn price(context: &Context, model: &Shown) -> String {
    let row = &model.report.price;
    let Some(price) = &row.price else { return format!("Price: {}.", escape(&row.why)) };
    let per = row.per_wh.as_ref().map_or(String::new(), |v| {
        let unit = Unit::of("", v.dim).unwrap_or(v.dim.kept_in());
        let number = context.number(v, unit);
        format!(
            ", <a class=\"to\" href=\"#trail-price\">{number} {} per usable Wh</a>",
            escape(&price.currency)
        )
    });
    let amount = escape(&words::amount(price, context.style));
    let tax = if price.with_tax { " with tax" } else { "" };
    let text = format!("Price seen {}: {amount}{tax}{per}", escape(&words::day(&price.on)));
    if row.old { format!("<span class=\"old\">{text} (old).</span>") } else { format!("{text}.") }
}

/// The figures of the first table, large.
fn figures(out: &mut String, context: &Context, model: &Shown) {
    let valued = context.main.iter().filter_map(|c| Some((c, model.report.at(c)?)));
    let valued: Vec<_> = valued.take(4).collect();
    if valued.is_empty() {
        return;
    }
    out.push_str("<dl class=\"figures\">");
    for (column, value) in valued {
        let number = piece::number(&value, column.result.shown_in(), context.style);
        let number = match model.place_of(column.result.key, &column.condition) {
            Some(at) => format!("<a class=\"to\" href=\"#{at}\">{number}</a>"),
            None => number,
        };
        put!(out, "<div><dt>{}</dt><dd>{number}</dd></div>", escape(&context.title(column)));
    }
    out.push_str("</dl>\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_and_small_letters() {
        let names: Vec<String> = ["mass", "noise", "cycles"].map(String::from).to_vec();
        assert_eq!(listed(&names), "mass, noise and cycles");
        assert_eq!(listed(&names[..1]), "mass");
        assert_eq!(lower("Switches over"), "switches over");
        assert_eq!(lower("AC output"), "AC output");
    }
}
