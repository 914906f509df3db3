//! Differences said aloud: "800 grams heavier", "a difference of 982", "saves you 310 dollars", "lighter by 150 grams",
//! "a third lighter".
//!
//! What a difference lies between is seldom said in full. Every pair it may lie between is looked at: two numbers said
//! beside it, two models in one result, a model and what its maker prints, now and before. It agrees when it is the
//! difference of any of them; it is wrong when it is that of none and the sentence leaves no doubt that it is one.
use super::amount::Amount;
use super::book::{Mark, Whose};
use super::compare::follows;
use super::judge::Desk;
use super::lemma::root;
use super::lexicon::{Sense, Takes};
use super::ranking::{THANS, TOPS};
use super::scene::{Scene, any_takes, sort_of};
use super::unit::What;
use super::{Judgement, Line};
use crate::quantity::Dim;

/// Words behind a difference.
pub const BEHIND: &[&str] = &[
    "more",
    "heavier",
    "longer",
    "extra",
    "dearer",
    "pricier",
    "slower",
    "louder",
    "bigger",
    "higher",
    "larger",
    "less",
    "fewer",
    "lighter",
    "shorter",
    "cheaper",
    "faster",
    "quicker",
    "quieter",
    "smaller",
    "lower",
    "apart",
    "difference",
    "sooner",
    "thirstier",
    "late",
    "early",
    "further",
];
/// Words behind one where what it is counted from follows, or nothing does.
const SIDES: &[&str] = &["over", "above", "beyond", "under", "below", "short", "shy", "past"];
/// Words before one.
const BEFORE: &[&str] = &["extra", "additional", "another", "further"];
/// Nouns for one, which stand a few words before it.
const NOUNS: &[&str] = &[
    "difference",
    "differences",
    "gap",
    "margin",
    "lead",
    "advantage",
    "delta",
    "saving",
    "savings",
    "loss",
    "losses",
    "discrepancy",
    "deficit",
    "surplus",
    "penalty",
    "drop",
];
/// Roots of verbs that a difference follows directly.
const VERBS: &[&str] = &["sav", "add", "los", "lost", "gain", "wast"];
/// Roots of words that "by" follows with a difference.
const BY: &[&str] = &[
    "beat",
    "win",
    "won",
    "los",
    "lost",
    "mis",
    "miss",
    "exceed",
    "undercut",
    "outweigh",
    "outlast",
    "overshoot",
    "undershoot",
    "fall",
    "fell",
    "drop",
    "ris",
    "rose",
    "cut",
    "reduc",
    "shrink",
    "shrank",
    "lower",
    "rais",
    "improv",
    "increas",
    "decreas",
    "grow",
    "grew",
    "off",
    "out",
    "short",
    "trail",
    "lead",
    "led",
    "differ",
    "top",
    "surpas",
    "over",
    "under",
    "down",
    "up",
    "promis",
];

/// Where the two ends of a difference stand.
enum Ends<'s> {
    /// On record.
    Marks(&'s Mark, &'s Mark),
    /// In the sentence.
    Said(&'s Amount, &'s Amount),
}

/// What a difference may lie between, and what it then is.
struct Pair<'s> {
    v: f64,
    doubt: f64,
    ends: Ends<'s>,
}

impl Pair<'_> {
    fn words(&self, scene: &Scene) -> String {
        match self.ends {
            Ends::Marks(x, y) => format!("{} against {}", x.text(), y.text()),
            Ends::Said(x, y) => format!("{} and {}", scene.text(x.at, x.to), scene.text(y.at, y.to)),
        }
    }

    /// Is it this difference, as far as it was said and both were measured?
    fn is(&self, a: &Amount) -> bool {
        let off = (a.x - self.v).abs();
        let measured = |x: &Mark, y: &Mark| {
            // Worked out only where it may matter.
            let close = a.hi.is_none() && a.what != What::Dim(Dim::Ratio) && off <= 0.25 * self.v;
            close && x.takes != Takes::Time && off <= x.measured().minus(&y.measured()).half95()
        };
        follows(a, self.v, self.doubt) || matches!(self.ends, Ends::Marks(x, y) if measured(x, y))
    }
}

/// Is a number said as a difference, and so plainly that a wrong one is wrong?
fn said(scene: &Scene, a: &Amount) -> Option<bool> {
    let before = |k: usize| a.from.checked_sub(k).map_or("", |i| scene.word(i));
    let (next, then) = (scene.word(a.to), scene.word(a.to + 1));
    let parted = |i: usize| scene.tokens.get(i).is_none_or(|t| t.after.is_some());
    let near = |i: usize| scene.clause.get(i) == scene.clause.get(a.at);
    // "Charges to 80 percent faster": an end of a charge.
    if a.what == What::Dim(Dim::Ratio) && before(1) == "to" {
        return None;
    }
    // "With 9.4 ms faster than the other": whose it is.
    if matches!(before(1), "with" | "at" | "having") {
        return None;
    }
    // "A third is lost"
    let gone = matches!(then, "lost" | "gone" | "wasted" | "missing" | "lighter" | "heavier");
    if matches!(next, "is" | "was" | "gets" | "goes" | "are") && gone {
        return Some(true);
    }
    if BEHIND.contains(&next) && !parted(a.to) {
        let named = scene.mentions.iter().any(|m| (a.to + 2..a.to + 5).contains(&m.at));
        let on = matches!(then, "on" | "for" | "with" | "from" | "in") && named;
        return Some(on || then == "than" || parted(a.to + 1) || matches!(then, "and" | "but" | "too"));
    }
    if (next == "too" && ["heavy", "long", "slow", "much", "little"].contains(&then)) || next == "overweight"
    {
        return Some(true);
    }
    if NOUNS.contains(&next) && !parted(a.to) {
        return Some(true);
    }
    let claim = |c: &super::lexicon::Cue| c.sense == Sense::Claim && (a.to..a.to + 5).contains(&c.at);
    let beside = |m: &super::who::Mention| (a.to + 1..a.to + 4).contains(&m.at) && !m.maker;
    if SIDES.contains(&next) && !parted(a.to) && scene.mentions.iter().any(beside) {
        return Some(true);
    }
    if SIDES.contains(&next) && !parted(a.to) && (parted(a.to + 1) || scene.cues.iter().any(claim)) {
        return Some(true);
    }
    let moved = |i: usize| near(i) && (BY.contains(&root(scene.word(i))) || comparative(scene.word(i)));
    if before(1) == "by" && (0..a.from - 1).any(|i| moved(i) || i + 9 > a.from && comparative(scene.word(i)))
    {
        return Some(true);
    }
    let early = a.from.saturating_sub(5)..a.from;
    if early.clone().any(|i| near(i) && NOUNS.contains(&scene.word(i))) {
        return Some(true);
    }
    let verb = (a.from.saturating_sub(2)..a.from).any(|i| near(i) && VERBS.contains(&root(scene.word(i))));
    (verb || BEFORE.contains(&before(1))).then_some(false)
}

/// "A difference of 1,182": a noun for one stands before the number.
pub fn noun_before(tokens: &[super::token::Token], from: usize) -> bool {
    let early = from.saturating_sub(3)..from;
    tokens.get(early).is_some_and(|t| t.iter().any(|t| NOUNS.contains(&t.text.as_str())))
}

/// A comparative that says in what two differ.
fn comparative(word: &str) -> bool {
    THANS.iter().any(|t| t.0 == word) || word == "overweight"
}

impl<'a> Desk<'a> {
    /// The results a difference of this sort may be one of: those spoken of, else the usual ones.
    fn differing(&self, scene: &Scene, sort: Takes) -> Vec<&'static str> {
        let share = sort == Takes::Ratio;
        let takes = |k: &&&'static str| share || any_takes(&[**k], sort);
        if sort == Takes::Time && scene.says(&["fridge", "freezer", "refrigerator"]) {
            return vec!["cycling-runtime"];
        }
        let topics = scene.cues.iter().filter_map(|c| match c.sense {
            Sense::Topic(keys, _) => Some(keys),
            _ => None,
        });
        let mut keys: Vec<&'static str> = topics.flatten().filter(takes).copied().collect();
        let ranks = |t: &super::token::Token| THANS.iter().chain(TOPS).find(|r| r.0 == t.text).map(|r| r.1);
        keys.extend(scene.tokens.iter().filter_map(ranks).filter(|k| takes(&k) && !k.is_empty()));
        if keys.is_empty() {
            keys = match sort {
                Takes::Mass => vec!["mass"],
                Takes::Money => vec!["price"],
                Takes::Level => vec!["noise"],
                Takes::Energy | Takes::Ratio => vec!["usable-energy"],
                Takes::Power => vec!["idle-draw", "sustained-output"],
                Takes::Time => vec!["time-to-80", "time-to-full", "runtime", "cycling-runtime"],
                _ => Vec::new(),
            };
        }
        if sort == Takes::Energy && keys.contains(&"wall-energy") {
            keys.push("usable-energy");
        }
        if sort == Takes::Energy && keys.contains(&"usable-energy") {
            keys.push("stored-energy");
        }
        if keys.contains(&"time") {
            keys.extend(["time-to-80", "time-to-full", "runtime"]);
        }
        keys.sort_unstable();
        keys.dedup();
        keys
    }

    /// Every pair on record that a difference may lie between.
    fn recorded(&self, scene: &Scene, a: &Amount) -> Vec<Pair<'a>> {
        let book = self.book;
        let sort = sort_of(&a.what);
        let keys = self.differing(scene, sort);
        let mut models: Vec<usize> = scene.mentions.iter().flat_map(|m| m.models.iter().copied()).collect();
        models.extend(self.models_at(scene, a.at));
        models.extend(self.models.iter().copied().chain(self.before));
        models.dedup();
        models.truncate(6);
        // "Ten minutes slower than the Fell": between the two, and nothing else.
        let foil = scene.mentions.iter().find(|m| m.foil && (a.to..a.to + 6).contains(&m.at));
        let foil = foil.filter(|_| scene.word(a.to + 1) == "than");
        let rival = foil.and_then(|m| m.models.first()).copied();
        if let Some(rival) = rival {
            models.retain(|m| *m == rival || self.models_at(scene, a.at).contains(m));
        }
        let marks = |m: usize| {
            let fits =
                |k: &&Mark| keys.contains(&k.key.as_str()) && (sort == Takes::Ratio || k.takes == sort);
            book.marks[m].iter().filter(fits).filter(|k| k.whose != Whose::Test)
        };
        let mut out = Vec::new();
        for &m in &models {
            for x in marks(m).filter(|k| k.whose == Whose::Bench || k.takes == Takes::Money) {
                let across = |n: &&usize| **n != m && rival.is_none_or(|r| **n == r || m == r);
                let rivals = models.iter().filter(across).flat_map(|n| marks(*n));
                for y in rivals.filter(|y| y.key == x.key && y.condition == x.condition && y.whose == x.whose)
                {
                    pairs(a, x, y, &mut out);
                }
                let own = |y: &&Mark| rival.is_none() && y.id != x.id && y.takes == x.takes;
                for y in marks(m).filter(own) {
                    let promised = matches!(y.whose, Whose::Maker(_)) && twin(x, y);
                    let once = matches!(y.whose, Whose::Former(_)) && y.key == x.key;
                    let rest = x.key == "time-to-full" && y.key == "time-to-80" && x.whose == y.whose;
                    let way = x.key == "wall-energy" && y.key == "usable-energy" && x.whose == y.whose;
                    if promised || once || way || (rest && x.condition == y.condition) {
                        pairs(a, x, y, &mut out);
                    }
                }
            }
        }
        out
    }

    /// Every pair of numbers said beside a difference.
    fn beside<'s>(&self, scene: &'s Scene, a: &Amount) -> Vec<Pair<'s>> {
        let share = a.what == What::Dim(Dim::Ratio);
        let given = |b: &&Amount| {
            b.at != a.at && if share { b.what != a.what && b.what != What::Bare } else { b.what == a.what }
        };
        let others: Vec<&Amount> = scene.amounts.iter().filter(given).collect();
        let mut out = Vec::new();
        for (i, x) in others.iter().enumerate() {
            for y in others[i + 1..].iter().filter(|y| y.what == x.what && y.x != x.x) {
                let off = (x.x - y.x).abs();
                let of = |v: f64, doubt: f64| Pair { v, doubt, ends: Ends::Said(x, y) };
                match share {
                    true => out.extend([of(off / x.x, 0.005), of(off / y.x, 0.005)]),
                    false => out.push(of(off, 0.5 * x.step.min(y.step))),
                }
            }
        }
        out
    }

    /// Marks the differences that are right, before anything else takes them for figures of their own.
    pub fn right_differences(&mut self, scene: &Scene, done: &mut [bool]) {
        for (i, a) in scene.amounts.iter().enumerate() {
            let none = matches!(a.what, What::Bare | What::Factor) || said(scene, a).is_none();
            if done[i] || a.denied || none || scene.on_the_shelf() || scene.overload(a).is_some() {
                continue;
            }
            // A share of two numbers said is one of those.
            let beside = self.beside(scene, a);
            let said_both = a.what == What::Dim(Dim::Ratio) && beside.len() == 2;
            let recorded = if said_both { Vec::new() } else { self.recorded(scene, a) };
            let mut pairs = beside.into_iter().chain(recorded);
            let Some(pair) = pairs.find(|p| p.is(a)) else {
                let plain = said(scene, a) == Some(true);
                if let Some(line) = self.difference_before(scene, a).filter(|_| plain) {
                    done[i] = true;
                    self.lines.push(line);
                }
                continue;
            };
            done[i] = true;
            let line = self.line(scene, a, Judgement::Agrees, None, String::new());
            self.lines.push(Line { record: Some(pair.words(scene)), ..line });
        }
    }

    /// Flags the plain differences that nothing else has dealt with and that are those of nothing.
    pub fn wrong_differences(&mut self, scene: &Scene, done: &mut [bool]) {
        for (i, a) in scene.amounts.iter().enumerate() {
            let said = said(scene, a);
            // "67 minutes instead of 108, so fast mode saves you an hour and a half"
            let saves = said == Some(false) && scene.says(&["saves", "save", "saved", "saving"]);
            let plain = !matches!(a.what, What::Bare | What::Factor)
                && (said == Some(true) || (saves && self.beside(scene, a).len() == 1));
            if done[i] || a.denied || !plain || scene.asks || scene.overload(a).is_some() {
                continue;
            }
            let claim = scene.cues.iter().any(|c| c.sense == Sense::Claim);
            let named: Vec<usize> = scene.mentions.iter().flat_map(|m| m.models.iter().copied()).collect();
            let against = scene.mentions.iter().any(|m| m.foil) && !self.models.is_empty();
            let two = named.windows(2).any(|w| w[0] != w[1]) || against;
            let than = scene.word(a.to + 1) == "than" && !named.is_empty();
            let beside = self.beside(scene, a);
            let recorded = self.recorded(scene, a);
            let pair = match beside.len() {
                0 if two || than || (claim && (!named.is_empty() || scene.of_station())) => recorded.first(),
                0 => None,
                _ if scene.of_station() || saves => beside.first(),
                _ => None,
            };
            let Some(pair) = pair else { continue };
            done[i] = true;
            let words = pair.words(scene);
            let hint = format!("the difference is another: {words}");
            let line = self.line(scene, a, Judgement::Differs, None, hint);
            self.lines.push(Line { record: Some(words), ..line });
        }
    }
}

/// What is promised of a result.
fn twin(x: &Mark, y: &Mark) -> bool {
    x.key == y.key || (x.key == "usable-energy" && y.key == "stored-energy")
}

fn pairs<'s>(a: &Amount, x: &'s Mark, y: &'s Mark, out: &mut Vec<Pair<'s>>) {
    let off = (x.x - y.x).abs();
    let of = |v: f64, doubt: f64| Pair { v, doubt, ends: Ends::Marks(x, y) };
    match a.what == What::Dim(Dim::Ratio) {
        true => out.extend([of(off / x.x, 0.01), of(off / y.x, 0.01)]),
        false => out.push(of(off, 0.01 * x.x.max(y.x))),
    }
}
