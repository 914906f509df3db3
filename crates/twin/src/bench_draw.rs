//! Benches drawn by chance, for testing that stated intervals cover the truth: a station near one of the invented
//! ones, a meter drawn from the accuracy its maker states, runs that scatter, readings as typed, and the truth beside.
use crate::behaviour::{Behaviour, Display, Sustained};
use crate::calendar::instant;
use crate::chance::Chance;
use crate::day::{Desk, EnergyRun, WrittenTest, energy_only, idle_then};
use crate::loads::Load;
use crate::meter::{Feed, LastDigit, Meter, Statement};
use crate::station::Station;
use crate::truth::truths;

/// What is done on a drawn bench and what its meter's maker states.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchPlan {
    /// Discharges at these shares of rated power, 0–1.
    pub shares: Vec<f64>,
    /// Idle hours before one more discharge at half of rated power; 0: none.
    pub idle_hours: f64,
    /// Gain of the meter: rectangular within ± so many %, once per bench.
    pub gain_pct: f64,
    /// Offset of the meter: rectangular within ± so many W, once per bench.
    pub offset_w: f64,
    /// Step of the energy counter, Wh; each run starts at a random phase of it.
    pub step_wh: f64,
    /// How the counter's last digit comes about.
    pub last_digit: LastDigit,
    /// Step of the power display, W.
    pub step_w: f64,
    /// The meter's own draw from the outlet, W, included in what it shows.
    pub own_w: f64,
    /// How full it truly was at the start: rectangular within ± this share of the energy.
    pub start_half: f64,
}

impl Default for BenchPlan {
    fn default() -> Self {
        BenchPlan {
            shares: vec![0.25, 0.5, 0.5, 0.8],
            idle_hours: 12.0,
            gain_pct: 1.5,
            offset_w: 0.5,
            step_wh: 10.0,
            last_digit: LastDigit::Truncated,
            step_w: 0.1,
            own_w: 0.0,
            start_half: 0.002,
        }
    }
}

/// The hidden truth of one discharge of a drawn bench.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunTruth {
    /// True power of the load, W.
    pub watts: f64,
    /// What the specimen gives on average at that power from full, Wh.
    pub mean_wh: f64,
}

/// A drawn bench.
#[derive(Clone, Debug)]
pub struct DrawnBench {
    /// The specimen; its mean behaviour is the truth (`runtime_h`, `energy_wh`, `idle_outlet_w`).
    pub station: Station,
    /// The meter with its hidden errors and what its maker states.
    pub meter: Meter,
    /// Pages as written: `usable-energy` in the order of the plan's shares, then `idle-draw` if there is one.
    pub pages: Vec<WrittenTest>,
    /// The truth behind each page.
    pub runs: Vec<RunTruth>,
}

impl DrawnBench {
    /// True idle draw in outlet watts, P0/(1 + k1).
    pub fn idle_outlet_w(&self) -> f64 {
        self.station.idle_outlet_w()
    }

    /// True mean hours to AC cut-off at a constant power.
    pub fn runtime_h(&self, watts: f64) -> f64 {
        self.station.runtime_h(watts)
    }
}

/// Draws bench number `n` of a series. The same seed, number and plan give the same bench.
pub fn bench_draw(seed: u64, n: u64, plan: &BenchPlan) -> DrawnBench {
    let mut chance = Chance::new(seed, &format!("bench {n}"));
    let station = draw_station(&mut chance);
    let meter = draw_meter(&mut chance, plan);
    let own_seed = seed.wrapping_add(n.wrapping_mul(0x5851_f42d_4c95_7f2d));
    let mut desk = Desk::new(own_seed, station, instant("2026-01-05", 9, 0));
    let mut runs = Vec::new();
    for &share in &plan.shares {
        let run = draw_run(&mut chance, &desk, &meter, plan, share);
        runs.push(truth_of(&desk.station, &run.load));
        energy_only(&mut desk, "usable-energy", &run);
        desk.now += 8.0 * 3600.0;
    }
    if plan.idle_hours > 0.0 {
        let run = draw_run(&mut chance, &desk, &meter, plan, 0.5);
        runs.push(truth_of(&desk.station, &run.load));
        idle_then(&mut desk, &run, plan.idle_hours);
    }
    DrawnBench { station: desk.station, meter, pages: desk.pages, runs }
}

fn truth_of(station: &Station, load: &Load) -> RunTruth {
    let watts = load.demand(0.0).watts;
    RunTruth { watts, mean_wh: station.energy_wh(watts) }
}

/// A specimen near one of the invented stations, without its tricks.
fn draw_station(chance: &mut Chance) -> Station {
    let all = truths();
    let at = (chance.between(0.0, all.len() as f64) as usize).min(all.len() - 1);
    let base = Station::new(&all[at]);
    let behaviour = Behaviour {
        sustained: Sustained::ToEmpty,
        low_load: None,
        display: Display::Linear { points: 2.0 },
        ..base.behaviour.clone()
    };
    Station {
        cell_wh: base.cell_wh * chance.between(0.9, 1.1),
        idle_w: base.idle_w * chance.between(0.7, 1.3),
        k1: base.k1 * chance.between(0.8, 1.2),
        q: base.q * chance.between(0.8, 1.2),
        alpha: base.alpha * chance.between(0.8, 1.2),
        behaviour,
        ..base
    }
}

fn draw_meter(chance: &mut Chance, plan: &BenchPlan) -> Meter {
    Meter {
        id: "D1".into(),
        name: "plug meter drawn by chance".into(),
        gain: plan.gain_pct / 100.0 * chance.rect(),
        offset: plan.offset_w * chance.rect(),
        floor_w: 0.0,
        low_pf: None,
        step: plan.step_w,
        step_wh: plan.step_wh,
        counter_digit: plan.last_digit,
        own_w: plan.own_w,
        feed: if plan.own_w > 0.0 { Feed::Outlet } else { Feed::Itself },
        shows_own: plan.own_w > 0.0,
        stated: Statement { gain_pct: plan.gain_pct, offset: plan.offset_w },
    }
}

fn draw_run(chance: &mut Chance, desk: &Desk, meter: &Meter, plan: &BenchPlan, share: f64) -> EnergyRun {
    let watts = share * desk.station.rated_w * chance.between(0.98, 1.02);
    let load = Load::Steady { watts, power_factor: 1.0 };
    let mut run = EnergyRun::new(load, "", "steady load", meter.clone());
    run.counter_from_wh = Some(plan.step_wh * chance.between(0.0, 1000.0));
    run.ambient_c = Some(25.0);
    run.start_off = plan.start_half * chance.rect();
    run
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> f64 {
        text.split(' ').next().unwrap().parse().unwrap()
    }

    fn written_wh(page: &WrittenTest) -> f64 {
        let of = |key| {
            let text = &page.entry(key).unwrap().text;
            number(text) * if text.ends_with("kWh") { 1000.0 } else { 1.0 }
        };
        of("counter_end") - of("counter_start")
    }

    #[test]
    fn repeats_and_differs() {
        let plan = BenchPlan::default();
        let json = |n| serde_json::to_string(&bench_draw(5, n, &plan).pages).unwrap();
        assert_eq!(json(1), json(1));
        assert_ne!(json(1), json(2));
    }

    // Truth by arithmetic: the mean relative error of (written − mean energy) over many benches is 0; its spread is
    // √(gain² + run² + step²) with gain 1.5 %/√3, run 0.4 %, counter 10 Wh/√6 (difference of two steps), offset 0.5 W/√3·t.
    #[test]
    fn readings_scatter_as_stated() {
        let plan = BenchPlan { idle_hours: 0.0, shares: vec![0.5], ..BenchPlan::default() };
        let n = 2000;
        let z: Vec<f64> = (0..n)
            .map(|i| {
                let b = bench_draw(11, i, &plan);
                let (e, t) = (b.runs[0].mean_wh, b.runtime_h(b.runs[0].watts));
                let u2 =
                    (0.015 * e).powi(2) / 3.0 + (0.004 * e).powi(2) + 100.0 / 6.0 + (0.5 * t).powi(2) / 3.0;
                (written_wh(&b.pages[0]) - e) / u2.sqrt()
            })
            .collect();
        let mean = z.iter().sum::<f64>() / n as f64;
        let sd = (z.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n as f64).sqrt();
        // 4 standard errors of the mean; the idle draw's scatter adds under 1 % to the spread.
        assert!(mean.abs() < 4.0 / (n as f64).sqrt(), "{mean}");
        assert!((sd - 1.0).abs() < 0.07, "{sd}");
    }

    // Law: idle hours·a + Wh/E(P) = 1 for a run from full; a·E_eff is the idle draw in outlet watts, E_eff the cells'
    // energy above the reserve over 1 + k1. With a perfect meter the mean over 1,000 benches is the truth within 4
    // standard errors; one bench scatters by about 0.4 %·E_eff/(12 h) against its idle draw, some 3–8 %.
    #[test]
    fn the_idle_page_holds_the_idle_draw() {
        let plan = BenchPlan { gain_pct: 0.0, offset_w: 0.0, step_wh: 0.01, ..BenchPlan::default() };
        let ratio = |n| {
            let b = bench_draw(3, n, &plan);
            let (s, wh) = (&b.station, written_wh(&b.pages[4]));
            let share_per_h = (1.0 - wh / b.runs[4].mean_wh) / plan.idle_hours;
            share_per_h * s.cell_wh * (1.0 - s.reserve) / (1.0 + s.k1) / b.idle_outlet_w()
        };
        let all: Vec<f64> = (0..1000).map(ratio).collect();
        let mean = all.iter().sum::<f64>() / 1000.0;
        let sd = (all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 1000.0).sqrt();
        assert!(sd < 0.08 && (mean - 1.0).abs() < 4.0 * sd / 1000f64.sqrt(), "{mean} ± {sd}");
    }

    #[test]
    fn two_thousand_benches_are_quick() {
        let start = std::time::Instant::now();
        let plan = BenchPlan::default();
        for n in 0..2000 {
            assert_eq!(bench_draw(1, n, &plan).pages.len(), 5);
        }
        assert!(start.elapsed().as_secs() < 20, "{:?}", start.elapsed());
        println!("2,000 benches in {:?}", start.elapsed());
    }
}
