//! A test that did not end by low-battery cut-off gives no row, only the bound a·H + b·W + c·S < 1.
use super::{Law, Row};
use crate::finding::Finding;

/// Checks a test that was stopped by hand, tripped, switched off at low load or ended at display 0 %: by the law it
/// cannot have used more than the whole store. The finding says that one of the two is wrong (95 %).
pub fn check_bound(law: &Law, row: &Row) -> Option<Finding> {
    let (x, theta) = (row.vector(), law.coefficients());
    let used = x.dot(&theta);
    let u = x.dot(&(law.covariance() * x)).max(0.0).sqrt().hypot(row.sigma(&theta));
    let broken = used - 1.0 > 1.959964 * u;
    broken.then(|| {
        Finding::doubt(
            "bound-broken",
            &row.label,
            format!(
                "ended before the cut-off, yet by the drain law it used {:.1} % of the store",
                100.0 * used
            ),
            "check how it ended, the start state, and the tests the law rests on",
        )
    })
}
