//! What somebody wants to run: "fridge, 85 W, start 900 W, avg 38 W, 9 h/day, medical", read and checked.
use crate::finding::Finding;
use crate::number::{self, Marks};
use crate::quantity::{Dim, Unit};
use serde::{Deserialize, Serialize};

/// A device to run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Device {
    /// As the asker calls it.
    pub name: String,
    /// Power while it runs, W, above 0.
    pub running_w: f64,
    /// Power in the moment of starting, W; `None` when it needs no more than while running.
    #[serde(default)]
    pub starting_w: Option<f64>,
    /// Mean power while in use, W, for a device that switches itself on and off; `None` for a steady one.
    #[serde(default)]
    pub average_w: Option<f64>,
    /// Hours in use each day, above 0, at most 24.
    #[serde(default = "all_day")]
    pub hours: f64,
    /// Somebody's health hangs on it.
    #[serde(default)]
    pub medical: bool,
    /// It needs a clean sine.
    #[serde(default)]
    pub needs_sine: bool,
    /// It must not lose power for longer than this when the mains go away, ms.
    #[serde(default)]
    pub needs_ms: Option<f64>,
    /// Mains it is made for, V; `None` when not said.
    #[serde(default)]
    pub mains_v: Option<f64>,
    /// Where its figures come from, when the asker gave none; empty otherwise.
    #[serde(default)]
    pub origin: String,
}

fn all_day() -> f64 {
    24.0
}

impl Device {
    /// A steady device, in use all day.
    pub fn steady(name: impl Into<String>, running_w: f64) -> Device {
        Device {
            name: name.into(),
            running_w,
            starting_w: None,
            average_w: None,
            hours: 24.0,
            medical: false,
            needs_sine: false,
            needs_ms: None,
            mains_v: None,
            origin: String::new(),
        }
    }
    /// Mean power while in use, W.
    pub fn mean_w(&self) -> f64 {
        self.average_w.unwrap_or(self.running_w)
    }
    /// What makes no sense about it, in words; `None` when all is well.
    pub fn fault(&self) -> Option<Finding> {
        let name = &self.name;
        let (run, start) = (self.running_w, self.starting_w.unwrap_or(self.running_w));
        if !(run > 0.0 && run.is_finite()) {
            return Some(fault(
                "power-not-above-0",
                format!("{name}: {run} W is no power a device can take"),
            ));
        }
        if !(start >= run && start.is_finite()) {
            let text = format!("{name}: it would start with {start:.0} W and run with {run:.0} W");
            return Some(Finding {
                hint: "starting takes at least as much as running; leave it out if nobody knows".into(),
                ..fault("start-below-running", text)
            });
        }
        if let Some(mean) = self.average_w.filter(|mean| !(*mean > 0.0 && *mean <= run)) {
            let text =
                format!("{name}: {mean:.0} W on average is not between 0 and the {run:.0} W while running");
            return Some(fault("average-above-running", text));
        }
        if !(self.hours > 0.0 && self.hours <= 24.0) {
            let text = format!("{name}: {} h a day, but a day has 24", self.hours);
            return Some(Finding { hint: "write for example 9 h/day".into(), ..fault("hours-of-day", text) });
        }
        let odd = |v: Option<f64>| v.is_some_and(|v| !(v > 0.0 && v.is_finite()));
        if odd(self.needs_ms) || odd(self.mains_v) {
            return Some(fault("need-not-above-0", format!("{name}: what it needs must be above 0")));
        }
        None
    }
}

fn fault(code: &str, text: String) -> Finding {
    Finding::gap(code, "device", text, EXAMPLE)
}

const EXAMPLE: &str = "write for example: fridge, 85 W, start 900 W, avg 38 W, 24 h/day";

/// Reads a device: comma-separated parts in any order, units required. Beside the name and its power: `start 900 W`,
/// `avg 38 W`, `9 h/day`, `needs 10 ms`, `needs sine`, `120 V`, `medical`. With a name alone, the figures of the
/// first of `known` that goes by it are taken; figures given win over them.
pub fn device(text: &str, known: &[Device], marks: Marks) -> Result<Device, Finding> {
    let mut found = Parts::default();
    for part in number::parts(text) {
        found.take(part.trim(), marks)?;
    }
    let Some(name) = found.name else {
        return Err(fault("no-name", format!("`{}` does not say what device it is", text.trim())));
    };
    // Whatever figures are typed: a device that keeps somebody well never gets a station recommended by oversight.
    let sounds_medical = is_medical(&name);
    let same = |d: &&Device| d.name.eq_ignore_ascii_case(&name);
    let base = match (found.running, known.iter().find(same)) {
        (Some(running_w), _) => Device::steady(&name, running_w),
        (None, Some(known)) => known.clone(),
        (None, None) => {
            return Err(fault(
                "no-power",
                format!("{name}: its power is missing and no device of that name is known"),
            ));
        }
    };
    let device = Device {
        name,
        starting_w: found.starting.or(base.starting_w),
        average_w: found.average.or(base.average_w),
        hours: found.hours.unwrap_or(base.hours),
        medical: found.medical || base.medical || sounds_medical,
        needs_sine: found.sine || base.needs_sine,
        needs_ms: found.ms.or(base.needs_ms),
        mains_v: found.volts.or(base.mains_v),
        ..base
    };
    device.fault().map_or(Ok(device), Err)
}

/// Words in a name that speak of a medical device, also where nobody marked it as one.
const MEDICAL: [&str; 14] = [
    "cpap",
    "bipap",
    "apap",
    "apnea",
    "apnoea",
    "oxygen",
    "ventilator",
    "breathing",
    "respirator",
    "nebuli",
    "dialysis",
    "insulin",
    "medical",
    "suction pump",
];

fn is_medical(name: &str) -> bool {
    let name = name.to_lowercase();
    MEDICAL.iter().any(|word| name.contains(word))
}

#[derive(Default)]
struct Parts {
    name: Option<String>,
    running: Option<f64>,
    starting: Option<f64>,
    average: Option<f64>,
    hours: Option<f64>,
    ms: Option<f64>,
    volts: Option<f64>,
    sine: bool,
    medical: bool,
}

impl Parts {
    fn take(&mut self, part: &str, marks: Marks) -> Result<(), Finding> {
        let lower = part.to_lowercase();
        if lower == "medical" {
            self.medical = true;
            return Ok(());
        }
        if ["needs sine", "needs a sine", "needs clean sine", "needs a clean sine"].contains(&lower.as_str())
        {
            self.sine = true;
            return Ok(());
        }
        if let Some(rest) = after(&lower, part, &["needs "]) {
            let hours = quantity(rest, Dim::Time, "ms", marks)?;
            return once(&mut self.ms, hours * 3.6e6, part);
        }
        if let Some(rest) = after(&lower, part, &["starting ", "start ", "starts ", "peak "]) {
            return once(&mut self.starting, quantity(rest, Dim::Power, "W", marks)?, part);
        }
        if let Some(rest) = after(&lower, part, &["average ", "avg ", "mean "]) {
            return once(&mut self.average, quantity(rest, Dim::Power, "W", marks)?, part);
        }
        if let Some(rest) = after(&lower, part, &["running ", "runs "]) {
            return once(&mut self.running, quantity(rest, Dim::Power, "W", marks)?, part);
        }
        let daily = ["/day", "/d", " a day", " per day", " daily"];
        if let Some(end) = daily.iter().find(|end| lower.ends_with(**end)) {
            let hours = quantity(&part[..part.len() - end.len()], Dim::Time, "h", marks)?;
            return once(&mut self.hours, hours, part);
        }
        self.number_or_name(part, marks)
    }

    fn number_or_name(&mut self, part: &str, marks: Marks) -> Result<(), Finding> {
        let numeric = part.starts_with(|c: char| c.is_ascii_digit() || "+-−.".contains(c));
        if numeric
            && let Ok(v) = number::quantity(part, Dim::Voltage, Dim::Voltage.kept_in(), marks)
            && !v.unit_assumed
        {
            return once(&mut self.volts, v.kept, part);
        }
        match quantity(part, Dim::Power, "W", marks) {
            Ok(watts) if numeric => once(&mut self.running, watts, part),
            // "3D printer": a number that begins a name.
            Err(f) if numeric && (f.code != "unknown-unit" || self.name.is_some()) => Err(f),
            _ if self.name.is_none() => {
                self.name = Some(part.to_string());
                Ok(())
            }
            _ => Err(fault("unknown-part", format!("`{part}` is not understood"))),
        }
    }
}

/// What follows one of these words, as typed.
fn after<'a>(lower: &str, part: &'a str, words: &[&str]) -> Option<&'a str> {
    // Lower case may be longer in bytes than what was typed; then nothing is cut.
    let word = words.iter().find(|w| lower.starts_with(**w))?;
    part.get(word.len()..)
}

fn once(place: &mut Option<f64>, value: f64, part: &str) -> Result<(), Finding> {
    if place.is_some() {
        return Err(fault("said-twice", format!("`{part}` says again what was said before")));
    }
    *place = Some(value);
    Ok(())
}

fn quantity(text: &str, dim: Dim, unit: &'static str, marks: Marks) -> Result<f64, Finding> {
    let default = Unit::of(unit, dim).unwrap_or(dim.kept_in());
    let typed = number::quantity(text, dim, default, marks)
        .map_err(|t| Finding::gap(t.code, "device", t.text, t.hint))?;
    if typed.unit_assumed {
        return Err(Finding::gap(
            "no-unit",
            "device",
            format!("`{}` has no unit", text.trim()),
            format!("write `{} {unit}`", text.trim()),
        ));
    }
    Ok(typed.kept)
}

#[cfg(test)]
mod tests {
    use super::*;
    fn read(text: &str) -> Result<Device, Finding> {
        device(text, &[], Marks::Point)
    }
    fn code(text: &str) -> String {
        read(text).unwrap_err().code
    }
    #[test]
    fn parts_in_any_order() {
        let whole = Device {
            starting_w: Some(900.0),
            average_w: Some(38.0),
            hours: 9.0,
            medical: true,
            ..Device::steady("fridge", 85.0)
        };
        assert_eq!(read("fridge, 85 W, start 900 W, avg 38 W, 9 h/day, medical"), Ok(whole.clone()));
        assert_eq!(read("medical,9 h a day,average 38 W,85W,starting 0.9 kW,fridge"), Ok(whole));
        let pc = read("PC, 92 W, needs 10 ms, needs sine, 120 V").unwrap();
        assert_eq!((pc.needs_ms.map(f64::round), pc.needs_sine, pc.mains_v), (Some(10.0), true, Some(120.0)));
        assert_eq!(read("router, 12 W").unwrap().hours, 24.0);
        assert_eq!(read("3D printer, 120 W").unwrap().name, "3D printer");
        assert_eq!(read("kettle, 1,5 kW, 30 min/day").unwrap().running_w, 1500.0);
        assert_eq!(read("kettle, 1,500 W, 30 min/day").unwrap().hours, 0.5);
    }
    #[test]
    fn slips_are_named() {
        for (text, want) in [
            ("fridge, 0 W", "power-not-above-0"),
            ("fridge, -5 W", "power-not-above-0"),
            ("fridge, 85 Wh", "wrong-unit"),
            ("fridge, 85", "no-unit"),
            ("fridge, 85 W, 25 h/day", "hours-of-day"),
            ("fridge, 85 W, 0 h/day", "hours-of-day"),
            ("fridge, 85 W, start 60 W", "start-below-running"),
            ("fridge, 85 W, avg 90 W", "average-above-running"),
            ("fridge, 85 W, avg 0 W", "average-above-running"),
            ("85 W, 9 h/day", "no-name"),
            ("", "no-name"),
            (", ,", "no-name"),
            ("fridge", "no-power"),
            ("fridge, 85 W, blue", "unknown-part"),
            ("fridge, 85 W, 90 W", "said-twice"),
            ("fridge, 85 W, 12 parsec", "unknown-unit"),
            ("fridge, 85 W, needs 10", "no-unit"),
            ("fridge, 85 W, avg some W", "not-a-number"),
        ] {
            assert_eq!(code(text), want, "{text}");
        }
        assert!(read("fridge, 85 Wh").unwrap_err().text.contains("how much"));
        assert!(read("fridge, 85 W, 25 h/day").unwrap_err().text.contains("a day has 24"));
    }
    #[test]
    fn a_name_alone_takes_what_is_known_of_it() {
        let known = [Device { average_w: Some(38.0), ..Device::steady("Fridge", 85.0) }];
        let got = device("fridge, 12 h/day", &known, Marks::Point).unwrap();
        assert_eq!((got.running_w, got.average_w, got.hours), (85.0, Some(38.0), 12.0));
        // A power given wins, and with it goes the rest of what was known.
        assert_eq!(device("fridge, 100 W", &known, Marks::Point).unwrap().average_w, None);
    }
    #[test]
    fn a_medical_device_is_known_by_its_name_whatever_is_typed() {
        for text in ["CPAP, 24 W", "CPAP with heating, 58 W, 8 h/day", "my oxygen concentrator, 300 W"] {
            assert!(device(text, &[], Marks::Point).is_ok_and(|d| d.medical), "{text}");
        }
        assert!(device("fridge, 85 W", &[], Marks::Point).is_ok_and(|d| !d.medical));
    }
}
