//! What can keep a station from running a demand, apart from its energy: each with its probability and reason.
use super::demand::Demand;
use super::grounds::Ground;
use super::{Device, Question};
use crate::shown::{Style, duration_words, shown};
use crate::uncertain::Value;
use serde::Serialize;

/// One limit a station has, held against what is asked of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Stable kebab-case key: `mains`, `outlet`, `sustained-output`, `starting-power`, `switch-off`, `switchover`,
    /// `waveform`, `solar-input`, `runtime`.
    pub key: &'static str,
    /// Probability that it is kept; `None` when nobody can tell.
    pub p: Option<f64>,
    /// In a sentence, without full stop.
    pub text: String,
    /// The test that would tell; empty when none is missing.
    pub missing: String,
}

impl Limit {
    pub(super) fn known(key: &'static str, p: f64, text: impl Into<String>) -> Limit {
        Limit { key, p: Some(p.clamp(0.0, 1.0)), text: text.into(), missing: String::new() }
    }
    pub(super) fn unknown(key: &'static str, text: impl Into<String>, missing: impl Into<String>) -> Limit {
        Limit { key, p: None, text: text.into(), missing: missing.into() }
    }
}

/// Everything that can be held against a model, for one demand; only what concerns it.
pub(super) struct Case<'a> {
    pub of: &'a Ground,
    pub question: &'a Question,
    pub demand: &'a Demand,
    /// The largest mean power of a test that ran to empty, W: it held that, whatever the test was for.
    pub ran_w: f64,
    /// How numbers are written.
    pub style: Style,
}

impl Case<'_> {
    /// Every limit but energy and low-load switch-off.
    pub fn limits(&self) -> Vec<Limit> {
        let mut all = vec![self.sustained()];
        all.extend(
            [self.mains(), self.outlet(), self.starting(), self.switchover(), self.sine()]
                .into_iter()
                .flatten(),
        );
        all
    }

    fn mains(&self) -> Option<Limit> {
        let asked = self
            .question
            .devices
            .iter()
            .filter_map(|d| d.mains_v)
            .chain(Some(self.question.mains_v).filter(|v| *v > 0.0));
        let has = Some(self.of.mains_v).filter(|v| *v > 0.0);
        let wrong = asked.clone().find(|v| has.is_some_and(|has| (has - v).abs() > 0.2 * v));
        let (asked, has) = (wrong.or(asked.clone().next())?, has);
        Some(match (wrong, has) {
            (_, None) => Limit::unknown(
                "mains",
                "its mains voltage is not written down",
                "note the voltage on its label",
            ),
            (Some(_), Some(has)) => {
                Limit::known("mains", 0.0, format!("it gives {has:.0} V, {asked:.0} V are needed"))
            }
            (None, Some(has)) => Limit::known("mains", 1.0, format!("it gives {has:.0} V")),
        })
    }

    /// One device hangs on one outlet.
    fn outlet(&self) -> Option<Limit> {
        let largest = largest(&self.question.devices)?;
        let takes = format!("{} takes {:.0} W", largest.name, largest.running_w);
        let limit = self.of.per_outlet_w;
        if limit > 0.0 {
            let p = f64::from(u8::from(largest.running_w <= limit));
            return Some(Limit::known(
                "outlet",
                p,
                format!("one outlet gives {limit:.0} W at most (per leg), {takes}"),
            ));
        }
        let failed = self.of.seen.one_outlet.as_ref().filter(|f| largest.running_w >= f.value.x)?;
        let text = format!("{takes}; on one outlet {} at {:.0} W", failed.how, failed.value.x);
        Some(Limit::known("outlet", 0.0, text))
    }

    fn sustained(&self) -> Limit {
        let key = "sustained-output";
        let need = self.demand.running_w;
        let held = self.of.seen.held(key);
        let failed = self.of.seen.failed(key);
        if let Some((how, hours)) =
            failed.iter().find_map(|f| Some((f, f.hours?))).filter(|(f, _)| need <= f.value.x)
            && held.as_ref().is_none_or(|h| need > h.x)
            && self.longest_h() <= 0.8 * hours
        {
            let text = format!("{} at {:.0} W, longer than the use asked for", how.how, how.value.x);
            return Limit::known(key, 1.0, text);
        }
        let text = |more: &str| format!("{need:.0} W together{more}");
        if need <= self.ran_w && held.as_ref().is_none_or(|h| need > h.x) {
            return Limit::known(key, 1.0, text(&format!("; it ran {:.0} W until it was empty", self.ran_w)));
        }
        let failed = failed.iter().map(|f| (f.value.x, f.how.as_str())).collect();
        let tried = Tried { held, failed, style: self.style };
        tried.hold(key, need, "together", self.claim(key), "sustained output at that power")
    }

    fn longest_h(&self) -> f64 {
        self.question.devices.iter().map(|d| d.hours).fold(0.0, f64::max)
    }

    /// The largest start on top of the rest.
    fn starting(&self) -> Option<Limit> {
        let key = "starting-power";
        let (need, name) = self.demand.start.as_ref()?;
        if let Some((n, failed)) = self.of.seen.starts_of(name) {
            // Laplace's rule of succession: of n tries k went well, the next does with (k + 1)/(n + 2).
            let p = (n - failed + 1) as f64 / (n + 2) as f64;
            return Some(Limit::known(key, p, format!("it started {name} in {} of {n} tries", n - failed)));
        }
        let lasting = self.sustained_w();
        if *need <= lasting {
            let text = format!(
                "{name} takes {need:.0} W to start beside the rest; it gives {lasting:.0} W for good"
            );
            return Some(Limit::known(key, 1.0, text));
        }
        let failed = self.of.seen.failed(key);
        let tried = Tried {
            held: self.of.seen.held(key),
            failed: failed.iter().map(|f| (f.value.x, f.how.as_str())).collect(),
            style: self.style,
        };
        Some(tried.hold(key, *need, &format!("while {name} starts"), self.claim(key), "starting power"))
    }

    /// What it surely gives for good, W.
    fn sustained_w(&self) -> f64 {
        let held = self.of.seen.held("sustained-output").map_or(0.0, |v| v.x - v.half95());
        held.max(self.ran_w)
    }

    fn switchover(&self) -> Option<Limit> {
        let key = "switchover";
        let needs = self.question.devices.iter().filter_map(|d| Some((d.needs_ms?, &d.name)));
        let (ms, name) = needs.min_by(|a, b| a.0.total_cmp(&b.0))?;
        let times = &self.of.seen.switchover_h;
        if times.is_empty() {
            let claim = self
                .claim(key)
                .map_or_else(String::new, |h| format!(" (the maker says {:.0} ms)", h * 3.6e6));
            let text = format!(
                "{name} bears {ms:.0} ms without power; how long it switches was not measured{claim}"
            );
            return Some(Limit::unknown(key, text, "switchover, twenty trials"));
        }
        let n = times.len();
        let within = times.iter().filter(|t| **t * 3.6e6 <= ms).count();
        let p = (within + 1) as f64 / (n + 2) as f64;
        Some(Limit::known(
            key,
            p,
            format!("it switched over within {ms:.0} ms in {within} of {n} trials, as {name} needs"),
        ))
    }

    fn sine(&self) -> Option<Limit> {
        let key = "waveform";
        let device = self.question.devices.iter().find(|d| d.needs_sine)?;
        let within = |v: &Value| if v.has_u() { v.p_below(SINE) } else { f64::from(u8::from(v.x <= SINE)) };
        if let Some(p) = self.of.seen.distortion.as_ref().map(within) {
            return Some(Limit::known(
                key,
                p,
                format!("{} needs a clean sine; its distortion was measured", device.name),
            ));
        }
        if let Some(text) = &self.of.seen.waveform {
            let words = text.to_lowercase();
            let stepped = ["step", "square", "modified"].iter().any(|w| words.contains(w));
            let p = if stepped { 0.0 } else { f64::from(u8::from(words.contains("sine"))) };
            return Some(Limit::known(key, p, format!("{} needs a clean sine; seen: {text}", device.name)));
        }
        let text = format!("{} needs a clean sine; what comes out was not looked at", device.name);
        Some(Limit::unknown(key, text, "output waveform"))
    }

    fn claim(&self, key: &str) -> Option<f64> {
        self.of.claim(key)
    }
}

/// Distortion up to which it counts as a clean sine: accepted at a building's supply below 1 kV (IEEE 519-2014: 8 %).
const SINE: f64 = 0.08;

pub(super) fn largest(devices: &[Device]) -> Option<&Device> {
    devices.iter().max_by(|a, b| a.running_w.total_cmp(&b.running_w))
}

/// What was tried of a power: the most that was held, and what was not.
struct Tried<'a> {
    held: Option<Value>,
    failed: Vec<(f64, &'a str)>,
    style: Style,
}

impl Tried<'_> {
    /// Holds a need against it. Between the most held and the least not held any limit is taken as alike.
    fn hold(&self, key: &'static str, need: f64, what: &str, claim: Option<f64>, test: &str) -> Limit {
        let head = format!("{need:.0} W {what}");
        let line = |v: &Value| shown(v, v.dim.kept_in(), self.style).line();
        let lowest = self.failed.iter().copied().min_by(|a, b| a.0.total_cmp(&b.0));
        match (&self.held, lowest) {
            (Some(held), _) if need <= held.x && !held.has_u() => {
                Limit::unknown(key, format!("{head}; it held {}, read on no known meter", line(held)), test)
            }
            (Some(held), _) if need <= held.x => {
                Limit::known(key, 1.0 - held.p_below(need), format!("{head}; it held {}", line(held)))
            }
            (_, Some((watts, how))) if need >= watts => {
                Limit::known(key, 0.0, format!("{head}; {how} at {watts:.0} W"))
            }
            (Some(held), Some((watts, how))) => {
                let p = (watts - need) / (watts - held.x);
                Limit::known(key, p, format!("{head}; it held {}, {how} at {watts:.0} W", line(held)))
            }
            _ => match claim {
                Some(claim) if need > claim => Limit::known(
                    key,
                    0.0,
                    format!("{head}; the maker himself states no more than {claim:.0} W"),
                ),
                Some(claim) => Limit::unknown(
                    key,
                    format!("{head}; the maker states {claim:.0} W, that much was not tried here"),
                    test,
                ),
                None => Limit::unknown(key, format!("{head}; that much was not tried here"), test),
            },
        }
    }
}

/// How a station's low-load switch-off meets a demand.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum SwitchOff {
    /// It does not matter here.
    Stays,
    /// It ends the use.
    Ends {
        /// Hours until then.
        after_h: f64,
        /// Probability that it does not.
        p: f64,
        /// As a sentence.
        text: String,
        /// The owner can disable it.
        can_be_disabled: bool,
    },
    /// Nobody can tell.
    Unsure(String),
}

/// Longest pause of a device that switches itself on and off, h (common practice: fridges start at least hourly).
const PAUSE_H: f64 = 1.0;

impl Case<'_> {
    /// Whether the outlet switches itself off while something is in use. The load must stay below for longer than the
    /// time; a device that switches itself keeps it on if, running, it draws enough and does not pause for longer.
    pub fn switch_off(&self) -> SwitchOff {
        let facts = &self.of.switch_off;
        let measured = self.of.seen.below.clone();
        let below = measured.as_ref().map_or(facts.below_w, |v| v.x);
        let after_h = self.of.seen.after_h.unwrap_or(facts.after_h);
        // What a test found wins over what was written down of the model.
        let tested = self.of.seen.switch_off;
        let noted = facts.below_w > 0.0;
        let on = tested.map_or(!noted || facts.on_by_default, |t| t.on);
        let can_be_disabled =
            tested.and_then(|t| t.can_be_disabled).unwrap_or(noted && facts.can_be_disabled);
        if below <= 0.0 || !on {
            return SwitchOff::Stays;
        }
        let stayed = tested.filter(|t| !t.ended).and_then(|t| t.stayed_w);
        for piece in self.demand.pieces.iter().filter(|p| p.busy) {
            let kept_by = |w: f64| match &measured {
                Some(v) if v.has_u() => v.p_below(w),
                _ => f64::from(u8::from(w >= below)),
            };
            let stays = stayed.is_some_and(|w| piece.steady_w >= w) || kept_by(piece.steady_w) >= 0.95;
            if piece.hours.min(self.demand.wanted_h) <= after_h || stays {
                continue;
            }
            let cycling = piece.running_w > piece.steady_w;
            if cycling && kept_by(piece.running_w) >= 0.95 {
                if after_h >= PAUSE_H {
                    continue;
                }
                return SwitchOff::Unsure(format!(
                    "below {below:.0} W it switches off after {}; a pause of the device may be longer",
                    duration_words(after_h)
                ));
            }
            let draws = if cycling { piece.running_w } else { piece.steady_w };
            return SwitchOff::Ends {
                after_h,
                p: kept_by(draws),
                text: format!(
                    "switches off after {}: {draws:.0} W is below its {below:.0} W threshold",
                    duration_words(after_h)
                ),
                can_be_disabled,
            };
        }
        SwitchOff::Stays
    }
}
