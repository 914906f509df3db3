//! The physics of one station: loss, available energy, outlet voltage, runtime at a constant load, charge display.
//!
//! P_dc = P + P0 + k1·P + (q/P_rated)·P²; E_avail = E_cell·(1 − α·P_dc/E_cell)·(1 − AC reserve)·temperature·ageing;
//! runtime = E_avail/P_dc; V = V0·(1 − drop·P/P_rated). The model is invented for this project.
use crate::behaviour::{Behaviour, Display};
use crate::truth::{ChargeTruth, Truth, truth};

/// One specimen with one firmware: all that physics needs.
#[derive(Clone, Debug)]
pub struct Station {
    /// Model id, `U07`.
    pub id: String,
    /// Specimen, `U07-A`.
    pub specimen: String,
    /// Firmware.
    pub firmware: String,
    /// Rated power, W.
    pub rated_w: f64,
    /// Cell energy at 25 °C when new, Wh.
    pub cell_wh: f64,
    /// Share the AC outlet never gets, 0–1.
    pub reserve: f64,
    /// P0, W.
    pub idle_w: f64,
    /// Draw with the outlet off, W.
    pub system_w: f64,
    /// Linear loss.
    pub k1: f64,
    /// Quadratic loss share at rated power.
    pub q: f64,
    /// Rate effect, hours.
    pub alpha: f64,
    /// Outlet voltage at no load, V.
    pub volts: f64,
    /// Fall of voltage at rated power, 0–1.
    pub drop: f64,
    /// Energy factor at −5 °C.
    pub cold_factor: f64,
    /// Full cycles so far.
    pub cycles: f64,
    /// Age, years.
    pub years: f64,
    /// Limits and display.
    pub behaviour: Behaviour,
    /// Mains charging.
    pub charge: ChargeTruth,
    /// Switchover, ms: mean, standard deviation.
    pub switchover_ms: Option<(f64, f64)>,
}

/// How one run differs from the specimen's mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variation {
    /// Factor on the cell energy.
    pub cell: f64,
    /// Factor on P0.
    pub idle: f64,
}

impl Variation {
    /// A run that behaves as the mean.
    pub const NONE: Variation = Variation { cell: 1.0, idle: 1.0 };
}

/// Added to P0 by U13's expansion pack, W, and its true cell energy, Wh (claimed 3,450).
pub const EXPANSION: (f64, f64) = (4.5, 3372.0);

impl Station {
    /// A station as its truth says, with the first firmware. U07 is sample B, the bought one.
    pub fn new(truth: &Truth) -> Station {
        let first = truth.firmware.split(',').next().unwrap_or_default().trim();
        let letter = if truth.id == "U07" { "B" } else { "A" };
        Station {
            id: truth.id.clone(),
            specimen: format!("{}-{letter}", truth.id),
            firmware: first.to_string(),
            rated_w: truth.rated_w,
            cell_wh: truth.cell_wh,
            reserve: truth.reserve_ac,
            idle_w: truth.idle_w,
            system_w: truth.system_w,
            k1: truth.k1,
            q: truth.q,
            alpha: truth.alpha,
            volts: truth.volts,
            drop: truth.drop_pct / 100.0,
            cold_factor: truth.cold.0,
            cycles: 0.0,
            years: 0.0,
            behaviour: Behaviour::of(truth),
            charge: truth.charge,
            switchover_ms: truth.switchover_ms,
        }
    }

    /// All specimen × firmware pairs of a model that were on the bench, in order of testing.
    pub fn specimens(id: &str) -> Vec<Station> {
        let Some(truth) = truth(id) else { return Vec::new() };
        let first = Station::new(truth);
        match id {
            "U06" => {
                let switchover_ms = Some((8.1, 1.5));
                vec![first.clone(), Station { firmware: "2.3".into(), switchover_ms, ..first }]
            }
            "U07" => {
                let mut behaviour = first.behaviour.clone();
                // Lent sample A ran 22 min at 25 °C: 60 K = r·loss·(1 − e^(−22/14)), so r = 0.338 at a loss of 223.9 W.
                behaviour.sustained =
                    crate::behaviour::Sustained::Thermal { r: 0.3382, tau_min: 14.0, trip_c: 85.0 };
                let a = Station { specimen: "U07-A".into(), cell_wh: 1093.0, behaviour, ..first.clone() };
                vec![a, first]
            }
            "U08" => vec![first.clone(), Station { firmware: "1.2.0".into(), idle_w: 11.0, ..first }],
            _ => vec![first],
        }
    }

    /// The same station with its expansion pack (U13).
    pub fn expanded(&self) -> Station {
        let specimen = format!("{}+pack", self.specimen);
        Station {
            specimen,
            idle_w: self.idle_w + EXPANSION.0,
            cell_wh: self.cell_wh + EXPANSION.1,
            ..self.clone()
        }
    }

    /// Battery-side power for `w` at the outlet, W.
    pub fn battery_w(&self, w: f64, run: Variation) -> f64 {
        w + self.idle_w * run.idle + self.k1 * w + self.q / self.rated_w * w * w
    }

    /// Energy factor of temperature (25 °C: 1, linear to the cold value at −5 °C) and ageing.
    pub fn energy_factor(&self, ambient_c: f64) -> f64 {
        let cold = ((25.0 - ambient_c) / 30.0).max(0.0);
        let temperature = (1.0 - (1.0 - self.cold_factor) * cold).max(0.2);
        let ageing = 1.0 - 0.018 * (self.cycles / 100.0).sqrt() - 0.01 * self.years;
        temperature * ageing.max(0.0)
    }

    /// Battery energy to AC cut-off at a constant outlet power, Wh.
    pub fn available_wh(&self, w: f64, ambient_c: f64, run: Variation) -> f64 {
        let cells = self.cell_wh * run.cell - self.alpha * self.battery_w(w, run);
        cells.max(1.0) * (1.0 - self.reserve) * self.energy_factor(ambient_c)
    }

    /// Share of the AC store drained per hour at outlet power `w`.
    pub fn drain_per_hour(&self, w: f64, ambient_c: f64, run: Variation) -> f64 {
        self.battery_w(w, run) / self.available_wh(w, ambient_c, run)
    }

    /// Hours to AC cut-off at constant power, 25 °C, no limits.
    pub fn runtime_h(&self, w: f64) -> f64 {
        1.0 / self.drain_per_hour(w, 25.0, Variation::NONE)
    }

    /// Wh at the outlet to AC cut-off at constant power, 25 °C, no limits.
    pub fn energy_wh(&self, w: f64) -> f64 {
        w * self.runtime_h(w)
    }

    /// Idle draw in outlet watts, P0/(1 + k1).
    pub fn idle_outlet_w(&self) -> f64 {
        self.idle_w / (1.0 + self.k1)
    }

    /// Outlet voltage at power `w`.
    pub fn volts_at(&self, w: f64) -> f64 {
        self.volts * (1.0 - self.drop * w / self.rated_w)
    }

    /// Total power of `watts` plus a heating element of `ohms` at the voltage that this power leaves.
    pub fn outlet_w(&self, watts: f64, ohms: Option<f64>) -> f64 {
        let Some(r) = ohms else { return watts };
        let mut p = watts;
        // Falls in a few rounds: each round's error shrinks by twice the relative fall of voltage (12 % at worst).
        for _ in 0..30 {
            let v = self.volts_at(p).max(0.0);
            p = watts + v * v / r;
        }
        p
    }

    /// The element that takes `w` when hot, Ω (with a fan of `fan_w`).
    pub fn ohms_for(&self, w: f64, fan_w: f64) -> f64 {
        let v = self.volts_at(w);
        v * v / (w - fan_w).max(1e-6)
    }

    /// Percent shown with `left` (0–1) of the AC energy remaining.
    pub fn shown_percent(&self, left: f64) -> f64 {
        let cells = self.reserve + (1.0 - self.reserve) * left;
        let shown = match self.behaviour.display {
            // The error is 0 at 0, 20, 40, 60, 80 and 100 % and greatest between.
            Display::Linear { points } => 100.0 * cells + points * (5.0 * std::f64::consts::PI * cells).sin(),
            Display::HoldsFull { held, dies_at } => {
                dies_at + (100.0 - dies_at) * (left / (1.0 - held)).min(1.0)
            }
            Display::SticksAtOne { left: stuck } => 1.0 + 99.0 * ((left - stuck) / (1.0 - stuck)).max(0.0),
        };
        // A display counts up to the next whole percent only when it is reached.
        (shown + 1e-9).floor().clamp(0.0, 100.0)
    }
}
