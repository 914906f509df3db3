//! Arranging wanted tests into days.
use super::{DAY, Step, Wanted, pick};
use crate::kind::{Spec, claimed};
use crate::kinds;
use crate::law::{Law, Load};
use crate::notebook::{Model, Notebook};
use crate::quantity::Dim;
use crate::report::ModelReport;
use jiff::ToSpan;
use jiff::civil::DateTime;

/// Rest after the charger stopped, h.
const REST_H: f64 = 0.5;
/// Share of the claimed energy that reaches the outlet, before anything is measured (common practice: 80 to 92 %).
const USABLE: f64 = 0.87;
/// Charging rate assumed where nothing is claimed, shares of the claimed energy an hour (common practice).
const CHARGE_RATE: f64 = 0.5;

/// What the steps take, as far as it can be told.
pub struct Times {
    rated_w: f64,
    stored_wh: f64,
    charge_h: f64,
    law: Option<Law>,
}

impl Times {
    /// From the law and the measured recharge, else from the claims.
    pub fn of(notebook: &Notebook, model: &Model, shown: &ModelReport) -> Times {
        let stated = |key, dim| claimed(notebook, model, key, dim).filter(|x| *x > 0.0);
        let stored_wh = stated("stored-energy", Dim::Energy).unwrap_or(1000.0);
        let to_full = shown.current("time-to-full").map(|r| r.value.x).reduce(f64::min);
        let from_80 = stated("time-to-80", Dim::Time).map(|h| h / 0.8 * 1.35);
        let charge_h = to_full.or(stated("time-to-full", Dim::Time)).or(from_80).unwrap_or(1.0 / CHARGE_RATE);
        let law = shown.drains.iter().rev().find(|d| !d.superseded).and_then(|d| d.law.clone());
        Times {
            rated_w: stated("sustained-output", Dim::Power).unwrap_or(stored_wh),
            stored_wh,
            charge_h,
            law,
        }
    }
    fn discharge_h(&self, watts: f64, left: f64) -> f64 {
        let known =
            self.law.as_ref().and_then(|l| l.answer(Load::steady(watts)).ok()).map(|a| a.runtime_h.value);
        left * known.unwrap_or(self.stored_wh * USABLE / watts)
    }
    /// Share of the battery left after idling.
    fn left_after(&self, hours: f64) -> f64 {
        // 1 % of the rated power is a usual idle draw (common practice: 0.3 to 3 %).
        let known = self.law.as_ref().map(|l| l.a).filter(|a| *a > 0.0);
        (1.0 - hours * known.unwrap_or(0.01 * self.rated_w / (self.stored_wh * USABLE))).max(0.1)
    }
}

/// The bench while the plan is made.
struct Day<'a> {
    notebook: &'a Notebook,
    model: &'a Model,
    times: &'a Times,
    now: DateTime,
    full: bool,
    charge_wanted: Option<&'a Wanted>,
    steps: Vec<Step>,
}

/// Arranges what is wanted from a wall time on.
pub fn arrange(
    notebook: &Notebook,
    model: &Model,
    wanted: &[Wanted],
    times: &Times,
    from: DateTime,
) -> Vec<Step> {
    let is_charge = |w: &&Wanted| kinds::find(w.kind).is_some_and(|k| takes_to_full(k.spec()));
    let mut day = Day {
        notebook,
        model,
        times,
        now: from,
        full: false,
        charge_wanted: wanted.iter().find(is_charge),
        steps: Vec::new(),
    };
    let (idle, rest): (Vec<&Wanted>, Vec<&Wanted>) =
        wanted.iter().filter(|w| !is_charge(w)).partition(|w| w.idle_h > 0.0);
    let (short, long): (Vec<&Wanted>, Vec<&Wanted>) = rest.into_iter().partition(|w| !needs_full(w.kind));
    short.iter().for_each(|w| day.simple(w));
    let mut nights = idle.into_iter();
    for w in long {
        // A discharge that no longer fits into today leaves the night for the idle draw.
        if day.discharge_ends_too_late(w)
            && let Some(night) = nights.next()
        {
            day.discharge(night);
        }
        day.discharge(w);
    }
    nights.for_each(|w| day.discharge(w));
    if day.charge_wanted.is_some() {
        day.recharge();
    }
    day.steps
}

/// A kind that asks about the full start needs one.
fn needs_full(kind: &str) -> bool {
    kinds::find(kind)
        .is_some_and(|k| k.spec().field("start_state").is_some() || k.spec().field("cause").is_some())
}

/// A recharge takes it from empty to full.
fn takes_to_full(spec: &Spec) -> bool {
    spec.field("at_full").is_some()
}

fn later(t: DateTime, hours: f64) -> DateTime {
    // Whole minutes; a plan to the second would be a lie.
    t.checked_add(((hours * 60.0).round() as i64).minutes()).unwrap_or(t)
}

/// A step before it has its time.
fn step(kind: &str, title: &str) -> Step {
    Step {
        at: DateTime::MIN,
        until: DateTime::MIN,
        kind: kind.into(),
        title: title.into(),
        attended: false,
        loads: Vec::new(),
        needs: Vec::new(),
        why: String::new(),
    }
}

fn full_and_rested() -> Vec<String> {
    vec!["full and rested".into(), "power saving off".into()]
}

impl Day<'_> {
    /// Adds a step of so many hours from now on.
    fn push(&mut self, hours: f64, step: Step) {
        let until = later(self.now, hours);
        self.steps.push(Step { at: self.now, until, ..step });
        self.now = until;
    }
    /// Waits for the next morning when an attended step of so many hours does not fit into today.
    fn within_the_day(&mut self, hours: f64) {
        let end = later(self.now, hours);
        let fits = self.now.hour() >= DAY.0 && end.date() == self.now.date() && end.hour() < DAY.1;
        let long_but_early = hours > f64::from(DAY.1 - DAY.0) && self.now.hour() == DAY.0;
        if fits || long_but_early {
            return;
        }
        let today = self.now.date();
        let next = if self.now.hour() < DAY.0 { today } else { today.tomorrow().unwrap_or(today) };
        let morning = next.at(DAY.0, 0, 0, 0);
        if self.steps.is_empty() {
            self.now = morning;
            return;
        }
        let hours = morning.since(self.now).map_or(0.0, |d| d.total(jiff::Unit::Hour).unwrap_or(0.0));
        self.push(hours, step("wait", "Until the next morning"));
    }
    /// A test that does not care how full it is.
    fn simple(&mut self, w: &Wanted) {
        let Some(spec) = kinds::find(w.kind).map(|k| k.spec()) else { return };
        let hours = f64::from(spec.minutes) / 60.0;
        self.within_the_day(hours);
        self.push(hours, Step { attended: spec.attended, why: w.why.clone(), ..step(spec.id, spec.title) });
    }
    /// Empty to full, as a test when one is wanted.
    fn recharge(&mut self) {
        let hours = self.times.charge_h;
        self.within_the_day(hours);
        let (kind, title, why) = match self.charge_wanted.take() {
            Some(w) if !self.steps.is_empty() => (w.kind, "Recharge, timed", w.why.clone()),
            put_back => {
                self.charge_wanted = put_back;
                ("charge", "Charge until the charger stops by itself", String::new())
            }
        };
        self.push(
            hours,
            Step {
                attended: true,
                needs: vec!["meter between wall and charger".into()],
                why,
                ..step(kind, title)
            },
        );
        self.push(REST_H, step("rest", "Rest"));
        self.full = true;
    }
    fn watts(&self, w: &Wanted) -> f64 {
        let share = w.condition.get("load").and_then(|s| s.trim_end_matches(" %").parse::<f64>().ok());
        let usual = if w.kind == "sustained-output" || w.kind == "overload-staircase" { 100.0 } else { 50.0 };
        share.unwrap_or(usual) / 100.0 * self.times.rated_w
    }
    fn discharge_ends_too_late(&self, w: &Wanted) -> bool {
        let charge = if self.full { 0.0 } else { self.times.charge_h + REST_H };
        let end = later(self.now, charge + self.times.discharge_h(self.watts(w), 1.0));
        end.date() != self.now.date() || end.hour() >= DAY.1
    }
    /// Full to empty; with waiting before it for the idle draw.
    fn discharge(&mut self, w: &Wanted) {
        let Some(spec) = kinds::find(w.kind).map(|k| k.spec()) else { return };
        if !self.full {
            self.recharge();
        }
        let watts = self.watts(w);
        let picked = pick(self.notebook, self.model, watts);
        let (loads, watts) = picked.map_or((Vec::new(), watts), |p| (p.ids, p.watts));
        let mut left = 1.0;
        if w.idle_h > 0.0 {
            left = self.times.left_after(w.idle_h);
            let title = format!("Outlet on, nothing plugged in, {:.0} h", w.idle_h);
            self.push(
                w.idle_h,
                Step { needs: full_and_rested(), why: w.why.clone(), ..step(spec.id, &title) },
            );
        }
        let hours = self.times.discharge_h(watts, left);
        if spec.attended || w.idle_h > 0.0 {
            self.within_the_day(hours);
        }
        let title = format!("{}, about {watts:.0} W", spec.title);
        self.push(
            hours,
            Step {
                attended: true,
                loads,
                needs: full_and_rested(),
                why: w.why.clone(),
                ..step(spec.id, &title)
            },
        );
        self.full = false;
    }
}
