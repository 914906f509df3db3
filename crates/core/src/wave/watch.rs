//! Following a wave for places where it is not what it was a cycle before, and measuring the gaps among them.
//!
//! A gap is timed on the waveform: from the last sample inside the wave before to the first inside the wave after for good
//! (a whole undisturbed cycle follows). The wave before and the wave after are each continued from their own cycles, so
//! harmonics, steps, an offset, another frequency or phase afterwards do not matter.
use super::edge::{Edge, Wave, departure};
use super::half_cycle::sum_of_squares;
use super::period::{DEVIATES, Lag, fit, shortest_run, steady};
use super::sine::{Sine, at_frequency};

/// Cycles kept before and waited for after: what rms and phase are taken from.
const BESIDE: f64 = 10.0;
/// Cycles of samples that must stay in the buffer.
pub const KEPT_CYCLES: f64 = 14.0;
/// The shortest gap that is told from a wave that only jumps, s.
const SHORTEST_S: f64 = 0.3e-3;
/// Gaps kept; more make no sense in one capture.
const KEPT: usize = 1000;
/// Cycles after which a disturbance that does not end may be a wave of another frequency.
const PATIENCE: f64 = 25.0;

/// Share of the peak that a wave exceeds in each half cycle, and the share of a cycle it may stay below: blocks of 90° pause
/// for a quarter.
const STRONG: f64 = 0.3;
const PAUSE: f64 = 0.45;

/// A gap, in samples and in the unit of the samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Gap {
    /// Departure.
    pub left: Edge,
    /// Return; absent where the capture ends before.
    pub back: Option<Edge>,
    /// Rms of up to ten cycles before and after.
    pub rms_before: Option<f64>,
    /// See `rms_before`.
    pub rms_after: Option<f64>,
    /// Phase after less phase before, both continued to the instant of return, degrees, above −180 to 180.
    pub phase_jump_deg: Option<f64>,
    /// Lowest Urms(1/2) of the cycles that touch it.
    pub lowest_cycle_rms: Option<f64>,
}

/// One disturbance under way.
#[derive(Clone, Debug)]
struct Event {
    from: u64,
    last: u64,
    /// The last sample far from nothing.
    strong: u64,
    before: Option<Before>,
    lowest: f64,
    look_again: u64,
}

/// What is known of the departure: taken as soon as a cycle and a half has followed.
#[derive(Clone, Debug)]
struct Before {
    edge: Edge,
    rms: Option<f64>,
    sine: Option<Sine>,
    /// Sample at which the sine's phase counts.
    origin: u64,
}

/// Follows one channel.
pub struct Watch {
    wave: Wave,
    lag: Lag,
    shortest: usize,
    shortest_gap: f64,
    run: usize,
    seen: u64,
    event: Option<Event>,
    /// First disturbance at or after the sample given to `new`.
    pub first: Option<u64>,
    steady_from: u64,
    /// Gaps that are over.
    pub found: Vec<Gap>,
    /// How many there were.
    pub count: u64,
    cycles: Vec<(u64, f64)>,
}

impl Watch {
    /// For a wave that runs undisturbed from sample `steady_from`, `rate` samples a second.
    pub fn new(wave: Wave, rate: f64, steady_from: u64) -> Self {
        Watch {
            wave,
            lag: Lag::new(wave.period),
            shortest: shortest_run(wave.period),
            shortest_gap: (SHORTEST_S * rate).max(2.0),
            run: 0,
            seen: 0,
            event: None,
            first: None,
            steady_from,
            found: Vec::new(),
            count: 0,
            cycles: Vec::new(),
        }
    }

    /// A cycle's rms, by its first sample.
    pub fn cycle(&mut self, first: u64, rms: f64) {
        self.cycles.push((first, rms));
    }

    /// Looks at the samples that are new. `v[0]` is sample `base`.
    pub fn scan(&mut self, v: &[f32], base: u64) {
        let most = DEVIATES * self.wave.peak as f32;
        let mut i = self.seen.max(base + self.lag.reach as u64 + 1).saturating_sub(base) as usize;
        while i < v.len() {
            if self.event.is_none() && self.run == 0 {
                let to = (i + 1024).min(v.len());
                if self.lag.largest(v, i, to) <= most {
                    i = to;
                    continue;
                }
            }
            self.run = if self.lag.difference(v, i) > most { self.run + 1 } else { 0 };
            let at = base + i as u64;
            if self.run >= self.shortest {
                self.deviates(v, base, at);
            }
            if let Some(event) = &mut self.event {
                // What stays dead does not differ from a cycle before, and is no wave.
                if (f64::from(v[i]) - self.wave.mean).abs() > STRONG * self.wave.peak {
                    event.strong = at;
                } else if (at - event.strong) as f64 > PAUSE * self.wave.period {
                    event.last = at;
                }
                self.go_on(v, base, at);
            }
            i += 1;
        }
        self.seen = base + v.len() as u64;
    }

    fn deviates(&mut self, v: &[f32], base: u64, at: u64) {
        let quiet = self.event.as_ref().is_some_and(|e| (at - e.last) as f64 > 1.2 * self.wave.period);
        let from = at + 1 - self.run as u64;
        if quiet {
            self.close(v, base, from);
        }
        match &mut self.event {
            Some(event) => event.last = at,
            None => {
                if self.first.is_none() && from >= self.steady_from {
                    self.first = Some(from);
                }
                let look_again = at + (PATIENCE * self.wave.period) as u64;
                self.event =
                    Some(Event { from, last: at, strong: at, before: None, lowest: f64::MAX, look_again });
            }
        }
    }

    fn go_on(&mut self, v: &[f32], base: u64, at: u64) {
        let period = self.wave.period;
        let Some(event) = &mut self.event else { return };
        let since = |from: u64| (at - from) as f64;
        if event.before.is_none() && since(event.from) >= 1.6 * period {
            event.before = before(v, base, event.from, &self.wave);
        }
        if since(event.last) >= (BESIDE + 1.0) * period {
            self.close(v, base, at + 1);
        } else if at >= event.look_again {
            event.look_again = at + (PATIENCE * period) as u64;
            let recent = &v[v.len().min((at - base) as usize).saturating_sub((8.0 * period) as usize)
                ..(at - base) as usize];
            if let Some(now) = steady(recent).filter(|s| (s.to - s.from) / s.period > 5.0) {
                // The wave runs again, only not as before: from here on it is compared with itself.
                (self.wave.period, self.wave.peak) = (now.period, now.peak);
                self.lag = Lag::new(now.period);
            }
        }
    }

    /// The capture is over.
    pub fn finish(&mut self, v: &[f32], base: u64) {
        self.close(v, base, base + v.len() as u64);
    }

    /// Forgets what the buffer no longer holds.
    pub fn trim(&mut self, base: u64) {
        let period = self.wave.period;
        let event = &mut self.event;
        self.cycles.retain(|(first, rms)| {
            let keep = *first >= base;
            if let (false, Some(e)) = (keep, event.as_mut())
                && *first as f64 + period > e.from as f64
            {
                e.lowest = e.lowest.min(*rms);
            }
            keep
        });
    }

    /// The disturbance is over, or the samples are: `end` is the first that no longer belongs to what follows it.
    fn close(&mut self, v: &[f32], base: u64, end: u64) {
        let Some(event) = self.event.take() else { return };
        let wave = self.wave;
        let Some(left) = event.before.or_else(|| before(v, base, event.from, &wave)) else { return };
        let after = after(v, base, event.last, end, &wave);
        let dead = left.edge.dead.max(after.as_ref().map_or(0, |a| a.edge.dead)) as f64;
        let back = after.as_ref().map(|a| a.edge);
        let length = back.map_or(f64::INFINITY, |b| b.at - left.edge.at);
        if dead < self.shortest_gap || length < self.shortest_gap {
            return;
        }
        let (low, high) = (left.edge.at - wave.period, back.map_or(f64::INFINITY, |b| b.at));
        let touching = self.cycles.iter().filter(|(first, _)| (low..=high).contains(&(*first as f64)));
        let lowest = touching.map(|c| c.1).fold(event.lowest, f64::min);
        let jump = after.as_ref().and_then(|a| {
            let phase = |sine: &Sine, origin: u64| sine.cycles_at(a.edge.at - origin as f64);
            let turned = phase(a.sine.as_ref()?, a.origin) - phase(left.sine.as_ref()?, left.origin);
            Some(-((0.5 - turned).rem_euclid(1.0) - 0.5) * 360.0)
        });
        self.count += 1;
        if self.found.len() < KEPT {
            self.found.push(Gap {
                left: left.edge,
                back,
                rms_before: left.rms,
                rms_after: after.and_then(|a| a.rms),
                phase_jump_deg: jump,
                lowest_cycle_rms: (lowest < f64::MAX).then_some(lowest),
            });
        }
    }
}

/// The departure near sample `from`.
fn before(v: &[f32], base: u64, from: u64, wave: &Wave) -> Option<Before> {
    let at = (from.checked_sub(base)?) as usize;
    let margin = (wave.period / 8.0) as usize + 1;
    let begin = at.saturating_sub(((BESIDE + 1.0) * wave.period) as usize);
    let end = (at + (1.6 * wave.period) as usize + 2).min(v.len());
    let mut edge = departure(&v[begin..end], (at - begin).saturating_sub(margin), wave)?;
    edge.at += (base + begin as u64) as f64;
    let last = ((edge.at - edge.half_width - base as f64).floor() as usize + 1).min(v.len());
    let cycles = whole_cycles(last - begin.min(last), wave.period);
    let first = last - (cycles as f64 * wave.period).round() as usize;
    let (rms, sine) = wave_of(&v[first..last], cycles, wave.period);
    Some(Before { edge, rms, sine, origin: base + first as u64 })
}

/// The return, seen backwards from the undisturbed cycles that follow; `last` is the last sample that differed from a
/// cycle before, which is a cycle after the return.
fn after(v: &[f32], base: u64, last: u64, end: u64, wave: &Wave) -> Option<Before> {
    let end = (end.checked_sub(base)? as usize).min(v.len());
    let back = (last + 1).checked_sub(base)? as usize;
    let healthy = (back + (wave.period / 8.0) as usize + 1).saturating_sub(wave.period as usize);
    let begin = back.saturating_sub((2.8 * wave.period) as usize).min(end);
    let mut reversed = v[begin..end].to_vec();
    reversed.reverse();
    // The wave that comes back may have a cycle of its own.
    let still = &v[healthy.min(end)..end];
    let own = (still.len() as f64 > 3.0 * wave.period).then(|| fit(still, 1.0 / wave.period)).flatten();
    let period = own.map(|s| 1.0 / s.cycles_per_sample).filter(|p| (p / wave.period - 1.0).abs() < 0.05);
    let wave = Wave { period: period.unwrap_or(wave.period), ..*wave };
    let seen = departure(&reversed, end.checked_sub(healthy)?, &wave)?;
    let edge = Edge { at: (base + end as u64) as f64 - 1.0 - seen.at, ..seen };
    let first = ((edge.at + edge.half_width - base as f64).ceil().max(0.0) as usize).min(end);
    let cycles = whole_cycles(end - first, wave.period);
    let stop = (first + (cycles as f64 * wave.period).round() as usize).min(end);
    let (rms, sine) = wave_of(&v[first..stop], cycles, wave.period);
    Some(Before { edge, rms, sine, origin: base + first as u64 })
}

fn whole_cycles(samples: usize, period: f64) -> usize {
    (samples as f64 / period + 0.01).floor().min(BESIDE) as usize
}

/// Rms and fundamental of whole cycles.
fn wave_of(v: &[f32], cycles: usize, period: f64) -> (Option<f64>, Option<Sine>) {
    if cycles == 0 || v.is_empty() {
        return (None, None);
    }
    let rms = (sum_of_squares(v) / v.len() as f64).sqrt();
    let sine = match cycles {
        // Too short to tell the frequency.
        1 | 2 => at_frequency(&v.iter().map(|x| f64::from(*x)).collect::<Vec<_>>(), 1.0 / period),
        _ => fit(v, 1.0 / period),
    };
    (Some(rms), sine)
}
