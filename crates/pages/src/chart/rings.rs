//! The rings of a runtime curve: which of them share a label, and the label itself.
use super::labels::{self, Area};
use crate::piece::escape;
use std::fmt::Write;

/// Rings whose middles lie nearer than this are one to the eye.
const TOGETHER: f64 = 5.0;
/// From the middle of a ring to where a line that leads to its label begins.
const RING: f64 = 7.0;

/// A point of the drawing and the lines beside it.
type Labelled = ((f64, f64), Vec<String>);

/// Repeats of one test stand on each other: one label serves them all, the shortest run first.
pub(super) fn together(mut rings: Vec<(f64, f64, &String)>) -> Vec<Labelled> {
    // Upwards are the longer ones.
    rings.sort_by(|r, s| s.1.total_cmp(&r.1));
    let mut labels: Vec<Labelled> = Vec::new();
    for (x, y, label) in rings {
        let near = |((at, up), _): &&mut Labelled| (at - x).hypot(up - y) < TOGETHER;
        match labels.iter_mut().find(near) {
            Some((_, lines)) if lines.contains(label) => {}
            Some((_, lines)) => lines.push(label.clone()),
            None => labels.push(((x, y), vec![label.clone()])),
        }
    }
    let short = |(at, lines): Labelled| match lines.as_slice() {
        [first, _, .., last] => (at, vec![format!("{first} to"), last.clone()]),
        _ => (at, lines),
    };
    labels.into_iter().map(short).collect()
}

/// Writes a label near its ring, where there is room for it.
pub(super) fn write_label(
    out: &mut String,
    point: (f64, f64),
    lines: &[String],
    type_size: f64,
    frame: &Area,
    curve: &[Area],
    taken: &mut Vec<Area>,
) {
    let borrowed: Vec<&str> = lines.iter().map(String::as_str).collect();
    let Some(placed) = labels::place(point, &borrowed, type_size, frame, curve, taken) else { return };
    if let Some((x, y)) = placed.led {
        let from = labels::lead(point, (x, y), RING);
        let _ = write!(out, "<path class=\"axis base\" d=\"M{:.1} {:.1}L{x:.1} {y:.1}\"/>", from.0, from.1);
    }
    let (x, anchor) = if placed.right { (placed.area.x1, "end") } else { (placed.area.x0, "start") };
    for (i, line) in lines.iter().enumerate() {
        let y = placed.area.y0 + (i as f64 + 0.85) * type_size * 1.2;
        let _ = write!(
            out,
            "<text class=\"lab\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" font-size=\"{type_size}\">{}</text>",
            escape(line)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_on_each_other_share_a_label_and_the_others_do_not() {
        let names = ["1 h 38 min", "1 h 37 min", "3 h 15 min", "1 h 36 min"].map(String::from);
        let at = [(100.0, 50.0), (101.0, 52.0), (60.0, 20.0), (102.0, 53.0)];
        let rings = |n: usize| at[..n].iter().zip(&names).map(|((x, y), l)| (*x, *y, l)).collect::<Vec<_>>();
        let said = |n: usize| together(rings(n)).into_iter().map(|(_, l)| l.join("|")).collect::<Vec<_>>();
        assert_eq!(said(3), ["1 h 37 min|1 h 38 min", "3 h 15 min"]);
        assert_eq!(said(4), ["1 h 36 min to|1 h 38 min", "3 h 15 min"]);
    }
}
