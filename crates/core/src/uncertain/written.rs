//! How a value is written as data: contributions as a list, endless degrees of freedom left out.
use super::{Influence, Part};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::collections::BTreeMap;

/// Contributions as a list of pairs, because an influence is no text that could name a member.
pub mod parts {
    use super::*;

    pub fn serialize<S: Serializer>(parts: &BTreeMap<Influence, Part>, to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(parts)
    }
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<BTreeMap<Influence, Part>, D::Error> {
        Ok(Vec::<(Influence, Part)>::deserialize(from)?.into_iter().collect())
    }
}

/// Degrees of freedom; JSON knows no infinity.
pub mod dof {
    use super::*;

    pub fn serialize<S: Serializer>(dof: &f64, to: S) -> Result<S::Ok, S::Error> {
        dof.serialize(to)
    }
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<f64, D::Error> {
        Ok(Option::<f64>::deserialize(from)?.unwrap_or(f64::INFINITY))
    }
}

pub fn endless() -> f64 {
    f64::INFINITY
}

pub fn is_endless(dof: &f64) -> bool {
    dof.is_infinite()
}
