//! One number at the foot of the picture: the number large, beside it what it is and of which station.
use super::canvas::{self, Anchor, Canvas, Run, run};
use super::face::{self, CAP, LEADING, SMALL, Tone};
use super::head::{LONGEST_NAME, LONGEST_TITLE, Number};
use crate::chart::labels::Area;

/// What it says.
pub struct Strip {
    /// Of which station.
    pub name: String,
    /// What the number is.
    pub title: String,
    /// The number.
    pub number: Number,
}

/// Size of the number, and of its interval and unit.
const LARGE: f64 = 136.0;
const BESIDE: f64 = 72.0;
/// From the edge of the plate to what stands on it, and between number and text.
const PAD: f64 = 44.0;
const GAP: f64 = 44.0;

impl Strip {
    /// Layers: what it is about; the number.
    pub fn draw(&self, canvas: &mut Canvas) {
        let number = self.number.runs(LARGE, BESIDE);
        let wide = canvas::width(&number);
        let room = canvas.room;
        let inner = room.wide() - 2.0 * PAD;
        let beside = inner - wide - 2.0 * GAP;
        if canvas.tall || beside < 560.0 {
            self.above(canvas, &number, inner)
        } else {
            self.beside(canvas, &number, wide, beside)
        }
    }

    fn texts(&self, wide: f64) -> (Vec<String>, Vec<String>) {
        let title = face::writable(&face::short(&self.title, LONGEST_TITLE));
        let name = face::writable(&face::short(&self.name, LONGEST_NAME));
        (face::wrap(&title, SMALL, true, wide), face::wrap(&name, SMALL, false, wide))
    }

    /// The number, a hairline, and the text to its right.
    fn beside(&self, canvas: &mut Canvas, number: &[Run], number_wide: f64, beside: f64) {
        let (title, name) = self.texts(beside);
        let count = (title.len() + name.len()) as f64;
        let text_high = SMALL * CAP + (count - 1.0) * SMALL * LEADING;
        let high = text_high.max(LARGE * CAP);
        let widest = title.iter().map(|l| face::width(l, SMALL, true));
        let widest = widest.chain(name.iter().map(|l| face::width(l, SMALL, false))).fold(0.0, f64::max);
        let x0 = canvas.room.x0;
        let floor = canvas.strip_floor();
        let top = floor - high - 2.0 * PAD;
        let text_x = x0 + PAD + number_wide + 2.0 * GAP;
        canvas.plate(Area { x0, y0: top, x1: text_x + widest + PAD, y1: floor });
        canvas.layer();
        let rule = text_x - GAP;
        canvas.line(&[(rule, top + PAD), (rule, floor - PAD)], Tone::Accent, 4.0);
        let first = top + PAD + (high - text_high) / 2.0 + SMALL * CAP;
        self.write(canvas, (text_x, first), &title, &name);
        canvas.layer();
        let base = top + PAD + (high + LARGE * CAP) / 2.0;
        canvas.text((x0 + PAD, base), Anchor::Start, number);
    }

    /// The number above the text, where the picture is narrow or the number long.
    fn above(&self, canvas: &mut Canvas, number: &[Run], wide: f64) {
        let (title, name) = self.texts(wide);
        let count = (title.len() + name.len()) as f64;
        let text_high = SMALL * CAP + (count - 1.0) * SMALL * LEADING;
        let (x0, floor) = (canvas.room.x0, canvas.strip_floor());
        let top = floor - text_high - LARGE * CAP - 2.0 * PAD - GAP;
        canvas.plate(Area { x0, y0: top, x1: canvas.room.x1, y1: floor });
        canvas.layer();
        let base = top + PAD + LARGE * CAP;
        self.write(canvas, (x0 + PAD, base + GAP + SMALL * CAP), &title, &name);
        canvas.layer();
        canvas.text((x0 + PAD, base), Anchor::Start, number);
    }

    fn write(&self, canvas: &mut Canvas, at: (f64, f64), title: &[String], name: &[String]) {
        let all = title.iter().map(|l| run(l, SMALL).bold());
        let all = all.chain(name.iter().map(|l| run(l, SMALL).tone(Tone::Quiet)));
        for (i, line) in all.enumerate() {
            canvas.text((at.0, at.1 + i as f64 * SMALL * LEADING), Anchor::Start, &[line]);
        }
    }
}
