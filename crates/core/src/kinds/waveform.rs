//! Waveform: voltage, frequency and shape of what the outlet gives.
//!
//! Formula: V rms as read; THD as read, orders 2 to 40 over the fundamental; crest = peak/rms.
//! Uncertainty: accuracy of the instrument, probe included.
//! Does not tell: whether a given device minds.
use crate::captured::{self, Figures};
use crate::field::{Choice, Holds};
use crate::finding::Finding;
use crate::kind::{Axis, Example, Kind, Outcome, Run, Spec};
use crate::measurand::{Better, Measurand};
use crate::outlet_voltage::{factor_applied, true_rms};
use crate::quantity::{Frequency, Ratio, Voltage};
use crate::reading::{Captured, Field, Pick};
use crate::uncertain::Uncertain;
use crate::wave::{SINE_THD, Shape};

/// The kind.
pub struct Waveform;

static VOLTAGE: Measurand<Voltage> =
    Measurand::new("voltage", "Voltage at the outlet", "V", Better::More).formula("V rms as read");
static FREQUENCY: Measurand<Frequency> =
    Measurand::new("frequency", "Frequency at the outlet", "Hz", Better::More).formula("f as read");
static THD: Measurand<Ratio> =
    Measurand::new("thd", "Harmonic distortion", "%", Better::Less).formula("THD = √ΣV_h²/V₁, h = 2…40");
static CREST: Measurand<Ratio> =
    Measurand::new("crest", "Crest factor", "", Better::More).formula("V_peak/V");
static OFFSET: Measurand<Voltage> =
    Measurand::new("dc-offset", "Direct voltage in it", "V", Better::Less).formula("mean as read");

static LOAD: Axis =
    Axis { key: "load", label: "load", values: &["half load", "no load", "full load", "rectifier"] };
static LOAD_FIELD: Field<Pick> = Field::choice(
    "load",
    "load",
    &[
        Choice { key: "half load", label: "about half of its power, resistive" },
        Choice { key: "no load", label: "nothing" },
        Choice { key: "full load", label: "nearly its full power, resistive" },
        Choice { key: "rectifier", label: "power supplies or a dimmer: takes current in gulps" },
    ],
)
.ask("What hangs on the outlet?", "One test for each load.");
static STATED: Field<Pick> = Field::choice(
    "stated",
    "shape the maker states",
    &[
        Choice { key: "pure sine", label: "pure sine" },
        Choice { key: "stepped", label: "modified or simulated sine" },
        Choice { key: "not stated", label: "not stated" },
    ],
)
.ask("What shape does the maker state?", "");
static SEEN: Field<Pick> = Field::choice(
    "seen",
    "shape seen",
    &[
        Choice { key: "sine", label: "a sine" },
        Choice { key: "flat", label: "a sine with flattened tops" },
        Choice { key: "stepped", label: "steps or blocks" },
        Choice { key: "not-seen", label: "no oscilloscope at hand" },
    ],
)
.spared_by("captures")
.ask("What does the oscilloscope show?", "Ten cycles or more, 20 000 samples a second or more.");
static CAPTURES: Field<Captured> = Field::captures("captures", "captures", Holds::Wave)
    .optional()
    .ask(
        "Have you a capture of it?",
        "The oscilloscope's file: ten cycles or more, 20 000 samples a second or more. Nothing has to be typed then.",
    );
static RMS: Field<Uncertain<Voltage>> = Field::quantity("voltage", "voltage, rms", "V")
    .spared_by("captures")
    .ask("What voltage is read, rms?", "With the probe's factor applied: ×10, ×200.");
static HERTZ: Field<Uncertain<Frequency>> =
    Field::quantity("frequency", "frequency", "Hz").optional().ask("What frequency?", "");
static DISTORTION: Field<Uncertain<Ratio>> = Field::quantity("thd", "THD", "%")
    .optional()
    .ask("What distortion, THD?", "Over the fundamental, to the 40th.");
static PEAK: Field<Uncertain<Voltage>> = Field::quantity("peak", "peak voltage", "V")
    .optional()
    .ask("What peak voltage?", "From the middle line up.");
static MEAN: Field<Uncertain<Voltage>> = Field::quantity("mean", "mean voltage", "V")
    .optional()
    .ask("What mean voltage?", "Direct voltage in it.");

static SPEC: Spec = Spec {
    id: "waveform",
    revision: 1,
    title: "Waveform",
    question: "Is what comes out as clean as the mains?",
    method: &[
        "Oscilloscope on the outlet through a differential probe, its factor set. Ten cycles or more.",
        "Read rms voltage, frequency, THD, peak and mean, or send the capture: all of it is computed. With nothing, half, full load, and with power supplies.",
        "Without an oscilloscope: a meter that reads true rms; any other is wrong on steps by up to a fifth.",
    ],
    uncertainty: "Accuracy of instrument and probe; 8 bits and a probe make one to three per cent of the voltage.",
    does_not_tell: "Whether a given device minds. A sine's crest factor alone proves no sine: some stepped waves have it too.",
    cautions: &[
        "Oscilloscope on an outlet only through a differential probe; never lift its earth.",
        "Probe, leads and meter marked for mains voltage. One hand, dry.",
    ],
    attended: true,
    minutes: 30,
    fields: &[
        &LOAD_FIELD.spec,
        &STATED.spec,
        &CAPTURES.spec,
        &SEEN.spec,
        &RMS.spec,
        &HERTZ.spec,
        &DISTORTION.spec,
        &PEAK.spec,
        &MEAN.spec,
    ],
    axes: &[&LOAD],
    results: &[&VOLTAGE.spec, &FREQUENCY.spec, &THD.spec, &CREST.spec, &OFFSET.spec],
};

impl Kind for Waveform {
    fn spec(&self) -> &'static Spec {
        &SPEC
    }
    fn analyse(&self, run: &Run, out: &mut Outcome) -> Option<()> {
        out.on(&LOAD, run.get(&LOAD_FIELD)?.0);
        if let Some(found) = captured::figures(run, &CAPTURES, out).filter(|f| f.shape.is_some()) {
            return of_captures(run, found, out);
        }
        let seen = run.get(&SEEN)?.0;
        let words = match seen {
            "sine" => "a sine",
            "flat" => "a sine with flattened tops",
            "stepped" => Shape::Stepped.words(),
            _ => "",
        };
        shape(run, words, seen == "stepped", run.get(&DISTORTION).map(|t| t.x()), out);
        let mut found = Figures {
            hertz: run.get(&HERTZ),
            thd: run.get(&DISTORTION),
            mean: run.get(&MEAN),
            ..Figures::default()
        };
        found.volts = run.get(&RMS).inspect(|v| out.read("V", &RMS.spec, v)).filter(|v| {
            true_rms(run, &RMS, matches!(seen, "sine" | "flat"), out)
                && factor_applied(run, RMS.spec.key, v.x(), out)
        });
        found.peak = run.get(&PEAK).filter(|_| found.volts.is_some());
        if let Some(peak) = &found.peak {
            out.read("V_peak", &PEAK.spec, peak);
        }
        put(found, out)
    }
    fn example(&self) -> Example {
        Example::of(&SPEC)
            .says(&LOAD_FIELD.spec, "half load")
            .says(&STATED.spec, "pure sine")
            .says(&SEEN.spec, "sine")
            .reads(&RMS.spec, "119.5 V", "scope")
            .reads(&HERTZ.spec, "60.01 Hz", "scope")
            .reads(&DISTORTION.spec, "2.0 %", "scope")
            .reads(&PEAK.spec, "168.6 V", "scope")
            .reads(&MEAN.spec, "0.4 V", "scope")
    }
}

/// Everything from the capture: its own probe factor, its own shape.
fn of_captures(run: &Run, mut found: Figures, out: &mut Outcome) -> Option<()> {
    let seen = found.shape?;
    shape(run, seen.words(), seen != Shape::Sine, found.thd.as_ref().map(Uncertain::x), out);
    found.volts = found.volts.filter(|v| factor_applied(run, CAPTURES.spec.key, v.x(), out));
    if let Some(volts) = &found.volts {
        out.step("V", "rms of the undisturbed wave", "V", volts);
    }
    if let Some(peak) = &found.peak {
        out.step("V_peak", "peak from the middle line", "V", peak);
    }
    if let (Some(by_hand), Some(volts)) = (run.get(&RMS), &found.volts) {
        let (by_hand, by_file) = (by_hand.x(), volts.x());
        if (by_hand - by_file).abs() > BY_HAND_OFF * by_file {
            out.findings.push(Finding::doubt(
                "voltage-against-capture",
                RMS.spec.key,
                format!("{by_hand:.1} V is typed, the capture has {by_file:.1} V"),
                "the capture is taken; is it of this test, and is the probe's factor right?",
            ));
        }
    }
    put(found, out)
}

/// A voltage by hand and by capture may differ by this share (common practice: two scales of 3 % and 2 %).
const BY_HAND_OFF: f64 = 0.05;

/// The results, wherever the figures are from.
fn put(found: Figures, out: &mut Outcome) -> Option<()> {
    if let Some(f) = found.hertz {
        out.put(&FREQUENCY, f);
    }
    if let Some(thd) = found.thd {
        out.put(&THD, thd);
    }
    if let Some(crest) = found.crest {
        out.put(&CREST, crest);
    }
    let volts = found.volts?;
    if let Some(peak) = found.peak.filter(|_| volts.x() > 0.0) {
        out.put(&CREST, peak / volts.clone());
    }
    if let Some(mean) = found.mean {
        out.put(&OFFSET, mean);
    }
    out.put(&VOLTAGE, volts);
    Some(())
}

/// What is said of the shape, and whether the maker says so too.
fn shape(run: &Run, words: &str, no_sine: bool, thd: Option<f64>, out: &mut Outcome) {
    if words.is_empty() {
        return;
    }
    out.say("waveform", "waveform", words);
    let stated = run.get(&STATED).is_some_and(|s| s.0 == "pure sine");
    let thd = thd.filter(|t| *t > SINE_THD);
    if stated && (thd.is_some() || no_sine) {
        let much = thd.map_or_else(String::new, |t| format!(" with {:.0} % of distortion", t * 100.0));
        out.findings.push(Finding::doubt(
            "not-a-pure-sine",
            DISTORTION.spec.key,
            format!("stated is a pure sine, seen is {words}{much}"),
            "look at probe, range and load first; if it stays, say so on the page with the picture",
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examine;
    use crate::example_check::{changed, codes, outcome, value};
    #[test]
    fn a_sine_has_the_crest_of_a_sine() {
        // 168.6/119.5 = 1.410879; the scope's gain cancels, two steps of 0.1 V stay:
        // 1.410879·0.028868·√(1/168.6² + 1/119.5²) = 0.000418.
        let out = outcome(&Waveform, &[]);
        let crest = value(&out, "crest");
        assert!((crest.x - 1.410_879).abs() < 1e-6 && (crest.u() - 0.000_418).abs() < 1e-6);
        assert!(out.findings.is_empty(), "{:?}", out.findings);
    }
    #[test]
    fn thirty_one_per_cent_is_no_sine() {
        // A stepped wave of 120° blocks has 31 % distortion (√(πδ/(8 sin²(δ/2)) − 1) = 0.310842 for δ = 2π/3).
        let delta = 2.0 * std::f64::consts::PI / 3.0;
        let thd = (std::f64::consts::PI * delta / (8.0 * (delta / 2.0).sin().powi(2)) - 1.0).sqrt();
        assert!((thd - 0.310_842).abs() < 1e-6);
        let text = format!("{:.1} %", thd * 100.0);
        let out = outcome(&Waveform, &[("thd", &text), ("seen", "stepped")]);
        assert!(codes(&out).contains(&"not-a-pure-sine"));
        assert!((value(&out, "thd").x - 0.311).abs() < 1e-9);
    }
    #[test]
    fn a_probe_factor_left_out_is_asked_for() {
        let out = outcome(&Waveform, &[("voltage", "0.55 V")]); // 110 V through ×200
        assert!(codes(&out).contains(&"probe-factor"));
        assert!(out.results.iter().all(|r| r.result.key != "voltage"));
        assert!(codes(&outcome(&Waveform, &[("voltage", "104.2 V")])).contains(&"voltage-unusual"));
    }
    #[test]
    fn a_meter_that_is_not_true_rms_is_kept_from_steps() {
        let mut example = changed(&Waveform, &[("seen", "stepped"), ("stated", "stepped")]);
        example.notebook.instruments.iter_mut().for_each(|i| i.true_rms = false);
        let out = examine::run(&Waveform, &example.test, &example.notebook);
        assert!(codes(&out).contains(&"meter-not-true-rms"));
        assert!(out.results.iter().all(|r| r.result.key != "voltage"));
    }
}
