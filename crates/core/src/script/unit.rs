//! Units as spoken.
use super::token::Token;
use crate::quantity::Dim;

/// What an amount is an amount of.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// A quantity, in the unit its dimension is kept in.
    Dim(Dim),
    /// Money, ISO 4217.
    Money(&'static str),
    /// Money per Wh.
    MoneyPerWh(&'static str),
    /// Money per W: mostly a slip.
    MoneyPerW(&'static str),
    /// Energy for a kilogram or for a unit of money.
    EnergyPer(&'static str),
    /// "watts per hour": a slip.
    PowerPerTime,
    /// "2.3 times".
    Factor,
    /// No unit.
    Bare,
}

fn word(tokens: &[Token], i: usize) -> &str {
    tokens.get(i).map_or("", |t| t.text.as_str())
}

/// The currency of a sign.
pub fn sign(text: &str) -> Option<&'static str> {
    match text {
        "$" => Some("USD"),
        "€" => Some("EUR"),
        "£" => Some("GBP"),
        _ => None,
    }
}

/// The unit that starts at token `i`: what, factor to the kept unit, token after it.
pub fn unit_at(tokens: &[Token], i: usize) -> Option<(What, f64, usize)> {
    let raw = tokens.get(i)?.raw.as_str();
    let w = word(tokens, i);
    let next = word(tokens, i + 1);
    // "watts hour" is a slip of the tongue for the same.
    let hour = matches!(next, "hour" | "hours" | "hr" | "hrs");
    let power = match w {
        "watt" | "watts" | "w" | "wats" => Some(1.0),
        "kilowatt" | "kilowatts" | "kw" => Some(1e3),
        "megawatt" | "megawatts" => Some(1e6),
        "milliwatt" | "milliwatts" => Some(1e-3),
        _ => None,
    };
    if let Some(factor) = power {
        return Some(match hour {
            // "watt-hours" and "watt hours"; "watts hours" is said so too.
            true => specific(tokens, i + 2, factor).unwrap_or((What::Dim(Dim::Energy), factor, i + 2)),
            false => rate(tokens, i + 1)
                .map_or((What::Dim(Dim::Power), factor, i + 1), |end| (What::PowerPerTime, factor, end)),
        });
    }
    let amp = match w {
        "amp" | "amps" | "ampere" | "amperes" => Some(1.0),
        "milliamp" | "milliamps" => Some(1e-3),
        "a" if raw == "A" && tokens[i].glued => Some(1.0),
        _ => None,
    };
    if let Some(factor) = amp {
        return Some(if hour {
            (What::Dim(Dim::Charge), factor, i + 2)
        } else {
            (What::Dim(Dim::Current), factor, i + 1)
        });
    }
    let found = plain(tokens, i).or_else(|| money(tokens, i));
    match found {
        Some((What::Dim(Dim::Energy), factor, end)) => {
            Some(specific(tokens, end, factor).unwrap_or((What::Dim(Dim::Energy), factor, end)))
        }
        found => found,
    }
}

/// "Wh/kg", "watt-hours per dollar": energy for each of something else.
fn specific(tokens: &[Token], at: usize, factor: f64) -> Option<(What, f64, usize)> {
    let per = matches!(word(tokens, at), "/" | "per" | "a" | "for");
    let each = usize::from(matches!(word(tokens, at + 1), "every" | "each"));
    if !per || (word(tokens, at) == "for" && each == 0) {
        return None;
    }
    let next = at + 1 + each;
    let (what, of, end) = match word(tokens, next) {
        "kg" | "kilo" | "kilogram" => ("kg", 1.0, next + 1),
        "lb" | "pound" => ("kg", 0.453_592_37, next + 1),
        "dollar" | "buck" | "$" | "usd" => ("USD", 1.0, next + 1),
        _ => return None,
    };
    Some((What::EnergyPer(what), factor / of, end))
}

/// Units of one word.
fn plain(tokens: &[Token], i: usize) -> Option<(What, f64, usize)> {
    let raw = tokens.get(i)?.raw.as_str();
    let (w, next) = (word(tokens, i), word(tokens, i + 1));
    let of = |dim, factor| Some((What::Dim(dim), factor, i + 1));
    match w {
        "wh" | "watthour" | "watthours" => of(Dim::Energy, 1.0),
        "kwh" | "kilowatthour" | "kilowatthours" => of(Dim::Energy, 1e3),
        "ah" => of(Dim::Charge, 1.0),
        "mah" => of(Dim::Charge, 1e-3),
        "hour" | "hours" | "hr" | "hrs" | "h" => of(Dim::Time, 1.0),
        "minute" | "minutes" | "min" | "mins" | "minuts" => of(Dim::Time, 1.0 / 60.0),
        "m" if tokens[i].glued => of(Dim::Time, 1.0 / 60.0),
        "second" | "seconds" | "sec" | "secs" => of(Dim::Time, 1.0 / 3600.0),
        // "15.2 s." with a space ends its clause.
        "s" if tokens[i].glued || tokens.get(i + 1).is_none_or(|t| t.after.is_some()) => {
            of(Dim::Time, 1.0 / 3600.0)
        }
        "millisecond" | "milliseconds" | "ms" | "msec" => of(Dim::Time, 1e-3 / 3600.0),
        "day" | "days" => of(Dim::Time, 24.0),
        "week" | "weeks" => of(Dim::Time, 168.0),
        "fortnight" | "fortnights" => of(Dim::Time, 336.0),
        "volt" | "volts" => of(Dim::Voltage, 1.0),
        "v" if raw == "V" => of(Dim::Voltage, 1.0),
        "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" | "kilogramme" | "kilogrammes" | "kgs" => {
            of(Dim::Mass, 1.0)
        }
        "gram" | "grams" | "gramme" | "grammes" => of(Dim::Mass, 1e-3),
        "g" if tokens[i].glued => of(Dim::Mass, 1e-3),
        // The international pound, 1959: 0.45359237 kg.
        "lb" | "lbs" | "pound" | "pounds" => of(Dim::Mass, 0.453_592_37),
        "oz" | "ounce" | "ounces" => of(Dim::Mass, 0.453_592_37 / 16.0),
        "stone" => of(Dim::Mass, 14.0 * 0.453_592_37),
        "celsius" | "centigrade" => of(Dim::Temperature, 1.0),
        "degree" | "degrees" | "°" => {
            let scale = matches!(next, "celsius" | "centigrade" | "c");
            let other = matches!(next, "fahrenheit" | "f");
            let what = if other { What::Bare } else { What::Dim(Dim::Temperature) };
            Some((what, 1.0, i + 1 + usize::from(scale || other)))
        }
        "decibel" | "decibels" | "db" | "dba" => {
            Some((What::Dim(Dim::Level), 1.0, i + 1 + usize::from(next == "a")))
        }
        "hertz" | "hz" => of(Dim::Frequency, 1.0),
        "%" | "percent" | "pct" => of(Dim::Ratio, 0.01),
        "per" if next == "cent" => Some((What::Dim(Dim::Ratio), 0.01, i + 2)),
        "cycles" | "cycle" => of(Dim::Count, 1.0),
        "times" => Some((What::Factor, 1.0, i + 1)),
        "x" if tokens[i].glued => Some((What::Factor, 1.0, i + 1)),
        _ => None,
    }
}

/// Money in words.
fn money(tokens: &[Token], i: usize) -> Option<(What, f64, usize)> {
    match word(tokens, i) {
        "dollar" | "dollars" | "bucks" | "buck" | "usd" => Some(per(tokens, i + 1, "USD")),
        "euro" | "euros" | "eur" | "€" => Some(per(tokens, i + 1, "EUR")),
        "us" | "american" if matches!(word(tokens, i + 1), "dollar" | "dollars") => {
            Some(per(tokens, i + 2, "USD"))
        }
        "quid" | "gbp" | "sterling" | "£" => Some(per(tokens, i + 1, "GBP")),
        "pence" => {
            let (what, factor, end) = per(tokens, i + 1, "GBP");
            Some((what, factor * 0.01, end))
        }
        "$" => Some(per(tokens, i + 1, "USD")),
        "cent" | "cents" | "¢" | "ct" | "cts" => {
            let (what, factor, end) = per(tokens, i + 1, "USD");
            Some((what, factor * 0.01, end))
        }
        _ => None,
    }
}

/// "per hour", "an hour", "/h" after a power: where it ends. "watts an hour later" is none.
fn rate(tokens: &[Token], i: usize) -> Option<usize> {
    let hour = matches!(word(tokens, i + 1), "hour" | "h" | "hr");
    let per = matches!(word(tokens, i), "per" | "an" | "each" | "every" | "/" | "a");
    let later = matches!(word(tokens, i + 2), "later" | "after" | "before" | "and" | "ago" | "into" | "long");
    (hour && per && !later && tokens[i].after.is_none()).then_some(i + 2)
}

/// What money is asked for: "a watt-hour", "per kilowatt-hour", "/Wh"; plain money otherwise.
pub fn per(tokens: &[Token], i: usize, currency: &'static str) -> (What, f64, usize) {
    let at = match (word(tokens, i), word(tokens, i + 1)) {
        ("for", "every" | "each") => i + 2,
        (
            "per" | "a" | "each" | "every" | "an" | "/" | "the" | "for",
            "usable" | "a" | "each" | "one" | "every",
        ) => i + 2,
        ("per" | "a" | "each" | "every" | "an" | "/" | "the", _) => i + 1,
        _ => return (What::Money(currency), 1.0, i),
    };
    match unit_at(tokens, at) {
        Some((What::Dim(Dim::Energy), factor, end)) => (What::MoneyPerWh(currency), 1.0 / factor, end),
        Some((What::Dim(Dim::Power), factor, end)) => (What::MoneyPerW(currency), 1.0 / factor, end),
        _ => (What::Money(currency), 1.0, i),
    }
}
