//! Every kind of bench test, in the order they are planned and shown.
mod usable_energy;
pub mod idle_draw;
mod low_load_switch_off;
mod sustained_output;
mod overload_staircase;
mod starting_power;
mod recharge;
mod round_trip;
mod car_charging;
mod charge_in_use;
mod switchover;
mod waveform;
mod regulation;
mod solar_bench;
mod solar_sky;
mod cycling_load;
mod appliance;
mod dc_energy;
mod port_power;
mod charge_display;
mod noise;
mod touch_temperature;
mod cold;
mod standby_loss;
mod ageing;
mod expansion;
mod earth_neutral;
mod mass;

use crate::kind::{Column, Kind};
use std::sync::OnceLock;

/// The list. A new kind is one file, one `mod` line above and one line here.
pub static KINDS: &[&dyn Kind] = &[
    &usable_energy::UsableEnergy,
    &idle_draw::IdleDraw,
    &low_load_switch_off::LowLoadSwitchOff,
    &sustained_output::SustainedOutput,
    &overload_staircase::OverloadStaircase,
    &starting_power::StartingPower,
    &recharge::Recharge,
    &round_trip::RoundTrip,
    &car_charging::CarCharging,
    &charge_in_use::ChargeInUse,
    &switchover::Switchover,
    &waveform::Waveform,
    &regulation::Regulation,
    &solar_bench::SolarBench,
    &solar_sky::SolarSky,
    &cycling_load::CyclingLoad,
    &appliance::Appliance,
    &dc_energy::DcEnergy,
    &port_power::PortPower,
    &charge_display::ChargeDisplay,
    &noise::Noise,
    &touch_temperature::TouchTemperature,
    &cold::Cold,
    &standby_loss::StandbyLoss,
    &ageing::Ageing,
    &expansion::Expansion,
    &earth_neutral::EarthNeutral,
    &mass::Mass,
];

/// The kind with this id.
pub fn find(id: &str) -> Option<&'static dyn Kind> {
    KINDS.iter().copied().find(|k| k.spec().id == id)
}

/// Every comparison column of every kind, in order.
pub fn columns() -> &'static [Column] {
    static COLUMNS: OnceLock<Vec<Column>> = OnceLock::new();
    COLUMNS.get_or_init(|| KINDS.iter().flat_map(|k| k.spec().columns()).collect())
}
