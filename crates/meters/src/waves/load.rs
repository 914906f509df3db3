//! A whole capture: looked at, streamed, summed up.
use super::feed::{Batch, Feed, Said, Takes};
use super::layout::{Layout, understand};
use super::rows::{Finished, Rows};
use crate::logs::lines::Lines;
use crate::logs::text::{Utf8, unpack};
use crate::relay::relay;
use std::io::{self, Read};
use trueplate_core::finding::{Finding, Weight};
use trueplate_core::recording::Segment;
use trueplate_core::wave::Outcome;

/// Bytes of the head that are looked at.
const HEAD: u64 = 1 << 16;

/// What a person says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// The probe's factor; counts whatever the file says.
    pub probe: Option<f64>,
    /// Declared voltage, V.
    pub nominal_v: Option<f64>,
    /// Harmonics counted, 2 to this.
    pub orders: usize,
}

impl Default for Options {
    fn default() -> Self {
        Options { probe: None, nominal_v: None, orders: 40 }
    }
}

/// A capture, summed up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Capture {
    /// Samples a second; absent where the file is not understood.
    pub rate_hz: Option<f64>,
    /// Time of the first sample, s.
    pub start_s: f64,
    /// Samples of each channel.
    pub samples: u64,
    /// Parts of the file with a time of their own.
    pub segments: u64,
    /// Where they begin; the first thousand.
    pub parts: Vec<Segment>,
    /// What each channel comes to.
    pub channels: Vec<Outcome>,
    /// What was noticed about the file; the channels have findings of their own.
    pub findings: Vec<Finding>,
}

impl Capture {
    /// False where nothing could be read.
    pub fn understood(&self) -> bool {
        self.rate_hz.is_some()
    }

    /// All dead times, ms.
    pub fn dead_ms(&self) -> Vec<f64> {
        self.channels.iter().flat_map(|c| &c.interruptions).filter_map(|i| i.dead_ms).collect()
    }
}

/// Understands and reads a capture. `open` gives a fresh reader from the first byte, twice. Gzip is unpacked on the way.
///
/// # Errors
/// Only when a reader fails; whatever is wrong inside the file is a finding.
pub fn load<R: Read>(mut open: impl FnMut() -> io::Result<R>, options: &Options) -> io::Result<Capture> {
    let layout = match understand(&head_of(open()?)?) {
        Ok(layout) => layout,
        Err(findings) => return Ok(Capture { findings, ..Capture::default() }),
    };
    let said =
        Said { probe: options.probe, nominal_v: options.nominal_v, orders: options.orders.clamp(2, 200) };
    let mut feed = Feed::new(&layout, said);
    let read = stream(open()?, &layout, &mut feed)?;
    let mut findings = layout.findings.clone();
    findings.extend(read.notes.findings());
    let (channels, parts) = feed.finish(&read.half_envelope);
    Ok(Capture {
        rate_hz: Some(1.0 / layout.interval_s),
        start_s: layout.start_s,
        samples: read.samples,
        segments: read.segments,
        parts,
        channels,
        findings,
    })
}

fn head_of(source: impl Read) -> io::Result<Vec<u8>> {
    let mut head = Vec::new();
    match unpack(source)?.take(HEAD).read_to_end(&mut head) {
        Err(e) if !damaged(&e) => Err(e),
        _ => Ok(head),
    }
}

/// The same for bytes that are all there; cannot fail.
pub fn read(bytes: &[u8], options: &Options) -> Capture {
    load(|| Ok(bytes), options).unwrap_or_default()
}

/// Something that follows the samples of one channel.
pub trait Follows {
    /// The samples that follow, in V or A.
    fn take(&mut self, samples: &[f32]);
}

/// Lets something follow one channel (from 0), segments laid end to end; other channels are passed over. `begin` is given
/// samples a second and the time of the first, s. `None` where the file is not understood or has no such channel.
///
/// # Errors
/// Only when a reader fails.
pub fn one_channel<R: Read, F: Follows>(
    mut open: impl FnMut() -> io::Result<R>,
    channel: usize,
    begin: impl FnOnce(f64, f64) -> F,
) -> io::Result<Option<F>> {
    let Ok(layout) = understand(&head_of(open()?)?) else { return Ok(None) };
    let Some(layout) = layout.alone(channel) else { return Ok(None) };
    let mut follower = Only(begin(1.0 / layout.interval_s, layout.start_s));
    stream(open()?, &layout, &mut follower)?;
    Ok(Some(follower.0))
}

/// Hands the only channel on.
struct Only<F>(F);

impl<F: Follows> Takes for Only<F> {
    fn take(&mut self, batch: &Batch) {
        if let Some(samples) = batch.channels.first() {
            self.0.take(samples);
        }
    }
}

fn damaged(e: &io::Error) -> bool {
    matches!(
        e.kind(),
        io::ErrorKind::UnexpectedEof | io::ErrorKind::InvalidData | io::ErrorKind::InvalidInput
    )
}

/// Streams all rows into a follower.
fn stream<R: Read>(source: R, layout: &Layout, follower: &mut impl Takes) -> io::Result<Finished> {
    let mut lines = Lines::new(Utf8::new(unpack(source)?, &layout.encoding), layout.cr_only);
    let mut rows = relay(&mut lines, Rows::new(layout), |batch| {
        follower.take(batch);
        batch.clear();
    })?;
    if let Some(error) = lines.error.take() {
        if !damaged(&error) {
            return Err(error);
        }
        let what = || format!("the packed file is damaged or cut off: {error}");
        rows.notes.add(Weight::Gap, "file-cut", || "file".into(), what, "copy the file again");
    }
    let (last, read) = rows.finish();
    follower.take(&last);
    Ok(read)
}
