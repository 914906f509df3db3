//! One model's answer: its limits, its energy, its word.
use super::demand::Demand;
use super::grounds::{Ground, OneLaw};
use super::limit::{Case, Limit, SwitchOff};
use super::store::{Course, SUN_KEPT, Sunlight, course};
use super::{Question, Word, minutes, solar, words};
use crate::claims;
use crate::law::Law;
use crate::quantity::Dim;
use crate::shown::Style;
use crate::uncertain::Value;

/// What is said to one model.
#[derive(Clone, Debug)]
pub struct ModelAnswer {
    /// Id of the model.
    pub id: String,
    /// Its name.
    pub name: String,
    /// In a word.
    pub answer: Word,
    /// Joint probability over limits and runtime; `None` when something that decides was not measured.
    pub p: Option<f64>,
    /// Hours from full until it is empty or switches itself off; `None` when not known, or when with the sun it does
    /// not run out in the time asked.
    pub runtime_h: Option<Value>,
    /// One plain sentence, without full stop.
    pub why: String,
    /// Every limit held against the demand, the one that decides first.
    pub limits: Vec<Limit>,
    /// Share of the store left when it is lowest until the end of the last use; negative when it runs out before.
    pub left: Option<Value>,
    /// The same with the low-load switch-off the other way, where the owner has the choice.
    pub otherwise: Option<Otherwise>,
    /// Runtimes on older firmware, newest first.
    pub superseded: Vec<Older>,
    /// Hours without power within the time asked, where the sun charges it and it runs out.
    pub dark_h: Option<f64>,
    /// Panels that would run the devices for ever.
    pub panels: Option<Panels>,
}

/// The answer with the low-load switch-off the other way.
#[derive(Clone, Debug)]
pub struct Otherwise {
    /// "with its low-load switch-off disabled" or "as delivered".
    pub when: &'static str,
    /// In a word.
    pub answer: Word,
    /// Joint probability.
    pub p: Option<f64>,
    /// Hours.
    pub runtime_h: Option<Value>,
    /// One plain sentence.
    pub why: String,
}

/// A runtime on firmware that has been replaced.
#[derive(Clone, Debug)]
pub struct Older {
    /// Firmware.
    pub firmware: String,
    /// Hours.
    pub runtime_h: Value,
}

/// Panels that bring every day what every day takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Panels {
    /// Taken from the store each day, the station's own draw included, Wh at the outlet.
    pub daily_wh: f64,
    /// Watts on the label.
    pub watts: f64,
    /// Hours at the label's power a day they were reckoned with, losses of the panel taken off.
    pub sun_hours: f64,
    /// Their noon fits through the station's input; `None` when that is neither measured nor stated.
    pub fits: Option<bool>,
}

/// One model and what is asked.
pub(super) struct Asked<'a> {
    pub of: &'a Ground,
    pub question: &'a Question,
    pub demand: &'a Demand,
    pub sun: Option<&'a Sunlight>,
    /// How numbers are written in sentences.
    pub style: Style,
}

/// Energy: what becomes of the store, or why nobody knows.
struct Energy {
    limit: Limit,
    runtime: Option<Value>,
    left: Option<Value>,
}

pub(super) fn answer(asked: &Asked) -> ModelAnswer {
    let laws = asked.of.laws(false);
    let case = Case {
        of: asked.of,
        question: asked.question,
        demand: asked.demand,
        ran_w: asked.of.ran_w(),
        style: asked.style,
    };
    let energy = energy(asked, &laws);
    let mut limits = case.limits();
    limits.extend(asked.sun.map(|_| solar_input(asked).1));
    limits.push(energy.limit.clone());
    let superseded = older(asked);
    let (main, otherwise) = with_switch_off(asked, limits, &energy, case.switch_off(), &superseded);
    ModelAnswer {
        id: asked.of.id.clone(),
        name: asked.of.name.clone(),
        answer: main.answer,
        p: main.p,
        runtime_h: main.runtime,
        why: main.why,
        limits: main.limits,
        left: energy.left,
        otherwise,
        superseded,
        dark_h: None,
        panels: laws.first().and_then(|l| panels(asked, &l.law)),
    }
}

/// A word with what led to it.
pub(super) struct Said {
    pub answer: Word,
    pub p: Option<f64>,
    pub runtime: Option<Value>,
    pub why: String,
    pub limits: Vec<Limit>,
}

/// Joins limits into a word. What is known may suffice for a no, whatever is unknown beside it.
fn join(mut limits: Vec<Limit>, runtime: Option<Value>) -> Said {
    let known: f64 = limits.iter().filter_map(|l| l.p).product();
    let unsure = limits.iter().any(|l| l.p.is_none());
    let p = (!unsure || known <= 0.20).then_some(known);
    // The one that decides first: a sure no, then what is unknown, then the least probable, runtime before its equals.
    let weight = |l: &Limit| match l.p {
        Some(p) if p <= 0.20 => p,
        None => 0.21,
        Some(p) => p.max(0.22),
    };
    limits.sort_by(|a, b| {
        weight(a).total_cmp(&weight(b)).then((b.key == "runtime").cmp(&(a.key == "runtime")))
    });
    let answer = p.map_or(Word::Unknown, Word::of);
    let sure = |l: &&Limit| l.p.is_some_and(|p| p >= 0.95);
    let deciding = match answer {
        Word::Yes => limits.iter().find(|l| l.key == "runtime"),
        _ => limits.first().filter(|l| !sure(l)).or_else(|| limits.iter().find(|l| l.key == "runtime")),
    };
    let why = deciding.or(limits.first()).map_or_else(String::new, words::of_limit);
    Said { answer, p, runtime, why, limits }
}

fn with_switch_off(
    asked: &Asked,
    limits: Vec<Limit>,
    energy: &Energy,
    found: SwitchOff,
    older: &[Older],
) -> (Said, Option<Otherwise>) {
    let runtime = energy.runtime.clone();
    let with_older = |said| words::with_older(said, older, asked.style);
    match found {
        SwitchOff::Stays => (with_older(join(limits, runtime)), None),
        SwitchOff::Unsure(text) => {
            let mut limits = limits;
            limits.push(Limit::unknown("switch-off", text, "low-load switch-off with this device"));
            (with_older(join(limits, runtime)), None)
        }
        SwitchOff::Ends { after_h, p, text, can_be_disabled } => {
            let mut delivered = limits.clone();
            delivered.insert(0, Limit::known("switch-off", p, text));
            let ends = Value::exact(Dim::Time, after_h);
            let first = runtime.clone().filter(|r| r.x < after_h).unwrap_or(ends);
            let delivered = join(delivered, Some(first));
            if !can_be_disabled {
                return (with_older(delivered), None);
            }
            let mut free = limits;
            free.push(Limit::known("switch-off", 1.0, "its low-load switch-off disabled"));
            let free = with_older(join(free, runtime));
            match asked.question.switch_off_disabled {
                true => (free, Some(otherwise("as delivered", delivered))),
                false => {
                    let other = otherwise("with its low-load switch-off disabled", free);
                    (words::with_other(delivered, &other), Some(other))
                }
            }
        }
    }
}

fn otherwise(when: &'static str, said: Said) -> Otherwise {
    Otherwise { when, answer: said.answer, p: said.p, runtime_h: said.runtime, why: said.why }
}

fn energy(asked: &Asked, laws: &[&OneLaw]) -> Energy {
    let unknown = |text: String, missing: String| Energy {
        limit: Limit::unknown("runtime", text, missing),
        runtime: None,
        left: None,
    };
    if laws.is_empty() {
        let text = "how long it lasts is not known: no test ran it from full to empty".to_string();
        return unknown(text, "a discharge from full to the cut-off".into());
    }
    // Refused by the load until the end of the last use; what comes after it only bears on the hours.
    let (mean, _) = asked.demand.mean_until(asked.demand.wanted_h.min(24.0));
    if let Some(refusal) = laws.iter().find_map(|l| l.law.answer(mean).err()) {
        return unknown(refusal.why, refusal.missing.text());
    }
    let (day, _) = asked.demand.mean();
    let whole_day = laws.iter().all(|l| l.law.answer(day).is_ok());
    let sun = asked.sun.map(|sun| (sun, solar_input(asked).0));
    let courses: Vec<Course> = laws.iter().map(|l| course(l, asked.demand, sun)).collect();
    let used: Vec<Value> = courses.iter().map(|c| c.used.clone()).collect();
    let runtimes: Option<Vec<Value>> = courses.iter().map(|c| c.runtime.clone()).collect();
    let runtime = runtimes.and_then(|r| claims::of_model(&asked.of.id, &r));
    let runtime = runtime.filter(|r| whole_day || r.x <= asked.demand.wanted_h);
    let Some(used) = claims::of_model(&asked.of.id, &used) else {
        return unknown("how long it lasts is not known".into(), String::new());
    };
    let p = used.p_below(1.0);
    let left = Value { x: 1.0 - used.x, ..used.scaled(-1.0) };
    let text = words::lasts(asked, runtime.as_ref(), &left);
    Energy { limit: Limit::known("runtime", p, text), runtime, left: Some(left) }
}

/// The most the station takes from panels, W, and how that is known.
fn solar_input(asked: &Asked) -> (f64, Limit) {
    let key = "solar-input";
    match (asked.of.seen.held(key), asked.of.claim(key)) {
        (Some(v), _) => (v.x, Limit::known(key, 1.0, format!("it takes up to {:.0} W from panels", v.x))),
        (None, Some(w)) => (
            w,
            Limit::known(key, 1.0, format!("up to {w:.0} W from panels, as the maker states; not measured")),
        ),
        (None, None) => {
            let text = "what it takes from panels was neither measured nor stated";
            (f64::INFINITY, Limit::unknown(key, text, "solar input"))
        }
    }
}

/// Runtimes on older firmware, where the law was not refused.
fn older(asked: &Asked) -> Vec<Older> {
    let (mean, _) = asked.demand.mean();
    let mut found: Vec<Older> = asked
        .of
        .laws(true)
        .into_iter()
        .filter(|l| l.law.answer(mean).is_ok())
        .filter_map(|l| {
            let runtime_h = course(l, asked.demand, None).runtime?;
            Some(Older { firmware: l.firmware.clone(), runtime_h })
        })
        .collect();
    found.reverse();
    found
}

/// The model as the simulation sees it, in Wh at the outlet; `None` without a runtime curve.
pub(super) fn station(asked: &Asked, sun: &Sunlight) -> Option<minutes::Station> {
    let law = &asked.of.laws(false).first()?.law;
    Some(minutes::Station {
        capacity_wh: 1.0 / law.b,
        rated_w: f64::INFINITY,
        idle_w: law.a / law.b,
        loss_b: 0.0,
        loss_c: law.c / law.b,
        solar_in_w: solar_input(asked).0,
        solar_kept: SUN_KEPT,
        charge_max_w: f64::INFINITY,
        panel_w: sun.panel_w,
    })
}

fn panels(asked: &Asked, law: &Law) -> Option<Panels> {
    let (mean, hours) = asked.demand.mean();
    let daily_wh = (law.a + law.b * mean.mean_w + law.c * mean.mean_w2) * hours / law.b;
    let usual;
    let (shares, label) = match asked.sun {
        Some(sun) => (&sun.watts, sun.panel_w),
        None => {
            usual = solar::usual_day();
            (&usual, 1.0)
        }
    };
    let sun_hours = crate::sun::daily_sun_hours(shares) / label;
    let watts = solar::panels_for_ever(daily_wh, sun_hours, SUN_KEPT)?;
    let noon = shares.iter().copied().fold(0.0, f64::max) / label * watts;
    let limit = solar_input(asked).0;
    let fits = limit.is_finite().then_some(noon <= limit);
    Some(Panels { daily_wh, watts, sun_hours, fits })
}
