//! Everything measured, a line each, with the way to where it comes from.
use super::anchor;
use super::context::{Context, Shown};
use super::put;
use crate::piece::{Lane, escape};
use trueplate_core::kind::{Column, Found};
use trueplate_core::notebook::Test;
use trueplate_core::shown::{self, Shown as Written};

/// The table of results.
pub fn section(context: &Context, model: &Shown) -> String {
    let rows = &model.rows;
    let mut out = String::from("<section id=\"results\"><h2>Everything measured</h2>");
    let failed = context.not_held(model);
    if rows.is_empty() && failed.is_empty() {
        out.push_str("<p class=\"none\">No test has given a result yet.</p></section>\n");
        return out;
    }
    out.push_str(
        "<table class=\"results\"><thead><tr><th scope=\"col\">result</th><th scope=\"col\" class=\"r\">measured</th>\
         <th scope=\"col\" class=\"r\">tests</th><th scope=\"col\">among all</th></tr></thead><tbody>\n",
    );
    let written: Vec<Written> =
        rows.iter().map(|(r, _)| shown::shown(&r.value, r.result.shown_in(), context.style)).collect();
    let lane = Lane::of(&written);
    let one_version = rows.windows(2).all(|w| w[0].0.firmware == w[1].0.firmware);
    for ((row, at), number) in rows.iter().zip(&written) {
        let old = if row.superseded { " class=\"old\"" } else { "" };
        put!(out, "<tr id=\"{at}\"{old}><th scope=\"row\">{}", escape(row.result.title));
        let mut under = vec![context.condition(&row.condition)];
        if model.specimens.len() > 1 {
            under.push(escape(&model.specimen_name(&row.specimen)));
        }
        if !row.firmware.is_empty() && !one_version {
            let old = if row.superseded { ", superseded" } else { "" };
            under.push(format!("firmware {}{old}", escape(&row.firmware)));
        }
        under.retain(|u| !u.is_empty());
        put!(
            out,
            "<small>{}</small></th><td class=\"r\"><a class=\"to\" href=\"#trail-{at}\">{}</a></td>\
             <td class=\"r\">{}</td><td>{}</td></tr>\n",
            under.join(" · "),
            lane.cell(number),
            row.tests.len(),
            if row.superseded { String::new() } else { place(context, model, row) }
        );
    }
    for (test, found, how) in failed {
        not_held(&mut out, context, model, (test, found, how));
    }
    out.push_str("</tbody></table></section>\n");
    out
}

/// A try that did not hold: no result, but a fact.
fn not_held(out: &mut String, context: &Context, model: &Shown, what: (&Test, &Found, &str)) {
    let (test, found, how) = what;
    let at = model.test_at.get(test.id.as_str()).map_or("", |at| &**at);
    put!(
        out,
        "<tr><th scope=\"row\">{}<small>{}</small></th><td class=\"r\"><a class=\"to\" href=\"#{at}\">not held at {}</a>\
         <small>{}</small></td><td class=\"r\">1</td><td></td></tr>\n",
        escape(found.result.title),
        context.condition(&found.condition),
        context.number(&found.value, found.result.shown_in()),
        escape(how)
    );
}

/// Among so many stations a page says where its own stands and names those it cannot be told from. Beyond that the list
/// would be longer than the page, and every reading of every other station would change it: it leads to the comparison.
pub const NAMED: usize = 50;

/// "2nd to 4th of 9": its rank with the doubt about it.
fn place(context: &Context, model: &Shown, row: &trueplate_core::repeat::ResultRow) -> String {
    let is_it = |c: &&Column| c.result.key == row.result.key && c.condition == row.condition;
    let places = &model.report.ranks;
    let found = places.iter().find(|(i, _)| context.report.columns.get(*i).as_ref().is_some_and(is_it));
    let Some((_, place)) = found else { return String::new() };
    let of = place.of;
    if of < 2 {
        return String::new();
    }
    if of > NAMED {
        let kind = context.kind_of(row.result.key).map_or(String::new(), |k| anchor::slug(k.id));
        return format!("<a href=\"../all.html#{kind}\">side by side</a>");
    }
    let rank = match place.low == place.high {
        true => format!("{} of {of}", ordinal(place.low)),
        false => format!("{} to {} of {of}", ordinal(place.low), ordinal(place.high)),
    };
    let ties: Vec<String> =
        context.report.tied(place).map(|m| format!("<bdi>{}</bdi>", escape(&m.name))).collect();
    match ties.is_empty() {
        true => rank,
        false => format!("{rank}<small>cannot be told from {}</small>", ties.join(", ")),
    }
}

/// 1st, 2nd, 3rd, 4th, 11th, 21st.
pub fn ordinal(n: usize) -> String {
    let end = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{end}")
}

#[cfg(test)]
mod tests {
    #[test]
    fn ordinals() {
        let all: Vec<_> = [1, 2, 3, 4, 11, 12, 13, 21, 102, 111].into_iter().map(super::ordinal).collect();
        assert_eq!(all.join(" "), "1st 2nd 3rd 4th 11th 12th 13th 21st 102nd 111th");
    }
}
