//! Batches of rows in, everything the log comes to out: one pass, constant memory.
use super::batch::{Batch, Plan};
use super::columns::Columns;
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
use super::stretch::{self, Rows};
use super::trace::Trace;
use super::volts;
use trueplate_core::finding::Weight;

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

/// Everything that is followed through the rows.
pub(crate) struct Digest {
    pub(crate) slots: Slots,
    pub(crate) rows: u64,
    pub(crate) ends: Option<(i64, i64)>,
    /// What was seen of each column before.
    pub(crate) columns: Columns,
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
        Digest {
            slots,
            rows: 0,
            ends: None,
            columns: Columns::of(plan),
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
            quiet: None,
            falls: 0,
            previous: None,
            product: Vec::new(),
        }
    }

    /// Takes a batch that [`Columns`] has seen.
    pub(crate) fn take(&mut self, batch: &Batch, notes: &mut Notes) {
        self.rows += batch.len() as u64;
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
        let slot = |k: Option<usize>| k.map(|k| &batch.slots[k][..watts.len()]);
        // Measured beside the power, volts and amperes tell a slip of the power from what was.
        let beside = self.slots.power.and(self.slots.volts.zip(self.slots.amps));
        let rows = Rows {
            times: &batch.t[..watts.len()],
            lines: &batch.line[..watts.len()],
            watts,
            counter: slot(self.slots.counter),
            beside: beside.and_then(|(v, a)| slot(Some(v)).zip(slot(Some(a)))),
            product: self.slots.product().and_then(|(v, a)| slot(Some(v)).zip(slot(Some(a)))),
        };
        let mut from = 0;
        while from < watts.len() {
            let to = watts.len().min(from + stretch::ROWS);
            if !self.stretch(&rows, from..to, notes) {
                (from..to).for_each(|k| self.row(&rows, k, notes));
            }
            from = to;
        }
    }

    /// One row, seen by everyone.
    #[inline(always)]
    fn row(&mut self, rows: &Rows, k: usize, notes: &mut Notes) {
        let (at, w, line) = (rows.times[k], rows.watts[k], rows.lines[k]);
        if let Some(c) = rows.counter
            && !(self.energy.first.is_some() && at + self.energy.shift < self.energy.last_t())
        {
            self.counter.row(c[k], line, notes);
            self.energy.counter_step = self.counter.step();
        }
        if w.is_nan() {
            let t = at + self.energy.shift;
            if self.energy.first.is_none() || t >= self.energy.last_t() {
                self.quiet = Some(self.quiet.map_or((t, t), |q| (q.0.min(t), q.1.max(t))));
            }
            return;
        }
        let earlier = self.cutoff.rises(w).then_some(self.energy.sums);
        let Some((t, step)) = self.energy.row(at, w, self.counter.now(), line, notes) else {
            return;
        };
        self.spikes.row(w, rows.allowed(k), line, step == 0, notes);
        self.frozen.row(w, line, step == 0, notes);
        let sums = &self.energy.sums;
        let counter = self.counter.total().unwrap_or(f64::NAN);
        self.cutoff.row(w, t, sums, counter, earlier);
        self.cycles.row(w, step, cycles::Mark { t, energy: sums.energy, covered: sums.covered });
        self.trace.row(t, w, sums.energy);
        if let (Some(ways), Some((v, a))) = (&mut self.ways, rows.product) {
            ways.row(t, v[k], a[k], step);
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
            let earlier = self.cutoff.rises(w).then_some(before);
            if let Some((t, _)) = self.energy.row(batch.t[k], w, None, batch.line[k], notes) {
                self.energy.sums.energy = before.energy + w * usual as f64;
                self.energy.sums.square = before.square + w * w * usual as f64;
                self.energy.sums.covered = before.covered + usual;
                let sums = &self.energy.sums;
                self.cutoff.row(w, t, sums, f64::NAN, earlier);
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
        let Some(&first) = batch.t.first() else { return };
        let (mut before, mut falls) = (self.previous.unwrap_or(first), 0);
        // The very first row has none before it.
        let from = usize::from(self.previous.is_none());
        for &t in &batch.t[from..] {
            if t >= before {
                self.spacing.add(t - before);
            } else {
                falls += 1;
            }
            before = t;
        }
        self.previous = Some(before);
        self.falls += falls;
        let (low, high) = if falls == 0 {
            (first, before)
        } else {
            batch.t.iter().fold((first, first), |(a, b), t| (a.min(*t), b.max(*t)))
        };
        self.ends = Some(self.ends.map_or((low, high), |(a, b)| (a.min(low), b.max(high))));
    }

    fn voltages(&mut self, batch: &Batch, notes: &mut Notes) {
        let (Some(v), Some(a)) = (self.slots.volts, self.slots.amps) else { return };
        let (volts, amps) = (batch.slots[v].chunks(stretch::ROWS), batch.slots[a].chunks(stretch::ROWS));
        for ((volts, amps), lines) in volts.zip(amps).zip(batch.line.chunks(stretch::ROWS)) {
            if !self.volts.calm(volts) {
                for ((v, a), line) in volts.iter().zip(amps).zip(lines) {
                    self.volts.row(*v, *a, *line, notes);
                }
            }
        }
    }
}
