//! The header block: keys and values that say how the rows are to be taken.
//!
//! Keys as they stand in many instruments' exports (trade words, from memory); what is not known is passed over.
use crate::logs::number::{Marks, Number, parse};
use crate::logs::words::fold;

/// What a header block says.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Keys {
    /// Seconds from sample to sample.
    pub(crate) interval_s: Option<f64>,
    /// Time of the first sample, s.
    pub(crate) start_s: Option<f64>,
    /// The sample at which the trigger stood, from 0.
    pub(crate) trigger: Option<f64>,
    /// Units of the channels.
    pub(crate) units: Vec<String>,
    /// Probe factors of the channels.
    pub(crate) probes: Vec<f64>,
    /// Volts a converter step, by channel.
    pub(crate) steps: Vec<f64>,
    /// Volts a division, steps a division.
    pub(crate) divisions: Vec<f64>,
    pub(crate) steps_a_division: Vec<f64>,
    /// The step that means nothing, by channel.
    pub(crate) zeros: Vec<f64>,
}

/// A value with the unit behind it, in seconds or hertz or as it is.
fn scaled(number: f64, unit: &str) -> f64 {
    let unit = unit.trim().trim_matches(['(', ')', '[', ']']);
    let prefix = match unit.chars().next() {
        Some('p') => 1e-12,
        Some('n') => 1e-9,
        Some('u' | 'µ' | 'μ') => 1e-6,
        Some('m') if unit.len() > 1 && !unit.starts_with("min") => 1e-3,
        Some('k' | 'K') if unit.len() > 1 => 1e3,
        Some('M') if unit.len() > 1 => 1e6,
        Some('G') if unit.len() > 1 => 1e9,
        _ => 1.0,
    };
    number * prefix
}

/// The number at the front of a text and what is behind it: `20 us`, `1.00E-04`, `x10`, `10:1`, `200X`.
fn number_of(text: &str, decimal: u8) -> Option<(f64, String)> {
    let text = text.trim().trim_start_matches(['x', 'X', '×', '=']).trim();
    let marks = Marks { decimal, thousands: None };
    let cuts = (1..=text.len()).rev().filter(|n| text.is_char_boundary(*n));
    for cut in cuts.take(40) {
        if text.as_bytes()[cut - 1].is_ascii_digit()
            && let Number::Value(v, None) = parse(&text[..cut], marks)
        {
            return Some((v, text[cut..].trim().to_string()));
        }
    }
    None
}

/// Has the key one of these words?
fn says(key: &str, words: &[&str]) -> bool {
    words.iter().any(|w| key.contains(w))
}

const INTERVAL: &[&str] = &[
    "sample interval",
    "sampling interval",
    "horizontal interval",
    "sample period",
    "sampling period",
    "time interval",
    "xincr",
    "x incr",
    "increment",
    "abtastintervall",
    "intervalle",
    "delta t",
    "interval",
];
const RATE: &[&str] = &[
    "sample rate",
    "sampling rate",
    "samplerate",
    "sample freq",
    "sampling freq",
    "samples/s",
    "abtastrate",
];
const START: &[&str] = &["xzero", "x zero", "x origin", "xorigin", "start time", "first sample time"];
const TRIGGER: &[&str] = &["trigger sample", "trigger point", "trigger position", "trigger index"];
const UNITS: &[&str] = &["vertical unit", "y unit", "yunit", "channel unit"];
const PROBE: &[&str] = &["probe", "attenuation", "atten", "tastkopf", "sonde"];
const STEP: &[&str] = &[
    "ymult",
    "y mult",
    "multiplier",
    "volts/count",
    "v/count",
    "per count",
    "per code",
    "yincr",
    "y incr",
    "lsb",
];
const DIVISION: &[&str] = &["volts/div", "volt/div", "v/div", "vdiv", "vertical scale"];
const STEPS_A_DIVISION: &[&str] =
    &["counts/div", "count/div", "codes/div", "steps/div", "points/div", "counts per div", "codes per div"];
const ZERO: &[&str] = &["zero", "yoff", "y offset", "yref", "y ref", "offset code"];

impl Keys {
    /// Takes one line of the block: key, then values and perhaps a unit.
    pub(crate) fn line(&mut self, fields: &[&str], decimal: u8) {
        let Some((key, values)) = fields.split_first() else { return };
        let key = fold(key.trim().trim_end_matches([':', '=']));
        if key.is_empty() || values.is_empty() {
            return;
        }
        let numbers: Vec<(f64, String)> = values.iter().filter_map(|v| number_of(v, decimal)).collect();
        let plain = || numbers.iter().map(|n| n.0).collect::<Vec<_>>();
        // The unit may stand in the key, behind the number or in the field after it.
        let unit = |at: usize| {
            let behind = numbers.get(at).map_or("", |n| n.1.as_str());
            let after = values.get(at + 1).copied().unwrap_or("");
            let inside = key.rsplit_once(['(', '[']).map_or("", |(_, u)| u);
            [behind, after, inside]
                .into_iter()
                .find(|u| u.chars().any(char::is_alphabetic))
                .unwrap_or("")
                .to_string()
        };
        let first = numbers.first().map(|n| scaled(n.0, &unit(0)));
        if says(&key, STEPS_A_DIVISION) {
            self.steps_a_division = plain();
        } else if says(&key, DIVISION) {
            self.divisions = numbers.iter().map(|n| scaled(n.0, &n.1)).collect();
        } else if says(&key, STEP) && !says(&key, &["x incr", "time", "horizontal"]) {
            self.steps = numbers.iter().map(|n| scaled(n.0, &n.1)).collect();
        } else if says(&key, RATE) {
            self.interval_s = first.filter(|r| *r > 0.0).map(|r| 1.0 / r).or(self.interval_s);
        } else if says(&key, START) {
            self.start_s = first;
        } else if says(&key, INTERVAL) {
            self.interval_s = first.filter(|s| *s > 0.0).or(self.interval_s);
        } else if says(&key, TRIGGER) {
            self.trigger = numbers.first().map(|n| n.0);
        } else if says(&key, PROBE) {
            self.probes = values.iter().filter_map(|v| ratio(v, decimal)).collect();
        } else if says(&key, UNITS) {
            self.units = values.iter().map(|v| v.trim().to_string()).collect();
        } else if says(&key, ZERO) && !key.contains("x") {
            self.zeros = plain();
        }
    }

    /// The entry of a channel; one entry serves all.
    pub(crate) fn of(list: &[f64], channel: usize) -> Option<f64> {
        list.get(channel)
            .or_else(|| list.first().filter(|_| list.len() == 1))
            .copied()
            .filter(|x| x.is_finite())
    }
}

/// A probe's factor: `200`, `10X`, `10:1`, `1:10`.
fn ratio(text: &str, decimal: u8) -> Option<f64> {
    let (first, rest) = number_of(text, decimal)?;
    let second = rest.strip_prefix(':').and_then(|r| number_of(r, decimal)).map_or(1.0, |n| n.0);
    Some(first.max(second)).filter(|f| *f > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(lines: &[&[&str]], decimal: u8) -> Keys {
        let mut keys = Keys::default();
        lines.iter().for_each(|l| keys.line(l, decimal));
        keys
    }

    #[test]
    fn blocks() {
        let k = keys(
            &[
                &["Record Length", "2000", "Points"],
                &["Sample Interval", "1.00E-04", "s"],
                &["Probe Atten", "200"],
            ],
            b'.',
        );
        assert_eq!((k.interval_s, k.probes), (Some(1e-4), vec![200.0]));
        let k = keys(
            &[
                &["Horizontal Interval", "0,0001"],
                &["Volts/Div", "50"],
                &["Counts/Div", "25"],
                &["Zero", "12"],
            ],
            b',',
        );
        assert_eq!(
            (k.interval_s, k.divisions, k.steps_a_division, k.zeros),
            (Some(1e-4), vec![50.0], vec![25.0], vec![12.0])
        );
        let k = keys(
            &[&["Sampling Rate", "50 kS/s"], &["Probe", "10X", "1:100"], &["Trigger Sample", "100000"]],
            b'.',
        );
        assert_eq!((k.interval_s, k.probes, k.trigger), (Some(2e-5), vec![10.0, 100.0], Some(1e5)));
        let k = keys(
            &[&["Sample interval (us)", "20"], &["YMULT", "0.4"], &["YOFF", "-3"], &["XINCR", "1e-6"]],
            b'.',
        );
        assert_eq!((k.interval_s, k.steps, k.zeros), (Some(1e-6), vec![0.4], vec![-3.0]));
    }
}
