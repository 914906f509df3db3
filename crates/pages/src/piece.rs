//! The smallest pieces of a page: a number, a verdict, text made safe. Published pages and screens share them.
pub mod data;
pub mod mark;

pub use mark::Mark;
use trueplate_core::claims::ClaimRow;
use trueplate_core::judge::Verdict;
use trueplate_core::quantity::Unit;
use trueplate_core::shown::{self, Shown, Style};
use trueplate_core::uncertain::Value;

/// A figure stays on one line with its unit and with what stands behind its ±: "906 ± 13 Wh", "(230 V)".
pub fn unbroken(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for (i, word) in text.split(' ').enumerate() {
        if i > 0 {
            let before = out.rsplit([' ', '\u{a0}', '(']).next().unwrap_or_default();
            let figure = before.ends_with(|c: char| c.is_ascii_digit());
            let symbol = word.trim_end_matches([')', ',', ';', '.', ':', '?', '!']);
            let holds = before == "±" || figure && (symbol == "±" || UNITS.contains(&symbol));
            out.push(if holds { '\u{a0}' } else { ' ' });
        }
        out.push_str(word);
    }
    out
}

/// Units as they are written behind figures.
const UNITS: [&str; 24] = [
    "%", "W", "Wh", "kW", "kWh", "V", "VA", "A", "Ah", "h", "min", "s", "ms", "kg", "g", "cm", "mm", "Hz",
    "K", "°C", "dB", "dB(A)", "USD", "EUR",
];

/// Text made safe for HTML text and quoted attributes. Signs that steer the direction of writing become visible
/// as a replacement sign, so that a name cannot turn the rest of a line around.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    let mut from = 0;
    // Most text is safe as it is: it is copied in stretches.
    for (i, c) in text.char_indices() {
        if let Some(safe) = made_safe(c) {
            out.push_str(&text[from..i]);
            out.push_str(safe);
            from = i + c.len_utf8();
        }
    }
    out.push_str(&text[from..]);
    out
}

/// What stands for a character; `None` for those that stand for themselves.
fn made_safe(c: char) -> Option<&'static str> {
    match c {
        '&' => Some("&amp;"),
        '<' => Some("&lt;"),
        '>' => Some("&gt;"),
        '"' => Some("&quot;"),
        '\'' => Some("&#39;"),
        ' '..='~' | '\n' | '\t' => None,
        // Bidirectional controls (Unicode Standard Annex 9, 2.1 to 2.5).
        '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
            Some("\u{fffd}")
        }
        // What HTML forbids as text: controls and noncharacters.
        c if c.is_control() || (c as u32 & 0xfffe) == 0xfffe => Some("\u{fffd}"),
        _ => None,
    }
}

/// `911 ± 13 Wh`, the interval and the unit lighter.
pub fn number(value: &Value, unit: &'static Unit, style: Style) -> String {
    written(&shown::shown(value, unit, style))
}

/// The same from a value that is rounded already.
pub fn written(shown: &Shown) -> String {
    let pm = shown.pm.as_ref().map_or(String::new(), |pm| format!(" <span class=\"pm\">± {pm}</span>"));
    let unit = match shown.unit {
        "" => String::new(),
        unit => format!(" <span class=\"u\">{}</span>", escape(unit)),
    };
    format!("<span class=\"num\"><b>{}</b>{pm}{unit}</span>", shown.number)
}

/// A figure as stated, all its digits and no more: "1150", "0.5". For claims, which carry no interval.
pub fn plain(x: f64, style: Style) -> String {
    shown::all_digits(x, style)
}

/// A standard uncertainty at two significant digits.
pub fn two_digits(x: f64, style: Style) -> String {
    let digits = if x > 0.0 { 1 - x.log10().floor() as i32 } else { 0 };
    shown::decimal(x, digits.clamp(-6, 6), style)
}

/// The word of a verdict; its class says firm, soft or open, and whether it speaks against the claim.
pub fn verdict(verdict: Verdict) -> String {
    format!("<span class=\"{}\">{}</span>", verdict_class(verdict), verdict.words())
}

fn verdict_class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Met => "verdict",
        Verdict::ProbablyMet => "verdict soft",
        Verdict::NotMet => "verdict against",
        Verdict::ProbablyNotMet => "verdict soft against",
        _ => "verdict open",
    }
}

/// "2 met, 1 not met, 3 not tested".
pub fn tally(claims: &[ClaimRow]) -> String {
    let order = [
        Verdict::NotMet,
        Verdict::ProbablyNotMet,
        Verdict::CannotTell,
        Verdict::ProbablyMet,
        Verdict::Met,
        Verdict::ConditionsDiffer,
        Verdict::ClaimUnclear,
        Verdict::Superseded,
        Verdict::NotTested,
    ];
    let count = |v: Verdict| claims.iter().filter(|c| c.verdict == v).count();
    let said: Vec<_> =
        order.iter().filter(|v| count(**v) > 0).map(|v| format!("{} {}", count(*v), v.words())).collect();
    if said.is_empty() { "no claims yet".into() } else { said.join(", ") }
}

/// Numbers under each other on their decimal mark: measures a column first, then writes its cells.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Lane {
    /// What follows the whole part, in widths of a digit: decimals, interval and unit.
    rest: usize,
    /// The same of the wider lane it joins where the page is too narrow for columns.
    narrow: Option<usize>,
}

/// The widest rest that has a class in the sheet of style.
const WIDEST: usize = 16;

impl Lane {
    /// Widens the lane for a number that will stand in it.
    pub fn fit(&mut self, shown: &Shown) {
        let interval = shown.pm.as_ref().map_or(0, |pm| 3 + pm.chars().count());
        let unit = unit_width(shown.unit);
        let rest = fraction(&shown.number).chars().count() + interval + unit + usize::from(unit > 0);
        self.rest = self.rest.max(rest.min(WIDEST));
    }
    /// A lane for these numbers.
    pub fn of<'a>(all: impl IntoIterator<Item = &'a Shown>) -> Lane {
        let mut lane = Lane::default();
        all.into_iter().for_each(|s| lane.fit(s));
        lane
    }
    /// A lane that holds the numbers of both.
    pub fn with(&self, other: &Lane) -> Lane {
        Lane { rest: self.rest.max(other.rest), narrow: None }
    }
    /// The same lane, which on a phone lines up with all of `wider`, where cells stand below each other.
    pub fn within(&self, wider: &Lane) -> Lane {
        Lane { rest: self.rest, narrow: Some(wider.rest) }
    }
    /// The number for a right-aligned cell of the lane.
    pub fn cell(&self, shown: &Shown) -> String {
        let fraction = fraction(&shown.number);
        let whole = &shown.number[..shown.number.len() - fraction.len()];
        let decimals = if fraction.is_empty() { String::new() } else { format!("<b>{fraction}</b>") };
        let pm = shown.pm.as_ref().map_or(String::new(), |pm| format!(" <span class=\"pm\">± {pm}</span>"));
        let unit = match shown.unit {
            "" => String::new(),
            unit => format!(" <span class=\"u\">{}</span>", escape(unit)),
        };
        let on_phone = self.narrow.filter(|n| *n != self.rest).map_or(String::new(), |n| format!(" n{n}"));
        format!(
            "<span class=\"num lane\"><b>{whole}</b><span class=\"rest w{}{on_phone}\">{decimals}{pm}{unit}</span></span>",
            self.rest
        )
    }
}

fn fraction(number: &str) -> &str {
    number.find(['.', ',']).map_or("", |at| &number[at..])
}

/// Width of a unit symbol in widths of a digit (0.6 em in this typeface; W, m and % are wider than that).
fn unit_width(symbol: &str) -> usize {
    let tenths: usize = symbol.chars().map(|c| if "Wm%".contains(c) { 16 } else { 10 }).sum();
    tenths.div_ceil(10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_stays_with_its_unit() {
        let said = |text: &str| unbroken(text).replace('\u{a0}', "_");
        assert_eq!(said("between 906 ± 13 Wh (out) and 2299 W."), "between 906_±_13_Wh (out) and 2299_W.");
        assert_eq!(said("Larder 2610 (230 V), held 0.5 s; 50 %"), "Larder 2610 (230_V), held 0.5_s; 50_%");
        // No figure, or no unit.
        assert_eq!(said("in h and W, 2 samples, Fell 1010 is"), "in h and W, 2 samples, Fell 1010 is");
    }
    use trueplate_core::quantity::Dim;

    fn shown(number: &str, pm: Option<&str>, unit: &'static str) -> Shown {
        Shown { number: number.into(), pm: pm.map(String::from), unit }
    }

    #[test]
    fn text_cannot_leave_its_place() {
        let safe = escape("<script>\"'&\u{202e}\u{0}");
        assert_eq!(safe, "&lt;script&gt;&quot;&#39;&amp;\u{fffd}\u{fffd}");
    }

    #[test]
    fn a_number_without_interval_claims_none() {
        let html = number(&Value::exact(Dim::Power, 1150.0), Dim::Power.kept_in(), Style::POINT);
        assert!(html.contains("<b>1150</b>") && !html.contains('±'), "{html}");
    }

    #[test]
    fn claims_keep_all_their_digits() {
        let plain: Vec<_> =
            [12_345.0, 0.5, 1150.0, 0.1 + 0.2, 0.0].iter().map(|x| plain(*x, Style::PLAIN)).collect();
        assert_eq!(plain, ["12345", "0.5", "1150", "0.3", "0"]);
        assert_eq!(two_digits(0.028_868, Style::POINT), "0.029");
        assert_eq!(two_digits(123.0, Style::POINT), "120");
    }

    #[test]
    fn a_lane_within_a_wider_one_lines_up_on_a_phone() {
        let (a, b) = (shown("911", None, "Wh"), shown("53.1", Some("0.6"), "min"));
        let (stated, measured) = (Lane::of([&a]), Lane::of([&b]));
        let cell = stated.within(&stated.with(&measured)).cell(&a);
        // " Wh" is 1 + 2.6 digits wide, ".1 ± 0.6 min" 2 + 6 + 1 + 3.6: rounded up 4 and 13.
        assert!(cell.contains("rest w4 n13"), "{cell}");
    }

    #[test]
    fn cells_of_a_lane_end_equally_far_from_the_decimal_mark() {
        let (a, b) = (shown("911", Some("13"), "Wh"), shown("53.1", Some("0.6"), "min"));
        let lane = Lane::of([&a, &b]);
        for cell in [lane.cell(&a), lane.cell(&b)] {
            assert!(cell.contains("rest w13"), "{cell}");
        }
        assert!(lane.cell(&b).contains("<b>53</b><span class=\"rest w13\"><b>.1</b>"));
    }
}
