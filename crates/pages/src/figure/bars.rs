//! One quantity across stations: bars from zero with their 95 % intervals, the station spoken of set apart.
use super::canvas::{Anchor, Canvas, corners, run};
use super::face::{self, CAP, LEADING, SMALL, Tone};
use super::head::{Head, Number, lines};
use crate::chart::labels::Area;

/// What it says.
pub struct Bars {
    /// What is compared.
    pub title: String,
    /// The rows, the best first.
    pub rows: Vec<Row>,
    /// "place 3 to 5 of 14".
    pub place: String,
}

/// One station.
pub struct Row {
    /// Its name.
    pub name: String,
    /// Its number.
    pub number: Number,
    /// The value, in the unit its dimension is kept in.
    pub x: f64,
    /// Half-width of its interval; 0 where it is not known.
    pub half: f64,
    /// It is the station spoken of.
    pub mine: bool,
}

/// Rows that fit into every size of picture.
pub const ROWS: usize = 6;
const PAD: f64 = 52.0;
/// Height of a bar, its distance from the name above it, and the distance to the next row.
const BAR: f64 = 26.0;
const UNDER: f64 = 18.0;
const APART: f64 = 34.0;
/// Longest name in signs beside its number.
const LONGEST: usize = 29;

impl Bars {
    /// Layers: title and names; the other stations; the station spoken of.
    pub fn draw(&self, canvas: &mut Canvas) {
        let room = canvas.room;
        let (x0, x1) = (room.x0 + PAD, room.x1 - PAD);
        let head = Head::new("", &self.title, x1 - x0);
        let foot = face::wrap(&self.place, SMALL, false, x1 - x0);
        let line = if canvas.tall { SMALL * LEADING } else { 0.0 };
        let row = SMALL * CAP + line + UNDER + BAR + APART;
        let high = 2.0 * PAD + head.high() + 62.0 + row * self.rows.len() as f64 - APART + 50.0 + SMALL * CAP;
        let top = (room.y0 + room.y1 - high) / 2.0;
        canvas.plate(Area { y0: top, y1: top + high, ..room });
        canvas.layer();
        let under = head.draw(canvas, x0, top + PAD) + 62.0;
        let at = |i: usize| under + row * i as f64;
        for (i, r) in self.rows.iter().enumerate() {
            let name = run(&face::short(&r.name, LONGEST), SMALL);
            let name = if r.mine { name.bold() } else { name.tone(Tone::Quiet) };
            canvas.text((x0, at(i) + SMALL * CAP), Anchor::Start, &[name]);
        }
        let foot_at = at(self.rows.len()) - APART + 50.0 + SMALL * CAP;
        lines(canvas, (x0, foot_at), &foot, SMALL, |r| r.tone(Tone::Quiet));
        let largest = self.rows.iter().map(|r| r.x + r.half).fold(0.0, f64::max);
        for mine in [false, true] {
            canvas.layer();
            for (i, r) in self.rows.iter().enumerate().filter(|(_, r)| r.mine == mine) {
                r.draw(canvas, (x0, x1), at(i), line, largest);
            }
        }
    }
}

impl Row {
    fn draw(&self, canvas: &mut Canvas, (x0, x1): (f64, f64), top: f64, line: f64, largest: f64) {
        let at = |v: f64| x0 + v.clamp(0.0, largest) / largest.max(f64::MIN_POSITIVE) * (x1 - x0 - 8.0);
        let number = self.number.runs(SMALL, SMALL);
        canvas.text((x1, top + SMALL * CAP + line), Anchor::End, &number);
        let y = top + SMALL * CAP + line + UNDER + BAR / 2.0;
        let tone = if self.mine { Tone::Accent } else { Tone::Still };
        let bar = Area { x0, y0: y - BAR / 2.0, x1: at(self.x).max(x0 + 2.0), y1: y + BAR / 2.0 };
        canvas.area(&corners(bar), tone, 1.0);
        if self.half > 0.0 {
            let (from, to) = (at(self.x - self.half), at(self.x + self.half));
            canvas.line(&[(from, y), (to, y)], Tone::Ink, 5.0);
            for x in [from, to] {
                canvas.line(&[(x, y - BAR * 0.62), (x, y + BAR * 0.62)], Tone::Ink, 5.0);
            }
        }
    }
}
