//! The drain law against measured inverters, where their table is there (it is not part of the project).
//!
//! Source: pvlib 0.16.1, pvlib/data/sam-library-cec-inverters-2019-03-05.csv (SAM CEC inverter table, BSD-3-Clause): 24
//! inverters of 320 to 4400 W, efficiency at 5 to 100 % of rated power by the Sandia model (SAND2007-5036) with the measured
//! coefficients. Columns used: `Paco` and `eff_5` … `eff_100`. A store of E Wh behind such an inverter runs a load P for
//! η(P)·E/P hours, whatever the law believes: the truth comes from the table alone.
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use std::path::PathBuf;
use trueplate_core::law::{Law, Load, Row, Rules, fit};

const SHARES: [f64; 7] = [0.05, 0.10, 0.20, 0.30, 0.50, 0.75, 1.0];

struct Inverter {
    rated_w: f64,
    efficiency: [f64; 7],
}

impl Inverter {
    /// The store behind it: enough for an hour and a half at rated power. Every share below scales with it.
    fn store_wh(&self) -> f64 {
        1.5 * self.rated_w
    }

    fn hours(&self, k: usize) -> f64 {
        self.efficiency[k] * self.store_wh() / (SHARES[k] * self.rated_w)
    }

    /// The law from discharges at these places of `SHARES`, each runtime off by a relative error.
    fn law(&self, loads: &[usize], u_rel: f64, mut error: impl FnMut() -> f64) -> Law {
        let row =
            |&k: &usize| Row::steady("r", SHARES[k] * self.rated_w, self.hours(k) * (1.0 + error()), u_rel);
        let rows: Vec<Row> = loads.iter().map(row).collect();
        fit(&rows, Rules { rated_w: Some(self.rated_w), ..Rules::default() }).expect("rows are usable")
    }
}

/// The table, or a loud word that the check is skipped.
#[expect(
    clippy::disallowed_methods,
    reason = "the folder of data that may not be shipped is named by the environment"
)]
fn inverters() -> Option<Vec<Inverter>> {
    let folder = std::env::var_os("TRUEPLATE_DATA").map(PathBuf::from);
    let folder =
        folder.unwrap_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data"));
    let Ok(text) = std::fs::read_to_string(folder.join("inverters.csv")) else {
        eprintln!("SKIPPED: inverters.csv is not there (set TRUEPLATE_DATA to the folder that holds it)");
        return None;
    };
    let mut lines = text.lines().map(|l| l.split(',').collect::<Vec<_>>());
    let header = lines.next().expect("a header");
    let place = |name: &str| header.iter().position(|h| *h == name).expect("the column is there");
    let rated = place("Paco");
    let columns = SHARES.map(|s| place(&format!("eff_{:.0}", 100.0 * s)));
    let number = |cell: &str| cell.parse::<f64>().expect("a number");
    let of = |row: Vec<&str>| Inverter {
        rated_w: number(row[rated]),
        efficiency: columns.map(|c| number(row[c])),
    };
    Some(lines.map(of).collect())
}

/// Places in `SHARES` of the loads that are run; the efficiency is asked at all seven.
const PLANS: [&[usize]; 4] = [&[1, 3, 6], &[0, 4, 6], &[0, 2, 4, 6], &[1, 2, 4, 5, 6]];

#[test]
fn efficiency_of_measured_inverters() {
    let Some(inverters) = inverters() else { return };
    assert_eq!(inverters.len(), 24);
    for plan in PLANS {
        let mut worst = 0f64;
        for inverter in &inverters {
            let law = inverter.law(plan, 1e-4, || 0.0);
            for (share, efficiency) in SHARES.iter().zip(inverter.efficiency) {
                let got = law.answer(Load::steady(share * inverter.rated_w)).expect("an answer");
                worst = worst.max((got.energy_wh.value / inverter.store_wh() - efficiency).abs());
            }
        }
        println!("loads {plan:?}: worst efficiency error {:.3} points", 100.0 * worst);
        assert!(worst <= 0.002, "loads {plan:?}: {worst} of 1");
    }
}

#[test]
fn intervals_on_measured_inverters() {
    let Some(inverters) = inverters() else { return };
    let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(24);
    for plan in PLANS {
        let (mut inside, mut answered, mut asked) = (0u32, 0u32, 0u32);
        for inverter in &inverters {
            for _ in 0..50 {
                let law = inverter.law(plan, 0.005, || {
                    let z: f64 = StandardNormal.sample(&mut random);
                    0.005 * z
                });
                for (k, share) in SHARES.iter().enumerate() {
                    asked += 1;
                    let Ok(got) = law.answer(Load::steady(share * inverter.rated_w)) else { continue };
                    answered += 1;
                    let half = 1.959_964 * got.runtime_h.u;
                    inside += u32::from((got.runtime_h.value - inverter.hours(k)).abs() <= half);
                }
            }
        }
        let held = f64::from(inside) / f64::from(answered);
        println!("loads {plan:?}: {:.1} % inside, {answered} of {asked} answered", 100.0 * held);
        assert!(answered * 10 >= asked * 9, "loads {plan:?}: only {answered} of {asked} answered");
        assert!(held >= 0.93, "loads {plan:?}: {held}");
    }
}
