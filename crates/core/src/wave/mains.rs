//! What voltages mains have, and which probe factor makes a reading one of them.
use serde::Serialize;

/// Mains voltages in V with what is believed of each (common practice); the last is the supply of Japan.
pub const MAINS: [(f64, f64, f64); 3] = [(120.0, 110.0, 125.0), (230.0, 220.0, 245.0), (100.0, 95.0, 107.0)];

/// Factors that probes have.
pub const PROBES: [f64; 7] = [1.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0];

/// The mains a voltage belongs to.
pub fn mains_of(volts: f64) -> Option<f64> {
    MAINS.iter().find(|(_, low, high)| (*low..=*high).contains(&volts)).map(|m| m.0)
}

/// Could this be an outlet's voltage, a weak or a split one included? Half of the lowest to half as much again as the
/// highest; probe factors differ by more than that from 1.
fn outlet(volts: f64) -> bool {
    (50.0..=345.0).contains(&volts)
}

/// How a channel's voltage is to be scaled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// Multiply the samples by this.
    pub factor: f64,
    /// Why, and whether to doubt it.
    pub because: Because,
}

/// Why a factor was taken.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Because {
    /// A person said so.
    Said,
    /// The file states one, and the samples need it.
    StatedAndApplied,
    /// The file states one, and the samples have it already.
    StatedAlreadyIn,
    /// Nothing is stated and nothing is needed.
    NoneNeeded,
    /// The voltage is no mains voltage, and this factor would make it one.
    Missing(f64),
    /// The voltage is no mains voltage, and no usual factor makes it one.
    Unusual,
    /// The samples make no wave; nothing can be said.
    NoWave,
}

/// Which factor a channel needs. `rms` is that of its wave as written; `None`: there is no wave to go by.
/// `nominal`: the declared voltage, if a person gave one. A factor is never invented: one that is missing is asked for.
pub fn factor(rms: Option<f64>, said: Option<f64>, stated: Option<f64>, nominal: Option<f64>) -> Factor {
    if let Some(factor) = said {
        return Factor { factor, because: Because::Said };
    }
    let Some(rms) = rms else { return Factor { factor: 1.0, because: Because::NoWave } };
    let fits = |factor: f64| {
        let volts = rms * factor;
        nominal.map_or_else(|| mains_of(volts).is_some(), |n| (0.8..=1.2).contains(&(volts / n)))
    };
    let stated = stated.filter(|s| *s > 0.0 && *s != 1.0);
    let (factor, because) = match stated {
        Some(_) if fits(1.0) => (1.0, Because::StatedAlreadyIn),
        Some(s) if fits(s) => (s, Because::StatedAndApplied),
        Some(s) if !outlet(rms) && outlet(rms * s) => (s, Because::StatedAndApplied),
        Some(_) if outlet(rms) => (1.0, Because::StatedAlreadyIn),
        _ if fits(1.0) => (1.0, Because::NoneNeeded),
        _ => match PROBES.iter().find(|p| **p != 1.0 && fits(**p)) {
            Some(p) => (1.0, Because::Missing(*p)),
            None => (1.0, Because::Unusual),
        },
    };
    Factor { factor, because }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors() {
        let of = |rms, said, stated, nominal| {
            let f = factor(Some(rms), said, stated, nominal);
            (f.factor, f.because)
        };
        assert_eq!(of(0.6, None, Some(200.0), None), (200.0, Because::StatedAndApplied));
        assert_eq!(of(120.3, None, Some(200.0), None), (1.0, Because::StatedAlreadyIn));
        // A weak outlet of 104 V that carries its factor already.
        assert_eq!(of(86.0, None, Some(200.0), None), (1.0, Because::StatedAlreadyIn));
        assert_eq!(of(0.6, None, None, None), (1.0, Because::Missing(200.0)));
        assert_eq!(of(11.9, None, None, None), (1.0, Because::Missing(10.0)));
        assert_eq!(of(2.31, None, None, Some(230.0)), (1.0, Because::Missing(100.0)));
        assert_eq!(of(230.4, None, None, None), (1.0, Because::NoneNeeded));
        assert_eq!(of(0.6, Some(10.0), Some(200.0), None), (10.0, Because::Said));
        assert_eq!(of(86.0, None, None, None), (1.0, Because::Unusual));
        assert_eq!(factor(None, None, Some(200.0), None).because, Because::NoWave);
    }
}
