//! What a panel makes of the light: cell temperature, power, losses.

/// Cell temperature by the nominal operating cell temperature (Ross 1976): T = T_air + (NOCT − 20)·G/800, °C.
pub fn cell_noct(air_c: f64, irradiance: f64, noct_c: f64) -> f64 {
    air_c + (noct_c - 20.0) * irradiance / 800.0
}

/// Cell temperature in wind, °C: Faiman 2008, T = T_air + G/(25 + 6.84·v), v in m/s at the panel.
pub fn cell_faiman(air_c: f64, irradiance: f64, wind: f64) -> f64 {
    air_c + irradiance / (25.0 + 6.84 * wind)
}

/// Power of a panel, W: P_stc·G/1000·(1 + γ·(T_cell − 25)) (PVWatts version 5, Dobos 2014, NREL/TP-6A20-62641).
/// `gamma` per kelvin, about −0.0035; `stc_w` is the power on its label.
pub fn dc_power(stc_w: f64, irradiance: f64, cell_c: f64, gamma: f64) -> f64 {
    (stc_w * irradiance / 1000.0 * (1.0 + gamma * (cell_c - 25.0))).max(0.0)
}

/// Losses taken together: 1 − Π(1 − L), each as a share.
pub fn losses(each: &[f64]) -> f64 {
    1.0 - each.iter().map(|l| 1.0 - l).product::<f64>()
}

/// Soiling, shading, snow, mismatch, wiring, connections, light-induced change, label, age, outages: the defaults of
/// PVWatts version 5, together 14.08 %.
pub(super) const USUAL_LOSSES: [f64; 10] = [0.02, 0.03, 0.0, 0.02, 0.02, 0.005, 0.015, 0.01, 0.0, 0.03];
