//! Whose figure a number is: the maker's or the bench's.
use super::amount::Amount;
use super::lemma::root;
use super::lexicon::{Cue, Firm, Sense};
use super::scene::Scene;
use super::unit::What;

/// Whose figure a sentence gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// It does not say.
    Open,
    /// The maker's.
    Claim,
    /// The maker's, unless what the bench has agrees: a claim was spoken of before a comma.
    Hinted,
    /// The bench's.
    Measured,
}

impl Scene {
    fn parted(&self, i: usize) -> bool {
        self.tokens.get(i).is_some_and(|t| matches!(t.after, Some(',' | ';' | '—' | '(')))
    }

    /// The amount that a word for whose figure it is belongs to alone: "a stated 20 ms", "1,010 claimed".
    fn bound(&self, c: &Cue) -> Option<usize> {
        // "exceeded their rated output: 1,160 watts" gives what was measured.
        let topic = self.is_topic(c);
        let free = |from: usize, to: usize| {
            let colon = |p: char| p == ':' && !topic;
            (from..=to).all(|i| self.tokens.get(i).is_none_or(|t| t.after.is_none_or(colon)))
        };
        let last = self.word(c.to.saturating_sub(1));
        let describes = last.ends_with("ed")
            || matches!(last, "nominal" | "real" | "actual" | "official" | "quoted" | "median" | "nominally");
        // "against a promise of 7.6"
        let describes = describes || self.word(c.to) == "of";
        // "a claimed maximum of 24.8"
        let dressed = |to: usize| {
            let noun = matches!(
                self.word(to),
                "maximum" | "minimum" | "figure" | "value" | "weight" | "mass" | "limit"
            );
            if noun && self.word(to + 1) == "of" { to + 2 } else { to }
        };
        let next = self
            .amounts
            .iter()
            .position(|a| a.at >= c.to && a.from.max(c.to) <= dressed(c.to) + 1 && free(c.to, a.at))
            .filter(|_| !matches!(self.word(c.to), "and" | "but" | "while"));
        let before = self.amounts.iter().rposition(|a| a.to == c.at && self.tokens[c.at].after.is_none());
        // "of the ten they promise"
        let speaks =
            |a: &&Amount| a.to + 1 == c.at && self.word(a.to) == "they" && self.tokens[a.to].after.is_none();
        // "Three and a half kilowatts is what they promise"
        let is_what = |a: &&Amount| {
            let what = matches!(self.word(a.to), "is" | "was" | "are") && self.word(a.to + 1) == "what";
            what && (a.to + 2..a.to + 6).contains(&c.at)
                && (a.to..c.at).all(|i| self.tokens[i].after.is_none())
        };
        // "the 5.2 kilograms that are claimed"
        let which = |a: &&Amount| {
            a.to + 2 == c.at
                && matches!(self.word(a.to), "that" | "which")
                && matches!(self.word(a.to + 1), "are" | "is" | "were" | "was")
                && self.tokens[a.to].after.is_none()
        };
        let any = |a: &Amount| speaks(&a) || is_what(&a) || which(&a);
        let before = before.or_else(|| self.amounts.iter().rposition(any));
        next.filter(|_| describes).or(before.filter(|_| next.is_none()))
    }

    /// "It weighs 16.85 where the brochure says 15.8": a promise that has its number directly behind it is not of a number
    /// before it, nor of one in a later clause about the station itself.
    fn promises_another(&self, c: &Cue, a: &Amount) -> bool {
        const SAYS: &[&str] = &[
            "say", "promis", "claim", "print", "quot", "advertis", "list", "specif", "read", "stat", "show",
            "rat", "reckon",
        ];
        let verb = c.sense == Sense::Claim && SAYS.contains(&root(self.word(c.to.saturating_sub(1))));
        // "The brochure says"
        let to = c.to + usize::from(SAYS.contains(&root(self.word(c.to))));
        let verb = verb || to > c.to;
        let own = |b: &&Amount| b.at >= to && b.from <= to + 1 && self.tokens[b.from].after.is_none();
        let Some(own) = self.amounts.iter().find(own).filter(|b| verb && b.at != a.at) else { return false };
        let anew = |i: usize| {
            self.starts_clause(i)
                && (i..i + 3)
                    .any(|k| matches!(self.word(k), "it" | "it's" | "its" | "i" | "we" | "mine" | "ours"))
        };
        a.to <= c.at || (own.to..a.from).any(anew)
    }

    /// "My watch says": a thing of the bench's says so.
    fn own_device(&self, c: &Cue) -> bool {
        let says = matches!(root(self.word(c.at)), "say" | "read" | "show" | "print");
        let owner = c.at >= 2 && matches!(self.word(c.at - 2), "my" | "our");
        let theirs = matches!(
            self.word(c.at.saturating_sub(1)),
            "box" | "label" | "manual" | "brochure" | "sticker" | "leaflet"
        );
        // "The meter on the wall says"
        let told = self.amounts.iter().filter(|a| a.to <= c.at).map(|a| a.to).max().unwrap_or(0);
        let device = (told.max(c.at.saturating_sub(5))..c.at)
            .any(|i| matches!(self.word(i), "meter" | "scale" | "scales" | "stopwatch" | "multimeter"));
        says && (owner || device) && !theirs
    }

    /// A claim that is spoken of and not quoted: "misses its weight claim", "above what they say", "lighter than claimed".
    pub fn is_topic(&self, c: &Cue) -> bool {
        const BESIDE: &[&str] = &[
            "than", "above", "over", "below", "under", "beyond", "past", "short", "exceeds", "exceed",
            "exceeded",
        ];
        const VERDICTS: &[&str] = &[
            "miss",
            "keep",
            "meet",
            "met",
            "beat",
            "break",
            "brok",
            "brak",
            "fail",
            "honour",
            "honor",
            "fulfil",
            "liv",
            "outdo",
            "overshoot",
            "undercut",
            "better",
            "hit",
        ];
        let before = |n: usize| c.at.checked_sub(n).filter(|i| self.clause.get(*i) == self.clause.get(c.at));
        let claim = c.sense == Sense::Claim;
        let beside = (1..=3).filter_map(before).any(|i| BESIDE.contains(&self.word(i)));
        let verdict = (1..=4).filter_map(before).any(|i| VERDICTS.contains(&root(self.word(i))));
        claim && (beside || verdict)
    }

    /// "Keeps its 7.6 kilos": a promise directly behind its verb.
    fn kept_directly(&self, a: &Amount) -> bool {
        let word = |k: usize| a.from.checked_sub(k).map_or("", |i| self.word(i));
        word(1) == "its" && matches!(root(word(2)), "keep" | "kept" | "meet" | "met" | "mis" | "miss")
    }

    /// "On the side panel they print 1,260 watt-hours, 1,450 watts and a surge of 2,900": all of it is theirs.
    fn lists_promises(&self, a: &Amount, free: &[&Cue]) -> bool {
        let ours = ["i", "we", "my", "our", "it", "its", "but"];
        let many = self.amounts.iter().filter(|b| b.what != What::Bare).count() > 2;
        let promised = |c: &&Cue| c.sense == Sense::Claim && c.to <= a.from;
        many && !self.says(&ours)
            && free.iter().any(promised)
            && !free.iter().any(|c| c.sense == Sense::Measured)
    }

    /// Whose figure an amount is.
    pub fn mode(&self, a: &Amount) -> Mode {
        let near = self.near(a);
        let part = |c: &Cue| {
            // "what the scale says" is no claim, though "says" is.
            let longer =
                |o: &Cue| o.sense == Sense::Measured && c.sense == Sense::Claim && o.to - o.at > c.to - c.at;
            let wider = |o: &Cue| matches!(o.sense, Sense::On(..)) || longer(o);
            let over = |o: &Cue| wider(o) && o.at <= c.at && c.to <= o.to;
            self.cues.iter().any(over)
        };
        // "a quarter of its rated power" claims nothing.
        // "At double its rating it lets go": of an overload, and no promise.
        let over = self.overload_of(a).is_some();
        let rating = |c: &Cue| over && matches!(root(self.word(c.at)), "rat" | "rating" | "rated");
        let of = |c: &&Cue| matches!(c.sense, Sense::Claim | Sense::Measured) && !part(c) && !rating(c);
        let goes_on = self.tokens.get(a.to).is_some_and(|t| t.after.is_none());
        if goes_on && super::bare::told_first(self.word(a.to), self.word(a.to + 1)) {
            return Mode::Measured;
        }
        if self.kept_directly(a) {
            return Mode::Claim;
        }
        let own_index = self.amounts.iter().position(|b| b.at == a.at);
        let all: Vec<(&Cue, Option<usize>)> =
            self.cues.iter().filter(of).map(|c| (c, self.bound(c))).collect();
        let sense = |c: &Cue| match c.sense {
            Sense::Claim if !self.own_device(c) => Mode::Claim,
            _ => Mode::Measured,
        };
        if let Some((c, _)) = all.iter().find(|(_, b)| b.is_some() && *b == own_index) {
            return sense(c);
        }
        let unbound = all.iter().filter(|(_, b)| b.is_none()).map(|(c, _)| *c);
        let free: Vec<&Cue> = unbound.filter(|c| !self.is_topic(c) && !self.promises_another(c, a)).collect();
        // A word behind the number counts when it stands close: "1,010 watt-hours, they say".
        let gap = |c: &Cue| Scene::gap(c, a) + if c.at >= a.to { 2 } else { 0 };
        let own = free.iter().copied().filter(&near).min_by_key(|c| (gap(c), c.at));
        let other = || {
            let speaks = |c: &Cue| {
                matches!(
                    c.sense,
                    Sense::Topic(_, Firm::Strong) | Sense::Topic(["usable-energy", "usable-share"], _)
                )
            };
            let own_topic = self.cues.iter().filter(&near).any(speaks);
            let before = free.iter().copied().filter(|c| c.to <= a.from);
            let claim = before.max_by_key(|c| c.to).filter(|c| c.sense == Sense::Claim);
            let speaker = self.says_near(a.at, &["i", "we", "me", "us", "mine", "ours"]);
            claim.filter(|c| !own_topic && !speaker && self.clause[c.at] + 2 >= self.clause[a.at])
        };
        // "482 of 530 watt-hours": the whole is what the maker promises, unless it went in.
        let energy = crate::quantity::Dim::Energy;
        let part = |b: &Amount| b.to + 1 == a.from && b.what == a.what && b.x < a.x;
        let whole = a.from > 0 && self.word(a.from - 1) == "of" && self.amounts.iter().any(part);
        if whole && a.what == super::unit::What::Dim(energy) && !self.speaks_of("wall-energy") {
            return Mode::Hinted;
        }
        if own.is_none() && self.lists_promises(a, &free) {
            return Mode::Hinted;
        }
        own.or_else(other).map_or(Mode::Open, |c| match sense(c) {
            // "lighter than claimed, 7.55 kg", "it outdid its rating, 555": the comma leaves it open.
            Mode::Claim if c.to <= a.at && (c.to..=a.at).any(|i| self.parted(i)) => Mode::Hinted,
            mode => mode,
        })
    }
}
