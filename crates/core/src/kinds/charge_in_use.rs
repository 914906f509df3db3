//! Charging while in use: whether the outlets work meanwhile, and what that costs at the wall.
//!
//! Formula: P_over = P_wall − P_load, once the charger is idle.
//! Uncertainty: with one meter for both most of its share of reading stays, for the difference is small.
//! Does not tell: whether it bears years of it.
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::quantity::{Power, Ratio};
use crate::questions::AMBIENT;
use crate::reading::{Field, Pick};
use crate::uncertain::Uncertain;

/// The kind.
pub struct ChargeInUse;

static OVERHEAD: Measurand<Power> =
    Measurand::new("in-use-overhead", "Takes for itself on the mains", "W", Better::Less)
        .formula("P_over = P_wall − P_load");
static WALL: Measurand<Power> =
    Measurand::new("in-use-wall", "Takes from the wall in use", "W", Better::Less).formula("P as read");
static SHARE: Measurand<Ratio> =
    Measurand::new("in-use-share", "Reaches the load on the mains", "%", Better::More)
        .formula("P_load/P_wall");

static BATTERY: Axis = Axis { key: "battery", label: "battery", values: &["full", "charging"] };
static BATTERY_FIELD: Field<Pick> = Field::choice(
    "battery",
    "battery meanwhile",
    &[
        Choice { key: "full", label: "full: the charger is idle" },
        Choice { key: "charging", label: "charging" },
    ],
)
.ask("Is it still charging?", "Idle: the wall power has stood still for ten minutes.");
static WORKS: Field<Pick> = Field::choice(
    "works",
    "outlet while charging",
    &[
        Choice { key: "works", label: "works" },
        Choice {
            key: "flickers",
            label: "works, but it flickers or drops out when the charger comes or goes",
        },
        Choice { key: "dead", label: "does not work while it charges" },
    ],
)
.ask("Does the AC outlet work while it charges?", "Plug the charger in and out with a lamp on.");
static MANNER: Field<Pick> = Field::choice(
    "manner",
    "where the outlet's power comes from",
    &[
        Choice { key: "passes", label: "passes the mains through: voltage and frequency follow the wall" },
        Choice { key: "converts", label: "makes it itself: voltage or frequency are its own" },
        Choice { key: "unknown", label: "not looked at" },
    ],
)
.ask("Whose voltage and frequency stand at the outlet?", "Compare wall and outlet.");
static WALL_W: Field<Uncertain<Power>> = Field::quantity("wall_power", "power from the wall", "W")
    .ask("What does the meter at the wall show?", "Mean of five minutes.");
static LOAD_W: Field<Uncertain<Power>> = Field::quantity("load_power", "power of the load", "W")
    .ask("What does the load take?", "0 when nothing hangs on the outlet.");

/// Four fifths of a 15 A circuit at 120 V, in W: the usual limit for three hours and more in North America.
const CIRCUIT_W: f64 = 1440.0;

static SPEC: Spec = Spec {
    id: "charge-in-use",
    revision: 1,
    title: "Charging while in use",
    question: "Can it stay plugged in and run my devices meanwhile?",
    method: &[
        "A lamp on the outlet: plug the charger in and out ten times and watch.",
        "Compare voltage and frequency at wall and outlet: does it pass the mains through?",
        "Meter at the wall, a steady load on the outlet, measured too. While charging, and again when full.",
    ],
    uncertainty: "A small difference of two readings: one meter for both, read one after the other.",
    does_not_tell: "How long it is dead when the mains go away: that is the switchover. Years of such use.",
    cautions: &[
        "Wall circuit and cord carry charger and load together: stay within four fifths of their rating.",
        "Charger straight into the wall outlet. Never feed the station's outlet into the house.",
        "Nothing that must not go off hangs on it.",
    ],
    attended: true,
    minutes: 60,
    fields: &[&BATTERY_FIELD.spec, &WORKS.spec, &MANNER.spec, &AMBIENT.spec, &LOAD_W.spec, &WALL_W.spec],
    axes: &[&BATTERY],
    results: &[&OVERHEAD.spec, &WALL.spec, &SHARE.spec],
};

impl Kind for ChargeInUse {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        let battery = run.get(&BATTERY_FIELD)?.0;
        out.on(&BATTERY, battery);
        let works = run.get(&WORKS)?.0;
        let manner = match run.get(&MANNER)?.0 {
            "passes" => "; it passes the mains through",
            "converts" => "; it makes the outlet's power itself",
            _ => "",
        };
        let words = match works {
            "works" => "the AC outlet works while it charges",
            "flickers" => {
                "the AC outlet works while it charges, but drops out for a moment when the charger comes or goes"
            }
            _ => "the AC outlet does not work while it charges",
        };
        out.say("charge-in-use", "charging while in use", format!("{words}{manner}"));
        let (wall, load) = (run.get(&WALL_W)?, run.get(&LOAD_W)?);
        out.read("P_wall", &WALL_W.spec, &wall);
        out.read("P_load", &LOAD_W.spec, &load);
        let mains_v = run.model().map_or(0.0, |m| m.mains_v);
        if (100.0..=127.0).contains(&mains_v) && wall.x() > CIRCUIT_W {
            out.findings.push(Finding::doubt(
                "above-circuit",
                WALL_W.spec.key,
                format!("{:.0} W from the wall is more than a 15 A circuit bears for hours", wall.x()),
                "lower the charging power or the load, or use a 20 A circuit; local rules decide",
            ));
        }
        out.put(&WALL, wall.clone());
        if wall.x() <= load.x() {
            out.findings.push(Finding::note(
                "battery-helps",
                WALL_W.spec.key,
                format!("the wall gives {:.0} W, the load takes {:.0} W", wall.x(), load.x()),
                "the battery gives the rest: note how long it lasts so",
            ));
            out.say("battery-helps", "on the mains", "the battery gives what the wall does not");
            return None;
        }
        if battery == "full" {
            if load.x() > 0.0 {
                out.put(&SHARE, load.clone() / wall.clone());
            }
            out.put(&OVERHEAD, wall - load);
        }
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&BATTERY_FIELD.spec, "full")
            .says(&WORKS.spec, "works")
            .says(&MANNER.spec, "passes")
            .reads(&LOAD_W.spec, "200.0 W", "meter")
            .reads(&WALL_W.spec, "216.0 W", "meter")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_check::{codes, outcome, value};
    #[test]
    fn sixteen_watts_for_itself() {
        // 216 − 200 = 16 W on one meter of ±1 %: gain (216 − 200)·0.01/√3 = 0.09238 W; two steps of 0.1 W:
        // 0.1/√6 = 0.040825 W; together 0.10100 W. 200/216 = 92.59 %.
        let out = outcome(&ChargeInUse, &[]);
        let over = value(&out, "in-use-overhead");
        assert!((over.x - 16.0).abs() < 1e-9 && (over.u() - 0.1010).abs() < 1e-4);
        assert!((value(&out, "in-use-share").x - 0.925_926).abs() < 1e-6);
        let said = "the AC outlet works while it charges; it passes the mains through";
        assert_eq!(out.behaviours[0].text, said);
    }
    #[test]
    fn while_charging_there_is_no_overhead_and_the_circuit_has_a_limit() {
        let out = outcome(&ChargeInUse, &[("battery", "charging"), ("wall_power", "1600 W")]);
        assert!(out.results.iter().all(|r| r.result.key == "in-use-wall"));
        assert!(codes(&out).contains(&"above-circuit"));
        assert!(codes(&outcome(&ChargeInUse, &[("wall_power", "150 W")])).contains(&"battery-helps"));
    }
}
