//! Batches on their way to the digest: held back until the usual step is known.
use super::batch::{Batch, Plan, ROWS};
use super::digest::Digest;
use super::mapping::RowOrder;
use super::notes::Notes;
use super::spacing::Spacing;

/// Rows from which the usual step is found before anything is summed up.
const WARM_BATCHES: usize = 2;
/// The most rows that are sorted.
const SORTED: usize = 400_000;

/// Takes batches; sums up, once it can.
pub(crate) struct Feed {
    pub(crate) plan: Plan,
    pub(crate) order: RowOrder,
    pub(crate) gap_s: Option<f64>,
    pub(crate) wall_clock: bool,
    /// What of the trace is kept, µs.
    pub(crate) window: Option<(i64, i64)>,
    held: Vec<Batch>,
    pub(crate) digest: Option<Digest>,
    /// More rows than can be sorted.
    pub(crate) too_many: bool,
    pub(crate) notes: Notes,
}

impl Feed {
    pub(crate) fn new(plan: Plan, order: RowOrder, gap_s: Option<f64>, wall_clock: bool) -> Self {
        Feed {
            plan,
            order,
            gap_s,
            wall_clock,
            window: None,
            held: Vec::new(),
            digest: None,
            too_many: false,
            notes: Notes::default(),
        }
    }

    /// Takes what is in a batch, and leaves it empty.
    pub(crate) fn take(&mut self, batch: &mut Batch) {
        if let Some(digest) = &mut self.digest {
            digest.take(batch, &mut self.notes);
        } else if !self.too_many {
            self.held.push(std::mem::replace(batch, Batch::new(self.plan.slots.len())));
            match self.order {
                RowOrder::AsTimeGoes if self.held.len() >= WARM_BATCHES => self.begin(),
                RowOrder::Sort if self.held.len() * ROWS > SORTED => {
                    self.too_many = true;
                    self.held.clear();
                }
                _ => {}
            }
        }
        batch.clear();
    }

    /// The last batch is in.
    pub(crate) fn finish(&mut self) {
        if self.digest.is_none() && !self.too_many {
            self.begin();
        }
    }

    /// The usual step is known now; what was held back goes in.
    fn begin(&mut self) {
        let mut held = std::mem::take(&mut self.held);
        if self.order == RowOrder::Sort {
            held = vec![sorted(&held, self.plan.slots.len())];
        }
        let mut spacing = Spacing::new();
        let times = held.iter().flat_map(|b| &b.t);
        let mut before = None;
        for &t in times {
            if let Some(b) = before
                && t >= b
            {
                spacing.add(t - b);
            }
            before = Some(t);
        }
        let usual = spacing.median().unwrap_or(0.0);
        let gap = self.gap_s.unwrap_or_else(|| default_gap(usual));
        let mut digest = Digest::new(&self.plan, (gap * 1e6) as i64, (usual * 1e6) as i64, self.wall_clock);
        if let Some(window) = self.window {
            digest.trace.within(window);
        }
        held.iter().for_each(|b| digest.take(b, &mut self.notes));
        self.digest = Some(digest);
    }
}

/// The step beyond which there is a gap: the larger of 5 s and 3.5 × the median step.
pub(crate) fn default_gap(median_s: f64) -> f64 {
    (3.5 * median_s).max(5.0)
}

fn sorted(held: &[Batch], slots: usize) -> Batch {
    let mut order: Vec<(i64, usize, usize)> = Vec::new();
    for (b, batch) in held.iter().enumerate() {
        order.extend(batch.t.iter().enumerate().map(|(k, t)| (*t, b, k)));
    }
    order.sort();
    let mut all = Batch::new(slots);
    let mut values = vec![f64::NAN; slots];
    for (t, b, k) in order {
        for (v, slot) in values.iter_mut().zip(&held[b].slots) {
            *v = slot[k];
        }
        all.push(held[b].line[k], t, &values);
    }
    all
}
