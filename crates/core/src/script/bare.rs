//! Numbers said without a unit, which is clear from what stands beside them: "1,010 watt-hours they say, I say 911",
//! "watt-hours at the outlet: Fell 911, Hob 917".
use super::amount::Amount;
use super::lexicon::{Cue, Firm, Sense};
use super::token::Token;
use super::told::{LEAST_ENERGY, LEAST_PRICE};
use super::unit::{What, unit_at};
use super::who::Mention;
use crate::quantity::Dim;
use crate::stamp::is_month;

/// A unit with its factor to the kept one.
pub type Heard = (What, f64);

/// The units of a sentence: those said with a number, with that number, and the last one said without.
#[derive(Clone, Debug, Default)]
pub struct Units {
    pub with: Vec<(f64, Heard)>,
    alone: Option<Heard>,
    /// The unit of what it speaks of: "Weight?" is answered in kilograms.
    topic: Option<Heard>,
    /// The one power said, in W, where no time was said with it: the load that the next sentence may go on with.
    pub load: Option<f64>,
}

impl Units {
    /// The unit a number of the next sentence may be in: that of the number closest to it, or the one asked for.
    fn of(&self, x: f64) -> Option<Heard> {
        let off = |n: f64| (n / x).ln().abs();
        let close = self.with.iter().filter(|(n, _)| off(*n) <= ORDER.ln());
        let close = close.min_by(|p, q| off(p.0).total_cmp(&off(q.0)));
        close.map(|(_, heard)| heard).or(self.alone.as_ref()).or(self.topic.as_ref()).cloned()
    }
}

/// How sure it is that a number has the unit it was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// It was said.
    Said,
    /// Not said, but the words before the number leave no doubt that it is a figure of the station.
    Sure,
    /// Left out the second time: "the Hob 917 watt-hours, the Cairn stopped at 520". It counts where it agrees, and where
    /// nothing on record would.
    LeftOut,
    /// Not said: the number counts only where it agrees.
    Guessed,
}

/// Words behind a number that is not a number of them.
const BEHIND: &[&str] = &[
    "back",
    "out",
    "in",
    "and",
    "or",
    "from",
    "at",
    "but",
    "so",
    "against",
    "now",
    "today",
    "on",
    "then",
    "versus",
    "vs",
    "not",
    "once",
    "if",
    "because",
    "while",
    "until",
    "till",
    "before",
    "after",
    "whereas",
    "although",
    "since",
    "by",
    "here",
    "there",
    "only",
    "too",
    "plus",
    "instead",
    "flat",
    "again",
    "tops",
    "for",
    "as",
    "which",
    "that",
    "they",
    "came",
    "come",
    "comes",
    "went",
    "arrived",
    "means",
    "is",
    "was",
    "were",
    "it",
    "i",
    "we",
    "of",
    "with",
    "to",
    "when",
    "claimed",
    "promised",
    "stated",
    "advertised",
    "right",
    "currently",
    "you",
];
/// Words before a number that is no amount.
const LABELS: &[&str] = &[
    "chapter", "number", "no", "step", "page", "code", "version", "firmware", "model", "episode", "part",
    "video", "in", "since", "by", "until", "till", "of", "like",
];
/// Units a number may be given: those of the results that are spoken of in lists.
const GIVEN: &[Dim] = &[Dim::Energy, Dim::Power, Dim::Time, Dim::Mass, Dim::Level, Dim::Current];
/// A number without a unit is of the order of its neighbour.
const ORDER: f64 = 3.0;

/// A sentence in the making.
pub struct Bare<'a> {
    /// Its words.
    pub tokens: &'a [Token],
    /// What they mean.
    pub cues: &'a [Cue],
    /// Models named.
    pub mentions: &'a [Mention],
    /// The units of the sentence before.
    pub heard: Option<&'a Units>,
}

/// "Ninety it was", "140 it took".
pub fn told_first(next: &str, then: &str) -> bool {
    next == "it" && matches!(then, "was" | "is" | "took" | "takes" | "weighed" | "weighs" | "gave" | "came")
}

/// A unit that a number without one may be given.
pub fn given(what: &What) -> bool {
    matches!(what, What::Dim(d) if GIVEN.contains(d)) || matches!(what, What::Money(_))
}

/// A number with a unit, of the same order as a bare one.
fn alike(bare: &Amount, b: &Amount) -> bool {
    let n = b.x / b.factor;
    given(&b.what) && n <= ORDER * bare.x && bare.x <= ORDER * n
}

impl Bare<'_> {
    /// The word at a token.
    pub fn word(&self, i: usize) -> &str {
        self.tokens.get(i).map_or("", |t| t.text.as_str())
    }

    /// The units of this sentence.
    pub fn units(&self, amounts: &[Amount]) -> Units {
        let with = amounts.iter().filter(|a| a.unit != Unit::Guessed && given(&a.what) && a.x > 0.0);
        let with = with.map(|a| (a.x / a.factor, (a.what.clone(), a.factor))).collect();
        let of = |d: Dim| amounts.iter().filter(move |a| a.what == What::Dim(d)).map(|a| a.x);
        let mut powers = of(Dim::Power);
        let load = powers.next().filter(|_| powers.next().is_none() && of(Dim::Time).next().is_none());
        Units {
            with,
            alone: self.alone(amounts).pop().map(|(_, heard)| heard),
            topic: self.topic(self.tokens.len(), 4),
            load,
        }
    }

    /// The usual unit of the topic that stands last before a token, at most `reach` words away.
    pub fn topic(&self, at: usize, reach: usize) -> Option<Heard> {
        let cue = self.cues.iter().rev().filter(|c| c.to <= at && at - c.to <= reach);
        cue.into_iter().find_map(|c| match c.sense {
            Sense::Topic(["mass"], _) => Some((What::Dim(Dim::Mass), 1.0)),
            Sense::Topic(["price", ..], _) => Some((What::Money(""), 1.0)),
            Sense::Topic(["usable-energy" | "stored-energy" | "wall-energy", ..], Firm::Strong) => {
                Some((What::Dim(Dim::Energy), 1.0))
            }
            Sense::Topic(["time-to-80" | "time-to-full"], _) => Some((What::Dim(Dim::Time), 1.0 / 60.0)),
            Sense::Topic(["noise"], _) => Some((What::Dim(Dim::Level), 1.0)),
            Sense::Topic(["cycles"], _) => Some((What::Dim(Dim::Count), 1.0)),
            Sense::Topic(["idle-draw", ..], Firm::Strong) => Some((What::Dim(Dim::Power), 1.0)),
            _ => None,
        })
    }

    /// Units that stand without a number: "watt-hours at the outlet:".
    pub fn alone(&self, amounts: &[Amount]) -> Vec<(usize, Heard)> {
        let (mut out, mut i) = (Vec::new(), 0);
        while i < self.tokens.len() {
            let inside = amounts.iter().find(|a| a.at <= i && i < a.to);
            match (inside, unit_at(self.tokens, i)) {
                (Some(a), _) => i = a.to,
                (None, Some((what, factor, end))) => {
                    if given(&what) && self.word(i).len() > 2 {
                        out.push((i, (what, factor)));
                    }
                    i = end.max(i + 1);
                }
                (None, None) => i += 1,
            }
        }
        out
    }

    /// Is this a number that stands for itself, and counts no things?
    fn free(&self, a: &Amount, like: bool) -> bool {
        let behind = self.tokens.get(a.to);
        if self.stands_for_thing(a) {
            return false;
        }
        let small = |w: &str| BEHIND.contains(&w) || super::delta::BEHIND.contains(&w);
        let ends = behind.is_none_or(|t| t.after.is_some() || small(&t.text));
        let of_some = matches!(self.word(a.to), "of" | "out" | "in") && {
            // "seven of the Fell's twenty"
            let named = |i: usize| self.mentions.iter().any(|m| m.at <= i && i < m.to);
            let small = |i: usize| matches!(self.word(i), "the" | "of" | "its" | "my" | "our" | "all");
            let next = (a.to + 1..a.to + 8).find(|i| !named(*i) && !small(*i)).unwrap_or(a.to + 1);
            // "seven of them"
            (self.word(a.to) == "of" && self.of_them(a))
                || super::number::number(self.tokens, next).is_some_and(|n| n.x <= 100.0)
        };
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        // "three of our twenty"
        let of = (a.from.saturating_sub(2)..a.from).find(|&i| self.word(i) == "of" && i > 0);
        let part = of.and_then(|i| super::number::number(self.tokens, i - 1).filter(|n| n.next == i));
        let of_some =
            of_some || part.is_some_and(|n| n.x <= a.x && a.x <= 100.0 && self.word(a.to) != "they");
        let claimed = a.from >= 2 && self.word(a.from - 2) == "of" && before == "the";
        // "took in 584"
        let took = before == "in"
            && a.from >= 2
            && matches!(self.word(a.from - 2), "took" | "takes" | "put" | "puts" | "went" | "goes");
        // "Has come down to 11", and not "from empty to eighty".
        let two = a.from.checked_sub(2).map_or("", |i| self.word(i));
        let moved =
            |w: &str| w == "down" || w == "up" || w == "back" || w.starts_with("c") || w.ends_with("ed");
        let ends_up = |w: &str| w == "at" || moved(two);
        // "The Cairn stopped at 520": beside a number of its order "at" is no label.
        let label = (LABELS.contains(&before)
            || is_month(before)
            || (matches!(before, "at" | "to") && !(like && ends_up(before))))
            && !took
            && !self.sounds(a)
            && !self.priced(a)
            && self.tokens[a.from].after.is_none();
        // "Eighty percent in fifty-three"
        let charged = |c: &Cue| {
            matches!(c.sense, Sense::Topic(["time-to-80" | "time-to-full"], _))
                && (c.to == a.from || c.to + 1 == a.from)
        };
        let charged = a.x < 1000.0 && self.cues.iter().any(charged);
        let label = label && !charged && !super::delta::noun_before(self.tokens, a.from);
        let reached = like && a.x >= LEAST_ENERGY && self.word(a.to).ends_with("ed");
        let ends = ends || reached;
        // "June 5, 2026"
        let dated = (2..4).any(|k| a.from >= k && is_month(self.word(a.from - k)));
        let year = (1900.0..2100.0).contains(&a.x) && a.step <= 10.0 && (label || dated);
        a.what == What::Bare
            && a.hi.is_none()
            && a.x > 0.0
            && ends
            && !of_some
            && !year
            && (!label || claimed)
    }

    /// "The Fell gives 911 watt-hours for 699 dollars, the Lantern 1,076 for 849": the same units in the same order.
    fn in_order(&self, amounts: &[Amount]) -> Vec<(usize, Heard)> {
        let [first, second] = self.mentions else { return Vec::new() };
        let among = |from: usize, to: usize| {
            (0..amounts.len()).filter(move |&i| (from..to).contains(&amounts[i].at)).collect::<Vec<_>>()
        };
        let (said, bare) = (among(first.to, second.at), among(second.to, self.tokens.len()));
        let alike = said.len() > 1
            && said.len() == bare.len()
            && said.iter().all(|&i| given(&amounts[i].what))
            && bare.iter().all(|&i| self.free(&amounts[i], false));
        let heard = |i: usize| (amounts[i].what.clone(), amounts[i].factor);
        bare.iter().zip(&said).filter(|_| alike).map(|(&b, &s)| (b, heard(s))).collect()
    }

    /// Gives units to the numbers that lack one.
    pub fn fill(&self, amounts: &mut [Amount]) {
        let alone = self.alone(amounts);
        let heard = |a: &Amount| {
            self.heard.is_some_and(|h| h.with.iter().any(|w| w.0 <= ORDER * a.x && a.x <= ORDER * w.0))
        };
        let like = |a: &Amount| amounts.iter().any(|b| alike(a, b)) || heard(a);
        let bare: Vec<usize> =
            (0..amounts.len()).filter(|&i| self.free(&amounts[i], like(&amounts[i]))).collect();
        let in_order = self.in_order(amounts);
        let counted = amounts.iter().filter(|a| a.what == What::Bare).count();
        let any_unit = amounts.iter().any(|a| given(&a.what));
        for &i in &bare {
            let a = &amounts[i];
            let beside = amounts.iter().filter(|b| alike(a, b)).min_by_key(|b| b.at.abs_diff(a.at));
            // "One weighs 4 kilos, the other thirty"
            let other = a.from >= 2 && self.word(a.from - 1) == "other" && self.word(a.from - 2) == "the";
            let other = other || self.introduced(a);
            let tenfold = |b: &Amount| b.x / b.factor <= 10.0 * a.x && a.x <= 10.0 * b.x / b.factor;
            let last = amounts.iter().rev().find(|b| other && b.to <= a.from && given(&b.what) && tenfold(b));
            let beside = beside.or(last);
            let beside = beside.map(|b| (b.what.clone(), b.factor));
            let header = alone.iter().min_by_key(|(k, _)| k.abs_diff(a.at)).map(|(_, h)| h.clone());
            let list = if bare.len() > 1 { 20 } else { 12 };
            let near = !any_unit && alone.is_empty() && self.tokens.len() <= list;
            let before = self.heard.filter(|_| near).and_then(|h| h.of(a.x));
            let answer = self.tokens.len() <= 8 && before.is_some();
            let few = |h: &Heard| matches!(h.0, What::Money(_)) && a.x < LEAST_PRICE;
            // "550 watts, and we held 555": the unit beside speaks before the verb.
            let verb = || self.came_out(a).filter(|h| beside.as_ref().is_none_or(|b| b.0 == h.0));
            let topic = self.topic(a.from, 1).filter(|h| !few(h)).or_else(verb);
            let topic = self.asked_for(a, amounts).or(topic).or_else(|| self.told_by_verb(a));
            let listed = || self.listed(a, &bare, amounts);
            let topic = topic.or_else(listed).or_else(|| self.does(a).filter(|_| beside.is_none()));
            // "The Fell 911 watt-hours, the Cairn stopped at 520": a unit that was said is left out the second time.
            let short = |h: &Heard| h.0 == What::Dim(Dim::Time) && h.1 < 1e-6;
            let order = |k: &usize| amounts[*k].x <= ORDER * a.x && a.x <= ORDER * amounts[*k].x;
            let alone_here = !any_unit && (bare.len() == 1 || bare.len() < 4 && bare.iter().all(order));
            let far = self.topic(a.from, 10).filter(|h| alone_here && !few(h));
            let said = beside
                .as_ref()
                .or(header.as_ref().filter(|_| a.x >= LEAST_ENERGY))
                .or(before.as_ref())
                .or(far.as_ref());
            let left_out = said.is_some_and(|h| !short(h) || counted == 1) && !self.counts_nearby(a);
            let sure = self.introduced(a) || self.set_against(a, amounts) || answer || topic.is_some();
            // "Weight in pounds: Cairn 16.6": the topic's sort, in the unit said.
            let same = |h: &Heard| topic.as_ref().is_some_and(|t| t.0 == h.0);
            let topic = if header.as_ref().is_some_and(same) { header.clone() } else { topic };
            let topic = topic.or_else(|| self.differs_by(a, amounts));
            let (before, far) = match &far {
                Some((What::Dim(Dim::Level), _)) => (None, far),
                _ => (before, far),
            };
            let parallel = in_order.iter().find(|(k, _)| *k == i).map(|(_, h)| h.clone());
            let Some((what, factor)) = parallel.or(topic).or(beside).or(header).or(before).or(far) else {
                continue;
            };
            let a = &mut amounts[i];
            (a.what, a.factor) = (what, factor);
            (a.x, a.step) = (a.x * factor, a.step * factor);
            a.unit = match (sure, left_out) {
                (true, _) => Unit::Sure,
                (_, true) => Unit::LeftOut,
                _ => Unit::Guessed,
            };
        }
        self.energies(amounts, &bare);
    }

    /// "The box says 1,010, I got 911": two figures of the same order, each with its word, are energies where a share of
    /// one in the other follows.
    fn energies(&self, amounts: &mut [Amount], bare: &[usize]) {
        let share = amounts.iter().any(|a| a.what == What::Dim(Dim::Ratio));
        // "484 out of 584, that's 83 percent"
        let large = |a: &Amount| a.what == What::Bare && a.x >= LEAST_ENERGY && a.hi.is_none();
        let of = |a: &Amount, b: &Amount| {
            let words = || (a.to..b.from).map(|i| self.word(i));
            a.to < b.from
                && b.from - a.to <= 3
                && words().all(|w| matches!(w, "out" | "of" | "the" | "its" | "/"))
                && words().any(|w| matches!(w, "of" | "/"))
        };
        for i in 1..amounts.len() {
            let (a, b) = (&amounts[i - 1], &amounts[i]);
            let named = self.mentions.iter().any(|m| !m.maker);
            if (share || named) && large(a) && large(b) && of(a, b) {
                let unit = if share { Unit::Guessed } else { Unit::LeftOut };
                for a in &mut amounts[i - 1..=i] {
                    (a.what, a.unit) = (What::Dim(Dim::Energy), unit);
                }
            }
        }
        let open = |i: &&usize| amounts[**i].what == What::Bare && amounts[**i].x >= 100.0;
        // "1,088 in, 911 out"
        let way = |a: &Amount| matches!(self.word(a.to), "in" | "out" | "back");
        let ways = bare.iter().filter(|i| way(&amounts[**i])).count() == 2;
        let told = |i: &&usize| self.introduced(&amounts[**i]) || way(&amounts[**i]);
        let said: Vec<usize> = bare.iter().filter(open).filter(told).copied().collect();
        if (share || ways) && said.len() == 2 {
            let unit = if ways { Unit::LeftOut } else { Unit::Guessed };
            for i in said {
                (amounts[i].what, amounts[i].unit) = (What::Dim(Dim::Energy), unit);
            }
        }
    }
}
