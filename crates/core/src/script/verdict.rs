//! The judgement on one amount: what to say of the record it was paired with, and what where none fits.
use super::amount::Amount;
use super::book::{Mark, Whose};
use super::choose::{at_load, under};
use super::compare::Fit;
use super::hedge::Hedge;
use super::judge::Desk;
use super::lexicon::Takes;
use super::load::loads;
use super::meaning::Meant;
use super::ranking::{THANS, TOPS};
use super::scene::Scene;
use super::whose::Mode;
use super::{Judgement, Line};
use crate::stamp::is_month;

/// Words for a price that was so once: it needs no other date to be no more than that.
const PAST: &[&str] =
    &["was", "were", "ago", "paid", "bought", "when", "looked", "checked", "seen", "saw", "last", "noted"];

impl Desk<'_> {
    pub fn verdict(&self, scene: &Scene, a: &Amount, meant: &Meant, found: Option<(Fit, Mark)>) -> Line {
        let Meant { sort, keys, models, unknown, .. } = meant;
        let (sort, unknown) = (*sort, *unknown);
        if let Some(line) = found.as_ref().and_then(|(_, m)| self.far_within(scene, a, meant, m)) {
            return line;
        }
        if let Some((Fit::Agrees, mark)) = &found {
            return self.agreed(scene, a, mark);
        }
        let conditions = scene.conditions(a);
        let all = || {
            models
                .iter()
                .flat_map(|&m| &self.book.marks[m])
                .filter(|k| keys.contains(&k.key.as_str()) && k.takes == sort)
        };
        let load = loads(scene, a, self.book, models);
        let same = |k: &&Mark| k.key != "runtime" || load.is_none_or(|w| at_load(k, w));
        let old = all()
            .filter(same)
            .filter(|k| matches!(k.whose, Whose::Former(_)) && under(&k.condition, &conditions, &k.key));
        let close = |k: &&Mark| {
            a.hi.is_none()
                && !a.bounded
                && (a.x - k.x).abs() <= (a.step / 2.0).clamp(0.01 * k.x.abs(), 0.02 * k.x.abs())
        };
        if let Some(old) = old.clone().find(close)
            && let Whose::Former(why) = &old.whose
        {
            let now = found.as_ref().map_or_else(String::new, |(_, m)| format!("; now {}", m.text()));
            return self.line(scene, a, Judgement::Stale, Some(old), format!("{why}{now}"));
        }
        // The record found may be of another word than the one that stands closest.
        let own = |m: &Mark| self.misspoken_for(scene, a, meant, &[m.key.as_str()]);
        let slip = self.misspoken(scene, a, meant).or_else(|| own(&found.as_ref()?.1));
        if let Some((mark, how)) = slip {
            let hint = format!("{how}: {} is meant", mark.text());
            return self.line(scene, a, Judgement::WrongUnit, Some(&mark), hint);
        }
        if let Some(line) = self.very_number(scene, a, sort, models).filter(|_| !unknown) {
            return line;
        }
        match found {
            Some((Fit::OverRounded, mark)) => {
                let hint =
                    format!("rounded too far; say {}, or \"about\" with the number as recorded", mark.text());
                self.line(scene, a, Judgement::OverRounded, Some(&mark), hint)
            }
            Some((_, mark)) if sort == Takes::Current && scene.mode(a) != Mode::Claim => {
                self.line(scene, a, Judgement::NoRecord, None, never_measured(&mark))
            }
            Some((_, mark)) if !unknown => {
                let hint = match &mark.whose {
                    Whose::Maker(_) => format!("the maker's figure is {}", mark.text()),
                    _ => format!("the bench has {}", mark.text()),
                };
                self.line(scene, a, Judgement::Differs, Some(&mark), hint)
            }
            _ => {
                if let Some(line) = self.promised_only(scene, a, all()).filter(|_| !unknown) {
                    return line;
                }
                let hint = match unknown {
                    true => "no model is named near it, and no record of the bench fits",
                    false => "the bench has no record of this; leave it out, or test it first",
                };
                self.line(scene, a, Judgement::NoRecord, None, hint.into())
            }
        }
    }

    /// "Within 5.8 minutes" is true of 5.8 milliseconds, and not meant.
    fn far_within(&self, scene: &Scene, a: &Amount, meant: &Meant, found: &Mark) -> Option<Line> {
        let plain = Amount { hedge: Hedge::Plain, bounded: false, ..a.clone() };
        let (mark, how) = self.misspoken(scene, &plain, meant).filter(|_| a.x > 100.0 * found.x)?;
        let hint = format!("{how}: {} is meant", mark.text());
        Some(self.line(scene, a, Judgement::WrongUnit, Some(&mark), hint))
    }

    /// What is said where the number is the record's.
    fn agreed(&self, scene: &Scene, a: &Amount, mark: &Mark) -> Line {
        if let Some(line) = self.untested(scene, a, mark) {
            return line;
        }
        let Some(why) = self.old_price(scene, a, mark) else {
            return self.line(scene, a, Judgement::Agrees, Some(mark), String::new());
        };
        // Told as today's, or as all that the sentence says; beside others it is one more figure, and its date a hint.
        let alone = scene.amounts.len() == 1 && !scene.compares_anything();
        let judgement = if alone || scene.says_today(a) { Judgement::Stale } else { Judgement::Agrees };
        self.line(scene, a, judgement, Some(mark), why)
    }

    /// "You'll get five hundred cycles out of it": promised, and not measured.
    fn promised_only<'m>(
        &self,
        scene: &Scene,
        a: &Amount,
        mut all: impl Iterator<Item = &'m Mark>,
    ) -> Option<Line> {
        let made = all.find(|k| k.is_promise_of(a))?;
        let hint = "that is the maker's figure, which was not tested here: say \"claimed\"";
        Some(self.line(scene, a, Judgement::Unsupported, Some(made), hint.into()))
    }

    /// The maker's figure for what was not tested here, told as a result: "noise at half load: 30 decibels".
    fn untested(&self, scene: &Scene, a: &Amount, mark: &Mark) -> Option<Line> {
        let result = matches!(mark.key.as_str(), "noise" | "cycles");
        let made = matches!(mark.whose, Whose::Maker(_));
        let tested = self.book.marks[mark.model].iter().any(|k| k.key == mark.key && k.is_bench());
        let plain =
            scene.mode(a) == Mode::Open && !a.describes && !scene.asks && !scene.says_near(a.at, &["claim"]);
        let hint = "that is the maker's figure, which was not tested here: say \"claimed\"".to_string();
        (result && made && !tested && plain)
            .then(|| self.line(scene, a, Judgement::Unsupported, Some(mark), hint))
    }

    /// What to add to a price that is still the last one known, but older than the settings allow.
    pub fn old_price(&self, scene: &Scene, a: &Amount, mark: &Mark) -> Option<String> {
        let row = &self.book.report.models[mark.model].price;
        let today = || mark.takes == Takes::MoneyPerWh && scene.says_today(a);
        let money = mark.takes == Takes::Money || today();
        let price = row.price.as_ref().filter(|_| row.old && money)?;
        let dated = scene.names_month() || scene.says(PAST) || self.past.prices_dated;
        (!dated).then(|| format!("this price is of {}; say the date, or look it up again", price.on))
    }
}

impl Scene {
    /// A month is named.
    pub fn names_month(&self) -> bool {
        self.tokens.iter().any(|t| is_month(&t.text))
    }

    /// A word ranks or compares.
    fn compares_anything(&self) -> bool {
        let word =
            |t: &super::token::Token| THANS.iter().chain(TOPS).any(|w| w.0 == t.text) || t.text == "worth";
        self.tokens.iter().any(word)
    }

    /// An amount is told as one of today: "yours for 389 dollars today"; "now there's a good one" tells no time.
    pub fn says_today(&self, a: &Amount) -> bool {
        let near = |i: usize| self.clause[i].abs_diff(self.clause[a.at]) <= 1;
        let speech = |i: usize| {
            let next = self.word(i + 1);
            let aside =
                matches!(next, "there's" | "there" | "that's" | "let's" | "for" | "to" | "look" | "on");
            let stop = self.tokens.get(i + 1).is_some_and(|t| t.after.is_some());
            aside || (stop && (i == 0 || self.tokens[i].after.is_some()))
        };
        let two = |i: usize, a: &str, b: &[&str]| self.word(i) == a && b.contains(&self.word(i + 1));
        (0..self.tokens.len()).filter(|i| near(*i)).any(|i| match self.word(i) {
            "today" | "currently" | "nowadays" | "today's" => true,
            "now" => !speech(i),
            "current" => two(i, "current", &["price", "list", "asking", "street"]),
            "this" => two(i, "this", &["week", "month", "morning"]),
            "these" => two(i, "these", &["days"]),
            "at" => two(i, "at", &["present"]) || (two(i, "at", &["the"]) && self.word(i + 2) == "moment"),
            _ => false,
        })
    }
}

/// What a maker says of a current tells nothing of what was drawn.
fn never_measured(mark: &Mark) -> String {
    format!("the bench has measured none; the maker's figure is {}", mark.text())
}
