//! How long it runs, against the load: both logarithmic, the curve with its 95 % band, open rings for the tests that
//! made it, a filled one for a test kept out of it as a check.
use super::axis::{self, LogScale};
use super::labels::{self, Area};
use super::rings::{together, write_label};
use super::told;
use crate::figure::face;
use crate::piece::escape;
use crate::site::words;
use std::fmt::Write;
use trueplate_core::drain::Drain;
use trueplate_core::law::Load;
use trueplate_core::notebook::Notebook;
use trueplate_core::shown::duration_words;

/// What is drawn. Loads in W, times in h, all positive.
#[derive(Clone, Debug, Default)]
pub struct Curve {
    /// Load, hours, and the ends of the 95 % interval of the hours; by rising load.
    pub points: Vec<(f64, f64, f64, f64)>,
    /// Tests in the fit: load, hours, label.
    pub measured: Vec<(f64, f64, String)>,
    /// Tests kept out of it: load, hours it ran, hours foretold, label.
    pub held_out: Vec<(f64, f64, f64, String)>,
    /// Nothing plugged in: hours and the half-width of their 95 % interval.
    pub idle: Option<(f64, f64)>,
}

/// "19.6 h": a check needs more digits than speech does.
pub fn hours_words(hours: f64) -> String {
    if (10.0..100.0).contains(&hours) { format!("{hours:.1} h") } else { duration_words(hours) }
}

/// All that is said of a drain law where a station is shown: the curve, where it answers enough loads to be one, and what
/// was noticed about it. Empty when there is neither.
pub fn said(drain: &Drain, label: impl Fn(&str) -> String) -> String {
    let figure = Curve::of(drain, label).map_or_else(String::new, |c| c.figure());
    format!("{figure}{}", told::under(drain))
}

/// What a test is called beside its ring: its load, or its day.
pub fn load_of(notebook: &Notebook, test: &str) -> String {
    let Some(test) = notebook.test(test) else { return String::new() };
    let load = test.entries.get("load").and_then(|e| notebook.load(e.text.trim()));
    load.map_or_else(|| words::day(&test.day), |l| l.name.clone())
}

/// Smallest load drawn, in W.
const LOWEST_W: f64 = 10.0;
/// Span of loads from which on a curve is worth drawing.
const NARROWEST: f64 = 1.3;
/// Loads at which the curve is asked.
const STEPS: usize = 33;
/// Longest name beside a ring, in signs; the text of the drawing has it whole.
const LONGEST: usize = 40;
/// Widest line of a label, as a share of the drawing.
const WIDEST: f64 = 0.62;
/// How far apart the curve is looked at when a label looks for room.
const NEAR: f64 = 6.0;
/// Two-sided 95 % factor of the normal distribution: close enough for the width of a band; printed numbers have their own.
const K95: f64 = 1.96;

impl Curve {
    /// The curve of a drain law; `None` where it answers too few loads to be a curve. `label` names a test.
    pub fn of(drain: &Drain, label: impl Fn(&str) -> String) -> Option<Curve> {
        let law = drain.law.as_ref()?;
        let tested = drain.rows.iter().map(|r| r.over_all_w).fold(0.0, f64::max);
        let most = law.rules.rated_w.unwrap_or(0.0).max(tested);
        let at = |w: f64| {
            let (time, _) = drain.answer(Load::steady(w))?.ok()?;
            Some((time.x, K95 * time.u()))
        };
        let step = |i: usize| LOWEST_W * (most / LOWEST_W).powf(i as f64 / (STEPS - 1) as f64);
        // The loads tested as well: where only two are known the curve reaches from one to the other.
        let rows = drain.rows.iter().map(|r| r.over_all_w).filter(|w| *w > 0.0);
        let mut asked: Vec<f64> = (0..STEPS).map(step).chain(rows).filter(|w| w.is_finite()).collect();
        asked.sort_by(f64::total_cmp);
        asked.dedup();
        let point = |w: f64| at(w).map(|(h, half)| (w, h, (h - half).max(h * 0.05), h + half));
        let points: Vec<_> = asked.into_iter().filter_map(point).collect();
        let measured = drain.rows.iter().filter(|r| r.over_all_w > 0.0 && r.hours > 0.0);
        let held = |h: &trueplate_core::drain::HeldOut| {
            let foretold = h.foretold.as_ref().ok()?.x;
            (h.load.mean_w > 0.0 && h.ran_h > 0.0).then(|| (h.load.mean_w, h.ran_h, foretold, label(&h.test)))
        };
        let curve = Curve {
            points,
            measured: measured.map(|r| (r.over_all_w, r.hours, duration_words(r.hours))).collect(),
            held_out: drain.held_out.iter().filter_map(held).collect(),
            idle: at(0.0),
        };
        let (first, last) = (curve.points.first()?, curve.points.last()?);
        (last.0 > NARROWEST * first.0).then_some(curve)
    }

    /// The figure: for a wide page and for a phone, then the caption and the numbers as a table.
    pub fn figure(&self) -> String {
        if self.points.len() < 2 {
            return String::new();
        }
        let mut out = String::from("<figure class=\"chart\">");
        for size in [Size::WIDE, Size::NARROW] {
            out.push_str(&self.svg(&size));
        }
        let _ = write!(out, "<figcaption>{}{}</figcaption></figure>", self.caption(), self.table());
        out
    }

    fn caption(&self) -> String {
        let mut text = String::from("Open rings are the tests that made the curve; the band holds 95 %.");
        if !self.held_out.is_empty() {
            text.push_str(" The filled one was kept out of it as a check.");
        }
        if let Some((hours, half)) = self.idle {
            let (low, high) = (duration_words((hours - half).max(0.0)), duration_words(hours + half));
            let _ = write!(
                text,
                " With nothing plugged in and the outlet on: <b>{}</b> ({low} to {high}).",
                duration_words(hours)
            );
        }
        text
    }

    fn sentence(&self) -> String {
        let words = |p: &(f64, f64, f64, f64)| format!("{} at {:.0} W", duration_words(p.1), p.0);
        let ends = [self.points.first(), self.points.last()];
        let ends: Vec<String> = ends.into_iter().flatten().map(words).collect();
        let mut text = format!("Runtime against load: {}.", ends.join(", falling to "));
        for (w, ran, foretold, label) in &self.held_out {
            let _ = write!(
                text,
                " Check: {label}, {w:.0} W, foretold {}, ran {}.",
                hours_words(*foretold),
                hours_words(*ran)
            );
        }
        text
    }

    fn table(&self) -> String {
        let mut out = String::from(
            "<details><summary>The same as a table</summary><table><thead><tr><th class=\"r\">load</th>\
             <th class=\"r\">runs for</th><th class=\"r\">95 % between</th></tr></thead><tbody>",
        );
        for (w, hours, low, high) in self.points.iter().step_by(4) {
            let _ = write!(
                out,
                "<tr><td class=\"r\">{w:.0} W</td><td class=\"r\">{}</td><td class=\"r\">{} – {}</td></tr>",
                duration_words(*hours),
                duration_words(*low),
                duration_words(*high)
            );
        }
        out.push_str("</tbody></table></details>");
        out
    }
}

/// One size of the drawing. Type is drawn at its own size: the page never shrinks it.
struct Size {
    class: &'static str,
    wide: f64,
    high: f64,
    left: f64,
    foot: f64,
    top: f64,
    type_size: f64,
}

impl Size {
    const WIDE: Size =
        Size { class: "wide", wide: 640.0, high: 380.0, left: 46.0, foot: 34.0, top: 14.0, type_size: 13.0 };
    const NARROW: Size = Size {
        class: "narrow",
        wide: 328.0,
        high: 320.0,
        left: 40.0,
        foot: 32.0,
        top: 12.0,
        type_size: 12.5,
    };
    /// Where the curve is drawn.
    fn area(&self) -> Area {
        Area { x0: self.left, y0: self.top, x1: self.wide - 4.0, y1: self.high - self.foot }
    }
}

/// The scales of one drawing.
pub struct Plane {
    /// Loads, from left to right.
    pub x: LogScale,
    /// Hours, upwards.
    pub y: LogScale,
    /// Lightest and heaviest load in sight, in W.
    pub loads: (f64, f64),
    /// Fewest and most hours in sight.
    pub hours: (f64, f64),
}

impl Curve {
    /// The scales on which everything that is drawn is in sight within an area.
    pub fn plane(&self, area: &Area) -> Plane {
        let all = || {
            let rings = self.measured.iter().map(|m| (m.0, m.1));
            let held = self.held_out.iter().map(|h| (h.0, h.1));
            self.points.iter().flat_map(|p| [(p.0, p.2), (p.0, p.3)]).chain(rings).chain(held)
        };
        let end = |f: fn(f64, f64) -> f64, start: f64, pick: fn(&(f64, f64)) -> f64| {
            all().map(|p| pick(&p)).filter(|v| v.is_finite() && *v > 0.0).fold(start, f)
        };
        let loads = (end(f64::min, f64::INFINITY, |p| p.0), end(f64::max, 0.0, |p| p.0) * 1.12);
        let hours = (end(f64::min, f64::INFINITY, |p| p.1) / 1.15, end(f64::max, 0.0, |p| p.1) * 1.25);
        Plane {
            x: LogScale::new(loads.0, loads.1, area.x0, area.x1),
            y: LogScale::new(hours.0, hours.1, area.y1, area.y0),
            loads,
            hours,
        }
    }

    fn svg(&self, size: &Size) -> String {
        let plane = self.plane(&size.area());
        let mut out = format!(
            "<svg class=\"plot {}\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{}\">",
            size.class,
            size.wide,
            size.high,
            escape(&self.sentence())
        );
        draw_axes(&mut out, &plane, size);
        self.draw_curve(&mut out, &plane);
        self.draw_rings(&mut out, &plane, size);
        out.push_str("</svg>");
        out
    }

    fn draw_curve(&self, out: &mut String, plane: &Plane) {
        let points = |pick: fn(&(f64, f64, f64, f64)) -> f64| {
            let one = |p: &(f64, f64, f64, f64)| format!("{:.1} {:.1}", plane.x.at(p.0), plane.y.at(pick(p)));
            self.points.iter().map(one).collect::<Vec<_>>()
        };
        let mut edge = points(|p| p.3);
        edge.extend(points(|p| p.2).into_iter().rev());
        let (edge, line) = (edge.join("L"), points(|p| p.1).join("L"));
        let _ = write!(out, "<path class=\"band\" d=\"M{edge}Z\"/><path class=\"curve\" d=\"M{line}\"/>");
    }

    /// Where the curve goes: its points, and those between them that are no more than a few units apart.
    fn path(&self, plane: &Plane) -> Vec<(f64, f64)> {
        let at = |p: &(f64, f64, f64, f64)| (plane.x.at(p.0), plane.y.at(p.1));
        let between = |pair: &[(f64, f64, f64, f64)]| {
            let (a, b) = (at(&pair[0]), at(&pair[1]));
            let steps = ((b.0 - a.0).hypot(b.1 - a.1) / NEAR).ceil().max(1.0);
            (0..=steps as usize).map(move |i| {
                let t = i as f64 / steps;
                (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
            })
        };
        self.points.windows(2).flat_map(between).collect()
    }

    fn draw_rings(&self, out: &mut String, plane: &Plane, size: &Size) {
        let frame = Area { x0: size.left, y0: 0.0, x1: size.wide, y1: size.high - size.foot };
        let curve: Vec<Area> = self.path(plane).into_iter().map(|p| Area::around(p.0, p.1, 4.0)).collect();
        let mut taken = Vec::new();
        let rings: Vec<_> = self.measured.iter().map(|m| (plane.x.at(m.0), plane.y.at(m.1), &m.2)).collect();
        let held: Vec<_> = self.held_out.iter().map(|h| (plane.x.at(h.0), plane.y.at(h.1), h)).collect();
        taken.extend(rings.iter().map(|r| Area::around(r.0, r.1, 6.0)));
        taken.extend(held.iter().map(|r| Area::around(r.0, r.1, 6.0)));
        for (x, y, (_, ran, foretold, label)) in held {
            let _ = write!(out, "<circle class=\"held\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"5\"/>");
            let numbers = format!("foretold {}, ran {}", hours_words(*foretold), hours_words(*ran));
            let mut lines =
                face::wrap(&face::short(label, LONGEST), size.type_size, false, frame.wide() * WIDEST);
            lines.extend(face::wrap(&numbers, size.type_size, false, frame.wide() * WIDEST));
            write_label(out, (x, y), &lines, size.type_size, &frame, &curve, &mut taken);
        }
        for (x, y, _) in &rings {
            let _ = write!(out, "<circle class=\"pt\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.5\"/>");
        }
        for (point, lines) in together(rings) {
            write_label(out, point, &lines, size.type_size, &frame, &curve, &mut taken);
        }
    }
}

fn draw_axes(out: &mut String, plane: &Plane, size: &Size) {
    let (floor, type_size) = (size.high - size.foot, size.type_size);
    for hours in axis::ticks(plane.hours.0, plane.hours.1) {
        let y = plane.y.at(hours);
        let text = axis::hours(hours);
        let _ = write!(
            out,
            "<path class=\"axis\" d=\"M{} {y:.1}H{}\"/><text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\" \
             font-size=\"{type_size}\">{text}</text>",
            size.left,
            size.wide,
            size.left - 8.0,
            y + 4.5
        );
    }
    let mut free_from = 0.0;
    for load in axis::ticks(plane.loads.0, plane.loads.1) {
        let (x, text) = (plane.x.at(load), format!("{load:.0} W"));
        let half = labels::width(&text, type_size) / 2.0;
        let _ = write!(out, "<path class=\"axis\" d=\"M{x:.1} {floor}v5\"/>");
        let middle = x.clamp(half, size.wide - half);
        if middle - half > free_from {
            let _ = write!(
                out,
                "<text x=\"{middle:.1}\" y=\"{}\" text-anchor=\"middle\" font-size=\"{type_size}\">{text}</text>",
                floor + 21.0
            );
            free_from = middle + half + 8.0;
        }
    }
    let _ = write!(out, "<path class=\"axis base\" d=\"M{} {floor}H{}\"/>", size.left, size.wide);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve() -> Curve {
        // Runtime of a store of 900 Wh with 10 W of idle draw: 900 / (w + 10) h, ± 5 %.
        let point = |w: f64| {
            let h = 900.0 / (w + 10.0);
            (w, h, h * 0.95, h * 1.05)
        };
        Curve {
            points: [10.0, 30.0, 100.0, 300.0, 1000.0].map(point).to_vec(),
            measured: vec![(290.0, 3.0, "3 h".into()), (900.0, 0.99, "59 min".into())],
            held_out: vec![(37.0, 19.6, 19.1, "fridge <1>".into())],
            idle: Some((90.0, 2.0)),
        }
    }

    #[test]
    fn every_ring_is_drawn_in_both_sizes_and_says_what_it_is() {
        let figure = curve().figure();
        assert_eq!(figure.matches("class=\"pt\"").count(), 4);
        assert_eq!(figure.matches("class=\"held\"").count(), 2);
        assert!(
            figure.contains(">foretold 19.1 h, ran 19.6 h</text>") && figure.contains("fridge &lt;1&gt;")
        );
        assert!(figure.contains("<b>90 h</b> (88 h to 92 h)"));
        assert!(!figure.contains("NaN") && !figure.contains("inf") && !figure.contains("style="));
    }

    #[test]
    fn longer_runtimes_stand_higher_and_heavier_loads_further_right() {
        let plane = curve().plane(&Size::WIDE.area());
        assert!(plane.y.at(45.0) < plane.y.at(9.0));
        assert!(plane.x.at(1000.0) > plane.x.at(10.0));
    }

    #[test]
    fn nothing_to_draw_is_no_drawing() {
        assert!(Curve::default().figure().is_empty());
    }
}
