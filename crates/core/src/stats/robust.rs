//! What one wild value cannot move: quantiles, the median's deviation, the line through medians of slopes.
use super::tail::normal_quantile;

/// Quantile of the values at `p`, 0 to 1, straight between the two nearest: type 7 of Hyndman and Fan (1996), position
/// 1 + (n − 1)p. `None` for no values or one that is not a number.
pub fn quantile(values: &[f64], p: f64) -> Option<f64> {
    if values.is_empty() || values.iter().any(|v| v.is_nan()) || !(0.0..=1.0).contains(&p) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let at = (sorted.len() - 1) as f64 * p;
    let (below, above) = (sorted[at.floor() as usize], sorted[at.ceil() as usize]);
    Some(below + (above - below) * at.fract())
}

/// Median; the mean of the two in the middle of an even number. `None` for no values.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// Median of the distances from the median (MAD), in the unit of the values; 1.4826 times it estimates the standard
/// deviation of normal values. `None` for no values.
pub fn median_deviation(values: &[f64]) -> Option<f64> {
    let middle = median(values)?;
    median(&values.iter().map(|v| (v - middle).abs()).collect::<Vec<_>>())
}

/// Modified z of each value, Φ⁻¹(0.75)·(x − median)/MAD (Iglewicz and Hoaglin 1993, who take |z| > 3.5 for an outlier).
/// `None` when more than half of the values are equal, or there are none.
pub fn modified_z(values: &[f64]) -> Option<Vec<f64>> {
    let (middle, spread) = (median(values)?, median_deviation(values)?);
    (spread > 0.0).then(|| values.iter().map(|v| normal_quantile(0.75) * (v - middle) / spread).collect())
}

/// A straight line y = intercept + slope·x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Rise of y per unit of x.
    pub slope: f64,
    /// y at x = 0.
    pub intercept: f64,
}

/// The line of Theil (1950) and Sen (1968): slope the median of the slopes between all pairs of points, intercept the
/// median of y less the slope times the median of x. Holds while fewer than 29 % of the points are wild. `None` when no two
/// points differ in x. Takes n² slopes: meant for a handful of points.
pub fn theil_sen(points: &[(f64, f64)]) -> Option<Line> {
    let pairs = points.iter().enumerate().flat_map(|(i, a)| points[i + 1..].iter().map(move |b| (a, b)));
    let slopes: Vec<f64> =
        pairs.filter(|(a, b)| a.0 != b.0).map(|(a, b)| (b.1 - a.1) / (b.0 - a.0)).collect();
    let slope = median(&slopes)?;
    let middle = |of: fn(&(f64, f64)) -> f64| median(&points.iter().map(of).collect::<Vec<_>>());
    Some(Line { slope, intercept: middle(|p| p.1)? - slope * middle(|p| p.0)? })
}

#[cfg(test)]
mod tests {
    use super::*;
    fn near(a: f64, b: f64, digit: f64) {
        assert!((a - b).abs() <= 0.5 * digit, "{a} is not {b}");
    }
    #[test]
    fn quantiles_of_type_seven() {
        // 15 20 35 40 50: type 7 gives 20, 29, 35, 40, 46 at 25, 40, 50, 75, 90 % (numpy 2.4.6, method "linear"); on paper
        // at 40 %: position 1 + 4·0.4 = 2.6, 20 + 0.6·15 = 29.
        let data = [50.0, 15.0, 40.0, 20.0, 35.0];
        for (p, q) in
            [(0.25, 20.0), (0.4, 29.0), (0.5, 35.0), (0.75, 40.0), (0.9, 46.0), (0.0, 15.0), (1.0, 50.0)]
        {
            near(quantile(&data, p).unwrap(), q, 1e-9);
        }
        assert_eq!(
            (quantile(&[], 0.5), quantile(&[1.0, f64::NAN], 0.5), quantile(&data, 1.1)),
            (None, None, None)
        );
    }
    #[test]
    fn one_wild_value_of_six() {
        // 861 868 859 866 864 912: median 865, distances 4 3 6 1 1 47, MAD 3.5; modified z of 912 = 0.67449·47/3.5 = 9.0574.
        let data = [861.0, 868.0, 859.0, 866.0, 864.0, 912.0];
        assert_eq!((median(&data), median_deviation(&data)), (Some(865.0), Some(3.5)));
        near(modified_z(&data).unwrap()[5], 9.0574, 2e-4);
        assert_eq!(modified_z(&[1.0, 1.0, 1.0, 7.0]), None);
    }
    #[test]
    fn the_line_of_theil_and_sen() {
        // x 1…6, y 2.1 3.9 6.2 7.8 10.1 30: the eighth of the 15 slopes is 2.066667, intercept 7 − 2.066667·3.5 = −0.233333.
        let y = [2.1, 3.9, 6.2, 7.8, 10.1, 30.0];
        let points: Vec<_> = y.iter().enumerate().map(|(i, y)| (i as f64 + 1.0, *y)).collect();
        let line = theil_sen(&points).unwrap();
        near(line.slope, 2.066_667, 1e-6);
        near(line.intercept, -0.233_333, 1e-6);
        assert_eq!(theil_sen(&[(1.0, 2.0), (1.0, 3.0)]), None);
    }
    #[test]
    fn energies_of_ten_runs_as_a_library_fits_them() {
        // scipy 1.17.1: stats.theilslopes(y, range(10)) gives slope −0.428571428571, intercept 612.328571428571; least squares
        // +0.487879, moved by the one run of 640.
        let y = [612.0, 611.2, 610.9, 611.5, 609.8, 609.9, 609.1, 640.0, 608.2, 607.9];
        let points: Vec<_> = y.iter().enumerate().map(|(i, y)| (i as f64, *y)).collect();
        let line = theil_sen(&points).unwrap();
        near(line.slope, -0.428_571_428_571, 1e-11);
        near(line.intercept, 612.328_571_428_571, 1e-11);
    }
}
