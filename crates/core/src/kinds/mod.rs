//! Every kind of bench test, in the order they are planned and shown.
mod usable_energy;
mod mass;

use crate::kind::Kind;

/// The list. A new kind is one file, one `mod` line above and one line here.
pub static KINDS: &[&dyn Kind] = &[&usable_energy::UsableEnergy, &mass::Mass];

/// The kind with this id.
pub fn find(id: &str) -> Option<&'static dyn Kind> {
    KINDS.iter().copied().find(|k| k.spec().id == id)
}
