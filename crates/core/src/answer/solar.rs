//! Panels in a question: the power they would bring, minute by minute from the start of a day.
//!
//! A day here begins at six in the evening by the sun: the devices come first and the sun last, which is the cautious
//! order for a store that begins full.
use super::demand::Demand;
use super::store::Sunlight;
use crate::finding::Finding;
use crate::sun::{self, DAY_MINUTES, Panel, Site};
use serde::{Deserialize, Serialize};

/// Panels that charge the station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solar {
    /// Power on the label of all panels together, W, above 0.
    pub panel_w: f64,
    /// The sun they see.
    #[serde(default)]
    pub sky: Sky,
    /// How they stand; only where the sky is computed.
    #[serde(default)]
    pub panel: Panel,
    /// Days without any sun at the beginning.
    #[serde(default)]
    pub dark_days: u32,
    /// Share of that sun that comes through, 0 to 1: 1 is clear.
    #[serde(default = "clear")]
    pub share: f64,
}

fn clear() -> f64 {
    1.0
}

impl Solar {
    /// Panels of so many watts under the usual sun, none of it dark.
    pub fn panels(panel_w: f64) -> Solar {
        Solar { panel_w, sky: Sky::default(), panel: Panel::default(), dark_days: 0, share: 1.0 }
    }
}

/// Which sun.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sky {
    /// Hours of full sun a day on the panel, 0 to 24; what a panel gives of its label is taken as 75 %.
    SunHours(f64),
    /// A clear sky over a place on a day, ISO 8601.
    Clear {
        /// Where.
        site: Site,
        /// When.
        on: String,
    },
    /// Irradiance on the panel over one day from midnight, W/m², at equal steps; what a panel gives of its label is
    /// taken as 75 %.
    Given(Vec<f64>),
}

impl Default for Sky {
    /// Four hours of full sun (common practice).
    fn default() -> Self {
        Sky::SunHours(USUAL_SUN_HOURS)
    }
}

/// Hours of full sun a day where nothing is said.
const USUAL_SUN_HOURS: f64 = 4.0;
/// What a panel gives of its label over a day; with the share the station keeps 0.675, inside the 0.65–0.75 that is
/// common practice from label to outlet.
const DERATE: f64 = 0.75;

/// Watts of panels that bring `daily_wh` from `sun_hours` hours of full sun a day, when `derate` of what their labels
/// say comes out at the outlet. `None` without sun.
pub fn panels_for_ever(daily_wh: f64, sun_hours: f64, derate: f64) -> Option<f64> {
    let watts = daily_wh / (sun_hours * derate);
    (watts > 0.0 && watts.is_finite()).then_some(watts)
}

/// The sun of a question; `Ok(None)` when it brings nothing.
pub(super) fn sunlight(solar: &Solar, demand: &Demand) -> Result<Option<Sunlight>, Finding> {
    if !(solar.panel_w > 0.0 && solar.panel_w.is_finite()) {
        return Err(fault(
            format!("panels of {} W", solar.panel_w),
            "write the watts on their labels, above 0",
        ));
    }
    if !(0.0..=1.0).contains(&solar.share) {
        return Err(fault(format!("a share of {} of the sun", solar.share), "write a share from 0 to 1"));
    }
    let from_midnight = shares(solar)?;
    let evening = DAY_MINUTES * 3 / 4;
    let watts: Vec<f64> = (0..DAY_MINUTES)
        .map(|m| from_midnight[(m + evening) % DAY_MINUTES] * solar.panel_w * solar.share)
        .collect();
    let any = watts.iter().any(|w| *w > 0.0);
    Ok(any.then(|| Sunlight::over(watts, solar.panel_w, solar.dark_days as usize, demand)))
}

/// The usual day, for those who ask without panels: shares of the label from midnight.
pub(super) fn usual_day() -> Vec<f64> {
    sun::even_day(USUAL_SUN_HOURS, DERATE)
}

fn shares(solar: &Solar) -> Result<Vec<f64>, Finding> {
    match &solar.sky {
        Sky::SunHours(hours) if (0.0..=24.0).contains(hours) => Ok(sun::even_day(*hours, DERATE)),
        Sky::SunHours(hours) => Err(fault(
            format!("{hours} hours of full sun a day"),
            "write hours from 0 to 24; 2 to 6 are usual",
        )),
        Sky::Clear { site, on } => clear_day(*site, on, solar.panel),
        Sky::Given(steps) => {
            if steps.is_empty()
                || steps.len() > DAY_MINUTES
                || steps.iter().any(|g| !(*g >= 0.0 && *g < 2000.0))
            {
                return Err(fault(
                    "the irradiance given cannot be used".into(),
                    "give one to 1440 values over a day, each from 0 to 2000 W/m²",
                ));
            }
            Ok((0..DAY_MINUTES).map(|m| steps[m * steps.len() / DAY_MINUTES] / 1000.0 * DERATE).collect())
        }
    }
}

#[cfg(feature = "sky")]
fn clear_day(site: Site, on: &str, panel: Panel) -> Result<Vec<f64>, Finding> {
    let Ok(day) = on.parse::<jiff::civil::Date>() else {
        return Err(fault(format!("`{on}` is not a day"), "write it as 2026-06-21"));
    };
    sun::clear_day(site, day, panel).ok_or_else(|| {
        fault(
            "place, tilt or direction are out of range".into(),
            "latitude −90 to 90, longitude −180 to 180, tilt 0 to 90",
        )
    })
}

#[cfg(not(feature = "sky"))]
fn clear_day(_: Site, on: &str, _: Panel) -> Result<Vec<f64>, Finding> {
    Err(fault(
        format!("the sun of {on} is not reckoned on a page"),
        "say how many hours of full sun there are",
    ))
}

fn fault(text: String, hint: &str) -> Finding {
    Finding::gap("solar-out-of-range", "solar", text, hint)
}

#[cfg(test)]
mod tests {
    use super::*;
    fn sunlight(solar: &Solar) -> Result<Option<Sunlight>, Finding> {
        super::sunlight(solar, &Demand::of(&[], 1.0, true))
    }
    #[test]
    fn panels_to_run_for_ever() {
        // (60 + 12) W · 24 h = 1728 Wh a day, 0.70 of the label: 1728/(5.5·0.7) = 448.8, 1728/2.8 = 617.1, 1728/1.4 = 1234.3.
        for (hours, watts) in [(5.5, 448.8), (4.0, 617.1), (2.0, 1234.3)] {
            assert!((panels_for_ever(1728.0, hours, 0.7).unwrap() - watts).abs() < 0.05);
        }
        assert_eq!(panels_for_ever(1728.0, 0.0, 0.7), None);
    }
    #[test]
    fn the_day_begins_in_the_evening() {
        let sun = sunlight(&Solar::panels(100.0)).unwrap().unwrap();
        // Noon is 18 h after six in the evening; 4 h of sun at 75 %: 4/12·π/2·0.75·100 = 39.27 W.
        assert!((sun.watts[18 * 60] - 39.27).abs() < 0.01);
        assert_eq!((sun.watts[0], sun.watts[6 * 60]), (0.0, 0.0));
        assert!((sun.watts.iter().sum::<f64>() / 60.0 - 300.0).abs() < 1e-6);
    }
    #[test]
    fn no_sun_is_no_sun_and_nonsense_is_refused() {
        let with = |sky| Solar { sky, ..Solar::panels(100.0) };
        assert!(sunlight(&with(Sky::SunHours(0.0))).unwrap().is_none());
        assert!(sunlight(&with(Sky::Given(vec![0.0; 24]))).unwrap().is_none());
        for sky in [Sky::SunHours(25.0), Sky::SunHours(f64::NAN), Sky::Given(vec![]), Sky::Given(vec![-1.0])]
        {
            assert_eq!(sunlight(&with(sky)).unwrap_err().code, "solar-out-of-range");
        }
        let site = Site { latitude: 48.0, longitude: 11.0, height: 0.0 };
        assert!(sunlight(&with(Sky::Clear { site, on: "midsummer".into() })).is_err());
        assert!(sunlight(&Solar::panels(0.0)).is_err());
    }
}
