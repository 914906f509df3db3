//! Power over time from a log, or voltage over time from a capture: lowest and highest readings kept at every width, gaps
//! left open, marks at what happened.
use super::axis;
use super::labels;
use crate::piece::escape;
use std::fmt::Write;
use trueplate_core::shown::{Style, duration_words, four_digits};

/// What is measured over time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Of {
    /// Power in W, from a meter's log.
    #[default]
    Power,
    /// Voltage in V, from an oscilloscope's capture; time is told in milliseconds.
    Voltage,
}

/// What is drawn. Times in s, from the first row of a log, or on a capture's own axis.
#[derive(Clone, Debug, Default)]
pub struct Trace {
    /// What it shows.
    pub of: Of,
    /// Time, lowest and highest value of what a point stands for; by rising time.
    pub points: Vec<(f64, f64, f64)>,
    /// A line of its own over the points, as the rms of each cycle; by rising time.
    pub line: Vec<(f64, f64)>,
    /// Stretches without readings.
    pub gaps: Vec<(f64, f64)>,
    /// Stretches with readings that stand out, as an interruption.
    pub bands: Vec<(f64, f64)>,
    /// Instants with a word, or with none.
    pub marks: Vec<(f64, String)>,
    /// Where parts with a time of their own begin, and what each is called; by rising time.
    pub parts: Vec<(f64, String)>,
    /// Only to be looked at: without the values that a cursor reads.
    pub still: bool,
    /// First and last instant drawn.
    pub window: (f64, f64),
}

pub(super) struct Size {
    class: &'static str,
    pub(super) wide: f64,
    pub(super) high: f64,
    pub(super) left: f64,
    pub(super) type_size: f64,
    ticks: usize,
}

const SIZES: [Size; 2] = [
    Size { class: "wide", wide: 960.0, high: 280.0, left: 56.0, type_size: 13.0, ticks: 7 },
    Size { class: "narrow", wide: 328.0, high: 230.0, left: 46.0, type_size: 12.5, ticks: 3 },
];
pub(super) const FOOT: f64 = 30.0;
pub(super) const TOP: f64 = 22.0;
const EDGE: f64 = 8.0;
/// Marks that are put into the sentence.
const SAID: usize = 5;

pub(super) struct Plane<'a> {
    pub(super) size: &'a Size,
    from: f64,
    span: f64,
    low: f64,
    high: f64,
}

impl Plane<'_> {
    pub(super) fn x(&self, s: f64) -> f64 {
        self.size.left + (s - self.from) / self.span * (self.size.wide - EDGE - self.size.left)
    }
    fn y(&self, w: f64) -> f64 {
        let floor = self.size.high - FOOT;
        floor - (w - self.low) / (self.high - self.low) * (floor - TOP)
    }
}

impl Trace {
    /// Both sizes of the drawing, then one sentence for those who do not see it. Empty where there is nothing to draw.
    pub fn figure(&self) -> String {
        let power = self.points.iter().fold((0.0f64, 0.0f64), |a, p| (a.0.min(p.1), a.1.max(p.2)));
        let span = self.window.1 - self.window.0;
        if self.points.len() < 2 || span <= 0.0 || !(span + power.1 - power.0).is_finite() {
            return String::new();
        }
        let mut out = String::new();
        for size in &SIZES {
            let room = 0.06 * (power.1 - power.0);
            let top = if room > 0.0 { power.1 + room } else { 1.0 };
            // Names of parts stand below the lowest reading.
            let foot = if self.parts.is_empty() { room } else { 3.0 * room };
            let low = if power.0 < 0.0 { power.0 - foot } else { power.0 };
            let plane = Plane { size, from: self.window.0, span, low, high: top };
            out.push_str(&self.svg(&plane));
        }
        out
    }

    fn svg(&self, plane: &Plane<'_>) -> String {
        let size = plane.size;
        let pieces = self.pieces(plane);
        let digits = if self.of == Of::Power { 2 } else { 7 };
        let read = pieces.iter().filter(|_| !self.still);
        let data: Vec<String> =
            read.flatten().map(|p| format!("{:.digits$},{:.2},{:.2}", p.0, p.1, p.2)).collect();
        let mut out = format!(
            "<svg class=\"plot trace {}\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{}\" data-left=\"{}\" \
             data-right=\"{}\" data-wide=\"{}\" data-from=\"{}\" data-to=\"{}\" data-of=\"{}\" data-points=\"{}\">",
            size.class,
            size.wide,
            size.high,
            escape(&self.sentence()),
            size.left,
            size.wide - EDGE,
            size.wide,
            self.window.0,
            self.window.1,
            if self.of == Of::Power { "power" } else { "voltage" },
            data.join(";")
        );
        self.axes(&mut out, plane);
        for gap in self.gaps.iter().chain(&self.bands) {
            let (a, b) = (plane.x(gap.0.max(self.window.0)), plane.x(gap.1.min(self.window.1)));
            if b > a {
                let (y, high) = (TOP, size.high - FOOT - TOP);
                let wide = (b - a).max(1.5);
                let _ = write!(
                    out,
                    "<rect class=\"gap\" x=\"{a:.1}\" y=\"{y}\" width=\"{wide:.1}\" height=\"{high}\"/>"
                );
            }
        }
        for piece in &pieces {
            draw(&mut out, plane, piece);
        }
        self.line(&mut out, plane);
        self.parts(&mut out, plane);
        self.marks(&mut out, plane);
        let _ = write!(
            out,
            "<path class=\"cursor\" d=\"M0 {TOP}V{}\" visibility=\"hidden\"/></svg>",
            size.high - FOOT
        );
        out
    }

    /// The line of its own.
    fn line(&self, out: &mut String, plane: &Plane<'_>) {
        // One point beyond either end, so that the line does not begin inside.
        let (from, to) = self.window;
        let first = self.line.iter().position(|p| p.0 >= from).unwrap_or(self.line.len()).saturating_sub(1);
        let last = self.line.iter().position(|p| p.0 > to).map_or(self.line.len(), |n| n + 1);
        let inside = self.line.get(first..last).unwrap_or_default();
        if inside.len() < 2 {
            return;
        }
        let x = |s: f64| plane.x(s.clamp(from, to));
        let places: Vec<String> =
            inside.iter().map(|p| format!("{:.1} {:.1}", x(p.0), plane.y(p.1))).collect();
        let _ = write!(out, "<path class=\"rms\" d=\"M{}\"/>", places.join("L"));
    }

    /// Points of one column of the drawing taken together, lowest and highest kept; cut where there is a gap.
    fn pieces(&self, plane: &Plane<'_>) -> Vec<Vec<(f64, f64, f64)>> {
        let mut pieces: Vec<Vec<(f64, f64, f64)>> = vec![Vec::new()];
        let mut gaps = self.gaps.iter().peekable();
        let mut column = f64::NEG_INFINITY;
        for p in self.points.iter().filter(|p| (self.window.0..=self.window.1).contains(&p.0)) {
            let mut cut = false;
            while gaps.next_if(|g| g.1 <= p.0 + 1e-6).is_some() {
                cut = true;
            }
            // What an export wrote into a gap is no reading.
            if gaps.peek().is_some_and(|g| p.0 > g.0 + 1e-6) {
                continue;
            }
            if cut && pieces.last().is_some_and(|l| !l.is_empty()) {
                pieces.push(Vec::new());
                column = f64::NEG_INFINITY;
            }
            let here = plane.x(p.0).floor();
            let Some(piece) = pieces.last_mut() else { continue };
            match piece.last_mut().filter(|_| here <= column) {
                Some(last) => (last.1, last.2) = (last.1.min(p.1), last.2.max(p.2)),
                None => piece.push(*p),
            }
            column = here;
        }
        pieces
    }

    fn axes(&self, out: &mut String, plane: &Plane<'_>) {
        let (size, floor) = (plane.size, plane.size.high - FOOT);
        let unit = if self.of == Of::Power { "W" } else { "V" };
        for w in axis::even(plane.low, plane.high, 5) {
            let y = plane.y(w);
            let _ = write!(
                out,
                "<path class=\"axis\" d=\"M{} {y:.1}H{}\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\" \
                 font-size=\"{}\">{} {unit}</text>",
                size.left,
                size.wide - EDGE,
                size.left - 8.0,
                y + 4.5,
                size.type_size,
                four_digits(w, Style::PLAIN)
            );
        }
        let ticks = match self.of {
            Of::Power => axis::times(self.window.0, self.window.1, size.ticks),
            // Milliseconds are short words: a few more go beside each other.
            Of::Voltage => axis::even(self.window.0, self.window.1, size.ticks + 2),
        };
        for s in ticks {
            let text = match self.of {
                Of::Power => time_words(s),
                Of::Voltage => format!("{} ms", four_digits((s * 1e9).round() / 1e6, Style::PLAIN)),
            };
            let x = plane.x(s);
            let half = labels::width(&text, size.type_size) / 2.0;
            let middle = x.clamp(size.left.min(half), size.wide - half);
            let _ = write!(
                out,
                "<path class=\"axis\" d=\"M{x:.1} {floor}v5\"/><text x=\"{middle:.1}\" y=\"{}\" text-anchor=\"middle\" \
                 font-size=\"{}\">{text}</text>",
                floor + 21.0,
                size.type_size
            );
        }
        let _ = write!(out, "<path class=\"axis base\" d=\"M{} {floor}H{}\"/>", size.left, size.wide - EDGE);
    }

    fn sentence(&self) -> String {
        let low = self.points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        let high = self.points.iter().map(|p| p.2).fold(f64::NEG_INFINITY, f64::max);
        let span = duration_words((self.window.1 - self.window.0) / 3600.0);
        match self.of {
            Of::Power => {
                format!("Power over {span}, from {low:.1} to {high:.1} W, {} gaps.", self.gaps.len())
            }
            Of::Voltage => {
                let n = self.bands.len();
                let mut said =
                    format!("Voltage over {span}, from {low:.1} to {high:.1} V, interruptions: {n}.");
                let words = self.marks.iter().filter(|m| self.within(m.0) && !m.1.is_empty()).take(SAID);
                for (s, word) in words {
                    let ms = four_digits((s * 1e6).round() / 1e3, Style::PLAIN);
                    let _ = write!(said, " From {ms} ms on: {word}.");
                }
                if self.parts.len() > 1 {
                    let _ = write!(said, " Segments laid end to end: {}.", self.parts.len());
                }
                said
            }
        }
    }
}

/// "0", "90 s" as "1 min 30 s", "2 h".
fn time_words(s: f64) -> String {
    let whole = s.round() as i64;
    let (h, m, s) = (whole / 3600, whole / 60 % 60, whole % 60);
    let parts = [(h, "h"), (m, "min"), (s, "s")];
    let said: Vec<String> = parts.iter().filter(|p| p.0 > 0).map(|(n, u)| format!("{n} {u}")).collect();
    if said.is_empty() { "0".into() } else { said.join(" ") }
}

/// The envelope of one unbroken stretch.
fn draw(out: &mut String, plane: &Plane<'_>, piece: &[(f64, f64, f64)]) {
    let Some(first) = piece.first() else { return };
    let place = |s: f64, w: f64| format!("{:.1} {:.1}", plane.x(s), plane.y(w));
    let line: Vec<String> = piece.iter().map(|p| place(p.0, p.2)).collect();
    let spread = piece.iter().any(|p| p.1 < p.2);
    let back: Vec<String> = piece.iter().rev().filter(|_| spread).map(|p| place(p.0, p.1)).collect();
    let _ = match (piece.len(), back.is_empty()) {
        (1, _) => write!(
            out,
            "<circle class=\"dot\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"1.6\"/>",
            plane.x(first.0),
            plane.y(first.2)
        ),
        (_, true) => write!(out, "<path class=\"power\" d=\"M{}\"/>", line.join("L")),
        _ => write!(out, "<path class=\"power spread\" d=\"M{}L{}Z\"/>", line.join("L"), back.join("L")),
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trace() -> Trace {
        // An hour at 500 W, a point a second, one reading of 900 W, ten minutes missing.
        let points = (0..3600).filter(|s| !(1200..1800).contains(s));
        let points = points.map(|s| (f64::from(s), 500.0, if s == 777 { 900.0 } else { 500.0 }));
        Trace {
            points: points.collect(),
            gaps: vec![(1199.0, 1800.0)],
            marks: vec![(0.0, "load on".into())],
            window: (0.0, 3599.0),
            ..Trace::default()
        }
    }

    #[test]
    fn the_highest_reading_is_there_at_every_width_and_the_gap_is_open() {
        let figure = trace().figure();
        assert_eq!(figure.matches("500.00,900.00").count(), 2, "the lone reading in both sizes");
        // Two stretches in each size, and the gap itself.
        assert_eq!(figure.matches("class=\"power").count(), 4);
        assert_eq!(figure.matches("class=\"gap\"").count(), 2);
        assert!(figure.contains(">30 min<") && figure.contains(">load on<"), "{figure}");
        assert!(!figure.contains("NaN") && !figure.contains("inf"));
    }

    /// Five cycles of 170 V at 50 Hz, gone from 40 to 52 ms.
    #[test]
    fn a_capture_is_drawn_in_milliseconds_with_its_interruption() {
        let v = |s: f64| if (0.040..0.052).contains(&s) { 0.0 } else { 170.0 * (314.159_265 * s).sin() };
        let points = (0..1000).map(|n| f64::from(n) / 1e4).map(|s| (s, v(s), v(s))).collect();
        let trace = Trace {
            of: Of::Voltage,
            points,
            line: vec![(0.0, 120.0), (0.04, 120.0), (0.05, 60.0), (0.09, 120.0)],
            bands: vec![(0.040, 0.052)],
            marks: vec![(0.040, "gone".into()), (0.052, "back".into())],
            window: (0.0, 0.1),
            ..Trace::default()
        };
        let figure = trace.figure();
        assert!(
            figure.contains(">20 ms<") && figure.contains(">100 V<") && figure.contains(">−100 V<"),
            "{figure}"
        );
        assert!(figure.contains(">gone<") && figure.contains("interruptions: 1."));
        assert_eq!(
            (figure.matches("class=\"gap\"").count(), figure.matches("class=\"rms\"").count()),
            (2, 2)
        );
        // The wave goes on through the interruption: one stretch in each size.
        assert_eq!(figure.matches("class=\"power").count(), 2);
        assert!(figure.contains("0.0450000,0.00,0.00"), "the samples of the interruption are there");
    }

    #[test]
    fn nothing_and_one_point_are_no_drawing() {
        assert!(Trace::default().figure().is_empty());
        assert!(
            Trace { points: vec![(0.0, 1.0, 1.0)], window: (0.0, 0.0), ..Trace::default() }
                .figure()
                .is_empty()
        );
    }
}
