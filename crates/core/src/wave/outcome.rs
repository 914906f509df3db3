//! What is known of a channel before, and what it comes to.
use super::cycle::Shape;
use super::half_cycle::Dip;
use super::mains::Because;
use super::ride::Compared;
use crate::finding::Finding;
use serde::Serialize;

/// What is known of a channel before it is looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// Its name, for findings.
    pub name: String,
    /// Samples a second, above 0.
    pub rate_hz: f64,
    /// Time of the first sample, s.
    pub start_s: f64,
    /// The factor a person gives; it counts whatever the file says.
    pub probe: Option<f64>,
    /// The factor the file states.
    pub stated_probe: Option<f64>,
    /// Declared voltage, V; default: the mains the wave belongs to, else its own rms.
    pub nominal_v: Option<f64>,
    /// Harmonics counted, 2 to this.
    pub orders: usize,
    /// It is a voltage: a probe's factor and dips make sense.
    pub voltage: bool,
}

impl Setup {
    /// Orders 2 to 40, nothing else known.
    pub fn new(name: &str, rate_hz: f64, start_s: f64) -> Self {
        Setup {
            name: name.into(),
            rate_hz,
            start_s,
            probe: None,
            stated_probe: None,
            nominal_v: None,
            orders: 40,
            voltage: true,
        }
    }
}

/// The wave was gone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Interruption {
    /// Segment of the capture it lies in, from 1.
    pub segment: usize,
    /// Last instant inside the wave before, s on the axis of its segment.
    pub start_s: f64,
    /// From there to the first instant inside the wave after for good, ms; absent where the capture ends before.
    pub dead_ms: Option<f64>,
    /// Standard uncertainty of that from both edges, ms: sampling, and how near a zero crossing they are.
    pub dead_u_ms: Option<f64>,
    /// Rms of up to ten cycles before, V.
    pub rms_before_v: Option<f64>,
    /// Rms of up to ten cycles after, V.
    pub rms_after_v: Option<f64>,
    /// Phase after less phase before, both continued to the return, degrees.
    pub phase_jump_deg: Option<f64>,
    /// Lowest Urms(1/2), V.
    pub lowest_cycle_rms_v: Option<f64>,
    /// Against each yardstick.
    pub compared: Vec<Compared>,
}

/// What a channel comes to. Rms, mean, frequency, fundamental, distortion, crest and shape are those of the first
/// stretch that runs undisturbed; rms and mean of a channel without a wave are over all samples.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outcome {
    /// Name.
    pub name: String,
    /// V.
    pub rms_v: Option<f64>,
    /// V.
    pub mean_v: Option<f64>,
    /// Hz.
    pub frequency_hz: Option<f64>,
    /// Rms of the fundamental, V.
    pub fundamental_v: Option<f64>,
    /// Harmonic subgroups 2 to the highest order over the fundamental, per cent.
    pub thd_percent: Option<f64>,
    /// Each order from 2 on, per cent of the fundamental.
    pub harmonics_percent: Vec<f64>,
    /// Peak over rms.
    pub crest: Option<f64>,
    /// Shape.
    pub shape: Shape,
    /// Declared voltage that dips are held against, V.
    pub nominal_v: Option<f64>,
    /// What the samples were multiplied by.
    pub probe_factor: f64,
    /// Why by that.
    pub because: Because,
    /// Gaps.
    pub interruptions: Vec<Interruption>,
    /// Dips of Urms(1/2).
    pub dips: Vec<Dip>,
    /// Urms(1/2): middle of each cycle, s with segments laid end to end, and its rms, V; a step each half cycle.
    pub cycles: Vec<(f64, f64)>,
    /// What was noticed.
    pub findings: Vec<Finding>,
}

impl Outcome {
    /// The same as segment `segment` (from 1), which begins `later_s` later with segments laid end to end than by its
    /// own time.
    #[must_use]
    pub fn in_segment(mut self, segment: usize, later_s: f64) -> Outcome {
        self.interruptions.iter_mut().for_each(|i| i.segment = segment);
        self.dips.iter_mut().for_each(|d| d.segment = segment);
        self.cycles.iter_mut().for_each(|c| c.0 += later_s);
        self
    }

    /// Adds what a later segment of the same channel shows: its events. The voltages stay those of the first segment
    /// with a wave.
    pub fn append(&mut self, later: Outcome) {
        if self.frequency_hz.is_none() && later.frequency_hz.is_some() {
            let earlier = std::mem::replace(self, later);
            self.interruptions.splice(0..0, earlier.interruptions);
            self.cycles.splice(0..0, earlier.cycles);
            self.dips.splice(0..0, earlier.dips);
            return;
        }
        self.cycles.extend(later.cycles);
        self.interruptions.extend(later.interruptions);
        self.dips.extend(later.dips);
        for f in later.findings {
            if f.code != "no-wave" && !self.findings.iter().any(|mine| mine.code == f.code) {
                self.findings.push(f);
            }
        }
    }

    /// For an envelope of lowest and highest values whose middle was analysed: half of its mean width, in the unit of
    /// the samples, belongs to the peak.
    pub fn widen(&mut self, half: f64) {
        if let (Some(crest), Some(rms)) = (&mut self.crest, self.rms_v) {
            *crest += half * self.probe_factor / rms;
        }
    }
}
