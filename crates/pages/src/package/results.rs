//! The table of results: for each station what it is compared and judged by, and for each sample what was found.
use super::condition;
use super::table::{
    Cell, Lines, NO_INSTRUMENT, NONE, NOT_HELD, NOT_TESTED, Open, Plan, Sort, column, maybe, text, value,
};
use crate::site::context::{Context, Shown};
use std::ops::Range;
use trueplate_core::claims::ClaimRow;
use trueplate_core::measurand::ResultSpec;
use trueplate_core::notebook::Condition;
use trueplate_core::repeat::ResultRow;
use trueplate_core::uncertain::Value;

pub static RESULTS: Plan = Plan {
    name: "results",
    title: "Results and verdicts",
    about: "Lines of scope `model` hold what a station is compared and judged by, all its samples together; those of \
            scope `specimen` what was found on one sample under one firmware. A value that is missing says why; it is \
            never zero.",
    columns: &[
        column("scope", Sort::Text, "model or specimen"),
        column("model", Sort::Text, "the station, by its id"),
        column("specimen", Sort::Text, "the sample; empty in lines of scope model"),
        column("firmware", Sort::Text, "at the time; empty in lines of scope model"),
        column("result", Sort::Text, "what was measured, by its key"),
        column("title", Sort::Text, "what was measured"),
        column("condition", Sort::Text, "under which condition: axis=value, separated by ;"),
        column("value", Sort::Number, "the result").unit("@unit").gaps(&[NOT_TESTED, NOT_HELD]),
        column("u", Sort::Number, "standard uncertainty").unit("@unit").gaps(&[NO_INSTRUMENT]),
        column("unit", Sort::Text, "by the Unified Code for Units of Measure"),
        column("half_width", Sort::Number, "half-width of the interval that holds the true value with 95 %")
            .unit("@unit")
            .gaps(&[NO_INSTRUMENT]),
        column("dof", Sort::Number, "effective degrees of freedom; INF where only stated limits count")
            .unit("1"),
        column("tests", Sort::Text, "behind it, separated by spaces"),
        column("superseded", Sort::Yes, "a newer firmware has a result of its own in its place"),
        column("at_least", Sort::Yes, "the value was held; how much more would be held was not asked"),
        column("rank_low", Sort::Whole, "best place it may have among the stations"),
        column("rank_high", Sort::Whole, "worst place it may have"),
        column("claim", Sort::Text, "the claim that was judged, by its id"),
        column("claimed", Sort::Number, "the maker's figure").unit("@unit"),
        column("p", Sort::Number, "probability that the claim is kept").unit("1"),
        column("trials", Sort::Whole, "where trials are counted instead"),
        column("beyond", Sort::Whole, "trials beyond the claim"),
        column("bound", Sort::Number, "failure rate excluded with 95 % confidence, one-sided").unit("1"),
        column("verdict", Sort::Text, "what is said of the claim"),
        column("why", Sort::Text, "where the verdict alone does not say it"),
    ],
    key: &[],
    refs: &[("model", "models", "model")],
};

/// One line before it is written.
struct Line<'a> {
    result: Option<&'static ResultSpec>,
    key: &'a str,
    condition: &'a Condition,
    found: Result<Value, super::table::Gap>,
    tests: Vec<&'a str>,
    superseded: bool,
    claim: Option<&'a ClaimRow>,
}

/// Which cells say a place.
const PLACES: Range<usize> = 15..17;

/// What a station is compared and judged by. Its places, by column, are still open.
pub fn of_station(context: &Context, shown: &Shown) -> Open {
    let mut lines = Open::of(&RESULTS);
    of_model(&mut lines, context, shown);
    lines
}

/// With its places.
pub fn placed(lines: &Open, shown: &Shown) -> Lines {
    let whole = |n: Option<usize>| n.map_or(Cell::Gap(NONE), |n| Cell::Whole(n as u64));
    lines.filled(|column| {
        let place = column.and_then(|column| shown.report.place(column));
        [whole(place.map(|p| p.low)), whole(place.map(|p| p.high))]
    })
}

/// Every result of the samples of a station.
pub fn of_samples(shown: &Shown) -> Lines {
    let mut lines = Lines::of(&RESULTS, true);
    for (row, _) in &shown.rows {
        let line = Line {
            result: Some(row.result),
            key: row.result.key,
            condition: &row.condition,
            found: Ok(row.value.clone()),
            tests: row.tests.iter().map(String::as_str).collect(),
            superseded: row.superseded,
            claim: None,
        };
        lines.row(cells(&shown.report.id, Some(row), &line));
    }
    lines
}

/// The condition a claim is judged under: that of the measurement, where there is one.
fn judged_under(row: &ClaimRow) -> &Condition {
    if row.measured.is_some() || row.counted.is_some() { &row.condition } else { &row.claim.condition }
}

/// A line for each column of the comparison and each claim on it; then the claims that no column answers.
fn of_model(lines: &mut Open, context: &Context, shown: &Shown) {
    let (report, columns) = (shown.report, &context.report.columns);
    let not_held = context.not_held(shown);
    for (index, column) in columns.iter().enumerate() {
        let fits = |c: &&ClaimRow| c.claim.key == column.result.key && *judged_under(c) == column.condition;
        let claims: Vec<&ClaimRow> = report.claims.iter().filter(fits).collect();
        let failed = not_held
            .iter()
            .any(|(_, f, _)| f.result.key == column.result.key && f.condition == column.condition);
        let tests = report.current(column.result.key).filter(|r| r.condition == column.condition);
        let tests: Vec<&str> = tests.flat_map(|r| r.tests.iter().map(String::as_str)).collect();
        let found = report.at(column).ok_or(if failed { NOT_HELD } else { NOT_TESTED });
        let judged = claims.iter().map(|c| Some(*c)).chain(claims.is_empty().then_some(None));
        for claim in judged {
            let line = Line {
                result: Some(column.result),
                key: column.result.key,
                condition: &column.condition,
                found: found.clone(),
                tests: tests.clone(),
                superseded: false,
                claim,
            };
            lines.row(cells(&report.id, None, &line), PLACES, Some(index));
        }
    }
    let answered = |c: &&ClaimRow| {
        columns.iter().any(|col| col.result.key == c.claim.key && col.condition == *judged_under(c))
    };
    for claim in report.claims.iter().filter(|c| !answered(c)) {
        let line = Line {
            result: claim.result,
            key: &claim.claim.key,
            condition: judged_under(claim),
            found: claim.measured.clone().ok_or(NOT_TESTED),
            tests: claim.tests.iter().map(String::as_str).collect(),
            superseded: false,
            claim: Some(claim),
        };
        lines.row(cells(&report.id, None, &line), PLACES, None);
    }
}

/// As many as there are columns; those of the places are left out.
fn cells<'a>(model: &'a str, row: Option<&'a ResultRow>, line: &Line<'a>) -> [Cell<'a>; 25] {
    let unit = line.result.map(|r| r.shown_in());
    let gap = Cell::Gap(NONE);
    let known = line.found.as_ref().ok().zip(unit);
    let [x, u, code] = match known {
        Some((v, unit)) => value(v, unit),
        None => [
            line.found.as_ref().err().map_or(gap.clone(), |g| Cell::Gap(*g)),
            gap.clone(),
            text(unit.map_or("", |u| u.ucum)),
        ],
    };
    let doubts = known.filter(|(v, _)| v.has_u());
    let half = match (&doubts, known) {
        (Some((v, unit)), _) => Cell::Number(unit.shown_step(v.half95())),
        (None, Some(_)) => Cell::Gap(NO_INSTRUMENT),
        _ => gap.clone(),
    };
    let claim = line.claim;
    let counted = claim.and_then(|c| c.counted.as_ref());
    let claimed = claim.and_then(|c| c.limit).zip(unit).map(|(limit, unit)| unit.shown(limit));
    let whole = |n: Option<u64>| n.map_or(Cell::Gap(NONE), Cell::Whole);
    [
        text(if row.is_some() { "specimen" } else { "model" }),
        text(model),
        text(row.map_or("", |r| &r.specimen)),
        text(row.map_or("", |r| &r.firmware)),
        text(line.key),
        text(line.result.map_or("", |r| r.title)),
        text(condition(line.condition)),
        x,
        u,
        code,
        half,
        maybe(doubts.map(|(v, _)| v.dof())),
        text(line.tests.join(" ")),
        Cell::Yes(line.superseded),
        Cell::Yes(line.result.is_some_and(|r| r.at_least)),
        gap.clone(),
        gap,
        text(claim.map_or("", |c| &c.claim.id)),
        maybe(claimed),
        maybe(claim.and_then(|c| c.p)),
        whole(counted.map(|c| c.n)),
        whole(counted.map(|c| c.k)),
        maybe(counted.map(|c| c.bound)),
        text(claim.map_or("", |c| c.verdict.key())),
        text(claim.map_or("", |c| &c.why)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_open_cells_are_those_of_the_places() {
        let names: Vec<&str> = RESULTS.columns[PLACES].iter().map(|c| c.name).collect();
        assert_eq!(names, ["rank_low", "rank_high"]);
    }
}
