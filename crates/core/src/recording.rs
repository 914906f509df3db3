//! An instrument's file as read, in the quantities that kinds of test compute with. Whoever reads files makes these;
//! nothing here knows of bytes.
mod capture;

pub use capture::{Asks, CaptureRecord, Manner, Segment, Told};

use crate::finding::Finding;
use crate::notebook::Entry;
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Which file, read in which way: equal sources give equal recordings.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Source {
    /// SHA-256 of the file's bytes.
    pub sha256: String,
    /// How it is to be read, as confirmed; empty where nobody had to say anything.
    pub how: String,
}

impl Source {
    /// The source an entry names: the file attached last, read as confirmed. `None` without a file.
    pub fn of(entry: &Entry) -> Option<Source> {
        let file = entry.files.last()?;
        Some(Source { sha256: file.sha256.clone(), how: entry.how.clone() })
    }
}

/// Files as read, by what they were read from.
pub type Recordings = BTreeMap<Source, Arc<Recording>>;

/// A file as read.
#[derive(Clone, Debug, PartialEq)]
pub enum Recording {
    /// A meter's log.
    Log(Box<LogRecord>),
    /// An oscilloscope's capture.
    Capture(CaptureRecord),
}

impl Recording {
    /// The log, when it is one.
    pub fn log(&self) -> Option<&LogRecord> {
        match self {
            Recording::Log(log) => Some(log),
            Recording::Capture(_) => None,
        }
    }
    /// The capture, when it is one.
    pub fn capture(&self) -> Option<&CaptureRecord> {
        match self {
            Recording::Capture(capture) => Some(capture),
            Recording::Log(_) => None,
        }
    }
    /// What was noticed and mended on the way.
    pub fn findings(&self) -> Vec<&Finding> {
        match self {
            Recording::Log(log) => log.findings.iter().collect(),
            Recording::Capture(capture) => capture.noticed().collect(),
        }
    }
}

/// Everything summed up from the first row to some instant.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tally {
    /// Time between readings close enough together, s.
    pub covered_s: f64,
    /// ∫P dt over that time, Wh.
    pub energy_wh: f64,
    /// ∫P² dt over that time, W²·h.
    pub w2h: f64,
    /// Gaps.
    pub gaps: u64,
    /// ∫P dt over the gaps by straight lines, Wh.
    pub bridged_wh: f64,
    /// ∫P² dt over the gaps by straight lines, W²·h.
    pub bridged_w2h: f64,
    /// What the log's own counter rose by in gaps, Wh.
    pub counted_wh: f64,
    /// Time in gaps through which a counter went on, s.
    pub counted_s: f64,
    /// ∫P dt by straight lines over those same gaps, Wh.
    pub counted_bridged_wh: f64,
    /// What the log's own counter rose by since the first row, Wh; `None` without a counter.
    pub counter_wh: Option<f64>,
}

/// An instant of a log, and what it had come to by then.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mark {
    /// As RFC 3339 or civil time; empty where the log has no date.
    pub at: String,
    /// From the first row, s.
    pub elapsed_s: f64,
    /// Sums so far.
    pub tally: Tally,
}

/// A load that switched itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycling {
    /// Times it switched on.
    pub starts: u32,
    /// Whole cycles seen.
    pub whole: u32,
    /// Mean length of a cycle, s.
    pub period_s: f64,
    /// Mean time on in a cycle, s.
    pub on_s: f64,
    /// Mean power over whole cycles, W.
    pub mean_w: f64,
    /// Usual power while on, W.
    pub running_w: f64,
    /// Usual highest power of a cycle, W.
    pub peak_w: f64,
    /// Long times at a higher power, seldom: a fridge that thaws. `None` where none was seen.
    pub defrosts: Option<Defrosts>,
}

/// What a load that switches itself does seldom and for long, at more than its running power: the heater by which a
/// fridge thaws its coils. Five minutes or longer, at 1.4 times the running power or more, once in four starts at most
/// (common practice: 150 to 500 W for 15 to 25 minutes, a few times a day).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Defrosts {
    /// Times seen whole.
    pub times: u32,
    /// Mean length, s.
    pub length_s: f64,
    /// Mean power meanwhile, W.
    pub mean_w: f64,
    /// Mean time from one beginning to the next, s; `None` for a single one.
    pub every_s: Option<f64>,
}

/// A point of the thinned curve; lowest and highest readings are kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// First row it stands for, s from the first row of the log.
    pub at_s: f64,
    /// Lowest power of its rows, W.
    pub min_w: f64,
    /// Highest power of its rows, W.
    pub max_w: f64,
    /// ∫P dt up to it over covered time, Wh.
    pub energy_wh: f64,
}

/// A meter's log, summed up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LogRecord {
    /// Rows read.
    pub rows: u64,
    /// Usual step between rows, s.
    pub interval_s: f64,
    /// Steps longer than this are gaps, s.
    pub gap_s: f64,
    /// Last digit of the power as written, W; 0 where it cannot be known.
    pub step_w: f64,
    /// Finest step of the log's counter, Wh; 0 without one.
    pub counter_step_wh: f64,
    /// First row.
    pub first: Mark,
    /// First row with the load on: at or above the level that counts as off.
    pub on: Option<Mark>,
    /// First row of the stretch at the end that stays off; `None` where the load is on to the end.
    pub off: Option<Mark>,
    /// Last row.
    pub last: Mark,
    /// Powers between which the middle nine tenths of the energy were delivered, W.
    pub spread_w: (f64, f64),
    /// Cycling, where it was seen.
    pub cycles: Option<Cycling>,
    /// Gaps from and to, s from the first row; the first thousand.
    pub gaps: Vec<(f64, f64)>,
    /// Curve for the eye, at most some thousand points.
    pub curve: Vec<CurvePoint>,
    /// What was noticed and mended on the way.
    pub findings: Vec<Finding>,
}

impl LogRecord {
    /// What lies between two of its instants.
    pub fn between(&self, from: &Mark, to: &Mark) -> Tally {
        let (a, b) = (&from.tally, &to.tally);
        Tally {
            covered_s: b.covered_s - a.covered_s,
            energy_wh: b.energy_wh - a.energy_wh,
            w2h: b.w2h - a.w2h,
            gaps: b.gaps - a.gaps,
            bridged_wh: b.bridged_wh - a.bridged_wh,
            bridged_w2h: b.bridged_w2h - a.bridged_w2h,
            counted_wh: b.counted_wh - a.counted_wh,
            counted_s: b.counted_s - a.counted_s,
            counted_bridged_wh: b.counted_bridged_wh - a.counted_bridged_wh,
            counter_wh: b.counter_wh.zip(a.counter_wh).map(|(b, a)| b - a),
        }
    }
    /// Seconds from the load going on until this share of the energy up to `to` was in; `None` where the curve is empty.
    pub fn reached(&self, share: f64, to: &Mark) -> Option<f64> {
        let on = self.on.as_ref()?;
        let (from, whole) = (on.tally.energy_wh, to.tally.energy_wh);
        let wanted = from + share * (whole - from);
        let k = self.curve.iter().position(|p| p.energy_wh >= wanted)?;
        let b = self.curve[k];
        let Some(a) = k.checked_sub(1).map(|k| self.curve[k]) else { return Some(b.at_s - on.elapsed_s) };
        let rise = b.energy_wh - a.energy_wh;
        let part = if rise > 0.0 { (wanted - a.energy_wh) / rise } else { 1.0 };
        Some(a.at_s + part * (b.at_s - a.at_s) - on.elapsed_s)
    }
    /// Seconds from the load going on until the power stays below 95 % of its plateau, the higher of the powers that
    /// most of the energy came at; `None` where it never does before `to`.
    pub fn taper(&self, to: &Mark) -> Option<f64> {
        let on = self.on.as_ref()?;
        let level = 0.95 * self.spread_w.1;
        let until = |p: &&CurvePoint| p.at_s < to.elapsed_s;
        let charging: Vec<&CurvePoint> = self.curve.iter().filter(until).collect();
        let last = charging.iter().rposition(|p| p.max_w >= level)?;
        charging.get(last + 1).map(|p| p.at_s - on.elapsed_s)
    }
}
