//! One discharge: power over time until the outlet went off. The area under it is the energy.
use super::canvas::{Anchor, Canvas, run};
use super::face::{self, BODY, CAP, LEADING, SMALL, Tone};
use super::head::Number;
use super::runtime::{along, begin, upwards};
use crate::chart::axis;
use crate::chart::labels::Area;

/// What it says.
pub struct Discharge {
    /// Of which station.
    pub name: String,
    /// "Discharge, load 50 %".
    pub title: String,
    /// Power over time: h, and the lowest and highest W there. From a log, or two points at the mean of a run read by hand.
    pub trace: Vec<(f64, f64, f64)>,
    /// Hours until the outlet went off.
    pub hours: f64,
    /// The same as people read it: "1 h 34 min".
    pub lasted: String,
    /// What came out.
    pub energy: Number,
    /// "mean of 575 W" where no log drew the line.
    pub about: String,
}

/// Size of the energy inside the area.
const ENERGY: f64 = 116.0;
/// How much of the accent tints the area: what stands on it keeps its contrast.
const TINT: f64 = 0.18;

impl Discharge {
    /// Layers: axes; the area; energy and end.
    pub fn draw(&self, canvas: &mut Canvas) {
        let space = begin(canvas, &self.name, &self.title);
        let most_w = self.trace.iter().map(|p| p.2).fold(0.0, f64::max).max(1.0) * 1.16;
        let most_h = self.hours.max(self.trace.last().map_or(0.0, |p| p.0)).max(0.01) * 1.1;
        let powers = axis::even(0.0, most_w, 3);
        let watts = |w: f64| format!("{w:.0} W");
        let gutter = powers.iter().map(|w| face::width(&watts(*w), SMALL, false)).fold(0.0, f64::max);
        let foot = SMALL * CAP + 28.0;
        let plot = Area { x0: space.x0 + gutter + 20.0, y1: space.y1 - foot, ..space };
        let x = |h: f64| plot.x0 + h / most_h * plot.wide();
        let y = |w: f64| plot.y1 - w / most_w * plot.high();
        // The corner belongs to the first number along the foot.
        upwards(canvas, &plot, powers.iter().skip(1).map(|w| (y(*w), watts(*w))));
        along(canvas, &plot, space.x1, times(most_h).into_iter().map(|(h, text)| (x(h), text)));
        canvas.line(&[(plot.x0, plot.y1), (plot.x1, plot.y1)], Tone::Quiet, 3.0);
        canvas.layer();
        let upper: Vec<_> = self.trace.iter().map(|p| (x(p.0), y(p.2))).collect();
        let lower = self.trace.iter().rev().map(|p| (x(p.0), y(p.1)));
        let ends = [self.trace.last(), self.trace.first()];
        let ends = ends.into_iter().flatten().map(|p| (x(p.0), plot.y1));
        let under: Vec<_> = upper.iter().copied().chain(ends).collect();
        canvas.shade(&under, 0.5);
        canvas.area(&under, Tone::Accent, TINT);
        let band: Vec<_> = upper.iter().copied().chain(lower).collect();
        canvas.area(&band, Tone::Accent, 0.9);
        canvas.line(&upper, Tone::Accent, 8.0);
        canvas.layer();
        let end = x(self.hours);
        let top = y(self.trace.last().map_or(0.0, |p| p.2));
        canvas.line(&[(end, top), (end, plot.y1)], Tone::Ink, 8.0);
        self.words(canvas, &plot, end);
    }

    fn words(&self, canvas: &mut Canvas, plot: &Area, end: f64) {
        let middle = (plot.x0 + end) / 2.0;
        let lines = 2.0 * SMALL * LEADING;
        let base = plot.y1 - (plot.high() * 0.82 - ENERGY * CAP - lines) / 2.0 - lines - 10.0;
        canvas.text((middle, base), Anchor::Middle, &self.energy.runs(ENERGY, BODY));
        let off = format!("off after {}", self.lasted);
        canvas.text((middle, base + 30.0 + SMALL), Anchor::Middle, &[run(&off, SMALL).bold()]);
        if !self.about.is_empty() {
            let about = [run(&self.about, SMALL)];
            canvas.text((middle, base + 30.0 + SMALL * (1.0 + LEADING)), Anchor::Middle, &about);
        }
    }
}

/// Ticks of an axis of hours, in minutes where it is short.
fn times(most: f64) -> Vec<(f64, String)> {
    if most < 1.5 {
        let minutes = axis::even(0.0, most * 60.0, 5).into_iter().map(|m| (m / 60.0, format!("{m:.0} min")));
        return minutes.collect();
    }
    let hours = axis::even(0.0, most, 5);
    let places = usize::from(hours.get(1).is_some_and(|h| h.fract() > 1e-9));
    hours.into_iter().map(|h| (h, format!("{h:.places$} h"))).collect()
}
