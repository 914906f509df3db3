//! Noise: the level at one metre, the room's own taken off.
//!
//! Formula: L = 10 lg(10^(L_all/10) − 10^(L_room/10)) from 3 to 10 dB above the room; above 10 dB as read.
//! Uncertainty: the meter; near the room's level the difference makes it larger, by 1/(1 − 10^(−ΔL/10)).
//! Does not tell: whether the sound annoys; another room.
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Dim, Length, Level};
use crate::questions::AMBIENT;
use crate::reading::{Field, Pick};
use crate::uncertain::{Uncertain, Value};

/// The kind.
pub struct Noise;

static NOISE: Measurand<Level> = Measurand::new("noise", "Noise", "dB(A)", Better::Less)
    .formula("L = 10 lg(10^(L_all/10) − 10^(L_room/10))")
    .varies();

static STATE: Axis =
    Axis { key: "state", label: "state", values: &["half load", "full load", "charging", "off-fan"] };
static STATE_FIELD: Field<Pick> = Field::choice(
    "state",
    "state",
    &[
        Choice { key: "half load", label: "half of its power" },
        Choice { key: "full load", label: "nearly its full power" },
        Choice { key: "charging", label: "charging as delivered" },
        Choice { key: "off-fan", label: "on, the fan off" },
    ],
)
.ask("What does it do?", "The load stands in another room: its fan is not meant.");
static BEFORE: Field<Uncertain<Level>> = Field::quantity("background_before", "room alone, before", "dB(A)")
    .ask("How loud is the room alone?", "Station off. Mean of 30 seconds, A-weighted.");
static ALL: Field<Uncertain<Level>> = Field::quantity("level", "level with the station", "dB(A)").ask(
    "How loud is it with the station?",
    "At one metre, mean of 30 seconds, the fan at its steady speed.",
);
static AFTER: Field<Uncertain<Level>> = Field::quantity("background_after", "room alone, after", "dB(A)")
    .optional()
    .ask("How loud is the room alone now?", "")
    .at_end();
static DISTANCE: Field<Uncertain<Length>> = Field::quantity("distance", "distance", "m")
    .optional()
    .ask("How far is the microphone?", "1 m unless you write another.");

static SPEC: Spec = Spec {
    id: "noise",
    revision: 1,
    title: "Noise",
    question: "How loud is it beside the bed or the desk?",
    method: &[
        "Quiet room, load in another room. Sound meter at one metre, at the height of the station's middle, A-weighted.",
        "Room alone, then with the station, then the room alone again; 30 seconds each.",
        "States: on with the fan off, half load, full load, charging. Note when the fan starts and stops.",
    ],
    uncertainty: "The meter's class; close to the room's level the doubt is doubled.",
    does_not_tell: "Whether the sound annoys. Another room. A telephone is no sound meter.",
    cautions: &["Load in clear space with somebody near it, though it stands in another room."],
    attended: true,
    minutes: 30,
    fields: &[&STATE_FIELD.spec, &DISTANCE.spec, &AMBIENT.spec, &BEFORE.spec, &ALL.spec, &AFTER.spec],
    axes: &[&STATE],
    results: &[&NOISE.spec],
};

/// Differences in dB between which the room is taken off (practice of ISO 3746, from memory).
const TAKEN_OFF: (f64, f64) = (3.0, 10.0);
/// Levels in dB(A) a bench can hold.
const BELIEVED: std::ops::RangeInclusive<f64> = 5.0..=130.0;

impl Kind for Noise {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let state = run.get(&STATE_FIELD)?.0;
        out.on(&STATE, state);
        if let Some(d) = run.get(&DISTANCE).filter(|d| (d.x() - 100.0).abs() > 5.0) {
            out.condition.insert("distance".into(), format!("{:.0} cm", d.x()));
        }
        let (all, before) = (run.get(&ALL)?, run.get(&BEFORE)?);
        let after = run.get(&AFTER);
        out.read("L_all", &ALL.spec, &all);
        let read = [Some(&all), Some(&before), after.as_ref()];
        if let Some(odd) = read.into_iter().flatten().find(|l| !BELIEVED.contains(&l.x())) {
            out.findings.push(Finding::gap(
                "level-out-of-range",
                ALL.spec.key,
                format!("{:.1} dB(A) is no level of a room", odd.x()),
                "look at the three readings",
            ));
            return None;
        }
        let room = background(before, after, out);
        out.step("L_room", "room alone", "dB(A)", &room);
        let above = all.x() - room.x();
        if above < TAKEN_OFF.0 - 1e-9 {
            out.findings.push(Finding::gap(
                "only-an-upper-limit",
                ALL.spec.key,
                format!("only {above:.1} dB above the room: it is not louder than {:.1} dB(A)", all.x()),
                "repeat in a quieter room or at night",
            ));
            out.say("noise-at-most", "noise", format!("at most {:.1} dB(A), {state}", all.x()));
            return None;
        }
        let alone = if above > TAKEN_OFF.1 + 1e-9 { all } else { without(all, room) };
        out.step("L", "station alone", "dB(A)", &alone);
        out.put(&NOISE, alone);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&STATE_FIELD.spec, "half load")
            .reads(&BEFORE.spec, "30.0 dB(A)", "sound")
            .reads(&ALL.spec, "36.0 dB(A)", "sound")
            .reads(&AFTER.spec, "30.0 dB(A)", "sound")
    }
}

/// Mean of sound energy before and after.
fn background(
    before: Uncertain<Level>,
    after: Option<Uncertain<Level>>,
    out: &mut Outcome,
) -> Uncertain<Level> {
    let Some(after) = after else { return before };
    if (before.x() - after.x()).abs() > 3.0 {
        out.findings.push(Finding::doubt(
            "room-changed",
            AFTER.spec.key,
            format!("the room was {:.1} dB(A) before and {:.1} after", before.x(), after.x()),
            "repeat when the room is steady",
        ));
    }
    let (a, b) = (10f64.powf(before.x() / 10.0), 10f64.powf(after.x() / 10.0));
    let mean = 10.0 * ((a + b) / 2.0).log10();
    let slopes = [(&before.clone().value(), a / (a + b)), (&after.value(), b / (a + b))];
    Value::of(Dim::Level, mean, &slopes).typed().unwrap_or(before)
}

/// The room taken off. Slopes: 1/(1 − q) and −q/(1 − q) with q = 10^(−ΔL/10); a meter's fixed error stays whole.
fn without(all: Uncertain<Level>, room: Uncertain<Level>) -> Uncertain<Level> {
    let q = 10f64.powf((room.x() - all.x()) / 10.0);
    let alone = all.x() + 10.0 * (1.0 - q).log10();
    let slopes = [(&all.clone().value(), 1.0 / (1.0 - q)), (&room.value(), -q / (1.0 - q))];
    Value::of(Dim::Level, alone, &slopes).typed().unwrap_or(all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    use crate::stats::coverage::Shape;
    use crate::uncertain::{Effect, Influence};

    fn over(level: &str, room: &str) -> Outcome {
        outcome(&Noise, &[("level", level), ("background_before", room), ("background_after", "")])
    }
    #[test]
    fn the_room_is_taken_off() {
        // K₁ = −10 lg(1 − 10^(−0.1 ΔL)): 3 dB → 3.0206, 4 → 2.2048, 6 → 1.2563, 10 → 0.4576 dB; and 45 over 38 is 44.0335.
        for (level, room, alone) in [
            ("33", "30", 33.0 - 3.020_624_399),
            ("34", "30", 34.0 - 2.204_808_305),
            ("36", "30", 36.0 - 1.256_275_775),
            ("40", "30", 40.0 - 0.457_574_906),
            ("45", "38", 44.0335),
            ("41", "30", 41.0),
        ] {
            let got = value(&over(level, room), "noise").x;
            assert!((got - alone).abs() < 5e-5, "{level} over {room}: {got}");
        }
        // 32.2 over 27.5 is 30.4 to the printed digit.
        assert!((value(&over("32.2", "27.5"), "noise").x - 30.4).abs() < 0.05);
    }
    #[test]
    fn the_doubt_doubles_three_decibels_above_the_room() {
        // 45 over 42: slopes 2.005 and −1.005; 0.5 dB each, independent: √(1.0025² + 0.5025²) = 1.12 dB.
        let reading = |x: f64, of: &str| {
            let influence = Influence::test(of, Effect::Stated, "");
            Uncertain::<Level>::exact(x).with(influence, 0.5, Shape::Normal, f64::INFINITY)
        };
        let alone = without(reading(45.0, "all"), reading(42.0, "room")).value();
        assert!((alone.x - 41.979).abs() < 5e-4 && (alone.u() - 1.12).abs() < 5e-3);
        // One meter for both: its fixed ±1.4 dB stays 1.4/√3 = 0.8083 dB, whatever is taken off.
        assert!((value(&over("33", "30"), "noise").u() - 0.8083).abs() < 0.01);
    }
    #[test]
    fn below_three_decibels_only_an_upper_limit_is_said() {
        let out = over("33.7", "31");
        assert!(out.results.is_empty() && codes(&out).contains(&"only-an-upper-limit"));
        assert_eq!(out.behaviours[0].text, "at most 33.7 dB(A), half load");
    }
    #[test]
    fn the_room_before_and_after_is_averaged_in_energy() {
        // Energy mean of 40 and 44 dB: 42.445 dB.
        let answers = [("level", "60"), ("background_before", "40"), ("background_after", "44")];
        let out = outcome(&Noise, &answers);
        assert!(out.steps.iter().any(|s| s.symbol == "L_room" && (s.value.x - 42.445).abs() < 5e-4));
        assert!(codes(&out).contains(&"room-changed"));
    }
}
