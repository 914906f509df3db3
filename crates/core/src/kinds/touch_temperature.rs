//! Touch temperature: how hot it gets where a hand rests, carried to a room of 25 °C.
//!
//! Formula: T₂₅ = T_surface − T_air + 25 °C.
//! Uncertainty: both thermometers; with one for both its fixed part cancels.
//! Does not tell: a warmer cupboard, or sun on the case.
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Temperature, Time};
use crate::questions::AMBIENT;
use crate::reading::{Field, Pick};
use crate::uncertain::Uncertain;

/// The kind.
pub struct TouchTemperature;

static TOUCH: Measurand<Temperature> =
    Measurand::new("touch-temperature", "Touch temperature in a room of 25 °C", "°C", Better::Less)
        .formula("T₂₅ = T_surface − T_air + 25")
        .varies();

static PLACE: Axis =
    Axis { key: "place", label: "place", values: &["top", "handle", "vents", "plug", "bottom"] };
static PLACE_FIELD: Field<Pick> = Field::choice(
    "place",
    "place",
    &[
        Choice { key: "top", label: "top or side of the case, the hottest spot" },
        Choice { key: "handle", label: "handle" },
        Choice { key: "vents", label: "beside the vents" },
        Choice { key: "plug", label: "plug in the outlet" },
        Choice { key: "bottom", label: "bottom" },
    ],
)
.ask("Where?", "One test for each place.");
static MATERIAL: Field<Pick> = Field::choice(
    "material",
    "material there",
    &[
        Choice { key: "plastic", label: "plastic or rubber" },
        Choice { key: "metal", label: "metal" },
        Choice { key: "glass", label: "glass" },
    ],
)
.ask("What is it made of there?", "");
static WITH: Field<Pick> = Field::choice(
    "thermometer",
    "thermometer",
    &[
        Choice { key: "contact", label: "thermocouple or other contact, taped on" },
        Choice { key: "infrared", label: "infrared, on a dull patch or plastic" },
        Choice { key: "infrared-bare", label: "infrared, on bare metal" },
    ],
)
.ask("What was it read with?", "Bare metal fools an infrared thermometer: stick a patch of tape on it.");
static SURFACE: Field<Uncertain<Temperature>> = Field::quantity("surface", "surface", "°C")
    .ask("How hot is it there?", "At the end, after 30 minutes at full power.")
    .at_end();
static MINUTES: Field<Uncertain<Time>> = Field::quantity("minutes", "time at full power", "min")
    .ask("How long had it run at full power?", "30 minutes, or until it is empty.")
    .at_end();

static SPEC: Spec = Spec {
    id: "touch-temperature",
    revision: 1,
    title: "Touch temperature",
    question: "Does it get too hot to touch?",
    method: &[
        "Full power for 30 minutes. Thermocouples taped to the top, beside the vents, at handle and plug.",
        "Air at the bench read half a metre away, out of the fan's stream.",
        "Read all at the end, before the load goes off.",
    ],
    uncertainty: "Both thermometers, and whether the hottest spot was found.",
    does_not_tell: "A warmer cupboard, sun on the case. The inside.",
    cautions: &[
        "Find hot spots with a thermometer, not with the hand. Stop at smell, or a plug above 70 °C.",
        "Heaters in clear space, somebody in the room.",
    ],
    attended: true,
    minutes: 45,
    fields: &[&PLACE_FIELD.spec, &MATERIAL.spec, &WITH.spec, &AMBIENT.spec, &MINUTES.spec, &SURFACE.spec],
    axes: &[&PLACE],
    results: &[&TOUCH.spec],
};

/// Plastic touched for 1 to 10 s: limit of IEC 62368-1, table 38, evaluated at 25 °C.
const PLASTIC_C: f64 = 77.0;
/// A plug this hot ends the test (common practice).
const PLUG_C: f64 = 70.0;

impl Kind for TouchTemperature {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let place = run.get(&PLACE_FIELD)?.0;
        out.on(&PLACE, place);
        let surface = run.get(&SURFACE)?;
        out.read("T_surface", &SURFACE.spec, &surface);
        if place == "plug" && surface.x() > PLUG_C {
            out.findings.push(Finding::doubt(
                "plug-too-hot",
                SURFACE.spec.key,
                format!("DANGER: the plug was {:.0} °C", surface.x()),
                "stop; look for a worn plug or outlet before going on",
            ));
        }
        let Some(air) = run.get(&AMBIENT) else {
            out.findings.push(Finding::gap(
                "no-air-temperature",
                AMBIENT.spec.key,
                "air at the bench is missing".to_string(),
                "without it the surface cannot be carried to a room of 25 °C",
            ));
            return None;
        };
        out.read("T_air", &AMBIENT.spec, &air);
        if run.get(&WITH)?.0 == "infrared-bare" {
            out.findings.push(Finding::doubt(
                "bare-metal",
                WITH.spec.key,
                "an infrared thermometer reads bare metal too cool".to_string(),
                "stick a patch of dull tape on it, wait a minute, read again",
            ));
        }
        if run.get(&MINUTES).is_some_and(|t| t.x() < 0.45) {
            out.findings.push(Finding::doubt(
                "not-warm-yet",
                MINUTES.spec.key,
                "less than half an hour at full power".to_string(),
                "wait 30 minutes, or until it is empty",
            ));
        }
        let touch = surface - air + Uncertain::exact(25.0);
        if run.get(&MATERIAL)?.0 == "plastic" {
            let side = if touch.x() > PLASTIC_C { "above" } else { "below" };
            let words = format!(
                "{:.0} °C ({place}) in a room of 25 °C: {side} {PLASTIC_C:.0} °C, the limit for plastic touched for 1 to 10 s",
                touch.x()
            );
            out.say("touch", "touch temperature", words);
        }
        out.put(&TOUCH, touch);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&PLACE_FIELD.spec, "top")
            .says(&MATERIAL.spec, "plastic")
            .says(&WITH.spec, "contact")
            .reads(&AMBIENT.spec, "24.0 °C", "thermocouple")
            .says(&MINUTES.spec, "30 min")
            .reads(&SURFACE.spec, "45.0 °C", "thermocouple")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn carried_to_a_room_of_25_degrees() {
        // 52.3 °C at 31 °C in the room: 46.3 °C. One thermocouple for both: two steps of 0.1 K, 0.1/√6 = 0.0408 K.
        let out = outcome(&TouchTemperature, &[("surface", "52.3 °C"), ("ambient", "31 °C")]);
        let touch = value(&out, "touch-temperature");
        assert!((touch.x - 46.3).abs() < 1e-9 && (touch.u() - 0.040_825).abs() < 1e-6);
        assert!(out.behaviours[0].text.contains("below 77 °C"));
    }
    #[test]
    fn hot_plastic_a_hot_plug_and_bare_metal_are_named() {
        assert!(outcome(&TouchTemperature, &[("surface", "80 °C")]).behaviours[0].text.contains("above 77"));
        let plug = outcome(&TouchTemperature, &[("surface", "75 °C"), ("place", "plug")]);
        assert!(codes(&plug).contains(&"plug-too-hot"));
        let bare = outcome(&TouchTemperature, &[("thermometer", "infrared-bare"), ("ambient", "")]);
        assert!(bare.results.is_empty() && codes(&bare).contains(&"no-air-temperature"));
    }
}
