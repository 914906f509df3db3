//! From a value to the text people read. The only place in the program that rounds.
//!
//! Rule: the expanded uncertainty keeps two significant digits when they are 10 to 35, else one; the value
//! is rounded to the same place. GUM 7.2.6 allows at most two digits; the 35 boundary is the rule of the
//! Particle Data Group's reviews (from memory).
use crate::quantity::{Dim, Unit};
use crate::uncertain::Value;

/// How numbers are written in a language: with a decimal point or a decimal comma. Groups are set apart by a gap in both,
/// never by a point or a comma, because "1,234" and "1.234" each mean two numbers (SI brochure, 9th edition, 5.4.3 and
/// 5.4.4, from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Between whole and decimals.
    pub decimal: char,
    /// Between groups of three digits from five digits on; a thin space by ISO 80000-1 7.3.1 (from memory).
    pub group: char,
}

impl Style {
    /// 1 234.5 with a decimal point.
    pub const POINT: Style = Style { decimal: '.', group: '\u{202f}' };
    /// 1 234,5 with a decimal comma.
    pub const COMMA: Style = Style { decimal: ',', group: '\u{202f}' };
    /// The one a bench has chosen.
    pub fn of(decimal_comma: bool) -> Style {
        if decimal_comma { Style::COMMA } else { Style::POINT }
    }
    /// For machines: no groups, a point.
    pub const PLAIN: Style = Style { decimal: '.', group: '\0' };
}

/// A value ready to be read: "911", "13", "Wh".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shown {
    /// The number, rounded to the place of its uncertainty.
    pub number: String,
    /// Half-width of the 95 % interval, to the same place; `None` when the uncertainty is unknown.
    pub pm: Option<String>,
    /// Unit symbol, possibly empty.
    pub unit: &'static str,
}

impl Shown {
    /// One line of text: "911 ± 13 Wh".
    pub fn line(&self) -> String {
        let unit = if self.unit.is_empty() || self.unit == "%" {
            self.unit.to_string()
        } else {
            format!(" {}", self.unit)
        };
        let unit = if self.unit == "%" { " %".to_string() } else { unit };
        match &self.pm {
            Some(pm) => format!("{} ± {pm}{unit}", self.number),
            None => format!("{}{unit}", self.number),
        }
    }
    /// Number and unit without the interval.
    pub fn short(&self) -> String {
        Shown { pm: None, ..self.clone() }.line()
    }
}

/// Decimal places (negative: tens, hundreds) at which an interval of half-width `u` is written.
pub fn places(u: f64) -> i32 {
    if !(u.is_finite() && u > 0.0) {
        return 3;
    }
    let exponent = u.log10().floor() as i32;
    let leading = u / 10f64.powi(exponent); // 1.0 ≤ leading < 10
    if leading < 3.55 {
        1 - exponent
    } else if leading < 9.5 {
        -exponent
    } else {
        // 95 is written as 100: two digits of the next decade.
        -exponent
    }
}

/// A probability of conformity: "p = 0.250"; at the ends "p > 0.999", since nothing is certain.
pub fn probability(p: f64) -> String {
    match p {
        p if p > 0.999 => "p > 0.999".into(),
        p if p < 0.001 => "p < 0.001".into(),
        p => format!("p = {}", decimal(p, 3, Style::POINT)),
    }
}

/// A plain number at a number of decimal places.
pub fn decimal(x: f64, places: i32, style: Style) -> String {
    let rounded = if places < 0 {
        let step = 10f64.powi(-places);
        (x / step).round() * step
    } else {
        x
    };
    let text = format!("{rounded:.*}", places.max(0) as usize);
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) if rest.bytes().any(|b| (b'1'..=b'9').contains(&b)) => ("−", rest),
        Some(rest) => ("", rest),
        None => ("", text.as_str()),
    };
    let (whole, decimals) = digits.split_once('.').map_or((digits, None), |(w, d)| (w, Some(d)));
    let mut out = String::from(sign);
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 && whole.len() > 4 && style.group != '\0' {
            out.push(style.group);
        }
        out.push(c);
    }
    if let Some(d) = decimals {
        out.push(style.decimal);
        out.push_str(d);
    }
    out
}

/// A difference: "+3", "−78"; "0" when nothing is left of it.
pub fn signed(x: f64, places: i32, style: Style) -> String {
    let text = decimal(x, places, style);
    let some = text.bytes().any(|b| (b'1'..=b'9').contains(&b));
    if x > 0.0 && some { format!("+{text}") } else { text }
}

/// A text of the program's own, such as the value of a condition, with the sign that belongs before a number:
/// "-5 °C" is "−5 °C". Hyphens of days, ranges and names stay.
pub fn minus(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    let mut before = None;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let begins = before.is_none_or(|b: char| b.is_whitespace() || b == '(');
        let sign = c == '-' && begins && chars.peek().is_some_and(char::is_ascii_digit);
        out.push(if sign { '−' } else { c });
        before = Some(c);
    }
    out
}

/// With a capital at the start of a sentence.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().collect::<String>() + chars.as_str())
}

/// A value in a unit, rounded from its uncertainty; without one, to four significant digits at most.
pub fn shown(value: &Value, unit: &'static Unit, style: Style) -> Shown {
    let x = unit.shown(value.x);
    if !value.has_u() {
        return Shown { number: four_digits(x, style), pm: None, unit: unit.symbol };
    }
    let u = unit.shown_step(value.half95());
    // Never more than six places: below that the interval is a numerical zero.
    let p = places(u).min(6);
    Shown { number: decimal(x, p, style), pm: Some(decimal(u, p, style)), unit: unit.symbol }
}

/// At most four significant digits, without trailing zeros after the decimal mark.
pub fn four_digits(x: f64, style: Style) -> String {
    if x == 0.0 {
        return "0".into();
    }
    let p = 3 - x.abs().log10().floor() as i32;
    let text = decimal(x, p.clamp(0, 6), style);
    match text.contains(style.decimal) {
        true => text.trim_end_matches('0').trim_end_matches(style.decimal).to_string(),
        false => text,
    }
}

/// A figure as somebody stated it, all its digits and no more: "1150", "12000.5".
pub fn all_digits(x: f64, style: Style) -> String {
    let digits = if x == 0.0 { 0 } else { 9 - x.abs().log10().floor() as i32 };
    let text = decimal(x, digits.clamp(0, 9), style);
    match text.contains(style.decimal) {
        true => text.trim_end_matches('0').trim_end_matches(style.decimal).to_string(),
        false => text,
    }
}

/// A duration for people: "42 h", "3 h 20 min", "53 min", "9.4 ms".
pub fn duration_words(hours: f64) -> String {
    let minutes = hours * 60.0;
    if hours * 3600.0 < 1.0 {
        return format!("{} ms", four_digits(hours * 3.6e6, Style::POINT));
    }
    if minutes < 2.0 {
        return format!("{} s", (hours * 3600.0).round());
    }
    if minutes < 90.0 {
        return format!("{} min", minutes.round());
    }
    if hours < 10.0 {
        let total = minutes.round() as i64;
        return match total % 60 {
            0 => format!("{} h", total / 60),
            m => format!("{} h {m} min", total / 60),
        };
    }
    format!("{} h", hours.round())
}

/// The unit in which a duration of so many hours is read: h, min, s or ms.
pub fn duration_unit(hours: f64) -> &'static Unit {
    let symbol = match hours.abs() {
        h if h >= 3.0 => "h",
        h if h >= 2.0 / 60.0 => "min",
        h if h >= 1.0 / 3600.0 => "s",
        _ => "ms",
    };
    Unit::of(symbol, Dim::Time).unwrap_or(Dim::Time.kept_in())
}

/// The unit people read a dimension in, when nothing else is asked.
pub fn usual(dim: Dim) -> &'static Unit {
    let symbol = match dim {
        Dim::Ratio => "%",
        other => return other.kept_in(),
    };
    Unit::of(symbol, dim).unwrap_or(dim.kept_in())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::coverage::Shape;
    use crate::uncertain::{Effect, Influence};
    fn value(dim: Dim, x: f64, u95: f64) -> Value {
        let k = 1.959_963_985; // normal, 95 %
        Value::exact(dim, x).with(
            Influence::test("t", Effect::Stated, ""),
            u95 / k,
            Shape::Normal,
            f64::INFINITY,
        )
    }
    fn line(dim: Dim, unit: &str, x: f64, u95: f64) -> String {
        shown(&value(dim, x, u95), Unit::of(unit, dim).unwrap(), Style::POINT).line()
    }
    #[test]
    fn the_interval_sets_the_digits() {
        assert_eq!(line(Dim::Energy, "Wh", 911.37, 13.2), "911 ± 13 Wh");
        assert_eq!(line(Dim::Power, "W", 2253.0, 61.0), "2250 ± 60 W");
        assert_eq!(line(Dim::Mass, "kg", 13.302, 0.0501), "13.30 ± 0.05 kg");
        assert_eq!(line(Dim::Time, "min", 53.1 / 60.0, 0.61 / 60.0), "53.1 ± 0.6 min");
        assert_eq!(line(Dim::Energy, "Wh", 12_345.6, 130.0), "12\u{202f}350 ± 130 Wh");
        assert_eq!(line(Dim::Ratio, "%", 0.8812, 0.0131), "88.1 ± 1.3 %");
    }
    #[test]
    fn boundaries_of_the_rule() {
        assert_eq!(places(3.54), 1);
        assert_eq!(places(3.56), 0);
        assert_eq!(places(0.0354), 3);
        assert_eq!(places(97.0), -1);
    }
    #[test]
    fn unknown_uncertainty_shows_none() {
        let s = shown(&Value::exact(Dim::Power, 1150.0), Dim::Power.kept_in(), Style::POINT);
        assert_eq!(s.line(), "1150 W");
        assert_eq!(four_digits(13.2, Style::COMMA), "13,2");
        assert_eq!(four_digits(0.0, Style::POINT), "0");
    }
    #[test]
    fn durations_read_like_speech() {
        let words = [
            (42.3, "42 h"),
            (3.345, "3 h 21 min"),
            (0.883, "53 min"),
            (9.4e-3 / 3600.0, "9.4 ms"),
            (2.0, "2 h"),
        ];
        for (h, text) in words {
            assert_eq!(duration_words(h), text);
        }
    }
    #[test]
    fn minus_zero_is_zero() {
        assert_eq!(decimal(-0.01, 1, Style::POINT), "0.0");
        assert_eq!(decimal(-12.5, 0, Style::POINT), "−12");
    }
    #[test]
    fn a_minus_is_no_hyphen() {
        let said = [(-77.6, 0, "−78"), (3.12, 1, "+3.1"), (-0.04, 1, "0.0"), (0.0, 0, "0"), (0.2, 0, "0")];
        for (x, places, text) in said {
            assert_eq!(signed(x, places, Style::POINT), text);
        }
        assert_eq!(minus("-5 °C"), "−5 °C");
        assert_eq!(minus("charged at -10 °C (-20 °C at night)"), "charged at −10 °C (−20 °C at night)");
        assert_eq!(minus("2026-05-03, 10-20 W, low-load, - 3"), "2026-05-03, 10-20 W, low-load, - 3");
    }
}
