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
use super::scene::Scene;
use super::whose::Mode;
use super::{Judgement, Line};
use crate::stamp::is_month;

impl Desk<'_> {
    pub fn verdict(&self, scene: &Scene, a: &Amount, meant: &Meant, found: Option<(Fit, Mark)>) -> Line {
        let Meant { sort, keys, models, unknown, .. } = meant;
        let (sort, unknown) = (*sort, *unknown);
        if let Some(line) = found.as_ref().and_then(|(_, m)| self.far_within(scene, a, meant, m)) {
            return line;
        }
        if let Some((Fit::Agrees, mark)) = &found {
            if let Some(why) = self.old_price(scene, mark) {
                return self.line(scene, a, Judgement::Agrees, Some(mark), why);
            }
            return self.line(scene, a, Judgement::Agrees, Some(mark), String::new());
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

    /// What to add to a price that is still the last one known, but older than the settings allow.
    pub fn old_price(&self, scene: &Scene, mark: &Mark) -> Option<String> {
        let row = &self.book.report.models[mark.model].price;
        let price = row.price.as_ref().filter(|_| row.old && mark.takes == Takes::Money)?;
        let dated = scene.tokens.iter().any(|t| is_month(&t.text)) || scene.says(&["was", "were", "ago"]);
        (!dated).then(|| format!("this price is of {}; say the date, or look it up again", price.on))
    }
}

/// What a maker says of a current tells nothing of what was drawn.
fn never_measured(mark: &Mark) -> String {
    format!("the bench has measured none; the maker's figure is {}", mark.text())
}
