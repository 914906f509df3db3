//! What tells the unit of a number said without one, and how surely.
use super::amount::Amount;
use super::bare::{Bare, Heard, given, told_first};
use super::lexicon::{Cue, Firm, Sense};
use super::unit::What;
use super::who::Mention;
use crate::quantity::Dim;

/// A smaller number without a currency is no price of a station.
pub const LEAST_PRICE: f64 = 20.0;

/// A smaller number without a unit is no energy of a station.
pub const LEAST_ENERGY: f64 = 100.0;

impl Bare<'_> {
    /// "It coughed up 917": what comes out of a station is energy.
    pub fn came_out(&self, a: &Amount) -> Option<Heard> {
        let out = |c: &Cue| {
            matches!(c.sense, Sense::Topic(["usable-energy", "usable-share"], Firm::Weak)) && c.to <= a.from
        };
        // "Fell at half load: 911"
        let loaded = |c: &Cue| matches!(c.sense, Sense::On("load", _)) && c.to == a.from;
        let close = self.cues.iter().any(|c| (out(c) && a.from - c.to <= 1) || loaded(c));
        (close && a.x >= LEAST_ENERGY && !self.mentions.is_empty()).then_some((What::Dim(Dim::Energy), 1.0))
    }

    /// "The Cairn does 484": with so bare a verb a large number is the energy.
    pub fn does(&self, a: &Amount) -> Option<Heard> {
        let verb = a.from.checked_sub(1).is_some_and(|i| {
            matches!(
                self.word(i),
                "does" | "did" | "do" | "makes" | "made" | "gets" | "got" | "gave" | "gives"
            )
        });
        let named = self.mentions.iter().any(|m| m.to + 1 == a.from);
        (verb && named && a.x >= LEAST_ENERGY).then_some((What::Dim(Dim::Energy), 1.0))
    }

    /// "Idle ranking: Cairn 6, Fell 10": names with a number each, under one topic.
    pub fn listed(&self, a: &Amount, bare: &[usize], amounts: &[Amount]) -> Option<Heard> {
        let named = |b: &Amount| self.mentions.iter().find(|m| m.to == b.from);
        let pairs = bare.iter().filter(|i| named(&amounts[**i]).is_some()).count();
        let first = self.mentions.first().filter(|_| pairs > 1 && named(a).is_some())?;
        self.topic(first.at, 3)
    }

    /// "It sits at 599": a word for a price ends directly before it.
    pub fn priced(&self, a: &Amount) -> bool {
        let price =
            |c: &Cue| matches!(c.sense, Sense::Topic(["price", ..], _)) && c.to == a.from && c.to - c.at > 1;
        a.x >= LEAST_PRICE && self.cues.iter().any(price)
    }

    /// "It hums along at 41.7": a word for noise stands before a number of that order.
    pub fn sounds(&self, a: &Amount) -> bool {
        let noise =
            |c: &Cue| matches!(c.sense, Sense::Topic(["noise"], _)) && c.to <= a.from && a.from - c.to <= 3;
        (20.0..90.0).contains(&a.x) && self.cues.iter().any(noise)
    }

    /// "The cheap one": no number.
    pub fn stands_for_thing(&self, a: &Amount) -> bool {
        let ends = self.tokens.get(a.to).is_none_or(|t| t.after.is_some());
        self.word(a.at) == "one" && a.from > 0 && ends
    }

    /// A verb tells what a number without a unit is one of.
    pub fn told_by_verb(&self, a: &Amount) -> Option<Heard> {
        self.for_money(a).or_else(|| self.pulls(a))
    }

    /// "She'll pull 1,879 to the last drop": what a station pulls is power.
    pub fn pulls(&self, a: &Amount) -> Option<Heard> {
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        let pulls = matches!(before, "pull" | "pulls" | "pulled" | "sustain" | "sustains" | "sustained");
        let station = self.cues.iter().any(|c| c.sense == Sense::Station && c.to <= a.from);
        let ours = station || self.mentions.iter().any(|m| m.to <= a.from);
        (pulls && ours && a.x >= LEAST_ENERGY).then_some((What::Dim(Dim::Power), 1.0))
    }

    /// "389 is what they want", "it came in at 229, so 87 cents each": a number told as a price.
    pub fn asked_for(&self, a: &Amount, amounts: &[Amount]) -> Option<Heard> {
        let want = matches!(self.word(a.to), "is" | "was")
            && self.word(a.to + 1) == "what"
            && matches!(self.word(a.to + 3), "want" | "ask" | "pay" | "charge" | "paid" | "wanted" | "asked");
        let cents = |b: &Amount| matches!(b.what, What::Money(_) | What::MoneyPerWh(_)) && b.x < 3.0;
        let at = a.from.checked_sub(1).is_some_and(|i| matches!(self.word(i), "at" | "for"));
        let quotient = at && amounts.iter().any(|b| b.at > a.at && cents(b));
        (a.x >= LEAST_PRICE && (want || quotient)).then_some((What::Money(""), 1.0))
    }

    /// "Seven of them": a count; "you'll see 294 of them" may be units.
    pub fn of_them(&self, a: &Amount) -> bool {
        matches!(self.word(a.to + 1), "them" | "these" | "those" | "us") && a.x < LEAST_ENERGY
    }

    /// "1,879 watts, 29 more than promised": a difference from the number beside it, however small.
    pub fn differs_by(&self, a: &Amount, amounts: &[Amount]) -> Option<Heard> {
        let side = super::delta::BEHIND.contains(&self.word(a.to)) && self.word(a.to + 1) == "than";
        let claim = |c: &Cue| c.sense == Sense::Claim && (a.to..a.to + 6).contains(&c.at);
        let named = |m: &Mention| (a.to + 2..a.to + 6).contains(&m.at) && !m.maker;
        let told = self.cues.iter().any(claim) || self.mentions.iter().any(named);
        let last = amounts.iter().rev().find(|b| b.to <= a.from && given(&b.what));
        let near = last.filter(|b| a.from - b.to <= 8 && b.x / b.factor > a.x);
        let before = || self.heard.and_then(|h| h.with.last()).filter(|w| w.0 > a.x && last.is_none());
        let heard = near.map(|b| (b.what.clone(), b.factor)).or_else(|| before().map(|w| w.1.clone()));
        heard.filter(|_| side && told)
    }

    /// "You take it home for 599": money, though no word for a price stands there.
    pub fn for_money(&self, a: &Amount) -> Option<Heard> {
        const BUYS: &[&str] = &[
            "take", "walk", "get", "buy", "grab", "own", "home", "yours", "pick", "leave", "bring", "bought",
        ];
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        let buys = self.tokens.iter().any(|t| BUYS.contains(&t.text.as_str()));
        (before == "for" && buys && a.x >= 100.0 && a.x < 10_000.0 && !self.mentions.is_empty())
            .then_some((What::Money(""), 1.0))
    }

    /// "Seven of the twenty", "step 3 of 8": a count stands directly beside it.
    pub fn counts_nearby(&self, a: &Amount) -> bool {
        let before = a.from.checked_sub(1).map_or("", |i| self.word(i));
        let ends = self.tokens.get(a.to).is_none_or(|t| t.after.is_some())
            || matches!(
                self.word(a.to),
                "stations" | "here" | "tested" | "on" | "that" | "i" | "we" | "devices"
            );
        let all = matches!(before, "the" | "all")
            && a.from > 1
            && matches!(self.word(a.from - 2), "of" | "all")
            && (3.0..100.0).contains(&a.x);
        (before == "of" && !super::delta::noun_before(self.tokens, a.from))
            || (all && ends)
            || matches!(before, "number" | "than")
            || (matches!(self.word(a.to), "of" | "out")
                && (a.x < LEAST_ENERGY || !matches!(self.word(a.to + 1), "them" | "these" | "those")))
    }

    /// "Ninety it was": the number is told first.
    pub fn it_was(&self, a: &Amount) -> bool {
        told_first(self.word(a.to), self.word(a.to + 1))
    }

    /// A word that says whose figure it is, or the station's name, stands directly before the number.
    pub fn introduced(&self, a: &Amount) -> bool {
        let close = |to: usize| to <= a.from && a.from - to <= 1;
        let said = |c: &&Cue| matches!(c.sense, Sense::Claim | Sense::Measured) && close(c.to);
        let behind = |m: &Mention| super::subject::follows_number(self.tokens, a.to, m.at);
        self.it_was(a)
            || self.cues.iter().any(|c| said(&c))
            || self.mentions.iter().any(|m| m.to == a.from || behind(m))
    }

    /// "16.9 kilos versus 13.1": the other side of a comparison has the same unit.
    pub fn set_against(&self, a: &Amount, amounts: &[Amount]) -> bool {
        let Some(link) = a.from.checked_sub(1) else { return false };
        let against = matches!(self.word(link), "versus" | "vs" | "against");
        against && amounts.iter().any(|b| b.to == link && given(&b.what))
    }
}
