//! A right number in a wrong unit: watts for watt-hours, hours for minutes, pounds for kilograms, a thousandfold.
use super::amount::Amount;
use super::bare::Unit;
use super::book::{Mark, Whose};
use super::choose::{at_load, under};
use super::compare::{Fit, fit};
use super::hedge::Hedge;
use super::judge::Desk;
use super::lexicon::{Firm, Takes};
use super::load::loads;
use super::meaning::Meant;
use super::scene::{Scene, Topic, any_takes};
use super::unit::What;
use super::whose::Mode;
use super::{Judgement, Line};
use crate::quantity::Dim;

impl Desk<'_> {
    /// A thousand times more or less than an energy of these models.
    pub fn thousandfold(&self, a: &Amount, models: &[usize]) -> bool {
        let mut all = models.iter().flat_map(|&m| &self.book.marks[m]).filter(|k| k.takes == Takes::Energy);
        all.any(|m| [1e3, 1e-3].iter().any(|f| (a.x * f / m.x - 1.0).abs() < 0.05))
    }

    /// "watts per hour".
    pub fn rate(&self, scene: &Scene, a: &Amount) -> Line {
        let hint = "watts say how fast already: say watts, or watt-hours for an amount".to_string();
        let models = self.models_at(scene, a.at);
        let idle = models.iter().flat_map(|&m| &self.book.marks[m]);
        let idle = idle
            .filter(|m| m.takes == Takes::Power && m.whose == Whose::Bench)
            .find(|m| fit(a, m, &[]) == Fit::Agrees);
        self.line(scene, a, Judgement::WrongUnit, idle, hint)
    }

    /// "Idle draw 10.2 amps": the figure of a power or an energy, with a unit of current or charge.
    pub fn current_for_power(&self, scene: &Scene, a: &Amount) -> Option<Line> {
        let sorts: &[Takes] = match a.what {
            What::Dim(Dim::Current) => &[Takes::Power, Takes::Energy],
            What::Dim(Dim::Charge) => &[Takes::Energy],
            _ => return None,
        };
        let figure = Amount { x: a.x / a.factor, step: a.step / a.factor, ..a.clone() };
        let models = self.models_at(scene, a.at);
        sorts.iter().find_map(|&sort| {
            let topics = scene.topics(a, |keys| any_takes(keys, sort));
            // "gave", "holds" will do where the figure is of three digits.
            let told = |t: &&Topic| (t.near || t.gap <= 6) && (t.firm == Firm::Strong || figure.x >= 100.0);
            let topic = topics.iter().find(told)?;
            let marks = models.iter().flat_map(|&m| &self.book.marks[m]);
            let mut same = marks.filter(|k| k.takes == sort && topic.keys.contains(&k.key.as_str()));
            let mark = same.find(|k| a.unit == Unit::Said && fit(&figure, k, &[]) == Fit::Agrees)?;
            let hint = match sort {
                Takes::Power => "this is a power: say watts",
                _ => "this is an amount of energy: say watt-hours",
            };
            Some(self.line(scene, a, Judgement::WrongUnit, Some(mark), hint.into()))
        })
    }

    /// Watts for watt-hours and the reverse; a thousandfold.
    pub fn slip(&self, scene: &Scene, a: &Amount, sort: Takes, models: &[usize]) -> Option<Line> {
        let other = match sort {
            Takes::Power => Takes::Energy,
            Takes::Energy => Takes::Power,
            _ => return None,
        };
        let nearest = scene.topics(a, |keys| any_takes(keys, sort) || any_takes(keys, other));
        let ours = scene.of_station() || scene.is_fragment(a);
        let leads = |t: &Topic| {
            let of = |c: &super::lexicon::Cue| matches!(c.sense, super::lexicon::Sense::Topic(keys, _) if keys == t.keys);
            scene.cues.iter().any(|c| of(c) && c.to <= a.from)
        };
        let firm = nearest
            .iter()
            .find(|t| t.firm == Firm::Strong && (t.gap <= 3 || (t.near && t.gap <= 6 && ours && leads(t))));
        let Some(first) = firm.or(nearest.first()) else {
            return self.number_of_energy(scene, a, sort, models);
        };
        // Another word as firm in the clause takes the unit as it was said.
        let own = nearest.iter().any(|t| t.firm == Firm::Strong && t.near && any_takes(t.keys, sort));
        if own || any_takes(first.keys, sort) || !any_takes(first.keys, other) {
            return None;
        }
        let plain =
            Amount { hedge: if a.hedge == Hedge::Plain { Hedge::About } else { a.hedge }, ..a.clone() };
        let fits = |sort: Takes, keys: &[&str]| {
            let all = models.iter().flat_map(|&m| &self.book.marks[m]);
            let of = all.filter(|m| m.takes == sort && (keys.is_empty() || keys.contains(&m.key.as_str())));
            of.filter(|m| fit(&plain, m, &[]) == Fit::Agrees)
                .min_by(|p, q| (p.x - a.x).abs().total_cmp(&(q.x - a.x).abs()))
        };
        let strong = first.firm == Firm::Strong && first.near && first.gap <= 4;
        // The unit fits a record of its own sort: the topic was misread, not the unit misspoken.
        if fits(sort, &[])
            .is_some_and(|m| !strong || any_takes(first.keys, Takes::Energy) == (m.takes == Takes::Energy))
        {
            return None;
        }
        // "1,173 kW" for 1,173 Wh: the figure as it was said.
        let figure = Amount { x: a.x / a.factor, step: a.step / a.factor, factor: 1.0, ..plain.clone() };
        let kilo = || {
            let all = models.iter().flat_map(|&m| &self.book.marks[m]);
            let mut of = all.filter(|m| m.takes == other && first.keys.contains(&m.key.as_str()));
            of.find(|m| a.factor != 1.0 && fit(&figure, m, &[]) == Fit::Agrees)
        };
        let meant = fits(other, first.keys).or_else(kilo);
        if meant.is_none() && !strong {
            return None;
        }
        let hint = match sort {
            Takes::Power => "this is an amount of energy: say watt-hours",
            _ => "this is a power: say watts",
        };
        Some(self.line(scene, a, Judgement::WrongUnit, meant, hint.into()))
    }

    /// "The Lantern has 1,260 watts inside": with no word for either, the very number of an energy.
    fn number_of_energy(&self, scene: &Scene, a: &Amount, sort: Takes, models: &[usize]) -> Option<Line> {
        let marks = || models.iter().flat_map(|&m| &self.book.marks[m]).filter(|m| m.fact.is_some());
        let own = marks().any(|m| m.takes == Takes::Power && fit(a, m, &[]) == Fit::Agrees);
        // "How much does it hold? 1,076 watts at half load"
        let loaded = scene.conditions(a).contains_key("load");
        let plain = sort == Takes::Power && a.hi.is_none() && (scene.names_near(a) || loaded) && !a.describes;
        let mark = marks().find(|m| m.takes == Takes::Energy && m.x.round() == a.x && a.x >= 100.0)?;
        let hint = "this is an amount of energy: say watt-hours".to_string();
        (plain && !own).then(|| self.line(scene, a, Judgement::WrongUnit, Some(mark), hint))
    }

    /// "Gives out 911 watts in total": whatever else the words speak of, the very number of an energy, to three figures,
    /// and of nothing in its own unit; and the reverse.
    pub fn very_number(&self, scene: &Scene, a: &Amount, sort: Takes, models: &[usize]) -> Option<Line> {
        let (other, hint) = match sort {
            Takes::Power => (Takes::Energy, "this is an amount of energy: say watt-hours"),
            Takes::Energy => (Takes::Power, "this is a power: say watts"),
            _ => return None,
        };
        let marks = || models.iter().flat_map(|&m| &self.book.marks[m]).filter(|k| k.fact.is_some());
        let own = marks().any(|k| k.takes == sort && fit(a, k, &[]) != Fit::Differs);
        let plain = a.hi.is_none() && a.unit == Unit::Said && a.x >= 100.0 * a.step * (1.0 - 1e-9);
        let to_the_last = |k: &&Mark| k.takes == other && (k.x - a.x).abs() <= 0.5 * a.step * (1.0 + 1e-9);
        let mark = marks().find(to_the_last).filter(|_| plain && !own)?;
        Some(self.line(scene, a, Judgement::WrongUnit, Some(mark), hint.into()))
    }

    /// "The Hob needs 13.6 seconds": no word says what is meant, but it is the very number of a record in another unit.
    pub fn slip_alone(&self, scene: &Scene, a: &Amount, meant: &Meant) -> Option<Line> {
        let told = meant.guess && !meant.unknown && scene.names_near(a) && a.unit == Unit::Said;
        let (mark, how) = self.misspoken(scene, a, meant).filter(|_| told && a.x > 2.0 * a.step)?;
        let plain = matches!(mark.whose, Whose::Bench) && mark.key == "switchover";
        let hint = format!("{how}: {} is meant", mark.text());
        plain.then(|| self.line(scene, a, Judgement::WrongUnit, Some(&mark), hint))
    }

    /// The record that the number said would fit in another unit of the same sort: hours for minutes, pounds for
    /// kilograms, cents for dollars, a thousandfold; and the slip in words.
    pub fn misspoken(&self, scene: &Scene, a: &Amount, meant: &Meant) -> Option<(Mark, &'static str)> {
        self.misspoken_for(scene, a, meant, &meant.keys)
    }

    /// The same for these results.
    pub fn misspoken_for(
        &self,
        scene: &Scene,
        a: &Amount,
        meant: &Meant,
        keys: &[&str],
    ) -> Option<(Mark, &'static str)> {
        if a.hi.is_some() || a.unit != Unit::Said {
            return None;
        }
        let money = matches!(meant.sort, Takes::Money | Takes::MoneyPerWh);
        let (conditions, mode) = (scene.conditions(a), scene.mode(a));
        let load = loads(scene, a, self.book, &meant.models);
        let same_load = |k: &&Mark| k.key != "runtime" || load.is_some_and(|w| at_load(k, w));
        let all = || {
            let marks = meant.models.iter().flat_map(|&m| &self.book.marks[m]);
            let marks = marks.filter(|k| keys.contains(&k.key.as_str()) && k.takes == meant.sort);
            let marks = marks.filter(same_load);
            marks.filter(|k| under(&k.condition, &conditions, &k.key) && !matches!(k.whose, Whose::Former(_)))
        };
        // A side says nothing of how many thousands are meant.
        let side = matches!(a.hedge, Hedge::Over | Hedge::Under | Hedge::WellOver | Hedge::WellUnder);
        let hedge = if a.bounded || side { Hedge::Plain } else { a.hedge };
        for (factor, how) in slips(meant.sort, a.factor) {
            // The very number in another unit; a factor of the kind of 2.2 needs it to the last place said.
            let said = Amount { x: a.x * factor, step: a.step * factor, hedge, bounded: false, ..a.clone() };
            // "One watt-hour" is none of 1,010: a thousandfold shows in two figures at least.
            let coarse = (factor.log10().abs() - 3.0).abs() < 0.1 && a.x < 10.0 * a.step * (1.0 - 1e-9);
            let exact = |k: &&Mark| {
                if coarse && (said.x / k.x - 1.0).abs() > 0.005 {
                    return false;
                }
                let place = (said.x - k.x).abs() <= said.step / 2.0 * (1.0 + 1e-9);
                fit(&said, k, &[]) == Fit::Agrees && (place || (*factor - 1.0).abs() > 10.0)
            };
            let claim = |k: &&Mark| {
                !matches!(mode, Mode::Claim | Mode::Hinted) || !matches!(k.whose, Whose::Bench | Whose::Test)
            };
            if let Some(mark) = all().filter(claim).find(exact) {
                return Some((mark.clone(), how));
            }
        }
        let other = match &a.what {
            What::Money(c) | What::MoneyPerWh(c) if money => *c,
            _ => return None,
        };
        let same = |k: &&Mark| !k.currency.is_empty() && k.currency != other && (k.x - a.x).abs() < 1e-9;
        all().find(same).map(|mark| (mark.clone(), "another currency"))
    }
}

/// Factors from the unit said to others that are taken for it, by the sort of amount and the factor of the unit said.
fn slips(sort: Takes, factor: f64) -> &'static [(f64, &'static str)] {
    const THOUSAND: &[(f64, &str)] = &[(1e3, "a thousand times off"), (1e-3, "a thousand times off")];
    // International pound, 1959: 0.45359237 kg.
    const POUNDS: &[(f64, &str)] = &[(1.0 / 0.453_592_37, "kilograms, not pounds")];
    const KILOS: &[(f64, &str)] = &[(0.453_592_37, "pounds, not kilograms"), (1e-3, "grams, not kilograms")];
    const GRAMS: &[(f64, &str)] = &[(1e3, "kilograms, not grams")];
    const HOURS: &[(f64, &str)] = &[(1.0 / 60.0, "minutes, not hours")];
    const MINUTES: &[(f64, &str)] = &[
        (60.0, "hours, not minutes"),
        (1.0 / 60.0, "seconds, not minutes"),
        (1.0 / 60_000.0, "milliseconds, not minutes"),
    ];
    const SECONDS: &[(f64, &str)] = &[(60.0, "minutes, not seconds"), (1e-3, "milliseconds, not seconds")];
    const MILLI: &[(f64, &str)] = &[(1e3, "seconds, not milliseconds")];
    const CENTS: &[(f64, &str)] = &[
        (100.0, "dollars, not cents"),
        (0.01, "cents, not dollars"),
        (1e3, "a watt-hour, not a kilowatt-hour"),
        (1e-3, "a kilowatt-hour, not a watt-hour"),
    ];
    match sort {
        Takes::Energy | Takes::Power => THOUSAND,
        Takes::Mass if (factor - 0.453_592_37).abs() < 1e-6 => POUNDS,
        Takes::Mass if factor > 0.9 => KILOS,
        Takes::Mass if factor < 0.01 => GRAMS,
        Takes::Time if (0.9..1.1).contains(&factor) => HOURS,
        Takes::Time if factor < 1e-5 => MILLI,
        Takes::Time if factor < 1e-3 => SECONDS,
        Takes::Time if factor < 0.9 => MINUTES,
        Takes::MoneyPerWh => CENTS,
        _ => &[],
    }
}
