//! How long it runs against the load: the curve of the page, in video size.
use super::canvas::{Anchor, Canvas, run};
use super::face::{self, CAP, LEADING, SMALL, Tone};
use super::head::Head;
use crate::chart::axis;
use crate::chart::labels::{self, Area};
use crate::chart::runtime::{Curve, Plane, hours_words};

/// What it says.
pub struct Runtime {
    /// Of which station.
    pub name: String,
    /// "How long it runs".
    pub title: String,
    /// The curve.
    pub curve: Curve,
}

pub(super) const PAD: f64 = 52.0;
/// Least distance from one number on an axis to the next.
const CLEAR: f64 = 34.0;

/// The plate over the whole room, name and title on it; what is left for a plot comes back.
pub(super) fn begin(canvas: &mut Canvas, name: &str, title: &str) -> Area {
    let room = canvas.room;
    canvas.plate(room);
    canvas.layer();
    let head = Head::new(name, title, room.wide() - 2.0 * PAD);
    let under = head.draw(canvas, room.x0 + PAD, room.y0 + PAD);
    Area { x0: room.x0 + PAD, y0: under + 56.0, x1: room.x1 - PAD, y1: room.y1 - PAD }
}

/// Numbers up the left side, with hairlines across; those that would touch the one before are left out.
pub(super) fn upwards(canvas: &mut Canvas, plot: &Area, marks: impl Iterator<Item = (f64, String)>) {
    let mut free = f64::INFINITY;
    for (y, text) in marks {
        if y > plot.y1 + 0.5 || y < plot.y0 - 0.5 || y > free {
            continue;
        }
        free = y - SMALL * LEADING;
        canvas.line(&[(plot.x0, y), (plot.x1, y)], Tone::Hair, 2.5);
        let base = y + SMALL * CAP / 2.0;
        canvas.text((plot.x0 - 20.0, base), Anchor::End, &[run(&text, SMALL).tone(Tone::Quiet)]);
    }
}

/// Numbers along the foot.
pub(super) fn along(canvas: &mut Canvas, plot: &Area, edge: f64, marks: impl Iterator<Item = (f64, String)>) {
    let mut free = f64::NEG_INFINITY;
    let base = plot.y1 + 28.0 + SMALL * CAP;
    for (x, text) in marks {
        let half = face::width(&text, SMALL, false) / 2.0;
        let middle = x.clamp(plot.x0 - 60.0 + half.min(60.0), edge - half);
        if x > plot.x1 + 0.5 || x < plot.x0 - 0.5 || middle - half < free {
            continue;
        }
        free = middle + half + CLEAR;
        canvas.line(&[(x, plot.y1), (x, plot.y1 + 14.0)], Tone::Quiet, 3.0);
        canvas.text((middle, base), Anchor::Middle, &[run(&text, SMALL).tone(Tone::Quiet)]);
    }
}

impl Runtime {
    /// Layers: axes; the curve with its band; the tests behind it and the check.
    pub fn draw(&self, canvas: &mut Canvas) {
        let space = begin(canvas, &self.name, &self.title);
        let all = self.curve.plane(&space).hours;
        let marks = axis::ticks(all.0, all.1);
        let gutter = marks.iter().map(|h| face::width(&axis::hours(*h), SMALL, false)).fold(0.0, f64::max);
        let foot = SMALL * CAP + 28.0;
        let plot = Area { x0: space.x0 + gutter + 20.0, y1: space.y1 - foot, ..space };
        let plane = self.curve.plane(&plot);
        upwards(canvas, &plot, marks.into_iter().map(|h| (plane.y.at(h), axis::hours(h))));
        let loads = axis::ticks(plane.loads.0, plane.loads.1);
        along(canvas, &plot, space.x1, loads.into_iter().map(|w| (plane.x.at(w), format!("{w:.0} W"))));
        canvas.line(&[(plot.x0, plot.y1), (plot.x1, plot.y1)], Tone::Quiet, 3.0);
        canvas.layer();
        self.line(canvas, &plane);
        canvas.layer();
        self.rings(canvas, &plane, &plot);
    }

    fn line(&self, canvas: &mut Canvas, plane: &Plane) {
        let at = |w: f64, h: f64| (plane.x.at(w), plane.y.at(h));
        let points = &self.curve.points;
        let upper = points.iter().map(|p| at(p.0, p.3));
        let band: Vec<_> = upper.chain(points.iter().rev().map(|p| at(p.0, p.2))).collect();
        canvas.shade(&band, 0.5);
        canvas.area(&band, Tone::Accent, 0.4);
        canvas.line(&points.iter().map(|p| at(p.0, p.1)).collect::<Vec<_>>(), Tone::Accent, 9.0);
    }

    fn rings(&self, canvas: &mut Canvas, plane: &Plane, plot: &Area) {
        let at = |w: f64, h: f64| (plane.x.at(w), plane.y.at(h));
        let curve = self.curve.points.windows(2).flat_map(|p| {
            let (a, b) = (at(p[0].0, p[0].1), at(p[1].0, p[1].1));
            (0..4).map(move |i| {
                let t = f64::from(i) / 4.0;
                Area::around(a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t, 12.0)
            })
        });
        let curve: Vec<Area> = curve.collect();
        let mut taken = Vec::new();
        let measured: Vec<_> = self.curve.measured.iter().map(|m| (at(m.0, m.1), &m.2)).collect();
        let held: Vec<_> = self.curve.held_out.iter().map(|h| (at(h.0, h.1), h)).collect();
        let all = measured.iter().map(|m| m.0).chain(held.iter().map(|h| h.0));
        taken.extend(all.map(|p| Area::around(p.0, p.1, 20.0)));
        for (point, (_, ran, foretold, label)) in held {
            canvas.disc(point, 14.0, Tone::Ink, false);
            let foretold = format!("foretold {}", hours_words(*foretold));
            let ran = format!("ran {}", hours_words(*ran));
            write(canvas, point, &[&face::short(label, 30), &foretold, &ran], plot, &curve, &mut taken);
        }
        for (i, (point, label)) in measured.iter().enumerate() {
            canvas.disc(*point, 13.0, Tone::Ink, true);
            // Repeats of one test stand on each other: one label serves them all.
            let near = |p: (f64, f64)| (p.0 - point.0).abs() < 60.0 && (p.1 - point.1).abs() < 40.0;
            if !measured[..i].iter().any(|m| near(m.0)) {
                write(canvas, *point, &[label], plot, &curve, &mut taken);
            }
        }
    }
}

/// Widest line of a label, as a share of the plot.
const WIDEST: f64 = 0.62;

/// A label near its point, inside the plot and on no other; left out where there is no room for it.
fn write(
    canvas: &mut Canvas,
    point: (f64, f64),
    text: &[&str],
    plot: &Area,
    curve: &[Area],
    taken: &mut Vec<Area>,
) {
    let wrapped =
        text.iter().flat_map(|l| face::wrap(&face::writable(l), SMALL, false, plot.wide() * WIDEST));
    let lines: Vec<String> = wrapped.collect();
    let borrowed: Vec<&str> = lines.iter().map(String::as_str).collect();
    let Some(placed) = labels::place(point, &borrowed, SMALL, plot, curve, taken) else { return };
    if let Some(end) = placed.led {
        canvas.line(&[labels::lead(point, end, 22.0), end], Tone::Hair, 2.5);
    }
    let (x, anchor) =
        if placed.right { (placed.area.x1, Anchor::End) } else { (placed.area.x0, Anchor::Start) };
    for (i, line) in lines.iter().enumerate() {
        let base = placed.area.y0 + (i as f64 + 0.85) * SMALL * 1.2;
        canvas.text((x, base), anchor, &[run(line, SMALL)]);
    }
}
