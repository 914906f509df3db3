//! What a header says: the role and unit of a column, in any of the languages known or by the unit alone.
use super::mapping::Role;
use super::words::{COUNTER_WORDS, INTERVAL_WORDS, TIME_WORDS, Unit, WORDS, fold, unit_of};

/// What a column's header tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Said {
    pub(crate) role: Option<Role>,
    pub(crate) unit: Option<Unit>,
    /// The words say whether an energy column counts on (`Some(true)`) or is per interval (`Some(false)`).
    pub(crate) counts: Option<bool>,
    /// A word for time or date stands there.
    pub(crate) time: bool,
}

/// Reads a header such as `Leistung (W)`, `Power, W`, `total_kwh`, `Watt-hr`, `t_s`, `Température [°C]`, `v`.
pub(crate) fn said(name: &str) -> Said {
    let low = fold(name.trim());
    let (words, unit) = split_unit(name.trim());
    let folded = fold(&words);
    let by_word =
        WORDS.iter().find(|(_, list)| list.iter().any(|w| has_word(&folded, w))).map(|(role, _)| *role);
    let by_symbol = match low.as_str() {
        "p" => Some(Role::Power),
        "u" | "v" => Some(Role::Voltage),
        "i" => Some(Role::Current),
        "e" => Some(Role::EnergyCounter),
        "pf" => Some(Role::PowerFactor),
        "unit" | "einheit" | "unite" | "unidad" | "unita" | "eenheid" => Some(Role::UnitOfPrevious),
        "id" | "name" | "channel" | "sensor" => Some(Role::Device),
        _ => None,
    };
    let time = TIME_WORDS.iter().any(|w| has_word(&folded, w)) || folded == "t";
    // A unit outranks a word: "Power (kWh)" is energy. Time units only count beside a time word or alone.
    let role = match unit {
        Some(u)
            if u.role == Role::Elapsed && !time && by_word != Some(Role::Elapsed) && !words.is_empty() =>
        {
            by_word
        }
        Some(u) => Some(u.role),
        None => by_symbol.or(if time && by_word != Some(Role::Elapsed) { None } else { by_word }),
    };
    let says = |list: &[&str]| list.iter().any(|w| folded.contains(w));
    let counts = match (says(COUNTER_WORDS), says(INTERVAL_WORDS)) {
        (_, true) => Some(false),
        (true, false) => Some(true),
        _ => None,
    };
    Said { role, unit, counts, time }
}

/// Short words must stand alone; longer ones may be part of a compound (`Wirkleistung`).
fn has_word(text: &str, word: &str) -> bool {
    if word.len() > 4 || !word.is_ascii() {
        return text.contains(word);
    }
    let edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphabetic());
    text.match_indices(word).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + word.len()..].chars().next();
        // A plural or an ending may follow ("temp 1", "amps"); nothing may stand before.
        edge(before) && (edge(after) || word.len() > 2 && text[at + word.len()..].len() <= 2)
    }) || (word.len() > 3 && text.starts_with(word))
}

/// The words and the unit of a header.
fn split_unit(name: &str) -> (String, Option<Unit>) {
    for (open, close) in [('(', ')'), ('[', ']'), ('/', ' ')] {
        if let Some(at) = name.rfind(open) {
            let inside = name[at + open.len_utf8()..].trim_end_matches(close).trim();
            if let Some(unit) = unit_of(inside) {
                return (name[..at].trim().to_string(), Some(unit));
            }
        }
    }
    if let Some(unit) = unit_of(name) {
        return (String::new(), Some(unit));
    }
    // `Power, W` · `power_w` · `Power W` · `C1 in V`
    if let Some(at) = name.rfind([',', '_', ' ', '.', ':']) {
        let (words, rest) = (name[..at].trim(), name[at + 1..].trim());
        // A lone small letter behind an underscore may be a unit (`t_s`) but not behind a space (`phase a`).
        let plain = rest.chars().count() > 1
            || !rest.is_ascii()
            || rest.contains(['W', 'V', 'A'])
            || !name[at..].starts_with(' ');
        if plain && let Some(unit) = unit_of(rest) {
            return (words.to_string(), Some(unit));
        }
    }
    (name.to_string(), None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers() {
        for (name, role, unit) in [
            ("Leistung (W)", Some(Role::Power), Some("W")),
            ("Energie (kWh)", Some(Role::EnergyCounter), Some("kW.h")),
            ("Spannung (V)", Some(Role::Voltage), Some("V")),
            ("Power, W", Some(Role::Power), Some("W")),
            ("Total, kWh", Some(Role::EnergyCounter), Some("kW.h")),
            ("total_kwh", Some(Role::EnergyCounter), Some("kW.h")),
            ("Température (°C)", Some(Role::Temperature), Some("Cel")),
            ("Puissance (kW)", Some(Role::Power), Some("kW")),
            ("watts", Some(Role::Power), Some("W")),
            ("volts", Some(Role::Voltage), Some("V")),
            ("amps", Some(Role::Current), Some("A")),
            ("kwh", Some(Role::EnergyCounter), Some("kW.h")),
            ("Watt-hr", Some(Role::EnergyCounter), Some("W.h")),
            ("Current(A)", Some(Role::Current), Some("A")),
            ("TestTime(s)", Some(Role::Elapsed), Some("s")),
            ("Capacity(Ah)", Some(Role::Other), Some("A.h")),
            ("t_s", Some(Role::Elapsed), Some("s")),
            ("v", Some(Role::Voltage), Some("V")),
            ("i", Some(Role::Current), None),
            ("Power", Some(Role::Power), None),
            ("Power factor", Some(Role::PowerFactor), None),
            ("Wirkleistung", Some(Role::Power), None),
            ("device", Some(Role::Device), None),
            ("功率", Some(Role::Power), None),
            ("time", None, None),
            ("Step", None, None),
        ] {
            let s = said(name);
            assert_eq!((s.role, s.unit.map(|u| u.ucum)), (role, unit), "{name}");
        }
        assert!(said("Zeit").time && said("local").time && said("Heure").time);
        assert_eq!(said("Total, kWh").counts, Some(true));
    }
}
