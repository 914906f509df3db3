//! One channel from first sample to last, piece by piece: found, followed, summed up.
use super::cycle::{Cycle, Shape};
use super::edge::Wave;
use super::half_cycle::{Dip, Dips, HalfCycles, SWELL, sum_of_squares};
use super::harmonics::distortion;
use super::mains::{Because, Factor, factor, mains_of};
use super::mains_words::of_factor;
use super::outcome::{Interruption, Outcome, Setup};
use super::period::{Steady, steady};
use super::ride::compared;
use super::watch::{Gap, KEPT_CYCLES, Watch};
use super::windows::Windows;
use crate::finding::Finding;

/// Analyses samples that are all there.
pub fn analyse(samples: &[f32], setup: &Setup) -> Outcome {
    let mut analyser = Analyser::new(setup.clone());
    samples.chunks(PIECE).for_each(|c| analyser.push(c));
    analyser.finish()
}

/// Samples taken at a time.
const PIECE: usize = 1 << 16;
/// What is looked at to find the wave: half a second, within these numbers of samples.
const HEAD_S: f64 = 0.5;
const HEAD: (usize, usize) = (4096, 1 << 21);

/// Longest cycle that is followed, samples.
const LONGEST: f64 = 2e5;
/// Above this rate, samples a second, neighbours are averaged first: a microsecond is fine enough for any outlet.
const FASTEST: f64 = 2e6;

/// Values of Urms(1/2) kept for the eye: those of more than three minutes.
const CYCLES_KEPT: usize = 20_000;

/// Takes a channel's samples as they come.
pub struct Analyser {
    /// The rate in it is that after averaging.
    setup: Setup,
    /// Neighbours averaged, and those that wait for the rest.
    together: usize,
    waiting: Vec<f32>,
    head: usize,
    buffer: Vec<f32>,
    /// Number of the first sample in the buffer.
    base: u64,
    count: u64,
    sum: f64,
    squares: f64,
    follow: Option<Box<Follow>>,
}

/// What goes on once a wave is found.
struct Follow {
    steady: Steady,
    factor: Factor,
    cycle: Cycle,
    nominal: f64,
    grid: HalfCycles,
    dips: Dips,
    /// Each cycle's first sample and rms.
    cycles: Vec<(u64, f64)>,
    watch: Watch,
    windows: Windows,
    /// Samples before this one went through.
    done: u64,
    /// The steady stretch begins here.
    from: f64,
    /// The sample the grid of half cycles counts from.
    origin: u64,
}

impl Analyser {
    /// For one channel.
    pub fn new(mut setup: Setup) -> Self {
        let together = (setup.rate_hz / (FASTEST / 2.0)).clamp(1.0, 1e6) as usize;
        let together = if setup.rate_hz > FASTEST { together } else { 1 };
        // The first mean stands in the middle of its samples.
        setup.start_s += (together as f64 - 1.0) / 2.0 / setup.rate_hz;
        setup.rate_hz /= together as f64;
        let head = ((HEAD_S * setup.rate_hz) as usize).clamp(HEAD.0, HEAD.1);
        let buffer = Vec::new();
        let waiting = Vec::new();
        Analyser {
            setup,
            together,
            waiting,
            head,
            buffer,
            base: 0,
            count: 0,
            sum: 0.0,
            squares: 0.0,
            follow: None,
        }
    }

    /// Takes the samples that follow, in the unit they are written in. Missing ones (NaN) must not be among them.
    pub fn push(&mut self, samples: &[f32]) {
        if self.together == 1 {
            return self.take(samples);
        }
        for piece in samples.chunks(PIECE) {
            self.waiting.extend_from_slice(piece);
            let whole = self.waiting.len() / self.together * self.together;
            let mean = |c: &[f32]| (c.iter().map(|x| f64::from(*x)).sum::<f64>() / c.len() as f64) as f32;
            let means: Vec<f32> = self.waiting[..whole].chunks_exact(self.together).map(mean).collect();
            self.waiting.drain(..whole);
            self.take(&means);
        }
    }

    fn take(&mut self, samples: &[f32]) {
        for piece in samples.chunks(PIECE) {
            self.count += piece.len() as u64;
            if self.follow.is_none() {
                // In double precision, for a channel that turns out to have no wave.
                self.sum += piece.iter().map(|x| f64::from(*x)).sum::<f64>();
                self.squares += sum_of_squares(piece);
            }
            self.buffer.extend_from_slice(piece);
            if self.follow.is_some() {
                self.follow_on();
            } else if self.buffer.len() >= self.head {
                self.look();
            }
        }
    }

    /// Looks for a wave in what has come.
    fn look(&mut self) {
        // Longer cycles than any mains has would only fill memory.
        match steady(&self.buffer).filter(|s| s.period < LONGEST) {
            Some(steady) => {
                self.follow = Some(Box::new(Follow::new(&self.setup, &self.buffer, self.base, steady)));
                self.follow_on();
            }
            None => {
                // A wave may begin later; the last half is looked at again.
                let half = self.buffer.len() / 2;
                self.buffer.drain(..half);
                self.base += half as u64;
            }
        }
    }

    fn follow_on(&mut self) {
        let Some(follow) = &mut self.follow else { return };
        follow.take(&self.buffer, self.base, false);
        let keep = (KEPT_CYCLES * follow.steady.period) as usize + 2;
        if self.buffer.len() > 2 * keep + PIECE {
            let gone = self.buffer.len() - keep;
            self.buffer.drain(..gone);
            self.base += gone as u64;
            follow.watch.trim(self.base);
        }
    }

    /// The channel is over.
    pub fn finish(mut self) -> Outcome {
        if self.follow.is_none() && !self.buffer.is_empty() {
            self.look();
        }
        match self.follow.take() {
            Some(mut follow) => {
                follow.take(&self.buffer, self.base, true);
                follow.outcome(&self.setup)
            }
            None => self.without_wave(),
        }
    }

    fn without_wave(&self) -> Outcome {
        let n = self.count as f64;
        let Factor { factor, because } =
            factor(None, self.setup.probe, self.setup.stated_probe, self.setup.nominal_v);
        let some = |x: f64| (self.count > 0 && x.is_finite()).then_some(x * factor);
        let finding = Finding::note(
            "no-wave",
            &self.setup.name,
            "no wave that repeats evenly for two cycles of eight samples or more; rms and mean are over all samples",
            "for a voltage at an outlet: check channel, time base and length of the capture",
        );
        Outcome {
            name: self.setup.name.clone(),
            rms_v: some((self.squares / n).sqrt()),
            mean_v: some(self.sum / n),
            frequency_hz: None,
            fundamental_v: None,
            thd_percent: None,
            harmonics_percent: Vec::new(),
            crest: None,
            shape: Shape::Other,
            nominal_v: self.setup.nominal_v,
            probe_factor: factor,
            because,
            interruptions: Vec::new(),
            dips: Vec::new(),
            cycles: Vec::new(),
            findings: vec![finding],
        }
    }
}

impl Follow {
    fn new(setup: &Setup, buffer: &[f32], base: u64, steady: Steady) -> Self {
        let (rate, from) = (setup.rate_hz, base as f64 + steady.from);
        let factor = match setup.voltage {
            true => factor(Some(steady.rms), setup.probe, setup.stated_probe, setup.nominal_v),
            false => Factor { factor: 1.0, because: Because::NoneNeeded },
        };
        let volts = steady.rms * factor.factor;
        let nominal = setup.nominal_v.or_else(|| mains_of(volts)).unwrap_or(volts);
        let wave = Wave { period: steady.period, mean: steady.mean, peak: steady.peak };
        // The grid begins at the first crossing that the samples hold.
        let first = (steady.from / steady.period).fract() * steady.period;
        Follow {
            factor,
            cycle: Cycle::of(buffer, &steady),
            nominal,
            grid: HalfCycles::new(first, steady.period),
            dips: Dips::new(nominal / factor.factor, rate, setup.start_s + base as f64 / rate),
            cycles: Vec::new(),
            watch: Watch::new(wave, rate, from as u64),
            windows: Windows::new(from, steady.period, rate, setup.orders),
            done: base,
            from,
            origin: base,
            steady,
        }
    }

    /// Takes what is new in the buffer.
    fn take(&mut self, buffer: &[f32], base: u64, last: bool) {
        let fresh = &buffer[(self.done - base) as usize..];
        let (dips, watch, cycles, origin) = (&mut self.dips, &mut self.watch, &mut self.cycles, self.origin);
        self.grid.take(fresh, |sample, rms| {
            dips.take(sample, rms);
            if cycles.len() < CYCLES_KEPT {
                cycles.push((origin + sample, rms));
            }
            watch.cycle(origin + sample, rms);
        });
        self.done = base + buffer.len() as u64;
        self.watch.scan(buffer, base);
        let quarter = self.steady.period / 4.0;
        let limit = match self.watch.first {
            Some(event) => event as f64 - quarter,
            None if last => self.done as f64,
            // A disturbance shows a little after it begins.
            None => self.done as f64 - quarter,
        };
        self.windows.advance(buffer, base, limit, last || self.watch.first.is_some());
        if last {
            self.watch.finish(buffer, base);
            self.dips.finish();
        }
    }

    fn outcome(self, setup: &Setup) -> Outcome {
        let k = self.factor.factor;
        let mut findings = Vec::new();
        findings.extend(of_factor(&setup.name, &self.factor, self.steady.rms, setup.stated_probe));
        let summed = self.windows.summed();
        let thd = summed.as_ref().and_then(|s| distortion(&s.squared));
        let rms = summed.as_ref().map_or(self.steady.rms, |s| s.rms);
        let harmonics = summed.as_ref().map_or_else(Vec::new, |s| {
            let first = s.squared.first().copied().unwrap_or(0.0);
            s.squared.iter().skip(1).map(|x| (x / first).sqrt() * 100.0).filter(|x| x.is_finite()).collect()
        });
        self.say(setup, &mut findings);
        let middle = self.steady.period / 2.0;
        let at = |sample: u64| setup.start_s + (sample as f64 + middle) / setup.rate_hz;
        Outcome {
            cycles: self.cycles.iter().map(|(sample, rms)| (at(*sample), rms * k)).collect(),
            name: setup.name.clone(),
            rms_v: Some(rms * k),
            mean_v: Some(summed.as_ref().map_or(self.steady.mean, |s| s.mean) * k),
            frequency_hz: Some(setup.rate_hz / self.steady.period),
            fundamental_v: summed.as_ref().map(|s| s.fundamental * k),
            thd_percent: thd.map(|t| t * 100.0),
            harmonics_percent: harmonics,
            crest: (rms > 0.0).then(|| self.cycle.peak() / rms),
            shape: self.cycle.shape(thd),
            nominal_v: setup.voltage.then_some(self.nominal),
            probe_factor: k,
            because: self.factor.because,
            interruptions: self.watch.found.iter().map(|g| interruption(g, setup, k)).collect(),
            dips: self
                .dips
                .found
                .iter()
                .filter(|_| setup.voltage)
                .map(|d| Dip { residual_v: d.residual_v * k, ..*d })
                .collect(),
            findings,
        }
    }

    fn say(&self, setup: &Setup, findings: &mut Vec<Finding>) {
        let (name, mut add) = (&setup.name, |f: Finding| findings.push(f));
        if self.windows.orders < setup.orders {
            let text = format!(
                "the sampling holds harmonics up to the {}th; those up to the {}th were asked for",
                self.windows.orders, setup.orders
            );
            add(Finding::doubt("orders-not-held", name, text, "capture with more samples a second"));
        }
        if self.windows.count == 1 && self.windows.cycles < 8 {
            let text = format!(
                "only {} whole cycles run undisturbed; neighbours of the harmonics are not told apart",
                self.windows.cycles
            );
            add(Finding::note(
                "short-window",
                name,
                text,
                "capture 200 ms or more for distortion by the standard",
            ));
        }
        if self.watch.found.iter().any(|g| g.back.is_none()) {
            let text = "the voltage goes and does not come back for good before the capture ends";
            add(Finding::gap("no-return", name, text, "capture longer, or trigger later"));
        }
        let (gaps, kept) = (self.watch.count, self.watch.found.len() as u64);
        if gaps > kept || self.dips.count > self.dips.found.len() as u64 {
            let text =
                format!("{gaps} interruptions and {} dips; the first of them are listed", self.dips.count);
            add(Finding::doubt("too-many-events", name, text, "is this a voltage at an outlet?"));
        }
        let highest = self.dips.highest * self.factor.factor;
        if setup.voltage && highest > SWELL * self.nominal {
            let text = format!("a cycle of {highest:.1} V, more than 110 % of {:.0} V", self.nominal);
            add(Finding::doubt("swell", name, text, "look at the capture; equipment may be harmed"));
        }
        if self.from > self.steady.period * 2.5 && self.watch.found.is_empty() {
            let text =
                format!("the wave runs evenly from {:.4} s on", setup.start_s + self.from / setup.rate_hz);
            add(Finding::note("late-wave", name, text, "what stands before is not judged"));
        }
    }
}

/// A gap in volts and seconds.
fn interruption(gap: &Gap, setup: &Setup, k: f64) -> Interruption {
    let rate = setup.rate_hz;
    let dead_ms = gap.back.map(|b| (b.at - gap.left.at) / rate * 1e3);
    // Each edge lies anywhere in its stretch: half of it over √3; away from crossings both together are Δt/√6.
    let dead_u_ms = gap.back.map(|b| gap.left.half_width.hypot(b.half_width) / 3f64.sqrt() / rate * 1e3);
    Interruption {
        segment: 1,
        start_s: setup.start_s + gap.left.at / rate,
        dead_ms,
        dead_u_ms,
        rms_before_v: gap.rms_before.map(|x| x * k),
        rms_after_v: gap.rms_after.map(|x| x * k),
        phase_jump_deg: gap.phase_jump_deg,
        lowest_cycle_rms_v: gap.lowest_cycle_rms.map(|x| x * k),
        compared: dead_ms.zip(dead_u_ms).map_or_else(Vec::new, |(ms, u)| compared(ms, u, None)),
    }
}
