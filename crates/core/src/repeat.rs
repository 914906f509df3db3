//! Repeated tests into one result, and the bench's own repeatability.
use crate::abreast;
use crate::examine;
use crate::instrument::Instrument;
use crate::kind::Outcome;
use crate::kinds;
use crate::measurand::ResultSpec;
use crate::notebook::{Condition, FileRef, Load, Model, Notebook, Settings, Specimen, Test};
use crate::recording::{Recording, Recordings, Source};
use crate::stats;
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Value};
use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::sync::Arc;

/// By test id. Keeping them is a cache, never a record.
pub type Outcomes = BTreeMap<String, Arc<Outcome>>;

/// Runs every test of a notebook whose kind is known.
pub fn outcomes(notebook: &Notebook) -> Outcomes {
    outcomes_with(notebook, &Recordings::new())
}

/// The same with files as read.
pub fn outcomes_with(notebook: &Notebook, recordings: &Recordings) -> Outcomes {
    abreast::each(&notebook.tests, |t| outcome(t, notebook, recordings)).into_iter().flatten().collect()
}

/// As [`outcomes_with`], from a notebook and its outcomes as they were `before`: a test that stands as it stood, with its
/// files as they were read, on a bench that stands as it stood, is not run again.
pub fn outcomes_since(
    notebook: &Notebook,
    recordings: &Recordings,
    before: (&Notebook, &Outcomes),
) -> Outcomes {
    let (then, known) = before;
    if !stands_as(notebook, then) {
        return outcomes_with(notebook, recordings);
    }
    let by_id = OnceCell::new();
    let one = |(i, test): (usize, &Test)| {
        let same = beside(&then.tests, i, test, &by_id).filter(|was| *was == test);
        let kept = same.and_then(|_| known.get(&test.id)).filter(|o| reads_as(test, o, recordings));
        kept.map(|o| (test.id.clone(), o.clone())).or_else(|| outcome(test, notebook, recordings))
    };
    notebook.tests.iter().enumerate().filter_map(one).collect()
}

fn outcome(test: &Test, notebook: &Notebook, recordings: &Recordings) -> Option<(String, Arc<Outcome>)> {
    let kind = kinds::find(&test.kind)?;
    Some((test.id.clone(), Arc::new(examine::run_with(kind, test, notebook, recordings))))
}

/// Whether all that tests are run against is what it was: everything but tests, letters, questions, videos and history.
pub(crate) fn stands_as(now: &Notebook, then: &Notebook) -> bool {
    fn around(n: &Notebook) -> (&Settings, &[Model], &[Specimen], &[Instrument], &[Load]) {
        (&n.settings, &n.models, &n.specimens, &n.instruments, &n.loads)
    }
    around(now) == around(then)
}

/// The test of another notebook with the same id: nearly always it stands in the same place.
fn beside<'a>(
    tests: &'a [Test],
    at: usize,
    test: &Test,
    by_id: &OnceCell<BTreeMap<&'a str, &'a Test>>,
) -> Option<&'a Test> {
    let known = tests.get(at).filter(|t| t.id == test.id);
    let all = || by_id.get_or_init(|| tests.iter().map(|t| (t.id.as_str(), t)).collect());
    known.or_else(|| all().get(test.id.as_str()).copied())
}

/// Whether the files of a test are as its outcome read them, none more and none less.
fn reads_as(test: &Test, outcome: &Outcome, recordings: &Recordings) -> bool {
    let read = |(source, was): (&Source, &Arc<Recording>)| {
        recordings.get(source).is_some_and(|now| Arc::ptr_eq(now, was) || now == was)
    };
    let attached = test.entries.values().flat_map(|e| &e.files);
    let unread = |file: &FileRef| {
        let mut of = recordings.keys().filter(|s| s.sha256 == file.sha256);
        of.any(|source| !outcome.recordings.contains_key(source))
    };
    outcome.recordings.iter().all(read) && !attached.into_iter().any(unread)
}

/// A result of one specimen under one firmware and condition, from all tests that count.
#[derive(Clone, Debug)]
pub struct ResultRow {
    /// What.
    pub result: &'static ResultSpec,
    /// Under which condition.
    pub condition: Condition,
    /// Whose.
    pub specimen: String,
    /// Firmware at the time.
    pub firmware: String,
    /// How much.
    pub value: Value,
    /// Tests it is made of.
    pub tests: Vec<String>,
    /// A newer firmware has a result of its own in its place.
    pub superseded: bool,
}

/// The bench's scatter from run to run, relative, with its degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeatability {
    /// Relative standard deviation of one run.
    pub s: f64,
    /// Degrees of freedom.
    pub dof: f64,
    /// Repeats of this bench it comes from, as degrees of freedom.
    pub own_dof: f64,
}

/// What the prior weighs against the bench's own repeats, in degrees of freedom (common practice).
const PRIOR_DOF: f64 = 10.0;

/// Does this test count?
pub fn counts(test: &Test) -> bool {
    test.excluded.is_empty() && !test.conditioning
}

/// Specimen, firmware and condition.
type Key<'a> = (&'a str, &'a str, &'a Condition);

/// Equal results of several tests: whose and under which condition, what, and each test with its value.
type Group<'a> = (Key<'a>, &'static ResultSpec, Vec<(&'a str, &'a Value)>);

fn grouped<'a>(notebook: &'a Notebook, outcomes: &'a Outcomes) -> Vec<Group<'a>> {
    // A sample has few results, so those of one are looked through one by one.
    let mut of_sample: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    let mut groups: Vec<Group<'a>> = Vec::new();
    for test in notebook.tests.iter().filter(|t| counts(t)) {
        let own = of_sample.entry((&test.specimen, &test.firmware)).or_default();
        for found in outcomes.get(&test.id).into_iter().flat_map(|o| &o.results) {
            let same = |i: &&usize| {
                let ((.., condition), result, _) = &groups[**i];
                result.key == found.result.key && **condition == found.condition
            };
            let i = own.iter().find(same).copied().unwrap_or_else(|| {
                own.push(groups.len());
                groups.push(((&test.specimen, &test.firmware, &found.condition), found.result, Vec::new()));
                groups.len() - 1
            });
            groups[i].2.push((&test.id, &found.value));
        }
    }
    groups
}

/// Pools the repeats of the bench with the prior of its settings (GUM 4.2.4, pooled estimate).
pub fn repeatability(notebook: &Notebook, outcomes: &Outcomes) -> Repeatability {
    let ratios: Vec<Vec<f64>> = grouped(notebook, outcomes)
        .into_iter()
        .filter(|(_, spec, values)| spec.varies && values.len() > 1)
        .map(|(_, _, values)| {
            let xs: Vec<f64> = values.iter().map(|(_, v)| v.x).collect();
            let mean = stats::mean(&xs).unwrap_or(1.0);
            xs.iter().map(|x| x / mean).collect()
        })
        .collect();
    let prior = notebook.settings.repeatability;
    let kept = without_mistakes(ratios, prior);
    let slices: Vec<&[f64]> = kept.iter().map(Vec::as_slice).collect();
    match stats::pooled(&slices) {
        Some(own) => {
            let dof = PRIOR_DOF + own.dof;
            let s2 = (PRIOR_DOF * prior * prior + own.dof * own.s * own.s) / dof;
            Repeatability { s: s2.sqrt(), dof, own_dof: own.dof }
        }
        None => Repeatability { s: prior, dof: PRIOR_DOF, own_dof: 0.0 },
    }
}

/// Repeats further apart than chance allows are a mistake somewhere, not scatter.
const MISTAKE_P: f64 = 0.001;

/// Leaves out, the worst first, each group whose variance stands apart from that of all the others and the prior
/// (F test, p < 0.001). They stay in sight: their tests are said to differ.
fn without_mistakes(mut groups: Vec<Vec<f64>>, prior: f64) -> Vec<Vec<f64>> {
    loop {
        let each: Vec<(f64, f64)> = groups
            .iter()
            .map(|g| (g.iter().map(|x| (x - 1.0).powi(2)).sum::<f64>(), g.len() as f64 - 1.0))
            .collect();
        let all = each.iter().fold((PRIOR_DOF * prior * prior, PRIOR_DOF), |a, g| (a.0 + g.0, a.1 + g.1));
        let p = |&(squares, dof): &(f64, f64)| {
            let (rest, rest_dof) = (all.0 - squares, all.1 - dof);
            stats::tail::f_beyond(squares / dof / (rest / rest_dof), dof, rest_dof)
        };
        let worst = each.iter().map(p).enumerate().min_by(|a, b| a.1.total_cmp(&b.1));
        match worst {
            Some((i, p)) if p < MISTAKE_P => groups.remove(i),
            _ => return groups,
        };
    }
}

/// The mean of values that each carry their own private doubts; shared ones stay, private ones shrink.
/// All values must have one dimension; there must be one at least.
pub fn mean(values: &[Value]) -> Option<Value> {
    let n = values.len() as f64;
    let (first, rest) = values.split_first()?;
    if rest.is_empty() {
        return Some(first.clone());
    }
    let sum = rest.iter().fold(first.clone(), |acc, v| acc.minus(&v.scaled(-1.0)));
    Some(sum.scaled(1.0 / n))
}

/// Every result of the bench, tests under equal conditions taken together.
pub fn rows(notebook: &Notebook, outcomes: &Outcomes, scatter: Repeatability) -> Vec<ResultRow> {
    let mut rows: Vec<ResultRow> = grouped(notebook, outcomes)
        .into_iter()
        .filter_map(|((specimen, firmware, condition), result, values)| {
            let each: Vec<Value> = values
                .iter()
                .map(|(test, v)| match result.varies && v.has_u() {
                    true => {
                        // One and the same estimate stands behind all n tests of the mean: their parts together
                        // must have its degrees of freedom, not n times as many.
                        let influence = Influence::test(test, Effect::Repeatability, result.key);
                        (*v).clone().with(
                            influence,
                            v.x * scatter.s,
                            Shape::Normal,
                            scatter.dof / values.len() as f64,
                        )
                    }
                    false => (*v).clone(),
                })
                .collect();
            Some(ResultRow {
                result,
                condition: condition.clone(),
                specimen: specimen.into(),
                firmware: firmware.into(),
                value: mean(&each)?,
                tests: values.iter().map(|(t, _)| (*t).to_string()).collect(),
                superseded: false,
            })
        })
        .collect();
    mark_superseded(notebook, &mut rows);
    rows
}

/// Marks results for which a newer firmware of the same specimen has one of its own.
pub fn mark_superseded(notebook: &Notebook, rows: &mut [ResultRow]) {
    let mut specimens: BTreeMap<&str, &Specimen> = BTreeMap::new();
    for specimen in &notebook.specimens {
        specimens.entry(&specimen.id).or_insert(specimen);
    }
    let age = |row: &ResultRow| {
        let firmware = &specimens.get(row.specimen.as_str())?.firmware;
        firmware.iter().position(|f| f.version == row.firmware)
    };
    fn same(row: &ResultRow) -> (&str, &str, &Condition) {
        (&row.specimen, row.result.key, &row.condition)
    }
    let ages: Vec<Option<usize>> = rows.iter().map(age).collect();
    let mut newest: BTreeMap<_, Option<usize>> = BTreeMap::new();
    for (row, age) in rows.iter().zip(&ages) {
        let seen = newest.entry(same(row)).or_default();
        *seen = (*seen).max(*age);
    }
    let older = |(row, age): (&ResultRow, &Option<usize>)| newest.get(&same(row)).is_some_and(|n| n > age);
    let superseded: Vec<bool> = rows.iter().zip(&ages).map(older).collect();
    rows.iter_mut().zip(superseded).for_each(|(row, is)| row.superseded = is);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Dim;
    fn v(x: f64, test: &str) -> Value {
        let inf = f64::INFINITY;
        Value::exact(Dim::Energy, x)
            .with(Influence::instrument("m", Effect::Gain, ""), 5.0, Shape::Rectangular, inf)
            .with(Influence::test(test, Effect::Step, ""), 4.0, Shape::Rectangular, inf)
    }
    #[test]
    fn private_doubts_shrink_and_shared_ones_stay() {
        // Four runs: gain 5 stays, step 4/√4 = 2: u = √(25 + 4) = 5.385165.
        let mean = mean(&[v(860.0, "a"), v(862.0, "b"), v(864.0, "c"), v(866.0, "d")]).unwrap();
        assert_eq!(mean.x, 863.0);
        assert!((mean.u() - 5.385_165).abs() < 1e-6);
    }
}
