//! Low-load switch-off: the outlet that switches itself off when little hangs on it.
//!
//! Formula: threshold = middle between the largest load that ended it and the smallest that did not.
//! Uncertainty: the distance between those two loads, any value alike; the meter.
//! Does not tell: whether another firmware still does so.
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Time};
use crate::reading::{Field, Many, Pick};
use crate::shown::{Style, duration_words, shown};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Uncertain};

/// The kind.
pub struct LowLoadSwitchOff;

static BELOW: Measurand<Power> =
    Measurand::new("switch-off-below", "Switches itself off below", "W", Better::Less)
        .formula("P = (P_ended + P_stayed)/2");
static AFTER: Measurand<Time> =
    Measurand::new("switch-off-after", "Time until it switches itself off", "min", Better::More)
        .formula("t as timed");

static OUTLET: Axis = Axis { key: "outlet", label: "outlet", values: &["AC", "12 V", "USB"] };
static OUTLET_FIELD: Field<Pick> = Field::choice(
    "outlet",
    "outlet",
    &[
        Choice { key: "AC", label: "the AC outlet" },
        Choice { key: "12 V", label: "the 12 V outlet" },
        Choice { key: "USB", label: "the USB outlets" },
    ],
)
.ask("Which outlet is tried?", "Each has its own rule: one test for each.");
static DELIVERED: Field<Pick> = Field::choice(
    "delivered",
    "as delivered",
    &[
        Choice { key: "on", label: "switched on as delivered" },
        Choice { key: "off", label: "switched off as delivered" },
    ],
)
.ask("Is this saving on or off as delivered?", "Look before changing anything in the menu.");
static DISABLE: Field<Pick> = Field::choice(
    "disable",
    "can be disabled",
    &[
        Choice { key: "can", label: "it can be switched off for good" },
        Choice { key: "cannot", label: "it cannot be switched off" },
        Choice { key: "not-tried", label: "not tried" },
    ],
)
.ask("Can it be disabled?", "Switch the station off and on again: does it stay disabled?");
static ENDED: Field<Many<Power>> = Field::list("ended", "loads that ended it", "W")
    .optional()
    .ask("With which loads did the outlet go off?", "Measured watts, spaces between: 2 6 10 14");
static STAYED: Field<Many<Power>> = Field::list("stayed", "loads that kept it on", "W")
    .optional()
    .ask("With which loads did it stay on?", "Wait at least twice the time it took to go off.");
static MINUTES: Field<Uncertain<Time>> = Field::quantity("minutes", "time until it went off", "min")
    .optional()
    .ask("How long after the load went on did it go off?", "With the smallest load.")
    .at_end();
static WATCHED: Field<Uncertain<Time>> = Field::quantity("watched", "longest time watched", "h")
    .optional()
    .ask("How long did you watch it stay on?", "The longest wait.")
    .at_end();

static SPEC: Spec = Spec {
    id: "low-load-switch-off",
    revision: 1,
    title: "Low-load switch-off",
    question: "Does it switch off a router or a small lamp by itself?",
    method: &[
        "Note whether the saving is on as delivered and whether the menu can disable it.",
        "Hang the smallest lamp on the outlet and wait until the outlet goes off; note how long it took.",
        "Repeat with larger loads until one keeps it on: lamps of 2 to 40 W do.",
        "Note the largest load that ended it and the smallest that did not. AC, 12 V and USB each on their own.",
    ],
    uncertainty: "The threshold lies anywhere between two loads tried; a step in between halves the doubt.",
    does_not_tell: "Loads that come and go: a fridge may rest longer than the station waits. Another firmware.",
    cautions: &["Waiting unwatched: nothing that burns within a metre, smoke alarm on, way out free."],
    attended: false,
    minutes: 300,
    fields: &[
        &OUTLET_FIELD.spec,
        &DELIVERED.spec,
        &DISABLE.spec,
        &ENDED.spec,
        &STAYED.spec,
        &MINUTES.spec,
        &WATCHED.spec,
    ],
    axes: &[&OUTLET],
    results: &[&BELOW.spec, &AFTER.spec],
};

impl Kind for LowLoadSwitchOff {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let outlet = run.get(&OUTLET_FIELD)?.0;
        out.on(&OUTLET, outlet);
        let by_size = |a: &Uncertain<Power>, b: &Uncertain<Power>| a.x().total_cmp(&b.x());
        let ended = run.get(&ENDED).and_then(|l| l.into_iter().max_by(by_size));
        let stayed = run.get(&STAYED).and_then(|l| l.into_iter().min_by(by_size));
        let Some(ended) = ended else {
            return never_ended(run, stayed, outlet, out);
        };
        out.step("P_ended", "largest load that ended it", "W", &ended);
        let mut words = format!("switches its {outlet} outlet off ");
        match stayed {
            Some(stayed) => {
                out.step("P_stayed", "smallest load that kept it on", "W", &stayed);
                let threshold = threshold(run, ended, stayed, out);
                let value = threshold.clone().value();
                words += &format!("below {}", shown(&value, BELOW.spec.shown_in(), Style::POINT).short());
                out.put(&BELOW, threshold);
            }
            None => {
                words += &format!("with {:.0} W", ended.x());
                out.findings.push(Finding::gap(
                    "no-load-kept-it-on",
                    STAYED.spec.key,
                    format!("every load tried ended it, up to {:.0} W", ended.x()),
                    "try a larger one until the outlet stays on",
                ));
            }
        }
        if let Some(minutes) = run.get(&MINUTES) {
            words += &format!(" after {}", duration_words(minutes.x()));
            out.put(&AFTER, minutes);
        }
        out.say_with("switch-off", "low-load switch-off", words + setting(run), as_data(run, "yes"));
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&OUTLET_FIELD.spec, "AC")
            .says(&DELIVERED.spec, "on")
            .says(&DISABLE.spec, "cannot")
            .reads(&ENDED.spec, "2 6 10 14", "meter")
            .reads(&STAYED.spec, "16 20", "meter")
            .says(&MINUTES.spec, "60 min")
            .says(&WATCHED.spec, "2 h")
    }
}

fn never_ended(run: &Run, stayed: Option<Uncertain<Power>>, outlet: &str, out: &mut Outcome) -> Option<()> {
    let Some(stayed) = stayed else {
        out.findings.push(Finding::gap(
            "no-loads-tried",
            ENDED.spec.key,
            "no load is entered, neither one that ended it nor one that kept it on".to_string(),
            "enter the loads that were tried",
        ));
        return None;
    };
    let time = run.get(&WATCHED).map_or_else(String::new, |t| format!(" for {}", duration_words(t.x())));
    out.step("P_stayed", "smallest load that kept it on", "W", &stayed);
    let words = format!("its {outlet} outlet stayed on with {:.1} W{time}", stayed.x());
    out.say_with("switch-off", "low-load switch-off", words + setting(run), as_data(run, "no"));
    Some(())
}

/// What a buyer's answer reckons with: whether it went off, whether it does so as delivered, whether that can be disabled.
fn as_data(run: &Run, ended: &'static str) -> Vec<(&'static str, &'static str)> {
    let delivered = run.get(&DELIVERED).map_or("on", |d| d.0);
    let disable = run.get(&DISABLE).map_or("not-tried", |d| d.0);
    vec![("ended", ended), ("delivered", delivered), ("disable", disable)]
}

/// Anywhere between the two loads, alike.
fn threshold(
    run: &Run,
    ended: Uncertain<Power>,
    stayed: Uncertain<Power>,
    out: &mut Outcome,
) -> Uncertain<Power> {
    if ended.x() >= stayed.x() {
        out.findings.push(Finding::doubt(
            "threshold-contradicts-itself",
            STAYED.spec.key,
            format!("{:.1} W ended it, yet {:.1} W kept it on", ended.x(), stayed.x()),
            "look at both lists; if true, it depends on what was on before: say so on the page",
        ));
    }
    let half = (stayed.x() - ended.x()).abs() / 2.0;
    let between = Influence::test(run.id(), Effect::Between, "");
    (ended + stayed).scaled(0.5).with(between, half / 3f64.sqrt(), Shape::Rectangular, f64::INFINITY)
}

fn setting(run: &Run) -> &'static str {
    let on = run.get(&DELIVERED).is_none_or(|d| d.0 == "on");
    match (on, run.get(&DISABLE).map_or("not-tried", |d| d.0)) {
        (true, "can") => "; on as delivered, can be disabled",
        (true, "cannot") => "; on as delivered, cannot be disabled",
        (true, _) => "; on as delivered",
        (false, "cannot") => "; off as delivered, once on it cannot be disabled",
        (false, _) => "; off as delivered",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn between_fourteen_and_sixteen_watts() {
        // Middle 15 W. Half-width 1 W: u = 1/√3 = 0.57735 W. Readings on one meter of ±1 %: gain 15·0.01/√3 =
        // 0.086603 W; steps of 0.1 W: 0.1/√12/√2 = 0.020412 W. Together √(0.333333 + 0.0075 + 0.000417) = 0.584166.
        let out = outcome(&LowLoadSwitchOff, &[]);
        let found = value(&out, "switch-off-below");
        assert!((found.x - 15.0).abs() < 1e-9 && (found.u() - 0.584_166).abs() < 1e-6);
        assert!((value(&out, "switch-off-after").x - 1.0).abs() < 1e-9, "kept in hours");
        let said =
            "switches its AC outlet off below 15.0 W after 60 min; on as delivered, cannot be disabled";
        assert_eq!(out.behaviours[0].text, said);
    }
    #[test]
    fn one_that_never_goes_off_is_a_behaviour_without_a_number() {
        let out = outcome(&LowLoadSwitchOff, &[("ended", ""), ("minutes", ""), ("delivered", "off")]);
        assert!(out.results.is_empty());
        assert!(out.behaviours[0].text.starts_with("its AC outlet stayed on with 16.0 W for "));
    }
    #[test]
    fn without_a_load_that_kept_it_on_there_is_no_threshold() {
        let out = outcome(&LowLoadSwitchOff, &[("stayed", "")]);
        assert!(codes(&out).contains(&"no-load-kept-it-on"));
        assert!(out.results.iter().all(|r| r.result.key != "switch-off-below"));
        let crossed = outcome(&LowLoadSwitchOff, &[("stayed", "9 20")]);
        assert!(codes(&crossed).contains(&"threshold-contradicts-itself"));
    }
}
