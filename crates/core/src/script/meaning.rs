//! What an amount means: which results it can speak of, whether it is a load or somebody else's number.
use super::amount::Amount;
use super::lemma::root;
use super::lexicon::{Cue, Firm, Sense, Takes};
use super::load::load_of;
use super::scene::{Scene, Topic};
use super::unit::What;
use super::whose::Mode;
use crate::quantity::Dim;

/// What an amount was taken to mean.
pub struct Meant {
    /// Sort of amount.
    pub sort: Takes,
    /// Result keys.
    pub keys: Vec<&'static str>,
    /// Models it may speak of.
    pub models: Vec<usize>,
    /// No model is named; all were looked at.
    pub unknown: bool,
    /// No word says what is meant: only a record that agrees is taken.
    pub guess: bool,
}

/// Results an amount may speak of where no word says which.
pub fn any_keys(sort: Takes) -> &'static [&'static str] {
    match sort {
        Takes::Time => {
            &["time-to-80", "time-to-full", "runtime", "cycling-runtime", "time-held", "switchover"]
        }
        Takes::Power => &["idle-draw", "sustained-output", "starting-power"],
        _ => &[],
    }
}

/// Keys an amount can speak of, by its topics; by its unit where the unit alone says it.
pub fn keys_of(
    scene: &Scene,
    a: &Amount,
    sort: Takes,
    topic: Option<&Topic>,
    topics: &[Topic],
) -> Option<Vec<&'static str>> {
    if let Some(keys) = by_state(scene, a, sort) {
        return Some(keys);
    }
    let (eighty, full) = end_of_charge(scene, a, topics);
    if let Some(t) = topic {
        let fridge = scene.says(&["fridge", "freezer", "refrigerator"]);
        let mut keys: Vec<&'static str> = t.keys.to_vec();
        let elsewhere = !t.near && t.keys[0] == "wall-energy";
        if sort == Takes::Energy && (elsewhere || matches!(scene.mode(a), Mode::Claim | Mode::Hinted)) {
            return Some(vec!["usable-energy", "stored-energy"]);
        }
        // "gave", "got" leave open which energy is meant.
        if sort == Takes::Energy && t.firm == Firm::Weak && keys.contains(&"usable-energy") {
            keys = vec!["usable-energy", "stored-energy"];
        }
        if sort == Takes::Energy && fridge && !scene.speaks_of("wall-energy") {
            keys.push("cycling-energy");
        }
        if fridge && sort == Takes::Time && keys == ["time-held"] {
            keys = vec!["cycling-runtime", "appliance-runtime"];
        }
        if keys.contains(&"runtime") && fridge {
            keys = vec!["cycling-runtime", "appliance-runtime", "runtime"];
        }
        if let Some(key) = elsewhere_tested(scene, a, sort, &keys) {
            return Some(vec![key]);
        }
        // "Keeps it with 22.3 milliseconds", "last with 67": so short a time is one of switching over.
        if sort == Takes::Time && a.factor < 1e-6 && !keys.contains(&"switchover") {
            keys = vec!["switchover"];
        }
        if sort == Takes::Time && keys.contains(&"time-to-full") {
            keys = match (full, eighty) {
                (true, _) => vec!["time-to-full"],
                (false, true) => vec!["time-to-80"],
                _ => vec!["time-to-80", "time-to-full"],
            };
        }
        // "After 500 cycles it still has 80 percent of its capacity" is another test.
        if sort == Takes::Ratio && aged(scene, a) && keys.contains(&"usable-share") {
            keys = vec!["retained-energy"];
        }
        // "capacity" of a station may be either energy; "from the wall" only one.
        if sort == Takes::Energy
            && keys.contains(&"usable-energy")
            && !(t.near && t.gap <= 1 && t.keys[0] == "usable-energy")
            && topics.iter().any(|t| t.keys[0] == "wall-energy" && t.gap < 6)
        {
            keys = vec!["wall-energy"];
        }
        return Some(keys);
    }
    by_unit(scene, a, sort, eighty, full)
}

/// Which end of a charge is meant, 80 percent or full: the words that stand closer.
fn end_of_charge(scene: &Scene, a: &Amount, topics: &[Topic]) -> (bool, bool) {
    let named = |key: &str| {
        let of = |t: &&Topic| t.keys == [key];
        topics.iter().filter(of).map(|t| (!t.near, t.gap)).min()
    };
    let (eighty, full) = match (named("time-to-80"), named("time-to-full")) {
        (Some(e), Some(f)) => (e <= f, f < e),
        (e, f) => (e.is_some(), f.is_some()),
    };
    // "53 minutes to 80 percent, 93 minutes until the charger stops": the end of another number's clause.
    let far = |k: &'static str| named(k).is_some_and(|(far, _)| far);
    let before = scene.amounts.iter().any(|b| b.what == a.what && b.to <= a.from);
    (eighty && !(far("time-to-80") && before), full)
}

/// What the state of the station alone tells.
fn by_state(scene: &Scene, a: &Amount, sort: Takes) -> Option<Vec<&'static str>> {
    match sort {
        Takes::Ratio if scene.shown_at_end(a) => Some(vec!["shown-at-end"]),
        Takes::Ratio if scene.on_the_shelf() => Some(vec!["standby-loss"]),
        Takes::Time if scene.overload_of(a).is_some() => Some(vec!["overload-time"]),
        Takes::Time if by_the_sun(scene, a) => Some(vec!["solar-time"]),
        _ => None,
    }
}

/// "From the roof panels it needs eleven hours": how long the sun takes to fill it.
fn by_the_sun(scene: &Scene, a: &Amount) -> bool {
    let near = scene.near(a);
    let sun = scene.cues.iter().filter(&near).any(|c| matches!(c.sense, Sense::Topic(["solar-input"], _)));
    let fills =
        scene.says(&["full", "charge", "charges", "charged", "fill", "fills", "needs", "takes", "refill"]);
    sun && fills && a.x >= 0.5 && scene.of_station()
}

/// What comes out in the cold, what the sun fills and what comes back of what went in are other results than the words
/// beside the number say.
fn elsewhere_tested(scene: &Scene, a: &Amount, sort: Takes, keys: &[&str]) -> Option<&'static str> {
    let cold = scene.says(&["freezing", "subzero", "frost", "frozen"])
        || (0..scene.tokens.len()).any(|i| scene.word(i) == "sub" && scene.word(i + 1) == "zero");
    match sort {
        Takes::Energy if cold && scene.mode(a) != Mode::Claim => Some("cold-energy"),
        Takes::Time if cold && scene.mode(a) != Mode::Claim => Some("cold-time"),
        Takes::Time if scene.speaks_of("solar-input") && keys.iter().any(|k| k.starts_with("time-to")) => {
            Some("solar-time")
        }
        Takes::Ratio if keys.first() != Some(&"shown-at-end") => scene.of_what_went_in(a),
        _ => None,
    }
}

impl Scene {
    /// A share in it is one of the maker's figure.
    pub fn speaks_of_claim(&self) -> bool {
        self.amounts.iter().any(|a| a.what == What::Dim(Dim::Ratio) && of_claim(self, a))
    }

    /// A share of what went in: that comes out again, or that is lost on the way.
    pub fn of_what_went_in(&self, a: &Amount) -> Option<&'static str> {
        const LOST: &[&str] =
            &["lost", "lose", "loses", "losing", "loss", "losses", "wasted", "wastes", "heat", "gone"];
        const BACK: &[&str] =
            &["back", "again", "out", "returns", "returned", "recovered", "recover", "survives"];
        let here = |c: &&Cue| self.clause[c.at].abs_diff(self.clause[a.at]) <= 1;
        let went_in =
            self.cues.iter().filter(here).any(|c| matches!(c.sense, Sense::Topic(["wall-energy", ..], _)));
        let said = |words: &[&str]| self.says(words);
        let between = said(&["between", "way", "conversion"])
            && said(&["socket", "plug", "outlet", "inverter", "conversion"]);
        if between && said(LOST) && self.of_station() {
            return Some("lost-on-the-way");
        }
        (went_in && !self.cues.iter().any(|c| c.sense == Sense::Claim))
            .then(|| if said(LOST) { Some("lost-on-the-way") } else { said(BACK).then_some("comes-back") })?
    }

    /// The temperature a number is bound to, in °C, where it is none of a room: one said in its own clause, or in another
    /// that has no number of this sort.
    pub fn temperature(&self, a: &Amount) -> Option<f64> {
        let minus = |b: &&Amount| {
            b.what == What::Bare
                && b.from > 1
                && self.word(b.from - 1) == "minus"
                && matches!(self.word(b.from - 2), "at" | "in")
        };
        let degrees = self.amounts.iter().find(|b| b.what == What::Dim(Dim::Temperature));
        let said = degrees.or_else(|| self.amounts.iter().find(minus))?;
        let there = |b: &Amount| self.clause[b.at] == self.clause[said.at] && b.what == a.what;
        if self.clause[a.at] != self.clause[said.at] && self.amounts.iter().any(there) {
            return None;
        }
        let before = said.from.checked_sub(1).map_or("", |i| self.word(i));
        let minus = before == "minus" || (before == "below" && self.word(said.to) == "zero");
        let t = if minus { -said.x } else { said.x };
        let bound = minus || matches!(before, "at" | "in");
        (bound && !(16.0..=30.0).contains(&t)).then_some(t)
    }
}

/// It is said to be so after many cycles or years.
pub fn aged(scene: &Scene, a: &Amount) -> bool {
    let after = scene.word(a.to) == "after" || scene.says_near(a.at, &["after"]);
    let charges = |b: &Amount| {
        b.what == What::Bare && matches!(scene.word(b.to), "charges" | "recharges" | "discharges")
    };
    let cycles = |b: &Amount| b.what == What::Dim(Dim::Count) || (after && charges(b));
    scene.amounts.iter().any(cycles) || (after && scene.says(&["years", "year", "months"]))
}

/// Keys where no word says which: by the unit, and by what else stands in the sentence.
fn by_unit(scene: &Scene, a: &Amount, sort: Takes, eighty: bool, full: bool) -> Option<Vec<&'static str>> {
    let fridge =
        scene.says(&["fridge", "freezer", "refrigerator"]) && !matches!(scene.word(a.at), "a" | "an");
    match sort {
        Takes::Energy if fridge => {
            Some(vec!["cycling-energy", "usable-energy", "stored-energy", "wall-energy"])
        }
        Takes::Energy => Some(vec!["usable-energy", "stored-energy", "wall-energy"]),
        Takes::Mass if !a.describes => Some(vec!["mass"]),
        Takes::Level => Some(vec!["noise"]),
        Takes::Money if !scene.mentions.is_empty() || lone_price(scene, a) => Some(vec!["price"]),
        Takes::MoneyPerWh => Some(vec!["price-per-wh"]),
        Takes::PerMass => Some(vec!["energy-per-kg"]),
        Takes::PerMoney => Some(vec!["energy-per-money"]),
        Takes::Ratio if of_claim(scene, a) => Some(vec!["usable-share"]),
        Takes::Ratio if scene.of_what_went_in(a).is_some() => scene.of_what_went_in(a).map(|k| vec![k]),
        Takes::Time
            if scene.says(&["fridge", "freezer", "refrigerator"]) && scene.of_station() && a.x > 1.0 =>
        {
            Some(vec!["cycling-runtime", "appliance-runtime"])
        }
        Takes::Time if a.factor < 1e-6 => Some(vec!["switchover"]),
        Takes::Time if (eighty || full) && scene.of_station() => {
            Some(vec![if full { "time-to-full" } else { "time-to-80" }])
        }
        Takes::Time
            if scene.amounts.iter().any(|p| load_of(scene, p, &[]))
                && (scene.of_station() || scene.is_bare_line()) =>
        {
            Some(vec!["runtime"])
        }
        Takes::Time if scene.lone_power().is_some() && a.x >= 0.3 && scene.of_station() => {
            Some(vec!["runtime"])
        }
        Takes::Time if scene.load_before.is_some() => Some(vec!["runtime"]),
        Takes::Power if a.describes && is_station(scene, a.to) => Some(vec!["sustained-output"]),
        Takes::Power if matches!(scene.mode(a), Mode::Claim | Mode::Hinted) && scene.of_station() => {
            Some(vec!["sustained-output", "starting-power", "solar-input"])
        }
        _ => None,
    }
}

/// "2,899 dollars, currently": a line that is no more than a price.
fn lone_price(scene: &Scene, a: &Amount) -> bool {
    let said = a.to - a.from;
    a.x >= super::told::LEAST_PRICE && !scene.asks && scene.tokens.len() <= said + 3
}

/// "83 percent of what they promise": a share of the maker's figure.
pub fn of_claim(scene: &Scene, a: &Amount) -> bool {
    // "61 percent is all you get of what the label says": no other number stands between.
    let far = (a.to..a.to + 9).find(|i| scene.word(*i) == "of");
    let free = |i: &usize| !scene.amounts.iter().any(|b| (a.to..*i).contains(&b.at));
    let Some(of) = far.filter(free) else { return false };
    let claim = |c: &Cue| c.sense == Sense::Claim && c.at > of && c.at <= of + 6;
    scene.cues.iter().any(claim)
}

/// Roots of verbs of what follows from a condition.
const FOLLOWS: &[&str] = &[
    "becom", "tak", "need", "giv", "get", "drop", "climb", "ris", "go", "last", "run", "fall", "com", "is",
    "want", "shut", "trip", "cut", "quit", "switch", "die", "stop", "hold",
];

/// "If you draw a kilowatt-hour": nothing that was measured, unless it agrees.
pub fn supposed(scene: &Scene, a: &Amount) -> bool {
    const WORDS: &[&str] =
        &["if", "suppose", "supposing", "imagine", "assume", "assuming", "unless", "whether"];
    let asks = scene.tokens.first().is_some_and(|t| t.text == "suppose" || t.text == "imagine");
    // "if you please" supposes nothing; what is supposed stands before its number.
    let idiom = |i: usize| {
        let (b, c, d) = (scene.word(i + 1), scene.word(i + 2), scene.word(i + 3));
        let polite = b == "you" && matches!(c, "please" | "like" | "will" | "ask" | "wish" | "must");
        polite
            || matches!(b, "anything" | "memory")
            || (b == "i" && matches!(c, "may" | "remember" | "recall"))
            || d == "honest"
    };
    let here = scene.clause[a.at];
    let said = |i: &usize| scene.clause[*i] == here && WORDS.contains(&scene.word(*i)) && !idiom(*i);
    // "If you leave it alone that becomes two hours": what follows from it was seen.
    let follows = |i: usize| {
        (i + 4..a.from).any(|k| {
            matches!(scene.word(k), "that" | "it" | "this" | "you" | "one")
                && FOLLOWS.contains(&root(scene.word(k + 1)))
        })
    };
    asks || (0..a.at).any(|i| said(&i) && !follows(i))
}

/// The station itself, or what it is made of.
pub fn is_station(scene: &Scene, i: usize) -> bool {
    let word = scene.word(i);
    let own = ["station", "unit", "inverter", "generator", "battery", "box", "model", "pack"];
    own.contains(&word)
        || (word == "power" && own.contains(&scene.word(i + 1)))
        || (word == "portable" && scene.word(i + 1) == "power")
}

/// "245 watt-hours a day" is a power: the energy over 24 hours.
pub fn per_day(scene: &Scene, a: &Amount) -> Option<Amount> {
    let day = matches!(
        (scene.word(a.to), scene.word(a.to + 1)),
        ("a" | "per" | "each" | "every" | "/", "day") | ("daily", _)
    );
    let power = What::Dim(Dim::Power);
    let daily =
        Amount { what: power, x: a.x / 24.0, step: a.step / 24.0, factor: a.factor / 24.0, ..a.clone() };
    (day && a.what == What::Dim(Dim::Energy)).then_some(daily)
}
