//! What a model's record still lacks.
use crate::claims::ClaimRow;
use crate::judge::Verdict;
use crate::kind::Spec;
use crate::kinds::KINDS;
use crate::law::{Known, Load};
use crate::notebook::{Condition, Model, Notebook};
use crate::report::ModelReport;

/// A test that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// Id of the kind.
    pub kind: &'static str,
    /// Under which condition, where it matters.
    pub condition: Condition,
    /// Which verdict or answer it serves.
    pub why: String,
    /// Hours of waiting with the outlet on before a discharge, for the idle draw.
    pub idle_h: f64,
}

/// Loads of the runtime curve, as shares of the claimed power.
const CURVE: [&str; 3] = ["25 %", "50 %", "80 %"];
/// Idle time proposed before anything is known, h per 1000 Wh claimed (12 h for 1 kWh, 48 for 4 kWh; common practice).
const IDLE_PER_KWH: f64 = 12.0;

/// Everything a model still misses: discharges for the curve, the idle draw, and a test for each claim not tested.
pub fn wanted(notebook: &Notebook, model: &Model, shown: &ModelReport) -> Vec<Wanted> {
    let mut list = Vec::new();
    let law = shown.drains.iter().rev().find(|d| !d.superseded).and_then(|d| d.law.as_ref());
    let whole = law.is_some_and(|l| l.known == Known::Whole);
    for share in CURVE {
        let condition = Condition::from([("load".to_string(), share.to_string())]);
        if shown.value("usable-energy", &condition).is_none() && !whole {
            let why = format!("a point of the runtime curve at {share} load");
            list.push(Wanted { kind: "usable-energy", condition, why, idle_h: 0.0 });
        }
    }
    let answers_small = law.is_some_and(|l| l.answer(Load::steady(10.0)).is_ok());
    if shown.current("idle-draw").next().is_none() || !answers_small {
        let claimed = crate::kind::claimed(notebook, model, "stored-energy", crate::quantity::Dim::Energy);
        let hours = (claimed.unwrap_or(1000.0) / 1000.0 * IDLE_PER_KWH).clamp(8.0, 60.0).ceil();
        list.push(Wanted {
            kind: "idle-draw",
            condition: Condition::new(),
            why: "small loads and the idle draw".into(),
            idle_h: hours,
        });
    }
    for row in shown.claims.iter().filter(|c| open(c)) {
        let Some(spec) = tests(&row.claim.key).filter(|s| !list.iter().any(|w: &Wanted| w.kind == s.id))
        else {
            continue;
        };
        let title = row.result.map_or(row.claim.key.as_str(), |r| r.title);
        let why = format!("the claim {}: {}", title.to_lowercase(), row.claim.text);
        list.push(Wanted { kind: spec.id, condition: row.claim.condition.clone(), why, idle_h: 0.0 });
    }
    list
}

/// A verdict that a test could still bring.
fn open(row: &ClaimRow) -> bool {
    matches!(row.verdict, Verdict::NotTested | Verdict::ConditionsDiffer | Verdict::Superseded)
}

/// The kind whose result a claim speaks of. Stored energy is bracketed by a recharge from fully empty.
fn tests(key: &str) -> Option<&'static Spec> {
    let key = if key == "stored-energy" { "wall-energy" } else { key };
    KINDS.iter().map(|k| k.spec()).find(|s| s.results.iter().any(|r| r.key == key))
}
