//! Which appliances make a wanted power at this outlet.
use crate::notebook::{Load, LoadSort, Model, Notebook};

/// Loads that together draw about the power wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadPick {
    /// Ids.
    pub ids: Vec<String>,
    /// What they draw together, in W.
    pub watts: f64,
}

/// How far from the power wanted a pick may be.
const REACH: f64 = 0.20;
/// Continuous current that a cord and outlet of the bench carry for hours, in A (12 A on a 15 A circuit, common practice).
const CORD_A: f64 = 12.0;

/// The steady loads, one or two or three, nearest to a power; loads with a thermostat are refused.
pub fn pick(notebook: &Notebook, model: &Model, watts: f64) -> Option<LoadPick> {
    let volts = if model.mains_v > 0.0 { model.mains_v } else { 120.0 };
    let draws = |l: &Load| if l.ohm > 0.0 { volts * volts / l.ohm } else { l.running_w };
    let usable: Vec<(&Load, f64)> = notebook
        .loads
        .iter()
        .filter(|l| l.sort == LoadSort::Resistive)
        .map(|l| (l, draws(l)))
        .filter(|(_, w)| *w > 0.0 && *w <= CORD_A * volts)
        .collect();
    let n = usable.len();
    let mut best: Option<LoadPick> = None;
    let mut offer = |parts: &[usize]| {
        let total: f64 = parts.iter().map(|&i| usable[i].1).sum();
        let nearer = best.as_ref().is_none_or(|b| (total - watts).abs() < (b.watts - watts).abs());
        if nearer && (total / watts - 1.0).abs() <= REACH {
            best =
                Some(LoadPick { ids: parts.iter().map(|&i| usable[i].0.id.clone()).collect(), watts: total });
        }
    };
    for i in 0..n {
        offer(&[i]);
        for j in i + 1..n {
            offer(&[i, j]);
            for k in j + 1..n {
                offer(&[i, j, k]);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example_bench;
    fn heater(id: &str, ohm: f64) -> Load {
        Load { id: id.into(), ohm, ..Load::default() }
    }
    #[test]
    fn resistive_loads_follow_the_voltage_and_add_up() {
        let mut notebook = example_bench::notebook();
        notebook.loads = vec![heater("a", 19.2), heater("b", 9.6), heater("c", 57.6)];
        notebook.loads.push(Load {
            id: "oil".into(),
            sort: LoadSort::Cycling,
            running_w: 1000.0,
            ..Load::default()
        });
        let model = notebook.models[0].clone();
        // At 120 V: 750, 1500 (more than 12 A · 120 V = 1440 W, refused) and 250 W.
        assert_eq!(
            pick(&notebook, &model, 1000.0).map(|p| (p.ids, p.watts)),
            Some((vec!["a".into(), "c".into()], 1000.0))
        );
        assert_eq!(pick(&notebook, &model, 770.0).map(|p| p.watts), Some(750.0));
        assert_eq!(pick(&notebook, &model, 2000.0), None);
    }
}
