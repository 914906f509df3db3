//! Every kind of bench test, in the order they are planned and shown.
mod usable_energy;
pub mod idle_draw;
mod sustained_output;
mod overload_staircase;
mod recharge;
mod switchover;
mod cycling_load;
mod appliance;
mod mass;

use crate::kind::{Column, Kind};
use std::sync::OnceLock;

/// The list. A new kind is one file, one `mod` line above and one line here.
pub static KINDS: &[&dyn Kind] = &[
    &usable_energy::UsableEnergy,
    &idle_draw::IdleDraw,
    &sustained_output::SustainedOutput,
    &overload_staircase::OverloadStaircase,
    &recharge::Recharge,
    &switchover::Switchover,
    &cycling_load::CyclingLoad,
    &appliance::Appliance,
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
