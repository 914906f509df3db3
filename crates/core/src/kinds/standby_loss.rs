//! Standby loss: what is gone after weeks on the shelf.
//!
//! Formula: l = (1 − E_left/E_fresh)·30 d/t.
//! Uncertainty: two discharges; the longer it stood, the smaller the doubt per month.
//! Does not tell: the charge it shows; a warmer attic.
use crate::discharge::{elapsed, step_check};
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Dim, Energy, Ratio};
use crate::questions::{AMBIENT, CAUSE, START_STATE, start_doubt};
use crate::reading::{Field, Pick};
use crate::stamp::Stamp;
use crate::uncertain::{Uncertain, Value};

/// The kind.
pub struct StandbyLoss;

static LOSS: Measurand<Ratio> =
    Measurand::new("standby-loss", "Lost on the shelf in 30 days", "%", Better::Less)
        .formula("l = (1 − E_left/E_fresh)·30 d/t")
        .varies();

static STATE: Axis = Axis { key: "state", label: "state", values: &["off", "app on", "AC off, on"] };
static STATE_FIELD: Field<Pick> = Field::choice(
    "state",
    "state on the shelf",
    &[
        Choice { key: "off", label: "off: display dark, radio off" },
        Choice { key: "app on", label: "off, but an app can still reach it" },
        Choice { key: "AC off, on", label: "on, all outlets off" },
    ],
)
.ask("In which state did it stand?", "A radio that listens takes more than the cells lose.");
static FROM: Field<Stamp> =
    Field::stamp("from", "put away").ask("When was it put away, full?", "With the date.");
static TO: Field<Stamp> = Field::stamp("to", "taken out")
    .ask("When was it taken out?", "With the date; the discharge follows at once.")
    .at_end();
static FRESH: Field<Uncertain<Energy>> =
    Field::quantity("fresh", "energy out when fresh from the charger", "Wh").ask(
        "How much comes out when it is fresh from the charger?",
        "Same load, same meter: from the test of usable energy.",
    );
static LEFT: Field<Uncertain<Energy>> = Field::quantity("left", "energy out afterwards", "Wh")
    .ask("How much came out afterwards?", "The counter reset; to the outlet's own end.")
    .at_end();

static SPEC: Spec = Spec {
    id: "standby-loss",
    revision: 1,
    title: "Loss on the shelf",
    question: "Is it still full when I need it after a month?",
    method: &[
        "Charge until the charger stops by itself, rest 30 minutes. Off; note whether the radio stays on.",
        "Leave it at room temperature for 30 days; a week at least.",
        "Then empty it as for usable energy, same load and meter. The charge shown is too coarse for this.",
    ],
    uncertainty: "Two discharges of half a per cent each: after a week that is three per cent of a month, after a month less than one.",
    does_not_tell: "Loss in a warm attic: about twice as much for every ten degrees. Loss after years.",
    cautions: &[
        "Stored full and alone: nothing that burns within a metre, smoke alarm on.",
        "A station left empty may not come back: recharge soon after the discharge.",
    ],
    attended: false,
    minutes: 43200,
    fields: &[
        &STATE_FIELD.spec,
        &START_STATE.spec,
        &AMBIENT.spec,
        &FRESH.spec,
        &FROM.spec,
        &TO.spec,
        &LEFT.spec,
        &CAUSE.spec,
    ],
    axes: &[&STATE],
    results: &[&LOSS.spec],
};

/// Below this the run-to-run difference is larger than the loss, in h (common practice: a week).
const WEEK_H: f64 = 168.0;

impl Kind for StandbyLoss {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&STATE, run.get(&STATE_FIELD)?.0);
        let hours = elapsed(run, &FROM, &TO, out)?;
        out.step("t", "time on the shelf", "d", &hours);
        let (fresh, left) = (run.get(&FRESH)?, run.get(&LEFT)?);
        out.read("E_fresh", &FRESH.spec, &fresh);
        out.read("E_left", &LEFT.spec, &left);
        let unfit = if start_doubt(run.get(&START_STATE)?.0).is_none() {
            Some((START_STATE.spec.key, "it was not full when it was put away"))
        } else if run.get(&CAUSE)?.0 != "empty" {
            Some((CAUSE.spec.key, "the discharge did not end because the battery was empty"))
        } else if fresh.x() <= 0.0 {
            Some((FRESH.spec.key, "nothing came out when it was fresh"))
        } else {
            None
        };
        if let Some((place, text)) = unfit {
            let hint = "a loss needs a full start, an empty end and a fresh discharge to compare with";
            out.findings.push(Finding::gap("no-loss-from-this", place, text, hint));
            return None;
        }
        if hours.x() < WEEK_H {
            out.findings.push(Finding::doubt(
                "too-short-on-the-shelf",
                TO.spec.key,
                format!("{:.1} days on the shelf", hours.x() / 24.0),
                "a week at least, better 30 days: two discharges differ by more than a few days lose",
            ));
        }
        step_check(&LEFT, &left, left.x(), out);
        let kept = left / fresh;
        if kept.x() > 1.02 {
            out.findings.push(Finding::doubt(
                "more-than-fresh",
                LEFT.spec.key,
                format!("{:.0} % of what came out fresh", kept.x() * 100.0),
                "look at both energies; both must have the same load and meter",
            ));
        }
        let months = hours.x() / 720.0;
        let loss = (1.0 - kept.x()) / months;
        let slopes = [(&kept.value(), -1.0 / months), (&hours.clone().value(), -loss / hours.x())];
        out.put(&LOSS, Value::of(Dim::Ratio, loss, &slopes).typed()?);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&STATE_FIELD.spec, "off")
            .says(&START_STATE.spec, "full-rested")
            .reads(&FRESH.spec, "900 Wh", "meter")
            .says(&FROM.spec, "2026-04-01 09:00")
            .says(&TO.spec, "2026-05-01 09:00")
            .reads(&LEFT.spec, "885 Wh", "meter")
            .says(&CAUSE.spec, "empty")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn fifteen_of_nine_hundred_in_thirty_days() {
        // 1 − 885/900 = 1.6667 % in 30 days; in 45 days it would be 1.1111 % per 30 days.
        let month = outcome(&StandbyLoss, &[]);
        assert!((value(&month, "standby-loss").x - 0.016_667).abs() < 1e-6);
        // Gain cancels; steps of 1 Wh: 0.98333·0.288675·√(1/885² + 1/900²) = 0.0450 %.
        assert!((value(&month, "standby-loss").u() - 0.000_450).abs() < 1e-6);
        let longer = outcome(&StandbyLoss, &[("to", "2026-05-16 09:00")]);
        assert!((value(&longer, "standby-loss").x - 0.011_111).abs() < 1e-6);
    }
    #[test]
    fn a_few_days_are_doubted_and_a_start_that_was_not_full_gives_nothing() {
        assert!(
            codes(&outcome(&StandbyLoss, &[("to", "2026-04-04 09:00")])).contains(&"too-short-on-the-shelf")
        );
        let part = outcome(&StandbyLoss, &[("start_state", "not-full")]);
        assert!(part.results.is_empty() && codes(&part).contains(&"no-loss-from-this"));
    }
}
