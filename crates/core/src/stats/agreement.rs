//! Whether two results of one thing agree within what both say of themselves.

/// E_n, the difference over the expanded uncertainties (k = 2) of both taken together: at most 1 either way is agreement
/// (ISO/IEC 17043). Both must be independent; where one meter stands behind both, take its share out of the
/// difference first and give the one expanded uncertainty that is left. `None` where nothing is known of either.
pub fn e_n(difference: f64, expanded: &[f64]) -> Option<f64> {
    let together = expanded.iter().map(|u| u * u).sum::<f64>().sqrt();
    (together > 0.0).then(|| difference / together)
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn two_laboratories() {
        // 101.2 ± 1.0 against 100.0 ± 0.6: 1.2/√(1 + 0.36) = 1.028992.
        let found = e_n(101.2 - 100.0, &[1.0, 0.6]).unwrap();
        assert!((found - 1.028_992).abs() < 1e-6, "{found}");
        assert_eq!(e_n(1.0, &[0.0, 0.0]), None);
    }
}
