//! The interval mark: a short scale, the claim as a tick, the measurement as a bar with its 95 % ends.
//!
//! The scale's line is solid on the side that keeps the claim and dotted on the other. Each mark has a scale of
//! its own, on which claim and interval are both in sight.
use super::{escape, plain};
use std::fmt::Write;
use trueplate_core::judge::Verdict;
use trueplate_core::quantity::Unit;
use trueplate_core::shown::{self, Style};
use trueplate_core::uncertain::Value;

/// What a mark shows. Numbers in the unit their dimension is kept in.
pub struct Mark<'a> {
    /// The claimed limit.
    pub limit: f64,
    /// It binds from below.
    pub minimum: bool,
    /// What was measured; of counted trials the worst.
    pub measured: &'a Value,
    /// Each trial, where trials are counted; else empty.
    pub trials: &'a [f64],
    /// What is said of it.
    pub verdict: Verdict,
    /// Unit it is read in.
    pub unit: &'static Unit,
    /// How numbers are written.
    pub style: Style,
}

/// Size of the drawing, and the height of the scale's line in it.
const WIDTH: f64 = 220.0;
const HEIGHT: f64 = 26.0;
const MIDDLE: f64 = 13.0;
/// Free space at both ends, as a share of what is shown.
const MARGIN: f64 = 0.22;

/// Where values stand on a mark of some width.
pub struct Scale {
    from: f64,
    per_unit: f64,
}

impl Scale {
    /// So that all of these are in sight on `wide`, with room at both ends.
    pub fn of(all: impl Iterator<Item = f64> + Clone, wide: f64) -> Scale {
        let low = all.clone().fold(f64::INFINITY, f64::min);
        let high = all.fold(f64::NEG_INFINITY, f64::max);
        let span = if high > low { high - low } else { (low.abs() * 0.1).max(1e-9) };
        let whole = span * (1.0 + 2.0 * MARGIN);
        Scale { from: (low + high - whole) / 2.0, per_unit: wide / whole }
    }
    /// From the left end of the mark.
    pub fn at(&self, x: f64) -> f64 {
        (x - self.from) * self.per_unit
    }
}

impl Mark<'_> {
    /// The drawing, with the whole sentence for those who cannot see it.
    pub fn svg(&self) -> String {
        let x = self.measured.x;
        let half = if self.measured.has_u() { self.measured.half95() } else { 0.0 };
        let ends = [self.limit, x - half, x + half];
        let scale = Scale::of(ends.iter().chain(self.trials).copied().filter(|v| v.is_finite()), WIDTH);
        let claim = scale.at(self.limit);
        let mut out = format!(
            "<svg class=\"mark{}\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" \
             role=\"img\" aria-label=\"{}\">",
            self.class(),
            escape(&self.sentence()),
        );
        let (keeps, fails) = if self.minimum { (WIDTH, 0.0) } else { (0.0, WIDTH) };
        line(&mut out, "scale", (claim, fails), (MIDDLE, MIDDLE));
        line(&mut out, "keeps", (claim, keeps), (MIDDLE, MIDDLE));
        match (self.trials.is_empty(), half > 0.0) {
            (false, _) => self.draw_trials(&mut out, &scale),
            (true, true) => draw_bar(&mut out, scale.at(x - half), scale.at(x + half)),
            (true, false) => {
                let _ = write!(
                    out,
                    "<circle class=\"point\" cx=\"{:.1}\" cy=\"{MIDDLE}\" r=\"4\"/>",
                    scale.at(x)
                );
            }
        }
        line(&mut out, "claim", (claim, claim), (2.0, HEIGHT - 2.0));
        out.push_str("</svg>");
        out
    }

    /// All of it in words: "Claimed: at least 1150 W. Measured: …".
    pub fn sentence(&self) -> String {
        let of = |x: f64| shown::four_digits(self.unit.shown(x), self.style);
        let unit = if self.unit.symbol.is_empty() { String::new() } else { format!(" {}", self.unit.symbol) };
        let most = if self.minimum { "at least" } else { "at most" };
        let claimed = format!("Claimed: {most} {}{unit}.", plain(self.unit.shown(self.limit), self.style));
        let measured = if !self.trials.is_empty() {
            let beyond = self.trials.iter().filter(|t| self.beyond(**t)).count();
            format!(
                "{beyond} of {} trials beyond it, the worst {}{unit}.",
                self.trials.len(),
                of(self.measured.x)
            )
        } else if self.measured.has_u() {
            let s = shown::shown(self.measured, self.unit, self.style);
            let pm = s.pm.unwrap_or_default();
            format!("Measured: {} plus or minus {pm}{unit} with 95 % confidence.", s.number)
        } else {
            format!("Measured: {}{unit}, uncertainty not known.", of(self.measured.x))
        };
        format!("{claimed} {measured} Verdict: {}.", self.verdict.words())
    }

    fn beyond(&self, x: f64) -> bool {
        if self.minimum { x < self.limit } else { x > self.limit }
    }

    fn class(&self) -> &'static str {
        match self.verdict {
            v if v.against() => " against",
            Verdict::ConditionsDiffer | Verdict::ClaimUnclear | Verdict::Superseded => " open",
            _ => "",
        }
    }

    fn draw_trials(&self, out: &mut String, scale: &Scale) {
        for trial in self.trials {
            let class = if self.beyond(*trial) { "trial over" } else { "trial" };
            let x = scale.at(*trial);
            line(out, class, (x, x), (MIDDLE - 5.0, MIDDLE + 5.0));
        }
    }
}

/// Never thinner than can be seen; the ends stand out where the bar is short.
fn draw_bar(out: &mut String, from: f64, to: f64) {
    let (middle, half) = ((from + to) / 2.0, ((to - from) / 2.0).max(1.0));
    let (from, to) = (middle - half, middle + half);
    line(out, "bar", (from, to), (MIDDLE, MIDDLE));
    line(out, "end", (from, from), (MIDDLE - 6.0, MIDDLE + 6.0));
    line(out, "end", (to, to), (MIDDLE - 6.0, MIDDLE + 6.0));
}

fn line(out: &mut String, class: &str, x: (f64, f64), y: (f64, f64)) {
    let _ = write!(
        out,
        "<line class=\"{class}\" x1=\"{:.1}\" x2=\"{:.1}\" y1=\"{:.0}\" y2=\"{:.0}\"/>",
        x.0, x.1, y.0, y.1
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use trueplate_core::quantity::Dim;
    use trueplate_core::stats::coverage::Shape;
    use trueplate_core::uncertain::{Effect, Influence};

    fn mark(measured: &Value, limit: f64, trials: &[f64]) -> (String, String) {
        let unit = Dim::Power.kept_in();
        let (minimum, verdict) = (true, Verdict::Met);
        let mark = Mark { limit, minimum, measured, trials, verdict, unit, style: Style::POINT };
        (mark.svg(), mark.sentence())
    }

    #[test]
    fn claim_and_interval_are_both_in_sight() {
        // 1162 ± 9.016 W (u = 4.6 W, factor 1.96) against 1150 W: shown from 1150 to 1171.016 W and 22 % on either side,
        // so one watt is 220 / (21.016 · 1.44) = 7.2697; the claim stands at 0.22 / 1.44 · 220 = 33.6.
        let u = Influence::test("t", Effect::Stated, "");
        let value = Value::exact(Dim::Power, 1162.0).with(u, 4.6, Shape::Normal, f64::INFINITY);
        let (svg, sentence) = mark(&value, 1150.0, &[]);
        assert!(svg.contains("class=\"claim\" x1=\"33.6\" x2=\"33.6\""), "{svg}");
        // The bar from 1152.984 W: 33.61 + 2.984 · 7.2697 = 55.3, to 220 − 33.6 = 186.4.
        assert!(svg.contains("class=\"bar\" x1=\"55.3\" x2=\"186.4\""), "{svg}");
        assert_eq!(
            sentence,
            "Claimed: at least 1150 W. Measured: 1162 plus or minus 9 W with 95 % confidence. Verdict: met."
        );
        assert!(!svg.contains("style="));
    }

    #[test]
    fn unknown_uncertainty_is_a_point_not_a_bar() {
        let (svg, sentence) = mark(&Value::exact(Dim::Power, 1150.0), 1150.0, &[]);
        assert!(svg.contains("class=\"point\"") && !svg.contains("class=\"bar\""));
        assert!(sentence.contains("uncertainty not known") && !svg.contains("NaN"));
    }

    #[test]
    fn every_trial_is_drawn_and_counted() {
        let (svg, sentence) = mark(&Value::exact(Dim::Power, 900.0), 1000.0, &[1001.0, 1000.0, 900.0]);
        assert_eq!(svg.matches("class=\"trial").count(), 3);
        assert!(sentence.contains("1 of 3 trials beyond it, the worst 900 W"), "{sentence}");
    }
}
