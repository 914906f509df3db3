//! Recharge from the mains: how long, and how much the wall gives.
//!
//! Formula: t = reached − start; E_in = R₂ − R₁ at the wall.
//! Uncertainty: reading the clock at the moment the display changes; the meter for the energy.
//! Does not tell: what fast charging does to the cells in years.
use crate::discharge::{apart, elapsed, step_check};
use crate::field::Choice;
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::logged;
use crate::measurand::{Better, Measurand};
use crate::quantity::{Energy, Time};
use crate::questions::{AMBIENT, COUNTER_END, COUNTER_START};
use crate::reading::{Field, Logged, Pick};
use crate::recording::LogRecord;
use crate::stamp::{self, Stamp};
use crate::stats::coverage::Shape;
use crate::uncertain::{Effect, Influence, Uncertain};

/// The kind.
pub struct Recharge;

static TO_80: Measurand<Time> = Measurand::new("time-to-80", "Charge to 80 % shown", "min", Better::Less)
    .formula("t = reached − start")
    .varies();
static TO_80_IN: Measurand<Time> =
    Measurand::new("time-to-80-energy", "Charge until 80 % of the energy is in", "min", Better::Less)
        .formula("∫P·dt from start to t = 0.8·E_in")
        .varies();
static TO_FULL: Measurand<Time> =
    Measurand::new("time-to-full", "Charge until it stops by itself", "min", Better::Less)
        .formula("t = stopped − start")
        .varies();
static WALL: Measurand<Energy> = Measurand::new("wall-energy", "Energy from the wall", "Wh", Better::Less)
    .formula("E_in = R₂ − R₁")
    .varies();

pub(super) static MODE: Axis =
    Axis { key: "mode", label: "mode", values: &["as delivered", "fast", "quiet"] };
static FROM: Axis = Axis { key: "from", label: "from", values: &["AC cut-off", "fully empty"] };
pub(super) static MODE_FIELD: Field<Pick> = Field::choice(
    "mode",
    "charging mode",
    &[
        Choice { key: "as delivered", label: "as delivered" },
        Choice { key: "fast", label: "the fastest it has" },
        Choice { key: "quiet", label: "quiet or slow" },
    ],
)
.ask("In which mode does it charge?", "The mode is part of the claim.");
static CIRCUIT: Field<Pick> = Field::choice(
    "circuit",
    "wall circuit",
    &[
        Choice { key: "ordinary", label: "an ordinary outlet" },
        Choice { key: "larger", label: "a larger circuit than ordinary (20 A, 240 V)" },
    ],
)
.optional()
.ask("Which wall circuit does it charge from?", "An ordinary outlet can be what limits it.");
static FROM_FIELD: Field<Pick> = Field::choice(
    "from",
    "empty in which sense",
    &[
        Choice { key: "AC cut-off", label: "the AC outlet had switched off" },
        Choice { key: "fully empty", label: "everything had switched off, the 12 V outlet too" },
    ],
)
.ask("How empty is it?", "Only a fully empty start brackets what the cells hold.");
static WALL_LOG: Field<Logged> = Field::log("log", "log of the meter at the wall")
    .optional()
    .ask(
        "Have you a log of the meter at the wall?",
        "Times and energy come from it; 80 % shown must still be noted.",
    )
    .at_end();
static START: Field<Stamp> =
    Field::stamp("start", "charger plugged in").spared_by("log").ask("When did you plug the charger in?", "");
static AT_80: Field<Stamp> = Field::stamp("at_80", "80 % shown")
    .optional()
    .ask("When did it first show 80 %?", "The minute the number changed.")
    .at_end();
static AT_FULL: Field<Stamp> = Field::stamp("at_full", "charger stopped")
    .optional()
    .ask(
        "When did the charger stop by itself?",
        "The wall power fell to a few watts and stayed there; 100 % shown is not enough.",
    )
    .at_end();

static SPEC: Spec = Spec {
    id: "recharge",
    revision: 2,
    title: "Recharge from the mains",
    question: "How long does it take to charge?",
    method: &[
        "Empty it first; note in which sense: AC outlet off, or everything off.",
        "Meter between wall and charger, counter reset. Note mode, wall voltage and what else hangs on the circuit.",
        "Note the minute it first shows 80 %, and the minute the charger stops by itself.",
        "Read the counter after it stopped.",
    ],
    uncertainty: "The minute it is read to; for the energy the accuracy of the meter.",
    does_not_tell: "What fast charging costs in years. 80 % shown need not be 80 % of the energy.",
    cautions: &[
        "Do not charge while asleep or away. Never below 0 °C a station that does not block it by itself.",
        "Charger straight into the wall outlet; nothing that burns within a metre.",
    ],
    attended: true,
    minutes: 120,
    fields: &[
        &MODE_FIELD.spec,
        &CIRCUIT.spec,
        &FROM_FIELD.spec,
        &AMBIENT.spec,
        &COUNTER_START.spec,
        &START.spec,
        &WALL_LOG.spec,
        &AT_80.spec,
        &AT_FULL.spec,
        &COUNTER_END.spec,
    ],
    axes: &[&MODE, &FROM],
    results: &[&TO_80.spec, &TO_FULL.spec, &WALL.spec, &TO_80_IN.spec],
};

impl Kind for Recharge {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&MODE, run.get(&MODE_FIELD)?.0);
        out.on(&FROM, run.get(&FROM_FIELD)?.0);
        if run.get(&CIRCUIT).is_some_and(|c| c.0 == "larger") {
            out.condition.insert("circuit".into(), "larger".into());
        }
        if let Some(recording) = run.log(&WALL_LOG) {
            return by_log(run, recording.log()?, out);
        }
        if run.get(&AT_80).is_some() {
            let t = elapsed(run, &START, &AT_80, out)?;
            out.step("t₈₀", "plugged in to 80 % shown", "min", &t);
            out.put(&TO_80, t);
        }
        if run.get(&AT_FULL).is_none() {
            out.findings.push(Finding::gap(
                "not-charged-full",
                AT_FULL.spec.key,
                "the charger was not seen to stop by itself".to_string(),
                "wait until the wall power falls to a few watts; without it there is no wall energy",
            ));
            return None;
        }
        let t = elapsed(run, &START, &AT_FULL, out)?;
        out.step("t", "plugged in to charger stopped", "min", &t);
        out.put(&TO_FULL, t);
        let (start, end) = (run.get(&COUNTER_START)?, run.get(&COUNTER_END)?);
        out.read("R₁", &COUNTER_START.spec, &start);
        out.read("R₂", &COUNTER_END.spec, &end);
        let reset = start.x() < end.x()
            && run.entry(&COUNTER_START).is_some_and(|e| e.text.bytes().all(|b| !(b'1'..=b'9').contains(&b)));
        let start = if reset { Uncertain::exact(0.0) } else { start };
        let energy = end.clone() - start;
        step_check(&COUNTER_END, &end, energy.x(), out);
        if energy.x() <= 0.0 {
            out.findings.push(Finding::gap(
                "counter-not-rising",
                COUNTER_END.spec.key,
                "the counter did not rise from start to end".to_string(),
                "look at both readings; a meter that lost its memory shows 0 again",
            ));
            return None;
        }
        out.put(&WALL, energy);
        Some(())
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&MODE_FIELD.spec, "fast")
            .says(&FROM_FIELD.spec, "fully empty")
            .reads(&COUNTER_START.spec, "0", "meter")
            .says(&START.spec, "18:00")
            .says(&AT_80.spec, "18:55")
            .says(&AT_FULL.spec, "19:35")
            .reads(&COUNTER_END.spec, "1.120 kWh", "meter")
    }
}

/// From a log of the meter at the wall: it charges from the first power to the fall that lasts.
fn by_log(run: &Run, log: &LogRecord, out: &mut Outcome) -> Option<()> {
    let key = WALL_LOG.spec.key;
    let (on, ends) = logged::on_and_off(log, key, out)?;
    // A charger that is done may go on taking some watts; the person's own note of the end wins over the level.
    let noted = run.get(&AT_FULL).zip(stamp::stamp(&on.at, None, &run.desk.zone).ok());
    let at_80 = run.get(&AT_80).zip(stamp::stamp(&on.at, None, &run.desk.zone).ok());
    if let Some((shown, begun)) = at_80 {
        let t = apart(run, (&START, begun), (&AT_80, shown), out)?;
        out.step("t₈₀", "power on in the log to 80 % shown", "min", &t);
        out.put(&TO_80, t);
    }
    let s = logged::stretch(run, &WALL_LOG, log, (on, ends), out)?;
    if log.off.is_none() && noted.is_none() {
        out.findings.push(Finding::gap(
            "not-charged-full",
            AT_FULL.spec.key,
            "the log ends while it still charges".to_string(),
            "note when the charger stopped by itself, or log until the power has fallen for good",
        ));
        return None;
    }
    let full = match noted {
        Some((stopped, begun)) if log.off.is_none() => apart(run, (&START, begun), (&AT_FULL, stopped), out)?,
        _ => s.hours.clone(),
    };
    out.put(&TO_FULL, full);
    let minutes = |s: f64| {
        let step = Influence::test(run.id(), Effect::Clock, "");
        Uncertain::<Time>::exact(s / 3600.0).with(
            step,
            log.interval_s / 3600.0 / 6f64.sqrt(),
            Shape::Triangular,
            f64::INFINITY,
        )
    };
    if let Some(at) = log.reached(0.8, ends) {
        let t = minutes(at);
        out.step("t₈₀E", "power on to 80 % of the energy in", "min", &t);
        out.put(&TO_80_IN, t);
    }
    if let Some(at) = log.taper(ends) {
        out.step("t_taper", "power on to where it stays below 95 % of its plateau", "min", &minutes(at));
    }
    out.put(&WALL, s.energy);
    Some(())
}
