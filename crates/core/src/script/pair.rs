//! Two models spoken of together, sentence after sentence, and the numbers of the sentence before: "Pair four is the Relay
//! against the Lantern. They give 1,303 and 1,085 watt-hours. That's a gap of 218."
use super::amount::Amount;
use super::bare::Unit;
use super::compare::follows;
use super::judge::Desk;
use super::scene::Scene;
use super::unit::What;
use super::{Judgement, Line};
use crate::quantity::Dim;

/// What a sentence leaves behind for the next.
#[derive(Default)]
pub struct Before {
    /// The two models spoken of together.
    pub pair: Option<[usize; 2]>,
    /// The script has said of when its prices are: "All prices are those of June 5."
    pub prices_dated: bool,
    /// The times of day of two sentences one after another: "Plugged in at 10:38. Full at 13:27."
    pub span: Option<(super::clock::Spoken, super::clock::Spoken)>,
    /// The numbers of the sentence before, with the place they were said to.
    said: Vec<(What, f64, f64)>,
}

impl Before {
    /// Takes note of a sentence.
    pub fn note(&mut self, scene: &Scene) {
        let named = scene.mentions.iter().filter(|m| !m.maker).flat_map(|m| m.models.iter().copied());
        let mut named: Vec<usize> = named.collect();
        named.sort_unstable();
        named.dedup();
        match (named.as_slice(), self.pair) {
            ([a, b], _) => self.pair = Some([*a, *b]),
            (some, Some(pair)) if some.iter().all(|m| pair.contains(m)) => {}
            _ => self.pair = None,
        }
        self.prices_dated |= scene.says(&["prices"]) && scene.names_month();
        let measured =
            |a: &&Amount| !a.denied && (matches!(a.what, What::Dim(_)) || matches!(a.what, What::Money(_)));
        let number = |a: &Amount| (a.what.clone(), a.x, a.step);
        self.said = scene.amounts.iter().filter(measured).map(number).collect();
    }

    /// The one number of this sort that was said.
    pub fn lone(&self, what: &What) -> Option<f64> {
        let mut all = self.said.iter().filter(|s| s.0 == *what);
        let (x, None) = (all.next()?, all.next()) else { return None };
        Some(x.1)
    }

    /// Was this number said, of such a sort?
    pub fn says(&self, x: f64, sort: impl Fn(&What) -> bool) -> bool {
        self.said.iter().any(|s| sort(&s.0) && (s.1 - x).abs() <= 1e-9 * x.abs())
    }

    /// The other of the two.
    pub fn partner(&self, model: usize) -> Option<usize> {
        let [a, b] = self.pair?;
        match model {
            m if m == a => Some(b),
            m if m == b => Some(a),
            _ => None,
        }
    }
}

impl Desk<'_> {
    /// "They give 1,303 and 1,085 watt-hours": either of the two models spoken of together.
    pub fn either(&self, scene: &Scene, at: usize) -> Option<Vec<usize>> {
        let pair = self.past.pair.filter(|_| scene.mentions.is_empty())?;
        let a = scene.amounts.iter().find(|a| a.at == at)?;
        let alike = scene.amounts.iter().filter(|b| b.what == a.what && !b.denied).count();
        let both = scene.says(&["they", "both", "each", "respectively", "two", "playing", "them", "versus"]);
        let it = scene.says(&["it", "its", "it's", "she", "itself"]);
        (alike == 2 && !it && (both || scene.says(&["against", "to", "and"]))).then(|| pair.to_vec())
    }

    /// The two numbers of the sentence before that a difference is of.
    fn ends_before(&self, a: &Amount) -> Option<(f64, f64, f64)> {
        let share = a.what == What::Dim(Dim::Ratio);
        let fits = |what: &What| if share { *what != a.what } else { *what == a.what };
        let all: Vec<&(What, f64, f64)> = self.past.said.iter().filter(|s| fits(&s.0)).collect();
        let [x, y] = all[..] else { return None };
        (x.0 == y.0 && x.1 != y.1).then(|| (x.1.max(y.1), x.1.min(y.1), x.2.min(y.2)))
    }

    /// A difference of the two numbers said just before, where this sentence has none to take it from.
    pub fn difference_before(&self, scene: &Scene, a: &Amount) -> Option<Line> {
        let share = a.what == What::Dim(Dim::Ratio);
        let other =
            |b: &Amount| b.at != a.at && (b.what == a.what || share) && b.what != What::Dim(Dim::Ratio);
        if a.unit != Unit::Said || a.hi.is_some() {
            return None;
        }
        let (large, small, step) = self.ends_before(a).filter(|_| !scene.amounts.iter().any(other))?;
        let ways =
            if share { vec![(large - small) / small, (large - small) / large] } else { vec![large - small] };
        let doubt = if share { 0.005 } else { 0.5 * step };
        let right = ways.iter().any(|v| follows(a, *v, doubt));
        let judgement = if right { Judgement::Agrees } else { Judgement::Differs };
        let hint =
            if right { String::new() } else { "the two numbers before it give another difference".into() };
        let record = Some(format!("{} and {}", large / a.factor, small / a.factor)).filter(|_| !share);
        Some(Line { record, ..self.line(scene, a, judgement, None, hint) })
    }
}
