//! What an amount means: which results it can speak of, whether it is a load or somebody else's number.
use super::amount::Amount;
use super::book::Book;
use super::lexicon::{Cue, Firm, Sense, Takes, takes};
use super::scene::{Scene, Topic};
use super::unit::{What, unit_at};
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

/// Words that make a number of somebody else's business.
const ASIDE: &[&str] = &[
    "warranty",
    "guarantee",
    "video",
    "waited",
    "waiting",
    "rest",
    "rested",
    "ago",
    "discount",
    "coupon",
    "minute-long",
    "subscribe",
    "chapter",
    "episode",
    "shipping",
    "delivery",
    "break",
    "viewers",
    "subscribers",
    "cord",
    "cable",
    "circuit",
    "breaker",
    "independent",
];

/// Keys an amount can speak of, by its topics; by its unit where the unit alone says it.
pub fn keys_of(
    scene: &Scene,
    a: &Amount,
    sort: Takes,
    topic: Option<&Topic>,
    topics: &[Topic],
) -> Option<Vec<&'static str>> {
    let named = |key: &str| {
        let of = |t: &&Topic| t.keys == [key];
        topics.iter().filter(of).map(|t| (!t.near, t.gap)).min()
    };
    // Which end of a charge is meant: the words that stand closer.
    let (eighty, full) = match (named("time-to-80"), named("time-to-full")) {
        (Some(e), Some(f)) => (e <= f, f < e),
        (e, f) => (e.is_some(), f.is_some()),
    };
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
        if keys.contains(&"runtime") && fridge {
            keys = vec!["cycling-runtime", "appliance-runtime", "runtime"];
        }
        // What comes out in the cold is another test.
        let cold = scene.says(&["freezing", "subzero", "frost", "frozen"])
            || (0..scene.tokens.len()).any(|i| scene.word(i) == "sub" && scene.word(i + 1) == "zero");
        if cold && matches!(sort, Takes::Energy | Takes::Time) && scene.mode(a) != Mode::Claim {
            return Some(vec![if sort == Takes::Energy { "cold-energy" } else { "cold-time" }]);
        }
        // Filled by the sun: another test than that from the wall.
        if sort == Takes::Time
            && scene.speaks_of("solar-input")
            && keys.iter().any(|k| k.starts_with("time-to"))
        {
            return Some(vec!["solar-time"]);
        }
        if sort == Takes::Time && keys.contains(&"time-to-full") {
            keys = match (full, eighty) {
                (true, _) => vec!["time-to-full"],
                (false, true) => vec!["time-to-80"],
                _ => vec!["time-to-80", "time-to-full"],
            };
        }
        // "81 percent of the energy that goes into it comes out again"
        if sort == Takes::Ratio
            && t.keys[0] != "shown-at-end"
            && let Some(key) = scene.of_what_went_in(a)
        {
            return Some(vec![key]);
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

impl Scene {
    /// "My router, ten watts, would live off it for three days": the one power of a sentence that nothing is said of.
    fn lone_power(&self) -> Option<f64> {
        let mut powers = self.amounts.iter().filter(|p| p.watts().is_some());
        let (p, None) = (powers.next()?, powers.next()) else { return None };
        let own = |c: &Cue| match c.sense {
            Sense::Topic(keys, firm) => firm == Firm::Strong && keys.iter().any(|k| takes(k) == Takes::Power),
            Sense::Claim => self.clause[c.at] == self.clause[p.at],
            _ => false,
        };
        (!self.cues.iter().any(own)).then_some(p.x)
    }

    /// A share of what went in: that comes out again, or that is lost on the way.
    fn of_what_went_in(&self, a: &Amount) -> Option<&'static str> {
        const LOST: &[&str] =
            &["lost", "lose", "loses", "losing", "loss", "losses", "wasted", "wastes", "heat", "gone"];
        const BACK: &[&str] =
            &["back", "again", "out", "returns", "returned", "recovered", "recover", "survives"];
        let here = |c: &&Cue| self.clause[c.at].abs_diff(self.clause[a.at]) <= 1;
        let went_in =
            self.cues.iter().filter(here).any(|c| matches!(c.sense, Sense::Topic(["wall-energy", ..], _)));
        let said = |words: &[&str]| self.says(words);
        (went_in && !self.cues.iter().any(|c| c.sense == Sense::Claim))
            .then(|| if said(LOST) { Some("lost-on-the-way") } else { said(BACK).then_some("comes-back") })?
    }

    /// The temperature a statement is bound to, in °C, where it is none of a room.
    pub fn temperature(&self) -> Option<f64> {
        let said = self.amounts.iter().find(|b| b.what == What::Dim(Dim::Temperature))?;
        let before = said.from.checked_sub(1).map_or("", |i| self.word(i));
        let minus = before == "minus" || (before == "below" && self.word(said.to) == "zero");
        let t = if minus { -said.x } else { said.x };
        let bound = minus || matches!(before, "at" | "in");
        (bound && !(16.0..=30.0).contains(&t)).then_some(t)
    }
}

/// It is said to be so after many cycles or years.
fn aged(scene: &Scene, a: &Amount) -> bool {
    let after = scene.word(a.to) == "after" || scene.says_near(a.at, &["after"]);
    let cycles = |b: &Amount| b.what == What::Dim(Dim::Count);
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
        Takes::Money if !scene.mentions.is_empty() => Some(vec!["price"]),
        Takes::MoneyPerWh => Some(vec!["price-per-wh"]),
        Takes::PerMass => Some(vec!["energy-per-kg"]),
        Takes::PerMoney => Some(vec!["energy-per-money"]),
        Takes::Ratio if of_claim(scene, a) => Some(vec!["usable-share"]),
        Takes::Time if fridge && scene.of_station() && a.x > 1.0 => {
            Some(vec!["cycling-runtime", "appliance-runtime"])
        }
        Takes::Time if a.factor < 1e-6 => Some(vec!["switchover"]),
        Takes::Time if (eighty || full) && scene.of_station() => {
            Some(vec![if full { "time-to-full" } else { "time-to-80" }])
        }
        Takes::Time if scene.amounts.iter().any(|p| load_of(scene, p, &[])) && scene.of_station() => {
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

/// "83 percent of what they promise": a share of the maker's figure.
pub fn of_claim(scene: &Scene, a: &Amount) -> bool {
    let claim = |c: &Cue| c.sense == Sense::Claim && c.at > a.to && c.at <= a.to + 6;
    scene.word(a.to) == "of" && scene.cues.iter().any(claim)
}

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
    asks || (0..a.at).any(|i| said(&i))
}

/// The station itself, or what it is made of.
pub fn is_station(scene: &Scene, i: usize) -> bool {
    let word = scene.word(i);
    let own = ["station", "unit", "inverter", "generator", "battery", "box", "model", "pack"];
    own.contains(&word)
        || (word == "power" && own.contains(&scene.word(i + 1)))
        || (word == "portable" && scene.word(i + 1) == "power")
}

/// Somebody else's number, or the measure of a comparison.
pub fn aside(scene: &Scene, a: &Amount) -> bool {
    let next = scene.word(a.to);
    let discount = next == "off" && !matches!(a.what, What::Dim(Dim::Energy | Dim::Time | Dim::Mass));
    let class = discount || ["class", "category", "segment", "range", "size"].contains(&next);
    let than = [
        "more", "less", "lighter", "heavier", "longer", "shorter", "cheaper", "pricier", "faster", "slower",
        "louder", "quieter",
    ];
    let saved = ["save", "saves", "saved", "saving", "difference", "cheaper", "extra", "cord", "shipping"];
    let money = matches!(a.what, What::Money(_)) && scene.says_near(a.at, &saved);
    let of_other = next == "of"
        && (a.to..a.to + 4).any(|k| matches!(scene.word(k), "price" | "weight" | "size" | "cost" | "money"));
    let before = a.from.checked_sub(1).map_or("", |i| scene.word(i));
    // "another forty minutes", "four days later".
    let added = matches!(before, "another" | "further" | "additional")
        || (matches!(next, "later" | "afterwards" | "earlier" | "ago") && scene.tokens[a.at].after.is_none());
    let beside = added
        || matches!(next, "each" | "apiece" | "below" | "above" | "ahead" | "behind" | "short")
        || (next == "apart");
    // "a day of that"
    let that = next == "of" && matches!(scene.word(a.to + 1), "that" | "this");
    general(scene, a)
        || that
        || travels(scene, a)
        || of_things(scene, a)
        || class
        || than.contains(&next)
        || beside
        || money
        || of_other
        || scene.says_near(a.at, ASIDE)
        || not_alone(scene, a)
}

/// "With box and foam 19.5 kilos", "second-hand for 200 dollars": not the thing as it was weighed, nor as a shop sells it.
fn not_alone(scene: &Scene, a: &Amount) -> bool {
    let hand = (1..scene.tokens.len()).any(|i| scene.word(i) == "hand" && scene.word(i - 1) == "second");
    match a.what {
        What::Dim(Dim::Mass) => {
            let came_in = (1..scene.tokens.len()).any(|i| {
                scene.word(i) == "in"
                    && scene.word(i - 1) == "came"
                    && scene.word(i.saturating_sub(3)) == "box"
            });
            came_in
                || scene.says(&[
                    "including",
                    "packaging",
                    "package",
                    "parcel",
                    "carton",
                    "boxed",
                    "foam",
                    "wrapped",
                    "packed",
                ])
        }
        What::Money(_) => hand || scene.says(&["secondhand", "refurbished", "used"]),
        _ => false,
    }
}

/// "Two boxes of 15 and 16 kilos": the measure of things that were counted.
fn of_things(scene: &Scene, a: &Amount) -> bool {
    let first = scene.amounts.iter().find(|b| b.to + 1 == a.from && scene.word(b.to) == "and");
    let from = first.filter(|b| b.what == a.what).unwrap_or(a).from;
    // "two ports of 100 watts"
    const FITTED: &[&str] = &["port", "ports", "outlet", "outlets", "socket", "sockets", "panel", "panels"];
    if from > 1 && matches!(scene.word(from - 1), "of" | "from") && FITTED.contains(&scene.word(from - 2)) {
        return true;
    }
    if scene.measures_a_thing(from) {
        return true;
    }
    let tests = ["runs", "tests", "charges", "discharges", "cycles", "trials", "total"];
    let counted = |b: &Amount| b.what == What::Bare && b.to + 2 == from && !tests.contains(&scene.word(b.to));
    from > 1 && scene.word(from - 1) == "of" && scene.amounts.iter().any(counted)
}

/// "Four hours by car", "a twenty-minute walk".
fn travels(scene: &Scene, a: &Amount) -> bool {
    const BY: &[&str] = &["car", "train", "bus", "bike", "plane", "boat", "foot"];
    let (next, then) = (scene.word(a.to), scene.word(a.to + 1));
    let way = matches!(next, "by" | "on") && BY.contains(&then);
    a.what == What::Dim(Dim::Time) && (way || matches!(next, "drive" | "walk" | "flight" | "away"))
}

/// Words between the two sides of an equation.
const EQUALS: &[&str] = &["is", "are", "equals", "makes", "make", "means", "gives"];

/// "A kilowatt-hour is a thousand watt-hours", "five times twelve is sixty watts": true of anything.
fn general(scene: &Scene, a: &Amount) -> bool {
    let Some(is) = a.from.checked_sub(1).filter(|i| EQUALS.contains(&scene.word(*i))) else {
        // The other side: "1 kilowatt-hour is 1,000 watt-hours".
        let same = |b: &Amount| b.what == a.what && b.factor != a.factor && (b.x - a.x).abs() < 1e-9 * a.x;
        let right = |b: &Amount| b.from == a.to + 1 && same(b);
        return EQUALS.contains(&scene.word(a.to)) && scene.amounts.iter().any(right);
    };
    // A unit alone or one of it on the left side.
    let one = |k: usize| {
        let unit = unit_at(&scene.tokens, k).filter(|u| u.2 == is && u.0 == a.what);
        unit.is_some_and(|(_, factor, _)| factor != a.factor && (factor - a.x).abs() < 1e-9 * a.x)
    };
    let factors: Vec<f64> = scene.amounts.iter().filter(|b| b.to <= is).map(|b| b.x / b.factor).collect();
    let product = factors.len() > 1 && (factors.iter().product::<f64>() - a.x / a.factor).abs() < 1e-9 * a.x;
    (is.saturating_sub(3)..is).any(one) || (product && scene.mentions.is_empty())
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
    if constant && time && matches!(scene.word(a.to + 1), "on" | "from" | "load" | "draw" | "out") {
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
    let starts = |c: &Cue| {
        matches!(c.sense, Sense::Topic(["starting-power"], _)) && c.to <= a.from && a.from - c.to <= 3
    };
    if scene.cues.iter().any(starts) {
        return false;
    }
    let surge =
        matches!(scene.word(a.to), "starting" | "start-up" | "startup" | "inrush") && scene.names_near(a);
    if surge || spec.contains(&scene.word(a.to)) || (a.describes && is_station(scene, a.to)) {
        return false;
    }
    let before = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    // "at its full 1,750 watts"
    let skip =
        (1..3).take_while(|k| matches!(before(*k), "its" | "full" | "constant" | "steady" | "rated")).count();
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
    let lasts = |b: &Amount| b.what == What::Dim(Dim::Time) && b.from == a.to + 1;
    let of_load = of_load || scene.measures_a_thing(a.from);
    let hooked = |k: usize| matches!(before(k), "hook" | "plug" | "connect" | "attach" | "hang");
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
