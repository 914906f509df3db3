//! What several pictures have in common: the name with a title under it, and a number with its interval.
use super::canvas::{Anchor, Canvas, Run, run};
use super::face::{self, HEAD, LEADING, SMALL, Tone};

/// A number as shown everywhere else: rounded, with the half-width of its interval and its unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Number {
    /// "911".
    pub number: String,
    /// "13"; `None` where the uncertainty is not known.
    pub pm: Option<String>,
    /// "Wh", or empty.
    pub unit: String,
}

impl Number {
    /// The number large, interval and unit smaller and quiet.
    pub fn runs(&self, large: f64, small: f64) -> Vec<Run> {
        let mut runs = vec![run(&self.number, large).bold()];
        if let Some(pm) = &self.pm {
            runs.push(run(&format!(" ± {pm}"), small).tone(Tone::Quiet));
        }
        if !self.unit.is_empty() {
            runs.push(run(&format!(" {}", self.unit), small).tone(Tone::Quiet));
        }
        runs
    }

    /// "911 ± 13 Wh".
    pub fn line(&self) -> String {
        let pm = self.pm.as_ref().map_or(String::new(), |pm| format!(" ± {pm}"));
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        format!("{}{pm}{unit}", self.number)
    }
}

/// Lines of text from a base line down; the base line of the last one comes back.
pub fn lines(
    canvas: &mut Canvas,
    at: (f64, f64),
    lines: &[String],
    size: f64,
    style: impl Fn(Run) -> Run,
) -> f64 {
    for (i, line) in lines.iter().enumerate() {
        canvas.text((at.0, at.1 + i as f64 * size * LEADING), Anchor::Start, &[style(run(line, size))]);
    }
    at.1 + lines.len().saturating_sub(1) as f64 * size * LEADING
}

/// Longest name in signs before it is cut.
pub const LONGEST_NAME: usize = 44;
/// Longest title in signs.
pub const LONGEST_TITLE: usize = 64;

/// A name and the title under it, broken to fit; the name may be missing.
pub struct Head {
    name: Vec<String>,
    title: Vec<String>,
}

impl Head {
    /// Broken for a width.
    pub fn new(name: &str, title: &str, wide: f64) -> Head {
        Head {
            name: face::wrap(&face::writable(&face::short(name, LONGEST_NAME)), SMALL, false, wide),
            title: face::wrap(&face::writable(&face::short(title, LONGEST_TITLE)), HEAD, true, wide),
        }
    }
    /// From the upper edge of the capitals to the last base line.
    pub fn high(&self) -> f64 {
        self.title_at() + self.title.len().saturating_sub(1) as f64 * HEAD * LEADING
    }
    /// Base line of the first line of the title, from the top.
    fn title_at(&self) -> f64 {
        let name = match self.name.len() {
            0 => 0.0,
            n => SMALL * face::CAP + (n - 1) as f64 * SMALL * LEADING + 30.0,
        };
        name + HEAD * face::CAP
    }
    /// Draws it with the capitals' upper edge at `y`; the last base line comes back.
    pub fn draw(&self, canvas: &mut Canvas, x: f64, y: f64) -> f64 {
        lines(canvas, (x, y + SMALL * face::CAP), &self.name, SMALL, |r| r.tone(Tone::Quiet));
        lines(canvas, (x, y + self.title_at()), &self.title, HEAD, Run::bold)
    }
}
