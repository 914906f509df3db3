//! Numbers that no fact of the bench speaks of, and sentences that assert nothing: they raise no alarm.
use super::amount::Amount;
use super::book::{Mark, Whose};
use super::compare::{Fit, fit, follows};
use super::hedge::Hedge;
use super::judge::Desk;
use super::lexicon::{Firm, Sense, Takes};
use super::load::loads;
use super::meaning::Meant;
use super::scene::{Scene, Topic};
use super::whose::Mode;
use super::{Judgement, Line};

/// So many times more or less is another order.
const FAR: f64 = 5.0;

/// In a run of words without stops, only a word so close speaks of a number.
const CLOSE: usize = 4;

/// Words that begin a question to be answered with yes or no.
const YES_OR_NO: &[&str] = &[
    "does", "do", "did", "is", "are", "was", "were", "can", "could", "will", "would", "has", "have", "had",
    "should",
];

impl Desk<'_> {
    /// A number that fits no record and is likely to be of something else than the station.
    pub fn somebody_elses(
        &self,
        scene: &Scene,
        a: &Amount,
        meant: &Meant,
        topics: &[Topic],
        found: Option<&(Fit, Mark)>,
    ) -> bool {
        let Meant { sort, keys, models, unknown, .. } = meant;
        if found.is_some_and(|(fit, _)| *fit == Fit::Agrees) && !unknown {
            return false;
        }
        if scene.runs_on() && self.lost_in(scene, a, topics) {
            return true;
        }
        let elsewhere = scene.opens_with_stranger() || scene.if_it_were(a) || scene.announces();
        if elsewhere || self.gap_of_two(scene, a) {
            return true;
        }
        let another = || found.is_some_and(|(_, m)| self.of_another(scene, a, m));
        if self.misspoken(scene, a, meant).is_none()
            && (scene.is_tariff(a) || scene.of_a_part(a) || another())
        {
            return true;
        }
        // An energy that nothing near it speaks of, and far from all there is: somebody else's.
        let far = found.is_none_or(|(_, m)| (m.x - a.x).abs() > 0.5 * m.x.abs());
        let said = scene.mode(a) != Mode::Open && scene.names_near(a);
        let fragment = !unknown && scene.is_fragment(a);
        let ours = scene.of_station() || scene.says(&["we", "i", "you"]) || fragment;
        let loaded = fragment && scene.conditions(a).contains_key("load");
        let stray = !loaded && !self.answers && ((topics.is_empty() && !said) || !ours);
        if stray && far && *sort == Takes::Energy && !self.thousandfold(a, models) {
            return true;
        }
        // The number of a thing that the clause names, and no record fits.
        let known = scene.says(&["fridge", "freezer", "refrigerator"]) && *sort == Takes::Time;
        if scene.stranger(a) && !known && found.is_none_or(|(fit, _)| *fit != Fit::Agrees) {
            return true;
        }
        // Of another order than all that is known, and nothing firm near it: "three weeks on the bench".
        let order = found.is_some_and(|(_, m)| a.x > FAR * m.x || m.x > FAR * a.x);
        let strong = topics.iter().any(|t| t.firm == Firm::Strong);
        let slip = || self.misspoken(scene, a, meant).is_some();
        if order
            && !strong
            && !slip()
            && matches!(sort, Takes::Time | Takes::Money | Takes::MoneyPerWh | Takes::Mass | Takes::Power)
        {
            return true;
        }
        if *unknown && topics.is_empty() && !self.answers {
            return true;
        }
        let nobody = !(scene.of_station() || fragment || scene.says(&["we", "i", "you", "my", "our"]));
        // "The cheapest way to get 1,000 watt-hours": nobody's energy.
        let general = *sort == Takes::Energy && nobody && !strong && !self.answers && scene.tokens.len() > 9;
        if general || (*unknown && nobody) {
            return true;
        }
        if *sort == Takes::Time && keys.contains(&"runtime") && scene.let_run(a) {
            return true;
        }
        // "I ran it for three days": nothing says under which load.
        keys.contains(&"runtime")
            && loads(scene, a, self.book, models).is_none()
            && *sort == Takes::Time
            && scene.says(&["i", "we"])
            && !scene.says(&["fridge", "freezer", "refrigerator"])
    }

    /// "Does the Fell stay within its ten milliseconds?", "not 15.8": nothing is said to be so. A question that takes the
    /// maker's figure for granted asserts no other.
    pub fn asserts_nothing(&self, scene: &Scene, a: &Amount) -> bool {
        let knows = scene.says(&["know", "knew", "guess", "believe", "true"]);
        let asks = scene.asks
            && scene.tokens.first().is_some_and(|t| YES_OR_NO.contains(&t.text.as_str()))
            && !knows;
        // "Three kilowatt-hours? It can't do that."
        let fragment = scene.asks && scene.tokens.len() <= 5 && scene.mentions.is_empty();
        asks || fragment || a.denied || (scene.asks && self.made(scene, a))
    }

    /// A number whose unit was left out is one on record: of the same result of another model, or of another of the same.
    pub fn known(&self, scene: &Scene, a: &Amount, found: &Mark) -> bool {
        let far = (a.x - found.x).abs() > 0.6 * found.x.abs();
        // A single switchover of twenty is too many numbers to tell one from.
        let one = |k: &Mark| k.key == "switchover" && k.whose == Whose::Test;
        let fits = |k: &&Mark| k.takes == found.takes && !one(k) && fit(a, k, &[]) == Fit::Agrees;
        let named = scene.mentions.iter().flat_map(|m| m.models.iter().copied());
        let models = named.chain(self.models.iter().copied());
        let mut same = models.flat_map(|m| &self.book.marks[m]).filter(|k| k.key == found.key);
        far || same.any(|k| fits(&k)) || self.book.marks[found.model].iter().any(|k| fits(&k))
    }

    /// In a run of words without stops, the number of some record of a model named in it, or with no word for it close by: it
    /// cannot be told what it speaks of.
    fn lost_in(&self, scene: &Scene, a: &Amount, topics: &[Topic]) -> bool {
        let sort = super::scene::sort_of(&a.what);
        let named = scene.mentions.iter().flat_map(|m| m.models.iter().copied());
        let mut models = named.chain(self.default).chain(self.models.iter().copied());
        let known = models.any(|m| {
            let marks = self.book.marks[m].iter().filter(|k| k.takes == sort && k.fact.is_some());
            marks.filter(|k| !matches!(k.whose, Whose::Former(_))).any(|k| fit(a, k, &[]) == Fit::Agrees)
        });
        known || !topics.iter().any(|t| t.gap <= CLOSE)
    }

    /// "The Lantern has about 165 watt-hours on the Fell": by so much two models named differ.
    fn gap_of_two(&self, scene: &Scene, a: &Amount) -> bool {
        let mut models: Vec<usize> = scene.mentions.iter().flat_map(|m| m.models.iter().copied()).collect();
        models.dedup();
        let [m, n] = models[..] else { return false };
        let sort = super::scene::sort_of(&a.what);
        let of =
            |m: usize| self.book.marks[m].iter().filter(move |k| k.takes == sort && k.whose == Whose::Bench);
        of(m).any(|x| {
            of(n).any(|y| {
                x.key == y.key && x.condition == y.condition && follows(a, (x.x - y.x).abs(), 0.01 * x.x)
            })
        })
    }

    /// Of another order than the record found, and the very number of another of the same model: the words were misread.
    fn of_another(&self, scene: &Scene, a: &Amount, found: &Mark) -> bool {
        let far = a.x > FAR * found.x || found.x > FAR * a.x;
        let sort = super::scene::sort_of(&a.what);
        let fits = |k: &Mark| {
            k.takes == sort && k.fact.is_some() && k.key != found.key && fit(a, k, &[]) == Fit::Agrees
        };
        far && scene.mode(a) != Mode::Claim && self.book.marks[found.model].iter().any(fits)
    }

    /// The maker of a model spoken of says so.
    pub fn made(&self, scene: &Scene, a: &Amount) -> bool {
        let models = self.models_at(scene, a.at);
        models.iter().flat_map(|&m| &self.book.marks[m]).any(|k| k.is_promise_of(a))
    }

    /// A price per watt is a slip for one per watt-hour where a station is spoken of; solar panels are priced so.
    pub fn prices(&self, scene: &Scene, a: &Amount) -> bool {
        let marks = self.models_at(scene, a.at).into_iter().flat_map(|m| &self.book.marks[m]);
        let mut marks = marks.filter(|k| k.takes == Takes::MoneyPerWh);
        !scene.mentions.is_empty() || marks.any(|k| fit(a, k, &[]) == Fit::Agrees)
    }

    /// "On our scale it weighs exactly the promised 13.2": the promise is said to be kept to the letter, so what was measured
    /// must agree too.
    pub fn promise_kept<'a>(
        &self,
        scene: &Scene,
        a: &Amount,
        found: &(Fit, Mark),
        mut marks: impl Iterator<Item = (Fit, &'a Mark)>,
    ) -> Option<Line> {
        let (Fit::Agrees, mark) = found else { return None };
        let early = || a.at.saturating_sub(5)..a.at;
        // "exactly the promised", "its full 1,080"
        let whole = |i: usize| match scene.word(i) {
            "exactly" | "precisely" => true,
            "full" | "entire" => i > 0 && i + 3 >= a.at && matches!(scene.word(i - 1), "its" | "the"),
            _ => false,
        };
        let letter = a.hedge == Hedge::Exact || early().any(whole);
        let measured =
            |c: &super::lexicon::Cue| c.sense == Sense::Measured && scene.clause[c.at] == scene.clause[a.at];
        let tested = scene.cues.iter().any(measured)
            || early().any(|i| {
                matches!(
                    scene.word(i),
                    "weighs" | "weighed" | "delivers" | "delivered" | "gives" | "gave" | "lasts" | "lasted"
                )
            });
        if !letter || !tested || !matches!(mark.whose, Whose::Maker(_)) {
            return None;
        }
        let same = |k: &Mark| k.model == mark.model && k.whose == Whose::Bench && twin(&k.key, &mark.key);
        let own: Vec<&Mark> = self.book.marks[mark.model].iter().filter(|k| same(k)).collect();
        let agrees = own.iter().any(|k| fit(a, k, &[]) == Fit::Agrees)
            || marks.any(|(fit, k)| same(k) && fit == Fit::Agrees);
        let have = own.first().filter(|_| !agrees)?;
        let hint = format!("the bench has {}", have.text());
        Some(self.line(scene, a, Judgement::Differs, Some(have), hint))
    }
}

/// The result that tells whether a claim was kept.
fn twin(result: &str, claim: &str) -> bool {
    result == claim || (result == "usable-energy" && claim == "stored-energy")
}
