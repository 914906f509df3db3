//! Words of a fact: its id, what is said aloud, what may be published as it stands.
use crate::quantity::{Dim, Unit};
use crate::shown::{Style, decimal, four_digits};
use crate::uncertain::Value;

/// A kebab-case part of an id: "Tarnhobble Fell 1010" → `tarnhobble-fell-1010`.
pub fn slug(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_alphanumeric() {
            out.extend(c.to_lowercase());
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    out.trim_end_matches('-').to_string()
}

/// The shortest rounding of `x` within `half` of it: the number as text, and whether it was rounded.
fn shortest(x: f64, half: f64) -> (String, bool) {
    if x == 0.0 || !x.is_finite() {
        return (four_digits(x, Style::PLAIN), false);
    }
    let top = -(x.abs().log10().floor() as i32);
    // Two digits at least: "about 900" for 911 is inside some intervals, but "about 910" is what a listener expects.
    for places in top + 1..=top + 6 {
        let text = decimal(x, places, Style::PLAIN);
        let said: f64 = text.replace('−', "-").parse().unwrap_or(x);
        if (said - x).abs() <= half {
            let text = match text.contains('.') {
                true => text.trim_end_matches('0').trim_end_matches('.').to_string(),
                false => text,
            };
            return (text, (said - x).abs() > 1e-9 * x.abs());
        }
    }
    (four_digits(x, Style::PLAIN), true)
}

/// The plural words of a unit symbol, for speech.
fn said_unit(symbol: &str) -> &str {
    match symbol {
        "W" => "watts",
        "kW" => "kilowatts",
        "Wh" => "watt-hours",
        "kWh" => "kilowatt-hours",
        "h" => "hours",
        "min" => "minutes",
        "s" => "seconds",
        "ms" => "milliseconds",
        "V" => "volts",
        "A" => "amps",
        "Ah" => "amp-hours",
        "kg" => "kilograms",
        "%" => "percent",
        "dB(A)" => "decibels",
        "°C" => "degrees Celsius",
        "USD" => "dollars",
        "EUR" => "euros",
        "GBP" => "pounds",
        other => other,
    }
}

/// As said aloud: "about 910 watt-hours". A value whose interval is not known is rounded within 0.5 %.
pub fn spoken(value: &Value, unit: &'static Unit) -> String {
    if value.dim == Dim::Time && (1.5..=10.0).contains(&value.x) {
        return said_hours(value.x);
    }
    let (number, unit) = match (value.dim, unit.symbol) {
        // Long waits are said in hours, whatever the table uses.
        (Dim::Time, _) if value.x > 10.0 => (shortest(value.x, half_of(value)), "hours"),
        _ => {
            let half = unit.shown_step(half_of(value));
            (shortest(unit.shown(value.x), half), said_unit(unit.symbol))
        }
    };
    let about = if number.1 || value.has_u() { "about " } else { "" };
    format!("{about}{} {unit}", number.0).trim_end().to_string()
}

/// A distance inside the 95 % interval whatever its shape: 1.4 u is the least half-width there is (arcsine).
fn half_of(value: &Value) -> f64 {
    if value.has_u() { 1.4 * value.u() } else { 0.005 * value.x.abs() }
}

/// "about 3 hours and 20 minutes".
fn said_hours(hours: f64) -> String {
    let minutes = (hours * 60.0).round() as i64;
    let plural = |n: i64, word: &str| if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") };
    match (minutes / 60, minutes % 60) {
        (h, 0) => format!("about {}", plural(h, "hour")),
        (h, m) => format!("about {} and {}", plural(h, "hour"), plural(m, "minute")),
    }
}

/// An amount of money as said: "699 dollars".
pub fn said_money(amount: f64, currency: &str) -> String {
    if amount < 2.0 && matches!(currency, "USD" | "EUR") {
        return format!("{} cents", decimal(amount * 100.0, 0, Style::PLAIN));
    }
    format!("{} {}", four_digits(amount, Style::PLAIN), said_unit(currency))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::coverage::Shape;
    use crate::uncertain::{Effect, Influence};
    fn wh(x: f64, u95: f64) -> Value {
        let influence = Influence::test("t", Effect::Stated, "");
        Value::exact(Dim::Energy, x).with(influence, u95 / 1.959_963_985, Shape::Normal, f64::INFINITY)
    }
    #[test]
    fn spoken_rounding_stays_inside_the_interval() {
        let unit = Dim::Energy.kept_in();
        assert_eq!(spoken(&wh(911.4, 13.0), unit), "about 910 watt-hours");
        // ± 1 Wh leaves no room for 910 (1.4 away): 911 it is.
        assert_eq!(spoken(&wh(911.4, 1.0), unit), "about 911 watt-hours");
        assert_eq!(spoken(&wh(1805.0, 25.0), unit), "about 1800 watt-hours");
    }
    #[test]
    fn slugs() {
        assert_eq!(slug("Pelkwick Larder 2610 (230 V)"), "pelkwick-larder-2610-230-v");
        assert_eq!(slug("50 %"), "50");
        assert_eq!(slug(""), "");
    }
    #[test]
    fn hours_and_minutes() {
        let h = |x| spoken(&Value::exact(Dim::Time, x), Dim::Time.kept_in());
        assert_eq!(h(1.75), "about 1 hour and 45 minutes");
        assert_eq!(h(47.03), "about 47 hours");
    }
}
