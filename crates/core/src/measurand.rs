//! What a kind of test can find out: one result is one claim to judge, one column, one line on a page.
use crate::quantity::{Dim, Dimension, Phantom, Unit};
use std::marker::PhantomData;

/// Which way is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// A bare claim is a minimum.
    More,
    /// A bare claim is a maximum.
    Less,
}

/// One result, declared once.
#[derive(Debug, PartialEq)]
pub struct ResultSpec {
    /// Stored in claims and addresses; never changes.
    pub key: &'static str,
    /// "Usable energy".
    pub title: &'static str,
    /// What it measures.
    pub dim: Dim,
    /// Symbol of the unit it is shown in.
    pub unit: &'static str,
    /// Which way is better.
    pub better: Better,
    /// The formula with its symbols, as printed in the trail.
    pub formula: &'static str,
    /// Varies from run to run, so that the bench's repeatability belongs to it.
    pub varies: bool,
    /// Shown to be held, and more was not asked: a value below the claim says nothing against it.
    pub at_least: bool,
    /// A limit that every trial must keep (switches over within …), judged by counting trials.
    pub counted: bool,
}

impl ResultSpec {
    /// The unit it is shown in.
    pub fn shown_in(&self) -> &'static Unit {
        Unit::of(self.unit, self.dim).unwrap_or(self.dim.kept_in())
    }
}

/// A result with its dimension as a type: a watt cannot be put where a watt-hour belongs.
pub struct Measurand<D> {
    /// The declaration.
    pub spec: ResultSpec,
    d: Phantom<D>,
}

impl<D: Dimension> Measurand<D> {
    /// A result shown in `unit`.
    pub const fn new(key: &'static str, title: &'static str, unit: &'static str, better: Better) -> Self {
        let spec = ResultSpec {
            key,
            title,
            dim: D::DIM,
            unit,
            better,
            formula: "",
            varies: false,
            at_least: false,
            counted: false,
        };
        Measurand { spec, d: PhantomData }
    }
    /// With the formula printed in the trail.
    pub const fn formula(self, formula: &'static str) -> Self {
        Measurand { spec: ResultSpec { formula, ..self.spec }, d: PhantomData }
    }
    /// The bench's repeatability belongs to it.
    pub const fn varies(self) -> Self {
        Measurand { spec: ResultSpec { varies: true, ..self.spec }, d: PhantomData }
    }
    /// The value was held; how much more it would hold was not asked.
    pub const fn at_least(self) -> Self {
        Measurand { spec: ResultSpec { at_least: true, ..self.spec }, d: PhantomData }
    }
    /// A claim on it must be kept by every trial.
    pub const fn counted(self) -> Self {
        Measurand { spec: ResultSpec { counted: true, ..self.spec }, d: PhantomData }
    }
}
