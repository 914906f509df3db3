//! What a maker can state, and each claim judged against what was measured.
use crate::judge::{self, Counted, Verdict};
use crate::kind::{Outcome, Trials};
use crate::kinds::{KINDS, columns};
use crate::measurand::{Better, ResultSpec};
use crate::notebook::{Bound, Claim, Condition, Model, Notebook, Settings, Specimen, Test};
use crate::number;
use crate::quantity::Dim;
use crate::reading::marks_of;
use crate::repeat::{Outcomes, ResultRow, counts, mean};
use crate::shown::{Style, shown};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Value};
use std::sync::OnceLock;

const fn untested(
    key: &'static str,
    title: &'static str,
    dim: Dim,
    unit: &'static str,
    better: Better,
) -> ResultSpec {
    ResultSpec { key, title, dim, unit, better, formula: "", varies: false, at_least: false, counted: false }
}

/// Figures makers state that no outlet measurement judges directly.
static STATED: &[ResultSpec] = &[
    untested("stored-energy", "Stored energy", Dim::Energy, "Wh", Better::More),
    untested("cycles", "Cycles to 80 %", Dim::Count, "", Better::More),
    untested("solar-input", "Solar input", Dim::Power, "W", Better::More),
    untested("noise", "Noise", Dim::Level, "dB(A)", Better::Less),
];

/// Everything a claim can be about: results of the kinds first, then figures that are only stated.
pub fn claimable() -> &'static [&'static ResultSpec] {
    static ALL: OnceLock<Vec<&'static ResultSpec>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut all: Vec<&'static ResultSpec> = Vec::new();
        let tested = KINDS.iter().flat_map(|k| k.spec().results.iter().copied());
        for spec in STATED.iter().take(1).chain(tested).chain(STATED.iter().skip(1)) {
            if !all.iter().any(|s| s.key == spec.key) {
                all.push(spec);
            }
        }
        all
    })
}

/// The result a claim speaks of.
pub fn spec_of(key: &str) -> Option<&'static ResultSpec> {
    claimable().iter().copied().find(|s| s.key == key)
}

/// A claim with what was measured and what is said of it.
#[derive(Clone, Debug)]
pub struct ClaimRow {
    /// As the maker states it.
    pub claim: Claim,
    /// What it speaks of; `None` when no such result is known.
    pub result: Option<&'static ResultSpec>,
    /// The figure in the unit its dimension is kept in; `None` when it cannot be read.
    pub limit: Option<f64>,
    /// It binds from below.
    pub minimum: bool,
    /// What was measured, where something was.
    pub measured: Option<Value>,
    /// Condition it was measured under.
    pub condition: Condition,
    /// Probability that the claim is kept; `None` where trials are counted or nothing is judged.
    pub p: Option<f64>,
    /// Trials, where they are counted.
    pub counted: Option<Counted>,
    /// What is said.
    pub verdict: Verdict,
    /// Tests behind it.
    pub tests: Vec<String>,
    /// Specimens behind it.
    pub specimens: Vec<String>,
    /// Why, in a sentence, where the verdict alone does not say it.
    pub why: String,
}

/// Relative spread from sample to sample before two of a model were tested (common practice), and its weight.
const SAMPLE_SPREAD: (f64, f64) = (0.012, 10.0);

/// One value for a model from the values of its specimens; two or more carry their own spread.
pub fn of_model(model: &str, values: &[Value]) -> Option<Value> {
    let mean = mean(values)?;
    if values.len() < 2 || mean.x == 0.0 {
        return Some(mean);
    }
    let (prior, weight) = SAMPLE_SPREAD;
    let squares: f64 = values.iter().map(|v| (v.x / mean.x - 1.0).powi(2)).sum();
    let dof = weight + values.len() as f64 - 1.0;
    let s = ((weight * prior * prior + squares) / dof).sqrt();
    let u = mean.x * s / (values.len() as f64).sqrt();
    Some(mean.with(Influence::test(model, Effect::Specimen, ""), u, Shape::Normal, dof))
}

/// Judges every claim of a model. `rows` are the model's results.
pub fn judge_all(
    notebook: &Notebook,
    model: &Model,
    rows: &[ResultRow],
    outcomes: &Outcomes,
) -> Vec<ClaimRow> {
    model.claims.iter().map(|claim| judge_one(notebook, model, claim, rows, outcomes)).collect()
}

fn judge_one(
    notebook: &Notebook,
    model: &Model,
    claim: &Claim,
    rows: &[ResultRow],
    outcomes: &Outcomes,
) -> ClaimRow {
    let result = spec_of(&claim.key);
    let typed =
        result.map(|r| number::quantity(&claim.text, r.dim, r.shown_in(), marks_of(&notebook.settings)));
    let limit = typed.as_ref().and_then(|t| t.as_ref().ok()).map(|t| t.kept);
    let mut row = ClaimRow {
        claim: claim.clone(),
        result,
        limit,
        minimum: result.is_some_and(|r| judge::is_minimum(r, claim.bound)),
        measured: None,
        condition: Condition::new(),
        p: None,
        counted: None,
        verdict: Verdict::NotTested,
        tests: Vec::new(),
        specimens: Vec::new(),
        why: String::new(),
    };
    let (Some(result), Some(limit)) = (result, limit) else {
        row.verdict = Verdict::ClaimUnclear;
        row.why = match typed {
            _ if claim.bound == Bound::Unclear => NO_FIGURE.into(),
            Some(Err(t)) => format!("{}; {}", t.text, t.hint),
            _ => format!("no kind of test speaks of `{}`", claim.key),
        };
        return row;
    };
    if claim.key == "stored-energy" {
        bracket(model, rows, limit, &notebook.settings, &mut row);
        return row;
    }
    if result.counted {
        count_trials(notebook, model, result, limit, outcomes, &mut row);
    } else {
        compare(model, claim, rows, limit, &notebook.settings, &mut row);
        not_held(notebook, model, claim, outcomes, limit, &mut row);
    }
    if claim.bound == Bound::Unclear {
        row.verdict = Verdict::ClaimUnclear;
        row.p = None;
        row.why = NO_FIGURE.into();
    }
    row
}

const NO_FIGURE: &str = "the maker's words do not say enough to be judged";

fn covers(measured: &Condition, claimed: &Condition) -> bool {
    claimed.iter().all(|(axis, value)| measured.get(axis) == Some(value))
        && !measured.contains_key("temperature")
}

/// Order of preference among conditions the claim leaves open: as the axes list their values.
fn rank_of(result: &ResultSpec, condition: &Condition) -> usize {
    columns()
        .iter()
        .filter(|c| c.result.key == result.key)
        .position(|c| c.condition == *condition)
        .unwrap_or(usize::MAX)
}

fn compare(
    model: &Model,
    claim: &Claim,
    rows: &[ResultRow],
    limit: f64,
    rule: &Settings,
    row: &mut ClaimRow,
) {
    let of_key: Vec<&ResultRow> = rows.iter().filter(|r| r.result.key == claim.key).collect();
    let fits = |r: &&ResultRow| covers(&r.condition, &claim.condition);
    let fitting: Vec<&ResultRow> = of_key.iter().copied().filter(fits).collect();
    let current: Vec<&ResultRow> = fitting.iter().copied().filter(|r| !r.superseded).collect();
    let Some(best) = current.iter().min_by_key(|r| rank_of(r.result, &r.condition)) else {
        row.verdict = match (of_key.first(), fitting.first()) {
            (_, Some(_)) => Verdict::Superseded,
            (Some(other), None) => {
                row.measured = Some(other.value.clone());
                row.condition = other.condition.clone();
                row.tests = other.tests.clone();
                row.why = "measured under another condition than claimed".into();
                Verdict::ConditionsDiffer
            }
            (None, None) => Verdict::NotTested,
        };
        return;
    };
    let at = |condition: &Condition| {
        let same = || current.iter().filter(|r| r.condition == *condition);
        of_model(&model.id, &same().map(|r| r.value.clone()).collect::<Vec<_>>())
    };
    let same: Vec<_> = current.iter().filter(|r| r.condition == best.condition).collect();
    let Some(value) = at(&best.condition) else { return };
    row.condition = best.condition.clone();
    row.tests = same.iter().flat_map(|r| r.tests.iter().cloned()).collect();
    row.specimens = same.iter().map(|r| r.specimen.clone()).collect();
    row.measured = Some(value.clone());
    if !value.has_u() {
        row.verdict = Verdict::CannotTell;
        row.why = "no instrument is named, so nothing is known of the error of the reading".into();
        return;
    }
    let p = judge::p_kept(&value, limit, row.minimum);
    (row.p, row.verdict) = (Some(p), judge::word(p, rule));
    if !row.verdict.against() {
        return;
    }
    let words = |v: &Value| shown(v, best.result.shown_in(), Style::POINT).line();
    // Held at less than the claim, and never asked for more.
    if best.result.at_least {
        (row.p, row.verdict) = (None, Verdict::CannotTell);
        row.why = format!("it held {}; more was not asked of it", words(&value));
        return;
    }
    // A claim that leaves the condition open, kept under one and not under another.
    let keeps = |r: &&&ResultRow| {
        let kept = at(&r.condition).filter(Value::has_u).map(|v| judge::p_kept(&v, limit, row.minimum));
        kept.is_some_and(|p| p >= rule.probably_from)
    };
    if let Some((other, kept)) = current.iter().find(keeps).and_then(|r| Some((r, at(&r.condition)?))) {
        (row.p, row.verdict) = (None, Verdict::ConditionsDiffer);
        row.tests.extend(other.tests.iter().cloned());
        row.why = format!(
            "{} ({}), {} ({}); the claim does not say which is meant",
            words(&value),
            named(&best.condition),
            words(&kept),
            named(&other.condition)
        );
    }
}

/// A condition in a few words: "from AC cut-off, mode fast".
fn named(condition: &Condition) -> String {
    condition.iter().map(|(axis, value)| format!("{axis} {value}")).collect::<Vec<_>>().join(", ")
}

/// The usual value of an axis is the first it lists; what is no axis of the result's kind is never usual.
fn is_usual(result: &ResultSpec, axis: &str, value: &str) -> bool {
    let of_result = KINDS.iter().map(|k| k.spec()).filter(|s| s.results.iter().any(|r| r.key == result.key));
    of_result.flat_map(|s| s.axes).any(|a| a.key == axis && a.values.first() == Some(&value))
}

/// Something tried at or below the claim that was not held speaks against it, whatever else was measured.
fn not_held(
    notebook: &Notebook,
    model: &Model,
    claim: &Claim,
    outcomes: &Outcomes,
    limit: f64,
    row: &mut ClaimRow,
) {
    // As with results: an older firmware speaks until the same test was made on the present one.
    let again = |specimen: &Specimen, kind: &str| {
        let same = |t: &&Test| t.specimen == specimen.id && t.kind == kind && counts(t);
        notebook.tests.iter().filter(same).any(|t| t.firmware == specimen.firmware_now())
    };
    let current = |test: &Test| {
        let specimen = notebook.specimen(&test.specimen).filter(|s| s.model == model.id);
        specimen.is_some_and(|s| s.firmware_now() == test.firmware || !again(s, &test.kind))
    };
    for test in notebook.tests.iter().filter(|t| counts(t) && current(t)) {
        for (found, how) in outcomes.get(&test.id).into_iter().flat_map(|o| &o.failed) {
            let fits = found.result.key == claim.key && covers(&found.condition, &claim.condition);
            // What the claim leaves open binds under the usual condition: a cold start, the load spread over the outlets.
            let usual = found.condition.iter().all(|(axis, value)| {
                claim.condition.contains_key(axis) || is_usual(found.result, axis, value)
            });
            // The same rule as for a result: what gave up surely above the claim says nothing against it.
            let surely_above = judge::p_kept(&found.value, limit, true) >= notebook.settings.met_from;
            if !fits || !usual || surely_above || !row.minimum {
                continue;
            }
            let gap = if row.verdict == Verdict::NotMet && row.p.is_none() { "; " } else { "" };
            let kept = if gap.is_empty() { "" } else { row.why.as_str() };
            let (x, unit) = (found.result.shown_in().shown(found.value.x), found.result.unit);
            row.why = format!("{kept}{gap}{how} at {x:.0} {unit}");
            row.verdict = Verdict::NotMet;
            row.p = None;
            row.tests.push(test.id.clone());
            row.specimens.push(test.specimen.clone());
            if row.measured.is_none() {
                row.condition = found.condition.clone();
            }
        }
    }
    row.specimens.dedup();
}

/// Stored energy is never judged by what the outlet gives: out ≤ cells ≤ in. A whole recharge from fully empty
/// that takes less from the wall than the claim makes the claim impossible.
fn bracket(model: &Model, rows: &[ResultRow], limit: f64, rule: &Settings, row: &mut ClaimRow) {
    let current = |key: &'static str| rows.iter().filter(move |r| r.result.key == key && !r.superseded);
    let at_usual = |r: &&ResultRow| !r.condition.contains_key("temperature");
    let out = current("usable-energy").filter(at_usual).max_by(|a, b| a.value.x.total_cmp(&b.value.x));
    let from_empty = |r: &&ResultRow| r.condition.get("from").is_some_and(|f| f == "fully empty");
    let ins = current("wall-energy").filter(from_empty).min_by(|a, b| a.value.x.total_cmp(&b.value.x));
    if out.is_none() && ins.is_none() {
        return;
    }
    let words = |r: &ResultRow| shown(&r.value, r.result.shown_in(), Style::POINT).line();
    for r in [out, ins].into_iter().flatten() {
        row.tests.extend(r.tests.iter().cloned());
        row.specimens.push(r.specimen.clone());
    }
    row.specimens.dedup();
    row.verdict = Verdict::CannotTell;
    row.why = match (out, ins) {
        (Some(o), Some(i)) => format!(
            "the cells hold between {} (out of the outlet) and {} (from the wall)",
            words(o),
            words(i)
        ),
        (Some(o), None) => format!(
            "{} came out of the outlet; a recharge from fully empty, metered at the wall, would narrow it",
            words(o)
        ),
        (None, Some(i)) => format!("a whole recharge took {} from the wall", words(i)),
        (None, None) => String::new(),
    };
    if let Some(i) = ins
        && judge::p_kept(&i.value, limit, true) <= 1.0 - rule.met_from
    {
        row.verdict = Verdict::NotMet;
        row.why =
            format!("impossible: a whole recharge from fully empty took only {} from the wall", words(i));
        row.measured =
            Some(of_model(&model.id, std::slice::from_ref(&i.value)).unwrap_or_else(|| i.value.clone()));
        row.condition = i.condition.clone();
    } else if let Some(o) = out
        && judge::p_kept(&o.value, limit, true) >= rule.met_from
    {
        row.verdict = Verdict::Met;
        row.why = format!("{} came out of the outlet alone", words(o));
        row.measured = Some(o.value.clone());
        row.condition = o.condition.clone();
    }
}

fn count_trials(
    notebook: &Notebook,
    model: &Model,
    result: &ResultSpec,
    limit: f64,
    outcomes: &Outcomes,
    row: &mut ClaimRow,
) {
    let of_model = |id: &str| notebook.specimen(id).is_some_and(|s| s.model == model.id);
    let tests: Vec<_> = notebook.tests.iter().filter(|t| counts(t) && of_model(&t.specimen)).collect();
    let trials_of = |o: &Outcome| -> Vec<Trials> {
        o.trials
            .iter()
            .filter(|t| t.result.key == result.key && covers(&t.condition, &row.claim.condition))
            .cloned()
            .collect()
    };
    let mut found: Vec<(&Test, Trials)> = Vec::new();
    for test in tests {
        found.extend(
            outcomes.get(&test.id).map(|o| trials_of(o)).unwrap_or_default().into_iter().map(|t| (test, t)),
        );
    }
    let now = |t: &Test| notebook.specimen(&t.specimen).is_some_and(|s| s.firmware_now() == t.firmware);
    let newest: Vec<_> = found.iter().filter(|(t, _)| now(t)).collect();
    let used: Vec<_> = if newest.is_empty() { found.iter().collect() } else { newest };
    let values: Vec<Value> = used.iter().flat_map(|(_, t)| t.values.iter().cloned()).collect();
    row.tests = used.iter().map(|(t, _)| t.id.clone()).collect();
    row.specimens = used.iter().map(|(t, _)| t.specimen.clone()).collect();
    row.specimens.dedup();
    row.condition = used.first().map(|(_, t)| t.condition.clone()).unwrap_or_default();
    if values.is_empty() {
        if used.iter().any(|(_, t)| t.seen.is_some()) {
            row.verdict = Verdict::CannotTell;
            row.why = "only survival was seen, no time was measured".into();
        }
        return;
    }
    let counted = judge::count(&values, limit, row.minimum);
    row.verdict = counted.verdict;
    row.measured = counted.worst.clone();
    row.counted = Some(counted);
}
