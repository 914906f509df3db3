//! The charge shown against the energy really left.
//!
//! Formula: left = 1 − R/R_end at each look; error = shown − left, in points.
//! Uncertainty: the display's step of 1 %; the meter's share of reading cancels.
//! Does not tell: another load; the display after months without a full charge.
use crate::finding::Finding;
use crate::kind::{Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::pairs::paired;
use crate::quantity::{Energy, Ratio};
use crate::questions::{AMBIENT, LOAD, SHOWN_AT_END};
use crate::reading::{Field, Many};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Uncertain};

/// The kind.
pub struct ChargeDisplay;

static ERROR: Measurand<Ratio> =
    Measurand::new("display-error", "Charge shown is off by up to", "%", Better::Less)
        .formula("max |shown − (1 − R/R_end)|");
static DIED: Measurand<Ratio> =
    Measurand::new("display-at-end", "Charge shown when it died", "%", Better::Less).formula("as shown");
static AT_ONE: Measurand<Ratio> =
    Measurand::new("left-at-one", "Energy left when 1 % is shown first", "%", Better::Less)
        .formula("1 − R/R_end");

static SHOWN: Field<Many<Ratio>> = Field::list("shown", "charge shown", "%").ask(
    "What charge did it show, look by look?",
    "Every 5 %, at the moment the number changes, and when 1 % comes.",
);
static COUNTER: Field<Many<Energy>> = Field::list("counter", "counter at that moment", "Wh")
    .ask("What did the energy counter show at each?", "In the same order; photos of both together do.");
static WHOLE: Field<Uncertain<Energy>> = Field::quantity("counter_end", "counter when it went off", "Wh")
    .ask("What did the counter show when the outlet went off?", "")
    .at_end();

static SPEC: Spec = Spec {
    id: "charge-display",
    revision: 1,
    title: "Charge display",
    question: "Can I trust the charge it shows?",
    method: &[
        "Full and rested. Steady load at half power, counter reset.",
        "Every 5 % a photo of display and counter together, at the moment the number changes.",
        "On to the end: when 1 % comes, and what it shows when the outlet goes off.",
    ],
    uncertainty: "The display shows whole per cent. The meter's share of reading cancels.",
    does_not_tell: "Another load. What it shows after months without a full charge.",
    cautions: &["Heater in clear space, somebody in the room; plug it straight into the meter."],
    attended: true,
    minutes: 120,
    fields: &[&AMBIENT.spec, &LOAD.spec, &SHOWN.spec, &COUNTER.spec, &WHOLE.spec, &SHOWN_AT_END.spec],
    axes: &[],
    results: &[&ERROR.spec, &DIED.spec, &AT_ONE.spec],
};

impl Kind for ChargeDisplay {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        if let Some(died) = run.get(&SHOWN_AT_END) {
            if died.x() >= 0.05 {
                out.say(
                    "display-at-end",
                    "charge display",
                    format!("went off with {:.0} % shown", died.x() * 100.0),
                );
            }
            out.put(&DIED, whole_percent(run, "shown_at_end", died));
        }
        let (rows, whole) = (paired(run, &SHOWN, &COUNTER, out)?, run.get(&WHOLE)?);
        out.read("R_end", &WHOLE.spec, &whole);
        if whole.x() <= 0.0 || rows.iter().any(|(_, r)| r.x() > whole.x() * 1.001) {
            out.findings.push(Finding::gap(
                "counter-beyond-end",
                COUNTER.spec.key,
                "a counter reading is larger than the one at the end, or the end is 0".to_string(),
                "look at the readings and their units",
            ));
            return None;
        }
        if rows.windows(2).any(|w| w[1].1.x() < w[0].1.x() || w[1].0.x() > w[0].0.x()) {
            out.findings.push(Finding::doubt(
                "looks-out-of-order",
                COUNTER.spec.key,
                "the counter falls or the charge shown rises from one look to the next".to_string(),
                "look at the order of both lists; if true, the display jumps: say so on the page",
            ));
        }
        let left = |r: &Uncertain<Energy>| Uncertain::exact(1.0) - r.clone() / whole.clone();
        let errors = rows.iter().enumerate().map(|(i, (shown, r))| {
            let shown = whole_percent(run, &format!("shown/{i}"), shown.clone());
            (shown.x(), shown - left(r))
        });
        let (at, worst) = errors.max_by(|a, b| a.1.x().abs().total_cmp(&b.1.x().abs()))?;
        let more = if worst.x() < 0.0 { "more is left than shown" } else { "less is left than shown" };
        let words =
            format!("off by {:.1} points at {:.0} % shown: {more}", worst.x().abs() * 100.0, at * 100.0);
        out.say("display-error", "charge display", words);
        out.put(&ERROR, if worst.x() < 0.0 { worst.scaled(-1.0) } else { worst });
        if let Some((_, r)) = rows.iter().find(|(s, _)| s.x() < 0.015) {
            let left = left(r);
            out.say(
                "left-at-one",
                "charge display",
                format!("{:.1} % of the energy is left at 1 % shown", left.x() * 100.0),
            );
            out.put(&AT_ONE, left);
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&SHOWN.spec, "90 70 50 30 10 1")
            .reads(&COUNTER.spec, "92 272 451 625 810 882 Wh", "meter")
            .reads(&WHOLE.spec, "900 Wh", "meter")
            .says(&SHOWN_AT_END.spec, "0 %")
    }
}

/// The display shows whole per cent: half a point each way, unless an instrument said more.
fn whole_percent(run: &Run, look: &str, shown: Uncertain<Ratio>) -> Uncertain<Ratio> {
    let step = Influence::test(&format!("{}/{look}", run.id()), Effect::Step, "charge shown");
    shown.with(step, 0.01 / 12f64.sqrt(), Shape::Rectangular, f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn six_per_cent_left_at_one_per_cent_shown() {
        // A display that falls to 1 % with 6 % of 1805 Wh left: 1805·0.94 = 1696.7 Wh delivered then.
        let answers = [("shown", "80 50 20 1"), ("counter", "361 902 1444 1696.7"), ("counter_end", "1805")];
        let out = outcome(&ChargeDisplay, &answers);
        assert!((value(&out, "left-at-one").x - 0.06).abs() < 1e-9);
        let error = value(&out, "display-error");
        assert!((error.x - 0.05).abs() < 1e-9);
        // 1 % step: 0.288675 points; steps of 1 Wh on 1805: √(1² + 0.94²)·0.288675/1805 = 0.02195 points.
        assert!((error.u() - 0.002_895).abs() < 1e-6, "{}", error.u());
    }
    #[test]
    fn a_station_that_dies_at_eleven_per_cent_says_so() {
        let out = outcome(&ChargeDisplay, &[("shown_at_end", "11 %")]);
        assert_eq!(value(&out, "display-at-end").x, 0.11);
        assert!(out.behaviours.iter().any(|b| b.text == "went off with 11 % shown"));
    }
    #[test]
    fn a_counter_beyond_its_end_gives_nothing() {
        let out = outcome(&ChargeDisplay, &[("counter_end", "500")]);
        assert!(codes(&out).contains(&"counter-beyond-end"));
    }
}
