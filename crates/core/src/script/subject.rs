//! What a number is a number of: which model, or a thing that is none of the bench's.
use super::amount::Amount;
use super::lemma::root;
use super::lexicon::Sense;
use super::scene::Scene;
use super::token::Token;
use super::who::Mention;

/// Small words between a number and the name it belongs to.
const LINKS: &[&str] = &[
    "on", "for", "from", "of", "with", "in", "out", "at", "the", "my", "our", "your", "this", "a", "little",
    "big", "s",
];

/// Does a name at token `at` belong to the number that ends before token `to`: "94 hours on the Fell"?
pub fn follows_number(tokens: &[Token], to: usize, at: usize) -> bool {
    let small = |t: &Token| t.after.is_none() && LINKS.contains(&t.text.as_str());
    at > to
        && at <= to + 4
        && tokens.get(to..at).is_some_and(|t| t.iter().all(small))
        && tokens[at].after.is_none()
}

impl Scene {
    /// The models an amount speaks of, when this sentence says so.
    pub fn models(&self, at: usize) -> Option<&Mention> {
        if let Some((_, m)) = self.pairs.iter().find(|(k, _)| *k == at) {
            return Some(m);
        }
        let here = self.clause[at];
        let it = self.goes_on_with_it(at);
        // "7.55 kilos against 13.3 for the Fell": that name is taken by the number before it.
        let taken = |m: &&Mention| {
            let same = |a: &Amount| self.amounts.iter().any(|b| b.at == at && b.what == a.what);
            let of =
                |a: &Amount| a.at > at && same(a) && self.named_behind(a.at).is_some_and(|n| n.at == m.at);
            !self.amounts.iter().any(of)
        };
        let in_clause = |m: &&Mention| self.clause[m.at] == here;
        let own: Vec<&Mention> = self.mentions.iter().filter(in_clause).filter(taken).collect();
        let pool: Vec<&Mention> =
            if own.is_empty() { self.mentions.iter().filter(taken).collect() } else { own };
        // "77 cents (Fell), 82 cents (Hob)": the name stands in brackets behind its number.
        let bracketed = |m: &&Mention| m.at > at && m.at <= at + 4 && self.tokens[m.at].after == Some('(');
        if let Some(m) = self.mentions.iter().find(bracketed) {
            return Some(m);
        }
        if let Some(m) = self.named_behind(at) {
            return Some(m);
        }
        // "The Cairn, apart from the Ember": what is left out is not spoken of.
        let before = pool.iter().rev().filter(|m| m.to <= at);
        let before = before.clone().find(|m| !self.is_left_out(m)).or_else(|| before.clone().next()).copied();
        // What something is compared with is not what it is.
        let beside = |m: &Mention| {
            let words = ["than", "versus", "vs", "against", "unlike", "like", "compared"];
            (1..=3).any(|k| m.at.checked_sub(k).is_some_and(|i| i >= at && words.contains(&self.word(i))))
        };
        // "It gives 654 watt-hours, and the Fell": the one spoken of before.
        let behind = |m: &&&Mention| m.at > at && !beside(m) && !m.foil && (!it || self.named_after_all(m));
        before.or_else(|| pool.iter().find(behind).copied())
    }

    /// "Apart from the Ember": left out of what is said.
    fn is_left_out(&self, m: &Mention) -> bool {
        let small = |i: usize| matches!(self.word(i), "the" | "from" | "for" | "than");
        let i = (0..m.at).rev().find(|i| !small(*i));
        i.is_some_and(|i| m.at - i <= 3 && EXCEPT.contains(&self.word(i)))
    }

    /// The models that are left out of what is said.
    pub fn left_out(&self) -> Vec<usize> {
        self.mentions.iter().filter(|m| self.is_left_out(m)).flat_map(|m| m.models.iter().copied()).collect()
    }

    /// "ninety-four hours on the Fell": the name follows its number with nothing but small words between.
    fn named_behind(&self, at: usize) -> Option<&Mention> {
        let to = self.amounts.iter().find(|a| a.at == at)?.to;
        let m = self.mentions.iter().find(|m| m.at >= to)?;
        follows_number(&self.tokens, to, m.at).then_some(m)
    }

    /// A model is named in the clause of an amount.
    pub fn names_near(&self, a: &Amount) -> bool {
        self.mentions.iter().any(|m| self.clause[m.at] == self.clause[a.at])
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
            !i.checked_sub(1).is_some_and(|k| ADJUNCTS.contains(&self.word(k)))
                && inside(*i)
                && inside(noun)
                && DETERMINERS.contains(&self.word(*i))
                && !home(noun)
                && !number(noun)
                && !home(noun + 1)
        };
        !own && (0..self.tokens.len()).any(|i| named(&i))
    }

    /// "My e-bike weighs 24 kilos and its battery ...": "it" is the thing the sentence begins with.
    pub fn opens_with_stranger(&self) -> bool {
        let thing = !self.word(1).is_empty() && !AT_HOME.contains(&root(self.word(1)));
        let cue = self.cues.iter().any(|c| c.at <= 1 && 1 < c.to);
        let owned = matches!(self.word(0), "my" | "our" | "his" | "her" | "their" | "your");
        let it = self.tokens.iter().skip(2).any(|t| matches!(t.text.as_str(), "it" | "its"));
        let former =
            matches!(self.word(1), "old" | "previous" | "former" | "last" | "first" | "other" | "next");
        self.mentions.is_empty() && owned && ((thing && !cue && it) || former)
    }

    /// "The Fell's carton weighs 2 kilos": a part of it, or a thing that came with it, that no record is of.
    pub fn of_a_part(&self, a: &Amount) -> bool {
        let here = |i: usize| self.clause[i] == self.clause[a.at] || self.goes_on(i, a.at);
        let home = |i: usize| {
            self.cues.iter().any(|c| c.at <= i && i < c.to)
                || AT_HOME.contains(&root(self.word(i)))
                || self.amounts.iter().any(|b| b.from <= i && i < b.to)
                || self.stamps.iter().any(|s| s.at <= i && i < s.to)
        };
        let owner = |i: usize| self.word(i) == "its" || self.word(i).ends_with("'s") && self.named_at(i);
        (a.from.saturating_sub(12)..a.from).any(|i| {
            let noun = i + 1;
            // "The Fell's carton weighs": the verb is no part of it; "the Fell's true weight" is its weight.
            let verb = self.word(noun + 1).ends_with('s') || self.word(noun + 1).ends_with("ed");
            owner(i)
                && here(i)
                && (i + 6 >= a.from || self.goes_on(i, a.at))
                && noun < a.from
                && !home(noun)
                && (verb || noun + 1 >= a.from || !home(noun + 1))
        })
    }

    /// "A pallet of 70 kilos": the measure of a thing that is none of the bench's.
    pub fn measures_a_thing(&self, from: usize) -> bool {
        const QUANTITIES: &[&str] = &[
            "time",
            "valu",
            "total",
            "sum",
            "result",
            "read",
            "maximum",
            "minimum",
            "peak",
            "consumption",
            "draw",
            "consum",
            "kind",
            "sort",
            "los",
            "speed",
            "duration",
            "demand",
            "need",
            "limit",
            "amount",
            "use",
            "usag",
            "instead",
            "think",
            "out",
            "something",
            "claim",
            "promis",
            "order",
            "region",
            "neighborhood",
            "excess",
            "short",
            "shy",
            "north",
            "south",
            "part",
            "end",
            "tune",
            "top",
            "because",
            "inside",
            "ballpark",
            "spec",
        ];
        if from < 2 || self.word(from - 1) != "of" {
            return false;
        }
        let noun = from - 2;
        let known = |i: usize| {
            self.cues.iter().any(|c| c.at <= i && i < c.to)
                || self.amounts.iter().any(|b| b.at <= i && i < b.to)
                || self.named_at(i)
                || AT_HOME.contains(&root(self.word(i)))
                || QUANTITIES.contains(&root(self.word(i)))
                || super::delta::noun_before(&self.tokens, from)
        };
        let article = noun.checked_sub(1).is_some_and(|i| DETERMINERS.contains(&self.word(i)));
        article && !known(noun)
    }

    /// "Its cable is long and weighs 200 grams": the clause of token `at` has no subject of its own and goes on with that of
    /// token `i`, in the clause before it.
    fn goes_on(&self, i: usize, at: usize) -> bool {
        let (before, here) = (self.clause[i], self.clause[at]);
        let Some(first) = (0..at).find(|k| self.clause[*k] == here) else { return false };
        let verb = first + usize::from(matches!(self.word(first), "and" | "but"));
        let own = DETERMINERS.contains(&self.word(verb))
            || matches!(self.word(verb), "it" | "its" | "i" | "we" | "you" | "they" | "there")
            || self.mentions.iter().any(|m| self.clause[m.at] == here);
        before + 1 == here && verb > first && !own && self.word(verb).ends_with('s')
    }

    fn named_at(&self, i: usize) -> bool {
        self.mentions.iter().any(|m| m.at <= i && i < m.to)
    }

    /// "Next week we look at panels of 400 watts": what is to come was not measured.
    pub fn announces(&self) -> bool {
        let next = |i: usize| {
            self.word(i) == "next"
                && matches!(self.word(i + 1), "week" | "time" | "video" | "month" | "episode" | "part")
        };
        (0..self.tokens.len()).any(next) || self.tokens.first().is_some_and(|t| t.text == "tomorrow")
    }

    /// "We let it sit for 24 hours": how long a tester did something, and not how long it lasted.
    pub fn let_run(&self, a: &Amount) -> bool {
        const ENDS: &[&str] = &[
            "until", "till", "empty", "dead", "died", "dies", "before", "flat", "dark", "gone", "lasts",
            "lasted",
        ];
        let us = (0..a.from).any(|i| {
            matches!(self.word(i), "we" | "i")
                && (i + 1..i + 4)
                    .any(|k| matches!(root(self.word(k)), "let" | "left" | "leav" | "keep" | "log" | "park"))
        });
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        // "in 24 hours of idling it loses 148 watt-hours"
        let energy =
            self.amounts.iter().any(|b| b.what == super::unit::What::Dim(crate::quantity::Dim::Energy));
        (us && before == "for" && !self.says(ENDS))
            || (energy && self.speaks_of("idle-draw") && matches!(before, "in" | "over" | "during" | "every"))
    }

    /// "If it had 2,000 watt-hours, it would weigh 27 kilos": what is not so.
    pub fn if_it_were(&self, a: &Amount) -> bool {
        let were = |i: usize| {
            matches!(
                self.word(i),
                "had" | "were" | "was" | "weighed" | "cost" | "gave" | "held" | "came" | "could"
            )
        };
        let subject = |i: usize| self.word(i) == "it" || self.named_at(i);
        let unreal = |i: usize| {
            self.word(i) == "if"
                && (i + 1..i + 6).any(|k| were(k) && k > 0 && (subject(k - 1) || self.word(k - 1) == "only"))
        };
        (0..self.tokens.len()).any(unreal)
            && (self.says(&["would", "could"]) || self.says_near(a.at, &["if"]))
    }

    /// The sentence speaks of the station: by name or by "it".
    pub fn of_station(&self) -> bool {
        !self.mentions.is_empty() || self.cues.iter().any(|c| c.sense == Sense::Station)
    }
}

/// Words that leave out the model behind them.
pub const EXCEPT: &[&str] =
    &["apart", "aside", "except", "besides", "excluding", "bar", "barring", "other", "but"];

/// Words that a noun follows.
const DETERMINERS: &[&str] =
    &["a", "an", "the", "my", "our", "your", "his", "her", "their", "this", "that", "another", "some"];

/// Small words before a thing that only tells where or when: "at a metre", "on the table".
const ADJUNCTS: &[&str] = &[
    "at", "in", "on", "under", "over", "with", "by", "near", "behind", "beside", "after", "before", "during",
    "next", "into", "onto", "off", "like", "as",
];

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
    "refrigerator",
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
    "overload",
    "full",
    "entir",
];

/// Mentions parted by "and", "or" and an article only are one.
pub fn joined(tokens: &[Token], mentions: Vec<Mention>) -> Vec<Mention> {
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
