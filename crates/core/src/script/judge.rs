//! Each amount against what the bench knows of the model it speaks of.
use super::amount::{Amount, Hedge};
use super::book::{Book, Mark, Whose};
use super::compare::{Fit, fit};
use super::lexicon::{Firm, Sense, Takes};
use super::scene::{Mode, Scene, Topic, any_takes, sort_of};
use super::unit::What;
use super::{Judgement, Line, rank, relate};
use crate::notebook::Condition;
use crate::quantity::Dim;

/// What is carried from sentence to sentence, and what was found so far.
pub struct Desk<'a> {
    /// What the bench says.
    pub book: &'a Book<'a>,
    /// The model meant where none is named.
    default: Option<usize>,
    /// Models spoken of last.
    pub models: Vec<usize>,
    /// Topics of the sentence before.
    keys: Vec<&'static [&'static str]>,
    /// Energies said in the sentence before: value and step.
    pub energies: Vec<(f64, f64)>,
    /// Times of day said in the sentence before.
    pub stamps: Vec<super::clock::Spoken>,
    /// The statements found.
    pub lines: Vec<Line>,
}

/// Words that make a number of somebody else's business.
const ASIDE: &[&str] = &[
    "warranty", "guarantee", "video", "wait", "waited", "waiting", "rest", "rested", "ago", "discount", "coupon",
    "minute-long", "subscribe", "chapter", "episode", "shipping", "delivery", "break", "viewers", "subscribers", "cord",
    "cable", "circuit", "breaker", "independent",
];

impl<'a> Desk<'a> {
    /// A desk with nothing read yet.
    pub fn new(book: &'a Book<'a>, default: Option<usize>) -> Desk<'a> {
        let models = default.into_iter().collect();
        Desk {
            book,
            default,
            models,
            keys: Vec::new(),
            energies: Vec::new(),
            stamps: Vec::new(),
            lines: Vec::new(),
        }
    }

    /// Reads one sentence.
    pub fn read(&mut self, scene: &Scene, next: Option<&Scene>) {
        let start = self.lines.len();
        if self.models.is_empty()
            && scene.mentions.is_empty()
            && let Some(m) = next.and_then(|s| s.mentions.first())
        {
            self.models = m.models.clone();
        }
        let mut done = vec![false; scene.amounts.len()];
        relate::elapsed(self, scene, &mut done);
        relate::counts(self, scene, &mut done);
        relate::quotients(self, scene, &mut done);
        rank::superlatives(self, scene, &mut done);
        for (i, a) in scene.amounts.iter().enumerate() {
            if !done[i]
                && let Some(line) = self.amount(scene, a)
            {
                self.lines.push(line);
            }
        }
        self.lines[start..].sort_by_key(|l| l.line);
        self.carry(scene);
    }

    fn carry(&mut self, scene: &Scene) {
        if let Some(m) = scene.mentions.last() {
            self.models = m.models.clone();
        } else if self.models.is_empty() {
            self.models = self.default.into_iter().collect();
        }
        self.keys = scene
            .cues
            .iter()
            .filter_map(|c| match c.sense {
                Sense::Topic(keys, _) => Some(keys),
                _ => None,
            })
            .collect();
        self.energies = relate::energies(scene).into_iter().map(|a| (a.x, a.step)).collect();
        self.stamps = scene.stamps.clone();
    }

    /// A line for an amount.
    pub fn line(&self, scene: &Scene, a: &Amount, judgement: Judgement, mark: Option<&Mark>, hint: String) -> Line {
        Line {
            line: scene.tokens[a.at].line,
            says: scene.text(a.from, a.to),
            fact: mark.and_then(|m| m.fact.clone()),
            record: mark.map(Mark::text),
            judgement,
            hint,
        }
    }

    /// The models an amount can speak of; empty when none is known.
    pub fn models_at(&self, scene: &Scene, at: usize) -> Vec<usize> {
        scene.models(at).map_or_else(|| self.models.clone(), |m| m.models.clone())
    }

    fn amount(&self, scene: &Scene, a: &Amount) -> Option<Line> {
        let sort = sort_of(&a.what);
        match a.what {
            What::PowerPerTime => return Some(self.rate(scene, a)),
            What::MoneyPerW(_) => {
                let hint = "a price per watt-hour is meant: watts say how fast, watt-hours how much".to_string();
                return Some(self.line(scene, a, Judgement::WrongUnit, None, hint));
            }
            _ if sort == Takes::Other => return None,
            _ => {}
        }
        let models = self.models_at(scene, a.at);
        let topics = self.topics(scene, a, sort);
        let class = matches!(scene.word(a.to), "off" | "class" | "category" | "segment" | "range" | "size");
        if class || self.is_condition(scene, a, sort, &topics) || scene.says_near(a.at, ASIDE) {
            return None;
        }
        let everyone: Vec<usize> = (0..self.book.report.models.len()).collect();
        let unknown = models.is_empty();
        let models = if unknown { everyone } else { models };
        if let Some(slip) = self.slip(scene, a, sort, &models) {
            return Some(slip);
        }
        let keys = keys_of(scene, a, sort, &topics)?;
        let statement = sort == Takes::Energy
            || topics.first().is_some_and(|t| t.firm == Firm::Strong)
            || scene.of_station()
            || scene.tokens.len() < 9;
        if unknown && sort != Takes::Energy || !statement {
            return None;
        }
        let found = self.best(scene, a, sort, &keys, &models);
        self.verdict(scene, a, sort, &keys, &models, found, unknown)
    }

    /// "watts per hour".
    fn rate(&self, scene: &Scene, a: &Amount) -> Line {
        let hint = "watts say how fast already: say watts, or watt-hours for an amount".to_string();
        let models = self.models_at(scene, a.at);
        let idle = models.iter().flat_map(|&m| &self.book.marks[m]);
        let idle = idle.filter(|m| m.takes == Takes::Power && m.whose == Whose::Bench).find(|m| fit(a, m, &[]) == Fit::Agrees);
        self.line(scene, a, Judgement::WrongUnit, idle, hint)
    }

    /// Topics that take this sort of amount; a short sentence without any goes on with those before it.
    fn topics(&self, scene: &Scene, a: &Amount, sort: Takes) -> Vec<Topic> {
        let own = scene.topics(a, |keys| any_takes(keys, sort));
        let none = !scene.cues.iter().any(|c| matches!(c.sense, Sense::Topic(_, Firm::Strong)));
        if own.is_empty() && none && scene.tokens.len() <= 8 {
            let before = self.keys.iter().filter(|k| any_takes(k, sort));
            return before.map(|keys| Topic { keys, firm: Firm::Weak, gap: 50 }).collect();
        }
        own
    }

    /// It says under which load or to which charge, and is no statement of its own.
    fn is_condition(&self, scene: &Scene, a: &Amount, sort: Takes, topics: &[Topic]) -> bool {
        match sort {
            Takes::Power => load_of(scene, a, topics),
            Takes::Ratio => {
                let share = topics.first().is_some_and(|t| t.firm == Firm::Strong);
                let of_energy = scene.word(a.to) == "of"
                    && scene.amounts.iter().any(|e| e.at >= a.to && e.at <= a.to + 3 && e.what != What::Dim(Dim::Ratio));
                scene.is_load_share(a) || !(share || of_energy)
            }
            _ => false,
        }
    }

    /// Watts for watt-hours and the reverse; a thousandfold.
    fn slip(&self, scene: &Scene, a: &Amount, sort: Takes, models: &[usize]) -> Option<Line> {
        let nearest = scene.topics(a, |_| true);
        let firm = nearest.iter().find(|t| t.firm == Firm::Strong && t.gap <= 3);
        let first = firm.or(nearest.first())?;
        let other = match sort {
            Takes::Power => Takes::Energy,
            Takes::Energy => Takes::Power,
            _ => return None,
        };
        if any_takes(first.keys, sort) || !any_takes(first.keys, other) {
            return None;
        }
        let plain = Amount { hedge: if a.hedge == Hedge::Plain { Hedge::About } else { a.hedge }, ..a.clone() };
        let fits = |sort: Takes, keys: &[&str]| {
            let all = models.iter().flat_map(|&m| &self.book.marks[m]);
            let of = all.filter(|m| m.takes == sort && (keys.is_empty() || keys.contains(&m.key.as_str())));
            of.filter(|m| fit(&plain, m, &[]) == Fit::Agrees).min_by(|p, q| (p.x - a.x).abs().total_cmp(&(q.x - a.x).abs()))
        };
        let strong = first.firm == Firm::Strong && first.gap <= 4;
        // The unit fits a record of its own sort: the topic was misread, not the unit misspoken.
        if fits(sort, &[]).is_some_and(|m| !strong || any_takes(first.keys, Takes::Energy) == (m.takes == Takes::Energy)) {
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

    /// The mark that fits best among those the sentence can mean, and how.
    fn best(&self, scene: &Scene, a: &Amount, sort: Takes, keys: &[&str], models: &[usize]) -> Option<(Fit, Mark)> {
        let mode = scene.mode(a);
        let conditions = scene.conditions(a);
        let load = loads(scene, self.book, models);
        let mut best: Option<((Fit, bool, f64), Mark)> = None;
        for &m in models {
            let run = keys.contains(&"runtime").then(|| load.and_then(|w| self.book.runtime(m, w))).flatten();
            let other = |k: &&Mark| k.key != "runtime" || load.is_none_or(|w| at_load(k, w));
            let noted = self.book.marks[m].iter().filter(|k| usable(scene, a, k, sort, mode, keys)).filter(other);
            for mark in noted.chain(run.as_ref()).filter(|k| under(&k.condition, &conditions, &k.key)) {
                let how = fit(a, mark, &self.limits(m, &mark.key));
                let how = if against(scene, a, mark, mode) { Fit::Differs.max(how) } else { how };
                // Of two that fit alike, what the bench says stands before a single test or the maker.
                let bench = mark.whose == Whose::Bench;
                let off = (mark.x - a.x).abs() + if bench { 0.0 } else { 1e-9 * mark.x.abs() };
                let order = (how, how == Fit::Differs && !bench, off);
                if best.as_ref().is_none_or(|(b, _)| order < *b) {
                    best = Some((order, mark.clone()));
                }
            }
        }
        best.map(|((f, ..), m)| (f, m))
    }

    fn limits(&self, model: usize, key: &str) -> Vec<f64> {
        let claims = &self.book.report.models[model].claims;
        claims.iter().filter(|c| c.claim.key == key).filter_map(|c| c.limit).collect()
    }

    #[expect(clippy::too_many_arguments, reason = "the last step gathers what the others found")]
    fn verdict(
        &self,
        scene: &Scene,
        a: &Amount,
        sort: Takes,
        keys: &[&str],
        models: &[usize],
        found: Option<(Fit, Mark)>,
        unknown: bool,
    ) -> Option<Line> {
        if let Some((Fit::Agrees, mark)) = &found {
            if let Some(why) = self.old_price(scene, mark) {
                return Some(self.line(scene, a, Judgement::Stale, Some(mark), why));
            }
            return Some(self.line(scene, a, Judgement::Agrees, Some(mark), String::new()));
        }
        let conditions = scene.conditions(a);
        let all = || models.iter().flat_map(|&m| &self.book.marks[m]).filter(|k| keys.contains(&k.key.as_str()) && k.takes == sort);
        let old = all().filter(|k| matches!(k.whose, Whose::Former(_)) && under(&k.condition, &conditions, &k.key));
        let close = |k: &&Mark| a.hi.is_none() && (a.x - k.x).abs() <= (a.step / 2.0).clamp(0.01 * k.x.abs(), 0.02 * k.x.abs());
        if let Some(old) = old.clone().find(close)
            && let Whose::Former(why) = &old.whose
        {
            let now = found.as_ref().map_or_else(String::new, |(_, m)| format!("; now {}", m.text()));
            return Some(self.line(scene, a, Judgement::Stale, Some(old), format!("{why}{now}")));
        }
        if matches!(sort, Takes::Energy) && a.hi.is_none() {
            let scaled = |f: f64| Amount { x: a.x * f, step: a.step * f, hedge: Hedge::About, ..a.clone() };
            let thousand = [1e3, 1e-3].map(scaled);
            let meant = all().find(|k| thousand.iter().any(|t| fit(t, k, &[]) == Fit::Agrees));
            if let Some(mark) = meant {
                let hint = format!("a thousand times off: {} is meant", mark.text());
                return Some(self.line(scene, a, Judgement::WrongUnit, Some(mark), hint));
            }
        }
        match found {
            Some((Fit::OverRounded, mark)) => {
                let hint = format!("rounded too far; say {}, or \"about\" with the number as recorded", mark.text());
                Some(self.line(scene, a, Judgement::OverRounded, Some(&mark), hint))
            }
            Some((_, mark)) if !unknown => {
                let hint = match &mark.whose {
                    Whose::Maker(_) => format!("the maker's figure is {}", mark.text()),
                    _ => format!("the bench has {}", mark.text()),
                };
                Some(self.line(scene, a, Judgement::Differs, Some(&mark), hint))
            }
            _ => {
                let hint = match unknown {
                    true => "no model is named near it, and no record of the bench fits",
                    false => "the bench has no record of this; leave it out, or test it first",
                };
                Some(self.line(scene, a, Judgement::NoRecord, None, hint.into()))
            }
        }
    }

    /// Why a price that is still the last one known must not be said without its date.
    fn old_price(&self, scene: &Scene, mark: &Mark) -> Option<String> {
        let row = &self.book.report.models[mark.model].price;
        let price = row.price.as_ref().filter(|_| row.old && mark.takes == Takes::Money)?;
        const DATES: &[&str] = &[
            "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
            "december", "was", "were", "ago",
        ];
        (!scene.says(DATES)).then(|| format!("this price is of {}; say the date, or look it up again", price.on))
    }
}

/// Keys an amount can speak of, by its topics; by its unit where the unit alone says it.
fn keys_of(scene: &Scene, a: &Amount, sort: Takes, topics: &[Topic]) -> Option<Vec<&'static str>> {
    let eighty = scene.says(&["80", "eighty"]);
    let full = scene.says_near(a.at, &["full", "fully", "completely", "complete"]);
    if let Some(t) = topics.first() {
        let fridge = scene.says(&["fridge", "freezer", "refrigerator"]);
        let mut keys: Vec<&'static str> = t.keys.to_vec();
        // "gave", "got" leave open which energy is meant.
        if sort == Takes::Energy && t.firm == Firm::Weak {
            keys = vec!["usable-energy", "stored-energy"];
        }
        if keys.contains(&"runtime") && fridge {
            keys = vec!["cycling-runtime", "appliance-runtime", "runtime"];
        }
        if keys.contains(&"time-to-full") {
            keys = match (full, eighty) {
                (true, _) => vec!["time-to-full"],
                (false, true) => vec!["time-to-80"],
                _ => vec!["time-to-80", "time-to-full"],
            };
        }
        // "capacity" of a station may be either energy; "from the wall" only one.
        if sort == Takes::Energy && keys.contains(&"usable-energy") && topics.iter().any(|t| t.keys == ["wall-energy"] && t.gap < 6) {
            keys = vec!["wall-energy"];
        }
        return Some(keys);
    }
    match sort {
        Takes::Energy => Some(vec!["usable-energy", "stored-energy", "wall-energy"]),
        Takes::Mass if !a.describes => Some(vec!["mass"]),
        Takes::Level => Some(vec!["noise"]),
        Takes::Money if !scene.mentions.is_empty() => Some(vec!["price"]),
        Takes::MoneyPerWh => Some(vec!["price-per-wh"]),
        Takes::Time if a.factor < 1e-6 => Some(vec!["switchover"]),
        Takes::Time if (eighty || full) && scene.of_station() => Some(vec![if full { "time-to-full" } else { "time-to-80" }]),
        Takes::Time if scene.amounts.iter().any(|p| load_of(scene, p, &[])) && scene.of_station() => Some(vec!["runtime"]),
        Takes::Power if a.describes && matches!(scene.word(a.to), "station" | "unit" | "inverter" | "generator") => {
            Some(vec!["sustained-output"])
        }
        _ => None,
    }
}

/// May this mark be meant?
fn usable(scene: &Scene, a: &Amount, k: &Mark, sort: Takes, mode: Mode, keys: &[&str]) -> bool {
    let money = matches!(sort, Takes::Money | Takes::MoneyPerWh);
    let currency = match &a.what {
        What::Money(c) | What::MoneyPerWh(c) => k.currency.is_empty() || k.currency == *c,
        _ => true,
    };
    let trial = ["slowest", "longest", "worst", "fastest", "quickest", "shortest", "trial", "once", "single"];
    let whose = match (&k.whose, mode) {
        (Whose::Former(_), _) => scene.once(a) || (money && scene.says(&["was", "sale", "flash"])),
        (Whose::Maker(_), Mode::Measured) => false,
        (Whose::Bench | Whose::Test, Mode::Claim) => money || k.key == "usable-share",
        (Whose::Test, _) if k.key == "switchover" => scene.says(&trial),
        _ => true,
    };
    k.takes == sort && keys.contains(&k.key.as_str()) && currency && whose
}

/// A claim that the bench speaks against, said without "claims".
fn against(scene: &Scene, a: &Amount, mark: &Mark, mode: Mode) -> bool {
    let describes = a.describes && matches!(scene.word(a.to), "station" | "unit" | "inverter" | "generator" | "battery");
    mark.whose == Whose::Maker(true) && mode == Mode::Open && !describes
}

/// Does a condition fit what was said? Axes not said are free.
fn under(condition: &Condition, said: &Condition, key: &str) -> bool {
    let free = matches!(key, "runtime" | "cycling-runtime" | "price" | "stored-energy");
    free || said.iter().all(|(axis, value)| condition.get(axis).is_none_or(|have| have == value || (axis == "load" && have.ends_with('W'))))
}

fn at_load(k: &Mark, watts: f64) -> bool {
    let have = k.condition.get("load").and_then(|l| l.trim_end_matches(" W").parse::<f64>().ok());
    have.is_some_and(|w| (w - watts).abs() <= 0.01 * watts + 0.5)
}

/// "at 575 watts", "a 60-watt lamp": a load, and no statement about power.
fn load_of(scene: &Scene, a: &Amount, topics: &[Topic]) -> bool {
    if a.what != What::Dim(Dim::Power) {
        return false;
    }
    let spec = ["inverter", "output", "station", "unit", "generator", "surge", "continuous", "peak"];
    if spec.contains(&scene.word(a.to)) {
        return false;
    }
    let before = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    let at = matches!(before(1), "at" | "with" | "on" | "under" | "pulling" | "drawing" | "for" | "a" | "into") || a.describes;
    let held = ["idles", "idle", "idling", "rated", "held", "holds", "hold", "peaks", "peaked", "steady", "up", "out", "loaded", "sits"];
    let asserts = (1..4).any(|k| held.contains(&before(k)));
    let strong = topics.first().is_some_and(|t| t.firm == Firm::Strong && t.gap <= 3);
    at && !asserts && !(strong && !a.describes)
}

/// The load a sentence speaks of, in W.
fn loads(scene: &Scene, book: &Book, models: &[usize]) -> Option<f64> {
    let power = scene.amounts.iter().find(|a| load_of(scene, a, &[]));
    let idle = scene.cues.iter().any(|c| matches!(c.sense, Sense::Topic(["idle-draw", ..], _)));
    let share = || {
        let at = scene.amounts.first()?;
        let share = scene.conditions(at).get("load")?.trim_end_matches(" %").parse::<f64>().ok()?;
        Some(share / 100.0 * book.rated_w(*models.first()?)?)
    };
    match power {
        Some(a) => Some(a.x),
        None if idle => Some(0.0),
        None => share(),
    }
}
