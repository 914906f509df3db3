//! Questions that several kinds ask, each declared once.
use crate::field::Choice;
use crate::notebook::Load;
use crate::quantity::{Energy, Power, Ratio, Temperature, Time};
use crate::reading::{Field, Logged, Pick};
use crate::stamp::Stamp;
use crate::uncertain::Uncertain;

/// Ambient temperatures in °C that count as one and the same condition.
pub const BAND_C: (f64, f64) = (20.0, 27.0);

/// Air at the bench.
pub static AMBIENT: Field<Uncertain<Temperature>> =
    Field::quantity("ambient", "air at the bench", "°C").optional().ask(
        "How warm is it at the bench?",
        "The station should have stood here for four hours, a large one for twelve.",
    );

/// How full it was at the start.
pub static START_STATE: Field<Pick> = Field::choice(
    "start_state",
    "state at the start",
    &[
        Choice { key: "full-rested", label: "full: the charger stopped by itself, then 30 minutes of rest" },
        Choice { key: "full-just-now", label: "full, but charged until just now" },
        Choice { key: "shown-full", label: "shows 100 %, the charger may still have been running" },
        Choice { key: "not-full", label: "not full" },
    ],
)
.ask(
    "Is it full and rested?",
    "Full means that the charger stopped by itself. A charge limit set in an app must be off.",
);

/// Limits of the doubt about a full start, as a share of the energy (common practice, 0 to 1 %).
pub fn start_doubt(state: &str) -> Option<f64> {
    match state {
        "full-rested" => Some(0.002),
        "full-just-now" => Some(0.01),
        "shown-full" => Some(0.01),
        _ => None,
    }
}

/// Why it ended.
pub static CAUSE: Field<Pick> = Field::choice(
    "cause",
    "why it ended",
    &[
        Choice { key: "empty", label: "the outlet switched off because the battery was empty" },
        Choice { key: "low-load", label: "the outlet switched off because the load was small" },
        Choice { key: "trip", label: "it tripped: overload, heat or an error" },
        Choice { key: "stopped", label: "I stopped it" },
        Choice { key: "display-zero", label: "the display showed 0 %, the outlet was still on" },
        Choice { key: "dc-empty", label: "the 12 V or USB outlets switched off; AC had gone before" },
    ],
)
.ask(
    "Why did it end?",
    "Only an outlet that switched off because the battery was empty gives the usable energy.",
)
.at_end();

/// The meter's file, in place of counter and clock read by hand.
pub static LOG: Field<Logged> = Field::log("log", "log of the meter")
    .optional()
    .ask(
        "Have you a log of it?",
        "The meter's own file: energy and time come from it, readings by hand check it.",
    )
    .at_end();

/// Outlet switched on, load on.
pub static START: Field<Stamp> = Field::stamp("start", "start")
    .spared_by("log")
    .ask("When did the load go on?", "Kept with the moment you press, or type the time.");

/// Outlet off.
pub static END: Field<Stamp> = Field::stamp("end", "end")
    .spared_by("log")
    .ask("When did the outlet go off?", "The clock at the moment it switched off.")
    .at_end();

/// Energy counter at the start.
pub static COUNTER_START: Field<Uncertain<Energy>> =
    Field::quantity("counter_start", "counter at the start", "kWh").spared_by("log").ask(
        "What does the energy counter show?",
        "Reset it first if it can be reset: then it shows 0, and 0 is what to type.",
    );

/// Energy counter at the end.
pub static COUNTER_END: Field<Uncertain<Energy>> =
    Field::quantity("counter_end", "counter at the end", "kWh")
        .spared_by("log")
        .ask("What does the energy counter show now?", "Read it before unplugging: many meters forget.")
        .at_end();

/// Power shown while it runs.
pub static POWER: Field<Uncertain<Power>> = Field::quantity("power", "power shown", "W")
    .optional()
    .ask("What power does the meter show?", "After ten minutes, when the heater is warm.");

/// The appliance.
pub static LOAD: Field<Load> = Field::load("load", "load")
    .optional()
    .ask("Which load hangs on it?", "A load with a thermostat does not do for energy.");

/// The meter's own timer, a second witness of the time.
pub static ELAPSED: Field<Uncertain<Time>> = Field::quantity("elapsed", "time the meter shows", "h")
    .optional()
    .ask("What time does the meter's own timer show?", "Hours and minutes: 1:46. It catches am for pm.")
    .at_end();

/// Charge shown at the moment it ended.
pub static SHOWN_AT_END: Field<Uncertain<Ratio>> =
    Field::quantity("shown_at_end", "charge shown at the end", "%")
        .optional()
        .ask("What charge did it show when it went off?", "The last per cent you saw.")
        .at_end();
