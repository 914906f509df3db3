//! Samples on their way to the analysers: one per channel and segment.
use super::layout::{Channel, Layout};
use trueplate_core::recording::Segment;
use trueplate_core::wave::{Analyser, Outcome, Setup};

/// Samples of a channel handed on at a time.
pub(crate) const BATCH: usize = 1 << 15;
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
        Batch { channels: vec![Vec::new(); channels], break_at: None }
    }

    pub(crate) fn clear(&mut self) {
        self.channels.iter_mut().for_each(Vec::clear);
        self.break_at = None;
    }
}

/// Something that takes batches.
pub(crate) trait Takes {
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
