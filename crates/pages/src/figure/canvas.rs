//! What pictures are drawn with: text and shapes in layers, each piece of light ink with a dark halo under it.
use super::face::{self, Look, Tone};
use super::frame::Frame;
use crate::chart::labels::Area;
use crate::piece::escape;
use std::fmt::Write;

/// A stretch of text of one size, weight and tone.
#[derive(Clone, Debug)]
pub struct Run {
    text: String,
    size: f64,
    bold: bool,
    tone: Tone,
}

/// Text in ink, regular.
pub fn run(text: &str, size: f64) -> Run {
    Run { text: face::writable(text), size, bold: false, tone: Tone::Ink }
}

impl Run {
    /// Semi-bold.
    pub fn bold(self) -> Run {
        Run { bold: true, ..self }
    }
    /// In another tone.
    pub fn tone(self, tone: Tone) -> Run {
        Run { tone, ..self }
    }
}

/// Width of runs set one after another.
pub fn width(runs: &[Run]) -> f64 {
    runs.iter().map(|r| face::width(&r.text, r.size, r.bold)).sum()
}

/// Which end of a text its place names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The left end.
    Start,
    /// The middle.
    Middle,
    /// The right end.
    End,
}

impl Anchor {
    fn key(self) -> &'static str {
        match self {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        }
    }
}

/// Halo beyond a shape's edge, in units.
const CASING: f64 = 5.0;
/// Widths of the strokes of a text's halo, with their opacity: soft outside, firm at the letters.
const HALO: [(f64, f64); 3] = [(36.0, 0.08), (22.0, 0.16), (10.0, 0.90)];

#[derive(Default)]
struct Layer {
    halo: String,
    ink: String,
}

/// A picture being drawn.
pub struct Canvas {
    /// Light ink on footage, or dark ink on paper.
    pub look: Look,
    /// Where it may draw.
    pub room: Area,
    /// Upright.
    pub tall: bool,
    frame: Frame,
    plate: String,
    layers: Vec<Layer>,
    said: Vec<String>,
}

impl Canvas {
    /// An empty picture.
    pub fn new(frame: Frame, look: Look) -> Canvas {
        let (room, tall) = (frame.room(), frame == Frame::Tall);
        Canvas { look, room, tall, frame, plate: String::new(), layers: Vec::new(), said: Vec::new() }
    }

    /// From here on a new layer: what comes later in a build.
    pub fn layer(&mut self) {
        self.layers.push(Layer::default());
    }

    /// Layers so far, the plate not counted.
    pub fn layers(&self) -> usize {
        self.layers.len()
    }

    /// Lower edge of a strip at the foot of the picture.
    pub fn strip_floor(&self) -> f64 {
        self.frame.strip_floor()
    }

    /// The paper, where the look has one.
    pub fn plate(&mut self, room: Area) {
        if self.look == Look::Plate {
            let _ = write!(
                self.plate,
                "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" rx=\"6\" fill=\"{}\"/>",
                room.x0,
                room.y0,
                room.wide(),
                room.high(),
                face::PAPER
            );
        }
    }

    /// Everything written, in order.
    pub fn said(self) -> Vec<String> {
        self.said
    }

    fn top(&mut self) -> &mut Layer {
        if self.layers.is_empty() {
            self.layer();
        }
        let last = self.layers.len() - 1;
        &mut self.layers[last]
    }

    /// One line of text; `at` is its end or middle on the base line.
    pub fn text(&mut self, at: (f64, f64), anchor: Anchor, runs: &[Run]) {
        self.said.push(runs.iter().map(|r| r.text.as_str()).collect::<String>());
        let look = self.look;
        let head = format!(
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"{}\" xml:space=\"preserve\"",
            at.0,
            at.1,
            anchor.key()
        );
        let body = |fill: bool| {
            let one = |r: &Run| {
                let weight = if r.bold { " font-weight=\"600\"" } else { "" };
                let fill = if fill { format!(" fill=\"{}\"", look.colour(r.tone)) } else { String::new() };
                format!("<tspan font-size=\"{}\"{weight}{fill}>{}</tspan>", r.size, escape(&r.text))
            };
            runs.iter().map(one).collect::<String>()
        };
        let (outline, filled) = (body(false), body(true));
        let layer = self.top();
        if look == Look::Clear {
            for (wide, opacity) in HALO {
                let _ = write!(
                    layer.halo,
                    "{head} fill=\"none\" stroke=\"{}\" stroke-width=\"{wide}\" stroke-opacity=\"{opacity}\" \
                     stroke-linejoin=\"round\">{outline}</text>",
                    face::HALO
                );
            }
        }
        let _ = write!(layer.ink, "{head}>{filled}</text>");
    }

    /// A line through points.
    pub fn line(&mut self, points: &[(f64, f64)], tone: Tone, wide: f64) {
        self.stroke(points, tone, wide, "");
    }

    /// A dotted line through points.
    pub fn dots(&mut self, points: &[(f64, f64)], tone: Tone, wide: f64) {
        self.stroke(points, tone, wide, &format!(" stroke-dasharray=\"0 {:.1}\"", wide * 3.2));
    }

    fn stroke(&mut self, points: &[(f64, f64)], tone: Tone, wide: f64, dash: &str) {
        let d = path(points);
        let round = if dash.is_empty() { "butt" } else { "round" };
        let (look, colour) = (self.look, self.look.colour(tone));
        let casing = if tone == Tone::Hair { CASING * 0.6 } else { CASING };
        let layer = self.top();
        if look == Look::Clear {
            let soft = if tone == Tone::Hair { 0.55 } else { 0.85 };
            let _ = write!(
                layer.halo,
                "<path d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:.1}\" stroke-opacity=\"{soft}\" \
                 stroke-linejoin=\"round\" stroke-linecap=\"round\"{dash}/>",
                face::HALO,
                wide + 2.0 * casing
            );
        }
        let _ = write!(
            layer.ink,
            "<path d=\"{d}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{wide}\" \
             stroke-linejoin=\"round\" stroke-linecap=\"{round}\"{dash}/>"
        );
    }

    /// A filled shape.
    pub fn area(&mut self, points: &[(f64, f64)], tone: Tone, opacity: f64) {
        let d = path(points);
        let (look, colour) = (self.look, self.look.colour(tone));
        let layer = self.top();
        if look == Look::Clear && opacity >= 1.0 {
            let _ = write!(
                layer.halo,
                "<path d=\"{d}Z\" fill=\"{0}\" fill-opacity=\".85\" stroke=\"{0}\" stroke-width=\"{1}\" \
                 stroke-opacity=\".85\" stroke-linejoin=\"round\"/>",
                face::HALO,
                2.0 * CASING
            );
        }
        let _ = write!(layer.ink, "<path d=\"{d}Z\" fill=\"{colour}\" fill-opacity=\"{opacity}\"/>");
    }

    /// A shade that keeps footage from shining through: only where nothing lies behind.
    pub fn shade(&mut self, points: &[(f64, f64)], opacity: f64) {
        if self.look == Look::Clear {
            let d = path(points);
            let layer = self.top();
            let _ =
                write!(layer.halo, "<path d=\"{d}Z\" fill=\"{}\" fill-opacity=\"{opacity}\"/>", face::HALO);
        }
    }

    /// A disc, or a ring that is open inside.
    pub fn disc(&mut self, at: (f64, f64), r: f64, tone: Tone, open: bool) {
        let (look, colour) = (self.look, self.look.colour(tone));
        let inside = if look == Look::Clear { face::HALO } else { face::PAPER };
        let layer = self.top();
        if look == Look::Clear {
            let _ = write!(
                layer.halo,
                "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.1}\" fill=\"{}\" fill-opacity=\".85\"/>",
                at.0,
                at.1,
                r + CASING + 2.0,
                face::HALO
            );
        }
        let fill = if open { inside } else { colour };
        let _ = write!(
            layer.ink,
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{r}\" fill=\"{fill}\" stroke=\"{colour}\" stroke-width=\"5\"/>",
            at.0, at.1
        );
    }

    /// The drawing: all of it, or one layer of it, 0 being the plate.
    pub fn svg(&self, layer: Option<usize>) -> String {
        let (wide, high) = self.frame.units();
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {wide} {high}\" width=\"{wide}\" \
             height=\"{high}\" font-family=\"{}\">",
            face::FAMILY
        );
        if layer.is_none_or(|n| n == 0) {
            out.push_str(&self.plate);
        }
        for (i, l) in self.layers.iter().enumerate() {
            if layer.is_none_or(|n| n == i + 1) {
                out.push_str(&l.halo);
                out.push_str(&l.ink);
            }
        }
        out.push_str("</svg>");
        out
    }
}

fn path(points: &[(f64, f64)]) -> String {
    let mut d = String::new();
    for (i, (x, y)) in points.iter().enumerate() {
        let _ = write!(d, "{}{x:.1} {y:.1}", if i == 0 { 'M' } else { 'L' });
    }
    d
}

/// The four corners of a rectangle.
pub fn corners(room: Area) -> [(f64, f64); 4] {
    [(room.x0, room.y0), (room.x1, room.y0), (room.x1, room.y1), (room.x0, room.y1)]
}
