//! Each column by itself: its range, figures beyond all measure taken out, and watts held against volts times amperes.
//! Nothing here depends on the order of the rows.
use super::batch::{Batch, Plan};
use super::digest::Slots;
use super::mapping::Role;
use super::notes::Notes;
use trueplate_core::finding::Weight;

/// Larger figures than these are no readings of a meter on a power station: W, V, A, W·h, °C.
const LIMITS: [(Role, f64); 7] = [
    (Role::Power, 1e5),
    (Role::Voltage, 1e4),
    (Role::Current, 1e4),
    (Role::EnergyCounter, 1e10),
    (Role::EnergyInterval, 1e7),
    (Role::Temperature, 1e3),
    (Role::PowerFactor, 1.5),
];

/// Lowest, sum and highest of a slot.
#[derive(Clone, Copy)]
pub(crate) struct Range {
    pub(crate) min: f64,
    pub(crate) sum: f64,
    pub(crate) max: f64,
    pub(crate) count: u64,
}

/// What the columns show.
pub(crate) struct Columns {
    slots: Slots,
    roles: Vec<Role>,
    pub(crate) ranges: Vec<Range>,
    /// Rows with all three of volts, amperes and watts, and those where they do not fit.
    pub(crate) compared: (u64, u64),
    /// Rows with more than twice the watts that volts times amperes allow.
    pub(crate) gross: u64,
}

impl Columns {
    pub(crate) fn of(plan: &Plan) -> Columns {
        let none = Range { min: f64::INFINITY, sum: 0.0, max: f64::NEG_INFINITY, count: 0 };
        Columns {
            slots: Slots::of(plan),
            roles: plan.slots.iter().map(|s| s.1).collect(),
            ranges: vec![none; plan.slots.len()],
            compared: (0, 0),
            gross: 0,
        }
    }

    /// Looks at a batch, once; figures beyond all measure are taken out of it.
    pub(crate) fn see(&mut self, batch: &mut Batch, notes: &mut Notes) {
        for k in 0..batch.slots.len() {
            self.range(k, batch, notes);
        }
        self.compare(batch);
    }

    fn range(&mut self, k: usize, batch: &mut Batch, notes: &mut Notes) {
        let limit = LIMITS.iter().find(|l| l.0 == self.roles[k]).map_or(1e12, |l| l.1);
        let values = &mut batch.slots[k];
        let (mut low, mut high, mut total) = extent(values);
        let mut count = values.len() as u64;
        if total.is_nan() || high > limit || low < -limit {
            (low, high, total, count) = (f64::INFINITY, f64::NEG_INFINITY, 0.0, 0);
            for (v, line) in values.iter_mut().zip(&batch.line) {
                if v.abs() > limit {
                    let seen = *v;
                    let what = || format!("{seen:e} is no plausible reading");
                    let hint = "the value is left out; check the unit and the export";
                    notes.add(Weight::Doubt, "implausible-value", || format!("line {line}"), what, hint);
                    *v = f64::NAN;
                }
                if !v.is_nan() {
                    (low, high, total, count) = (low.min(*v), high.max(*v), total + *v, count + 1);
                }
            }
        }
        let r = &mut self.ranges[k];
        (r.min, r.max, r.sum, r.count) = (r.min.min(low), r.max.max(high), r.sum + total, r.count + count);
    }

    /// Watts against volts times amperes: more is impossible, far less is a power factor nobody has at full load.
    fn compare(&mut self, batch: &Batch) {
        let (Some(p), Some(v), Some(a)) = (self.slots.power, self.slots.volts, self.slots.amps) else {
            return;
        };
        let (mut seen, mut odd, mut gross) = (0u64, 0u64, 0u64);
        for ((p, v), a) in batch.slots[p].iter().zip(&batch.slots[v]).zip(&batch.slots[a]) {
            let product = (v * a).abs();
            seen += u64::from(product >= 0.0 && !p.is_nan());
            gross += u64::from(p.abs() > 2.0 * product + 50.0);
            odd += u64::from(p.abs() > 1.08 * product + 5.0 || p.abs() < 0.08 * product - 2.0);
        }
        self.gross += gross;
        self.compared.0 += seen;
        self.compared.1 += odd;
    }
}

/// Lowest, highest and sum of some values; the sum is NaN where one of them is.
pub(crate) fn extent(values: &[f64]) -> (f64, f64, f64) {
    // Four at a time, so that the machine can; a NaN loses every comparison and shows in the sum.
    let (mut min, mut max, mut sum) = ([f64::INFINITY; 4], [f64::NEG_INFINITY; 4], [0.0; 4]);
    let quads = values.chunks_exact(4);
    for &v in quads.remainder() {
        (min[0], max[0], sum[0]) =
            (if v < min[0] { v } else { min[0] }, if v > max[0] { v } else { max[0] }, sum[0] + v);
    }
    for quad in quads {
        for j in 0..4 {
            let v = quad[j];
            min[j] = if v < min[j] { v } else { min[j] };
            max[j] = if v > max[j] { v } else { max[j] };
            sum[j] += v;
        }
    }
    let low = min.iter().fold(f64::INFINITY, |a, b| a.min(*b));
    let high = max.iter().fold(f64::NEG_INFINITY, |a, b| a.max(*b));
    (low, high, sum.iter().sum())
}
