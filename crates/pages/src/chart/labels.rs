//! Labels beside their points, moved until they stand on nothing else.

/// A rectangle: left, top, right, bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x0: f64,
    /// Upper edge; the drawing's y grows downwards.
    pub y0: f64,
    /// Right edge.
    pub x1: f64,
    /// Lower edge.
    pub y1: f64,
}

impl Area {
    fn overlap(&self, other: &Area) -> f64 {
        let wide = self.x1.min(other.x1) - self.x0.max(other.x0);
        let high = self.y1.min(other.y1) - self.y0.max(other.y0);
        wide.max(0.0) * high.max(0.0)
    }
    fn inside(&self, frame: &Area) -> bool {
        self.x0 >= frame.x0 && self.x1 <= frame.x1 && self.y0 >= frame.y0 && self.y1 <= frame.y1
    }
    /// Width.
    pub fn wide(&self) -> f64 {
        self.x1 - self.x0
    }
    /// Height.
    pub fn high(&self) -> f64 {
        self.y1 - self.y0
    }
    /// A square around a point.
    pub fn around(x: f64, y: f64, reach: f64) -> Area {
        Area { x0: x - reach, y0: y - reach, x1: x + reach, y1: y + reach }
    }
}

/// Mean width of a sign as a share of the size of type (this typeface, digits 0.6).
const SIGN: f64 = 0.57;
/// Height of a line of text as a share of the size of type.
const LINE: f64 = 1.2;

/// Width of a text, roughly.
pub fn width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * SIGN * size
}

/// Lines of text placed at the given spot: left edge and upper edge of the block.
pub struct Placed {
    /// The area it covers.
    pub area: Area,
    /// Its lines stand at the right edge of the area instead of the left.
    pub right: bool,
}

/// Finds a place for `lines` beside the point: the first that is inside the frame and on nothing taken, else the one
/// that covers least. Takes the place.
pub fn place(point: (f64, f64), lines: &[&str], size: f64, frame: &Area, taken: &mut Vec<Area>) -> Placed {
    let wide = lines.iter().map(|l| width(l, size)).fold(0.0, f64::max);
    let high = lines.len() as f64 * size * LINE;
    let (x, y) = point;
    let gap = (size * 0.7).max(9.0);
    // Above right first: a falling curve leaves that side free.
    let spots = [
        (x + gap * 0.8, y - gap * 0.4 - high, false),
        (x - gap * 0.8 - wide, y + gap * 0.4, true),
        (x + gap, y - high / 2.0, false),
        (x - gap - wide, y - high / 2.0, true),
        (x + gap * 0.8, y + gap * 0.4, false),
        (x - gap * 0.8 - wide, y - gap * 0.4 - high, true),
        (x - wide / 2.0, y - gap - high, false),
        (x - wide / 2.0, y + gap, false),
    ];
    let area = |(x0, y0, _): &(f64, f64, bool)| Area { x0: *x0, y0: *y0, x1: x0 + wide, y1: y0 + high };
    let cost =
        |a: &Area| taken.iter().map(|t| t.overlap(a)).sum::<f64>() + if a.inside(frame) { 0.0 } else { 1e6 };
    let mut best = (f64::INFINITY, Placed { area: area(&spots[0]), right: false });
    for spot in &spots {
        let a = area(spot);
        let c = cost(&a);
        if c < best.0 {
            best = (c, Placed { area: a, right: spot.2 });
        }
    }
    taken.push(best.1.area);
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_avoid_each_other_and_the_edge() {
        let frame = Area { x0: 0.0, y0: 0.0, x1: 200.0, y1: 100.0 };
        let mut taken = Vec::new();
        let a = place((100.0, 50.0), &["3 h 9 min"], 12.0, &frame, &mut taken).area;
        let b = place((104.0, 50.0), &["3 h 9 min"], 12.0, &frame, &mut taken).area;
        assert_eq!(a.overlap(&b), 0.0);
        let corner = place((195.0, 4.0), &["3 h 9 min"], 12.0, &frame, &mut taken).area;
        assert!(corner.inside(&frame), "{corner:?}");
    }
}
