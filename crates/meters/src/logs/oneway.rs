//! Voltage and current logs: which way the energy went, when the current tapered, when 80 % was in.
use super::mapping::Direction;

/// Points of the curve kept; beyond, every other one is dropped.
const POINTS: usize = 8192;

/// Both ways at a row.
#[derive(Clone, Copy)]
struct Point {
    t: i64,
    amps: f64,
    /// W·µs so far with positive and with negative power.
    plus: f64,
    minus: f64,
}

/// Follows power of either sign apart.
pub(crate) struct Watch {
    last: Option<(i64, f64)>,
    plus: f64,
    minus: f64,
    /// Time (µs) and volt-time with positive and with negative current.
    volts: [(f64, f64); 2],
    /// First and last voltage with current.
    ends: Option<(f64, f64)>,
    /// Lowest and highest voltage with current.
    reach: (f64, f64),
    curve: Vec<Point>,
    stride: u32,
    since: u32,
}

/// What the voltage and current say together.
#[derive(Default)]
pub(crate) struct Ways {
    pub(crate) energy_in: Option<f64>,
    pub(crate) energy_out: Option<f64>,
    pub(crate) taper_s: Option<f64>,
    pub(crate) time_to_80_s: Option<f64>,
    /// The direction taken for positive current, where it was found by the voltage.
    pub(crate) found: Option<Direction>,
    /// One sign of current, but the voltage goes both ways.
    pub(crate) both: bool,
}

impl Watch {
    pub(crate) fn new() -> Self {
        let curve = Vec::with_capacity(POINTS);
        Watch {
            last: None,
            plus: 0.0,
            minus: 0.0,
            volts: [(0.0, 0.0); 2],
            ends: None,
            reach: (f64::INFINITY, f64::NEG_INFINITY),
            curve,
            stride: 1,
            since: 0,
        }
    }

    /// Takes a row `step` µs after the one before (0 over a gap).
    pub(crate) fn row(&mut self, t: i64, volts: f64, amps: f64, step: i64) {
        let p = volts * amps;
        if let Some((_, before)) = self.last {
            self.plus += 0.5 * (p.max(0.0) + before.max(0.0)) * step as f64;
            self.minus += 0.5 * (p.min(0.0) + before.min(0.0)) * -(step as f64);
            if amps != 0.0 {
                let side = &mut self.volts[usize::from(amps < 0.0)];
                side.0 += step as f64;
                side.1 += volts * step as f64;
            }
        }
        if amps != 0.0 {
            let first = self.ends.map_or(volts, |e| e.0);
            self.ends = Some((first, volts));
            self.reach = (self.reach.0.min(volts), self.reach.1.max(volts));
        }
        self.last = Some((t, p));
        self.since += 1;
        if self.since >= self.stride {
            self.since = 0;
            if self.curve.len() == POINTS {
                let mut n = 0;
                self.curve.retain(|_| {
                    n += 1;
                    n % 2 == 1
                });
                self.stride *= 2;
            }
            self.curve.push(Point { t, amps, plus: self.plus, minus: self.minus });
        }
    }

    /// Charging raises the voltage, discharging lowers it: the side with the higher mean voltage charges; with one
    /// side only, the trend tells.
    fn positive(&self) -> Option<Direction> {
        let mean = |k: usize| (self.volts[k].0 > 0.0).then(|| self.volts[k].1 / self.volts[k].0);
        let charges = match (mean(0), mean(1)) {
            (Some(plus), Some(minus)) => plus > minus,
            (Some(_), None) => self.ends.is_some_and(|(a, b)| b > a),
            (None, Some(_)) => self.ends.is_some_and(|(a, b)| b < a),
            (None, None) => return None,
        };
        Some(if charges { Direction::In } else { Direction::Out })
    }

    /// With current of one sign, the voltage ends where it began by a third of its reach, or turns in between.
    fn both(&self) -> bool {
        let one_sign = (self.volts[0].0 > 0.0) != (self.volts[1].0 > 0.0);
        let Some((first, last)) = self.ends else { return false };
        let reach = self.reach.1 - self.reach.0;
        one_sign && reach > 0.1 * self.reach.1.abs() && (last - first).abs() < reach / 3.0
    }

    /// Sums up. `given`: what a person said about the sign.
    pub(crate) fn ways(&self, given: Option<Direction>) -> Ways {
        if given.is_none() && self.both() {
            return Ways { both: true, ..Ways::default() };
        }
        let Some(positive) = given.or_else(|| self.positive()) else { return Ways::default() };
        let inward = positive == Direction::In;
        let wh = |x: f64| Some(x / super::energy::WH);
        let (energy_in, energy_out) =
            if inward { (wh(self.plus), wh(self.minus)) } else { (wh(self.minus), wh(self.plus)) };
        let total = if inward { self.plus } else { self.minus };
        let charging: Vec<(i64, f64, f64)> = self
            .curve
            .iter()
            .filter(|p| (p.amps > 0.0) == inward && p.amps != 0.0)
            .map(|p| (p.t, p.amps.abs(), if inward { p.plus } else { p.minus }))
            .collect();
        let mut ways =
            Ways { energy_in, energy_out, found: given.is_none().then_some(positive), ..Ways::default() };
        if total > 0.0 && charging.len() >= 3 {
            let start = charging[0].0;
            ways.taper_s = taper(&charging).map(|t| (t - start) as f64 / 1e6);
            ways.time_to_80_s = reached(&charging, 0.8 * total).map(|t| (t - start as f64) / 1e6);
        }
        ways
    }
}

/// First row from which the current stays below 95 % of its plateau (the median of the rows in the upper half).
fn taper(charging: &[(i64, f64, f64)]) -> Option<i64> {
    let top = charging.iter().map(|c| c.1).fold(0.0, f64::max);
    let mut upper: Vec<f64> = charging.iter().map(|c| c.1).filter(|a| *a >= 0.5 * top).collect();
    upper.sort_by(f64::total_cmp);
    // The upper quartile: a taper may fill half the rows.
    let plateau = upper[upper.len() * 3 / 4];
    let last = charging.iter().rposition(|c| c.1 >= 0.95 * plateau)?;
    charging.get(last + 1).map(|c| c.0)
}

/// Instant at which the energy reaches `wanted`, between rows by a straight line, µs.
fn reached(charging: &[(i64, f64, f64)], wanted: f64) -> Option<f64> {
    let k = charging.iter().position(|c| c.2 >= wanted)?;
    let (t1, _, e1) = charging[k];
    let Some((t0, _, e0)) = k.checked_sub(1).map(|k| charging[k]) else { return Some(t1 as f64) };
    let share = if e1 > e0 { (wanted - e0) / (e1 - e0) } else { 1.0 };
    Some(t0 as f64 + share * (t1 - t0) as f64)
}
