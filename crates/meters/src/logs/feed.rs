//! Batches on their way to the digest: held back until the usual step is known, and handed to a second thread when
//! there are many.
use super::batch::{Batch, Plan, ROWS};
use super::digest::Digest;
use super::mapping::RowOrder;
use super::notes::Notes;
use super::spacing::Spacing;
use std::sync::mpsc::{Receiver, SyncSender, channel, sync_channel};
use std::thread::{Builder, JoinHandle, available_parallelism};

/// Batches after which a second thread is worth its start.
const SHARE_FROM: usize = 16;
/// Batches under way between the threads.
const UNDER_WAY: usize = 4;

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

    /// Takes a batch and gives an empty one back.
    fn take(&mut self, mut batch: Batch) -> Batch {
        if let Some(digest) = &mut self.digest {
            digest.take(&mut batch, &mut self.notes);
        } else if !self.too_many {
            self.held.push(std::mem::replace(&mut batch, Batch::new(self.plan.slots.len())));
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
        batch
    }

    /// The last batch is in.
    fn finish(&mut self) {
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
        held.iter_mut().for_each(|b| digest.take(b, &mut self.notes));
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

/// Where batches go: summed up on this thread, or, in a long file, on another.
pub(crate) enum Sink {
    /// On this thread, so many batches so far.
    Here(Box<Feed>, usize),
    /// On another, which sends the emptied batches back.
    There { to: SyncSender<Batch>, back: Receiver<Batch>, worker: JoinHandle<Box<Feed>>, slots: usize },
}

impl Sink {
    /// Takes a full batch and gives an empty one back. `None` when the other thread has died.
    pub(crate) fn take(self, batch: Batch) -> Option<(Sink, Batch)> {
        match self {
            Sink::Here(mut feed, count) => {
                let empty = feed.take(batch);
                let many = count >= SHARE_FROM && available_parallelism().is_ok_and(|n| n.get() > 1);
                Some((if many { shared(feed) } else { Sink::Here(feed, count + 1) }, empty))
            }
            Sink::There { to, back, worker, slots } => {
                to.send(batch).ok()?;
                let empty = back.try_recv().unwrap_or_else(|_| Batch::new(slots));
                Some((Sink::There { to, back, worker, slots }, empty))
            }
        }
    }

    /// Takes the last batch and gives back what it has come to. `None` when the other thread has died.
    pub(crate) fn finish(self, last: Batch) -> Option<Box<Feed>> {
        let mut feed = match self.take(last)?.0 {
            Sink::Here(feed, _) => feed,
            Sink::There { to, worker, .. } => {
                drop(to);
                worker.join().ok()?
            }
        };
        feed.finish();
        Some(feed)
    }
}

/// Moves the summing up to a thread of its own; stays here where none can be had.
fn shared(feed: Box<Feed>) -> Sink {
    let slots = feed.plan.slots.len();
    let (to, batches) = sync_channel::<Batch>(UNDER_WAY);
    let (give_back, back) = channel();
    let (hand_over, taken) = sync_channel::<Box<Feed>>(1);
    let work = move || {
        let Ok(mut feed) = taken.recv() else { unreachable!("the feed is handed over before anything else") };
        for batch in batches {
            let empty = feed.take(batch);
            // Nobody waits for empty batches at the end.
            let _ = give_back.send(empty);
        }
        feed
    };
    match Builder::new().name("log-sums".into()).spawn(work) {
        Ok(worker) => match hand_over.send(feed) {
            Ok(()) => Sink::There { to, back, worker, slots },
            Err(lost) => Sink::Here(lost.0, 0),
        },
        Err(_) => Sink::Here(feed, 0),
    }
}
