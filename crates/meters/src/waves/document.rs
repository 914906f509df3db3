//! The JSON document of a capture: the keys the command line promises.
use super::load::Capture;
use serde_json::{Value, json};
use trueplate_core::wave::Outcome;
use trueplate_core::wave::batch::{Batch, batch};
use trueplate_core::wave::half_cycle::Dip;
use trueplate_core::wave::ride::itic_bears;

fn dip(d: &Dip) -> Value {
    json!({
        "segment": d.segment,
        "start_s": d.start_s,
        "duration_ms": d.duration_ms,
        "residual_v": d.residual_v,
        "residual_percent": d.residual_percent,
        "within_itic": d.duration_ms.map(|ms| itic_bears(ms / 1e3, d.residual_percent)),
    })
}

fn channel(c: &Outcome) -> Value {
    json!({
        "name": c.name,
        "rms_v": c.rms_v,
        "mean_v": c.mean_v,
        "frequency_hz": c.frequency_hz,
        "fundamental_v": c.fundamental_v,
        "thd_percent": c.thd_percent,
        "harmonics_percent": c.harmonics_percent,
        "crest": c.crest,
        "shape": c.shape,
        "nominal_v": c.nominal_v,
        "probe_factor": c.probe_factor,
        "interruptions": c.interruptions,
        "dips": c.dips.iter().map(dip).collect::<Vec<_>>(),
    })
}

/// The document of `trueplate wave --json` for one file. Absent is null, never 0.
pub fn json(capture: &Capture) -> Value {
    let of_channels = capture.channels.iter().flat_map(|c| &c.findings);
    json!({
        "rate_hz": capture.rate_hz,
        "samples": capture.samples,
        "segments": capture.segments,
        "channels": capture.channels.iter().map(channel).collect::<Vec<_>>(),
        "findings": capture.findings.iter().chain(of_channels).collect::<Vec<_>>(),
    })
}

/// The document for several files: each by itself, and their gaps together.
pub fn batch_json(captures: &[(String, Capture)]) -> Value {
    let files: Vec<Value> = captures
        .iter()
        .map(|(name, capture)| {
            let mut one = json(capture);
            one["file"] = json!(name);
            one
        })
        .collect();
    let all: Vec<f64> = captures.iter().flat_map(|(_, c)| c.dead_ms()).collect();
    let batch: Option<Batch> = batch(&all, None);
    json!({ "files": files, "batch": batch })
}
