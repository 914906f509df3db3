//! What an instrument shows: its hidden gain and offset, its floor, its steps, its own draw.
//!
//! M1–M11 are the invented bench; M12 is a display-only 230 V plug meter added here, because the bench's M1 is for
//! 120 V only. The accuracy statements are own choices that hold the hidden errors.
use crate::discharge::Discharge;

/// Where an instrument takes its own supply from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feed {
    /// The station's outlet, so the station runs down a little faster.
    Outlet,
    /// The mains.
    Mains,
    /// It has its own battery or takes nothing worth counting.
    Itself,
}

/// How the last digit comes about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LastDigit {
    /// To the nearest step.
    Rounded,
    /// The rest is dropped.
    Truncated,
}

/// What the maker of the instrument states: ± gain % of reading ± offset W.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Statement {
    /// % of reading.
    pub gain_pct: f64,
    /// In the instrument's first quantity (W, V, A, dB, K, kg).
    pub offset: f64,
}

/// An instrument with its hidden errors.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// `M1` …
    pub id: String,
    /// What it is.
    pub name: String,
    /// Hidden relative error: shown = true·(1 + gain) + offset.
    pub gain: f64,
    /// Hidden offset, W (or V, A, dB, K, kg).
    pub offset: f64,
    /// Shows 0 and counts nothing below this true power, W.
    pub floor_w: f64,
    /// Below this power factor the reading is multiplied by the second number.
    pub low_pf: Option<(f64, f64)>,
    /// Step of the power (or only) display.
    pub step: f64,
    /// Step of the energy counter, Wh.
    pub step_wh: f64,
    /// How the counter's and the display's last digit come about.
    pub counter_digit: LastDigit,
    /// Own draw, W.
    pub own_w: f64,
    /// Where that comes from.
    pub feed: Feed,
    /// Whether what it shows includes its own draw.
    pub shows_own: bool,
    /// What its maker states.
    pub stated: Statement,
}

impl Meter {
    /// An instrument of the bench by id.
    pub fn bench(id: &str) -> Option<Meter> {
        bench().into_iter().find(|m| m.id == id)
    }

    /// What hangs on the outlet beside the load, W.
    pub fn beside_w(&self) -> f64 {
        if self.feed == Feed::Outlet { self.own_w } else { 0.0 }
    }

    /// The power it means to show for a true load of `watts`, before the last digit, W.
    pub fn power(&self, watts: f64, power_factor: f64) -> f64 {
        let through = watts + if self.shows_own { self.own_w } else { 0.0 };
        if through < self.floor_w {
            return 0.0;
        }
        let pf = match self.low_pf {
            Some((below, factor)) if power_factor < below => factor,
            _ => 1.0,
        };
        (through * (1.0 + self.gain) * pf + self.offset).max(0.0)
    }

    /// What its counter gains over a discharge, before the last digit, Wh.
    pub fn counted(&self, run: &Discharge) -> f64 {
        run.stretches.iter().map(|s| s.hours * self.power(s.watts, s.power_factor)).sum()
    }

    /// The power display as text with its unit.
    pub fn power_text(&self, watts: f64, power_factor: f64) -> String {
        format!("{} W", in_steps(self.power(watts, power_factor), self.step, LastDigit::Rounded))
    }

    /// The counter display as text with its unit, for a counter truly at `wh`.
    pub fn counter_text(&self, wh: f64) -> String {
        if self.step_wh < 1.0 {
            return format!("{} Wh", in_steps(wh, self.step_wh, self.counter_digit));
        }
        format!("{} kWh", in_steps(wh / 1000.0, self.step_wh / 1000.0, self.counter_digit))
    }

    /// Any other quantity as it shows it, without a unit.
    pub fn number(&self, truth: f64) -> String {
        in_steps(truth * (1.0 + self.gain) + self.offset, self.step, LastDigit::Rounded)
    }
}

/// `value` on a grid of `step`, written with as many decimals as the step has.
pub fn in_steps(value: f64, step: f64, digit: LastDigit) -> String {
    let n = match digit {
        LastDigit::Rounded => (value / step).round(),
        LastDigit::Truncated => (value / step + 1e-9).floor(),
    };
    let mut decimals = 0;
    let mut s = step;
    while (s - s.round()).abs() > 1e-9 && decimals < 6 {
        s *= 10.0;
        decimals += 1;
    }
    format!("{:.decimals$}", n * step)
}

/// Elapsed time as a meter shows it: hours and whole minutes, seconds dropped.
pub fn hours_minutes(hours: f64) -> String {
    let minutes = (hours * 60.0 + 1e-9).floor() as i64;
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

fn plain(id: &str, name: &str, gain: f64, offset: f64, step: f64, stated: (f64, f64)) -> Meter {
    Meter {
        id: id.into(),
        name: name.into(),
        gain,
        offset,
        floor_w: 0.0,
        low_pf: None,
        step,
        step_wh: 1.0,
        counter_digit: LastDigit::Rounded,
        own_w: 0.0,
        feed: Feed::Itself,
        shows_own: false,
        stated: Statement { gain_pct: stated.0, offset: stated.1 },
    }
}

/// The whole invented bench.
pub fn bench() -> Vec<Meter> {
    let m1 = Meter {
        floor_w: 1.5,
        low_pf: Some((0.6, 0.94)),
        step_wh: 10.0,
        counter_digit: LastDigit::Truncated,
        own_w: 0.5,
        feed: Feed::Outlet,
        shows_own: true,
        ..plain("M1", "display-only plug meter, 120 V", 0.009, -0.3, 0.1, (1.5, 0.5))
    };
    let m12 = Meter {
        id: "M12".into(),
        name: "display-only plug meter, 230 V".into(),
        gain: -0.004,
        offset: 0.2,
        ..m1.clone()
    };
    let m2 = Meter {
        own_w: 1.1,
        feed: Feed::Outlet,
        ..plain("M2", "logging smart plug", -0.006, 0.0, 1.0, (1.0, 1.0))
    };
    let m3 = Meter {
        step_wh: 10.0,
        counter_digit: LastDigit::Truncated,
        own_w: 0.9,
        feed: Feed::Mains,
        ..plain("M3", "DIN-rail meter, Modbus RTU", 0.0015, 0.0, 0.01, (1.0, 0.0))
    };
    vec![
        m1,
        m2,
        m3,
        plain("M4", "oscilloscope with ×200 differential probe", -0.012, 1.5, 0.1, (3.0, 4.0)),
        Meter { own_w: 0.05, ..plain("M5", "USB-C inline meter", 0.004, 0.0, 0.01, (1.0, 0.02)) },
        plain("M6", "DC clamp", 0.015, 0.3, 0.01, (2.0, 0.5)),
        plain("M7", "sound meter class 2", 0.0, 0.6, 0.1, (0.0, 1.4)),
        plain("M8", "thermocouple pair", 0.0, 0.8, 0.1, (0.0, 1.5)),
        plain("M9", "floor scale", 0.0, -0.05, 0.05, (0.0, 0.1)),
        plain("M10", "SCPI electronic load, 300 W DC", 0.001, 0.0, 0.001, (0.2, 0.01)),
        plain("M11", "room logger", 0.0, 0.4, 0.1, (0.0, 0.5)),
        m12,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    // M1 by hand: (100 + 0.5)·1.009 − 0.3 = 101.1045 W; at PF 0.52 (12.5·1.009·0.94) − 0.3 = 11.556 W; 1 + 0.5 W is on
    // its floor of 1.5 W, 0.9 + 0.5 W below it.
    #[test]
    fn m1_shows_what_its_errors_say() {
        let m = Meter::bench("M1").unwrap();
        assert_eq!(m.power_text(100.0, 1.0), "101.1 W");
        assert_eq!(m.power_text(12.0, 0.52), "11.6 W");
        assert_eq!(m.power_text(0.9, 1.0), "0.0 W");
        assert_eq!(m.counter_text(919.9), "0.91 kWh");
        assert_eq!(m.counter_text(920.0), "0.92 kWh");
    }

    #[test]
    fn digits() {
        assert_eq!(in_steps(13.249, 0.05, LastDigit::Rounded), "13.25");
        assert_eq!(in_steps(13.0, 1.0, LastDigit::Truncated), "13");
        assert_eq!(hours_minutes(1.999), "1:59");
        assert_eq!(hours_minutes(100.0), "100:00");
    }

    // Every accuracy statement holds the hidden error at a small and a large reading.
    #[test]
    fn statements_hold_the_hidden_errors() {
        for m in bench() {
            assert!(
                100.0 * m.gain.abs() <= m.stated.gain_pct && m.offset.abs() <= m.stated.offset,
                "{}",
                m.id
            );
        }
    }
}
