//! Batches of rows in, everything the log comes to out: one pass, constant memory.
use super::batch::{Batch, Plan};
use super::counter::Counter;
use super::cutoff;
use super::cycles;
use super::energy::Energy;
use super::frozen;
use super::mapping::Role;
use super::notes::Notes;
use super::oneway;
use super::spacing::Spacing;
use super::spikes;
use super::trace::Trace;
use super::volts;
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

/// Which slots are used for what.
#[derive(Clone, Copy)]
pub(crate) struct Slots {
    pub(crate) power: Option<usize>,
    pub(crate) volts: Option<usize>,
    pub(crate) amps: Option<usize>,
    pub(crate) counter: Option<usize>,
    pub(crate) interval: Option<usize>,
}

impl Slots {
    pub(crate) fn of(plan: &Plan) -> Slots {
        Slots {
            power: plan.slot(Role::Power),
            volts: plan.slot(Role::Voltage),
            amps: plan.slot(Role::Current),
            counter: plan.slot(Role::EnergyCounter),
            interval: plan.slot(Role::EnergyInterval),
        }
    }
    /// Power must be worked out from volts and amperes.
    pub(crate) fn product(&self) -> Option<(usize, usize)> {
        if self.power.is_some() { None } else { self.volts.zip(self.amps) }
    }
}

/// Lowest, sum and highest of a slot.
#[derive(Clone, Copy)]
pub(crate) struct Range {
    pub(crate) min: f64,
    pub(crate) sum: f64,
    pub(crate) max: f64,
    pub(crate) count: u64,
}

/// Everything that is followed through the rows.
pub(crate) struct Digest {
    pub(crate) slots: Slots,
    roles: Vec<Role>,
    pub(crate) rows: u64,
    pub(crate) ends: Option<(i64, i64)>,
    pub(crate) ranges: Vec<Range>,
    pub(crate) spacing: Spacing,
    pub(crate) energy: Energy,
    pub(crate) counter: Counter,
    pub(crate) cutoff: cutoff::Watch,
    pub(crate) cycles: cycles::Watch,
    pub(crate) trace: Trace,
    pub(crate) spikes: spikes::Watch,
    pub(crate) frozen: frozen::Watch,
    volts: volts::Watch,
    pub(crate) ways: Option<oneway::Watch>,
    /// Rows with all three of volts, amperes and watts, and those where they do not fit.
    pub(crate) compared: (u64, u64),
    /// Rows with more than twice the watts that volts times amperes allow.
    pub(crate) gross: u64,
    /// First and last of the rows in order that have no power.
    pub(crate) quiet: Option<(i64, i64)>,
    /// Steps that go back in time.
    pub(crate) falls: u64,
    previous: Option<i64>,
    product: Vec<f64>,
}

impl Digest {
    pub(crate) fn new(plan: &Plan, gap_us: i64, usual_us: i64, wall_clock: bool) -> Self {
        let slots = Slots::of(plan);
        let none = Range { min: f64::INFINITY, sum: 0.0, max: f64::NEG_INFINITY, count: 0 };
        Digest {
            slots,
            roles: plan.slots.iter().map(|s| s.1).collect(),
            rows: 0,
            ends: None,
            ranges: vec![none; plan.slots.len()],
            spacing: Spacing::new(),
            energy: Energy::new(gap_us, usual_us, wall_clock),
            counter: Counter::default(),
            cutoff: cutoff::Watch::default(),
            cycles: cycles::Watch::new(),
            trace: Trace::new(),
            spikes: spikes::Watch::default(),
            frozen: frozen::Watch::new(),
            volts: volts::Watch::default(),
            ways: slots.product().map(|_| oneway::Watch::new()),
            compared: (0, 0),
            gross: 0,
            quiet: None,
            falls: 0,
            previous: None,
            product: Vec::new(),
        }
    }

    /// Takes a batch; figures beyond all measure are taken out of it first.
    pub(crate) fn take(&mut self, batch: &mut Batch, notes: &mut Notes) {
        self.rows += batch.len() as u64;
        for k in 0..batch.slots.len() {
            self.range(k, batch, notes);
        }
        self.compare(batch);
        self.voltages(batch, notes);
        self.steps(batch);
        let mut product = std::mem::take(&mut self.product);
        if let Some((v, a)) = self.slots.product() {
            product.clear();
            product.extend(batch.slots[v].iter().zip(&batch.slots[a]).map(|(v, a)| v * a));
        }
        let watts = match (self.slots.power, self.slots.product()) {
            (Some(k), _) => Some(&batch.slots[k]),
            (None, Some(_)) => Some(&product),
            _ => None,
        };
        match (watts, self.slots.interval) {
            (Some(watts), _) => self.power_rows(watts, batch, notes),
            (None, Some(k)) => self.interval_rows(k, batch, notes),
            (None, None) => self.counter_rows(batch, notes),
        }
        self.product = product;
    }

    fn power_rows(&mut self, watts: &[f64], batch: &Batch, notes: &mut Notes) {
        let counter = self.slots.counter.map(|k| &batch.slots[k][..watts.len()]);
        let (times, lines) = (&batch.t[..watts.len()], &batch.line[..watts.len()]);
        // Measured beside the power, volts and amperes tell a slip of the power from what was.
        let beside = self.slots.power.and(self.slots.volts.zip(self.slots.amps));
        let beside = beside.map(|(v, a)| (&batch.slots[v][..watts.len()], &batch.slots[a][..watts.len()]));
        for (k, &w) in watts.iter().enumerate() {
            if let Some(c) = counter
                && !(self.energy.first.is_some() && times[k] + self.energy.shift < self.energy.last_t())
            {
                self.counter.row(c[k], lines[k], notes);
                self.energy.counter_step = self.counter.step();
            }
            if w.is_nan() {
                let t = times[k] + self.energy.shift;
                if self.energy.first.is_none() || t >= self.energy.last_t() {
                    self.quiet = Some(self.quiet.map_or((t, t), |q| (q.0.min(t), q.1.max(t))));
                }
                continue;
            }
            let Some((t, step)) = self.energy.row(times[k], w, self.counter.now(), lines[k], notes) else {
                continue;
            };
            let allowed = beside.map_or(f64::NAN, |(v, a)| v[k] * a[k]);
            self.spikes.row(w, allowed, lines[k], step == 0, notes);
            self.frozen.row(w, lines[k], step == 0, notes);
            let sums = &self.energy.sums;
            let counter = self.counter.total().unwrap_or(f64::NAN);
            self.cutoff.row(w, t, sums, counter);
            self.cycles.row(w, step, cycles::Mark { t, energy: sums.energy, covered: sums.covered });
            self.trace.row(t, w, sums.energy);
            if let (Some(ways), Some((v, a))) = (&mut self.ways, self.slots.product()) {
                ways.row(t, batch.slots[v][k], batch.slots[a][k], step);
            }
        }
    }

    /// Energy of each interval: every row stands for the usual step.
    fn interval_rows(&mut self, slot: usize, batch: &Batch, notes: &mut Notes) {
        for (k, &wh) in batch.slots[slot].iter().enumerate() {
            let usual = self.energy.usual;
            if wh.is_nan() || usual <= 0 {
                continue;
            }
            let w = wh * super::energy::WH / usual as f64;
            let same = self.energy.first.is_some() && batch.t[k] + self.energy.shift == self.energy.last_t();
            if same {
                let place = || format!("line {}", batch.line[k]);
                let what = || "an interval comes twice; it counts once".to_string();
                notes.add(Weight::Doubt, "interval-twice", place, what, "check the export");
                continue;
            }
            let before = self.energy.sums;
            if let Some((t, _)) = self.energy.row(batch.t[k], w, None, batch.line[k], notes) {
                self.energy.sums.energy = before.energy + w * usual as f64;
                self.energy.sums.square = before.square + w * w * usual as f64;
                self.energy.sums.covered = before.covered + usual;
                let sums = &self.energy.sums;
                self.cutoff.row(w, t, sums, f64::NAN);
                self.trace.row(t, w, sums.energy);
            }
        }
    }

    fn counter_rows(&mut self, batch: &Batch, notes: &mut Notes) {
        for k in 0..batch.len() {
            // No power to sum up, but the order of the rows is watched all the same.
            let taken = self.energy.row(batch.t[k], f64::MIN_POSITIVE, None, batch.line[k], notes);
            if let (Some(_), Some(c)) = (taken, self.slots.counter) {
                self.counter.row(batch.slots[c][k], batch.line[k], notes);
            }
        }
    }

    /// Counts the steps between rows as they stand in the file.
    fn steps(&mut self, batch: &Batch) {
        for &t in &batch.t {
            if let Some(before) = self.previous {
                if t >= before {
                    self.spacing.add(t - before);
                } else {
                    self.falls += 1;
                }
            }
            self.previous = Some(t);
            self.ends = Some(self.ends.map_or((t, t), |(a, b)| (a.min(t), b.max(t))));
        }
    }

    fn range(&mut self, k: usize, batch: &mut Batch, notes: &mut Notes) {
        let limit = LIMITS.iter().find(|l| l.0 == self.roles[k]).map_or(1e12, |l| l.1);
        let values = &mut batch.slots[k];
        // Four at a time, so that the machine can; a NaN loses every comparison and shows in the count.
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
        let (mut low, mut high) = (
            min.iter().fold(f64::INFINITY, |a, b| a.min(*b)),
            max.iter().fold(f64::NEG_INFINITY, |a, b| a.max(*b)),
        );
        let mut total: f64 = sum.iter().sum();
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

    fn voltages(&mut self, batch: &Batch, notes: &mut Notes) {
        let (Some(v), Some(a)) = (self.slots.volts, self.slots.amps) else { return };
        for ((v, a), line) in batch.slots[v].iter().zip(&batch.slots[a]).zip(&batch.line) {
            self.volts.row(*v, *a, *line, notes);
        }
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
