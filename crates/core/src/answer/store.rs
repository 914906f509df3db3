//! How much of the store a demand takes, and when it is empty: exact, piece by piece; minute by minute under the sun.
//!
//! Everything is kept as three sums since the store was last full (hours, ∫P dt, ∫P² dt) and the shares the sun
//! brought, so that the doubts of the drain law, the meter and the weather follow by their sensitivities.
use super::demand::{Demand, Piece};
use super::grounds::OneLaw;
use crate::law::Law;
use crate::quantity::Dim;
use crate::stats::coverage::Shape;
use crate::sun::DAY_MINUTES;
use crate::uncertain::{Effect, Influence, Owner, Part, Value};

/// Of what the panels bring into the station, this share comes out of the outlet again: charge controller 0.95, store
/// and inverter's share of power 0.95 (common practice; published ranges 0.86–0.97 each).
pub(super) const SUN_KEPT: f64 = 0.90;
/// Relative standard doubt of a clear day's sun and of the share kept (common practice).
const SUN_DOUBT: f64 = 0.10;
/// Days after which a store that is not empty is said to last for ever.
const DAYS_MAX: usize = 4000;

/// Sun on the panels of the question.
#[derive(Clone, Debug)]
pub(super) struct Sunlight {
    /// Power brought before any limit, W, minute by minute from the start of a day.
    pub watts: Vec<f64>,
    /// Power on the labels, W.
    pub panel_w: f64,
    /// Days without sun at the beginning.
    pub dark_days: usize,
    /// Mean load of every minute asked about, W.
    pub load: Vec<f64>,
    /// Sun of every minute asked about, as a share of the labels.
    pub light: Vec<f64>,
}

impl Sunlight {
    /// Spreads a day of sun over the time asked about.
    pub fn over(watts: Vec<f64>, panel_w: f64, dark_days: usize, demand: &Demand) -> Sunlight {
        let pieces = demand.minutes();
        let minutes = 0..(demand.wanted_h * 60.0).round() as usize;
        let load = minutes.clone().map(|m| demand.pieces[pieces[m % DAY_MINUTES]].load.mean_w).collect();
        let lit = |m: usize| m / DAY_MINUTES >= dark_days;
        let light = minutes.map(|m| if lit(m) { watts[m % DAY_MINUTES] / panel_w } else { 0.0 }).collect();
        Sunlight { watts, panel_w, dark_days, load, light }
    }
}

/// What becomes of one store.
#[derive(Clone, Debug)]
pub(super) struct Course {
    /// The largest share of the store that was missing at any time until the end of the last use; above 1 it fails.
    pub used: Value,
    /// Hours until it is empty; `None` when it is not empty in the time looked at.
    pub runtime: Option<Value>,
}

/// Sums since the store was last full.
#[derive(Clone, Copy, Default)]
struct Sums {
    h: f64,
    w: f64,
    s: f64,
    sun: f64,
}

impl Sums {
    fn add(&mut self, piece: &Piece, hours: f64) {
        if piece.on {
            self.h += hours;
            self.w += piece.load.mean_w * hours;
            self.s += piece.load.mean_w2 * hours;
        }
    }
}

/// The share of the store a piece takes per hour.
fn drain(law: &Law, piece: &Piece) -> f64 {
    if piece.on { law.a + law.b * piece.load.mean_w + law.c * piece.load.mean_w2 } else { 0.0 }
}

/// Runs a demand on a law. `limit_w` is the most the station takes from panels.
pub(super) fn course(of: &OneLaw, demand: &Demand, sun: Option<(&Sunlight, f64)>) -> Course {
    match sun {
        None => by_pieces(of, demand),
        Some((sun, limit_w)) => by_minutes(of, demand, sun, limit_w),
    }
}

fn by_pieces(of: &OneLaw, demand: &Demand) -> Course {
    let law = &of.law;
    let mut sums = Sums::default();
    let (mut at, mut used) = (0.0, 0.0);
    let (mut at_end, mut empty) = (None, None);
    'days: for _ in 0..DAYS_MAX {
        for piece in &demand.pieces {
            let drain = drain(law, piece);
            let left = demand.wanted_h - at;
            if at_end.is_none() && left <= piece.hours + 1e-9 {
                let mut then = sums;
                then.add(piece, left);
                at_end = Some(share(of, &then));
            }
            if empty.is_none() && used + drain * piece.hours >= 1.0 {
                let hours = (1.0 - used) / drain;
                let mut then = sums;
                then.add(piece, hours);
                empty = Some(hours_until(of, &then, at + hours, drain));
            }
            if at_end.is_some() && empty.is_some() {
                break 'days;
            }
            used += drain * piece.hours;
            sums.add(piece, piece.hours);
            at += piece.hours;
        }
    }
    Course { used: at_end.unwrap_or_else(|| share(of, &sums)), runtime: empty }
}

fn by_minutes(of: &OneLaw, demand: &Demand, sun: &Sunlight, limit_w: f64) -> Course {
    let law = &of.law;
    let drains: Vec<f64> = demand.pieces.iter().map(|p| drain(law, p) * MINUTE).collect();
    let brought: Vec<f64> = sun.watts.iter().map(|w| w.min(limit_w) * SUN_KEPT * law.b * MINUTE).collect();
    let pieces = demand.minutes();
    let dark: Vec<f64> = pieces.iter().map(|p| drains[*p]).collect();
    let bright: Vec<f64> = dark.iter().zip(&brought).map(|(drain, gain)| drain - gain).collect();
    let minutes = (demand.wanted_h * 60.0).round() as usize;
    let (mut used, mut full_at) = (0.0, 0);
    let (mut worst, mut empty) = (Low::default(), None);
    for (day, begins) in (0..minutes).step_by(DAY_MINUTES).enumerate() {
        let net = if day >= sun.dark_days { &bright } else { &dark };
        for (of_day, net) in net.iter().enumerate().take(minutes - begins) {
            used += net;
            if used <= 0.0 {
                (used, full_at) = (0.0, begins + of_day + 1);
            } else if used > worst.used {
                worst = Low { used, from: full_at, to: begins + of_day + 1 };
                if used >= 1.0 && empty.is_none() {
                    empty = Some(worst);
                }
            }
        }
    }
    let sums = |low: &Low| {
        let mut sums = Sums::default();
        for day in low.from / DAY_MINUTES..low.to.div_ceil(DAY_MINUTES) {
            let begins = day * DAY_MINUTES;
            let part = low.from.max(begins) - begins..low.to.min(begins + DAY_MINUTES) - begins;
            let mut spent = vec![0u32; demand.pieces.len()];
            pieces[part.clone()].iter().for_each(|p| spent[*p] += 1);
            spent.iter().zip(&demand.pieces).for_each(|(m, p)| sums.add(p, f64::from(*m) * MINUTE));
            if day >= sun.dark_days {
                sums.sun += brought[part].iter().sum::<f64>();
            }
        }
        sums
    };
    let runtime = empty.map(|low| {
        let drain = dark[(low.to - 1) % DAY_MINUTES] / MINUTE;
        hours_until(of, &sums(&low), low.to as f64 * MINUTE, drain)
    });
    Course { used: share(of, &sums(&worst)), runtime }
}

/// A minute in which the store was lower than before: the share missing, and from which minute, when it was last full,
/// to which.
#[derive(Clone, Copy, Default)]
struct Low {
    used: f64,
    from: usize,
    to: usize,
}

/// A minute, h.
const MINUTE: f64 = 1.0 / 60.0;

/// The share missing, with its doubts.
fn share(of: &OneLaw, sums: &Sums) -> Value {
    let law = &of.law;
    let used = law.a * sums.h + law.b * sums.w + law.c * sums.s - sums.sun;
    doubted(of, sums, Value::exact(Dim::Ratio, used), 1.0)
}

/// Hours until empty: dT = −d(share)/drain at the end.
fn hours_until(of: &OneLaw, sums: &Sums, hours: f64, drain_at_end: f64) -> Value {
    doubted(of, sums, Value::exact(Dim::Time, hours), -1.0 / drain_at_end)
}

/// Adds the doubts of the share, times `slope`.
fn doubted(of: &OneLaw, sums: &Sums, value: Value, slope: f64) -> Value {
    let law = &of.law;
    let x = [sums.h, sums.w, sums.s];
    let variance: f64 = (0..3)
        .flat_map(|i| (0..3).map(move |j| (i, j)))
        .map(|(i, j)| x[i] * law.covariance[i][j] * x[j])
        .sum();
    let fit = Influence::test(&format!("{}/{}/law", of.specimen, of.firmware), Effect::Fit, "");
    let mut out = value.with(fit, slope * variance.max(0.0).sqrt(), Shape::Normal, f64::INFINITY);
    if let Some((influence, Part { signed, shape, dof })) = &of.gain {
        // A gain g of the meter makes b and c smaller by g and 2g: the load is given in true watts.
        let by_gain = -(law.b * sums.w + 2.0 * law.c * sums.s);
        out = out.with(influence.clone(), slope * by_gain * signed, *shape, *dof);
    }
    if sums.sun > 0.0 {
        let weather =
            Influence { owner: Owner::Bench("sun".into()), effect: Effect::Prior, of: String::new() };
        out = out.with(weather, -slope * sums.sun * SUN_DOUBT, Shape::Normal, f64::INFINITY);
    }
    out
}
