//! The hidden truth of the fourteen invented stations, read from `data/stations.json`.
//!
//! Every number there is invented for this project; the `oracle` block of each station says what a perfect
//! instrument would read and was computed apart from this crate.
use serde::Deserialize;
use std::sync::LazyLock;

/// One invented station: what its maker says and what is true.
#[derive(Clone, Debug, Deserialize)]
pub struct Truth {
    /// `U01` … `U14`.
    pub id: String,
    /// Maker and model as printed on the box.
    pub name: String,
    /// Cell chemistry, `NMC` or `LFP`.
    #[serde(rename = "chem")]
    pub chemistry: String,
    /// Claimed nominal energy, Wh.
    #[serde(rename = "claim_Wh")]
    pub claim_wh: f64,
    /// Claimed continuous power, W.
    #[serde(rename = "rated_W")]
    pub rated_w: f64,
    /// Claimed starting power, W.
    #[serde(rename = "surge_claim_W")]
    pub surge_claim_w: f64,
    /// True cell energy at 25 °C, Wh.
    #[serde(rename = "E_cell_Wh")]
    pub cell_wh: f64,
    /// Share of the cell energy the AC outlet never gets, 0–1.
    pub reserve_ac: f64,
    /// Battery-side draw with the outlet on and nothing plugged in, W.
    #[serde(rename = "P0_W")]
    pub idle_w: f64,
    /// Battery-side draw with the outlet off, W.
    #[serde(rename = "Psys_W")]
    pub system_w: f64,
    /// Loss proportional to the outlet power, 1.
    pub k1: f64,
    /// Quadratic loss at rated power as a share of rated power, 1.
    #[serde(rename = "k2_share_at_rated")]
    pub q: f64,
    /// Rate effect of the cells, hours: available energy falls by α·P_dc.
    pub alpha: f64,
    /// Outlet voltage at no load, V.
    #[serde(rename = "V_noload")]
    pub volts: f64,
    /// Fall of the outlet voltage at rated power, %.
    #[serde(rename = "V_drop_pct_at_rated")]
    pub drop_pct: f64,
    /// Mains charging.
    pub charge: ChargeTruth,
    /// Mass in kg: claimed, true.
    #[serde(rename = "w")]
    pub mass_kg: (f64, f64),
    /// How the specimen came to the bench.
    #[serde(rename = "prov")]
    pub provenance: String,
    /// Prices seen.
    pub price: Vec<Price>,
    /// Firmware as the box shows it; two versions where one was updated on the bench.
    #[serde(rename = "fw")]
    pub firmware: String,
    /// What it sustains, in words.
    #[serde(rename = "sust")]
    pub sustained: String,
    /// Seconds held at 105/115/130/150/200 % of rated power, as text; `inf` = never trips.
    pub trip: String,
    /// Starting power, W: claimed, truly held for 0.5 s.
    #[serde(rename = "surge")]
    pub surge_w: (f64, f64),
    /// Switchover in ms: mean and standard deviation. `None`: no such function.
    #[serde(rename = "ups")]
    pub switchover_ms: Option<(f64, f64)>,
    /// The maker's words about switchover.
    #[serde(rename = "upsclaim")]
    pub switchover_claim: String,
    /// Low-load switch-off, in words.
    pub eco: String,
    /// Source level, dB(A) at 1 m: fan off, 50 %, 100 %, charging.
    #[serde(rename = "noise")]
    pub noise_db: (f64, f64, f64, f64),
    /// The maker's words about recharge time.
    #[serde(rename = "t80")]
    pub charge_claim: String,
    /// Total harmonic distortion, %: no load, rated.
    #[serde(rename = "thd")]
    pub thd_pct: (f64, f64),
    /// Outlet frequency, Hz.
    #[serde(rename = "frq")]
    pub hertz: f64,
    /// Waveform, in words.
    #[serde(rename = "vtype")]
    pub waveform: String,
    /// Energy factor at −5 °C and how it charges in the cold, in words.
    pub cold: (f64, String),
    /// Hottest spot of the case at rated power, °C.
    #[serde(rename = "case")]
    pub case_c: f64,
    /// Solar input: the maker's window, true greatest W, efficiency.
    pub solar: (String, f64, f64),
    /// DC ports, in words.
    #[serde(rename = "dc")]
    pub ports: String,
    /// Efficiency of the 12 V path.
    #[serde(rename = "edc")]
    pub dc_efficiency: f64,
    /// Loss switched off, % in 30 days.
    #[serde(rename = "sd")]
    pub standby_pct_30d: f64,
    /// How the charge display behaves, in words.
    #[serde(rename = "soc")]
    pub display: String,
    /// What a perfect instrument reads, computed apart from this crate.
    pub oracle: Oracle,
}

/// Mains charging of one station.
#[derive(Clone, Copy, Debug, Deserialize)]
pub struct ChargeTruth {
    /// Greatest wall power, W.
    #[serde(rename = "P_wall_W")]
    pub wall_w: f64,
    /// Wall to cells.
    #[serde(rename = "eta")]
    pub efficiency: f64,
    /// Charge level where the taper starts, 0–1.
    #[serde(rename = "soc_taper")]
    pub taper_from: f64,
    /// Exponential constant of the taper in charge level.
    #[serde(rename = "taper_s")]
    pub taper: f64,
    /// The taper never falls below this wall power, W.
    #[serde(rename = "P_floor_W")]
    pub floor_w: f64,
    /// Balancing at 60 % of the floor for so many minutes.
    #[serde(rename = "tail_min")]
    pub tail_min: f64,
}

/// A price seen: currency, amount, date (none for one station, on purpose), kind.
#[derive(Clone, Debug, Deserialize)]
pub struct Price(
    /// Currency code.
    pub String,
    /// Amount.
    pub f64,
    /// Civil date.
    pub Option<String>,
    /// `list`, `sale`, …
    pub String,
);

/// What a perfect instrument reads at 25 °C, for tests.
#[derive(Clone, Copy, Debug, Deserialize)]
pub struct Oracle {
    /// Wh at the outlet at 10 % of rated power.
    pub e10: f64,
    /// Wh at 25 %.
    pub e25: f64,
    /// Wh at 50 %.
    pub e50: f64,
    /// Wh at 80 %.
    pub e80: f64,
    /// Wh at 100 %, protection ignored.
    pub e100: f64,
    /// Hours at no load, rate effect ignored.
    pub t0: f64,
    /// Hours at 10 W.
    pub t10: f64,
    /// Hours at 60 W.
    pub t60: f64,
    /// Idle draw in outlet watts, P0/(1 + k1).
    pub a: f64,
    /// Cell energy above the AC reserve in outlet Wh.
    #[serde(rename = "Eeff")]
    pub effective_wh: f64,
    /// Best efficiency of the inverter, 0–1.
    pub peak: f64,
    /// Wall Wh from AC cut-off to full.
    pub wall: f64,
    /// Wall Wh from empty cells to full.
    pub wall_empty: f64,
    /// Minutes from AC cut-off to 80 % of cell energy.
    pub t80: f64,
    /// Minutes from AC cut-off to the charger's own stop.
    pub t100: f64,
    /// Outlet Wh at 50 % over wall Wh from AC cut-off.
    pub rte: f64,
    /// Wh at the 12 V port.
    #[serde(rename = "dcWh")]
    pub dc_wh: f64,
}

#[derive(Deserialize)]
struct Data {
    stations: Vec<Truth>,
}

static DATA: LazyLock<Vec<Truth>> = LazyLock::new(|| {
    serde_json::from_str::<Data>(include_str!("../data/stations.json"))
        .expect("data/stations.json is part of the source and parses (a test reads it)")
        .stations
});

/// All stations in order of id.
pub fn truths() -> &'static [Truth] {
    &DATA
}

/// The station of this id, e.g. `U07`.
pub fn truth(id: &str) -> Option<&'static Truth> {
    DATA.iter().find(|t| t.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fourteen_stations_in_order() {
        let ids: Vec<_> = truths().iter().map(|t| t.id.as_str()).collect();
        let want: Vec<_> = (1..=14).map(|n| format!("U{n:02}")).collect();
        assert_eq!(ids, want);
        assert_eq!(truth("U14").unwrap().price[0].2, None, "one price is undated on purpose");
    }
}
