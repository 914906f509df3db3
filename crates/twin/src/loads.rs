//! The bench's appliances as they truly behave: what each asks of the outlet at a moment.
//!
//! The invented loads L1–L14. Times are seconds since the load was switched on.

/// What a load asks for, constant until `until_s`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Demand {
    /// A fixed part, W (fan, electronics, motors).
    pub watts: f64,
    /// A heating element, Ω; takes V²/R. `None`: no element on.
    pub ohms: Option<f64>,
    /// Power factor, 0–1.
    pub power_factor: f64,
    /// Seconds since switch-on when the demand changes next.
    pub until_s: f64,
}

/// A load on the outlet.
#[derive(Clone, Debug, PartialEq)]
pub enum Load {
    /// Nothing plugged in.
    Nothing,
    /// The same watts at any voltage.
    Steady {
        /// W.
        watts: f64,
        /// Power factor.
        power_factor: f64,
    },
    /// Heating elements with a fan; the resistance rises by `hot` with a time constant of 90 s.
    Heater {
        /// Cold resistance, Ω.
        ohms: f64,
        /// Rise when hot, 0–1.
        hot: f64,
        /// Fan, W.
        fan_w: f64,
    },
    /// On and off by the clock.
    Cycle {
        /// W while on.
        on_w: f64,
        /// W while off.
        off_w: f64,
        /// Seconds on.
        on_s: f64,
        /// Seconds off.
        off_s: f64,
        /// Power factor.
        power_factor: f64,
    },
    /// The fridge: compressor cycles and a defrost heater.
    Fridge {
        /// Where in its compressor cycle it starts, seconds.
        phase_s: f64,
    },
}

/// Compressor on 38 % of 34 min at 85 W, else 1.5 W; defrost 180 W for 20 min at the end of each 11 h.
const FRIDGE: (f64, f64, f64, f64) = (34.0 * 60.0, 0.38, 85.0, 1.5);
const DEFROST: (f64, f64, f64) = (11.0 * 3600.0, 20.0 * 60.0, 180.0);
const HOT_TAU_S: f64 = 90.0;

impl Load {
    /// One of the bench's loads by id. L9–L12 are given by their running power; their starts are not energy.
    /// L2 and L13 are steady at their full power here.
    pub fn bench(id: &str) -> Option<Load> {
        let steady = |watts, power_factor| Some(Load::Steady { watts, power_factor });
        let cycle =
            |on_w, off_w, on_s, off_s| Some(Load::Cycle { on_w, off_w, on_s, off_s, power_factor: 1.0 });
        match id {
            "L1" => Some(Load::Heater { ohms: 9.6, hot: 0.03, fan_w: 18.0 }),
            "L2" => steady(480.0, 1.0),
            "L3" => Some(Load::Heater { ohms: 9.9, hot: 0.0, fan_w: 0.0 }),
            "L4" => cycle(1000.0, 0.0, 540.0, 360.0),
            "L5" => cycle(95.0, 0.0, 20.0, 40.0),
            "L6" => Some(Load::Fridge { phase_s: 0.0 }),
            "L7" => steady(12.0, 0.52),
            "L8" => steady(24.0, 1.0),
            "L9" => steady(92.0, 1.0),
            "L10" => steady(1150.0, 1.0),
            "L11" => steady(610.0, 1.0),
            "L12" => steady(1390.0, 0.96),
            "L13" => steady(40.0, 1.0),
            "L14" => Some(Load::Heater { ohms: 24.0, hot: 0.0, fan_w: 0.0 }),
            _ => None,
        }
    }

    /// What it asks for at `t_s` seconds after switch-on.
    pub fn demand(&self, t_s: f64) -> Demand {
        let plain = |watts, power_factor, until_s| Demand { watts, ohms: None, power_factor, until_s };
        match *self {
            Load::Nothing => plain(0.0, 1.0, f64::INFINITY),
            Load::Steady { watts, power_factor } => plain(watts, power_factor, f64::INFINITY),
            Load::Heater { ohms, hot, fan_w } => {
                // Steps of 10 s while it warms; the middle of a step stands for the step.
                let (until_s, r) = if hot == 0.0 || t_s > 8.0 * HOT_TAU_S {
                    (f64::INFINITY, ohms * (1.0 + hot))
                } else {
                    (t_s + 10.0, ohms * (1.0 + hot * (1.0 - (-(t_s + 5.0) / HOT_TAU_S).exp())))
                };
                Demand { watts: fan_w, ohms: Some(r), power_factor: 1.0, until_s }
            }
            Load::Cycle { on_w, off_w, on_s, off_s, power_factor } => {
                let (start, at) = phase(t_s, on_s + off_s);
                if at < on_s {
                    plain(on_w, power_factor, start + on_s)
                } else {
                    plain(off_w, power_factor, start + on_s + off_s)
                }
            }
            Load::Fridge { phase_s } => fridge(t_s, phase_s),
        }
    }
}

/// Start of the current cycle and the time inside it, seconds. A microsecond of slack keeps steps from vanishing.
fn phase(t_s: f64, period_s: f64) -> (f64, f64) {
    let start = ((t_s + 1e-6) / period_s).floor() * period_s;
    (start, (t_s - start + 1e-6).max(0.0))
}

fn fridge(t_s: f64, phase_s: f64) -> Demand {
    let (period, duty, on_w, off_w) = FRIDGE;
    let (between, lasts, defrost_w) = DEFROST;
    let (d0, d) = phase(t_s, between);
    if d >= between - lasts {
        return Demand { watts: defrost_w, ohms: None, power_factor: 1.0, until_s: d0 + between };
    }
    let (c0, c) = phase(t_s + phase_s, period);
    let (watts, end) = if c < duty * period { (on_w, duty * period) } else { (off_w, period) };
    let until_s = (c0 + end - phase_s).min(d0 + between - lasts);
    Demand { watts, ohms: None, power_factor: 1.0, until_s }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean(load: &Load, hours: f64) -> f64 {
        let (mut t, mut ws) = (0.0, 0.0);
        while t < hours * 3600.0 {
            let d = load.demand(t);
            let until = d.until_s.min(hours * 3600.0);
            assert!(until > t, "a step must last at {t}");
            ws += d.watts * (until - t);
            t = until;
        }
        ws / (hours * 3600.0)
    }

    // The invented table prints 37.7 W: (0.38·85 + 0.62·1.5)·(1 − 20/660) + 180·20/660 = 37.68.
    #[test]
    fn fridge_average() {
        assert!((mean(&Load::Fridge { phase_s: 0.0 }, 11.0 * 34.0) - 37.7).abs() < 0.05);
        assert!((mean(&Load::Fridge { phase_s: 500.0 }, 11.0 * 34.0) - 37.7).abs() < 0.05);
    }

    // 1,000 W for 9 of 15 min is 600 W.
    #[test]
    fn oil_heater_average() {
        assert!((mean(&Load::bench("L4").unwrap(), 25.0) - 600.0).abs() < 1e-6);
    }
}
