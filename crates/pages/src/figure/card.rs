//! The disclosure: how the station came to the bench, on a card that cannot be overlooked.
use super::canvas::Canvas;
use super::face::{self, BODY, CAP, LEADING, SMALL, Tone};
use super::head::{Head, lines};
use crate::chart::labels::Area;

/// What it says.
pub struct Card {
    /// Of which station.
    pub name: String,
    /// The few words that must not be missed: "Lent by its maker".
    pub title: String,
    /// How each sample came, one after another.
    pub told: Vec<String>,
    /// Who tested, and how much.
    pub foot: String,
}

const PAD: f64 = 64.0;
/// Longest disclosure in signs; the whole of it stands on the page.
const LONGEST: usize = 240;

impl Card {
    /// Layers: the station; the disclosure; who tested.
    pub fn draw(&self, canvas: &mut Canvas) {
        let room = canvas.room;
        let inner = room.wide() - 2.0 * PAD;
        let head = Head::new(&self.name, &self.title, inner);
        let share = LONGEST / self.told.len().max(1);
        let wrapped = |t: &String| face::wrap(&face::writable(&face::short(t, share)), BODY, false, inner);
        let told: Vec<String> = self.told.iter().flat_map(wrapped).collect();
        let foot = face::wrap(&face::writable(&face::short(&self.foot, 90)), SMALL, false, inner);
        let told_high = told.len() as f64 * BODY * LEADING;
        let foot_high = foot.len() as f64 * SMALL * LEADING;
        let high = 2.0 * PAD + head.high() + 60.0 + told_high + 40.0 + foot_high;
        let top = (room.y0 + room.y1 - high) / 2.0;
        canvas.plate(Area { y0: top, y1: top + high, ..room });
        let x = room.x0 + PAD;
        canvas.layer();
        let under = head.draw(canvas, x, top + PAD) + 60.0;
        canvas.layer();
        let last = lines(canvas, (x, under + BODY * CAP), &told, BODY, |r| r);
        canvas.layer();
        let rule = last + 46.0;
        canvas.line(&[(x, rule), (x + 120.0, rule)], Tone::Accent, 5.0);
        lines(canvas, (x, rule + 36.0 + SMALL * CAP), &foot, SMALL, |r| r.tone(Tone::Quiet));
    }
}
