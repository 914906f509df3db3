//! The sun: where it stands, what falls on a tilted panel under a clear sky, and what the panel makes of it.
//!
//! Angles are in degrees: zenith from straight up, azimuth from north, clockwise (east 90, south 180).
//! Irradiance is in W/m², power in W, temperatures in °C.
mod day;
mod panel;
mod position;
mod sky;

pub use day::{Panel, Site, clear_day, daily_sun_hours, even_day};
pub use panel::{cell_faiman, cell_noct, dc_power, losses};
pub use position::{Air, Position, position};
pub use sky::{Parts, Tilted, beyond_the_air, clear_sky, incidence, on_tilt, split};

/// Minutes of a day: the length of every profile of a day here.
pub const DAY_MINUTES: usize = 1440;
