//! What the sun gives: under a clear sky on level ground, split into beam and sky light, and on a tilted panel.
use super::Position;
use std::f64::consts::TAU;

/// Global, beam and sky light, W/m².
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parts {
    /// On level ground, all together.
    pub global: f64,
    /// Straight from the sun, on a plane that faces it.
    pub beam: f64,
    /// From the rest of the sky, on level ground.
    pub sky: f64,
}

/// Light on a tilted plane by where it comes from, W/m².
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tilted {
    /// Straight from the sun.
    pub beam: f64,
    /// From the sky, taken as equally bright.
    pub sky: f64,
    /// Thrown back by the ground.
    pub ground: f64,
}

impl Tilted {
    /// All together, W/m².
    pub fn total(self) -> f64 {
        self.beam + self.sky + self.ground
    }
}

/// Global light on level ground under a clear sky, W/m²: Haurwitz 1945, 1098·cos z·exp(−0.059/cos z);
/// 0 with the sun at or below the horizon. `zenith` in degrees.
pub fn clear_sky(zenith: f64) -> f64 {
    let cos = zenith.to_radians().cos();
    if cos > 0.0 { 1098.0 * cos * (-0.059 / cos).exp() } else { 0.0 }
}

/// Light outside the air on a plane that faces the sun, W/m², by day of the year from 1: Spencer 1971 with a
/// solar constant of 1366.1 W/m² (ASTM E490).
pub fn beyond_the_air(day_of_year: i16) -> f64 {
    let b = TAU / 365.0 * f64::from(day_of_year - 1);
    let nearer = 1.00011
        + 0.034221 * b.cos()
        + 0.00128 * b.sin()
        + 0.000719 * (2.0 * b).cos()
        + 7.7e-5 * (2.0 * b).sin();
    1366.1 * nearer
}

/// Splits global light by how clear the air is: Erbs, Klein and Duffie 1982. `outside` is the light beyond the air.
/// Within 3° of the horizon all of it is taken as sky light, the split being unsure there.
pub fn split(global: f64, zenith: f64, outside: f64) -> Parts {
    const LOWEST: f64 = 87.0;
    let cos = zenith.to_radians().cos();
    // Written so that what is not a number is dark.
    if !(global > 0.0 && zenith < 90.0) {
        return Parts { global: 0.0, beam: 0.0, sky: 0.0 };
    }
    let clear = (global / (outside * cos.max(0.065))).clamp(0.0, 1.0);
    let share = match clear {
        k if k <= 0.22 => 1.0 - 0.09 * k,
        k if k <= 0.8 => 0.9511 - 0.1604 * k + 4.388 * k.powi(2) - 16.638 * k.powi(3) + 12.336 * k.powi(4),
        _ => 0.165,
    };
    if zenith > LOWEST {
        return Parts { global, beam: 0.0, sky: global };
    }
    let sky = share * global;
    Parts { global, beam: (global - sky) / cos, sky }
}

/// Angle between the sun and the line straight out of a panel, degrees; above 90 the sun is behind it.
/// `tilt` from level, `azimuth` of where it looks, both in degrees.
pub fn incidence(tilt: f64, azimuth: f64, sun: Position) -> f64 {
    cos_incidence(tilt, azimuth, sun).clamp(-1.0, 1.0).acos().to_degrees()
}

fn cos_incidence(tilt: f64, azimuth: f64, sun: Position) -> f64 {
    let (tilt, zenith) = (tilt.to_radians(), sun.zenith.to_radians());
    tilt.cos() * zenith.cos() + tilt.sin() * zenith.sin() * (sun.azimuth - azimuth).to_radians().cos()
}

/// Light on a tilted plane, every part of the sky taken as equally bright (isotropic: Liu and Jordan 1963).
/// `albedo` is the share thrown back by the ground, 0 to 1; 0.2 for grass.
pub fn on_tilt(parts: Parts, tilt: f64, azimuth: f64, sun: Position, albedo: f64) -> Tilted {
    let cos = tilt.to_radians().cos();
    Tilted {
        beam: parts.beam * cos_incidence(tilt, azimuth, sun).max(0.0),
        sky: parts.sky * (1.0 + cos) / 2.0,
        ground: parts.global * albedo * (1.0 - cos) / 2.0,
    }
}
