//! What the maker states beside what was measured: figure, interval mark, word, and the reason where one is needed.
use super::context::{Context, Shown};
use super::put;
use super::words;
use crate::piece::{self, Lane, Mark, escape, unbroken};
use trueplate_core::claims::ClaimRow;
use trueplate_core::judge::{Counted, Verdict};
use trueplate_core::notebook::Bound;
use trueplate_core::report::Report;
use trueplate_core::shown::{self, Shown as Written};

/// The table of claims; a sentence where the maker states nothing.
pub fn section(context: &Context, model: &Shown) -> String {
    let claims = &model.report.claims;
    let mut out = String::from(
        "<section id=\"claims\"><h2>What the maker says, and what I found \
         <small>the tick is the claim, the bar holds what I measured with 95 %</small></h2>",
    );
    if claims.is_empty() {
        out.push_str("<p class=\"none\">No claim of the maker is written down.</p></section>\n");
        return out;
    }
    out.push_str(
        "<table class=\"claims\"><thead><tr><th scope=\"col\">claim</th><th scope=\"col\" class=\"r\">stated</th>\
         <th scope=\"col\" class=\"r\">measured</th><th scope=\"col\"><span class=\"unseen\">interval</span></th>\
         <th scope=\"col\">verdict</th></tr></thead><tbody>\n",
    );
    let rows: Vec<Cells> = claims.iter().map(|c| Cells::of(context, c)).collect();
    let stated = Lane::of(rows.iter().filter_map(|r| r.stated.as_ref()));
    let measured = Lane::of(rows.iter().filter_map(|r| r.measured.as_ref()));
    let both = stated.with(&measured);
    for (claim, cells) in claims.iter().zip(&rows) {
        let lanes = (stated.within(&both), measured.within(&both));
        row(&mut out, context, model, claim, cells, lanes);
    }
    out.push_str("</tbody></table>");
    put!(
        out,
        "<p class=\"facts\">The unbroken side of each line keeps the claim. Each line has a scale of its own. \
         <a href=\"../about.html#rule\">The rule</a> stood before the measurements.</p></section>\n"
    );
    out
}

/// Numbers of one row, rounded.
struct Cells {
    stated: Option<Written>,
    measured: Option<Written>,
}

impl Cells {
    fn of(context: &Context, claim: &ClaimRow) -> Cells {
        let unit = claim.result.map(|r| r.shown_in());
        let stated = unit.zip(claim.limit).map(|(unit, limit)| Written {
            number: piece::plain(unit.shown(limit), context.style),
            pm: None,
            unit: unit.symbol,
        });
        let counted = claim.counted.is_some();
        let measured = unit.zip(claim.measured.as_ref()).filter(|_| !counted);
        Cells { stated, measured: measured.map(|(unit, v)| shown::shown(v, unit, context.style)) }
    }
}

fn row(
    out: &mut String,
    context: &Context,
    model: &Shown,
    claim: &ClaimRow,
    cells: &Cells,
    lanes: (Lane, Lane),
) {
    let title = claim.result.map_or(claim.claim.key.as_str(), |r| r.title);
    put!(out, "<tr><th scope=\"row\">{}", escape(title));
    under(out, context, claim);
    put!(out, "</th><td class=\"r stated\" data-label=\"stated\">{}</td>", stated(claim, cells, lanes.0));
    put!(
        out,
        "<td class=\"r measured\" data-label=\"measured\">{}</td>",
        measured(context, model, claim, cells, lanes.1)
    );
    put!(out, "<td class=\"draw\">{}</td>", drawing(context, claim));
    put!(
        out,
        "<td class=\"word\"><a class=\"to\" href=\"../about.html#rule\">{}</a>{}</td></tr>\n",
        piece::verdict(claim.verdict),
        reason(claim)
    );
}

/// Small print under the name of a claim: its condition, and the maker's own words.
fn under(out: &mut String, context: &Context, claim: &ClaimRow) {
    let claimed = context.condition(&claim.claim.condition);
    let measured = context.condition(&claim.condition);
    let condition = match (claimed.is_empty(), measured.is_empty()) {
        _ if claim.verdict == Verdict::ConditionsDiffer && !measured.is_empty() => {
            let claimed = if claimed.is_empty() { "no condition".to_string() } else { claimed };
            format!("stated for {claimed}; measured at {measured}")
        }
        (true, true) => String::new(),
        (true, false) => measured,
        (false, _) => claimed,
    };
    if !condition.is_empty() {
        put!(out, "<small>{condition}</small>");
    }
    if !claim.claim.words.is_empty() {
        put!(out, "<small>“<bdi>{}</bdi>”</small>", escape(&claim.claim.words));
    }
}

fn stated(claim: &ClaimRow, cells: &Cells, lane: Lane) -> String {
    let Some(written) = &cells.stated else {
        return format!("<span class=\"asis\"><bdi>{}</bdi></span>", escape(&claim.claim.text));
    };
    let sign = match claim.claim.bound {
        Bound::Minimum => "≥ ",
        Bound::Maximum => "≤ ",
        Bound::AsUsual | Bound::Unclear => "",
    };
    format!("<span>{sign}{}</span>", lane.cell(written))
}

fn measured(context: &Context, model: &Shown, claim: &ClaimRow, cells: &Cells, lane: Lane) -> String {
    if let Some(counted) = &claim.counted {
        return linked(model, claim, &trials(context, claim, counted));
    }
    match &cells.measured {
        Some(written) => linked(model, claim, &lane.cell(written)),
        None if claim.verdict == Verdict::NotTested => "<span class=\"none\">not tested here</span>".into(),
        None if claim.verdict == Verdict::Superseded => {
            "<span class=\"none\">on older firmware only</span>".into()
        }
        None if claim.tests.is_empty() => "<span class=\"none\">nothing to compare</span>".into(),
        None => linked(model, claim, "<span class=\"none\">see the tests</span>"),
    }
}

/// "7 of 20 over, worst 13.1 ms".
fn trials(context: &Context, claim: &ClaimRow, counted: &Counted) -> String {
    let side = if claim.minimum { "under" } else { "over" };
    let mut text = format!("<span class=\"num\"><b>{} of {}</b></span> {side}", counted.k, counted.n);
    if let (Some(worst), Some(result)) = (&counted.worst, claim.result) {
        let unit = result.shown_in();
        let worst = shown::shown(worst, unit, context.style).number;
        let unit = escape(unit.symbol);
        text.push_str(&format!(
            ", worst <span class=\"num\"><b>{worst}</b> <span class=\"u\">{unit}</span></span>"
        ));
    }
    text
}

/// The way from a measured figure to its trail: the result's row, else the first test behind it.
fn linked(model: &Shown, claim: &ClaimRow, text: &str) -> String {
    let key = claim.result.map_or("", |r| r.key);
    let row = model.place_of(key, &claim.condition).map(|at| format!("trail-{at}"));
    let test = || claim.tests.iter().find_map(|t| model.test_at.get(t.as_str())).map(ToString::to_string);
    match row.or_else(test) {
        Some(at) => format!("<a class=\"to\" href=\"#{at}\">{text}</a>"),
        None => text.to_string(),
    }
}

fn drawing(context: &Context, claim: &ClaimRow) -> String {
    let (Some(result), Some(limit)) = (claim.result, claim.limit) else { return String::new() };
    let worst = claim.counted.as_ref().and_then(|c| c.worst.as_ref());
    let Some(measured) = worst.or(claim.measured.as_ref()) else { return String::new() };
    if matches!(claim.verdict, Verdict::ClaimUnclear | Verdict::NotTested) {
        return String::new();
    }
    let trials = if claim.counted.is_some() { each_trial(context.report, claim) } else { Vec::new() };
    let mark = Mark {
        limit,
        minimum: claim.minimum,
        measured,
        trials: &trials,
        verdict: claim.verdict,
        unit: result.shown_in(),
        style: context.style,
    };
    mark.svg()
}

/// Every trial of the tests behind a claim.
pub(crate) fn each_trial(report: &Report, claim: &ClaimRow) -> Vec<f64> {
    let key = claim.result.map_or("", |r| r.key);
    let mut tests: Vec<&String> = claim.tests.iter().collect();
    tests.dedup();
    let outcomes = tests.into_iter().filter_map(|t| report.outcomes.get(t));
    let fits = |t: &&trueplate_core::kind::Trials| {
        let asked = claim.claim.condition.iter().all(|(axis, value)| t.condition.get(axis) == Some(value));
        t.result.key == key && asked
    };
    outcomes.flat_map(|o| o.trials.iter().filter(fits)).flat_map(|t| t.values.iter().map(|v| v.x)).collect()
}

/// How sure a verdict is, or why there is none: phrases in plain text.
pub(crate) fn grounds(claim: &ClaimRow) -> Vec<String> {
    let mut text = Vec::new();
    if let Some(counted) = &claim.counted {
        let bound = words::probability(counted.bound);
        text.push(format!("at most {bound} of trials fail, with 95 % confidence; {} trials", counted.n));
    } else if let Some(p) = claim.p {
        text.push(match claim.verdict.against() {
            true => format!("{} likely missed", words::probability(1.0 - p)),
            false => format!("{} likely kept", words::probability(p)),
        });
    }
    if !claim.why.is_empty() {
        // After the semicolon of an unclear claim stands advice to the one who typed it, not to readers.
        text.push(match claim.verdict {
            Verdict::ClaimUnclear => claim.why.split("; ").next().unwrap_or_default().to_string(),
            _ => claim.why.clone(),
        });
    }
    text
}

/// Small print under a verdict.
fn reason(claim: &ClaimRow) -> String {
    let text = grounds(claim);
    if text.is_empty() {
        String::new()
    } else {
        format!("<small>{}</small>", escape(&unbroken(&text.join("; "))))
    }
}
