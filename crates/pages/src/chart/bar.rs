//! A value as a bar from zero with its 95 % interval, for a row of a comparison.
use std::fmt::Write;

const WIDTH: f64 = 150.0;
const HEIGHT: f64 = 14.0;
/// Free space at the end, so that no interval touches it.
const ROOM: f64 = 4.0;

/// Value and half-width against the largest end of all rows. Decoration: the number stands beside it.
pub fn svg(x: f64, half: f64, largest: f64) -> String {
    let at = |v: f64| (v.max(0.0) / largest.max(f64::MIN_POSITIVE) * (WIDTH - ROOM)).min(WIDTH - ROOM);
    let mut out = format!(
        "<svg class=\"bars\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" \
         aria-hidden=\"true\"><rect class=\"value\" x=\"0\" y=\"3\" width=\"{:.1}\" height=\"8\"/>",
        at(x)
    );
    if half > 0.0 {
        let (from, to) = (at(x - half), at(x + half));
        let wide = (to - from).max(2.0);
        let _ = write!(
            out,
            "<rect class=\"interval\" x=\"{:.1}\" y=\"1\" width=\"{wide:.1}\" height=\"12\"/>",
            (from + to - wide) / 2.0
        );
    }
    out.push_str("</svg>");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_start_at_zero_and_end_at_the_largest() {
        // 146 wide for the largest: half of it is 73.
        assert!(svg(50.0, 0.0, 100.0).contains("width=\"73.0\""));
        assert!(svg(90.0, 10.0, 100.0).contains("x=\"116.8\" y=\"1\" width=\"29.2\""));
        assert!(!svg(0.0, 0.0, 0.0).contains("NaN"));
    }
}
