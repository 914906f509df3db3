//! What is said about a channel's scale and wave.
use super::mains::{Because, Factor};
use crate::finding::Finding;
use crate::shown::{Style, four_digits};

fn volts(v: f64) -> String {
    format!("{} V", four_digits(v, Style::PLAIN))
}

/// The finding that goes with a factor; `rms` is that of the wave as written.
pub(super) fn of_factor(place: &str, factor: &Factor, rms: f64, stated: Option<f64>) -> Option<Finding> {
    let scaled = rms * factor.factor;
    let times = |f: f64| format!("×{}", four_digits(f, Style::PLAIN));
    let stated = stated.unwrap_or(1.0);
    Some(match factor.because {
        Because::NoneNeeded | Because::NoWave => return None,
        Because::Said if super::mains::mains_of(scaled).is_some() => return None,
        Because::Said => Finding::doubt(
            "voltage-unusual",
            place,
            format!(
                "{} with the factor given, {}, is no usual mains voltage",
                volts(scaled),
                times(factor.factor)
            ),
            "check the probe's factor; if it is right, this is a finding about the station",
        ),
        Because::StatedAndApplied => Finding::note(
            "probe-factor-applied",
            place,
            format!("the file states a probe of {}; with it the wave has {}", times(stated), volts(scaled)),
            "say ×1 if the samples carry the factor already",
        ),
        Because::StatedAlreadyIn => Finding::note(
            "probe-factor-already-in",
            place,
            format!(
                "the file states a probe of {}, and the samples carry it: {}",
                times(stated),
                volts(scaled)
            ),
            "say the factor if the samples still have to be multiplied",
        ),
        Because::Missing(p) => Finding::doubt(
            "probe-factor",
            place,
            format!(
                "{} is no mains voltage; with a probe of {} it would be {}",
                volts(rms),
                times(p),
                volts(rms * p)
            ),
            "say the probe's factor; times, distortion and shape do not depend on it",
        ),
        Because::Unusual => Finding::doubt(
            "voltage-unusual",
            place,
            format!("{} is no usual mains voltage, and no usual probe factor makes it one", volts(scaled)),
            "check probe and range; if they are right, this is a finding about the station",
        ),
    })
}
