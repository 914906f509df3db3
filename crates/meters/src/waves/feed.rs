//! Samples on their way to the analysers: one per channel and segment, on a second thread in a long file.
use super::layout::{Channel, Layout};
use std::sync::mpsc::{Receiver, SyncSender, channel, sync_channel};
use std::thread::{Builder, JoinHandle, available_parallelism};
use trueplate_core::recording::Segment;
use trueplate_core::wave::{Analyser, Outcome, Setup};

/// Samples of a channel handed on at a time.
pub(crate) const BATCH: usize = 1 << 15;
/// Batches after which a second thread is worth its start, and batches under way.
const SHARE_FROM: usize = 4;
const UNDER_WAY: usize = 4;
/// Segments that are analysed.
const SEGMENTS: usize = 1000;

/// Samples by channel, in V or A.
#[derive(Default)]
pub(crate) struct Batch {
    pub(crate) channels: Vec<Vec<f32>>,
    /// A segment that ends before these samples; the next begins at this time, s.
    pub(crate) break_at: Option<f64>,
}

impl Batch {
    pub(crate) fn new(channels: usize) -> Self {
        Batch { channels: vec![Vec::with_capacity(BATCH); channels], break_at: None }
    }

    fn clear(&mut self) {
        self.channels.iter_mut().for_each(Vec::clear);
        self.break_at = None;
    }
}

/// Something that takes batches.
pub(crate) trait Takes: Send + 'static {
    fn take(&mut self, batch: &Batch);
}

/// What a person says about all channels.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Said {
    pub(crate) probe: Option<f64>,
    pub(crate) nominal_v: Option<f64>,
    pub(crate) orders: usize,
}

/// The analysers of all channels.
pub(crate) struct Feed {
    channels: Vec<Channel>,
    said: Said,
    rate_hz: f64,
    now: Vec<Analyser>,
    done: Vec<Option<Outcome>>,
    /// Segments so far; samples of a channel until now.
    parts: Vec<Segment>,
    samples: u64,
}

impl Feed {
    pub(crate) fn new(layout: &Layout, said: Said) -> Self {
        let n = layout.channels.len();
        let mut feed = Feed {
            channels: layout.channels.clone(),
            said,
            rate_hz: 1.0 / layout.interval_s,
            now: Vec::new(),
            done: vec![None; n],
            parts: Vec::new(),
            samples: 0,
        };
        feed.begin(layout.start_s);
        feed
    }

    fn begin(&mut self, start_s: f64) {
        let first = self.parts.first().map_or(start_s, |p| p.start_s);
        self.parts.push(Segment { start_s, laid_s: first + self.samples as f64 / self.rate_hz });
        self.now = self
            .channels
            .iter()
            .map(|c| {
                let voltage = c.unit != Some('A');
                Analyser::new(Setup {
                    probe: self.said.probe.filter(|_| voltage),
                    stated_probe: c.stated_probe,
                    nominal_v: self.said.nominal_v,
                    orders: self.said.orders,
                    voltage,
                    ..Setup::new(&c.name, self.rate_hz, start_s)
                })
            })
            .collect();
    }

    fn end(&mut self) {
        let (n, later_s) = (self.parts.len(), self.parts.last().map_or(0.0, |p| p.laid_s - p.start_s));
        for (analyser, done) in std::mem::take(&mut self.now).into_iter().zip(&mut self.done) {
            let next = analyser.finish().in_segment(n, later_s);
            match done {
                None => *done = Some(next),
                Some(first) => first.append(next),
            }
        }
    }

    /// Outcomes by channel, and the segments; half the mean width of pairs is known only now.
    pub(crate) fn finish(mut self, half_envelope: &[f64]) -> (Vec<Outcome>, Vec<Segment>) {
        self.end();
        let mut outcomes: Vec<Outcome> = self.done.into_iter().flatten().collect();
        for (outcome, half) in outcomes.iter_mut().zip(half_envelope) {
            outcome.widen(*half);
        }
        (outcomes, self.parts)
    }
}

impl Takes for Feed {
    fn take(&mut self, batch: &Batch) {
        if let Some(start_s) = batch.break_at {
            self.end();
            if self.parts.len() < SEGMENTS {
                self.begin(start_s);
            }
        }
        self.samples += batch.channels.first().map_or(0, |c| c.len() as u64);
        for (analyser, samples) in self.now.iter_mut().zip(&batch.channels) {
            analyser.push(samples);
        }
    }
}

/// Where batches go: analysed on this thread, or, in a long file, on another.
pub(crate) enum Sink<F> {
    Here(Box<F>, usize),
    There { to: SyncSender<Batch>, back: Receiver<Batch>, worker: JoinHandle<Box<F>>, channels: usize },
}

impl<F: Takes> Sink<F> {
    /// Takes a batch and gives an empty one back. `None` when the other thread has died.
    pub(crate) fn take(self, mut batch: Batch) -> Option<(Sink<F>, Batch)> {
        match self {
            Sink::Here(mut feed, count) => {
                feed.take(&batch);
                batch.clear();
                let channels = batch.channels.len();
                let many = count >= SHARE_FROM && available_parallelism().is_ok_and(|n| n.get() > 1);
                Some((if many { shared(feed, channels) } else { Sink::Here(feed, count + 1) }, batch))
            }
            Sink::There { to, back, worker, channels } => {
                to.send(batch).ok()?;
                let empty = back.try_recv().unwrap_or_else(|_| Batch::new(channels));
                Some((Sink::There { to, back, worker, channels }, empty))
            }
        }
    }

    /// Takes the last batch and gives back what it has come to. `None` when the other thread has died.
    pub(crate) fn finish(self, last: Batch) -> Option<Box<F>> {
        match self.take(last)?.0 {
            Sink::Here(feed, _) => Some(feed),
            Sink::There { to, worker, .. } => {
                drop(to);
                worker.join().ok()
            }
        }
    }
}

fn shared<F: Takes>(feed: Box<F>, channels: usize) -> Sink<F> {
    let (to, batches) = sync_channel::<Batch>(UNDER_WAY);
    let (give_back, back) = channel();
    let (hand_over, taken) = sync_channel::<Box<F>>(1);
    let work = move || {
        let Ok(mut feed) = taken.recv() else { unreachable!("the feed is handed over before anything else") };
        for mut batch in batches {
            feed.take(&batch);
            batch.clear();
            // Nobody waits for empty batches at the end.
            let _ = give_back.send(batch);
        }
        feed
    };
    match Builder::new().name("waves".into()).spawn(work) {
        Ok(worker) => match hand_over.send(feed) {
            Ok(()) => Sink::There { to, back, worker, channels },
            Err(lost) => Sink::Here(lost.0, 0),
        },
        Err(_) => Sink::Here(feed, 0),
    }
}
