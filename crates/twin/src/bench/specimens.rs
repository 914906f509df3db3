//! How each sample came to the bench, and the firmware it carried.
use crate::day::WrittenTest;
use crate::station::Station;
use crate::truth::truths;
use trueplate_core::notebook::{Came, Firmware, Specimen};
use trueplate_core::outgoing::Terms;

/// Every sample that was on the bench.
pub(super) fn specimens(written: &[WrittenTest]) -> Vec<Specimen> {
    let mut all: Vec<Specimen> = Vec::new();
    for station in truths().iter().flat_map(|t| Station::specimens(&t.id)) {
        if all.iter().any(|s| s.id == station.specimen) {
            continue;
        }
        let (came, provenance, returned) = provenance(&station.specimen);
        all.push(Specimen {
            id: station.specimen.clone(),
            model: station.id.clone(),
            label: label(&station),
            serial: format!("demo-{}", station.specimen),
            came,
            provenance: provenance.into(),
            returned: returned.into(),
            firmware: firmware(written, &station.specimen),
            terms: Terms {
                by: if came == Came::Bought { String::new() } else { "the maker".into() },
                paid_links: Some(false),
                previewed: (came != Came::Bought).then_some(false),
                ..Terms::default()
            },
            ..Specimen::default()
        });
    }
    all
}

fn label(station: &Station) -> String {
    match station.id.as_str() {
        "U07" => format!("sample {}", station.specimen.trim_start_matches("U07-")),
        _ => String::new(),
    }
}

/// Versions in the order the tests met them; the first is as received.
fn firmware(written: &[WrittenTest], specimen: &str) -> Vec<Firmware> {
    let mut versions: Vec<Firmware> = Vec::new();
    for page in written.iter().filter(|p| p.specimen == specimen && p.firmware != "none") {
        if versions.iter().any(|v| v.version == page.firmware) {
            continue;
        }
        let day = page.at.split('T').next().unwrap_or_default();
        let from = if versions.is_empty() { String::new() } else { day.into() };
        versions.push(Firmware { version: page.firmware.clone(), from });
    }
    versions
}

fn provenance(specimen: &str) -> (Came, &'static str, &'static str) {
    let online = "Bought online at an ordinary seller, paid in full, kept.";
    match specimen {
        "U02-A" | "U10-A" => (Came::Bought, "Bought in a shop off the shelf, paid in full, kept.", ""),
        "U03-A" => (Came::Bought, "Bought at a market place from its usual seller, paid in full, kept.", ""),
        "U05-A" => (Came::Bought, "Bought online in a sale, paid in full, kept.", ""),
        "U06-A" => (Came::Lent, "Lent by the maker; sent back 12 May 2026.", "2026-05-12"),
        "U07-A" => {
            (Came::Lent, "Lent by the maker, who chose the sample; sent back 29 December 2025.", "2025-12-29")
        }
        "U07-B" => (
            Came::Bought,
            "Bought online at an ordinary seller, paid in full, kept; tested beside the lent sample A.",
            "",
        ),
        "U08-A" => (
            Came::Given,
            "Given by the maker without conditions, kept. That is disclosed with every result.",
            "",
        ),
        "U12-A" => (Came::Bought, "Bought abroad online, 230 V and 50 Hz, paid in full, kept.", ""),
        "U13-A" => (Came::Lent, "Lent by the maker, still on the bench on 30 June 2026.", ""),
        "U14-A" => (
            Came::Bought,
            "Bought directly from the maker's shop under a private name, paid in full, kept.",
            "",
        ),
        _ => (Came::Bought, online, ""),
    }
}
