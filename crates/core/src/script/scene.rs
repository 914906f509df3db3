//! A sentence with everything found in it, and what came before: enough to tell what each number speaks of.
use super::amount::{Amount, amounts};
use super::bare::{Bare, Units};
use super::bound::Bound;
use super::clock::{Spoken, stamps};
use super::hedge::Hedge;
use super::lexicon::{Cue, Firm, Lexicon, Sense, Takes, takes};
use super::token::{Sentence, Token};
use super::unit::What;
use super::who::{Mention, Names};
use crate::quantity::Dim;

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
    /// Numbers of a list, by their token, with the name each belongs to.
    pub pairs: Vec<(usize, Mention)>,
}

/// A longer sentence is one without stops.
const RUN_ON: usize = 50;

/// How many words away another clause's topic may be.
const REACH: usize = 14;

const JOINS: &[&str] =
    &["but", "where", "while", "whereas", "although", "though", "because", "so", "then", "and", "which"];

impl Scene {
    /// Reads a sentence.
    pub fn of(
        sentence: Sentence,
        lexicon: &Lexicon,
        names: &Names,
        heard: Option<&Units>,
        recent: &[usize],
    ) -> Scene {
        let tokens = sentence.tokens;
        let mut mentions = names.mentions(&tokens);
        names.told_apart(&tokens, &mut mentions, recent);
        let described = names.described(&tokens, &mentions, recent);
        let described = super::frame::of_others(&tokens, &mentions, described);
        mentions.extend(described);
        mentions.sort_by_key(|m| m.at);
        let stamps = stamps(&tokens);
        let mut taken = vec![false; tokens.len()];
        let spans = mentions.iter().map(|m| (m.at, m.to)).chain(stamps.iter().map(|s| (s.at, s.to)));
        spans.for_each(|(a, b)| taken[a..b].fill(true));
        let mut amounts = amounts(&tokens, &taken);
        super::tariff::turn(&tokens, &mut amounts);
        let mut cues = super::frame::cues(&tokens, lexicon.cues(&tokens, &mentions));
        // "Its full 1,750 watts" fills nothing.
        let measure =
            |c: &Cue| tokens[c.at].text == "full" && c.to == c.at + 1 && amounts.iter().any(|a| a.at == c.to);
        cues.retain(|c| !measure(c));
        // "a quarter of its rating" is a condition, not a share.
        let condition = |a: &Amount| {
            a.what == What::Dim(Dim::Ratio)
                && cues.iter().any(|c| matches!(c.sense, Sense::On(..)) && c.at <= a.at && a.to <= c.to)
        };
        amounts.retain(|a| !condition(a));
        let makers = mentions.iter().filter(|m| m.maker);
        cues.extend(makers.map(|m| Cue { at: m.at, to: m.to, sense: Sense::Claim }));
        cues.sort_by_key(|c| c.at);
        let bare = Bare { tokens: &tokens, cues: &cues, mentions: &mentions, heard };
        bare.fill(&mut amounts);
        super::signs::mark_former(&tokens, &mut amounts);
        let mut units = bare.units(&amounts);
        super::rates::told_first(&tokens, &mut amounts);
        super::amount::retract(&tokens, &mut amounts);
        units.load = units.load.filter(|_| sentence.asks);
        cues.extend(super::signs::ways(&tokens, &amounts));
        cues.extend(super::signs::nothing_on(&tokens));
        cues.extend(amounts.iter().filter_map(|a| super::signs::started(&tokens, a)));
        cues.sort_by_key(|c| c.at);
        let pairs = super::pairs::pairs(&tokens, &amounts, &mentions);
        let mut mentions = super::subject::joined(&tokens, mentions);
        super::foil::mark(&tokens, &amounts, &mut mentions);
        let asks = sentence.asks;
        let clause = Vec::new();
        let power = amounts.iter().any(|a| a.watts().is_some());
        let load_before = heard.and_then(|h| h.load).filter(|_| tokens.len() <= 14 && !power);
        let mut scene =
            Scene { clause, tokens, cues, mentions, amounts, stamps, asks, units, load_before, pairs };
        scene.clause = scene.clauses();
        scene.turn_hedges();
        scene
    }

    /// "It never needed more than 20 milliseconds": under it.
    fn turn_hedges(&mut self) {
        let bounds: Vec<Option<Bound>> = self.amounts.iter().map(|a| self.bound_by_verb(a)).collect();
        let plain = |a: &Amount| a.hedge == Hedge::Plain && a.hi.is_none() && a.what != What::Bare;
        let instead: Vec<bool> = self.amounts.iter().map(|a| self.instead_of(a)).collect();
        self.amounts.iter_mut().zip(instead).for_each(|(a, instead)| a.denied |= instead);
        for (a, bound) in self.amounts.iter_mut().zip(bounds).filter(|(a, _)| plain(a)) {
            match bound {
                Some(Bound::Side(hedge)) => (a.hedge, a.bounded) = (hedge, true),
                Some(Bound::Denied) => a.denied = true,
                None => {}
            }
        }
        let negated: Vec<bool> =
            self.amounts.iter().map(|a| !a.bounded && self.denied_before(a) && !self.counts(a)).collect();
        for (a, negated) in self.amounts.iter_mut().zip(negated) {
            a.hedge = match (a.hedge, negated) {
                (Hedge::Over | Hedge::WellOver | Hedge::JustOver, true) => Hedge::Under,
                (Hedge::Under | Hedge::WellUnder | Hedge::JustUnder, true) => Hedge::Over,
                (hedge, _) => hedge,
            };
        }
    }

    /// "Not one took more than 20 milliseconds": the "not" is of the ones counted.
    fn counts(&self, a: &Amount) -> bool {
        let here = self.clause[a.at];
        let one = |c: &Cue| {
            c.sense == Sense::Not
                && self.clause[c.at] == here
                && matches!(self.word(c.to), "one" | "a" | "single")
        };
        self.cues.iter().any(one)
    }

    fn clauses(&self) -> Vec<usize> {
        let inside = |i: usize| {
            self.amounts.iter().any(|a| i > a.from && i < a.to)
                || self.mentions.iter().any(|m| i > m.at && i < m.to)
        };
        let numbers = super::frame::places(&self.amounts, &self.stamps);
        let mut now = 0;
        (0..self.tokens.len())
            .map(|i| {
                let t = &self.tokens[i];
                let parted = matches!(t.after, Some(',' | ';' | ':' | '—' | '(' | ')'))
                    || JOINS.contains(&t.text.as_str());
                let led = i > 0 && super::frame::leads_in(&self.tokens, i, &numbers, &self.mentions);
                if i > 0 && parted && !inside(i) && !led {
                    now += 1;
                }
                now
            })
            .collect()
    }

    /// So many words without a full stop: subtitles made by a machine.
    pub fn runs_on(&self) -> bool {
        self.tokens.len() > RUN_ON
    }

    /// Token `i` is the first of a clause.
    pub fn starts_clause(&self, i: usize) -> bool {
        i == 0 || self.clause[i] != self.clause[i - 1]
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

    pub fn gap(cue: &Cue, a: &Amount) -> usize {
        if cue.to <= a.from {
            a.from - cue.to
        } else if cue.at >= a.to {
            // What follows a number speaks of it a little less than what came before.
            cue.at - a.to + 1
        } else {
            0
        }
    }

    pub fn near(&self, a: &Amount) -> impl Fn(&&Cue) -> bool + use<'_> {
        let here = self.clause[a.at];
        move |c: &&Cue| self.clause[c.at] == here
    }

    /// Topics that fit, nearest first; those of the amount's own clause before all others.
    pub fn topics(&self, a: &Amount, fits: impl Fn(&[&str]) -> bool) -> Vec<Topic> {
        let near = self.near(a);
        // "797 watt-hours from the wall into 654 at the outlet": a word behind each; the first is taken.
        let behind = |b: &Amount, c: &Cue, reach: usize| {
            let close = (b.to..=b.to + reach).contains(&c.at);
            close && (b.to..=c.at).all(|i| self.tokens[i].after.is_none())
        };
        let topical = |c: &&Cue| matches!(c.sense, Sense::Topic(keys, _) if fits(keys));
        let own = self.cues.iter().filter(topical).any(|c| behind(a, c, 2));
        // "the 1,580 watt-hours that went in": said of that number alone.
        let relative = |b: &Amount, c: &Cue| {
            b.at != a.at
                && matches!(self.word(b.to), "that" | "which")
                && (b.to + 1..=b.to + 2).contains(&c.at)
                && self.tokens[b.to].after.is_none()
        };
        let of_another = |c: &Cue| self.amounts.iter().any(|b| relative(b, c));
        let taken = |c: &Cue| own && self.amounts.iter().any(|b| b.to <= a.from && behind(b, c, 1));
        let mut found: Vec<(bool, Topic)> = self
            .cues
            .iter()
            .filter_map(|c| match c.sense {
                Sense::Topic(..) if of_another(c) => None,
                Sense::Topic(keys, firm) if fits(keys) && (near(&c) || Scene::gap(c, a) <= REACH) => {
                    let near = near(&c) && !taken(c);
                    Some((!near, Topic { keys, firm, gap: Scene::gap(c, a), near }))
                }
                _ => None,
            })
            .collect();
        found.sort_by_key(|(far, t)| (*far, t.gap));
        found.into_iter().map(|(_, t)| t).collect()
    }

    /// The same however far before, where another number of its sort was said: "that becomes an hour and a half".
    pub fn topics_before(&self, a: &Amount, fits: impl Fn(&[&str]) -> bool) -> Vec<Topic> {
        let other = self.amounts.iter().any(|b| b.to <= a.from && b.what == a.what);
        let before = self.cues.iter().filter(|c| other && c.to <= a.from);
        let far = before.filter_map(|c| match c.sense {
            Sense::Topic(keys, firm) if fits(keys) => {
                Some(Topic { keys, firm, gap: Scene::gap(c, a), near: false })
            }
            _ => None,
        });
        far.collect()
    }

    /// A topic of the sentence that speaks of one of these results.
    pub fn speaks_of(&self, key: &str) -> bool {
        self.cues.iter().any(|c| matches!(c.sense, Sense::Topic(keys, _) if keys.contains(&key)))
    }

    /// It was so once, as this clause says.
    pub fn once(&self, a: &Amount) -> bool {
        let near = self.near(a);
        let old = |i: usize| {
            matches!(self.word(i), "old" | "older" | "previous" | "earlier" | "former" | "first" | "original")
                && matches!(
                    self.word(i + 1),
                    "one" | "firmware" | "version" | "software" | "update" | "state"
                )
        };
        let here = self.cues.iter().filter(&near).any(|c| c.sense == Sense::Once)
            || (0..self.tokens.len()).any(|i| self.clause[i] == self.clause[a.at] && old(i));
        // "448 watt-hours, that was a typing error": in the clause behind, where nothing says that it is so now.
        let now = self.says_near(a.at, &["now", "today", "currently", "still", "after"]);
        let beside = |c: &Cue| c.sense == Sense::Once && self.clause[c.at].abs_diff(self.clause[a.at]) <= 1;
        a.was || here || (!now && self.cues.iter().any(beside))
    }

    /// The amount's clause names the firmware that a text names.
    pub fn names_version(&self, a: &Amount, text: &str) -> bool {
        let here = self.clause[a.at];
        let version = |t: &Token| {
            t.text.contains('.') && t.is_figure() && text.contains(&format!("firmware {}", t.text))
        };
        self.tokens.iter().zip(&self.clause).any(|(t, c)| *c == here && version(t))
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
        What::Dim(Dim::Current) => Takes::Current,
        What::Money(_) => Takes::Money,
        What::MoneyPerWh(_) => Takes::MoneyPerWh,
        What::EnergyPer("kg") => Takes::PerMass,
        What::EnergyPer(_) => Takes::PerMoney,
        _ => Takes::Other,
    }
}

/// True when one of the keys takes this sort of amount.
pub fn any_takes(keys: &[&str], sort: Takes) -> bool {
    keys.iter().any(|k| takes(k) == sort)
}
