//! Earth and neutral: how the AC outlet is wired inside, and whether a residual-current device acts.
//!
//! Formula: none; what was seen is written down.
//! Uncertainty: none; a plug-in tester can misreport on an outlet without earth.
//! Does not tell: whether a given wiring is allowed where you live.
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Example, Kind, Outcome, Run, Spec};
use crate::reading::{Field, Pick};

/// The kind.
pub struct EarthNeutral;

static NEUTRAL: Field<Pick> = Field::choice(
    "neutral",
    "neutral and earth",
    &[
        Choice { key: "floating", label: "not joined: the neutral floats" },
        Choice { key: "bonded", label: "joined: the neutral is bonded to earth" },
        Choice { key: "changes", label: "joined only while the mains are plugged in" },
        Choice { key: "unclear", label: "cannot be told" },
    ],
)
.ask(
    "Is neutral joined to the earth pin?",
    "Switched off and unplugged: resistance between the two at the outlet.",
);
static FOUND_BY: Field<Pick> = Field::choice(
    "found_by",
    "found by",
    &[
        Choice { key: "resistance", label: "meter, station switched off and unplugged" },
        Choice { key: "tester", label: "plug-in outlet tester" },
        Choice { key: "booklet", label: "its booklet says so" },
    ],
)
.ask("How was it found?", "");
static RCD: Field<Pick> = Field::choice(
    "rcd",
    "residual-current device",
    &[
        Choice { key: "trips", label: "has one; its test button trips it" },
        Choice { key: "fails", label: "has one; its test button does nothing" },
        Choice { key: "none", label: "has none" },
        Choice { key: "not-tried", label: "not tried" },
    ],
)
.ask(
    "Does it have a residual-current device that trips at its test button?",
    "Press the button on the station only.",
);

static SPEC: Spec = Spec {
    id: "earth-neutral",
    revision: 1,
    title: "Earth and neutral",
    question: "How is its outlet earthed inside?",
    method: &[
        "Station off, everything unplugged. Resistance between neutral and earth at its outlet: near nothing, or open.",
        "Repeat with the charger plugged in only if the booklet describes it.",
        "If it has a test button for its residual-current device, press it and see whether the outlet goes dead.",
    ],
    uncertainty: "What was seen is written down. A plug-in tester can misreport where nothing is joined to earth.",
    does_not_tell: "Whether it may be connected to a building: local rules and a licensed electrician decide.",
    cautions: &[
        "Measure resistance only with the station off and unplugged. Never open it.",
        "Never plug its outlet into a house. A transfer switch is fitted by a licensed electrician.",
        "With a floating neutral a first fault trips nothing: one earthed device at a time, undamaged cords.",
        "Do not make faults on purpose to see whether something trips.",
    ],
    attended: true,
    minutes: 10,
    fields: &[&NEUTRAL.spec, &FOUND_BY.spec, &RCD.spec],
    axes: &[],
    results: &[],
};

impl Kind for EarthNeutral {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let (neutral, by) = (run.get(&NEUTRAL)?.0, run.get(&FOUND_BY)?.0);
        let words = match neutral {
            "floating" => "neutral and earth are not joined",
            "bonded" => "neutral is joined to earth",
            "changes" => "neutral is joined to earth only while the mains are plugged in",
            _ => "whether neutral is joined to earth could not be told",
        };
        let how = match by {
            "resistance" => "measured, switched off",
            "tester" => "by a plug-in tester",
            _ => "by its booklet",
        };
        out.say("neutral", "earth and neutral", format!("{words} ({how})"));
        if by == "tester" {
            out.findings.push(Finding::note(
                "tester-can-misreport",
                FOUND_BY.spec.key,
                "a plug-in tester can misreport where nothing is joined to earth".to_string(),
                "measure the resistance with the station off and unplugged",
            ));
        }
        let words = match run.get(&RCD)?.0 {
            "trips" => "its residual-current device trips at its test button",
            "none" => "it has no residual-current device",
            "fails" => {
                out.findings.push(Finding::doubt(
                    "rcd-does-not-trip",
                    RCD.spec.key,
                    "DANGER: the test button of its residual-current device does nothing".to_string(),
                    "do not use its outlets until the maker has answered; warn on the page",
                ));
                "the test button of its residual-current device does nothing"
            }
            _ => return Some(()),
        };
        out.say("rcd", "residual-current device", words);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&NEUTRAL.spec, "floating")
            .says(&FOUND_BY.spec, "resistance")
            .says(&RCD.spec, "none")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome};
    #[test]
    fn what_was_seen_is_said() {
        let out = outcome(&EarthNeutral, &[]);
        let said: Vec<_> = out.behaviours.iter().map(|b| (b.key, b.text.as_str())).collect();
        assert_eq!(
            said,
            [
                ("neutral", "neutral and earth are not joined (measured, switched off)"),
                ("rcd", "it has no residual-current device"),
            ]
        );
    }
    #[test]
    fn a_device_that_does_not_trip_is_a_danger() {
        let out = outcome(&EarthNeutral, &[("rcd", "fails"), ("found_by", "tester")]);
        assert!(codes(&out).contains(&"rcd-does-not-trip") && codes(&out).contains(&"tester-can-misreport"));
    }
}
