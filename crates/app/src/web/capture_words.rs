//! Captures in rows of words and numbers for their pages.
use super::at;
use trueplate_core::field::Holds;
use trueplate_core::notebook::FileRef;
use trueplate_core::recording::{Asks, CaptureRecord};
use trueplate_core::shown::{Style, decimal, four_digits, places};
use trueplate_core::wave::batch::Batch;
use trueplate_core::wave::mains::{Because, PROBES};
use trueplate_core::wave::ride::{CLAIM, compared, itic_bears};
use trueplate_core::wave::{Interruption, Outcome as Channel};
use trueplate_pages::chart::capture::degrees;

/// A file in the list.
pub struct Row {
    pub sha: String,
    pub name: String,
    pub href: String,
    /// Samples, rate, channel, probe.
    pub about: String,
    /// The figure that counts; empty where there is none.
    pub figure: String,
    /// Beside it.
    pub besides: String,
    pub alert: bool,
}

/// A question with answers to tap.
pub struct Asked {
    pub text: String,
    pub why: String,
    pub files: Vec<String>,
    /// Name of what is sent, then value, label, and what it would make.
    pub name: &'static str,
    pub taps: Vec<(String, String, String)>,
    pub free: bool,
}

/// An interruption, in full.
pub struct Gap {
    pub title: String,
    pub pairs: Vec<(&'static str, String)>,
    /// Word, limit, with what, source.
    pub compared: Vec<(&'static str, String, String, &'static str)>,
}

/// Three digits at least, as a scale of some per cent deserves; the unit stays with its number.
fn volts(v: f64, style: Style) -> String {
    let p = if v == 0.0 { 0 } else { 2 - v.abs().log10().floor() as i32 };
    format!("{}\u{a0}V", decimal(v, p.clamp(0, 3), style))
}

/// "14.60 ± 0.04 ms", rounded by its two edges; without a doubt to four digits; "more than 295.8 ms" where its end is not
/// captured.
pub fn dead(record: &CaptureRecord, gap: &Interruption, style: Style) -> String {
    match gap.dead_ms.zip(gap.dead_u_ms) {
        Some((ms, u)) if u > 0.0 => {
            // Two-sided 95 % of a normal distribution.
            let half = 1.96 * u;
            let p = places(half);
            format!("{} ±\u{a0}{}\u{a0}ms", decimal(ms, p, style), decimal(half, p, style))
        }
        Some((ms, _)) => format!("{}\u{a0}ms", four_digits(ms, style)),
        None => match record.at_least_ms(gap) {
            Some(ms) => format!("more than {}\u{a0}ms", four_digits(ms, style)),
            None => "to the end".into(),
        },
    }
}

fn around(gap: &Interruption, style: Style) -> Vec<(&'static str, String)> {
    let jump = gap.phase_jump_deg.map(|d| degrees(d, style));
    [
        ("rms before", gap.rms_before_v.map(|v| volts(v, style))),
        ("rms after", gap.rms_after_v.map(|v| volts(v, style))),
        ("phase jumps by", jump),
        ("lowest rms of a cycle", gap.lowest_cycle_rms_v.map(|v| volts(v, style))),
    ]
    .into_iter()
    .filter_map(|(w, v)| Some((w, v?)))
    .collect()
}

fn rate(hz: f64, style: Style) -> String {
    match hz {
        r if r >= 1e6 => format!("{}\u{a0}MS/s", four_digits(r / 1e6, style)),
        r if r >= 1e3 => format!("{}\u{a0}kS/s", four_digits(r / 1e3, style)),
        r => format!("{}\u{a0}S/s", four_digits(r, style)),
    }
}

/// The probe's factor, and where it is from.
fn probe(c: &Channel, style: Style) -> String {
    let times = format!("×{}", four_digits(c.probe_factor, style));
    match c.because {
        Because::Said => format!("probe {times}, as you said"),
        Because::StatedAndApplied => format!("probe {times}, as the file states"),
        Because::StatedAlreadyIn => "the factor the file states is in already".into(),
        Because::NoneNeeded => "no factor needed".into(),
        Because::Missing(_) => "probe's factor missing".into(),
        Because::Unusual => "no usual voltage".into(),
        Because::NoWave => String::new(),
    }
}

/// A file in the list.
pub fn row(test: &str, file: &FileRef, record: Option<&CaptureRecord>, holds: Holds, style: Style) -> Row {
    let mut row = Row {
        sha: file.sha256.clone(),
        name: file.name.clone(),
        href: at::capture(test, &file.sha256),
        about: String::new(),
        figure: String::new(),
        besides: String::new(),
        alert: true,
    };
    let Some(record) = record else {
        row.besides = "its bytes cannot be read; attach it again".into();
        return row;
    };
    let Some(hz) = record.rate_hz else {
        row.besides = record.findings.first().map_or_else(String::new, |f| format!("{}; {}", f.text, f.hint));
        return row;
    };
    let mut about =
        vec![format!("{}\u{a0}samples", four_digits(record.samples as f64, style)), rate(hz, style)];
    let Some((_, c)) = record.outlet() else {
        row.about = about.join(" · ");
        row.besides = "no wave in it".into();
        return row;
    };
    if record.channels.len() > 1 {
        about.push(format!("{} of {} channels", c.name, record.channels.len()));
    }
    about.push(probe(c, style));
    row.about = about.into_iter().filter(|a| !a.is_empty()).collect::<Vec<_>>().join(" · ");
    row.alert = false;
    match (holds, c.interruptions.as_slice()) {
        (Holds::Interruption, []) => {
            row.alert = true;
            row.besides = "no interruption in it; not counted".into();
        }
        (Holds::Interruption, gaps) => {
            row.figure = gaps.iter().map(|g| dead(record, g, style)).collect::<Vec<_>>().join(", ");
            let besides = |g: &Interruption| {
                let volts: Vec<String> = [("before", g.rms_before_v), ("after", g.rms_after_v)]
                    .into_iter()
                    .filter_map(|(w, v)| Some(format!("{} {w}", volts(v?, style))))
                    .collect();
                let jump = around(g, style).into_iter().find(|(w, _)| w.starts_with("phase"));
                let jump = jump.map(|(_, d)| format!("phase\u{a0}{d}"));
                volts.into_iter().chain(jump).collect::<Vec<_>>().join(", ")
            };
            row.besides = gaps.first().map(besides).unwrap_or_default();
        }
        (Holds::Wave, _) => {
            row.figure = c.rms_v.map_or_else(String::new, |v| volts(v, style));
            row.besides = figures(c, style)
                .into_iter()
                .filter(|(w, _)| ["frequency", "distortion", "shape"].contains(w))
                .map(|(_, v)| v)
                .collect::<Vec<_>>()
                .join(", ");
        }
    }
    row
}

/// What is asked, once for all files that ask the same.
pub fn asked(known: &[(&FileRef, &CaptureRecord)], nominal: f64, style: Style) -> Vec<Asked> {
    let asks: Vec<(&FileRef, &CaptureRecord, Asks)> =
        known.iter().filter_map(|(f, r)| Some((*f, *r, r.asks()?))).collect();
    let names = |files: &[&FileRef]| match files {
        [one] => one.name.clone(),
        [one, rest @ ..] => format!("{} and {} more", one.name, rest.len()),
        [] => String::new(),
    };
    let mut out = Vec::new();
    let channel = asks.iter().find_map(|(_, r, a)| match a {
        Asks::Channel(which) => Some((*r, which)),
        Asks::Probe { .. } => None,
    });
    if let Some((record, which)) = channel {
        let same = |r: &CaptureRecord| r.channels.len() == record.channels.len();
        let files: Vec<&FileRef> = asks
            .iter()
            .filter(|(_, r, a)| matches!(a, Asks::Channel(_)) && same(r))
            .map(|(f, ..)| *f)
            .collect();
        let tap = |n: &usize| {
            let c = record.channels.get(*n)?;
            let volts = c.rms_v.map_or_else(String::new, |v| volts(v, style));
            Some((n.to_string(), c.name.clone(), volts))
        };
        out.push(Asked {
            text: "Which channel is the outlet's?".into(),
            why: format!(
                "{}: several hold a voltage that could be it. The first is taken for now.",
                names(&files)
            ),
            files: files.iter().map(|f| f.sha256.clone()).collect(),
            name: "channel",
            taps: which.iter().filter_map(tap).collect(),
            free: false,
        });
    }
    let probes = asks.iter().filter_map(|(f, _, a)| match a {
        Asks::Probe { rms_v, fits } => Some((*f, *rms_v, *fits)),
        Asks::Channel(_) => None,
    });
    let probes: Vec<(&FileRef, f64, Option<f64>)> = probes.collect();
    if let Some((_, rms, fits)) = probes.first() {
        let files: Vec<&FileRef> = probes.iter().map(|p| p.0).collect();
        let meant =
            if nominal > 0.0 { format!(" where {} are meant", volts(nominal, style)) } else { String::new() };
        let tap = |p: &f64| (p.to_string(), format!("×{p}"), volts(rms * p, style));
        let mut taps: Vec<_> = fits.iter().map(tap).collect();
        taps.extend(PROBES.iter().filter(|p| Some(**p) != *fits).map(tap));
        out.push(Asked {
            text: "Which factor has the probe?".into(),
            why: format!(
                "{}: the wave has {} as written{meant}. Times and shape stand meanwhile; voltages wait.",
                names(&files),
                volts(*rms, style)
            ),
            files: files.iter().map(|f| f.sha256.clone()).collect(),
            name: "probe",
            taps,
            free: true,
        });
    }
    out
}

/// Limits with their counts: words, count, bound, source.
pub fn batch(b: &Batch, style: Style) -> Vec<(String, String, String, &'static str)> {
    let row = |o: &trueplate_core::wave::batch::Over| {
        let limit = format!("longer than {}\u{a0}ms", four_digits(o.limit_ms, style));
        let bound =
            format!("{}; of all cuts up to {:.0}\u{a0}%, with 95\u{a0}% confidence", o.with, o.bound * 100.0);
        // A claim is its own source.
        let source = if o.with == CLAIM { "" } else { source(&o.source) };
        (limit, format!("{} of {}", o.k, b.n), bound, source)
    };
    b.over.iter().map(row).collect()
}

/// The source of a yardstick, as it stands with the yardsticks.
fn source(text: &str) -> &'static str {
    let all = compared(0.0, 0.0, Some(1.0));
    all.into_iter().map(|c| c.source).find(|s| *s == text).unwrap_or("")
}

/// The maker's claim as it was held against a batch, ms.
pub fn claim_ms(b: &Batch) -> Option<f64> {
    b.over.iter().find(|o| o.with == CLAIM).map(|o| o.limit_ms)
}

/// The batch in a sentence.
pub fn sentence(b: &Batch, style: Style) -> String {
    let ms = |x: f64| format!("{}\u{a0}ms", decimal(x, 1, style));
    match b.n {
        1 => format!("Dead for {}, one cut. Twenty say something.", ms(b.longest_ms)),
        n => format!(
            "Dead for {} in the median of {n} cuts, {} at the longest.",
            ms(b.median_ms),
            ms(b.longest_ms)
        ),
    }
}

/// A wave in a sentence.
pub fn wave(c: &Channel, style: Style) -> String {
    let parts = figures(c, style).into_iter().filter(|(w, _)| ["rms", "frequency", "distortion"].contains(w));
    let parts: Vec<String> = parts.map(|(_, v)| v).collect();
    format!("{}: {}.", parts.join(", "), c.shape.words())
}

/// One capture in a sentence.
pub fn one(record: &CaptureRecord, c: &Channel, style: Style) -> String {
    match c.interruptions.as_slice() {
        [] => wave(c, style),
        [gap] if gap.dead_ms.is_none() => {
            format!("The station did not take over: dead for {}, to the end.", dead(record, gap, style))
        }
        [gap] => format!("The outlet is dead for {}.", dead(record, gap, style)),
        many => {
            let all: Vec<String> = many.iter().map(|g| dead(record, g, style)).collect();
            format!("The outlet is dead {} times: {}.", many.len(), all.join(", "))
        }
    }
}

/// What was understood of the file.
pub fn facts(r: &CaptureRecord, style: Style) -> Vec<(&'static str, String)> {
    let Some(hz) = r.rate_hz else { return Vec::new() };
    let mut facts = vec![("samples", four_digits(r.samples as f64, style)), ("rate", rate(hz, style))];
    facts.push(("length", format!("{}\u{a0}ms", four_digits(r.samples as f64 / hz * 1e3, style))));
    if r.segments > 1 {
        facts.push(("segments", r.segments.to_string()));
    }
    if let Some((_, c)) = r.outlet() {
        facts.push(("channel", c.name.clone()));
        facts.push(("scale", probe(c, style)));
    }
    facts
}

/// Figures of the undisturbed wave.
pub fn figures(c: &Channel, style: Style) -> Vec<(&'static str, String)> {
    [
        ("rms", c.rms_v.map(|v| volts(v, style))),
        ("frequency", c.frequency_hz.map(|f| format!("{}\u{a0}Hz", decimal(f, 2, style)))),
        ("distortion", c.thd_percent.map(|d| format!("{}\u{a0}% THD", decimal(d, 1, style)))),
        ("crest factor", c.crest.map(|x| decimal(x, 3, style))),
        ("mean", c.mean_v.map(|v| format!("{} V", decimal(v, 2, style)))),
        ("shape", c.frequency_hz.map(|_| c.shape.words().to_string())),
    ]
    .into_iter()
    .filter_map(|(w, v)| Some((w, v?)))
    .collect()
}

/// Where in a capture of several segments; nothing in one of a single one.
fn in_segment(segment: usize, many: bool) -> String {
    if many { format!(" in segment {segment}") } else { String::new() }
}

/// An interruption in full.
pub fn gap(record: &CaptureRecord, g: &Interruption, claim: Option<f64>, style: Style) -> Gap {
    let held = g.dead_ms.zip(g.dead_u_ms).map_or_else(Vec::new, |(ms, u)| compared(ms, u, claim));
    let word = |c: &trueplate_core::wave::ride::Compared| match (c.within, c.close) {
        (_, true) => "too close to tell",
        (true, _) => "within",
        (false, _) => "longer than",
    };
    Gap {
        title: format!(
            "Dead {}, from {}\u{a0}ms on{}",
            dead(record, g, style),
            decimal(g.start_s * 1e3, 2, style),
            in_segment(g.segment, record.segments > 1)
        ),
        pairs: around(g, style),
        compared: held
            .into_iter()
            .map(|c| (word(&c), format!("{}\u{a0}ms", four_digits(c.limit_ms, style)), c.with, c.source))
            .collect(),
    }
}

/// Dips of the cycle rms: when, how deep, against the ITIC curve.
pub fn dips(c: &Channel, many: bool, style: Style) -> Vec<(String, String, String)> {
    let row = |d: &trueplate_core::wave::half_cycle::Dip| {
        let lasts =
            d.duration_ms.map_or("to the end".into(), |ms| format!("for {} ms", four_digits(ms, style)));
        let borne = d.duration_ms.map_or("", |ms| match itic_bears(ms / 1e3, d.residual_percent) {
            true => "within the ITIC curve",
            false => "outside the ITIC curve",
        });
        (
            format!("at {} ms{}, {lasts}", decimal(d.start_s * 1e3, 1, style), in_segment(d.segment, many)),
            format!("{} ({:.0} %)", volts(d.residual_v, style), d.residual_percent),
            borne.to_string(),
        )
    };
    c.dips.iter().take(40).map(row).collect()
}
