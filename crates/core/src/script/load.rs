//! Powers that are loads, and the load a number speaks of.
use super::amount::Amount;
use super::book::Book;
use super::lexicon::{Cue, Firm, Sense, Takes, takes};
use super::meaning::is_station;
use super::scene::{Scene, Topic};
use super::unit::What;
use crate::notebook::Condition;
use crate::quantity::Dim;

/// "The Pip with its 2.1 watts", "starts a 7,790-watt load": what is its own or is started is no load.
fn is_its_own(scene: &Scene, a: &Amount) -> bool {
    let word = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    let named = a.from > 2 && scene.mentions.iter().any(|m| m.to + 2 == a.from);
    let starts = |c: &Cue| {
        matches!(c.sense, Sense::Topic(["starting-power"], _)) && c.to <= a.from && a.from - c.to <= 3
    };
    let with = word(1) == "its" && matches!(word(2), "with" | "at" | "and");
    (with && named) || scene.cues.iter().any(starts)
}

/// "Five hundred watts, that's the slow cooker and the telly, she'll hold for 3.9 hours": told before what it is held for.
fn stands_at_head(scene: &Scene, a: &Amount) -> bool {
    let goes_on =
        scene.tokens.get(a.to).is_some_and(|t| t.after.is_some() || matches!(t.text.as_str(), "it" | "she"));
    let then = |b: &Amount| {
        let long = b.what == What::Dim(Dim::Time) && b.at > a.to && b.x > 0.3;
        long && scene.word(b.from.saturating_sub(1)) == "for"
    };
    a.from <= 1 && goes_on && scene.amounts.iter().any(then)
}

/// How many words like "full" stand between "at" and a power: "at its full 1,750 watts", "at a steady 100 watts".
fn dressed(scene: &Scene, a: &Amount) -> usize {
    let before = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    let article = matches!(before(1), "constant" | "steady") && before(2) == "a" && before(3) == "at";
    let words = || {
        (1..3).take_while(|k| matches!(before(*k), "its" | "full" | "constant" | "steady" | "rated")).count()
    };
    if article { 2 } else { words() }
}

/// "at 575 watts", "a 60-watt lamp": a load, and no statement about power.
pub fn load_of(scene: &Scene, a: &Amount, topics: &[Topic]) -> bool {
    if a.what != What::Dim(Dim::Power) {
        return false;
    }
    // "it sat there at 555 watts for 51 minutes"
    let lasting = |b: &Amount| b.what == What::Dim(Dim::Time) && b.from == a.to + 1;
    if a.from > 0
        && scene.word(a.from - 1) == "at"
        && scene.word(a.to) == "for"
        && scene.amounts.iter().any(lasting)
    {
        return true;
    }
    // "100 W continuous on the Fell: 8.6 h"
    let time = scene.amounts.iter().any(|b| b.what == What::Dim(Dim::Time) && b.at > a.to && b.x > 0.1);
    let constant = matches!(scene.word(a.to), "continuous" | "constant" | "steady" | "load" | "draw");
    let constant = constant && matches!(scene.word(a.to + 1), "on" | "from" | "load" | "draw" | "out");
    if (constant && time) || stands_at_head(scene, a) {
        return true;
    }
    // "450 watts lasted three minutes"
    if super::lemma::root(scene.word(a.to)) == "last"
        && scene.amounts.iter().any(|b| b.what == What::Dim(Dim::Time))
    {
        return true;
    }
    let spec = ["inverter", "output", "station", "unit", "generator", "surge", "continuous", "peak"];
    // "it swallowed a 2,900-watt starting surge"
    if is_its_own(scene, a) {
        return false;
    }
    let surge =
        matches!(scene.word(a.to), "starting" | "start-up" | "startup" | "inrush") && scene.names_near(a);
    if surge || spec.contains(&scene.word(a.to)) || (a.describes && is_station(scene, a.to)) {
        return false;
    }
    let before = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    let skip = dressed(scene, a);
    let at = matches!(
        before(1 + skip),
        "at" | "with" | "on" | "under" | "pulling" | "drawing" | "for" | "a" | "into"
    ) || a.describes;
    let held = [
        "idles", "idle", "idling", "rated", "held", "holds", "hold", "peaks", "peaked", "steady", "up",
        "out", "loaded", "sits", "lies", "lay",
    ];
    let here = |k: usize| a.from >= k && scene.clause[a.from - k] == scene.clause[a.from];
    // "a load of 60 watts", "half a kilowatt for just under an hour"
    let lamp = ["load", "loads", "lamp", "lamps", "bulb", "bulbs", "charger", "fridge", "freezer"];
    let of_load = before(1) == "of" && lamp.contains(&before(2));
    // "600 watts for half a second" is started, and no load.
    let lasts = |b: &Amount| b.what == What::Dim(Dim::Time) && b.from == a.to + 1 && b.x > 0.01;
    let of_load = of_load || scene.measures_a_thing(a.from);
    let hooked = |k: usize| {
        let hook = super::lemma::root(before(k));
        matches!(hook, "hook" | "plug" | "connect" | "attach" | "hang")
    };
    let hooked = hooked(1) || (hooked(2) && matches!(before(1), "up" | "in" | "on"));
    let on = scene.word(a.to) == "on" && scene.mentions.iter().any(|m| m.at >= a.to && m.at <= a.to + 2);
    let at = at
        || (on && a.from == 0)
        || of_load
        || hooked
        || (scene.word(a.to) == "for" && scene.amounts.iter().any(lasts));
    let past = if before(1 + skip) == "at" { skip } else { 0 };
    let with = |k: usize| before(k) == "loaded" && k > 1;
    let asserts = (1 + past..4).any(|k| here(k) && held.contains(&before(k)) && !with(k));
    let strong = topics.first().is_some_and(|t| t.firm == Firm::Strong && t.gap <= 3);
    at && (!asserts || hooked) && (a.describes || !strong || (2..4).any(with))
}

/// The load an amount speaks of, in W: the nearest said before it, else behind it; "nothing plugged in" is none.
pub fn loads(scene: &Scene, a: &Amount, book: &Book, models: &[usize]) -> Option<f64> {
    let here = scene.clause[a.at];
    let far = |at: usize| (scene.clause[at] != here, at > a.at, at.abs_diff(a.at));
    let powers = scene.amounts.iter().filter(|p| load_of(scene, p, &[])).map(|p| (p.at, p.x));
    let idle = scene.cues.iter().filter(|c| matches!(c.sense, Sense::Topic(["idle-draw", ..], Firm::Strong)));
    let said = powers.chain(idle.map(|c| (c.at, 0.0))).min_by_key(|(at, _)| far(*at)).map(|(_, w)| w);
    let idle = || scene.cues.iter().any(|c| matches!(c.sense, Sense::Topic(["idle-draw", ..], _)));
    let share = || {
        let share = scene.conditions(a).get("load")?.trim_end_matches(" %").parse::<f64>().ok()?;
        Some(share / 100.0 * book.rated_w(*models.first()?)?)
    };
    let held = || {
        let power = scene
            .amounts
            .iter()
            .find(|p| p.watts().is_some() && p.to < a.at && scene.clause[p.at] == here)?;
        let link =
            matches!(scene.word(a.from.checked_sub(1)?), "for" | "during" | "only" | "after" | "until");
        power.watts().filter(|_| link && a.from - power.to <= 3)
    };
    said.or_else(held)
        .or_else(|| scene.lone_power())
        .or_else(|| idle().then_some(0.0))
        .or_else(share)
        .or(scene.load_before)
}

impl Scene {
    /// Conditions said: those of the clause, else those of the sentence.
    pub fn conditions(&self, a: &Amount) -> Condition {
        let near = self.near(a);
        let pick = |cues: Vec<&Cue>| -> Condition {
            let each = cues.into_iter().filter_map(|c| match c.sense {
                Sense::On(axis, value) => Some((axis.to_string(), value.to_string())),
                _ => None,
            });
            each.collect()
        };
        let mut all = pick(self.cues.iter().filter(|c| !near(c)).collect());
        // "A quarter load or a half load: 909 and 911": it may be either.
        let either = |axis: &str, value: &str| {
            self.cues.iter().any(|c| matches!(c.sense, Sense::On(a, v) if a == axis && v != value))
        };
        all.retain(|axis, value| !either(axis, value));
        all.extend(pick(self.cues.iter().filter(&near).collect()));
        // The load of another clause is another number's where this clause says one: "173.7 at half load, 173.2 at 80 percent".
        let share = |o: &&Amount| o.what == What::Dim(Dim::Ratio) && self.is_load_share(o);
        let here = |o: &Amount| self.clause[o.at] == self.clause[a.at];
        let own = self.cues.iter().filter(&near).any(|c| matches!(c.sense, Sense::On("load", _)))
            || self.amounts.iter().filter(share).any(here);
        for other in self.amounts.iter().filter(share).filter(|o| here(o) || !own) {
            all.insert("load".into(), format!("{:.0} %", other.x * 100.0));
        }
        if let Some(overload) = self.overload_of(a) {
            all.insert("overload".into(), overload);
        }
        all
    }

    /// "50 percent load", "at 80 percent of rated power".
    pub fn is_load_share(&self, a: &Amount) -> bool {
        let next = self.word(a.to);
        // "With the load at 80 percent"
        if a.from > 1 && self.word(a.from - 1) == "at" && self.word(a.from - 2) == "load" {
            return true;
        }
        let of =
            next == "of" && (a.to..a.to + 5).any(|i| matches!(self.word(i), "power" | "load" | "output"));
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        matches!(next, "load" | "power" | "output")
            || (before == "load" && self.tokens[a.from].after.is_none())
            || of
    }

    /// "My router, ten watts, would live off it for three days": the one power of a sentence that nothing is said of.
    pub fn lone_power(&self) -> Option<f64> {
        let mut powers = self.amounts.iter().filter(|p| p.watts().is_some());
        let (p, None) = (powers.next()?, powers.next()) else { return None };
        let own = |c: &Cue| match c.sense {
            Sense::Topic(keys, firm) => firm == Firm::Strong && keys.iter().any(|k| takes(k) == Takes::Power),
            Sense::Claim => self.clause[c.at] == self.clause[p.at],
            _ => false,
        };
        (!self.cues.iter().any(own)).then_some(p.x)
    }
}
