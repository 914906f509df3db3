//! A sentence with everything found in it, and what came before: enough to tell what each number speaks of.
use super::amount::{Amount, amounts};
use super::bare::{Bare, Units};
use super::clock::{Spoken, stamps};
use super::lemma::root;
use super::lexicon::{Cue, Firm, Lexicon, Sense, Takes, takes};
use super::token::{Sentence, Token};
use super::unit::What;
use super::vocabulary::{USABLE, WALL};
use super::who::{Mention, Names};
use crate::notebook::Condition;
use crate::quantity::Dim;

/// Whose figure a sentence gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// It does not say.
    Open,
    /// The maker's.
    Claim,
    /// The bench's.
    Measured,
}

/// A topic as found: result keys, firmness, where.
#[derive(Clone, Copy, Debug)]
pub struct Topic {
    /// Result keys.
    pub keys: &'static [&'static str],
    /// How firmly.
    pub firm: Firm,
    /// Tokens between it and the amount.
    pub gap: usize,
    /// In the amount's own clause.
    pub near: bool,
}

/// A sentence with everything found in it.
pub struct Scene {
    /// Its words.
    pub tokens: Vec<Token>,
    /// Clause of each token.
    pub clause: Vec<usize>,
    /// Meanings.
    pub cues: Vec<Cue>,
    /// Models named; neighbours joined by "and" are one.
    pub mentions: Vec<Mention>,
    /// Amounts.
    pub amounts: Vec<Amount>,
    /// Times of day.
    pub stamps: Vec<Spoken>,
    /// It is a question.
    pub asks: bool,
    /// The units said.
    pub units: Units,
    /// The load the sentence before asked about, in W.
    pub load_before: Option<f64>,
}

/// How many words away another clause's topic may be.
const REACH: usize = 14;

const JOINS: &[&str] =
    &["but", "while", "whereas", "although", "though", "because", "so", "then", "and", "which"];

impl Scene {
    /// Reads a sentence.
    pub fn of(sentence: Sentence, lexicon: &Lexicon, names: &Names, heard: Option<&Units>) -> Scene {
        let tokens = sentence.tokens;
        let mentions = names.mentions(&tokens);
        let stamps = stamps(&tokens);
        let mut taken = vec![false; tokens.len()];
        let spans = mentions.iter().map(|m| (m.at, m.to)).chain(stamps.iter().map(|s| (s.at, s.to)));
        spans.for_each(|(a, b)| taken[a..b].fill(true));
        let mut amounts = amounts(&tokens, &taken);
        mark_former(&tokens, &mut amounts);
        let mut cues = lexicon.cues(&tokens);
        let makers = mentions.iter().filter(|m| m.maker);
        cues.extend(makers.map(|m| Cue { at: m.at, to: m.to, sense: Sense::Claim }));
        cues.sort_by_key(|c| c.at);
        let bare = Bare { tokens: &tokens, cues: &cues, mentions: &mentions, heard };
        bare.fill(&mut amounts);
        let mut units = bare.units(&amounts);
        units.load = units.load.filter(|_| sentence.asks);
        cues.extend(ways(&tokens, &amounts));
        cues.sort_by_key(|c| c.at);
        let mentions = joined(&tokens, mentions);
        let asks = sentence.asks;
        let clause = Vec::new();
        let power = amounts.iter().any(|a| a.watts().is_some());
        let load_before = heard.and_then(|h| h.load).filter(|_| tokens.len() <= 14 && !power);
        let mut scene = Scene { clause, tokens, cues, mentions, amounts, stamps, asks, units, load_before };
        scene.clause = scene.clauses();
        scene
    }

    fn clauses(&self) -> Vec<usize> {
        let inside = |i: usize| {
            self.amounts.iter().any(|a| i > a.from && i < a.to)
                || self.mentions.iter().any(|m| i > m.at && i < m.to)
        };
        let mut now = 0;
        (0..self.tokens.len())
            .map(|i| {
                let t = &self.tokens[i];
                let parted = matches!(t.after, Some(',' | ';' | ':' | '—' | '(' | ')'))
                    || JOINS.contains(&t.text.as_str());
                if i > 0 && parted && !inside(i) {
                    now += 1;
                }
                now
            })
            .collect()
    }

    /// The word at a token.
    pub fn word(&self, i: usize) -> &str {
        self.tokens.get(i).map_or("", |t| t.text.as_str())
    }

    /// Any of these words in the sentence.
    pub fn says(&self, words: &[&str]) -> bool {
        self.tokens.iter().any(|t| words.contains(&t.text.as_str()))
    }

    /// Any of these words in the clause of token `i`.
    pub fn says_near(&self, i: usize, words: &[&str]) -> bool {
        let here = self.clause.get(i).copied();
        let in_clause = self.tokens.iter().zip(&self.clause).filter(|(_, c)| Some(**c) == here);
        in_clause.map(|(t, _)| t).any(|t| words.contains(&t.text.as_str()))
    }

    /// The words of a stretch as they stand in the script.
    pub fn text(&self, from: usize, to: usize) -> String {
        let mut out = String::new();
        for (i, t) in self.tokens.iter().enumerate().take(to).skip(from) {
            if i > from
                && (!t.glued || t.raw.starts_with(char::is_alphabetic))
                && self.tokens[i - 1].raw != "$"
            {
                out.push(if t.glued && t.raw.starts_with(char::is_alphabetic) && i > 0 { '-' } else { ' ' });
            }
            out.push_str(&t.raw);
        }
        out
    }

    fn gap(cue: &Cue, a: &Amount) -> usize {
        if cue.to <= a.from {
            a.from - cue.to
        } else if cue.at >= a.to {
            // What follows a number speaks of it a little less than what came before.
            cue.at - a.to + 1
        } else {
            0
        }
    }

    fn near(&self, a: &Amount) -> impl Fn(&&Cue) -> bool {
        let here = self.clause[a.at];
        let clause = self.clause.clone();
        move |c: &&Cue| clause[c.at] == here
    }

    /// Topics that fit, nearest first; those of the amount's own clause before all others.
    pub fn topics(&self, a: &Amount, fits: impl Fn(&[&str]) -> bool) -> Vec<Topic> {
        let near = self.near(a);
        let mut found: Vec<(bool, Topic)> = self
            .cues
            .iter()
            .filter_map(|c| match c.sense {
                Sense::Topic(keys, firm) if fits(keys) && (near(&c) || Scene::gap(c, a) <= REACH) => {
                    Some((!near(&c), Topic { keys, firm, gap: Scene::gap(c, a), near: near(&c) }))
                }
                _ => None,
            })
            .collect();
        found.sort_by_key(|(far, t)| (*far, t.gap));
        found.into_iter().map(|(_, t)| t).collect()
    }

    /// A topic of the sentence that speaks of one of these results.
    pub fn speaks_of(&self, key: &str) -> bool {
        self.cues.iter().any(|c| matches!(c.sense, Sense::Topic(keys, _) if keys.contains(&key)))
    }

    /// The amount that a word for whose figure it is belongs to alone: "a stated 20 ms", "1,010 claimed".
    fn bound(&self, c: &Cue) -> Option<usize> {
        let free = |from: usize, to: usize| {
            (from..=to).all(|i| self.tokens.get(i).is_none_or(|t| t.after.is_none_or(|p| p == ':')))
        };
        let last = self.word(c.to.saturating_sub(1));
        let describes = last.ends_with("ed")
            || matches!(last, "nominal" | "real" | "actual" | "official" | "quoted" | "median" | "nominally");
        let next = self
            .amounts
            .iter()
            .position(|a| a.at >= c.to && a.from.max(c.to) <= c.to + 1 && free(c.to, a.at));
        let before = self.amounts.iter().rposition(|a| a.to == c.at && self.tokens[c.at].after.is_none());
        next.filter(|_| describes).or(before.filter(|_| next.is_none()))
    }

    /// Whose figure an amount is.
    pub fn mode(&self, a: &Amount) -> Mode {
        let near = self.near(a);
        let of = |c: &&Cue| matches!(c.sense, Sense::Claim | Sense::Measured);
        let own_index = self.amounts.iter().position(|b| b.at == a.at);
        let all: Vec<(&Cue, Option<usize>)> =
            self.cues.iter().filter(of).map(|c| (c, self.bound(c))).collect();
        let sense = |s: Sense| if s == Sense::Claim { Mode::Claim } else { Mode::Measured };
        if let Some((c, _)) = all.iter().find(|(_, b)| b.is_some() && *b == own_index) {
            return sense(c.sense);
        }
        let free: Vec<&Cue> = all.iter().filter(|(_, b)| b.is_none()).map(|(c, _)| *c).collect();
        // A word behind the number counts when it stands close: "1,010 watt-hours, they say".
        let gap = |c: &Cue| Scene::gap(c, a) + if c.at >= a.to { 2 } else { 0 };
        let own = free.iter().copied().filter(&near).min_by_key(|c| (gap(c), c.at));
        let other = || {
            let own_topic =
                self.cues.iter().filter(&near).any(|c| matches!(c.sense, Sense::Topic(_, Firm::Strong)));
            let before = free.iter().copied().filter(|c| c.to <= a.from);
            let claim = before.max_by_key(|c| c.to).filter(|c| c.sense == Sense::Claim);
            let speaker = self.says_near(a.at, &["i", "we", "me", "us", "mine", "ours"]);
            claim.filter(|c| !own_topic && !speaker && self.clause[c.at] + 2 >= self.clause[a.at])
        };
        own.or_else(other).map_or(Mode::Open, |c| sense(c.sense))
    }

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
        all.extend(pick(self.cues.iter().filter(near).collect()));
        for other in self.amounts.iter().filter(|o| o.what == What::Dim(Dim::Ratio) && self.is_load_share(o))
        {
            all.insert("load".into(), format!("{:.0} %", other.x * 100.0));
        }
        all
    }

    /// "50 percent load", "at 80 percent of rated power".
    pub fn is_load_share(&self, a: &Amount) -> bool {
        let next = self.word(a.to);
        let of =
            next == "of" && (a.to..a.to + 5).any(|i| matches!(self.word(i), "power" | "load" | "output"));
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        matches!(next, "load" | "power" | "output")
            || (before == "load" && self.tokens[a.at].after.is_none())
            || of
    }

    /// It was so once, as this clause says.
    pub fn once(&self, a: &Amount) -> bool {
        let near = self.near(a);
        a.was || self.cues.iter().filter(&near).any(|c| c.sense == Sense::Once)
    }

    /// The amount's clause names the firmware that a text names.
    pub fn names_version(&self, a: &Amount, text: &str) -> bool {
        let here = self.clause[a.at];
        let version = |t: &Token| {
            t.text.contains('.') && t.is_figure() && text.contains(&format!("firmware {}", t.text))
        };
        self.tokens.iter().zip(&self.clause).any(|(t, c)| *c == here && version(t))
    }

    /// The models an amount speaks of, when this sentence says so.
    pub fn models(&self, at: usize) -> Option<&Mention> {
        let here = self.clause[at];
        let own: Vec<&Mention> = self.mentions.iter().filter(|m| self.clause[m.at] == here).collect();
        let pool: Vec<&Mention> = if own.is_empty() { self.mentions.iter().collect() } else { own };
        let before = pool.iter().rev().find(|m| m.to <= at).copied();
        // What something is compared with is not what it is.
        let beside = |m: &Mention| {
            let words = ["than", "versus", "vs", "against", "unlike", "like", "compared"];
            (1..=3).any(|k| m.at.checked_sub(k).is_some_and(|i| i >= at && words.contains(&self.word(i))))
        };
        before.or_else(|| pool.iter().find(|m| m.at > at && !beside(m)).copied())
    }

    /// The clause of an amount is about a thing that is none of the bench's: "my sister's fridge", "the plumber".
    pub fn stranger(&self, a: &Amount) -> bool {
        let here = self.clause[a.at];
        let inside = |i: usize| self.clause.get(i) == Some(&here);
        let own = self.mentions.iter().any(|m| inside(m.at))
            || self.cues.iter().any(|c| c.sense == Sense::Station && inside(c.at));
        let home = |i: usize| {
            self.cues.iter().any(|c| c.at <= i && i < c.to) || AT_HOME.contains(&root(self.word(i)))
        };
        let number = |i: usize| {
            self.amounts.iter().any(|b| b.from <= i && i < b.to)
                || self.stamps.iter().any(|s| s.at <= i && i < s.to)
        };
        let named = |i: &usize| {
            let noun = i + 1;
            inside(*i)
                && inside(noun)
                && DETERMINERS.contains(&self.word(*i))
                && !home(noun)
                && !number(noun)
                && !home(noun + 1)
        };
        !own && (0..self.tokens.len()).any(|i| named(&i))
    }

    /// The sentence speaks of the station: by name or by "it".
    pub fn of_station(&self) -> bool {
        !self.mentions.is_empty() || self.cues.iter().any(|c| c.sense == Sense::Station)
    }

    /// Token `i` says "not".
    pub fn is_not(&self, i: usize) -> bool {
        self.cues.iter().any(|c| c.sense == Sense::Not && c.at <= i && i < c.to)
    }

    /// The clause of token `i` says "not".
    pub fn negated(&self, i: usize) -> bool {
        self.cues.iter().any(|c| c.sense == Sense::Not && self.clause[c.at] == self.clause[i] && c.at < i)
    }
}

/// "584 watt-hours in, 484 out": which way an amount went, said by one small word behind it.
fn ways(tokens: &[Token], amounts: &[Amount]) -> Vec<Cue> {
    let ends = |i: usize| {
        let small = |t: &Token| matches!(t.text.as_str(), "and" | "but" | "to" | "for" | "so" | "while");
        tokens.get(i).is_none_or(|t| t.after.is_some() || small(t))
    };
    let of = |a: &Amount| {
        let sense = match tokens.get(a.to)?.text.as_str() {
            "in" => Sense::Topic(WALL, Firm::Strong),
            "out" | "back" => Sense::Topic(USABLE, Firm::Weak),
            _ => return None,
        };
        ends(a.to + 1).then_some(Cue { at: a.to, to: a.to + 1, sense })
    };
    amounts.iter().filter_map(of).collect()
}

/// "from 17 watts to 11": the first was so before. A range of times or prices has its upper end in itself.
fn mark_former(tokens: &[Token], amounts: &mut [Amount]) {
    let before = |a: &Amount| a.from.checked_sub(1).map_or("", |i| tokens[i].text.as_str());
    for i in 1..amounts.len() {
        let (left, right) = amounts.split_at_mut(i);
        let (a, b) = (&mut left[i - 1], &right[0]);
        let same = a.what == b.what || a.what == What::Bare;
        a.was = same && a.hi.is_none() && before(a) == "from" && before(b) == "to";
    }
}

/// Words that a noun follows.
const DETERMINERS: &[&str] =
    &["a", "an", "the", "my", "our", "your", "his", "her", "their", "this", "that", "another", "some"];

/// Roots of nouns that belong to a test, and of words that are no things.
const AT_HOME: &[&str] = &[
    "station",
    "unit",
    "inverter",
    "generator",
    "batter",
    "pack",
    "box",
    "outlet",
    "socket",
    "plug",
    "wall",
    "main",
    "grid",
    "bench",
    "test",
    "meter",
    "scal",
    "load",
    "lamp",
    "bulb",
    "mod",
    "updat",
    "firmwar",
    "version",
    "end",
    "tim",
    "morn",
    "even",
    "night",
    "da",
    "day",
    "hour",
    "weekend",
    "first",
    "second",
    "last",
    "next",
    "sam",
    "other",
    "whol",
    "total",
    "half",
    "quarter",
    "rest",
    "maker",
    "number",
    "figur",
    "result",
    "answer",
    "valu",
    "display",
    "screen",
    "best",
    "good",
    "littl",
    "bit",
    "hair",
    "touch",
    "fridg",
    "freezer",
    "switch",
    "limit",
    "way",
    "lot",
    "averag",
    "median",
    "mean",
    "thing",
    "one",
    "same",
    "model",
    "machin",
    "big",
    "small",
    "mighty",
    "charger",
    "ac",
];

/// Mentions parted by "and", "or" and an article only are one.
fn joined(tokens: &[Token], mentions: Vec<Mention>) -> Vec<Mention> {
    let mut out: Vec<Mention> = Vec::new();
    for m in mentions {
        let link = |from: usize, to: usize| {
            from < to
                && to - from <= 2
                && tokens[from..to].iter().all(|t| matches!(t.text.as_str(), "and" | "or" | "the" | "both"))
        };
        match out.last_mut() {
            Some(last) if link(last.to, m.at) && matches!(tokens[last.to].text.as_str(), "and" | "or") => {
                last.to = m.to;
                last.models.extend(m.models);
                last.maker &= m.maker;
            }
            _ => out.push(m),
        }
    }
    out
}

/// The sort of amount, as keys take them.
pub fn sort_of(what: &What) -> Takes {
    match what {
        What::Dim(Dim::Energy) => Takes::Energy,
        What::Dim(Dim::Power) => Takes::Power,
        What::Dim(Dim::Time) => Takes::Time,
        What::Dim(Dim::Ratio) => Takes::Ratio,
        What::Dim(Dim::Mass) => Takes::Mass,
        What::Dim(Dim::Level) => Takes::Level,
        What::Dim(Dim::Count) => Takes::Count,
        What::Dim(Dim::Temperature) => Takes::Temperature,
        What::Dim(Dim::Voltage) => Takes::Voltage,
        What::Money(_) => Takes::Money,
        What::MoneyPerWh(_) => Takes::MoneyPerWh,
        _ => Takes::Other,
    }
}

/// True when one of the keys takes this sort of amount.
pub fn any_takes(keys: &[&str], sort: Takes) -> bool {
    keys.iter().any(|k| takes(k) == sort)
}
