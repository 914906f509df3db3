//! Dimensions and units of measure: one closed list, each dimension with the unit its numbers are kept in.
//!
//! Numbers are kept in the bench's own units (W, Wh, h, V, A, kg, °C, …), so that power × time is energy
//! without a factor and a stored number means what its label says.
use serde::{Deserialize, Serialize};
use std::marker::PhantomData;

/// A dimension known at run time (forms, tables, storage).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dim {
    /// Kept in W.
    Power,
    /// Kept in Wh.
    Energy,
    /// Kept in h.
    Time,
    /// Kept in V.
    Voltage,
    /// Kept in A.
    Current,
    /// Kept in Ah.
    Charge,
    /// Kept in kg.
    Mass,
    /// Kept in °C.
    Temperature,
    /// Kept as a plain number: 0.5 is 50 %.
    Ratio,
    /// A-weighted sound pressure level, kept in dB(A).
    Level,
    /// Kept in Hz.
    Frequency,
    /// Kept in cm.
    Length,
    /// Power of sunlight on a surface, kept in W/m².
    Irradiance,
    /// A plain count.
    Count,
}

impl Dim {
    /// What a person calls it, with its article: "a power".
    pub fn words(self) -> &'static str {
        match self {
            Dim::Power => "a power",
            Dim::Energy => "an energy",
            Dim::Time => "a time",
            Dim::Voltage => "a voltage",
            Dim::Current => "a current",
            Dim::Charge => "an electric charge",
            Dim::Mass => "a mass",
            Dim::Temperature => "a temperature",
            Dim::Ratio => "a share",
            Dim::Level => "a sound level",
            Dim::Frequency => "a frequency",
            Dim::Length => "a length",
            Dim::Irradiance => "an irradiance",
            Dim::Count => "a count",
        }
    }
    /// Units of this dimension, the one numbers are kept in first.
    pub fn units(self) -> impl Iterator<Item = &'static Unit> {
        UNITS.iter().filter(move |u| u.dim == self)
    }
    /// The unit numbers of this dimension are kept in.
    pub fn kept_in(self) -> &'static Unit {
        let first = UNITS.iter().position(|u| u.dim == self).unwrap_or(0);
        &UNITS[first]
    }
}

/// A dimension known at compile time (analysis).
pub trait Dimension: Copy + Send + Sync + 'static {
    /// The same at run time.
    const DIM: Dim;
}

macro_rules! dimensions { ($($name:ident),*) => { $(
    #[doc = concat!("Marker of `Dim::", stringify!($name), "`.")]
    #[derive(Clone, Copy, Debug, PartialEq)]
    pub struct $name;
    impl Dimension for $name { const DIM: Dim = Dim::$name; }
)* } }
dimensions!(
    Power,
    Energy,
    Time,
    Voltage,
    Current,
    Charge,
    Mass,
    Temperature,
    Ratio,
    Level,
    Frequency,
    Length,
    Irradiance,
    Count
);

/// Keeps a dimension marker out of layouts and auto traits.
pub type Phantom<D> = PhantomData<fn() -> D>;

/// A unit of measure that a person reads or types: kept = typed · factor + offset.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// As shown: "Wh".
    pub symbol: &'static str,
    /// Its code in the Unified Code for Units of Measure (UCUM).
    pub ucum: &'static str,
    /// What it measures.
    pub dim: Dim,
    /// Multiplies a typed number.
    pub factor: f64,
    /// Added after multiplying; only °F has one.
    pub offset: f64,
    /// Other spellings, compared without regard to case when longer than two letters.
    pub also: &'static [&'static str],
}

const fn unit(
    symbol: &'static str,
    ucum: &'static str,
    dim: Dim,
    factor: f64,
    also: &'static [&'static str],
) -> Unit {
    Unit { symbol, ucum, dim, factor, offset: 0.0, also }
}

/// Every unit the program reads or shows. Factors: the pound is 0.45359237 kg exactly (international
/// yard and pound agreement, 1959); the inch 2.54 cm; °C = (°F − 32)·5/9. UCUM codes: ucum.org, case sensitive.
pub static UNITS: &[Unit] = &[
    unit("W", "W", Dim::Power, 1.0, &["watt", "watts"]),
    unit("kW", "kW", Dim::Power, 1e3, &["kilowatt", "kilowatts"]),
    unit("mW", "mW", Dim::Power, 1e-3, &["milliwatt", "milliwatts"]),
    unit("Wh", "W.h", Dim::Energy, 1.0, &["wh", "W·h", "watt-hour", "watt-hours", "watt hours", "watthours"]),
    unit(
        "kWh",
        "kW.h",
        Dim::Energy,
        1e3,
        &["kwh", "kW·h", "kilowatt-hour", "kilowatt-hours", "kilowatt hours"],
    ),
    unit("MJ", "MJ", Dim::Energy, 1e6 / 3600.0, &["megajoule"]),
    unit("kJ", "kJ", Dim::Energy, 1e3 / 3600.0, &["kilojoule"]),
    unit("h", "h", Dim::Time, 1.0, &["hr", "hrs", "hour", "hours"]),
    unit("min", "min", Dim::Time, 1.0 / 60.0, &["mins", "minute", "minutes"]),
    unit("s", "s", Dim::Time, 1.0 / 3600.0, &["sec", "secs", "second", "seconds"]),
    unit("ms", "ms", Dim::Time, 1e-3 / 3600.0, &["msec", "millisecond", "milliseconds"]),
    unit("d", "d", Dim::Time, 24.0, &["day", "days"]),
    unit("V", "V", Dim::Voltage, 1.0, &["volt", "volts"]),
    unit("mV", "mV", Dim::Voltage, 1e-3, &["millivolt", "millivolts"]),
    unit("A", "A", Dim::Current, 1.0, &["amp", "amps", "ampere", "amperes"]),
    unit("mA", "mA", Dim::Current, 1e-3, &["milliamp", "milliamps"]),
    unit("Ah", "A.h", Dim::Charge, 1.0, &["amp-hour", "amp-hours", "amp hours"]),
    unit("mAh", "mA.h", Dim::Charge, 1e-3, &["milliamp-hours"]),
    unit("kg", "kg", Dim::Mass, 1.0, &["kilogram", "kilograms", "kilo", "kilos"]),
    unit("g", "g", Dim::Mass, 1e-3, &["gram", "grams"]),
    unit("lb", "[lb_av]", Dim::Mass, 0.453_592_37, &["lbs", "pound", "pounds"]),
    unit("oz", "[oz_av]", Dim::Mass, 0.453_592_37 / 16.0, &["ounce", "ounces"]),
    unit("°C", "Cel", Dim::Temperature, 1.0, &["C", "degC", "celsius", "º C", "ºC", "° C"]),
    Unit {
        symbol: "°F",
        ucum: "[degF]",
        dim: Dim::Temperature,
        factor: 5.0 / 9.0,
        offset: -160.0 / 9.0,
        also: &["F", "degF", "fahrenheit", "ºF", "° F"],
    },
    unit("", "1", Dim::Ratio, 1.0, &[]),
    unit("%", "%", Dim::Ratio, 0.01, &["percent", "per cent", "pct"]),
    unit("dB(A)", "dB[SPL]", Dim::Level, 1.0, &["dB", "dBA", "dB A", "decibel", "decibels"]),
    unit("Hz", "Hz", Dim::Frequency, 1.0, &["hertz"]),
    unit("cm", "cm", Dim::Length, 1.0, &[]),
    unit("mm", "mm", Dim::Length, 0.1, &[]),
    unit("m", "m", Dim::Length, 100.0, &["metre", "metres", "meter", "meters"]),
    unit("in", "[in_i]", Dim::Length, 2.54, &["inch", "inches", "\""]),
    unit("W/m²", "W/m2", Dim::Irradiance, 1.0, &["W/m2", "W/m^2", "W/sqm"]),
    unit("kW/m²", "kW/m2", Dim::Irradiance, 1e3, &["kW/m2", "kW/m^2"]),
    unit("", "1", Dim::Count, 1.0, &["times", "cycles"]),
];

impl Unit {
    /// The unit a person means by this spelling, of any dimension. `None` when no unit is spelt so.
    pub fn spelt(text: &str) -> Option<&'static Unit> {
        let text = text.trim();
        let exact =
            UNITS.iter().find(|u| !u.symbol.is_empty() && (u.symbol == text || u.also.contains(&text)));
        exact.or_else(|| {
            // "KWH", "Watts", "MIN": case matters only where short spellings differ by it (mW, MJ).
            let lower = text.to_lowercase();
            let eq = |s: &&str| s.to_lowercase() == lower;
            UNITS.iter().find(|u| {
                (u.symbol.len() > 2 && eq(&u.symbol))
                    || u.also.iter().any(|a| a.len() > 2 && eq(a))
                    || (text.len() <= 2
                        && ["w", "wh", "kw", "v", "a", "ah"].contains(&lower.as_str())
                        && eq(&u.symbol))
            })
        })
    }
    /// The unit with this symbol in this dimension.
    pub fn of(symbol: &str, dim: Dim) -> Option<&'static Unit> {
        UNITS.iter().find(|u| u.dim == dim && u.symbol == symbol)
    }
    /// A typed number in the unit numbers are kept in.
    pub fn kept(&self, typed: f64) -> f64 {
        typed * self.factor + self.offset
    }
    /// A kept number in this unit.
    pub fn shown(&self, kept: f64) -> f64 {
        (kept - self.offset) / self.factor
    }
    /// A kept difference (an uncertainty, a step) in this unit: no offset.
    pub fn shown_step(&self, kept: f64) -> f64 {
        kept / self.factor
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn spellings_meet_their_unit() {
        for (text, symbol) in
            [("kwh", "kWh"), ("KWH", "kWh"), ("Watts", "W"), ("wh", "Wh"), ("mW", "mW"), ("MIN", "min")]
        {
            assert_eq!(Unit::spelt(text).map(|u| u.symbol), Some(symbol), "{text}");
        }
        assert!(Unit::spelt("furlong").is_none());
        assert!(Unit::spelt("").is_none());
    }
    #[test]
    fn fahrenheit_has_an_offset_and_its_steps_have_not() {
        let f = Unit::of("°F", Dim::Temperature).unwrap();
        // Fixed points of the scales: 32 °F = 0 °C, 212 °F = 100 °C.
        assert!(f.kept(32.0).abs() < 1e-12);
        assert!((f.kept(212.0) - 100.0).abs() < 1e-12);
        assert!((f.shown_step(1.0) - 1.8).abs() < 1e-12);
    }
    #[test]
    fn each_dimension_is_kept_in_a_unit_of_factor_one() {
        for u in UNITS {
            let kept = u.dim.kept_in();
            assert!(kept.factor == 1.0 && kept.offset == 0.0, "{:?}", u.dim);
        }
    }
}
