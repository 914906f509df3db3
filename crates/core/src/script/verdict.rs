//! The judgement on one amount: the record that fits best, and what to say where none does.
use super::amount::Amount;
use super::assign::{MOST, Pairing};
use super::bare::Unit;
use super::book::{Mark, Whose};
use super::compare::{Fit, fit};
use super::hedge::Hedge;
use super::judge::Desk;
use super::lexicon::{Firm, Takes};
use super::meaning::{Meant, is_station, keys_of, loads};
use super::scene::{Mode, Scene, Topic, any_takes};
use super::unit::What;
use super::{Judgement, Line};
use crate::notebook::Condition;
use std::collections::BTreeMap;

/// What a record costs that the words close by speak against.
const ASTRAY: f64 = 5.0;

impl Desk<'_> {
    /// A thousand times more or less than an energy of these models.
    pub fn thousandfold(&self, a: &Amount, models: &[usize]) -> bool {
        let mut all = models.iter().flat_map(|&m| &self.book.marks[m]).filter(|k| k.takes == Takes::Energy);
        all.any(|m| [1e3, 1e-3].iter().any(|f| (a.x * f / m.x - 1.0).abs() < 0.05))
    }

    /// "watts per hour".
    pub fn rate(&self, scene: &Scene, a: &Amount) -> Line {
        let hint = "watts say how fast already: say watts, or watt-hours for an amount".to_string();
        let models = self.models_at(scene, a.at);
        let idle = models.iter().flat_map(|&m| &self.book.marks[m]);
        let idle = idle
            .filter(|m| m.takes == Takes::Power && m.whose == Whose::Bench)
            .find(|m| fit(a, m, &[]) == Fit::Agrees);
        self.line(scene, a, Judgement::WrongUnit, idle, hint)
    }

    /// Watts for watt-hours and the reverse; a thousandfold.
    pub fn slip(&self, scene: &Scene, a: &Amount, sort: Takes, models: &[usize]) -> Option<Line> {
        let nearest = scene.topics(a, |_| true);
        let firm = nearest.iter().find(|t| t.firm == Firm::Strong && t.gap <= 3);
        let first = firm.or(nearest.first())?;
        let other = match sort {
            Takes::Power => Takes::Energy,
            Takes::Energy => Takes::Power,
            _ => return None,
        };
        // Another word as firm in the clause takes the unit as it was said.
        let own = nearest.iter().any(|t| t.firm == Firm::Strong && t.near && any_takes(t.keys, sort));
        if own || any_takes(first.keys, sort) || !any_takes(first.keys, other) {
            return None;
        }
        let plain =
            Amount { hedge: if a.hedge == Hedge::Plain { Hedge::About } else { a.hedge }, ..a.clone() };
        let fits = |sort: Takes, keys: &[&str]| {
            let all = models.iter().flat_map(|&m| &self.book.marks[m]);
            let of = all.filter(|m| m.takes == sort && (keys.is_empty() || keys.contains(&m.key.as_str())));
            of.filter(|m| fit(&plain, m, &[]) == Fit::Agrees)
                .min_by(|p, q| (p.x - a.x).abs().total_cmp(&(q.x - a.x).abs()))
        };
        let strong = first.firm == Firm::Strong && first.near && first.gap <= 4;
        // The unit fits a record of its own sort: the topic was misread, not the unit misspoken.
        if fits(sort, &[])
            .is_some_and(|m| !strong || any_takes(first.keys, Takes::Energy) == (m.takes == Takes::Energy))
        {
            return None;
        }
        let meant = fits(other, first.keys);
        if meant.is_none() && !strong {
            return None;
        }
        let hint = match sort {
            Takes::Power => "this is an amount of energy: say watt-hours",
            _ => "this is a power: say watts",
        };
        Some(self.line(scene, a, Judgement::WrongUnit, meant, hint.into()))
    }

    /// What it costs for an amount to speak of each result: how far the words for it stand.
    fn word_costs(
        &self,
        scene: &Scene,
        a: &Amount,
        sort: Takes,
        topics: &[Topic],
    ) -> BTreeMap<&'static str, f64> {
        let mut costs: BTreeMap<&'static str, f64> = BTreeMap::new();
        let firm = topics.iter().find(|t| t.firm == Firm::Strong && t.near && t.gap <= 3);
        let firm = firm.and_then(|t| keys_of(scene, a, sort, Some(t), topics));
        let firsts = topics.iter().map(Some).chain(topics.is_empty().then_some(None));
        for topic in firsts {
            let Some(keys) = keys_of(scene, a, sort, topic, topics) else { continue };
            let cost = topic.map_or(2.0, |t| {
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
        let costs = self.word_costs(scene, a, sort, topics);
        let keys: Vec<&str> = costs.keys().copied().collect();
        let load = loads(scene, a, self.book, models).filter(|_| sort == Takes::Time);
        let fridge = scene.says(&["fridge", "freezer", "refrigerator"]);
        // The model a script is about may be meant where this sentence names none.
        let main: Vec<usize> = self
            .default
            .into_iter()
            .chain(self.before)
            .filter(|m| scene.mentions.is_empty() && !models.contains(m))
            .collect();
        let mut out: Vec<(Pairing, Mark)> = Vec::new();
        let all = models.iter().map(|m| (*m, 0.0)).chain(main.into_iter().map(|m| (m, 2.0)));
        for (m, away) in all {
            let run = (keys.contains(&"runtime") && sort == Takes::Time)
                .then(|| load.and_then(|w| self.book.runtime(m, w)))
                .flatten();
            // With a load said, only the runtime at that load is meant.
            let other = |k: &&Mark| match (k.key.as_str(), load) {
                ("runtime", Some(w)) => at_load(k, w),
                ("cycling-runtime" | "appliance-runtime", Some(_)) => fridge,
                _ => true,
            };
            let noted =
                self.book.marks[m].iter().filter(|k| usable(scene, a, k, sort, mode, &keys)).filter(other);
            for mark in noted.chain(run.as_ref()).filter(|k| under(&k.condition, &conditions, &k.key)) {
                let how = fit(a, mark, &self.limits(m, &mark.key));
                let wrong = against(scene, a, mark, mode) || self.not_every(scene, a, mark);
                let fit = if wrong { Fit::Differs } else { how };
                if away > 0.0 && fit != Fit::Agrees {
                    continue;
                }
                let words = costs.get(mark.key.as_str()).copied().unwrap_or(0.0);
                if words >= ASTRAY && fit != Fit::Agrees {
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

    /// The record that the number said would fit in another unit of the same sort: hours for minutes, pounds for
    /// kilograms, cents for dollars, a thousandfold; and the slip in words.
    pub fn misspoken(&self, scene: &Scene, a: &Amount, meant: &Meant) -> Option<(Mark, &'static str)> {
        if a.hi.is_some() || a.unit != Unit::Said {
            return None;
        }
        let money = matches!(meant.sort, Takes::Money | Takes::MoneyPerWh);
        let (conditions, mode) = (scene.conditions(a), scene.mode(a));
        let load = loads(scene, a, self.book, &meant.models);
        let same_load = |k: &&Mark| k.key != "runtime" || load.is_some_and(|w| at_load(k, w));
        let all = || {
            let marks = meant.models.iter().flat_map(|&m| &self.book.marks[m]);
            let marks = marks.filter(|k| meant.keys.contains(&k.key.as_str()) && k.takes == meant.sort);
            let marks = marks.filter(same_load);
            marks.filter(|k| under(&k.condition, &conditions, &k.key) && !matches!(k.whose, Whose::Former(_)))
        };
        for (factor, how) in slips(meant.sort, a.factor) {
            // The very number in another unit; a factor of the kind of 2.2 needs it to the last place said.
            let said = Amount { x: a.x * factor, step: a.step * factor, hedge: a.hedge, ..a.clone() };
            let exact = |k: &&Mark| {
                let place = (said.x - k.x).abs() <= said.step / 2.0 * (1.0 + 1e-9);
                fit(&said, k, &[]) == Fit::Agrees && (place || (*factor - 1.0).abs() > 10.0)
            };
            let claim = |k: &&Mark| mode != Mode::Claim || !matches!(k.whose, Whose::Bench | Whose::Test);
            if let Some(mark) = all().filter(claim).find(exact) {
                return Some((mark.clone(), how));
            }
        }
        let other = match &a.what {
            What::Money(c) | What::MoneyPerWh(c) if money => *c,
            _ => return None,
        };
        let same = |k: &&Mark| !k.currency.is_empty() && k.currency != other && (k.x - a.x).abs() < 1e-9;
        all().find(same).map(|mark| (mark.clone(), "another currency"))
    }

    pub fn limits(&self, model: usize, key: &str) -> Vec<f64> {
        let claims = &self.book.report.models[model].claims;
        claims.iter().filter(|c| c.claim.key == key).filter_map(|c| c.limit).collect()
    }

    pub fn verdict(&self, scene: &Scene, a: &Amount, meant: &Meant, found: Option<(Fit, Mark)>) -> Line {
        let Meant { sort, keys, models, unknown } = meant;
        let (sort, unknown) = (*sort, *unknown);
        if let Some((Fit::Agrees, mark)) = &found {
            if let Some(why) = self.old_price(scene, mark) {
                return self.line(scene, a, Judgement::Agrees, Some(mark), why);
            }
            return self.line(scene, a, Judgement::Agrees, Some(mark), String::new());
        }
        let conditions = scene.conditions(a);
        let all = || {
            models
                .iter()
                .flat_map(|&m| &self.book.marks[m])
                .filter(|k| keys.contains(&k.key.as_str()) && k.takes == sort)
        };
        let load = loads(scene, a, self.book, models);
        let same = |k: &&Mark| k.key != "runtime" || load.is_none_or(|w| at_load(k, w));
        let old = all()
            .filter(same)
            .filter(|k| matches!(k.whose, Whose::Former(_)) && under(&k.condition, &conditions, &k.key));
        let close = |k: &&Mark| {
            a.hi.is_none() && (a.x - k.x).abs() <= (a.step / 2.0).clamp(0.01 * k.x.abs(), 0.02 * k.x.abs())
        };
        if let Some(old) = old.clone().find(close)
            && let Whose::Former(why) = &old.whose
        {
            let now = found.as_ref().map_or_else(String::new, |(_, m)| format!("; now {}", m.text()));
            return self.line(scene, a, Judgement::Stale, Some(old), format!("{why}{now}"));
        }
        if let Some((mark, how)) = self.misspoken(scene, a, meant) {
            let hint = format!("{how}: {} is meant", mark.text());
            return self.line(scene, a, Judgement::WrongUnit, Some(&mark), hint);
        }
        match found {
            Some((Fit::OverRounded, mark)) => {
                let hint =
                    format!("rounded too far; say {}, or \"about\" with the number as recorded", mark.text());
                self.line(scene, a, Judgement::OverRounded, Some(&mark), hint)
            }
            Some((_, mark)) if !unknown => {
                let hint = match &mark.whose {
                    Whose::Maker(_) => format!("the maker's figure is {}", mark.text()),
                    _ => format!("the bench has {}", mark.text()),
                };
                self.line(scene, a, Judgement::Differs, Some(&mark), hint)
            }
            _ => {
                let hint = match unknown {
                    true => "no model is named near it, and no record of the bench fits",
                    false => "the bench has no record of this; leave it out, or test it first",
                };
                self.line(scene, a, Judgement::NoRecord, None, hint.into())
            }
        }
    }

    /// What to add to a price that is still the last one known, but older than the settings allow.
    pub fn old_price(&self, scene: &Scene, mark: &Mark) -> Option<String> {
        let row = &self.book.report.models[mark.model].price;
        let price = row.price.as_ref().filter(|_| row.old && mark.takes == Takes::Money)?;
        const DATES: &[&str] = &[
            "january",
            "february",
            "march",
            "april",
            "may",
            "june",
            "july",
            "august",
            "september",
            "october",
            "november",
            "december",
            "was",
            "were",
            "ago",
        ];
        (!scene.says(DATES))
            .then(|| format!("this price is of {}; say the date, or look it up again", price.on))
    }
}

/// Factors from the unit said to others that are taken for it, by the sort of amount and the factor of the unit said.
fn slips(sort: Takes, factor: f64) -> &'static [(f64, &'static str)] {
    const THOUSAND: &[(f64, &str)] = &[(1e3, "a thousand times off"), (1e-3, "a thousand times off")];
    // International pound, 1959: 0.45359237 kg.
    const POUNDS: &[(f64, &str)] = &[(1.0 / 0.453_592_37, "kilograms, not pounds")];
    const KILOS: &[(f64, &str)] = &[(0.453_592_37, "pounds, not kilograms"), (1e-3, "grams, not kilograms")];
    const HOURS: &[(f64, &str)] = &[(1.0 / 60.0, "minutes, not hours")];
    const MINUTES: &[(f64, &str)] = &[(60.0, "hours, not minutes"), (1.0 / 60.0, "seconds, not minutes")];
    const SECONDS: &[(f64, &str)] = &[(60.0, "minutes, not seconds"), (1e-3, "milliseconds, not seconds")];
    const MILLI: &[(f64, &str)] = &[(1e3, "seconds, not milliseconds")];
    const CENTS: &[(f64, &str)] = &[(100.0, "dollars, not cents"), (0.01, "cents, not dollars")];
    match sort {
        Takes::Energy | Takes::Power => THOUSAND,
        Takes::Mass if (factor - 0.453_592_37).abs() < 1e-6 => POUNDS,
        Takes::Mass if factor > 0.9 => KILOS,
        Takes::Time if factor >= 0.9 && factor < 1.1 => HOURS,
        Takes::Time if factor < 1e-5 => MILLI,
        Takes::Time if factor < 1e-3 => SECONDS,
        Takes::Time if factor < 0.9 => MINUTES,
        Takes::MoneyPerWh => CENTS,
        _ => &[],
    }
}

/// May this mark be meant?
fn usable(scene: &Scene, a: &Amount, k: &Mark, sort: Takes, mode: Mode, keys: &[&str]) -> bool {
    if k.takes != sort || !keys.contains(&k.key.as_str()) {
        return false;
    }
    let money = matches!(sort, Takes::Money | Takes::MoneyPerWh);
    let currency = match &a.what {
        What::Money(c) | What::MoneyPerWh(c) => k.currency.is_empty() || k.currency == *c,
        _ => true,
    };
    let trial = ["slowest", "longest", "worst", "fastest", "quickest", "shortest", "trial", "once", "single"];
    let whose = match (&k.whose, mode) {
        (Whose::Former(why), _) => {
            scene.once(a) || scene.names_version(a, why) || (money && scene.says(&["was", "sale", "flash"]))
        }
        (Whose::Maker(_), Mode::Measured) => false,
        (Whose::Bench | Whose::Test, Mode::Claim) => money || k.key == "usable-share",
        (Whose::Test, _) if k.key == "switchover" => scene.says(&trial),
        _ => true,
    };
    currency && whose
}

/// A claim that the bench speaks against, said without "claims".
fn against(scene: &Scene, a: &Amount, mark: &Mark, mode: Mode) -> bool {
    let describes = a.describes && is_station(scene, a.to);
    mark.whose == Whose::Maker(true) && mode == Mode::Open && !describes
}

/// Does a condition fit what was said? Axes not said are free.
fn under(condition: &Condition, said: &Condition, key: &str) -> bool {
    let free = matches!(key, "runtime" | "cycling-runtime" | "price" | "stored-energy");
    free || said.iter().all(|(axis, value)| {
        condition.get(axis).is_none_or(|have| have == value || (axis == "load" && have.ends_with('W')))
    })
}

fn at_load(k: &Mark, watts: f64) -> bool {
    let have = k.condition.get("load").and_then(|l| l.trim_end_matches(" W").parse::<f64>().ok());
    have.is_some_and(|w| (w - watts).abs() <= 0.01 * watts + 0.5)
}
