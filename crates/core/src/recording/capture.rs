//! An oscilloscope's file as read: what its channels come to, which of them is the outlet's, and what only a person can say.
use super::Source;
use crate::finding::Finding;
use crate::notebook::Entry;
use crate::wave::mains::Because;
use crate::wave::{Interruption, Outcome};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How one capture is to be read, as far as a person has to say it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Manner {
    /// The probe's factor; counts whatever the file says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub probe: Option<f64>,
    /// The outlet's channel, from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channel: Option<usize>,
    /// Voltage the station is made for, V. It stands with the model, not with what was said of a file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nominal_v: Option<f64>,
}

/// What was said of the captures of one entry, by their hashes. Kept with the entry as JSON.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Told(BTreeMap<String, Manner>);

impl Told {
    /// What an entry says; nothing where nobody said anything.
    pub fn of(entry: &Entry) -> Told {
        serde_json::from_str(&entry.how).unwrap_or_default()
    }
    /// What was said of one file.
    pub fn about(&self, sha256: &str) -> Manner {
        self.0.get(sha256).cloned().unwrap_or_default()
    }
    /// The same with something said of one file; with nothing said, what was said is forgotten.
    pub fn say(mut self, sha256: &str, manner: Manner) -> Told {
        match manner == Manner::default() {
            true => self.0.remove(sha256),
            false => self.0.insert(sha256.into(), manner),
        };
        self
    }
    /// As it is kept; empty where nothing was said.
    pub fn kept(&self) -> String {
        if self.0.is_empty() { String::new() } else { serde_json::to_string(self).unwrap_or_default() }
    }
}

impl Source {
    /// The sources of an entry's captures, one for each file, for a station made for `mains_v` (0: not known).
    pub fn captures(entry: &Entry, mains_v: f64) -> Vec<Source> {
        let told = Told::of(entry);
        let one = |sha: &str| Source::capture(sha, told.about(sha), mains_v);
        entry.files.iter().map(|f| one(&f.sha256)).collect()
    }
    /// The source of one capture.
    pub fn capture(sha256: &str, manner: Manner, mains_v: f64) -> Source {
        let how = Manner { nominal_v: Some(mains_v).filter(|v| *v > 0.0), ..manner };
        Source { sha256: sha256.into(), how: serde_json::to_string(&how).unwrap_or_default() }
    }
    /// How a capture is to be read; `None` where this is no source of one.
    pub fn manner(&self) -> Option<Manner> {
        serde_json::from_str(&self.how).ok()
    }
}

/// A part of a capture with a time of its own.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Segment {
    /// Time of its first sample on its own axis, s.
    pub start_s: f64,
    /// The same with segments laid end to end after the first, s.
    pub laid_s: f64,
}

/// An oscilloscope's capture, summed up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CaptureRecord {
    /// Samples a second; `None` where the file is not understood.
    pub rate_hz: Option<f64>,
    /// Samples of each channel.
    pub samples: u64,
    /// Parts of the file with a time of their own.
    pub segments: u64,
    /// Where they begin; the first thousand.
    pub parts: Vec<Segment>,
    /// End of the last sample, s, segments laid end to end.
    pub end_s: f64,
    /// What each channel comes to.
    pub channels: Vec<Outcome>,
    /// The outlet's channel as somebody said.
    pub chosen: Option<usize>,
    /// The outlet's voltage where it matters: time, s, lowest and highest sample, V.
    pub curve: Vec<(f64, f32, f32)>,
    /// What was noticed about the file; the channels have findings of their own.
    pub findings: Vec<Finding>,
}

/// Cycles shown of a wave that runs on, and on either side of an interruption.
const CYCLES_SHOWN: f64 = 6.0;
const CYCLES_BESIDE: f64 = 2.5;

/// What only a person can say of a capture.
#[derive(Clone, Debug, PartialEq)]
pub enum Asks {
    /// The probe's factor: the wave is so many V, and this factor would make it a mains voltage.
    Probe {
        /// Rms as written, V.
        rms_v: f64,
        /// The usual factor that fits, if one does.
        fits: Option<f64>,
    },
    /// Which channel is the outlet's: those that may be, by place.
    Channel(Vec<usize>),
}

impl CaptureRecord {
    /// False where nothing could be read.
    pub fn understood(&self) -> bool {
        self.rate_hz.is_some()
    }
    /// The outlet's channel and its place: the one that was said, else the first that may be. `None` without a wave.
    pub fn outlet(&self) -> Option<(usize, &Outcome)> {
        let place = self.chosen.or_else(|| self.candidates().first().copied())?;
        self.channels.get(place).map(|c| (place, c))
    }
    /// Channels that may be the outlet's: voltages with a wave; where some of them go and come back, only those.
    pub fn candidates(&self) -> Vec<usize> {
        let voltage = |c: &Outcome| c.frequency_hz.is_some() && c.nominal_v.is_some();
        let waves = self.channels.iter().enumerate().filter(|(_, c)| voltage(c));
        let back = |c: &Outcome| c.interruptions.iter().any(|i| i.dead_ms.is_some());
        let (returning, others): (Vec<_>, Vec<_>) = waves.partition(|(_, c)| back(c));
        let those = if returning.is_empty() { others } else { returning };
        those.into_iter().map(|(n, _)| n).collect()
    }
    /// What is asked about it; times and shape stand meanwhile.
    pub fn asks(&self) -> Option<Asks> {
        let candidates = self.candidates();
        if self.chosen.is_none() && candidates.len() > 1 {
            return Some(Asks::Channel(candidates));
        }
        let (_, outlet) = self.outlet()?;
        let rms_v = outlet.rms_v?;
        match outlet.because {
            Because::Missing(p) => Some(Asks::Probe { rms_v, fits: Some(p) }),
            Because::Unusual if !(50.0..=345.0).contains(&rms_v) => Some(Asks::Probe { rms_v, fits: None }),
            _ => None,
        }
    }
    /// Everything noticed, about the file and about its channels.
    pub fn noticed(&self) -> impl Iterator<Item = &Finding> {
        // A channel without a wave is none of the outlet's, unless there is no other.
        let waves = self.channels.iter().any(|c| c.frequency_hz.is_some());
        let told = move |f: &&Finding| !(waves && f.code == "no-wave");
        self.findings.iter().chain(self.channels.iter().flat_map(|c| &c.findings).filter(told))
    }
    /// Interruptions of the outlet.
    pub fn interruptions(&self) -> &[Interruption] {
        self.outlet().map_or(&[], |(_, c)| c.interruptions.as_slice())
    }
    /// First and last instant, s; segments laid end to end.
    pub fn whole(&self) -> (f64, f64) {
        let length = self.rate_hz.map_or(0.0, |rate| self.samples as f64 / rate);
        (self.end_s - length, self.end_s)
    }
    /// A segment's first and last instant, s, segments laid end to end.
    fn part(&self, segment: usize) -> (f64, f64) {
        let laid = |n: usize| self.parts.get(n).map(|p| p.laid_s);
        let (first, last) = self.whole();
        (laid(segment.saturating_sub(1)).unwrap_or(first), laid(segment).unwrap_or(last))
    }
    /// When an interruption begins, s, segments laid end to end.
    pub fn from_s(&self, gap: &Interruption) -> f64 {
        let part = self.parts.get(gap.segment.saturating_sub(1));
        part.map_or(gap.start_s, |p| p.laid_s + (gap.start_s - p.start_s))
    }
    /// When an interruption ends, s, segments laid end to end; the end of its segment where it does not.
    pub fn until_s(&self, gap: &Interruption) -> f64 {
        gap.dead_ms.map_or(self.part(gap.segment).1, |ms| self.from_s(gap) + ms / 1e3)
    }
    /// Its longest interruption; one without an end is longer than any other.
    pub fn longest(&self) -> Option<&Interruption> {
        let ms = |i: &Interruption| i.dead_ms.unwrap_or(f64::INFINITY);
        self.interruptions().iter().max_by(|a, b| ms(a).total_cmp(&ms(b)))
    }
    /// The stretch where it matters, s: about its longest interruption, else the first cycles. `None` without a wave.
    pub fn stretch(&self) -> Option<(f64, f64)> {
        let cycle = 1.0 / self.outlet()?.1.frequency_hz?;
        let longest = self.longest();
        let (first, last) = self.part(longest.map_or(1, |gap| gap.segment));
        let (from, to) = match longest {
            Some(gap) => {
                (self.from_s(gap) - CYCLES_BESIDE * cycle, self.until_s(gap) + CYCLES_BESIDE * cycle)
            }
            None => (first, first + CYCLES_SHOWN * cycle),
        };
        Some((from.max(first), to.min(last)))
    }
    /// How long an interruption lasts at least whose end is not captured, ms: to the end of its segment. `None` for one that
    /// ends, and beyond the first thousand segments, where it is not known when they end.
    pub fn at_least_ms(&self, gap: &Interruption) -> Option<f64> {
        let known = gap.segment < self.parts.len() || gap.segment as u64 == self.segments;
        (known && gap.dead_ms.is_none()).then_some((self.until_s(gap) - self.from_s(gap)) * 1e3)
    }
    /// "cuts.csv", and in a file of several segments "cuts.csv, segment 3".
    pub fn place(&self, file: &str, gap: &Interruption) -> String {
        if self.segments > 1 { format!("{file}, segment {}", gap.segment) } else { file.into() }
    }
}
