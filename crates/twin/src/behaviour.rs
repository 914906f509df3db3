//! What a station does beyond plain physics: limits, trips, low-load switch-off, charge display.
//!
//! The tables of the invented stations as data; the words they stand for are in `Truth::sustained`, `eco`, `display`.
use crate::truth::Truth;

/// Low-load switch-off: below `below_w` for `after_min` the AC outlet goes off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowLoadOff {
    /// Threshold, W.
    pub below_w: f64,
    /// Delay, minutes.
    pub after_min: f64,
    /// On as delivered.
    pub on_by_default: bool,
    /// Whether the person can turn it off.
    pub can_disable: bool,
}

/// The sustained limit of a station, apart from its overload trips.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sustained {
    /// Holds rated power to empty.
    ToEmpty,
    /// Above `limit_w` it stops after `hold_s`.
    Soft {
        /// W.
        limit_w: f64,
        /// Seconds.
        hold_s: f64,
    },
    /// Stops when the inside reaches `trip_c`: ΔT(t) = r·loss·(1 − e^(−t/τ)).
    Thermal {
        /// Thermal resistance, K/W.
        r: f64,
        /// Time constant, minutes.
        tau_min: f64,
        /// Inside temperature of the trip, °C.
        trip_c: f64,
    },
    /// One leg stops above `leg_w`; both legs together hold to empty.
    PerLeg {
        /// W.
        leg_w: f64,
    },
    /// Limits to `derated_w` below `from` of the AC energy left; asked for `trip_above_w` or more it stops at `trip_at`.
    LowCharge {
        /// W.
        derated_w: f64,
        /// Share of the AC energy left.
        from: f64,
        /// Share of the AC energy left.
        trip_at: f64,
        /// W.
        trip_above_w: f64,
    },
}

/// How the charge display relates to the truth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Display {
    /// Within ± points of the cells' charge.
    Linear {
        /// Greatest error, percentage points.
        points: f64,
    },
    /// Shows 100 % for the first `held` of the AC energy, then falls to `dies_at` at AC cut-off.
    HoldsFull {
        /// Share of the AC energy.
        held: f64,
        /// Shown at the end, %.
        dies_at: f64,
    },
    /// Falls to 1 % with `left` of the energy left, then stays there.
    SticksAtOne {
        /// Share of the AC energy.
        left: f64,
    },
}

/// Everything of this page for one station.
#[derive(Clone, Debug, PartialEq)]
pub struct Behaviour {
    /// Sustained limit.
    pub sustained: Sustained,
    /// Overload: (percent of rated, seconds held); infinite = never trips.
    pub trips: [(f64, f64); 5],
    /// Low-load switch-off of the AC outlet, if there is one.
    pub low_load: Option<LowLoadOff>,
    /// Charge display.
    pub display: Display,
    /// Below this ambient it refuses to charge, °C. `None`: it always takes charge.
    pub charge_blocked_below_c: Option<f64>,
}

/// The percents at which `Truth::trip` lists seconds.
pub const TRIP_PERCENTS: [f64; 5] = [105.0, 115.0, 130.0, 150.0, 200.0];

impl Behaviour {
    /// The behaviour of an invented station.
    pub fn of(truth: &Truth) -> Behaviour {
        let id = truth.id.as_str();
        Behaviour {
            sustained: sustained(id),
            trips: trips(&truth.trip),
            low_load: low_load(id),
            display: display(id, truth),
            charge_blocked_below_c: match id {
                "U03" | "U10" | "U11" | "U14" => None,
                "U05" => Some(2.0),
                _ => Some(0.0),
            },
        }
    }

    /// Seconds held at `percent` of rated power. Between two listed points the logarithm is interpolated; where the
    /// lower one never trips, it never trips up to the next listed point (own choice: the tables list five points).
    pub fn trip_seconds(&self, percent: f64) -> f64 {
        if percent < self.trips[0].0 {
            return f64::INFINITY;
        }
        for pair in self.trips.windows(2) {
            let ((p0, s0), (p1, s1)) = (pair[0], pair[1]);
            if percent < p1 {
                let x = (percent - p0) / (p1 - p0);
                return if s0.is_infinite() { s0 } else { (s0.ln() + x * (s1.ln() - s0.ln())).exp() };
            }
        }
        self.trips[4].1
    }
}

fn trips(text: &str) -> [(f64, f64); 5] {
    let mut seconds = text.split('/').map(|s| s.trim().parse::<f64>().unwrap_or(f64::INFINITY));
    TRIP_PERCENTS.map(|p| (p, seconds.next().unwrap_or(f64::INFINITY)))
}

fn sustained(id: &str) -> Sustained {
    match id {
        "U03" => Sustained::Soft { limit_w: 405.0, hold_s: 75.0 },
        "U07" => Sustained::Thermal { r: 0.38, tau_min: 14.0, trip_c: 85.0 },
        "U13" => Sustained::PerLeg { leg_w: 1750.0 },
        // The table says it trips "under 4100 W at 9 % left": asked for about that much, it stops there.
        "U14" => Sustained::LowCharge { derated_w: 2500.0, from: 0.15, trip_at: 0.09, trip_above_w: 4000.0 },
        _ => Sustained::ToEmpty,
    }
}

fn low_load(id: &str) -> Option<LowLoadOff> {
    let of = |below_w, after_min, on_by_default, can_disable| {
        Some(LowLoadOff { below_w, after_min, on_by_default, can_disable })
    };
    match id {
        "U02" | "U12" => of(10.0, 720.0, true, true),
        "U03" => of(25.0, 30.0, true, false),
        "U04" => of(5.0, 240.0, false, true),
        "U05" => of(15.0, 60.0, true, false),
        "U06" => of(5.0, 240.0, true, true),
        "U08" => of(20.0, 120.0, true, true),
        "U13" => of(15.0, 240.0, true, true),
        _ => None,
    }
}

fn display(id: &str, truth: &Truth) -> Display {
    match id {
        "U03" => Display::HoldsFull { held: 0.09, dies_at: 11.0 },
        "U10" => Display::SticksAtOne { left: 0.06 },
        // U13's display is honest about its cells; its AC outlet stops at the 8 % that `reserve_ac` says.
        _ => Display::Linear {
            points: truth.display.strip_prefix("linear +-").and_then(|n| n.parse().ok()).unwrap_or(0.0),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::truth::{truth, truths};

    // Source: the invented tables, "600/45/5/1/0.2" for U07.
    #[test]
    fn trips_are_read_in_order() {
        let b = Behaviour::of(truth("U07").unwrap());
        assert_eq!(b.trips, [(105.0, 600.0), (115.0, 45.0), (130.0, 5.0), (150.0, 1.0), (200.0, 0.2)]);
        assert_eq!(b.trip_seconds(150.0), 1.0);
        assert_eq!(b.trip_seconds(104.9), f64::INFINITY);
        // Half way between 600 s and 45 s in the logarithm: √(600·45) = 164.3 s.
        assert!((b.trip_seconds(110.0) - 164.3).abs() < 0.05);
        assert_eq!(Behaviour::of(truth("U01").unwrap()).trip_seconds(110.0), f64::INFINITY);
    }

    // The words of the data and the numbers of this page must agree where the words carry the numbers.
    #[test]
    fn words_and_numbers_agree() {
        for t in truths() {
            let b = Behaviour::of(t);
            match b.low_load {
                Some(e) => {
                    let minutes = e.after_min;
                    let long = format!("{} W / {} h", e.below_w, minutes / 60.0);
                    let short = format!("{} W / {} min", e.below_w, minutes);
                    assert!(t.eco.contains(&long) || t.eco.contains(&short), "{}: {}", t.id, t.eco);
                    assert_eq!(!e.can_disable, t.eco.contains("cannot be disabled"), "{}", t.id);
                    assert_eq!(!e.on_by_default, t.eco.starts_with("off by default"), "{}", t.id);
                }
                None => assert!(t.eco == "off by default" || t.eco.starts_with("none on AC"), "{}", t.id),
            }
            let plain = t.sustained.starts_with("holds to empty") || t.id == "U08";
            assert_eq!(plain, b.sustained == Sustained::ToEmpty, "{}", t.id);
        }
    }
}
