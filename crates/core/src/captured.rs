//! Dead times and figures of the wave from an oscilloscope's captures, in the same form as readings by hand.
//!
//! Formula: t from the last instant inside the wave before to the first inside the wave after for good; rms, mean and
//! distortion as in `wave`; V_peak = crest · V. Several captures of a steady wave: their mean.
//!
//! Uncertainty: each edge lies anywhere in its stretch, half of it over √3, both together; the time base and the vertical
//! scale of the oscilloscope are shared by all captures; of several captures of a wave also s/√n.
use crate::finding::Finding;
use crate::instrument::Instrument;
use crate::kind::{Outcome, Run};
use crate::notebook::FileRef;
use crate::quantity::{Dimension, Frequency, Ratio, Time, Voltage};
use crate::reading::{Captured, Field, Many};
use crate::recording::{Asks, CaptureRecord};
use crate::stats::coverage::Shape as Spread;
use crate::uncertain::{Effect, Influence, Uncertain, Value};
use crate::wave::ride::YARDSTICKS;
use crate::wave::{Interruption, Outcome as Channel, Shape};

/// ms in an hour, the unit that times are kept in.
const MS_H: f64 = 3.6e6;

/// Captures that could be read, with the file each is from; `None` where none is attached.
fn read<'a>(run: &Run, captured: &'a Captured, out: &mut Outcome) -> Vec<(&'a FileRef, &'a CaptureRecord)> {
    let mut all = Vec::new();
    for one in &captured.files {
        // What nobody read, and what was not understood, has its finding already.
        let Some(record) = one.recording.as_ref().and_then(|r| r.capture()).filter(|c| c.understood()) else {
            continue;
        };
        if all.iter().any(|(file, _): &(&FileRef, _)| file.sha256 == one.file.sha256) {
            continue;
        }
        all.push((&one.file, record));
    }
    if let Some((file, record)) = all.iter().find(|(_, r)| r.chosen.is_none() && r.candidates().len() > 1) {
        let name = record.outlet().map_or("", |(_, c)| c.name.as_str());
        out.findings.push(Finding::doubt(
            "which-channel",
            run.spec.fields.iter().find(|f| f.shape.takes_files()).map_or("", |f| f.key),
            format!("{}: several channels may be the outlet's; {name} is taken", file.name),
            "say which one it is",
        ));
    }
    all
}

fn scope<'a>(run: &'a Run, captured: &Captured) -> Option<&'a Instrument> {
    run.desk.notebook.instrument(&captured.instrument)
}

/// A figure of a capture with the oscilloscope's own doubts; the step of its display has no part in it.
fn figure<D: Dimension>(run: &Run, scope: Option<&Instrument>, x: f64, name: &str) -> Option<Uncertain<D>> {
    let mut value = match scope {
        Some(scope) => scope.value(D::DIM, x, 0.0, name, &run.desk.test.day),
        None => Value::exact(D::DIM, x),
    };
    value.parts.retain(|of, _| of.effect != Effect::Step);
    value.typed()
}

/// Dead times of all captures, each with the doubt of its two edges; `None` where no capture is attached. Where a record ends
/// before the station took over, its least length counts if that alone is beyond the claim and what any equipment is said
/// to bear. A shorter one is left out, or an answer would take it for the whole; that it is beyond the claim is said.
pub fn dead_times(
    run: &Run,
    field: &Field<Captured>,
    claim_ms: Option<f64>,
    out: &mut Outcome,
) -> Option<Many<Time>> {
    let captured: Captured = run.get(field)?;
    let (key, scope) = (field.spec.key, scope(run, &captured));
    let (mut times, mut quiet, mut several) = (Many::new(), Vec::new(), Vec::new());
    let files = read(run, &captured, out);
    for (file, record) in &files {
        let gaps = record.interruptions();
        if gaps.is_empty() {
            quiet.push(file.name.as_str());
        }
        if gaps.len() > 1 && record.segments == 1 {
            several.push(file.name.as_str());
        }
        for gap in gaps {
            let Some((ms, u_ms)) = lasted(key, file, record, gap, claim_ms, out) else { continue };
            let name = format!("{}/{key}/{}", run.id(), times.len() + 1);
            let time = figure::<Time>(run, scope, ms / MS_H, &name)?;
            let edges = Influence::test(&name, Effect::Edges, "");
            times.push(time.with(edges, u_ms / MS_H, Spread::Triangular, f64::INFINITY));
        }
    }
    if !quiet.is_empty() {
        out.findings.push(Finding::doubt(
            "no-interruption",
            key,
            format!("{}: no interruption in it; it is not counted as a trial", some(&quiet)),
            "look at its chart: were the mains cut within it, and is it the outlet's channel?",
        ));
    }
    if !several.is_empty() {
        out.findings.push(Finding::note(
            "several-interruptions",
            key,
            format!("{}: more than one interruption; each is counted", some(&several)),
            "the return to the mains is one too, if it was captured",
        ));
    }
    Some(times)
}

/// How long an interruption lasts and the doubt of that, ms; without an end its least length, where that is beyond what is
/// claimed and borne, else nothing. What is not known is said.
fn lasted(
    key: &str,
    file: &FileRef,
    record: &CaptureRecord,
    gap: &Interruption,
    claim_ms: Option<f64>,
    out: &mut Outcome,
) -> Option<(f64, f64)> {
    if let Some(found) = gap.dead_ms.zip(gap.dead_u_ms) {
        return Some(found);
    }
    let (code, place) = ("dead-to-the-end", record.place(&file.name, gap));
    let longest_borne = YARDSTICKS.iter().map(|y| y.1).chain(claim_ms).fold(0.0, f64::max);
    let Some(ms) = record.at_least_ms(gap) else {
        let text = format!("{place}: dead to the end, and when that was is not known; it is not counted");
        out.findings.push(Finding::gap(code, key, text, "capture longer, or trigger earlier"));
        return None;
    };
    let within = format!("{place}: the station did not take over within {ms:.1} ms, when the record ends");
    let (finding, counts) = match claim_ms.filter(|claim| ms > *claim) {
        _ if ms > longest_borne => {
            let text = format!("{within}; counted as that");
            (Finding::doubt(code, key, text, "capture longer, to see whether it ever does"), true)
        }
        Some(claim) => {
            let text =
                format!("{within}: more than the {claim:.0} ms claimed, but not by how much; not counted");
            (Finding::doubt(code, key, text, "cut the mains again with a longer record"), false)
        }
        None => {
            let text = format!("{within}; too short to tell, not counted");
            (Finding::gap(code, key, text, "capture longer, or trigger earlier"), false)
        }
    };
    out.findings.push(finding);
    counts.then_some((ms, 0.0))
}

/// "a.csv", "a.csv and b.csv", "a.csv and 4 more".
fn some(names: &[&str]) -> String {
    match names {
        [one] => (*one).into(),
        [one, other] => format!("{one} and {other}"),
        [one, rest @ ..] => format!("{one} and {} more", rest.len()),
        [] => String::new(),
    }
}

/// What captures of a steady wave come to.
#[derive(Clone, Debug, Default)]
pub struct Figures {
    /// Rms; `None` while the probe's factor is asked for.
    pub volts: Option<Uncertain<Voltage>>,
    /// Frequency.
    pub hertz: Option<Uncertain<Frequency>>,
    /// Distortion over the fundamental.
    pub thd: Option<Uncertain<Ratio>>,
    /// Peak.
    pub peak: Option<Uncertain<Voltage>>,
    /// Mean.
    pub mean: Option<Uncertain<Voltage>>,
    /// Peak over rms where the voltage itself waits for the factor.
    pub crest: Option<Uncertain<Ratio>>,
    /// Shape of the most distorted of them.
    pub shape: Option<Shape>,
}

/// The wave in all captures; `None` where no capture is attached.
pub fn figures(run: &Run, field: &Field<Captured>, out: &mut Outcome) -> Option<Figures> {
    let captured: Captured = run.get(field)?;
    let (key, scope) = (field.spec.key, scope(run, &captured));
    let files = read(run, &captured, out);
    let waves: Vec<&Channel> = files.iter().filter_map(|(_, r)| r.outlet()).map(|(_, c)| c).collect();
    let still: Vec<&str> =
        files.iter().filter(|(_, r)| r.outlet().is_none()).map(|(f, _)| f.name.as_str()).collect();
    if !still.is_empty() {
        out.findings.push(Finding::gap(
            "no-wave",
            key,
            format!("{}: no wave that repeats evenly", some(&still)),
            "capture ten cycles or more of the outlet's voltage",
        ));
    }
    let scaled = files.iter().all(|(_, r)| !matches!(r.asks(), Some(Asks::Probe { .. })));
    let mean = |of: &dyn Fn(&Channel) -> Option<f64>| mean_of(&waves, of);
    let name = |what: &str| format!("{}/{key}/{what}", run.id());
    let value = |what: &str, of: &dyn Fn(&Channel) -> Option<f64>| mean(of).map(|m| (m, name(what)));
    let volts = value("rms", &|c| c.rms_v).filter(|_| scaled);
    let peak = value("peak", &|c| Some(c.crest? * c.rms_v?)).filter(|_| scaled);
    let middle = value("mean", &|c| c.mean_v).filter(|_| scaled);
    let hertz = value("frequency", &|c| c.frequency_hz);
    let thd = value("thd", &|c| Some(c.thd_percent? / 100.0));
    let crest = value("crest", &|c| c.crest).filter(|_| !scaled);
    let worst = waves.iter().max_by(|a, b| {
        let d = |c: &Channel| c.thd_percent.unwrap_or(f64::INFINITY);
        d(a).total_cmp(&d(b))
    });
    Some(Figures {
        volts: volts.and_then(|(m, n)| m.of(run, scope, &n)),
        hertz: hertz.and_then(|(m, n)| m.of(run, scope, &n)),
        thd: thd.and_then(|(m, n)| m.of(run, scope, &n)),
        peak: peak.and_then(|(m, n)| m.of(run, scope, &n)),
        mean: middle.and_then(|(m, n)| m.of(run, scope, &n)),
        crest: crest.and_then(|(m, n)| m.of(run, None, &n)),
        shape: worst.map(|c| c.shape),
    })
}

/// The mean of a figure over captures, its standard uncertainty s/√n, and n.
struct Mean {
    x: f64,
    u: f64,
    n: usize,
}

impl Mean {
    fn of<D: Dimension>(&self, run: &Run, scope: Option<&Instrument>, name: &str) -> Option<Uncertain<D>> {
        let x = figure::<D>(run, scope, self.x, name)?;
        if self.n < 2 {
            return Some(x);
        }
        let of = Influence::test(name, Effect::Repeatability, "");
        Some(x.with(of, self.u, Spread::Normal, (self.n - 1) as f64))
    }
}

fn mean_of(waves: &[&Channel], of: &dyn Fn(&Channel) -> Option<f64>) -> Option<Mean> {
    let all: Vec<f64> = waves.iter().filter_map(|c| of(c)).filter(|x| x.is_finite()).collect();
    let n = all.len();
    let x = (n > 0).then(|| all.iter().sum::<f64>() / n as f64)?;
    let squares: f64 = all.iter().map(|v| (v - x).powi(2)).sum();
    let u = if n > 1 { (squares / (n - 1) as f64 / n as f64).sqrt() } else { 0.0 };
    Some(Mean { x, u, n })
}
