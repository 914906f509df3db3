//! Reading what people type: numbers, numbers with units, durations. One reader for forms, reports and files.
//!
//! Nothing here fails silently: what cannot be read says what, why and what to type instead.
use crate::quantity::{Dim, Unit};

/// Which mark separates decimals when a number alone cannot tell ("1,805").
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Marks {
    /// 1,805 is one thousand eight hundred and five.
    #[default]
    Point,
    /// 1,805 is a little less than two.
    Comma,
}

/// A typed quantity as understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Typed {
    /// The value, in the unit its dimension is kept in.
    pub kept: f64,
    /// The value of the last digit typed, kept unit: "0.89 kWh" has 10 Wh.
    pub last_digit: f64,
    /// The unit it was typed in.
    pub unit: &'static Unit,
    /// True when the person wrote no unit and the field's own was taken.
    pub unit_assumed: bool,
}

/// Why a text could not be read, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// Stable code, e.g. `wrong-unit`.
    pub code: &'static str,
    /// What was seen and why it does not serve.
    pub text: String,
    /// What to type instead.
    pub hint: String,
}

fn trouble<T>(code: &'static str, text: String, hint: String) -> Result<T, Trouble> {
    Err(Trouble { code, text, hint })
}

/// A plain number in any common spelling: "1 149,8", "1,149.8", "1'458", ".89", "−3", "+1.1498e+03".
/// Returns the value and the value of its last digit.
pub fn number(text: &str, marks: Marks) -> Option<(f64, f64)> {
    let mut t: String = text
        .trim()
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '\'' | '\u{2019}' | '_'))
        .map(|c| if c == '\u{2212}' || c == '\u{2013}' { '-' } else { c })
        .collect();
    if t.is_empty() || !t.chars().all(|c| c.is_ascii_digit() || "+-.,eE".contains(c)) {
        return None;
    }
    let (points, commas) = (t.matches('.').count(), t.matches(',').count());
    let mantissa = |t: &str, mark: char| {
        let after = t.rsplit(mark).next().unwrap_or("");
        let before = &t[..t.len() - after.len() - 1];
        (before.trim_start_matches(['-', '+']).to_string(), after.to_string())
    };
    let thousands = |t: &str, mark: char| {
        let mut groups = t.trim_start_matches(['-', '+']).split(mark);
        let first = groups.next().unwrap_or("");
        (1..=3).contains(&first.len())
            && first != "0"
            && groups.all(|g| g.len() == 3 && g.bytes().all(|b| b.is_ascii_digit()))
    };
    match (points, commas) {
        (0, 0) => {}
        // Both marks: the last one separates the decimals.
        (p, c) if p > 0 && c > 0 => {
            let last_is_comma = t.rfind(',') > t.rfind('.');
            if (last_is_comma && c > 1) || (!last_is_comma && p > 1) {
                return None;
            }
            t = if last_is_comma { t.replace('.', "").replace(',', ".") } else { t.replace(',', "") };
        }
        (0, 1) => {
            let (before, after) = mantissa(&t, ',');
            let could_group = after.len() == 3 && !before.is_empty() && before != "0" && before.len() <= 3;
            t = if could_group && marks == Marks::Point { t.replace(',', "") } else { t.replace(',', ".") };
        }
        (1, 0) => {
            let (before, after) = mantissa(&t, '.');
            let could_group = after.len() == 3 && !before.is_empty() && before != "0" && before.len() <= 3;
            if could_group && marks == Marks::Comma {
                t = t.replace('.', "");
            }
        }
        (0, _) if thousands(&t, ',') => t = t.replace(',', ""),
        (_, 0) if thousands(&t, '.') => t = t.replace('.', ""),
        _ => return None,
    }
    let value: f64 = t.parse().ok()?;
    let (digits, exponent) = match t.split_once(['e', 'E']) {
        Some((d, e)) => (d, e.parse::<i32>().ok()?),
        None => (t.as_str(), 0),
    };
    let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len() as i32);
    let last = 10f64.powi(exponent.saturating_sub(decimals));
    (value.abs() < BEYOND_ALL && last < BEYOND_ALL).then_some((value, last))
}

/// Nothing on a bench comes near; products with units and voltages stay finite below it.
const BEYOND_ALL: f64 = 1e30;

/// A number that stands for "not noted" is left out of the document.
pub(crate) fn not_noted(number: &u32) -> bool {
    *number == 0
}

/// A text cut at commas and semicolons, except those between two digits: "1,5 kW". Empty parts are left out.
pub fn parts(text: &str) -> Vec<&str> {
    let bytes = text.as_bytes();
    let digit = |i: Option<usize>| i.and_then(|i| bytes.get(i)).is_some_and(u8::is_ascii_digit);
    let cuts = text.match_indices([',', ';']).map(|(i, _)| i);
    let cuts = cuts.filter(|&i| !(digit(i.checked_sub(1)) && digit(Some(i + 1))));
    let mut found = Vec::new();
    let mut from = 0;
    for cut in cuts {
        found.push(&text[from..cut]);
        from = cut + 1;
    }
    found.push(&text[from..]);
    found.retain(|p| !p.trim().is_empty());
    found
}

/// A quantity of dimension `dim`; without a unit, `default` is taken. Durations also as "1h20", "1:20",
/// "1 h 20 min"; an energy also as "50 Ah at 51.2 V".
pub fn quantity(text: &str, dim: Dim, default: &'static Unit, marks: Marks) -> Result<Typed, Trouble> {
    let text = text.trim();
    if text.is_empty() {
        return trouble(
            "empty",
            "nothing is typed".into(),
            format!("type a number, for example `12 {}`", default.symbol),
        );
    }
    if dim == Dim::Time
        && let Some((kept, last_digit)) = duration(text, marks)
    {
        return Ok(Typed { kept, last_digit, unit: default, unit_assumed: false });
    }
    if dim == Dim::Energy
        && let Some(typed) = charge_at_voltage(text, marks)
    {
        return Ok(typed);
    }
    let split = text
        .char_indices()
        .find(|&(i, c)| {
            let exponent = matches!(c, 'e' | 'E')
                && text[i + 1..].starts_with(|d: char| d.is_ascii_digit() || d == '-' || d == '+')
                && text[..i].ends_with(|d: char| d.is_ascii_digit());
            !(c.is_ascii_digit() || c.is_whitespace() || ".,'+-−–_\u{2019}".contains(c) || exponent)
        })
        .map_or(text.len(), |(i, _)| i);
    let (digits, symbol) = text.split_at(split);
    let Some((value, last)) = number(digits, marks) else {
        return trouble(
            "not-a-number",
            format!("`{text}` does not start with a number"),
            format!("type a number and its unit, for example `12 {}`", default.symbol),
        );
    };
    let symbol = symbol.trim().trim_end_matches('.');
    let (unit, assumed) = if symbol.is_empty() {
        (default, true)
    } else {
        match Unit::of(symbol, dim).or_else(|| Unit::spelt(symbol)) {
            Some(unit) if unit.dim == dim => (unit, false),
            Some(other) => return Err(wrong_dimension(text, other, dim, default)),
            None => {
                let known: Vec<_> = dim.units().map(|u| u.symbol).filter(|s| !s.is_empty()).collect();
                return trouble(
                    "unknown-unit",
                    format!("`{symbol}` in `{text}` is not a unit known here"),
                    format!("use one of {}", known.join(", ")),
                );
            }
        }
    };
    Ok(Typed { kept: unit.kept(value), last_digit: last * unit.factor, unit, unit_assumed: assumed })
}

fn wrong_dimension(text: &str, got: &Unit, want: Dim, default: &Unit) -> Trouble {
    let why = match (got.dim, want) {
        (Dim::Power, Dim::Energy) => " (watts say how fast, watt-hours how much)",
        (Dim::Energy, Dim::Power) => " (watt-hours say how much, watts how fast)",
        (Dim::Charge, Dim::Energy) => " (amp-hours become an energy only with their voltage)",
        _ => "",
    };
    let hint = match (got.dim, want) {
        (Dim::Power, Dim::Energy) => "read the energy counter, in Wh or kWh".to_string(),
        (Dim::Energy, Dim::Power) => "read the power, in W or kW".to_string(),
        (Dim::Charge, Dim::Energy) => "write it as `50 Ah at 51.2 V`".to_string(),
        _ => format!("write it in {}", default.symbol),
    };
    Trouble {
        code: "wrong-unit",
        text: format!("`{text}` is {}; here {} is asked{why}", got.dim.words(), want.words()),
        hint,
    }
}

/// "50 Ah at 51.2 V", "27 000 mAh @ 3.7 V", "20Ah x 51.2V".
fn charge_at_voltage(text: &str, marks: Marks) -> Option<Typed> {
    let (charge, volts) = ["at", "@", "x", "×"].iter().find_map(|sep| text.split_once(sep))?;
    let charge =
        quantity(charge, Dim::Charge, Dim::Charge.kept_in(), marks).ok().filter(|t| !t.unit_assumed)?;
    let volts =
        quantity(volts, Dim::Voltage, Dim::Voltage.kept_in(), marks).ok().filter(|t| !t.unit_assumed)?;
    let last_digit = charge.last_digit * volts.kept;
    Some(Typed {
        kept: charge.kept * volts.kept,
        last_digit,
        unit: Dim::Energy.kept_in(),
        unit_assumed: false,
    })
}

/// "1:20" and "1:20:30" (hours first), "1h20", "1 h 20 min 5 s", "2 hours 10 minutes". Hours.
fn duration(text: &str, marks: Marks) -> Option<(f64, f64)> {
    if text.contains(':') {
        let parts: Option<Vec<f64>> =
            text.split(':').map(|p| p.trim().parse::<u32>().ok().map(f64::from)).collect();
        return match parts?.as_slice() {
            [h, m] if *m < 60.0 => Some((h + m / 60.0, 1.0 / 60.0)),
            [h, m, s] if *m < 60.0 && *s < 60.0 => Some((h + m / 60.0 + s / 3600.0, 1.0 / 3600.0)),
            _ => None,
        };
    }
    let (mut total, mut last, mut parts, mut rest) = (0.0, 0.0, 0, text.trim());
    let mut previous = f64::INFINITY;
    while !rest.is_empty() {
        let at = rest.find(|c: char| c.is_alphabetic()).unwrap_or(rest.len());
        let (value, digit) = number(&rest[..at], marks)?;
        let end = rest[at..].find(|c: char| !c.is_alphabetic()).map_or(rest.len(), |i| i + at);
        let unit = match &rest[at..end] {
            // A bare number after hours is minutes: "1h20".
            "" if parts == 1 && previous == 1.0 => Unit::of("min", Dim::Time)?,
            "m" if parts == 1 => Unit::of("min", Dim::Time)?,
            symbol => Unit::spelt(symbol).filter(|u| u.dim == Dim::Time)?,
        };
        if unit.factor >= previous || value < 0.0 {
            return None;
        }
        (previous, parts) = (unit.factor, parts + 1);
        total += value * unit.factor;
        last = digit * unit.factor;
        rest = rest[end..].trim_start().trim_start_matches("and ").trim_start();
    }
    (parts > 1).then_some((total, last))
}

#[cfg(test)]
mod tests {
    use super::*;
    fn q(text: &str, dim: Dim) -> f64 {
        quantity(text, dim, dim.kept_in(), Marks::Point).unwrap().kept
    }
    fn code(text: &str, dim: Dim) -> &'static str {
        quantity(text, dim, dim.kept_in(), Marks::Point).unwrap_err().code
    }
    #[test]
    fn spellings_of_one_number() {
        for text in [
            "1149.8",
            "1,149.8",
            "1 149,8",
            "1\u{202f}149,8",
            "1\u{a0}149.8",
            "1'149.8",
            "+1.1498e+03",
            "1.149,8",
        ] {
            assert_eq!(number(text, Marks::Point).map(|n| n.0), Some(1149.8), "{text}");
        }
        assert_eq!(number(",5", Marks::Point), Some((0.5, 0.1)));
        assert_eq!(number("−3", Marks::Point), Some((-3.0, 1.0)));
        assert_eq!(number("1,805", Marks::Point), Some((1805.0, 1.0)));
        assert_eq!(number("1,805", Marks::Comma).map(|n| n.0), Some(1.805));
        assert_eq!(number("0,890", Marks::Point).map(|n| n.0), Some(0.89));
        for text in ["", "1,2,3", "1.2.3", "--1", "1e999", "nan", "inf", "12a"] {
            assert_eq!(number(text, Marks::Point), None, "{text}");
        }
    }
    #[test]
    fn quantities_come_out_in_kept_units() {
        assert_eq!(q("0,89 kWh", Dim::Energy), 890.0);
        assert_eq!(q(".89kWh", Dim::Energy), 890.0);
        assert_eq!(q("911", Dim::Energy), 911.0);
        assert_eq!(q("50 Ah at 51.2 V", Dim::Energy), 2560.0);
        assert!((q("29.3 lb", Dim::Mass) - 13.290_256_441).abs() < 1e-9); // 29.3 · 0.45359237
        assert_eq!(q("77 °F", Dim::Temperature), 25.0);
        assert_eq!(q("50 %", Dim::Ratio), 0.5);
    }
    #[test]
    fn durations() {
        for text in ["1h20", "1:20", "1 h 20 min", "80 min", "1 hour and 20 minutes", "1h 20m", "4800 s"] {
            assert!((q(text, Dim::Time) - 4.0 / 3.0).abs() < 1e-12, "{text}");
        }
        assert_eq!(code("1:75", Dim::Time), "unknown-unit");
        assert!((q("9.4 ms", Dim::Time) * 3.6e6 - 9.4).abs() < 1e-9);
    }
    #[test]
    fn a_watt_is_refused_where_a_watt_hour_is_asked() {
        let t = quantity("1,805 W", Dim::Energy, Dim::Energy.kept_in(), Marks::Point).unwrap_err();
        assert_eq!(t.code, "wrong-unit");
        assert!(t.text.contains("how fast"), "{}", t.text);
        assert_eq!(code("911 Wh", Dim::Power), "wrong-unit");
        assert_eq!(code("50 Ah", Dim::Energy), "wrong-unit");
        assert_eq!(code("12 parsec", Dim::Energy), "unknown-unit");
        assert_eq!(code("much", Dim::Energy), "not-a-number");
        assert_eq!(code("  ", Dim::Energy), "empty");
    }
    /// Exponents beyond all measure are no readings: neither the value nor its last digit may come out infinite.
    #[test]
    fn beyond_all_measure() {
        for text in ["0000000e999", "1e308", "9e307", "1.5e-2147483648", "1e2147483647"] {
            let seen = number(text, Marks::Point);
            assert!(seen.is_none_or(|(v, last)| v.abs() < 1e30 && last < 1e30), "{text}: {seen:?}");
        }
        assert_eq!(code("9e307 kWh", Dim::Energy), "not-a-number");
        assert_eq!(code("1e200 Ah at 1e200 V", Dim::Energy), "not-a-number");
        assert_eq!(number("6.02e23", Marks::Point).map(|n| n.0), Some(6.02e23));
    }
    #[test]
    fn the_last_digit_is_the_resolution_of_what_was_typed() {
        let t = quantity("0.89 kWh", Dim::Energy, Dim::Energy.kept_in(), Marks::Point).unwrap();
        assert!((t.last_digit - 10.0).abs() < 1e-9);
    }
}
