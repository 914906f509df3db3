//! Taking it along: what the rules say of a battery of the stated energy, each with its source. Facts, not advice.
//!
//! The energy on the label decides, not what comes out of the outlet.

/// One rule and what it makes of this battery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Carried {
    /// Where it is to be taken: "as a passenger by air".
    pub how: &'static str,
    /// In a sentence, without full stop.
    pub text: &'static str,
    /// Whose rule, and where it stands.
    pub source: &'static str,
}

/// Up to this energy a passenger may carry it, and with the airline's approval up to the second; Wh.
const BY_AIR_WH: (f64, f64) = (100.0, 160.0);
const FAA: &str = "FAA, PackSafe: airline passengers and batteries; each airline may be stricter";
const UN: &str =
    "UN Manual of Tests and Criteria, section 38.3, amended 2019; carriers add rules of their own";

/// What the rules say; nothing of the air where the energy is not stated.
pub fn carried(stated_wh: Option<f64>) -> Vec<Carried> {
    let by_air = stated_wh.filter(|wh| *wh > 0.0).map(|wh| match wh {
        wh if wh <= BY_AIR_WH.0 => "allowed in the cabin, not in checked baggage: at most 100 Wh",
        wh if wh <= BY_AIR_WH.1 => {
            "in the cabin with the airline's approval, two at most: over 100 and at most 160 Wh"
        }
        _ => "forbidden in the cabin and in checked baggage: over 160 Wh",
    });
    let by_air = by_air.map(|text| Carried { how: "As a passenger by air", text, source: FAA });
    let freight = Carried {
        how: "By post or freight",
        text: "only of a type that passed the UN 38.3 tests; the maker owes the test summary on request",
        source: UN,
    };
    by_air.into_iter().chain([freight]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    #[test]
    fn a_hundred_and_a_hundred_and_sixty_watt_hours() {
        // FAA: up to 100 Wh allowed, 101 to 160 Wh with approval (two spares), above forbidden. 27 Ah · 3.7 V = 99.9 Wh.
        let air = |wh: f64| carried(Some(wh))[0].text;
        assert!(air(27.0 * 3.7).starts_with("allowed") && air(100.0).starts_with("allowed"));
        assert!(air(101.0).contains("approval") && air(160.0).contains("approval"));
        assert!(air(161.0).starts_with("forbidden") && air(1010.0).starts_with("forbidden"));
        assert_eq!(carried(None).len(), 1);
        assert!(carried(Some(300.0)).iter().all(|c| !c.source.is_empty()));
    }
}
