//! A question as it is typed: devices a line each, for how long, panels. The bench's screen and the published page read
//! it alike.
use super::{DAYS_MAX, Device, Question, Solar, device};
use crate::number::{self, Marks};
use crate::quantity::{Dim, Unit};
use crate::shown::{Style, all_digits};
use serde::{Deserialize, Serialize};

/// What stands in the fields.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Typed {
    /// A device a line; empty lines are passed over.
    pub devices: Vec<String>,
    /// For how long: "2", "2 d", "36 h"; a number alone is days. Empty: one day.
    pub time: String,
    /// Panels: "200", "200 W". Empty: none.
    pub solar: String,
    /// The low-load switch-off has been disabled where the owner can.
    pub switch_off_disabled: bool,
    /// The outlet stays on between uses.
    pub outlet_stays_on: bool,
}

impl Default for Typed {
    fn default() -> Self {
        Typed {
            devices: Vec::new(),
            time: String::new(),
            solar: String::new(),
            switch_off_disabled: false,
            outlet_stays_on: true,
        }
    }
}

/// Something typed that is not understood: what, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Misread {
    /// Where: "line 2", "time", "panels".
    pub place: String,
    /// As typed.
    pub typed: String,
    /// What is wrong with it.
    pub text: String,
    /// What to do.
    pub hint: String,
}

impl Typed {
    /// The question, and what was not understood; what was stands in the question all the same.
    pub fn read(&self, known: &[Device], marks: Marks) -> (Question, Vec<Misread>) {
        let mut question = Question {
            switch_off_disabled: self.switch_off_disabled,
            outlet_stays_on: self.outlet_stays_on,
            ..Question::default()
        };
        let mut misread = Vec::new();
        let lines = self.devices.iter().map(|l| l.trim()).enumerate();
        for (n, line) in lines.filter(|(_, l)| !l.is_empty()) {
            match device(line, known, marks) {
                Ok(device) => question.devices.push(device),
                Err(f) => misread.push(Misread {
                    place: format!("line {}", n + 1),
                    typed: line.into(),
                    text: f.text,
                    hint: f.hint,
                }),
            }
        }
        let days = |hours: f64| Some(hours / 24.0).filter(|d| *d > 0.0 && *d <= DAYS_MAX);
        match read(&self.time, Dim::Time, "d", marks, days) {
            Ok(days) => question.days = days.unwrap_or(1.0),
            Err(why) => {
                misread.push(why.at("time", "write a time above 0 and up to 366 days: 2 days, or 36 h"));
            }
        }
        let watts = |w: f64| Some(w).filter(|w| *w > 0.0 && w.is_finite());
        match read(&self.solar, Dim::Power, "W", marks, watts) {
            Ok(watts) => question.solar = watts.map(Solar::panels),
            Err(why) => misread.push(why.at("panels", "write the watts on their labels, above 0: 200 W")),
        }
        (question, misread)
    }
}

impl Device {
    /// As somebody would type it: "fridge, 85 W, start 900 W, avg 38 W, 24 h/day"; reading it gives the device again, its
    /// name without commas.
    pub fn line(&self, style: Style) -> String {
        // Without groups: a gap inside a number is easily lost in typing.
        let number = |x: f64| all_digits(x, Style { group: '\0', ..style });
        let mut text = format!("{}, {} W", self.name.replace([',', ';'], ""), number(self.running_w));
        for (word, watts) in [("start", self.starting_w), ("avg", self.average_w)] {
            if let Some(watts) = watts {
                text += &format!(", {word} {} W", number(watts));
            }
        }
        text += &format!(", {} h/day", number(self.hours));
        if let Some(ms) = self.needs_ms {
            text += &format!(", needs {} ms", number(ms));
        }
        if let Some(volts) = self.mains_v {
            text += &format!(", {} V", number(volts));
        }
        text += if self.needs_sine { ", needs sine" } else { "" };
        text + if self.medical { ", medical" } else { "" }
    }
}

impl Misread {
    fn at(self, place: &str, hint: &str) -> Misread {
        Misread { place: place.into(), hint: hint.into(), ..self }
    }
}

/// Nothing where nothing is typed.
fn read(
    text: &str,
    dim: Dim,
    unit: &str,
    marks: Marks,
    fits: impl Fn(f64) -> Option<f64>,
) -> Result<Option<f64>, Misread> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let fault =
        |says: String| Misread { place: String::new(), typed: text.into(), text: says, hint: String::new() };
    let default = Unit::of(unit, dim).unwrap_or(dim.kept_in());
    let kept = number::quantity(text, dim, default, marks).map_err(|t| fault(t.text))?.kept;
    fits(kept).map(Some).ok_or_else(|| fault(format!("`{text}` is out of range")))
}

#[cfg(test)]
mod tests {
    use super::*;
    fn typed(devices: &[&str], time: &str, solar: &str) -> Typed {
        Typed {
            devices: devices.iter().map(|d| d.to_string()).collect(),
            time: time.into(),
            solar: solar.into(),
            ..Typed::default()
        }
    }
    #[test]
    fn days_hours_and_panels_as_people_write_them() {
        for (time, days) in [("", 1.0), ("2", 2.0), ("36 h", 1.5), ("3 days", 3.0), ("90 min", 0.0625)] {
            let (question, misread) = typed(&["lamp, 8 W", "  "], time, "0.2 kW").read(&[], Marks::Point);
            assert!(misread.is_empty(), "{misread:?}");
            assert!((question.days - days).abs() < 1e-12, "{time}: {}", question.days);
            assert_eq!((question.devices.len(), question.solar.map(|s| s.panel_w)), (1, Some(200.0)));
        }
        assert_eq!(typed(&[], "1,5", "").read(&[], Marks::Comma).0.days, 1.5);
    }
    #[test]
    fn a_device_typed_out_reads_back_whatever_its_name() {
        let pump =
            Device { starting_w: Some(2100.0), hours: 0.5, ..Device::steady("sump pump, 1/3 hp", 12_000.5) };
        assert_eq!(pump.line(Style::COMMA), "sump pump 1/3 hp, 12000,5 W, start 2100 W, 0,5 h/day");
        let pump = Device { running_w: 700.0, name: "12 V pump; small".into(), ..pump };
        let read = device(&pump.line(Style::POINT), &[], Marks::Point).unwrap();
        assert_eq!((read.name.as_str(), read.hours), ("12 V pump small", 0.5));
    }
    #[test]
    fn what_is_not_understood_is_named_and_the_rest_is_kept() {
        let (question, misread) =
            typed(&["lamp, 8 W", "fridge, 85"], "0 d", "bright").read(&[], Marks::Point);
        let of: Vec<&str> = misread.iter().map(|m| m.typed.as_str()).collect();
        assert_eq!(of, ["fridge, 85", "0 d", "bright"]);
        let at: Vec<&str> = misread.iter().map(|m| m.place.as_str()).collect();
        assert_eq!(at, ["line 2", "time", "panels"]);
        assert_eq!((question.devices.len(), question.days, question.solar), (1, 1.0, None));
        assert!(misread.iter().all(|m| !m.hint.is_empty()));
        assert_eq!(typed(&[], "367", "").read(&[], Marks::Point).1.len(), 1);
    }
}
