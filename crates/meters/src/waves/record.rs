//! A capture as kinds of test compute with it.
use super::load::{Capture, Options};
use trueplate_core::recording::{CaptureRecord, Manner};

/// How a capture is read that somebody said this about.
pub fn options(manner: &Manner) -> Options {
    Options { probe: manner.probe, nominal_v: manner.nominal_v, ..Options::default() }
}

/// The recording of a file as read; one that was not understood says so itself.
pub fn recording(capture: Capture, manner: &Manner) -> CaptureRecord {
    let length = capture.rate_hz.map_or(0.0, |rate| capture.samples as f64 / rate);
    CaptureRecord {
        rate_hz: capture.rate_hz,
        samples: capture.samples,
        segments: capture.segments,
        parts: capture.parts,
        end_s: capture.start_s + length,
        chosen: manner.channel.filter(|c| *c < capture.channels.len()),
        channels: capture.channels,
        curve: Vec::new(),
        findings: capture.findings,
    }
}
