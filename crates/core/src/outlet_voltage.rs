//! A voltage read at the outlet: is the meter fit for the wave, and was the probe's factor applied?
use crate::finding::Finding;
use crate::kind::{Outcome, Run};
use crate::reading::Field;
use crate::wave::mains::MAINS;

/// An average-responding meter is right on a sine only: it reads 21 % low to 11 % high on stepped waves (Fourier
/// series: 0.785398 for blocks of 90°, 1.110721 for a square wave). True when the reading may be used.
pub fn true_rms<T>(run: &Run, field: &Field<T>, sine: bool, out: &mut Outcome) -> bool {
    let meter = run.entry(field).and_then(|e| run.desk.notebook.instrument(&e.instrument));
    let Some(meter) = meter.filter(|m| !m.true_rms && !sine) else { return true };
    out.findings.push(Finding::gap(
        "meter-not-true-rms",
        field.spec.key,
        format!("{} does not read true rms, and the wave is no sine for sure", meter.name),
        "read the voltage with an instrument that reads true rms",
    ));
    false
}

/// Asks for the probe's factor where the voltage cannot be. True when the reading may be used.
pub fn factor_applied(run: &Run, place: &str, volts: f64, out: &mut Outcome) -> bool {
    let stated = run.model().map_or(0.0, |m| m.mains_v);
    let near = |m: &&(f64, f64, f64)| (m.0 - stated).abs() <= 0.1 * m.0;
    let of_model = MAINS.iter().find(near);
    let fits = |(_, low, high): &(f64, f64, f64)| (*low..=*high).contains(&volts);
    if of_model.map_or_else(|| MAINS.iter().any(fits), fits) {
        return true;
    }
    let mains = of_model.map_or(120.0, |m| m.0);
    if volts > mains * 0.5 && volts < mains * 1.5 {
        out.findings.push(Finding::doubt(
            "voltage-unusual",
            place,
            format!("{volts:.1} V where about {mains:.0} V are meant"),
            "check the probe's factor; if it is right, this is a finding about the station",
        ));
        return true;
    }
    out.findings.push(Finding::gap(
        "probe-factor",
        place,
        format!("{volts:.2} V is no mains voltage; a factor of {:.1} is missing", mains / volts.max(1e-3)),
        "set the probe's factor (×10, ×200) and read again; split-phase outlets: one leg at a time",
    ));
    false
}
