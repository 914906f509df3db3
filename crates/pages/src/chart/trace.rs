//! Power over time from a log: lowest and highest readings kept at every width, gaps left open, marks where the load
//! went on and off.
use super::axis;
use super::labels;
use crate::piece::escape;
use std::fmt::Write;
use trueplate_core::shown::duration_words;

/// What is drawn. Times in s from the first row, power in W.
#[derive(Clone, Debug, Default)]
pub struct Trace {
    /// Time, lowest and highest power of what a point stands for; by rising time.
    pub points: Vec<(f64, f64, f64)>,
    /// Stretches without readings.
    pub gaps: Vec<(f64, f64)>,
    /// Instants with a word.
    pub marks: Vec<(f64, &'static str)>,
    /// First and last instant drawn.
    pub window: (f64, f64),
}

struct Size {
    class: &'static str,
    wide: f64,
    high: f64,
    left: f64,
    type_size: f64,
    ticks: usize,
}

const SIZES: [Size; 2] = [
    Size { class: "wide", wide: 960.0, high: 280.0, left: 56.0, type_size: 13.0, ticks: 7 },
    Size { class: "narrow", wide: 328.0, high: 230.0, left: 46.0, type_size: 12.5, ticks: 3 },
];
const FOOT: f64 = 30.0;
const TOP: f64 = 22.0;
const EDGE: f64 = 8.0;

struct Plane<'a> {
    size: &'a Size,
    from: f64,
    span: f64,
    low: f64,
    high: f64,
}

impl Plane<'_> {
    fn x(&self, s: f64) -> f64 {
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
            let top = if power.1 > power.0 { power.1 + 0.06 * (power.1 - power.0) } else { 1.0 };
            let plane = Plane { size, from: self.window.0, span, low: power.0, high: top };
            out.push_str(&self.svg(&plane));
        }
        out
    }

    fn svg(&self, plane: &Plane<'_>) -> String {
        let size = plane.size;
        let pieces = self.pieces(plane);
        let data: Vec<String> =
            pieces.iter().flatten().map(|p| format!("{:.2},{:.2},{:.2}", p.0, p.1, p.2)).collect();
        let mut out = format!(
            "<svg class=\"plot trace {}\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{}\" data-left=\"{}\" \
             data-right=\"{}\" data-wide=\"{}\" data-from=\"{}\" data-to=\"{}\" data-points=\"{}\">",
            size.class,
            size.wide,
            size.high,
            escape(&self.sentence()),
            size.left,
            size.wide - EDGE,
            size.wide,
            self.window.0,
            self.window.1,
            data.join(";")
        );
        self.axes(&mut out, plane);
        for gap in &self.gaps {
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
        self.marks(&mut out, plane);
        let _ = write!(
            out,
            "<path class=\"cursor\" d=\"M0 {TOP}V{}\" visibility=\"hidden\"/></svg>",
            size.high - FOOT
        );
        out
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
        for w in axis::even(plane.low, plane.high, 5) {
            let y = plane.y(w);
            let _ = write!(
                out,
                "<path class=\"axis\" d=\"M{} {y:.1}H{}\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\" \
                 font-size=\"{}\">{w} W</text>",
                size.left,
                size.wide - EDGE,
                size.left - 8.0,
                y + 4.5,
                size.type_size
            );
        }
        for s in axis::times(self.window.0, self.window.1, size.ticks) {
            let (x, text) = (plane.x(s), time_words(s));
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

    fn marks(&self, out: &mut String, plane: &Plane<'_>) {
        let size = plane.size;
        let inside = |m: &&(f64, &str)| (self.window.0..=self.window.1).contains(&m.0);
        for (s, word) in self.marks.iter().filter(inside) {
            let x = plane.x(*s);
            let half = labels::width(word, size.type_size) / 2.0;
            let middle = x.clamp(half, size.wide - half);
            let _ = write!(
                out,
                "<path class=\"event\" d=\"M{x:.1} {TOP}V{}\"/><text class=\"lab\" x=\"{middle:.1}\" y=\"{}\" \
                 text-anchor=\"middle\" font-size=\"{}\">{}</text>",
                size.high - FOOT,
                TOP - 7.0,
                size.type_size,
                escape(word)
            );
        }
    }

    fn sentence(&self) -> String {
        let low = self.points.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        let high = self.points.iter().map(|p| p.2).fold(f64::NEG_INFINITY, f64::max);
        let span = duration_words((self.window.1 - self.window.0) / 3600.0);
        format!("Power over {span}, from {low:.1} to {high:.1} W, {} gaps.", self.gaps.len())
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
            marks: vec![(0.0, "load on")],
            window: (0.0, 3599.0),
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
