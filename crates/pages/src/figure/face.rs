//! Type and colours of pictures: what can be written, how wide it is, where it breaks.
use crate::assets;
use std::sync::OnceLock;

/// The typeface as its files name it.
pub const FAMILY: &str = "IBM Plex Sans";
/// Smallest size of type. Its capitals are 0.698 em high (OS/2 table of the files), so 36 units: 1/30 of the shorter side,
/// which is still read on a phone (common practice).
pub const SMALL: f64 = 52.0;
/// Sentences.
pub const BODY: f64 = 58.0;
/// Titles.
pub const HEAD: f64 = 74.0;
/// From one line to the next, in sizes of type.
pub const LEADING: f64 = 1.22;
/// Height of capitals and digits, in sizes of type.
pub const CAP: f64 = 0.698;

/// What a piece of ink is for. Meaning never rests on it alone: words and shapes say the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Numbers, names, ticks.
    Ink,
    /// What goes along with them.
    Quiet,
    /// Measured.
    Accent,
    /// Against the claim.
    Alert,
    /// Other stations' bars.
    Still,
    /// Scales and grids.
    Hair,
}

/// On any footage: light ink, each piece with a dark halo of its own. On a plate: dark ink on paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Look {
    /// Nothing behind it.
    Clear,
    /// On its own paper.
    Plate,
}

/// Behind and around light ink.
pub const HALO: &str = "#0c1013";
/// The paper of a plate.
pub const PAPER: &str = "#fbfaf6";

impl Look {
    /// The colour of a tone.
    pub fn colour(self, tone: Tone) -> &'static str {
        match (self, tone) {
            (Look::Clear, Tone::Ink) => "#fdfcf9",
            (Look::Clear, Tone::Quiet) => "#f0f1ee",
            (Look::Clear, Tone::Accent) => "#7ad3e0",
            (Look::Clear, Tone::Alert) => "#ffa27f",
            (Look::Clear, Tone::Still) => "#aeb6bb",
            (Look::Clear, Tone::Hair) => "#c9cdcb",
            (Look::Plate, Tone::Ink) => "#1b1f24",
            (Look::Plate, Tone::Quiet) => "#59626d",
            (Look::Plate, Tone::Accent) => "#0b5c6b",
            (Look::Plate, Tone::Alert) => "#a33b12",
            (Look::Plate, Tone::Still) => "#848b87",
            (Look::Plate, Tone::Hair) => "#b9b4a5",
        }
    }
}

/// Widths of the signs of one weight, from the file itself.
struct Widths {
    face: ttf_parser::Face<'static>,
    /// Of the first 128 signs, in ems: nearly all that is ever measured, for each label of each chart of each page.
    ascii: [f64; 128],
}

/// Width of a sign in ems.
fn advance(face: &ttf_parser::Face, c: char) -> f64 {
    let glyph = face.glyph_index(c).unwrap_or_default();
    f64::from(face.glyph_hor_advance(glyph).unwrap_or(600)) / f64::from(face.units_per_em())
}

fn widths(bold: bool) -> Option<&'static Widths> {
    static BOTH: OnceLock<[Option<Widths>; 2]> = OnceLock::new();
    let of = |file: &'static [u8]| {
        let face = ttf_parser::Face::parse(file, 0).ok()?;
        let ascii = std::array::from_fn(|i| advance(&face, char::from(i as u8)));
        Some(Widths { face, ascii })
    };
    BOTH.get_or_init(|| [of(assets::REGULAR), of(assets::SEMIBOLD)])[usize::from(bold)].as_ref()
}

/// Width of a text; kerning, which only narrows it a little, is left out.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    let Some(widths) = widths(bold) else { return text.chars().count() as f64 * size * 0.6 };
    let of = |c: char| widths.ascii.get(c as usize).copied().unwrap_or_else(|| advance(&widths.face, c));
    text.chars().map(of).sum::<f64>() * size
}

fn known(c: char) -> bool {
    widths(false).is_none_or(|w| w.face.glyph_index(c).is_some())
}

/// The sign that stands for what cannot be written.
pub fn replacement() -> char {
    if known('\u{fffd}') { '\u{fffd}' } else { '?' }
}

/// Steers the direction of writing and has no shape of its own.
pub fn steers(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The letters of a text that [`writable`] replaces, each once, in their order.
pub fn unwritable(text: &str) -> Vec<char> {
    let mut found = Vec::new();
    for c in text.chars() {
        let lost = replacement() == writable(c.encode_utf8(&mut [0; 4])).chars().next().unwrap_or(c);
        if lost && c != replacement() && !found.contains(&c) {
            found.push(c);
        }
    }
    found
}

/// Text as the typeface can write it. What steers the direction of writing, controls and signs the typeface lacks become a
/// visible replacement sign, so that nothing is left out in silence and no name turns a line around.
pub fn writable(text: &str) -> String {
    let replacement = replacement();
    let one = |c: char| match c {
        // The narrow space between groups of digits is missing in the typeface.
        '\u{202f}' if !known(c) => '\u{2009}',
        '\n' | '\t' => ' ',
        c if steers(c) || c.is_control() || !known(c) => replacement,
        c => c,
    };
    text.chars().map(one).collect()
}

/// The text itself, or its beginning with an ellipsis. Counted in signs, so that every size of picture says the same.
pub fn short(text: &str, most: usize) -> String {
    let text = together(text);
    if text.chars().count() <= most {
        return text;
    }
    let cut: String = text.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", cut.trim_end_matches([' ', ',', ';', '.']))
}

/// The text itself, or its beginning with an ellipsis, in semi-bold no wider than `wide`.
pub fn cut(text: &str, size: f64, wide: f64) -> String {
    let text = writable(text);
    let most = text.chars().count();
    let fits = |n: &usize| width(&short(&text, *n), size, true) <= wide;
    short(&text, (1..=most).rev().find(fits).unwrap_or(1))
}

/// Single spaces; those between a number and its unit do not break: "load 50 %", "12 May".
fn together(text: &str) -> String {
    let mut out = String::new();
    for word in text.split_whitespace() {
        let after_number = out.ends_with(|c: char| c.is_ascii_digit());
        let unit = word.chars().count() <= 3 && !word.starts_with(|c: char| c.is_ascii_digit());
        match out.is_empty() {
            true => (),
            false if after_number && unit => out.push('\u{a0}'),
            false => out.push(' '),
        }
        out.push_str(word);
    }
    out
}

/// Lines no wider than `wide`. Breaks at spaces; a word that is wider than a line is broken anywhere.
pub fn wrap(text: &str, size: f64, bold: bool, wide: f64) -> Vec<String> {
    let fits = |line: &str| width(line, size, bold) <= wide;
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            let grown = format!("{line}{c}");
            if fits(&grown) || line.is_empty() {
                line = grown;
            } else {
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_file() {
        // Digits of this typeface are 600/1000 em wide (hmtx table; tabular).
        assert!((width("0123456789", 100.0, false) - 600.0).abs() < 1e-9);
        assert!((width("111", 10.0, true) - width("888", 10.0, true)).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_written_is_seen() {
        let seen = writable("a\u{202e}b\u{0}c 漢 <script>");
        assert_eq!(seen.matches(['\u{fffd}', '?']).count(), 3, "{seen}");
        assert!(seen.ends_with("<script>"));
        // Everything the figures write by themselves is in the typeface.
        let own = "± · × ≤ ≥ − – … € £ % ° Ω µ → “”";
        assert_eq!(writable(own), own);
    }

    #[test]
    fn lines_are_no_wider_than_asked() {
        let text = "Lent by the maker on the usual terms Donaudampfschifffahrtsgesellschaftskapitän";
        let lines = wrap(text, 50.0, false, 600.0);
        assert!(lines.iter().all(|l| width(l, 50.0, false) <= 600.0), "{lines:?}");
        assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
        assert_eq!(short("one two three", 8), "one two…");
        assert_eq!(short("load  50 % for 3 hours", 40), "load 50\u{a0}% for 3 hours");
    }

    #[test]
    fn every_tone_stands_out_from_what_is_behind_it() {
        // WCAG 2.2, 1.4.3: relative luminance and contrast; 4.5 for text. 1.4.11: 3 for shapes.
        let channel = |hex: &str| {
            let c = f64::from(u8::from_str_radix(hex, 16).unwrap()) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        let light =
            |c: &str| 0.2126 * channel(&c[1..3]) + 0.7152 * channel(&c[3..5]) + 0.0722 * channel(&c[5..7]);
        let contrast = |a: &str, b: &str| {
            let (x, y) = (light(a).max(light(b)), light(a).min(light(b)));
            (x + 0.05) / (y + 0.05)
        };
        for tone in [Tone::Ink, Tone::Quiet, Tone::Accent, Tone::Alert] {
            assert!(contrast(Look::Clear.colour(tone), HALO) >= 4.5, "{tone:?}");
            assert!(contrast(Look::Plate.colour(tone), PAPER) >= 4.5, "{tone:?}");
        }
        assert!(contrast(Look::Clear.colour(Tone::Still), HALO) >= 3.0);
        assert!(contrast(Look::Plate.colour(Tone::Still), PAPER) >= 3.0);
    }
}
