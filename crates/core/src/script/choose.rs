//! The records an amount may speak of, and what it costs to say so.
use super::amount::Amount;
use super::assign::{MOST, Pairing};
use super::book::{Mark, Whose};
use super::compare::{Fit, fit};
use super::hedge::Hedge;
use super::judge::Desk;
use super::lexicon::{Cue, Firm, Sense, Takes, takes};
use super::load::loads;
use super::meaning::{Meant, is_station, keys_of};
use super::scene::{Scene, Topic, sort_of};
use super::unit::What;
use super::whose::Mode;
use crate::notebook::Condition;
use std::collections::BTreeMap;

/// First keys of topics for other ways in and out than the outlet: they leave no room for the outlet's own results.
const OTHER_WAYS: &[&str] = &["car-time", "solar-input", "dc-energy"];
/// What a record costs that nothing but the unit speaks for while other words do for others: it must agree.
const ALONE: f64 = 3.0;
/// What a record costs that the words close by speak against.
const ASTRAY: f64 = 5.0;

impl Desk<'_> {
    /// What it costs for an amount to speak of each result: how far the words for it stand.
    fn word_costs(
        &self,
        scene: &Scene,
        a: &Amount,
        sort: Takes,
        topics: &[Topic],
    ) -> BTreeMap<&'static str, f64> {
        let mut costs: BTreeMap<&'static str, f64> = BTreeMap::new();
        let close =
            |t: &&Topic| t.firm == Firm::Strong && t.near && (t.gap <= 3 || OTHER_WAYS.contains(&t.keys[0]));
        let other_way = topics.iter().filter(close).find(|t| OTHER_WAYS.contains(&t.keys[0]));
        let firm = other_way.or(topics.iter().find(close));
        let firm = firm.and_then(|t| keys_of(scene, a, sort, Some(t), topics));
        // Where no word of its own clause speaks of it, the unit alone may.
        let lone = !topics.iter().any(|t| t.near);
        let firsts = topics.iter().map(Some).chain(lone.then_some(None));
        for topic in firsts {
            let Some(keys) = keys_of(scene, a, sort, topic, topics) else { continue };
            let cost = topic.map_or(if topics.is_empty() { 2.0 } else { ALONE }, |t| {
                let far = if t.near { 0.0 } else { 1.0 };
                0.1 * t.gap.min(15) as f64 + far + if t.firm == Firm::Weak { 0.3 } else { 0.0 }
            });
            for key in keys {
                // A word that stands close and firm leaves little room for another.
                let astray = firm.as_ref().is_some_and(|f| !f.contains(&key));
                let cost = cost + if astray { ASTRAY } else { 0.0 };
                let known = costs.entry(key).or_insert(cost);
                *known = known.min(cost);
            }
        }
        costs
    }

    /// What each result costs; `rated` where a load is said: whether it is all that a station is rated for.
    fn costs(
        &self,
        scene: &Scene,
        a: &Amount,
        meant: &Meant,
        topics: &[Topic],
        rated: Option<bool>,
    ) -> BTreeMap<&'static str, f64> {
        let mut costs = match meant.guess {
            true => meant.keys.iter().map(|k| (*k, ALONE)).collect(),
            false => self.word_costs(scene, a, meant.sort, topics),
        };
        let time = |c: &BTreeMap<&'static str, f64>| {
            c.iter().filter(|(k, _)| takes(k) == Takes::Time).map(|(_, c)| *c).min_by(f64::total_cmp)
        };
        if let (Some(cost), true) = (time(&costs), rated == Some(true)) {
            costs.entry("time-held").or_insert(cost);
        }
        // "Gave up after 95 minutes" at a load it bears: it was empty.
        if let (Some(cost), true) = (costs.get("time-held").copied(), rated == Some(false)) {
            costs.entry("runtime").and_modify(|c| *c = c.min(cost)).or_insert(cost);
        }
        costs
    }

    /// The model a script is about may be meant where this sentence names none.
    fn main_models(&self, scene: &Scene, models: &[usize]) -> Vec<usize> {
        let all = self.default.into_iter().chain(self.before);
        all.filter(|m| scene.mentions.is_empty() && !models.contains(m)).collect()
    }

    /// The records an amount may speak of, cheapest first.
    pub fn choices(
        &self,
        scene: &Scene,
        a: &Amount,
        meant: &Meant,
        topics: &[Topic],
    ) -> Vec<(Pairing, Mark)> {
        let (sort, models) = (meant.sort, &meant.models);
        let mode = scene.mode(a);
        let conditions = scene.conditions(a);
        let load = loads(scene, a, self.book, models).filter(|_| sort == Takes::Time);
        // At all it is rated for a station holds for a time that no drain tells.
        let rated = |m: &usize| self.book.rated_w(*m).is_some_and(|w| load.is_some_and(|l| l >= 0.95 * w));
        let costs = self.costs(scene, a, meant, topics, load.map(|_| models.iter().any(rated)));
        let keys: Vec<&str> = costs.keys().copied().collect();
        let fridge = scene.says(&["fridge", "freezer", "refrigerator"]);
        let main = self.main_models(scene, models);
        let said = scene.temperature(a);
        let mut out: Vec<(Pairing, Mark)> = Vec::new();
        let all = models.iter().map(|m| (*m, 0.0)).chain(main.into_iter().map(|m| (m, 2.0)));
        for (m, away) in all {
            let run = (keys.contains(&"runtime") && sort == Takes::Time)
                .then(|| load.and_then(|w| self.book.runtime(m, w)))
                .flatten()
                .filter(|_| !(rated(&m) && self.book.marks[m].iter().any(|k| k.key == "time-held")));
            // With a load said, only the runtime at that load is meant.
            let other = |k: &&Mark| match (k.key.as_str(), load) {
                ("runtime", Some(w)) => at_load(k, w),
                // A fridge is no steady load: only a test with one speaks of it.
                ("runtime", None) => !fridge,
                ("cycling-runtime" | "appliance-runtime", Some(_)) => fridge,
                _ => true,
            };
            let noted =
                self.book.marks[m].iter().filter(|k| usable(scene, a, k, sort, mode, &keys)).filter(other);
            let there =
                |k: &&Mark| said.is_none_or(|t| at_temperature(k, t)) || k.takes == Takes::Temperature;
            let fits = |k: &&Mark| under(&k.condition, &conditions, &k.key) && there(k);
            for mark in noted.chain(run.as_ref()).filter(fits) {
                let how = fit(&at_most(scene, a, mark), mark, &self.limits(m, &mark.key));
                let wrong = (against(scene, a, mark, mode) && !self.held_a_time(scene, a, mark))
                    || self.not_every(scene, a, mark)
                    || self.not_the_range(scene, a, mark);
                let fit = if wrong { Fit::Differs } else { how };
                // Where no word says what is meant, a bound far off tells nothing.
                let far = meant.guess && (mark.x - a.x).abs() > 0.25 * a.x;
                if (away > 0.0 && (fit != Fit::Agrees || self.was_so(a, models, &keys))) || far {
                    continue;
                }
                let words = costs.get(mark.key.as_str()).copied().unwrap_or(0.0);
                if fit != Fit::Agrees && must_agree(mark, sort, mode, words, &conditions) {
                    continue;
                }
                // Of two that fit alike, what the bench says stands before a single test or the maker.
                let whose = match (mark.whose == Whose::Bench, fit) {
                    (true, _) => 0.0,
                    (_, Fit::Agrees) => 1e-6,
                    _ => 0.5,
                };
                let off = (mark.x - a.x).abs() / mark.x.abs().max(f64::MIN_POSITIVE);
                out.push((Pairing { words: words + away + whose, fit, off, record: mark.id }, mark.clone()));
            }
        }
        out.sort_by(|p, q| p.0.cost().total_cmp(&q.0.cost()));
        out.truncate(MOST);
        out
    }

    /// The very number that a model spoken of had once.
    fn was_so(&self, a: &Amount, models: &[usize], keys: &[&str]) -> bool {
        let mut marks = models.iter().flat_map(|&m| &self.book.marks[m]);
        marks.any(|k| {
            matches!(k.whose, Whose::Former(_))
                && keys.contains(&k.key.as_str())
                && fit(a, k, &[]) == Fit::Agrees
        })
    }

    /// "under 10 ms every time": one trial beyond it is enough.
    fn not_every(&self, scene: &Scene, a: &Amount, mark: &Mark) -> bool {
        let every = scene.says_near(a.at, &["every", "all", "always", "each", "never"]);
        let under = matches!(a.hedge, Hedge::Under | Hedge::JustUnder | Hedge::WellUnder);
        every
            && under
            && mark.key == "switchover"
            && self.book.marks[mark.model]
                .iter()
                .any(|k| k.key == mark.key && k.whose == Whose::Test && k.x > a.x)
    }

    /// "Its switchovers ranged from 6.2 to 19.1 ms": the ends are those of the trials.
    fn not_the_range(&self, scene: &Scene, a: &Amount, mark: &Mark) -> bool {
        let Some(hi) =
            a.hi.filter(|_| scene.says(&["ranged", "range", "ranges", "varied", "vary", "spread"]))
        else {
            return false;
        };
        let marks = &self.book.marks[mark.model];
        let trials: Vec<f64> =
            marks.iter().filter(|k| k.key == mark.key && k.whose == Whose::Test).map(|k| k.x).collect();
        let least = trials.iter().copied().fold(f64::INFINITY, f64::min);
        let most = trials.iter().copied().fold(0.0, f64::max);
        let off = |x: f64, y: f64| (x - y).abs() > 0.5 * a.step + 0.01 * y;
        mark.key == "switchover" && trials.len() > 2 && (off(a.x, least) || off(hi, most))
    }

    /// "It held its 1,750 W for 17 minutes": with the time that is on record nothing more is claimed.
    fn held_a_time(&self, scene: &Scene, a: &Amount, mark: &Mark) -> bool {
        let times = scene.amounts.iter().filter(|b| sort_of(&b.what) == Takes::Time && b.at > a.at);
        let held = self.book.marks[mark.model].iter().filter(|k| k.key == "time-held");
        mark.key == "sustained-output"
            && held.clone().any(|k| times.clone().any(|b| fit(b, k, &[]) == Fit::Agrees))
    }

    pub fn limits(&self, model: usize, key: &str) -> Vec<f64> {
        let claims = &self.book.report.models[model].claims;
        claims.iter().filter(|c| c.claim.key == key).filter_map(|c| c.limit).collect()
    }
}

/// "It starts anything up to 1,144 watts": the most it can, and no bound.
fn at_most(scene: &Scene, a: &Amount, mark: &Mark) -> Amount {
    let up_to = a.from < a.at && scene.word(a.from) == "up"
        || a.from > 1 && scene.word(a.from - 1) == "to" && scene.word(a.from - 2) == "up";
    let limit = matches!(mark.key.as_str(), "starting-power" | "sustained-output");
    let hedge = if up_to && limit && !a.bounded { Hedge::Plain } else { a.hedge };
    Amount { hedge, ..a.clone() }
}

/// May this mark be meant?
fn usable(scene: &Scene, a: &Amount, k: &Mark, sort: Takes, mode: Mode, keys: &[&str]) -> bool {
    if k.takes != sort || !keys.contains(&k.key.as_str()) {
        return false;
    }
    let money = matches!(sort, Takes::Money | Takes::MoneyPerWh);
    let currency = match &a.what {
        What::Money(c) | What::MoneyPerWh(c) => c.is_empty() || k.currency.is_empty() || k.currency == *c,
        _ => true,
    };
    let trial = [
        "slowest", "longest", "worst", "fastest", "quickest", "shortest", "trial", "once", "single", "max",
        "maximum", "min", "minimum", "range", "spread", "between", "highest", "lowest",
    ];
    let whose = match (&k.whose, mode) {
        (Whose::Former(why), _) => {
            scene.once(a)
                || scene.names_version(a, why)
                || (money && scene.says(&["was", "sale", "flash"]) && !now(scene, a))
        }
        (Whose::Maker(_), Mode::Measured) => false,
        (Whose::Bench | Whose::Test, Mode::Claim) => {
            money || matches!(k.key.as_str(), "usable-share" | "shown-at-end")
        }
        (Whose::Test, _) if k.key == "switchover" => scene.says(&trial),
        // A rounding is one of the result, not of the single test that lies closest to it.
        (Whose::Test, _) if a.hedge == Hedge::About => false,
        _ => true,
    };
    currency && whose
}

/// The sentence says that it is so now: "the flash sale is on".
fn now(scene: &Scene, a: &Amount) -> bool {
    let on =
        |i: usize| scene.word(i) == "is" && matches!(scene.word(i + 1), "on" | "live" | "running" | "back");
    let was = scene.says_near(a.at, &["was", "were", "went", "had"]);
    let is = scene.says_near(a.at, &["is", "now", "today", "currently", "still"]);
    (is && !was) || (0..scene.tokens.len()).any(on)
}

/// Is this record meant only where the number agrees with it?
fn must_agree(mark: &Mark, sort: Takes, mode: Mode, words: f64, conditions: &Condition) -> bool {
    let maker = matches!(mark.whose, Whose::Maker(_));
    // Under a load that was never run the maker's figure is no answer.
    let loaded = maker && mode == Mode::Open && conditions.contains_key("load");
    let hinted = mode == Mode::Hinted && !maker && !matches!(mark.whose, Whose::Former(_));
    let money = matches!(sort, Takes::Money | Takes::MoneyPerWh);
    loaded || words >= ALONE || (hinted && !money && mark.key != "usable-share")
}

/// A claim that the bench speaks against, said without "claims".
fn against(scene: &Scene, a: &Amount, mark: &Mark, mode: Mode) -> bool {
    // "It gives 1,010 watt-hours": what comes out was measured.
    let near = scene.near(a);
    let out = |c: &Cue| matches!(c.sense, Sense::Topic(["usable-energy", "usable-share"], _));
    let stored = |c: &Cue| matches!(c.sense, Sense::Topic(["usable-energy", "stored-energy", ..], _));
    let gives = scene.cues.iter().filter(&near).any(out) && !scene.cues.iter().filter(&near).any(stored);
    let loaded = scene.conditions(a).contains_key("load");
    if mark.key == "stored-energy" && mode == Mode::Open && (gives || loaded) && !a.describes {
        return true;
    }
    // Under a load energy comes out, and does not go in.
    if mark.key == "wall-energy" && loaded && !scene.speaks_of("wall-energy") {
        return true;
    }
    let describes = a.describes && is_station(scene, a.to);
    mark.whose == Whose::Maker(true) && mode == Mode::Open && !describes
}

/// Does a condition fit what was said? Axes not said are free.
pub fn under(condition: &Condition, said: &Condition, key: &str) -> bool {
    let free = matches!(key, "runtime" | "cycling-runtime" | "price" | "stored-energy");
    free || said.iter().all(|(axis, value)| {
        condition
            .get(axis)
            .is_none_or(|have| same_condition(axis, have, value) || (axis == "load" && have.ends_with('W')))
    })
}

/// Half load is half of what a station is rated for, whichever way a test names it.
pub fn same_condition(axis: &str, have: &str, said: &str) -> bool {
    have == said || (axis == "load" && have == "half" && said == "50 %")
}

/// Was it measured at about this temperature, in °C?
fn at_temperature(k: &Mark, celsius: f64) -> bool {
    let have = k.condition.get("temperature").and_then(|t| t.split(' ').next()?.parse::<f64>().ok());
    have.is_some_and(|t| (t - celsius).abs() <= 3.0)
}

pub fn at_load(k: &Mark, watts: f64) -> bool {
    let have = k.condition.get("load").and_then(|l| l.trim_end_matches(" W").parse::<f64>().ok());
    have.is_some_and(|w| (w - watts).abs() <= 0.01 * watts + 0.5)
}
