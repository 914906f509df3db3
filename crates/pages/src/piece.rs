//! The smallest pieces of a page: a number, a verdict, text made safe. Published pages and screens share them.
pub mod mark;

pub use mark::Mark;
use trueplate_core::judge::Verdict;
use trueplate_core::quantity::Unit;
use trueplate_core::shown::{self, Shown, Style};
use trueplate_core::uncertain::Value;

/// Text made safe for HTML text and quoted attributes. Signs that steer the direction of writing become visible
/// as a replacement sign, so that a name cannot turn the rest of a line around.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Bidirectional controls (Unicode Standard Annex 9, 2.1 to 2.5).
            '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
                out.push('\u{fffd}');
            }
            '\n' | '\t' => out.push(c),
            // What HTML forbids as text: controls and noncharacters.
            c if c.is_control() || (c as u32 & 0xfffe) == 0xfffe => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
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

/// Numbers under each other on their decimal mark: measures a column first, then writes its cells.
#[derive(Clone, Copy, Debug, Default)]
pub struct Lane {
    fraction: usize,
    interval: usize,
    unit: usize,
}

impl Lane {
    /// Widens the lane for a number that will stand in it.
    pub fn fit(&mut self, shown: &Shown) {
        self.fraction = self.fraction.max(fraction(&shown.number).chars().count());
        self.interval = self.interval.max(shown.pm.as_ref().map_or(0, |pm| 2 + pm.chars().count()));
        self.unit = self.unit.max(unit_width(shown.unit));
    }
    /// A lane for these numbers.
    pub fn of<'a>(all: impl IntoIterator<Item = &'a Shown>) -> Lane {
        let mut lane = Lane::default();
        all.into_iter().for_each(|s| lane.fit(s));
        lane
    }
    /// The number for a right-aligned cell of the lane.
    pub fn cell(&self, shown: &Shown) -> String {
        let fraction = fraction(&shown.number);
        let whole = &shown.number[..shown.number.len() - fraction.len()];
        let pm = shown.pm.as_ref().map_or(String::new(), |pm| format!("± {pm}"));
        format!(
            "<span class=\"num lane\"><b>{whole}{}</b>{}{}</span>",
            slot("fr", self.fraction, fraction),
            slot("pm", self.interval, &pm),
            slot("u", self.unit, &escape(shown.unit)),
        )
    }
}

/// A part of fixed width, so that those of other rows stand under it; nothing where no row has one.
fn slot(class: &str, width: usize, text: &str) -> String {
    let space = if class == "fr" { "" } else { " " };
    match width {
        0 => String::new(),
        w => format!("{space}<span class=\"{class} w{}\">{text}</span>", w.min(12)),
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
    fn cells_of_a_lane_have_equal_parts() {
        let (a, b) = (shown("911", Some("13"), "Wh"), shown("53.1", Some("0.6"), "min"));
        let lane = Lane::of([&a, &b]);
        for cell in [lane.cell(&a), lane.cell(&b)] {
            assert!(cell.contains("fr w2") && cell.contains("pm w5") && cell.contains("u w4"), "{cell}");
        }
        assert!(lane.cell(&a).contains("911<span class=\"fr w2\"></span>"));
    }
}
