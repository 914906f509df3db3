//! Bounds said by a verb: "never reached 900", "doesn't even manage an hour", "tops two kilowatt-hours", "still on after
//! three days", "does not weigh 16 kilos".
use super::amount::Amount;
use super::hedge::Hedge;
use super::lemma::root;
use super::lexicon::{Cue, Sense};
use super::scene::Scene;

/// Roots of verbs of getting to a number: denied, the number is a bound above.
const REACH: &[&str] = &[
    "reach", "hit", "mak", "mad", "manag", "get", "got", "com", "touch", "crack", "break", "brok", "exceed",
    "top", "pas", "pass", "clear", "see", "saw", "surpas", "go", "went", "approach", "near", "climb", "ris",
];
/// Roots of verbs of getting beyond a number.
const BEYOND: &[&str] = &["exceed", "top", "crack", "break", "brok", "clear", "surpas", "pas", "pass"];
/// How far before a number its verb may stand.
const NEAR: usize = 7;

/// What the words before a number make of it.
pub enum Bound {
    /// A limit on one side.
    Side(Hedge),
    /// It is said not to be so much.
    Denied,
}

impl Scene {
    /// The words before an amount in its clause, the nearest first, up to another amount.
    fn words_before(&self, a: &Amount) -> Vec<usize> {
        let here = self.clause[a.from];
        let other = |i: usize| self.amounts.iter().any(|b| b.at != a.at && b.at <= i && i < b.to);
        let back = (a.from.saturating_sub(NEAR)..a.from).rev();
        back.take_while(|i| self.clause[*i] == here && !other(*i)).collect()
    }

    /// The bound that a verb makes of a plain number.
    pub fn bound_by_verb(&self, a: &Amount) -> Option<Bound> {
        let words = self.words_before(a);
        let says = |w: &[&str]| words.iter().any(|i| w.contains(&self.word(*i)));
        let first = words.first().map_or("", |i| self.word(*i));
        let second = words.get(1).map_or("", |i| self.word(*i));
        if matches!((second, first), ("nowhere", "near") | ("far", "from")) {
            return Some(Bound::Side(Hedge::WellUnder));
        }
        if first == "after" && says(&["still"]) {
            return Some(Bound::Side(Hedge::Over));
        }
        let denial = words.iter().find(|i| self.is_not(**i));
        let neither = says(&["neither", "without"]) || self.clause_opens_with(a.from, "neither");
        let denied = denial.is_some() || neither;
        let verb = |roots: &[&str], reach: usize| {
            words.iter().take(reach).any(|i| roots.contains(&root(self.word(*i))))
        };
        let gives_up = says(&["fails", "failed", "fail", "struggles", "struggled"]) && says(&["to"]);
        if (denied || gives_up) && (says(&["even", "quite"]) || verb(REACH, 4)) {
            return Some(Bound::Side(Hedge::Under));
        }
        if !denied && verb(BEYOND, 3) {
            return Some(Bound::Side(Hedge::Over));
        }
        // "Does not weigh 16 kilos": a verb alone stands between.
        const SMALL: &[&str] = &[
            "at", "with", "for", "in", "on", "after", "from", "by", "it", "that", "this", "than", "and",
            "to", "under", "over", "of", "as", "until", "one",
        ];
        let between = denial.map(|d| (d + 1..a.from).map(|i| self.word(i)).collect::<Vec<_>>())?;
        let plain = (1..=2).contains(&between.len()) && !between.iter().any(|w| SMALL.contains(w));
        plain.then_some(Bound::Denied)
    }

    /// "It never took longer than", "neither of them took longer than".
    pub fn denied_before(&self, a: &Amount) -> bool {
        let neither = (0..a.from).any(|i| self.word(i) == "neither" && self.clause[i] == self.clause[a.at]);
        neither || self.negated(a.from)
    }

    /// "Two hours and twenty minutes instead of two hours", "should be full in two hours and isn't": it is not said to be so,
    /// unless as a promise.
    pub fn instead_of(&self, a: &Amount) -> bool {
        let article =
            usize::from(a.from > 0 && matches!(self.word(a.from - 1), "the" | "a" | "its" | "their"));
        let before = |k: usize| a.from.checked_sub(k + article).map_or("", |i| self.word(i));
        let said =
            matches!((before(2), before(1)), ("instead", "of") | ("rather", "than") | ("opposed", "to"));
        let promised = |c: &Cue| c.sense == Sense::Claim && (a.to..a.to + 4).contains(&c.at);
        let turned = matches!(self.word(a.to), "and" | "but") && self.word(a.to + 1).ends_with("n't");
        (said && !self.cues.iter().any(promised)) || turned
    }

    fn clause_opens_with(&self, i: usize, word: &str) -> bool {
        let here = self.clause[i];
        (0..i).find(|k| self.clause[*k] == here).is_some_and(|k| self.word(k) == word)
    }
}
