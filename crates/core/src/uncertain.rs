//! A value with its uncertainty, kept as one signed contribution per influence, so that a shared influence
//! (one meter used twice) correlates by itself and the budget falls out for free.
//!
//! Method: JCGM 100:2008 (GUM) 5.1.2 and 5.2.2, first order; effective degrees of freedom G.4.1; interval
//! from the convolved distribution where a rectangular part dominates (JCGM 101:2008 9.2.4).
use crate::quantity::{Current, Dim, Dimension, Energy, Phantom, Power, Ratio, Time, Voltage};
use crate::stats::coverage::{self, Shape};
use crate::stats::tail::welch_satterthwaite;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::marker::PhantomData;
use std::ops::{Add, Div, Mul, Sub};

mod lately;
mod written;

pub use lately::{known, learn, learnt};

/// Whose doubt it is. Equal owners with equal effects are one and the same influence.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Owner {
    /// An instrument under one calibration: shared by all its readings.
    Instrument(String),
    /// One test, or one reading of it: private.
    Test(String),
    /// Taken for the whole bench, e.g. a prior.
    Bench(String),
}

/// What is in doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Effect {
    /// A share of the reading, the same for all readings of the instrument.
    Gain,
    /// A constant added to every reading of the instrument.
    Offset,
    /// The display's or counter's step.
    Step,
    /// Reading the clock.
    Clock,
    /// How full and rested it was at the start.
    StartState,
    /// What differs from run to run.
    Repeatability,
    /// From one specimen to the next.
    Specimen,
    /// The fit of the drain law.
    Fit,
    /// A value taken from experience, not measured here.
    Prior,
    /// How often a load switched inside the time looked at.
    Cycling,
    /// The limit lies anywhere between what held and what did not.
    Between,
    /// The standard uncertainty somebody stated.
    Stated,
    /// Time without readings in a log.
    Gaps,
    /// Where in a capture an interruption begins and ends.
    Edges,
}

impl Effect {
    /// In plain words, to stand after "the" or a name.
    pub fn words(self) -> &'static str {
        match self {
            Effect::Gain => "accuracy of the meter (share of reading)",
            Effect::Offset => "accuracy of the meter (fixed part)",
            Effect::Step => "step of the display",
            Effect::Clock => "reading of the clock",
            Effect::StartState => "doubt about the full start",
            Effect::Repeatability => "difference from run to run",
            Effect::Specimen => "difference from sample to sample",
            Effect::Fit => "fit of the runtime curve",
            Effect::Prior => "value taken from experience",
            Effect::Cycling => "switching of the load",
            Effect::Between => "distance between what held and what did not",
            Effect::Stated => "stated uncertainty",
            Effect::Gaps => "gaps in the log",
            Effect::Edges => "edges of the interruption in the capture",
        }
    }
    /// The cheapest remedy, as an imperative without full stop.
    pub fn remedy(self) -> &'static str {
        match self {
            Effect::Gain => "calibrate the meter against a better one, or use a better one",
            Effect::Offset => "measure a larger amount, or calibrate the meter near zero",
            Effect::Step => "sum three cycles, or use a meter with a finer step",
            Effect::Clock => "read the clock to the second",
            Effect::StartState => "let it rest 30 minutes after the charger stops by itself",
            Effect::Repeatability => "repeat the test",
            Effect::Specimen => "test a second sample",
            Effect::Fit => "add a test near the load in question",
            Effect::Prior => "measure it instead",
            Effect::Cycling => "watch it for longer",
            Effect::Between => "try a step in between",
            Effect::Stated => "ask how it was found",
            Effect::Gaps => "log without gaps, or with a meter that logs its counter too",
            Effect::Edges => "capture with more samples a second",
        }
    }
}

/// One influence: whose, and what.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Influence {
    /// Whose.
    pub owner: Owner,
    /// What.
    pub effect: Effect,
    /// Tells two doubts of one owner apart, e.g. the dimension or the entry. Often empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub of: String,
}

impl Influence {
    /// An influence of an instrument, shared by all its readings.
    pub fn instrument(id: &str, effect: Effect, of: &str) -> Self {
        Influence { owner: Owner::Instrument(id.into()), effect, of: of.into() }
    }
    /// A doubt private to one test (or one entry of it).
    pub fn test(id: &str, effect: Effect, of: &str) -> Self {
        Influence { owner: Owner::Test(id.into()), effect, of: of.into() }
    }
    /// True when other results can share it.
    pub fn shared(&self) -> bool {
        !matches!(self.owner, Owner::Test(_))
    }
}

/// A contribution to a value: sensitivity × standard uncertainty, with its sign.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// In the unit the value is kept in.
    pub signed: f64,
    /// Distribution of the influence.
    pub shape: Shape,
    /// Degrees of freedom behind it; infinite for a stated limit.
    #[serde(
        with = "written::dof",
        default = "written::endless",
        skip_serializing_if = "written::is_endless"
    )]
    pub dof: f64,
}

/// A value with its dimension known at run time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Value {
    /// What it measures.
    pub dim: Dim,
    /// In the unit its dimension is kept in.
    pub x: f64,
    /// One signed contribution per influence.
    #[serde(with = "written::parts", default, skip_serializing_if = "BTreeMap::is_empty")]
    pub parts: BTreeMap<Influence, Part>,
}

impl Value {
    /// A number without uncertainty.
    pub fn exact(dim: Dim, x: f64) -> Value {
        Value { dim, x, parts: BTreeMap::new() }
    }
    /// Adds a contribution of standard uncertainty `u` (signed); equal influences add up.
    pub fn with(mut self, influence: Influence, signed: f64, shape: Shape, dof: f64) -> Value {
        add_part(&mut self.parts, influence, Part { signed, shape, dof }, 1.0);
        self
    }
    /// True when some influence is known; otherwise the uncertainty is unknown, not zero.
    pub fn has_u(&self) -> bool {
        self.parts.values().any(|p| p.signed != 0.0)
    }
    /// Combined standard uncertainty (k = 1).
    pub fn u(&self) -> f64 {
        self.parts.values().map(|p| p.signed * p.signed).sum::<f64>().sqrt()
    }
    /// Effective degrees of freedom (GUM G.4.1); infinite when all parts are stated limits.
    pub fn dof(&self) -> f64 {
        let counts = |p: &&Part| p.signed != 0.0 && p.signed.is_finite();
        let parts = self.parts.values().filter(counts).map(|p| (p.signed.abs(), p.dof));
        welch_satterthwaite(&parts.collect::<Vec<_>>())
    }
    /// What its distribution around `x` is the sum of.
    fn summands(&self) -> Vec<coverage::Part> {
        let part = |p: &Part| coverage::Part { u: p.signed.abs(), shape: p.shape, dof: p.dof };
        self.parts.values().map(part).collect()
    }
    /// Half-width of the interval that holds the value with 95 %.
    pub fn half95(&self) -> f64 {
        lately::half_width_95(&self.summands())
    }
    /// Probability that the true value is at or below `limit`, given this measurement and no other knowledge
    /// (JCGM 106:2012 section 7).
    pub fn p_below(&self, limit: f64) -> f64 {
        if !self.has_u() {
            return if self.x <= limit { 1.0 } else { 0.0 };
        }
        lately::below(&self.summands(), limit - self.x)
    }
    /// With its dimension as a type; `None` when it measures something else.
    pub fn typed<D: Dimension>(self) -> Option<Uncertain<D>> {
        (self.dim == D::DIM).then_some(Uncertain { x: self.x, parts: self.parts, d: PhantomData })
    }
    /// The same value times a plain number.
    pub fn scaled(&self, k: f64) -> Value {
        let parts =
            self.parts.iter().map(|(i, p)| (i.clone(), Part { signed: p.signed * k, ..*p })).collect();
        Value { dim: self.dim, x: self.x * k, parts }
    }
    /// y = f(x₁, x₂, …) by the law of propagation: `y` the value, and the partial derivative beside each input
    /// (GUM 5.1.2, 5.2.2). Correlation comes from the influences the inputs share.
    pub fn of(dim: Dim, y: f64, slopes: &[(&Value, f64)]) -> Value {
        let mut parts = BTreeMap::new();
        for (input, slope) in slopes {
            for (influence, part) in &input.parts {
                add_part(&mut parts, influence.clone(), *part, *slope);
            }
        }
        Value { dim, x: y, parts }
    }
    /// Covariance with another value: what their shared influences make of it (GUM F.1.2.3).
    pub fn covariance(&self, other: &Value) -> f64 {
        self.parts.iter().filter_map(|(i, p)| other.parts.get(i).map(|q| p.signed * q.signed)).sum()
    }
    /// `self − other`, shared influences cancelling. Both must have one dimension; the caller sees to it.
    pub fn minus(&self, other: &Value) -> Value {
        let mut parts = self.parts.clone();
        for (i, p) in &other.parts {
            add_part(&mut parts, i.clone(), *p, -1.0);
        }
        Value { dim: self.dim, x: self.x - other.x, parts }
    }
}

/// A value of dimension `D`.
#[derive(Clone, Debug)]
pub struct Uncertain<D> {
    x: f64,
    parts: BTreeMap<Influence, Part>,
    d: Phantom<D>,
}

impl<D: Dimension> Uncertain<D> {
    /// A number without uncertainty.
    pub fn exact(x: f64) -> Self {
        Uncertain { x, parts: BTreeMap::new(), d: PhantomData }
    }
    /// Adds a contribution of signed standard uncertainty; equal influences add up.
    pub fn with(self, influence: Influence, signed: f64, shape: Shape, dof: f64) -> Self {
        let value = self.value().with(influence, signed, shape, dof);
        Uncertain { x: value.x, parts: value.parts, d: PhantomData }
    }
    /// The number, in the unit its dimension is kept in.
    pub fn x(&self) -> f64 {
        self.x
    }
    /// With its dimension at run time.
    pub fn value(self) -> Value {
        Value { dim: D::DIM, x: self.x, parts: self.parts }
    }
    /// Times a plain number.
    pub fn scaled(&self, k: f64) -> Self {
        let parts =
            self.parts.iter().map(|(i, p)| (i.clone(), Part { signed: p.signed * k, ..*p })).collect();
        Uncertain { x: self.x * k, parts, d: PhantomData }
    }
}

fn add_part(parts: &mut BTreeMap<Influence, Part>, influence: Influence, part: Part, k: f64) {
    parts
        .entry(influence)
        .and_modify(|p| p.signed += k * part.signed)
        .or_insert(Part { signed: k * part.signed, ..part });
}

/// y = f(a, b): contributions add per influence, weighted by the partial derivatives.
fn combine<A, B, D>(a: Uncertain<A>, b: Uncertain<B>, y: f64, da: f64, db: f64) -> Uncertain<D> {
    let mut parts = BTreeMap::new();
    for (k, side) in [(da, a.parts), (db, b.parts)] {
        for (influence, part) in side {
            add_part(&mut parts, influence, part, k);
        }
    }
    Uncertain { x: y, parts, d: PhantomData }
}

impl<D: Dimension> Add for Uncertain<D> {
    type Output = Self;
    fn add(self, b: Self) -> Self {
        let y = self.x + b.x;
        combine(self, b, y, 1.0, 1.0)
    }
}

impl<D: Dimension> Sub for Uncertain<D> {
    type Output = Self;
    fn sub(self, b: Self) -> Self {
        let y = self.x - b.x;
        combine(self, b, y, 1.0, -1.0)
    }
}

impl<D: Dimension> Div for Uncertain<D> {
    type Output = Uncertain<Ratio>;
    fn div(self, b: Self) -> Uncertain<Ratio> {
        let (y, bx) = (self.x / b.x, b.x);
        combine(self, b, y, 1.0 / bx, -y / bx)
    }
}

macro_rules! products { ($($a:ident * $b:ident = $c:ident;)*) => { $(
    impl Mul<Uncertain<$b>> for Uncertain<$a> {
        type Output = Uncertain<$c>;
        fn mul(self, b: Uncertain<$b>) -> Uncertain<$c> {
            let (ax, bx) = (self.x, b.x);
            combine(self, b, ax * bx, bx, ax)
        }
    }
    impl Div<Uncertain<$b>> for Uncertain<$c> {
        type Output = Uncertain<$a>;
        fn div(self, b: Uncertain<$b>) -> Uncertain<$a> {
            let (y, bx) = (self.x / b.x, b.x);
            combine(self, b, y, 1.0 / bx, -y / bx)
        }
    }
)* } }
products! {
    Power * Time = Energy;
    Voltage * Current = Power;
}

#[cfg(test)]
mod tests {
    use super::*;
    fn gain(u: f64) -> (Influence, f64) {
        (Influence::instrument("m1", Effect::Gain, ""), u)
    }
    fn energy(x: f64, parts: &[(Influence, f64)]) -> Uncertain<Energy> {
        parts
            .iter()
            .fold(Uncertain::exact(x), |e, (i, u)| e.with(i.clone(), *u, Shape::Normal, f64::INFINITY))
    }
    #[test]
    fn one_meter_used_twice_cancels_in_a_ratio() {
        let ratio = energy(100.0, &[gain(2.0)]) / energy(200.0, &[gain(4.0)]);
        assert!(ratio.value().u() < 1e-12);
    }
    #[test]
    fn ten_resistors_calibrated_against_one_standard_add_linearly() {
        // JCGM 100:2008 5.2.2 EXAMPLE: ten 1000 Ω resistors, u = 0.1 Ω each, fully correlated: u = 1 Ω (not 0.32).
        let sum = (0..10).map(|_| energy(1000.0, &[gain(0.1)])).reduce(|a, b| a + b).unwrap();
        assert!((sum.clone().value().u() - 1.0).abs() < 1e-9);
        assert_eq!(sum.x(), 10_000.0);
    }
    #[test]
    fn two_stations_on_one_meter() {
        // 870 and 850 Wh, u 6.5 Wh each of which 5 Wh is the shared meter: u(difference) = √2·√(6.5² − 5²) = 5.874.
        let private = (6.5f64.powi(2) - 25.0).sqrt();
        let of = |x, t: &str| {
            energy(x, &[gain(5.0), (Influence::test(t, Effect::Repeatability, ""), private)]).value()
        };
        let d = of(870.0, "a").minus(&of(850.0, "b"));
        assert!((d.u() - 5.874).abs() < 5e-4);
        assert!((1.0 - d.p_below(0.0) - 0.99967).abs() < 5e-6);
    }
    #[test]
    fn without_an_influence_the_uncertainty_is_unknown() {
        assert!(!Value::exact(Dim::Power, 5.0).has_u());
    }
}
