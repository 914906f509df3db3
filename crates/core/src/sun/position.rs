//! Where the sun stands: the solar position algorithm of NREL (Reda and Andreas 2003, Solar Energy 76(5), 577–589).
use jiff::Timestamp;
use solar_positioning::time::JulianDate;
use solar_positioning::{Location, RefractionCorrection, SolarPositions};

/// Air that bends the light: pressure in hPa and temperature in °C, yearly means will do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Pressure, hPa.
    pub hpa: f64,
    /// Temperature, °C.
    pub celsius: f64,
}

/// Where the sun's centre is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    /// From straight up, degrees; above 90 it is below the horizon.
    pub zenith: f64,
    /// From north, clockwise, degrees.
    pub azimuth: f64,
}

/// Terrestrial minus universal time in 2026, s (it moves by less than 1 s in a decade, 0.004° of the sun's way).
const DELTA_T_S: f64 = 69.2;

/// The sun at an instant over a place: latitude north and longitude east in degrees, height in m. With `air` the
/// zenith is as seen, bent by the air; without, the true one. `None` when a coordinate is out of range or not a number.
pub fn position(
    at: Timestamp,
    latitude: f64,
    longitude: f64,
    height: f64,
    air: Option<Air>,
) -> Option<Position> {
    // Julian date of the Unix epoch: 2 440 587.5.
    let days = at.as_nanosecond() as f64 / 86_400e9 + 2_440_587.5;
    let time = JulianDate::new(days, DELTA_T_S).ok()?;
    let bend = match air {
        Some(air) => Some(RefractionCorrection::new(air.hpa, air.celsius).ok()?),
        None => None,
    };
    let sun =
        SolarPositions::new().at_from_julian(time, Location { latitude, longitude }, height, bend).ok()?;
    Some(Position { zenith: sun.zenith_angle(), azimuth: sun.azimuth() })
}
