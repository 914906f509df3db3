//! Repeated tests into one result, and the bench's own repeatability.
use crate::abreast;
use crate::examine;
use crate::kind::Outcome;
use crate::kinds;
use crate::measurand::ResultSpec;
use crate::notebook::{Condition, Notebook, Specimen, Test};
use crate::recording::Recordings;
use crate::stats;
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Value};
use std::collections::BTreeMap;

/// By test id. Keeping them is a cache, never a record.
pub type Outcomes = BTreeMap<String, Outcome>;

/// Runs every test of a notebook whose kind is known.
pub fn outcomes(notebook: &Notebook) -> Outcomes {
    outcomes_with(notebook, &Recordings::new())
}

/// The same with files as read.
pub fn outcomes_with(notebook: &Notebook, recordings: &Recordings) -> Outcomes {
    let one =
        |t: &Test| Some((t.id.clone(), examine::run_with(kinds::find(&t.kind)?, t, notebook, recordings)));
    abreast::each(&notebook.tests, one).into_iter().flatten().collect()
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

type Key<'a> = (&'a str, &'a str, &'static str, &'a Condition);

/// Equal results of several tests: key, what, and each test with its value.
type Group<'a> = (Key<'a>, &'static ResultSpec, Vec<(&'a str, &'a Value)>);

fn grouped<'a>(notebook: &'a Notebook, outcomes: &'a Outcomes) -> Vec<Group<'a>> {
    let mut at: BTreeMap<Key<'a>, usize> = BTreeMap::new();
    let mut groups: Vec<Group<'a>> = Vec::new();
    for test in notebook.tests.iter().filter(|t| counts(t)) {
        for found in outcomes.get(&test.id).into_iter().flat_map(|o| &o.results) {
            let key = (test.specimen.as_str(), test.firmware.as_str(), found.result.key, &found.condition);
            let i = *at.entry(key).or_insert_with(|| {
                groups.push((key, found.result, Vec::new()));
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
        .filter_map(|((specimen, firmware, _, condition), result, values)| {
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
