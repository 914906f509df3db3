//! What a number speaks of where no one word says it: the charge a display still shows when it goes dark, an overload said
//! as a share, a loss on the shelf.
use super::amount::Amount;
use super::lemma::root;
use super::scene::Scene;
use super::unit::What;
use crate::quantity::Dim;

/// Words for what shows the charge.
const SHOWS: &[&str] = &["display", "screen", "gauge", "readout", "indicator"];
/// Roots of words for the end of a discharge.
const ENDS: &[&str] = &[
    "off", "quit", "die", "di", "dead", "dark", "stop", "giv", "shut", "cut", "out", "gone", "emptie",
    "empt", "end", "black", "bow", "fold", "collap",
];
/// Words for a charge that was not used.
const UNUSED: &[&str] = &["left", "still", "remaining", "unused"];
/// Words for a shelf.
const SHELVES: &[&str] = &[
    "shelf",
    "storage",
    "cupboard",
    "shed",
    "closet",
    "drawer",
    "cellar",
    "attic",
    "stored",
    "untouched",
    "unused",
    "unplugged",
    "idle",
];
/// Words for long times said without a number.
const LONG: &[&str] = &["month", "months", "week", "weeks", "year", "winter", "summer", "fortnight"];
/// Roots of verbs for a charge that goes by itself.
const LEAKS: &[&str] = &[
    "los", "lost", "drop", "drain", "leak", "shed", "fell", "fall", "down", "bled", "bleed", "sank", "self",
];
/// A display that shows more says how far a charge has come.
const MOST_LEFT: f64 = 0.5;
/// A time on the shelf is days at least, in h.
const SHELF_TIME: f64 = 48.0;

impl Scene {
    /// "It went off with eleven percent still on the display": the charge shown at the end of a discharge.
    pub fn shown_at_end(&self, a: &Amount) -> bool {
        if a.what != What::Dim(Dim::Ratio) || a.x > MOST_LEFT || !self.stamps.is_empty() {
            return false;
        }
        let near = |i: usize| self.clause[i].abs_diff(self.clause[a.at]) <= 1;
        let says = |words: &[&str]| (0..self.tokens.len()).any(|i| near(i) && words.contains(&self.word(i)));
        let shows = says(SHOWS);
        let ends = (0..self.tokens.len()).any(|i| near(i) && ENDS.contains(&root(self.word(i))));
        let unused = says(UNUSED);
        let charge = |k: usize| matches!(root(self.word(k)), "charg" | "recharg" | "plug");
        let charging = (0..self.tokens.len()).any(|i| near(i) && charge(i));
        let left = matches!(self.word(a.to), "left" | "remaining" | "still") && ends;
        // "It dropped from nine to two percent on the display", "two percent of the time"
        (shows && (ends || unused) || left) && !charging && self.word(a.to) != "of"
    }

    /// "Five percent over its rating", "at 130 percent of what it's rated for": an overload, as a share of the rating.
    pub fn overload(&self, a: &Amount) -> Option<f64> {
        if a.what != What::Dim(Dim::Ratio) || a.hi.is_some() {
            return None;
        }
        let (next, then) = (self.word(a.to), self.word(a.to + 1));
        let rated = |k: usize| {
            matches!(
                root(self.word(k)),
                "rat"
                    | "rating"
                    | "overload"
                    | "nameplat"
                    | "label"
                    | "continuou"
                    | "continuous"
                    | "limit"
                    | "power"
                    | "load"
                    | "output"
            )
        };
        let trips = |k: usize| {
            matches!(
                root(self.word(k)),
                "trip"
                    | "overload"
                    | "held"
                    | "hold"
                    | "bear"
                    | "bor"
                    | "cut"
                    | "shut"
                    | "last"
                    | "stood"
                    | "surviv"
                    | "carr"
                    | "took"
                    | "take"
                    | "tolerat"
                    | "put"
                    | "hang"
                    | "stand"
                    | "keep"
                    | "run"
                    | "ran"
                    | "went"
                    | "go"
            )
        };
        let sentence = (0..self.tokens.len()).any(trips);
        let ends = self.tokens.get(a.to + 1).is_none_or(|t| t.after.is_some());
        let side = matches!(next, "over" | "above" | "beyond" | "past" | "more")
            && (ends
                || (a.to + 1..a.to + 5).any(rated)
                || matches!(then, "it" | "that" | "and" | "the" | "for"));
        let overloads = |from: usize| (from..a.from).any(|i| root(self.word(i)) == "overload");
        let by = a.from > 0 && self.word(a.from - 1) == "by" && overloads(0);
        let overload = by || matches!(next, "overload" | "overloaded") || (next == "too" && then == "much");
        if (side || overload) && sentence && a.x <= 1.0 {
            return Some(1.0 + a.x);
        }
        // "at 150 percent of its rating", "at 130 percent it held for ten seconds"
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        let of = next == "of" && (a.to + 1..a.to + 5).any(rated);
        let to = before == "to" && overloads(0);
        let named = before == "of" && overloads(a.from.saturating_sub(2));
        let of = of || to || named;
        (a.x > 1.0 && a.x <= 3.0 && (sentence || named) && (of || matches!(before, "at" | "with" | "under")))
            .then_some(a.x)
    }

    /// The overload that is spoken of where an amount is said, as it is written down: said in its clause, else before it.
    pub fn overload_of(&self, a: &Amount) -> Option<String> {
        let all: Vec<(&Amount, f64)> =
            self.amounts.iter().filter_map(|b| Some((b, self.overload(b)?))).collect();
        let here = all.iter().find(|(b, _)| self.clause[b.at] == self.clause[a.at]);
        let rating = |i: usize| matches!(root(self.word(i)), "rat" | "rating");
        let double =
            |i: &usize| matches!(self.word(*i), "double" | "twice") && (rating(i + 2) || rating(i + 1));
        // "At one and a half times its rating"
        let times = |b: &&Amount| b.what == What::Factor && (rating(b.to) || rating(b.to + 1)) && b.x > 1.0;
        if let Some(b) = self.amounts.iter().find(times).filter(|_| all.is_empty()) {
            return Some(format!("{:.0} %", b.x * 100.0));
        }
        if all.is_empty() && (0..self.tokens.len()).any(|i| double(&i)) {
            return Some("200 %".into());
        }
        let before = || all.iter().rev().find(|(b, _)| b.at < a.at);
        here.or_else(before).or(all.first()).map(|(_, x)| format!("{:.0} %", x * 100.0))
    }

    /// "Left on the shelf for a month it lost four percent": what goes with nobody using it.
    pub fn on_the_shelf(&self) -> bool {
        let leaks = (0..self.tokens.len()).any(|i| LEAKS.contains(&root(self.word(i))));
        let share = self.amounts.iter().any(|a| a.what == What::Dim(Dim::Ratio));
        let long = self.amounts.iter().any(|a| a.what == What::Dim(Dim::Time) && a.x >= SHELF_TIME)
            || self.says(LONG);
        let off = (1..self.tokens.len())
            .any(|i| self.word(i) == "off" && matches!(root(self.word(i - 1)), "switch" | "turn" | "power"));
        leaks
            && share
            && long
            && (self.says(SHELVES) || off || self.says(&["standing", "parked", "sitting", "alone"]))
    }
}
