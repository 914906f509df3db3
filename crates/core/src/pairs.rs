//! Two lists written side by side, row by row: a load and its time, a charge shown and its counter.
use crate::finding::Finding;
use crate::kind::{Outcome, Run};
use crate::quantity::Dimension;
use crate::reading::{Field, Many};
use crate::uncertain::Uncertain;

/// The rows of two lists; a gap when one is longer than the other.
pub fn paired<A: Dimension, B: Dimension>(
    run: &Run,
    left: &Field<Many<A>>,
    right: &Field<Many<B>>,
    out: &mut Outcome,
) -> Option<Vec<(Uncertain<A>, Uncertain<B>)>> {
    let (a, b) = (run.get(left)?, run.get(right)?);
    if a.len() != b.len() {
        out.findings.push(Finding::gap(
            "lists-differ",
            right.spec.key,
            format!(
                "{} numbers under {} and {} under {}",
                a.len(),
                left.spec.label,
                b.len(),
                right.spec.label
            ),
            "type one for each, in the same order",
        ));
        return None;
    }
    Some(a.into_iter().zip(b).collect())
}
