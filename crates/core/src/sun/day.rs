//! A day of sun on a panel, minute by minute, as shares of the power on its label.
use super::panel::{USUAL_LOSSES, cell_faiman, dc_power, losses};
use super::sky::{beyond_the_air, clear_sky, on_tilt, split};
use super::{Air, DAY_MINUTES, position};
use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp, tz::TimeZone};
use serde::{Deserialize, Serialize};

/// A place on the earth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Site {
    /// Degrees north, −90 to 90.
    pub latitude: f64,
    /// Degrees east, −180 to 180.
    pub longitude: f64,
    /// Above the sea, m.
    #[serde(default)]
    pub height: f64,
}

/// How a panel stands, and what cools it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Panel {
    /// From level, degrees: 0 lies flat, 90 stands upright.
    pub tilt: f64,
    /// Where it looks, degrees from north, clockwise: 180 is south.
    pub azimuth: f64,
    /// Air temperature, °C.
    pub air_c: f64,
    /// Wind at the panel, m/s.
    pub wind: f64,
    /// Change of power per kelvin.
    pub gamma: f64,
    /// Share of the light thrown back by the ground.
    pub albedo: f64,
}

impl Default for Panel {
    /// 35° to the south, 25 °C, a light wind, γ −0.0035/K, grass (common practice).
    fn default() -> Self {
        Panel { tilt: 35.0, azimuth: 180.0, air_c: 25.0, wind: 1.0, gamma: -0.0035, albedo: 0.2 }
    }
}

/// Positions are computed this often; between them the power is drawn straight. A quarter of an hour is 3.75° of the
/// sun's way, and the straight line is off by less than 0.2 % of the day's sum.
const STEP_MIN: usize = 5;

/// Shares of the label's power, minute by minute from midnight by the sun (noon is when it stands highest, near
/// enough), of a clear day: Haurwitz sky, Erbs split, isotropic tilt, Faiman cells, PVWatts power and losses.
/// `None` when the place or the panel is out of range.
pub fn clear_day(site: Site, on: Date, panel: Panel) -> Option<Vec<f64>> {
    let sound = (0.0..=90.0).contains(&panel.tilt) && panel.azimuth.is_finite() && panel.air_c.is_finite();
    if !sound
        || !(0.0..f64::INFINITY).contains(&panel.wind)
        || !panel.gamma.is_finite()
        || !(0.0..=1.0).contains(&panel.albedo)
    {
        return None;
    }
    let midnight = TimeZone::UTC.to_ambiguous_timestamp(on.at(0, 0, 0, 0)).unambiguous().ok()?;
    // Mean sun time: four minutes to a degree.
    let midnight = midnight.checked_sub(SignedDuration::from_secs((site.longitude * 240.0) as i64)).ok()?;
    let kept = 1.0 - losses(&USUAL_LOSSES);
    let outside = beyond_the_air(on.day_of_year());
    let share = |step: usize| -> Option<f64> {
        let at = midnight + SignedDuration::from_mins((step * STEP_MIN) as i64);
        Some(kept * instant(at, site, outside, panel)?)
    };
    let steps: Vec<f64> = (0..=DAY_MINUTES / STEP_MIN).map(share).collect::<Option<_>>()?;
    let between = |minute: usize| {
        let (step, part) = (minute / STEP_MIN, (minute % STEP_MIN) as f64 / STEP_MIN as f64);
        steps[step] + (steps[step + 1] - steps[step]) * part
    };
    Some((0..DAY_MINUTES).map(between).collect())
}

/// Share of the label's power at an instant, before losses.
fn instant(at: Timestamp, site: Site, outside: f64, panel: Panel) -> Option<f64> {
    let air = Air { hpa: 1013.25, celsius: panel.air_c };
    let sun = position(at, site.latitude, site.longitude, site.height, Some(air))?;
    let parts = split(clear_sky(sun.zenith), sun.zenith, outside);
    let light = on_tilt(parts, panel.tilt, panel.azimuth, sun, panel.albedo).total();
    Some(dc_power(1.0, light, cell_faiman(panel.air_c, light, panel.wind), panel.gamma))
}

/// Shares of the label's power, minute by minute from midnight, of a day that gives `hours` hours of full sun: half a
/// sine from 6:00 to 18:00. `derate` is what a panel really gives of its label, 0.65 to 0.75 (common practice).
pub fn even_day(hours: f64, derate: f64) -> Vec<f64> {
    let half = DAY_MINUTES / 2;
    let bell = |minute: usize| {
        let since = (minute as f64 + 0.5 - half as f64 / 2.0) / half as f64;
        if (0.0..1.0).contains(&since) { (since * std::f64::consts::PI).sin() } else { 0.0 }
    };
    let all: f64 = (0..DAY_MINUTES).map(bell).sum::<f64>() / 60.0;
    (0..DAY_MINUTES).map(|m| bell(m) * hours * derate / all).collect()
}

/// Hours at the label's power that a day of shares adds up to.
pub fn daily_sun_hours(shares: &[f64]) -> f64 {
    shares.iter().sum::<f64>() * 24.0 / shares.len().max(1) as f64
}
